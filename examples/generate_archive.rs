//! Writes a generated archive, a JSON record a line: `generate_archive COUNT [SEED]`.

use std::io::Write as _;
use std::process::ExitCode;

#[path = "../tests/archive/mod.rs"]
mod archive;

fn main() -> ExitCode {
    let numbers: Option<Vec<u64>> = std::env::args()
        .skip(1)
        .map(|text| text.parse().ok())
        .collect();
    let (count, seed) = match numbers.as_deref() {
        Some([count]) => (*count, 1),
        Some([count, seed]) => (*count, *seed),
        Some(_) | None => {
            eprintln!("write how many records, and the seed if it is not to be 1: 20000 7");
            return ExitCode::from(2);
        }
    };
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let count = usize::try_from(count).unwrap_or(usize::MAX);
    for line in archive::Archive::new(seed).take(count) {
        if writeln!(out, "{line}").is_err() {
            // Who reads has had enough.
            return ExitCode::SUCCESS;
        }
    }
    ExitCode::SUCCESS
}
