//! What a second core is worth: an archive screened into a summary on one thread and on two.

use std::time::{Duration, Instant};

use groundrule::library::Opened;

use crate::archive::Lot;
use crate::measure::{Contestant, race};
use crate::screened::{BATCH, line, with_screener};
use crate::table::{Bound, Line};

const ROUNDS: usize = 7;

/// Races two threads against one and tells what came of it.
pub fn cores(opened: &Opened, lots: &[Lot]) -> Vec<Line> {
    let lines: Vec<String> = lots.iter().map(Lot::line).collect();
    let mut contestants = [
        Contestant::timed("two threads", || screen(opened, &lines, 2)),
        Contestant::timed("one thread", || screen(opened, &lines, 1)),
    ];
    race(ROUNDS, &mut contestants, 0);
    let [two, one] = &contestants;
    vec![
        Line::own(two, lines.len(), "findings told, summed up"),
        Line::beside(one, lines.len(), two, Some(Bound::AtLeast(1.8))),
    ]
}

fn screen(opened: &Opened, lines: &[String], threads: usize) -> Duration {
    let submitted = (1..).zip(lines);
    let submitted = submitted.map(|(number, text)| line(text.clone(), number));
    let submitted: Vec<_> = submitted.collect();
    let mut batches = Vec::new();
    let mut rest = submitted.into_iter();
    while !rest.as_slice().is_empty() {
        batches.push(rest.by_ref().take(BATCH).collect::<Vec<_>>());
    }
    with_screener(opened, threads, |screener| {
        // Copying the lines and starting the threads is no part of screening them.
        let since = Instant::now();
        for batch in batches {
            screener.screen(batch);
        }
        let records = screener.records();
        let taken = since.elapsed();
        assert_eq!(records, lines.len());
        taken
    })
}
