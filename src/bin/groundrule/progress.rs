//! How far a screening has come: on a terminal, and only where it takes longer than a second.

use std::cell::OnceCell;
use std::io::IsTerminal;
use std::path::Path;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::args::Form;

/// How long it takes before anything is shown.
const PATIENCE: Duration = Duration::from_secs(1);

/// A line on standard error that is taken away at the end.
pub struct Progress {
    bar: ProgressBar,
    since: Instant,
    shows: bool,
    shown: OnceCell<()>,
}

impl Progress {
    /// Shown only where standard error is a terminal, and where nothing else is written to that
    /// terminal meanwhile.
    pub fn new(form: Form, to: Option<&Path>) -> Progress {
        let is_in_the_way = form != Form::Text && to.is_none() && std::io::stdout().is_terminal();
        Progress {
            bar: ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden()),
            since: Instant::now(),
            shows: std::io::stderr().is_terminal() && !is_in_the_way,
            shown: OnceCell::new(),
        }
    }

    /// So many more records have been screened.
    pub fn add(&self, records: usize) {
        if !self.shows {
            return;
        }
        if self.since.elapsed() > PATIENCE {
            self.shown.get_or_init(|| self.show());
        }
        self.bar.inc(u64::try_from(records).unwrap_or(u64::MAX));
    }

    fn show(&self) {
        // How many there are is known only at the end of the walk.
        let style =
            ProgressStyle::with_template("{spinner} {human_pos} records, {per_sec}, {elapsed}");
        self.bar.set_style(style.expect("a template of our own"));
        self.bar.set_draw_target(ProgressDrawTarget::stderr());
    }

    /// Takes the line away.
    pub fn finish(&self) {
        self.bar.finish_and_clear();
    }
}
