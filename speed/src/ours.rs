//! Everything that is asked of Groundrule, in one file.

use std::cell::{OnceCell, RefCell};
use std::hint::black_box;
use std::sync::Arc;

use groundrule::figures::{Figures, Layout, Plainly};
use groundrule::finding::Verdict;
use groundrule::judge::{self, Quick, Ruling, Rulings};
use groundrule::layers::in_force;
use groundrule::library::{Opened, Texts, embedded, open};
use groundrule::program::{Program, compile};
use groundrule::record::{self, Overrides, Record};
use groundrule::source::Sources;
use groundrule::survey::complete;

use crate::answer::{Answer, Answers, PREDICATES};

/// The rules that are measured, and the two places that adopt them: all, and the plain ones.
const RULES: [(&str, &str); 4] = [
    ("rules/plain.rules", include_str!("../rules/plain.rules")),
    (
        "rules/computed.rules",
        include_str!("../rules/computed.rules"),
    ),
    (
        "jurisdictions/quoin_moor/place.rules",
        include_str!("../rules/quoin_moor.rules"),
    ),
    (
        "jurisdictions/nether_quoin/place.rules",
        include_str!("../rules/nether_quoin.rules"),
    ),
];

/// The place that adopts only the plain predicates.
const PLAIN_PLACE: &str = "nether_quoin";

/// The library that is measured: the vocabulary inside the program, and the measured rules in
/// place of all others.
pub fn library() -> Opened {
    let shared = embedded().0.into_iter();
    let shared = shared.filter(|(name, _)| name.starts_with("shared/"));
    let rules = RULES.map(|(name, text)| (name.to_owned(), text.to_owned()));
    match open(&Texts(shared.chain(rules).collect())) {
        Ok(opened) => opened,
        Err(mistaken) => panic!("the measured rules have mistakes: {mistaken:?}"),
    }
}

/// Rules, ready to judge by.
pub struct Rules {
    program: Program,
    quick: Quick,
}

impl Rules {
    /// The rules of the place that the records name.
    pub fn of(opened: &Opened, record: &Record) -> Rules {
        let program = compiled(opened, record);
        let quick = Quick::of(&program, &opened.library.vocabulary);
        Rules { program, quick }
    }

    /// The plain ones of them alone, for records that are laid out for all.
    pub fn plain(&self, opened: &Opened, record: &Record) -> Rules {
        let mut record = record.clone();
        for place in &mut record.head.places {
            PLAIN_PLACE.clone_into(&mut place.value);
        }
        let program = compiled(opened, &record);
        let quick = Quick::within(self.quick.layout(), &program, &opened.library.vocabulary);
        let quick = quick.expect("the plain rules ask for nothing else");
        Rules { program, quick }
    }
}

fn compiled(opened: &Opened, record: &Record) -> Program {
    let library = &opened.library;
    let places = judge::places(library, record, &Sources::default());
    let places = places.expect("the place of the archive is in the library");
    let standing = in_force(library, &places, &judge::dates(record));
    let standing = standing.expect("the place of the archive has rules");
    compile(library, &opened.survey, standing)
}

/// The first record that can be read.
///
/// # Panics
///
/// Where none can.
pub fn first_of(opened: &Opened, texts: &[String]) -> Record {
    let first = texts.iter().find_map(|text| whole(opened, text));
    first.expect("a record can be read")
}

/// A record, complete, with the place of every value; nothing where it can't be read.
fn whole(opened: &Opened, text: &str) -> Option<Record> {
    let mut sources = Sources::default();
    let id = sources.add("record", text);
    let vocabulary = &opened.library.vocabulary;
    let read = record::read_with(vocabulary, &sources, id, &Overrides::default()).ok()?;
    Some(complete(vocabulary, read))
}

/// Reads records for the measured library.
pub struct Reader<'a> {
    opened: &'a Opened,
    plainly: RefCell<Plainly<'a>>,
    layout: Arc<Layout>,
    overrides: Overrides,
}

/// A record, ready to be judged: its figures, and the record itself once it is asked for.
pub struct Ready<'t> {
    text: &'t str,
    figures: Figures,
    record: OnceCell<Box<Record>>,
}

