//! Judging alone: records and rules are in each engine's own form before the clock starts.

use std::hint::black_box;

use groundrule::judge::Rulings;
use groundrule::library::Opened;

use crate::archive::Lot;
use crate::base;
use crate::cedar::Cedar;
use crate::cel::Cel;
use crate::measure::{Contestant, race};
use crate::native;
use crate::ours::{Reader, Ready, Rules, first_of};
use crate::peer::Peer;
use crate::rego::Rego;
use crate::rhai::Rhai;
use crate::schema::Schema;
use crate::table::{Bound, Line};

const ROUNDS: usize = 15;
/// How many of them take hardly any time beside the others.
const BRIEF: usize = 3;

/// Races all engines over the records and tells what came of it.
pub fn judging(opened: &Opened, lots: &[Lot]) -> Vec<Line> {
    let written: Vec<String> = lots.iter().map(Lot::line).collect();
    let first = first_of(opened, &written);
    let rules = Rules::of(opened, &first);
    let plain = rules.plain(opened, &first);
    let reader = Reader::new(opened, &rules);
    let records = written.iter().filter_map(|line| reader.read(line));
    let records: Vec<Ready<'_>> = records.collect();
    let judge_all = |rules: &Rules| {
        let mut rulings = Rulings::default();
        for record in &records {
            reader.judge(rules, black_box(record), &mut rulings);
            black_box(&rulings);
        }
    };
    let natives: Vec<base::Record> = lots
        .iter()
        .filter_map(|lot| serde_json::from_str(&lot.base_line()).ok())
        .collect();
    let mut contestants = vec![
        Contestant::new("groundrule", || judge_all(&rules)),
        Contestant::new("groundrule, plain", || judge_all(&plain)),
        Contestant::new("plain Rust", || {
            for record in &natives {
                black_box(native::answers(black_box(record)));
            }
        }),
        contestant(Rego::default(), lots),
        contestant(Cel::default(), lots),
        contestant(Cedar::default(), lots),
        contestant(Rhai::default(), lots),
        contestant(Schema::default(), lots),
    ];
    race(ROUNDS, &mut contestants, BRIEF);
    lines(&contestants, records.len())
}

fn contestant<P: Peer + 'static>(mut peer: P, lots: &[Lot]) -> Contestant<'static> {
    let inputs: Vec<P::Input> = lots
        .iter()
        .filter_map(|lot| peer.read(&lot.base_line()))
        .collect();
    Contestant::new(peer.name(), move || {
        for input in &inputs {
            black_box(peer.answers(black_box(input)));
        }
    })
}

fn lines(contestants: &[Contestant<'_>], records: usize) -> Vec<Line> {
    let [ours, plain, others @ ..] = contestants else {
        return Vec::new();
    };
    let mut lines = vec![
        Line::own(ours, records, "24 predicates"),
        Line::own(plain, records, "the 16 plain ones"),
    ];
    for other in others {
        let (beside, bound) = match other.name.as_str() {
            "plain Rust" => (ours, Some(Bound::AtMost(8.0))),
            "regorus" | "cel" | "cedar-policy" => (ours, Some(Bound::AtLeast(30.0))),
            "jsonschema" => (plain, Some(Bound::AtLeast(6.0))),
            _ => (ours, None),
        };
        lines.push(Line::beside(other, records, beside, bound));
    }
    lines
}
