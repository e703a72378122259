//! Measures everything in one run: `cargo run --release -p groundrule-speed`.
//!
//! Progress goes to standard error, tables in markdown to standard output. The exit status tells
//! whether all engines agree, not whether the targets are reached.

use std::process::ExitCode;

use groundrule_speed::agree::agree;
use groundrule_speed::archive::{Archive, Lot};
use groundrule_speed::cores::cores;
use groundrule_speed::files::files;
use groundrule_speed::judging::judging;
use groundrule_speed::lines::lines;
use groundrule_speed::machine::machine;
use groundrule_speed::ours;
use groundrule_speed::table::table;
use groundrule_speed::yaml::yaml;

/// How many records there are; as many files are written.
const RECORDS: usize = 10_000;
/// How many of them are judged a round, and read a round.
const A_ROUND: usize = 1_000;
/// How many are screened a round.
const SCREENED: usize = 4_000;

fn main() -> ExitCode {
    let opened = ours::library();
    let lots: Vec<Lot> = Archive::new(1).take(RECORDS).collect();
    eprintln!("whether all agree on {RECORDS} records …");
    if let Err(disagreement) = agree(&opened, &lots) {
        eprintln!("{disagreement}");
        return ExitCode::FAILURE;
    }
    println!("{}- records: {}", machine(), sizes(&lots));
    let few = &lots[..A_ROUND];
    eprintln!("judging {A_ROUND} records …");
    print!("{}", table("Judging", &judging(&opened, few)));
    eprintln!("from lines of JSON to judgements …");
    print!(
        "{}",
        table("JSON lines to judgements", &lines(&opened, few))
    );
    eprintln!("from YAML to judgements …");
    print!("{}", table("YAML to judgements", &yaml(&opened, few)));
    eprintln!("on two cores and on one …");
    print!("{}", table("Two cores", &cores(&opened, &lots[..SCREENED])));
    eprintln!("{RECORDS} files in folders …");
    match files(&opened, &lots, 2) {
        Ok(lines) => print!("{}", table("YAML files in folders", &lines)),
        Err(error) => eprintln!("the files were not measured: {error}"),
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
