//! Start-up beside merely reading the same bytes: `cargo bench --bench start_up`.
//!
//! The limit for opening the library is 50 ms of processor time. One thread does it all, so that
//! the time on the clock of an idle machine is that of the processor.

use std::time::{Duration, Instant};

use divan::black_box;
use divan::counter::BytesCount;
use groundrule::library::{Texts, embedded, open, text_digest};

const LIMIT: Duration = Duration::from_millis(50);
const ROUNDS: u32 = 15;

fn main() {
    divan::main();
    side_by_side();
}

fn bytes(texts: &Texts) -> BytesCount {
    BytesCount::new(texts.0.values().map(String::len).sum::<usize>())
}

/// The lines of every text counted: the least that a reader does.
#[divan::bench]
fn read_bytes(bencher: divan::Bencher<'_, '_>) {
    let texts = embedded();
    bencher.counter(bytes(&texts)).bench_local(|| read(&texts));
}

/// The digest of every text.
#[divan::bench]
fn hash_bytes(bencher: divan::Bencher<'_, '_>) {
    let texts = embedded();
    bencher.counter(bytes(&texts)).bench_local(|| hash(&texts));
}

/// What the program does before it reads a record.
#[divan::bench]
fn start_up(bencher: divan::Bencher<'_, '_>) {
    let texts = embedded();
    bencher
        .counter(bytes(&texts))
        .bench_local(|| open(&embedded()).expect("no mistakes"));
}

fn read(texts: &Texts) -> usize {
    texts.0.values().map(|text| text.lines().count()).sum()
}

fn hash(texts: &Texts) -> usize {
    texts.0.values().map(|text| text_digest(text).len()).sum()
}

/// The three, in turn within each round, so that a busy moment meets all of them; the least counts.
fn side_by_side() {
    let texts = embedded();
    let mut least = [Duration::MAX; 3];
    for _ in 0..ROUNDS {
        let times = [
            time(|| read(&texts)),
            time(|| hash(&texts)),
            time(|| open(&embedded()).expect("no mistakes").library.rules.len()),
        ];
        for (least, time) in least.iter_mut().zip(times) {
            *least = time.min(*least);
        }
    }
    let [read, hash, start] = least;
    let of = |base: Duration| start.as_secs_f64() / base.as_secs_f64();
    println!();
    println!("start-up, least of {ROUNDS}: {start:.2?}, limit {LIMIT:?}");
    println!(
        "  {:.0} times reading the same bytes ({read:.2?})",
        of(read)
    );
    println!("  {:.0} times hashing them ({hash:.2?})", of(hash));
    assert!(
        start < LIMIT,
        "opening the library takes longer than {LIMIT:?}"
    );
}

fn time(work: impl FnOnce() -> usize) -> Duration {
    let start = Instant::now();
    black_box(work());
    start.elapsed()
}
