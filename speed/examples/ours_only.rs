//! Temporary.
use std::time::Instant;
use groundrule_speed::{archive, ours};
fn main() {
    let what = std::env::args().nth(1).unwrap_or_default();
    let rounds: usize = std::env::args().nth(2).map_or(200, |n| n.parse().unwrap());
    let opened = ours::library();
    let lots: Vec<_> = archive::Archive::new(7).take(1000).collect();
    let lines: Vec<String> = lots.iter().map(|l| l.line()).collect();
    let ready: Vec<_> = lines.iter().filter_map(|l| ours::read(&opened, l)).collect();
    let rules = if what == "plain" { ours::plain_rules(&opened, &ready[0]) } else { ours::rules(&opened, &ready[0]) };
    let mut rulings = Vec::new();
    let mut least = u128::MAX;
    for _ in 0..rounds {
        let start = Instant::now();
        if what == "read" {
            for line in &lines { std::hint::black_box(ours::read(&opened, line)); }
        } else {
            for one in &ready { ours::judge(&opened, &rules, one, &mut rulings); std::hint::black_box(&rulings); }
        }
        least = least.min(start.elapsed().as_nanos());
    }
    println!("{} ns a record, {} records", least / 1000, ready.len());
}
