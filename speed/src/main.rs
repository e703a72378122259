//! Measures everything in one run: `cargo run --release -p groundrule-speed`.
//!
//! Named parts alone where some are named: `… -- judging lines`. Progress goes to standard error,
//! tables in markdown to standard output. The exit status tells whether all engines agree (0, 1) or
//! the call was not understood (2), not whether the targets are reached.

use std::io;
use std::process::ExitCode;

use groundrule::library::Opened;
use groundrule_speed::agree::agree;
use groundrule_speed::archive::{Archive, Lot};
use groundrule_speed::cores::cores;
use groundrule_speed::files::files;
use groundrule_speed::judging::judging;
use groundrule_speed::lines::lines;
use groundrule_speed::machine::machine;
use groundrule_speed::ours;
use groundrule_speed::table::{Line, table};
use groundrule_speed::yaml::yaml;

/// How many records there are; as many files are written.
const RECORDS: usize = 10_000;
/// How many of them are judged a round, and read a round.
const A_ROUND: usize = 1_000;
/// How many are screened a round.
const SCREENED: usize = 4_000;

/// A part of the run: its name, its title and what measures it.
struct Part {
    name: &'static str,
    title: &'static str,
    measure: fn(&Opened, &[Lot]) -> io::Result<Vec<Line>>,
}

const PARTS: [Part; 5] = [
    Part {
        name: "judging",
        title: "Judging",
        measure: |opened, lots| Ok(judging(opened, &lots[..A_ROUND])),
    },
    Part {
        name: "lines",
        title: "JSON lines to judgements",
        measure: |opened, lots| Ok(lines(opened, &lots[..A_ROUND])),
    },
    Part {
        name: "yaml",
        title: "YAML to judgements",
        measure: |opened, lots| Ok(yaml(opened, &lots[..A_ROUND])),
    },
    Part {
        name: "cores",
        title: "Two cores",
        measure: |opened, lots| Ok(cores(opened, &lots[..SCREENED])),
    },
    Part {
        name: "files",
        title: "YAML files in folders",
        measure: |opened, lots| files(opened, lots, 2),
    },
];

fn main() -> ExitCode {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    let known = |name: &String| PARTS.iter().any(|part| part.name == *name);
    if let Some(unknown) = asked.iter().find(|name| !known(name)) {
        let names = PARTS.map(|part| part.name).join(", ");
        eprintln!("there is no part `{unknown}`: name some of {names}, or none for all");
        return ExitCode::from(2);
    }
    let opened = ours::library();
    let lots: Vec<Lot> = Archive::new(1).take(RECORDS).collect();
    eprintln!("whether all agree on {RECORDS} records …");
    if let Err(disagreement) = agree(&opened, &lots) {
        eprintln!("{disagreement}");
        return ExitCode::FAILURE;
    }
    println!("{}- records: {}", machine(), sizes(&lots));
    for part in PARTS {
        if asked.is_empty() || asked.iter().any(|name| *name == part.name) {
            eprintln!("{} …", part.title);
            match (part.measure)(&opened, &lots) {
                Ok(lines) => print!("{}", table(part.title, &lines)),
                Err(error) => eprintln!("not measured: {error}"),
            }
        }
    }
    ExitCode::SUCCESS
}

/// How large the records are in both forms.
fn sizes(lots: &[Lot]) -> String {
    let mean = |bytes: usize| bytes / lots.len();
    let written = lots.iter().map(|lot| lot.line().len()).sum();
    let base = lots.iter().map(|lot| lot.base_line().len()).sum();
    let broken = lots.iter().filter(|lot| lot.broken).count();
    format!(
        "{} bytes as crews write them, {} in base units; {broken} of {} can't be read",
        mean(written),
        mean(base),
        lots.len()
    )
}
