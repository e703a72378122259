//! Text in; a record, or what is told of its mistakes, out.

mod holds;
mod mistakes;
mod plain_json;
mod plain_yaml;
mod robust;
mod shared;
pub(crate) mod trade;

use proptest::test_runner::{Config, RngSeed};

use super::facts::{List, Record, Slot, THE_SITE, ThingRef};
use super::{RecordError, read};
use crate::source::{Located, Sources};
use crate::vocabulary::Vocabulary;

/// So many cases, the same ones each time; with `PROPTEST_CASES` that many, others each time.
fn config(cases: u32) -> Config {
    let (cases, rng_seed) = match std::env::var("PROPTEST_CASES") {
        Ok(_) => (Config::default().cases, RngSeed::Random),
        Err(_) => (cases, RngSeed::Fixed(160)),
    };
    Config {
        cases,
        rng_seed,
        failure_persistence: None,
        ..Config::default()
    }
}

/// A head that lacks nothing.
const HEAD: &str = "\
record: 1
lot: VM-07
place: aldmoor/sarnfell/velder_mills
permits: { plumbing: { number: VM-26-0117, issued: 2026-03-02 } }
recorded: { by: R. Ames, role: crew_lead, date: 2026-04-18 }
stage: before_cover
tolerances: { length: 1/4 in, elevation: 0.02 ft, others: exact }
datum: benchmark on the hydrant at Mill and Third
";

fn with_head(body: &str) -> String {
    format!("{HEAD}{body}")
}

/// Reads a whole text as a record.
fn read_text(text: &str) -> Result<Record, Vec<Located<RecordError>>> {
    let mut sources = Sources::default();
    let id = sources.add("lot_07.yaml", text);
    read(&trade::vocabulary(), &sources, id)
}

/// Reads a body under the head.
fn record(body: &str) -> Record {
    read_text(&with_head(body)).unwrap_or_else(|mistakes| panic!("{mistakes:#?}"))
}

/// The names of the mistakes of a body under the head.
fn codes(body: &str) -> Vec<String> {
    text_codes(&with_head(body))
}

/// The names of the mistakes of a whole text.
fn text_codes(text: &str) -> Vec<String> {
    let mistakes = read_text(text).expect_err("the record has a mistake");
    mistakes
        .iter()
        .map(|mistake| code(&mistake.error))
        .collect()
}

fn code(error: &RecordError) -> String {
    let code = miette::Diagnostic::code(error).expect("every mistake has a code");
    code.to_string().replace("record::", "")
}

/// The thing at a path such as `[("supply_cables", 0), ("spans", 1)]`.
fn thing(record: &Record, vocabulary: &Vocabulary, path: &[(&str, usize)]) -> ThingRef {
    path.iter().fold(THE_SITE, |this, (name, index)| {
        list_of(record, vocabulary, this, name).items[*index]
    })
}

fn list_of<'r>(
    record: &'r Record,
    vocabulary: &Vocabulary,
    this: ThingRef,
    name: &str,
) -> &'r List {
    let kind = vocabulary.thing(record.thing(this).kind);
    record.list(this, kind.list_named(name).expect("the list is declared"))
}

fn slot_of<'r>(
    record: &'r Record,
    vocabulary: &Vocabulary,
    this: ThingRef,
    name: &str,
) -> &'r Slot {
    let kind = vocabulary.thing(record.thing(this).kind);
    record.slot(this, kind.fact_named(name).expect("the fact is declared"))
}
