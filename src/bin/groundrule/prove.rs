//! `prove [PLACE]`: whether a ruleset does what its cases say.

use std::cell::RefCell;
use std::io::IsTerminal;
use std::time::{Duration, Instant};

use groundrule::check::typed::TopicId;
use groundrule::library::{self, Opened};
use groundrule::prove::{Progress, Scope, Stage, prove};
use groundrule::report::prove::proof as words;
use groundrule::report::terminal::Style;
use indicatif::{ProgressBar, ProgressStyle};

use crate::args::{Prove, TextOrJson};
use crate::input::{self, Failure};
use crate::output;

/// Everything is proved.
const PROVED: u8 = 0;
/// Something fails or is unproved.
const UNPROVED: u8 = 1;

/// Proves the model and every place, a place, or a topic.
pub fn run(asked: &Prove) -> Result<u8, Failure> {
    let texts = input::texts(asked.listing.library.as_deref())?;
    let opened = library::open(&texts)
        .map_err(|problems| input::rendered(&problems.sources, problems.problems))?;
    let scope = scope(asked, &opened)?;
    let on = input::on_or_today(asked.on.as_deref())?;
    let bar = Bar::new();
    let proof = prove(&opened, &texts, scope, on, &|progress| bar.show(progress));
    bar.clear();
    let proof = proof.map_err(|problems| input::rendered(&problems.sources, problems.problems))?;
    let text = match asked.listing.text_or_json()? {
        TextOrJson::Text => words(
            &proof,
            Style {
                colour: output::stdout_has_colour(asked.listing.to.as_deref()),
                width: output::width(),
            },
        ),
        TextOrJson::Json => {
            let line = serde_json::to_string(&proof);
            line.expect("a proof holds only what JSON can say") + "\n"
        }
    };
    output::write(&text, asked.listing.to.as_deref())?;
    Ok(if proof.proved { PROVED } else { UNPROVED })
}

fn scope(asked: &Prove, opened: &Opened) -> Result<Scope, Failure> {
    if let Some(place) = &asked.place {
        return input::place(opened, place).map(Scope::Place);
    }
    let Some(name) = &asked.topic else {
        return Ok(Scope::Whole);
    };
    let topics = &opened.library.topics;
    let at = topics.iter().position(|topic| topic.name == *name);
    at.map(|at| Scope::Topic(TopicId::at(at))).ok_or_else(|| {
        let known: Vec<&str> = topics.iter().map(|topic| topic.name.as_str()).collect();
        Failure::Option {
            what: format!("no topic `{name}` in this library"),
            mend: format!("its topics: {}", known.join(", ")),
        }
    })
}

/// How long nothing is shown.
const PATIENCE: Duration = Duration::from_secs(1);

/// Progress on standard error, where that is a terminal and proving takes its time.
struct Bar {
    begun: Instant,
    is_terminal: bool,
    shown: RefCell<Option<ProgressBar>>,
}

impl Bar {
    fn new() -> Bar {
        Bar {
            begun: Instant::now(),
            is_terminal: std::io::stderr().is_terminal(),
            shown: RefCell::new(None),
        }
    }

    fn show(&self, progress: Progress) {
        if !self.is_terminal || self.begun.elapsed() < PATIENCE {
            return;
        }
        let mut shown = self.shown.borrow_mut();
        let bar = shown.get_or_insert_with(|| {
            let style = ProgressStyle::with_template("{msg} {pos} of {len} {wide_bar}");
            ProgressBar::new(0).with_style(style.expect("the template is a constant"))
        });
        bar.set_message(match progress.stage {
            Stage::Trying => "changes tried:",
            Stage::Suggesting => "cases looked for:",
        });
        bar.set_length(progress.of as u64);
        bar.set_position(progress.done as u64);
    }

    fn clear(&self) {
        if let Some(bar) = self.shown.borrow().as_ref() {
            bar.finish_and_clear();
        }
    }
}