impl<'a> Reader<'a> {
    /// Ready to lay records out for rules.
    pub fn new(opened: &'a Opened, rules: &Rules) -> Self {
        let layout = rules.quick.layout();
        Reader {
            opened,
            plainly: RefCell::new(Plainly::new(&opened.library.vocabulary, layout)),
            layout: Arc::clone(layout),
            overrides: Overrides::default(),
        }
    }

    /// Room for a record.
    pub fn room<'t>(&self) -> Ready<'t> {
        Ready {
            text: "",
            figures: Figures::new(&self.layout),
            record: OnceCell::new(),
        }
    }

    /// Reads a record, as JSON or YAML; nothing where it can't be read.
    pub fn read<'t>(&self, text: &'t str) -> Option<Ready<'t>> {
        let mut ready = self.room();
        if !self.read_into(text, &mut ready) {
            return None;
        }
        // What is kept takes no more room than it needs.
        ready.figures = ready.figures.clone();
        Some(ready)
    }

    /// The same in the room of another; whether it can be read.
    pub fn read_into<'t>(&self, text: &'t str, ready: &mut Ready<'t>) -> bool {
        ready.text = text;
        ready.record.take();
        let mut plainly = self.plainly.borrow_mut();
        let head = plainly.read(text, &self.overrides, &mut ready.figures);
        if black_box(head).is_some() {
            return true;
        }
        // It is written in another way, or has a mistake, which is told.
        let Some(record) = whole(self.opened, text) else {
            return false;
        };
        ready.figures.take(&record);
        ready.record.set(Box::new(record)).is_ok()
    }

    /// The record behind figures.
    fn record<'r>(&self, ready: &'r Ready<'_>) -> &'r Record {
        ready.record.get_or_init(|| {
            let whole = whole(self.opened, ready.text);
            Box::new(whole.expect("what has figures can be read"))
        })
    }

    /// Judges a record: by each subject the verdicts as read and with tolerances, and the margin.
    pub fn judge(&self, rules: &Rules, ready: &Ready<'_>, rulings: &mut Rulings) {
        let Rules { program, quick } = rules;
        let Opened {
            library, survey, ..
        } = self.opened;
        quick.rule_on(
            program,
            &library.vocabulary,
            survey,
            &ready.figures,
            || self.record(ready),
            rulings,
        );
    }

    /// Judges a record that was read whole.
    fn judge_whole(&self, rules: &Rules, record: &Record, rulings: &mut Rulings) {
        let Rules { program, quick } = rules;
        let Opened {
            library, survey, ..
        } = self.opened;
        let figures = Figures::of(record, quick.layout());
        quick.rule_on(
            program,
            &library.vocabulary,
            survey,
            &figures,
            || record,
            rulings,
        );
    }

    /// Reads texts and judges them by their figures.
    pub fn judge_texts(&self, rules: &Rules, texts: &[String]) {
        let mut rulings = Rulings::default();
        let mut ready = self.room();
        for text in texts {
            if self.read_into(black_box(text), &mut ready) {
                self.judge(rules, &ready, &mut rulings);
                black_box(&rulings);
            }
        }
    }

    /// The same by their whole records.
    pub fn judge_whole_texts(&self, rules: &Rules, texts: &[String]) {
        let mut rulings = Rulings::default();
        for text in texts {
            if let Some(record) = whole(self.opened, black_box(text)) {
                self.judge_whole(rules, &record, &mut rulings);
                black_box((&record, &rulings));
            }
        }
    }

    /// What the rulings say by predicate: as read, since the peers know no tolerances.
    pub fn answers(&self, rules: &Rules, rulings: &[Ruling]) -> Answers {
        let mut answers = [Answer::Met; PREDICATES.len()];
        for ruling in rulings {
            let rule = rules.program.rules[ruling.rule as usize].rule;
            let id = self.opened.library.rules[rule.index()].id.as_str();
            let known = PREDICATES.iter().position(|name| *name == id);
            let place = known.expect("only the measured rules are in force");
            let answer = answer(ruling.as_read);
            answers[place] = answers[place].and(answer);
        }
        answers
    }
}

fn answer(verdict: Verdict) -> Answer {
    match verdict {
        Verdict::Meets | Verdict::DoesNotApply => Answer::Met,
        Verdict::NotRecorded | Verdict::TooClose | Verdict::Refer => Answer::Undecided,
        Verdict::FallsShort => Answer::Short,
    }
}
