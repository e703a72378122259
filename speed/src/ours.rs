//! Everything that is asked of Groundrule, in one file.

use groundrule::finding::Verdict;
use groundrule::judge::{self, Judgement};
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

/// Reads a record, as JSON or YAML, and completes it; nothing where it can't be read.
pub fn read(opened: &Opened, text: &str) -> Option<Record> {
    let mut sources = Sources::default();
    let id = sources.add("record", text);
    let vocabulary = &opened.library.vocabulary;
    let read = record::read_with(vocabulary, &sources, id, &Overrides::default()).ok()?;
    Some(complete(vocabulary, read))
}

/// The rules of the place that a record names.
pub fn program(opened: &Opened, record: &Record) -> Program {
    let mut record = record.clone();
    compiled(opened, &mut record)
}

/// The plain rules alone.
pub fn plain_program(opened: &Opened, record: &Record) -> Program {
    let mut record = record.clone();
    for place in &mut record.head.places {
        PLAIN_PLACE.clone_into(&mut place.value);
    }
    compiled(opened, &mut record)
}

fn compiled(opened: &Opened, record: &mut Record) -> Program {
    let library = &opened.library;
    let places = judge::places(library, record, &Sources::default());
    let places = places.expect("the place of the archive is in the library");
    let standing = in_force(library, &places, &judge::dates(record));
    let standing = standing.expect("the place of the archive has rules");
    compile(library, &opened.survey, standing)
}

/// Judges a record: verdicts as read and with tolerances, what was measured, limits, margins.
pub fn judge<'a>(
    opened: &'a Opened,
    program: &'a Program,
    record: &'a Record,
) -> Vec<Judgement<'a>> {
    judge::judge(program, &opened.library.vocabulary, &opened.survey, record)
}

/// What the judgements say by predicate: as read, since the peers know no tolerances.
pub fn answers(opened: &Opened, judgements: &[Judgement<'_>]) -> Answers {
    let mut answers = [Answer::Met; PREDICATES.len()];
    for judgement in judgements {
        let id = opened.library.rules[judgement.rule.rule.index()]
            .id
            .as_str();
        let known = PREDICATES.iter().position(|name| *name == id);
        let place = known.expect("only the measured rules are in force");
        let answer = answer(judgement.as_read);
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
