//! Reading a record beside what others take merely to parse its text, as ratios in one run.

use std::hint::black_box;
use std::time::{Duration, Instant};

use granit_parser::Parser;
use groundrule::library::{embedded, open};
use groundrule::record;
use groundrule::source::Sources;
use groundrule::vocabulary::Vocabulary;
use serde_json::Value;

#[path = "../tests/archive/mod.rs"]
mod archive;

const LOT: &str = include_str!("../demo/velder_mills/lot_07.yaml");
/// How often each is done; the least time counts, whatever else the machine does.
const ROUNDS: usize = 200;
const LINES: usize = 200;

fn main() {
    let opened = open(&embedded()).expect("the library inside the program opens");
    let vocabulary = &opened.library.vocabulary;
    let all = archive::Archive::new(1);
    let lines: Vec<String> = all
        .filter(|line| reads(vocabulary, line))
        .take(LINES)
        .collect();
    let (mut record, mut value) = (Duration::ZERO, Duration::ZERO);
    for line in &lines {
        record += least(|| reads(vocabulary, line));
        value += least(|| serde_json::from_str::<Value>(line));
    }
    told(
        "JSON to a record, beside `serde_json` to its value",
        record,
        value,
    );
    let record = least(|| reads(vocabulary, LOT));
    let events = least(|| Parser::new_from_str(LOT).count());
    told(
        "YAML to a record, beside the YAML parser's events",
        record,
        events,
    );
}

fn reads(vocabulary: &Vocabulary, text: &str) -> bool {
    let mut sources = Sources::default();
    let id = sources.add("a record", text);
    record::read(vocabulary, &sources, id).is_ok()
}

fn least<T>(mut work: impl FnMut() -> T) -> Duration {
    let rounds = (0..ROUNDS).map(|_| {
        let since = Instant::now();
        black_box(work());
        since.elapsed()
    });
    rounds.min().unwrap_or_default()
}

fn told(what: &str, ours: Duration, other: Duration) {
    let ratio = ours.as_secs_f64() / other.as_secs_f64();
    println!("{what}: {ratio:.2} times");
}
