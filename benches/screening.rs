//! An archive screened as a stream: that its memory stays flat, and what a second core is worth.
//!
//! The records are generated from a seed (`examples/generate_archive.rs` writes them out).

use std::time::{Duration, Instant};

use groundrule::judge::Telling;
use groundrule::library::{Opened, embedded, open};
use groundrule::record::Overrides;
use groundrule::screen::{Content, Gist, Screening, Submitted, Summary, SummarySetting};
use rayon::ThreadPoolBuilder;

#[path = "../tests/archive/mod.rs"]
mod archive;

/// How many records are handed on at once.
const BATCH: usize = 256;
/// The archive of which the memory is taken as the measure.
const SMALL: usize = 1_000;
/// The archive that is held against it.
const LARGE: usize = 20_000;

fn main() {
    let opened = open(&embedded()).expect("the library inside the program opens");
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    screen(&opened, SMALL, cores);
    let small = peak();
    let (all, records) = screen(&opened, LARGE, cores);
    let large = peak();
    println!(
        "{LARGE} records on {cores} threads: {:.0} a second",
        rate(records, all)
    );
    match (small, large) {
        (Some(small), Some(large)) => println!(
            "peak memory: {small} kB after {SMALL} records, {large} kB after {LARGE}: {:.2} times",
            large as f64 / small as f64
        ),
        (Some(_), None) | (None, _) => println!("peak memory: this system does not tell it"),
    }
    let (one, _) = screen(&opened, SMALL, 1);
    let (two, _) = screen(&opened, SMALL, 2);
    println!(
        "two threads beside one: {:.2} times",
        one.as_secs_f64() / two.as_secs_f64()
    );
}

/// Screens an archive into a summary.
fn screen(opened: &Opened, count: usize, threads: usize) -> (Duration, usize) {
    let overrides = Overrides::default();
    let no_plans = |_: &str, _: &str| Err("there are no plans here".to_owned());
    let screening = Screening::new(opened, &overrides, &[], None, &no_plans);
    let screening = screening.telling(Telling::Outline { near: Some(0.05) });
    let pool = ThreadPoolBuilder::new().num_threads(threads).build();
    let pool = pool.expect("the threads start");
    let setting = SummarySetting {
        most: 10,
        near: Some(0.05),
        asked: None,
    };
    let mut summary = Summary::new(setting.clone());
    let mut taken = Duration::ZERO;
    let mut lines = (1..).zip(archive::Archive::new(1)).take(count);
    loop {
        let batch: Vec<Submitted> = lines
            .by_ref()
            .take(BATCH)
            .map(|(number, line)| Submitted {
                name: "archive".to_owned(),
                content: Content::Line(line, number),
            })
            .collect();
        if batch.is_empty() {
            break;
        }
        // Making records is no part of screening them.
        let since = Instant::now();
        for gist in screening.batch(&pool, batch, |one| Gist::of(&one, &setting)) {
            summary.add(gist);
        }
        taken += since.elapsed();
    }
    assert_eq!(summary.records, count);
    (taken, count)
}

fn rate(records: usize, taken: Duration) -> f64 {
    records as f64 / taken.as_secs_f64()
}

/// The most memory that this process ever held, in kilobytes, where the system tells it.
fn peak() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}
