//! Start-up as a multiple of reading the same bytes, in one run: `cargo bench --bench start_up`.
//!
//! Fails where opening the library takes more than 50 ms of processor time. One thread does it all,
//! and the least of many rounds counts, so that the clock of a machine at rest shows it.

use std::hint::black_box;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use groundrule::library::{Texts, embedded, open, text_digest};

const LIMIT: Duration = Duration::from_millis(50);
const ROUNDS: u32 = 25;

fn main() -> ExitCode {
    let texts = embedded();
    let bytes: usize = texts.rules().map(|(_, text)| text.len()).sum();
    let mut least = [Duration::MAX; 3];
    for _ in 0..ROUNDS {
        // In turn, so that a busy moment meets all three.
        let times = [
            time(|| read(&texts)),
            time(|| hash(&texts)),
            time(|| {
                let opened = open(&embedded()).expect("the embedded library has no mistakes");
                opened.library.rules.len()
            }),
        ];
        for (least, time) in least.iter_mut().zip(times) {
            *least = time.min(*least);
        }
    }
    let [read, hash, start] = least;
    let times = |base: Duration| start.as_secs_f64() / base.as_secs_f64();
    println!("start-up over {bytes} bytes, least of {ROUNDS}: {start:.2?}, at most {LIMIT:?}");
    println!("  {:.0} times reading them ({read:.2?})", times(read));
    println!("  {:.0} times hashing them ({hash:.2?})", times(hash));
    if start > LIMIT {
        eprintln!("opening the library takes longer than it may");
        return ExitCode::FAILURE;
    }
    ExitCode::SUCCESS
}

/// The least that a reader does: every character looked at, every line found.
fn read(texts: &Texts) -> usize {
    let lines = |text: &str| text.chars().filter(|character| *character == '\n').count();
    texts.rules().map(|(_, text)| lines(text)).sum()
}

fn hash(texts: &Texts) -> usize {
    texts.rules().map(|(_, text)| text_digest(text).len()).sum()
}

fn time(work: impl FnOnce() -> usize) -> Duration {
    let start = Instant::now();
    black_box(work());
    start.elapsed()
}
