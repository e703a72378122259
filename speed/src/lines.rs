//! From a line of JSON to answers: reading and judging together, from the same bytes.

use std::hint::black_box;

use groundrule::library::Opened;

use crate::archive::Lot;
use crate::base;
use crate::cedar::Cedar;
use crate::cel::Cel;
use crate::crew;
use crate::measure::{Contestant, race};
use crate::native;
use crate::ours::{Reader, Rules, first_of};
use crate::peer::Peer;
use crate::rego::Rego;
use crate::rhai::Rhai;
use crate::schema::Schema;
use crate::table::{Bound, Line};

const ROUNDS: usize = 15;

/// Races all engines from text to answers and tells what came of it.
pub fn lines(opened: &Opened, lots: &[Lot]) -> Vec<Line> {
    let written: Vec<String> = lots.iter().map(Lot::line).collect();
    let base: Vec<String> = lots.iter().map(Lot::base_line).collect();
    let rules = Rules::of(opened, &first_of(opened, &written));
    let reader = Reader::new(opened, &rules);
    let natives: Vec<Option<base::Record>> = base
        .iter()
        .map(|line| serde_json::from_str(line).ok())
        .collect();
    let mut contestants = vec![
        Contestant::new("groundrule", || {
            reader.judge_texts(&rules, &written);
        }),
        Contestant::new("groundrule, reading alone", || {
            let mut ready = reader.room();
            for line in &written {
                black_box(reader.read_into(black_box(line), &mut ready));
                black_box(&ready);
            }
        }),
        Contestant::new("groundrule, the record whole", || {
            reader.judge_whole_texts(&rules, &written);
        }),
        Contestant::new("serde_json into a plain struct, and plain Rust", || {
            for (line, native) in written.iter().zip(&natives) {
                // Quantities stay text, so that what is judged was converted before.
                let read: Option<crew::Record<'_>> = serde_json::from_str(black_box(line)).ok();
                if let (Some(_), Some(native)) = (black_box(read), native) {
                    black_box(native::answers(black_box(native)));
                }
            }
        }),
        Contestant::new("the same, from base units", || {
            for line in &base {
                let read: Option<base::Record> = serde_json::from_str(black_box(line)).ok();
                if let Some(read) = read {
                    black_box(native::answers(&read));
                }
            }
        }),
        contestant(Rego::default(), &base),
        contestant(Cel::default(), &base),
        contestant(Cedar::default(), &base),
        contestant(Rhai::default(), &base),
        contestant(Schema::default(), &base),
    ];
    race(ROUNDS, &mut contestants, 0);
    told(&contestants, lots.len())
}

fn contestant<P: Peer + 'static>(mut peer: P, lines: &[String]) -> Contestant<'_> {
    Contestant::new(peer.name(), move || {
        for line in lines {
            if let Some(input) = peer.read(black_box(line)) {
                black_box(peer.answers(&input));
            }
        }
    })
}

fn told(contestants: &[Contestant<'_>], records: usize) -> Vec<Line> {
    let [ours, reading, whole, plain, base, peers @ ..] = contestants else {
        return Vec::new();
    };
    let mut lines = vec![
        Line::own(ours, records, "24 predicates"),
        Line::own(reading, records, ""),
        Line::own(whole, records, "with the place of every value"),
        Line::beside(plain, records, ours, Some(Bound::AtMost(2.0))),
        Line::beside(base, records, ours, None),
    ];
    let best = peers.iter().min_by_key(|peer| peer.least);
    for peer in peers {
        let is_best = best.is_some_and(|best| best.name == peer.name);
        let bound = is_best.then_some(Bound::AtLeast(2.0));
        lines.push(Line::beside(peer, records, ours, bound));
    }
    lines
}
