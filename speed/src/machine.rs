//! On what machine, with which compiler and which versions.

use std::fs;
use std::thread::available_parallelism;

/// The head of the tables.
pub fn machine() -> String {
    let cores = available_parallelism().map_or(1, usize::from);
    let processor = processor().unwrap_or_else(|| std::env::consts::ARCH.to_owned());
    format!(
        "- machine: {processor}, {cores} cores, {}\n- compiler: {}\n- versions: {}\n",
        std::env::consts::OS,
        env!("COMPILER"),
        env!("VERSIONS"),
    )
}

/// What the processor is called, where the system tells it.
fn processor() -> Option<String> {
    let told = fs::read_to_string("/proc/cpuinfo").ok()?;
    let line = told.lines().find(|line| line.starts_with("model name"))?;
    let (_, name) = line.split_once(':')?;
    Some(name.trim().to_owned())
}
