//! That all engines say the same of every record, before anything is measured.

use std::fmt;

use groundrule::judge::Rulings;
use groundrule::library::Opened;

use crate::answer::{Answer, Answers, PLAIN, PREDICATES};
use crate::archive::Lot;
use crate::base::Record;
use crate::cedar::Cedar;
use crate::cel::Cel;
use crate::native;
use crate::ours::{Reader, Rules, first_of};
use crate::peer::Peer;
use crate::rego::Rego;
use crate::rhai::Rhai;
use crate::schema::Schema;

/// A record on which an engine says something else than plain Rust.
#[derive(Debug, PartialEq, Eq)]
pub struct Disagreement {
    /// The engine.
    pub engine: &'static str,
    /// The predicate; nothing where one of them could not read the record.
    pub predicate: Option<&'static str>,
    /// What it says.
    pub says: Option<Answer>,
    /// What plain Rust says.
    pub native: Option<Answer>,
    /// The record, as crews write it.
    pub record: String,
}

impl fmt::Display for Disagreement {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Disagreement {
            engine,
            predicate,
            says,
            native,
            record,
        } = self;
        let predicate = predicate.unwrap_or("whether it can be read");
        write!(
            out,
            "{engine} says {says:?} and plain Rust {native:?} on {predicate} of:\n{record}"
        )
    }
}

/// Asks every engine about every record and tells the answers.
///
/// # Errors
///
/// The first record on which they don't agree.
pub fn agree(opened: &Opened, lots: &[Lot]) -> Result<Vec<Answers>, Box<Disagreement>> {
    let natives: Vec<Option<Answers>> = lots
        .iter()
        .map(|lot| serde_json::from_str::<Record>(&lot.base_line()).ok())
        .map(|record| record.map(|record| native::answers(&record)))
        .collect();
    peer(lots, &natives, &mut Rego::default(), PREDICATES.len())?;
    peer(lots, &natives, &mut Cel::default(), PREDICATES.len())?;
    peer(lots, &natives, &mut Cedar::default(), PREDICATES.len())?;
    peer(lots, &natives, &mut Rhai::default(), PREDICATES.len())?;
    peer(lots, &natives, &mut Schema::default(), PLAIN)?;
    groundrule(opened, lots, &natives)?;
    Ok(natives.into_iter().flatten().collect())
}

fn peer<P: Peer>(
    lots: &[Lot],
    natives: &[Option<Answers>],
    peer: &mut P,
    said: usize,
) -> Result<(), Box<Disagreement>> {
    for (lot, native) in lots.iter().zip(natives) {
        let input = peer.read(&lot.base_line());
        let answers = input.map(|input| peer.answers(&input));
        compare(peer.name(), lot, answers, native, said)?;
    }
    Ok(())
}

fn groundrule(
    opened: &Opened,
    lots: &[Lot],
    natives: &[Option<Answers>],
) -> Result<(), Box<Disagreement>> {
    let lines: Vec<String> = lots.iter().map(Lot::line).collect();
    let rules = Rules::of(opened, &first_of(opened, &lines));
    let reader = Reader::new(opened, &rules);
    let mut rulings = Rulings::default();
    for ((lot, line), native) in lots.iter().zip(&lines).zip(natives) {
        let answers = reader.read(line).map(|record| {
            reader.judge(&rules, &record, &mut rulings);
            reader.answers(&rules, &rulings)
        });
        compare("groundrule", lot, answers, native, PREDICATES.len())?;
    }
    Ok(())
}

fn compare(
    engine: &'static str,
    lot: &Lot,
    answers: Option<Answers>,
    native: &Option<Answers>,
    said: usize,
) -> Result<(), Box<Disagreement>> {
    let differs = |place: &usize| {
        let of = |answers: &Option<Answers>| answers.map(|answers| answers[*place]);
        of(&answers) != of(native)
    };
    let Some(place) = (0..said).find(differs) else {
        return Ok(());
    };
    let both = answers.is_some() && native.is_some();
    Err(Box::new(Disagreement {
        engine,
        predicate: both.then_some(PREDICATES[place]),
        says: answers.map(|answers| answers[place]),
        native: native.map(|answers| answers[place]),
        record: lot.line(),
    }))
}
