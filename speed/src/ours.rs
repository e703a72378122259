//! Everything that is asked of Groundrule, in one file.

use groundrule::figures::Figures;
use groundrule::finding::Verdict;
use groundrule::judge::{self, Quick, Ruling};
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

/// A record, ready to be judged.
pub struct Ready {
    record: Record,
    figures: Figures,
}

/// Reads a record, as JSON or YAML, and completes it; nothing where it can't be read.
pub fn read(opened: &Opened, text: &str) -> Option<Ready> {
    let mut sources = Sources::default();
    let id = sources.add("record", text);
    let vocabulary = &opened.library.vocabulary;
    let read = record::read_with(vocabulary, &sources, id, &Overrides::default()).ok()?;
    let record = complete(vocabulary, read);
    let figures = Figures::of(&record);
    Some(Ready { record, figures })
}

/// Rules, ready to judge by.
pub struct Rules {
    program: Program,
    quick: Quick,
}

/// The rules of the place that a record names.
pub fn rules(opened: &Opened, ready: &Ready) -> Rules {
    compiled(opened, &ready.record)
}

/// The plain rules alone.
pub fn plain_rules(opened: &Opened, ready: &Ready) -> Rules {
    let mut record = ready.record.clone();
    for place in &mut record.head.places {
        PLAIN_PLACE.clone_into(&mut place.value);
    }
    compiled(opened, &record)
}

fn compiled(opened: &Opened, record: &Record) -> Rules {
    let library = &opened.library;
    let places = judge::places(library, record, &Sources::default());
    let places = places.expect("the place of the archive is in the library");
    let standing = in_force(library, &places, &judge::dates(record));
    let standing = standing.expect("the place of the archive has rules");
    let program = compile(library, &opened.survey, standing);
    let quick = Quick::of(&program, &library.vocabulary);
    Rules { program, quick }
}

/// Judges a record: by each subject the verdicts as read and with tolerances, and the margin.
pub fn judge(opened: &Opened, rules: &Rules, ready: &Ready, rulings: &mut Vec<Ruling>) {
    let Rules { program, quick } = rules;
    let Ready { record, figures } = ready;
    let vocabulary = &opened.library.vocabulary;
    quick.rule_on(
        program,
        vocabulary,
        &opened.survey,
        figures,
        || record,
        rulings,
    );
}

/// What the rulings say by predicate: as read, since the peers know no tolerances.
pub fn answers(opened: &Opened, rules: &Rules, rulings: &[Ruling]) -> Answers {
    let mut answers = [Answer::Met; PREDICATES.len()];
    for ruling in rulings {
        let rule = rules.program.rules[ruling.rule as usize].rule;
        let id = opened.library.rules[rule.index()].id.as_str();
        let known = PREDICATES.iter().position(|name| *name == id);
        let place = known.expect("only the measured rules are in force");
        let answer = answer(ruling.as_read);
        answers[place] = answers[place].and(answer);
    }
    answers
}

fn answer(verdict: Verdict) -> Answer {
    match verdict {
        Verdict::Meets | Verdict::DoesNotApply => Answer::Met,
        Verdict::NotRecorded | Verdict::TooClose | Verdict::Refer => Answer::Undecided,
        Verdict::FallsShort => Answer::Short,
    }
}
