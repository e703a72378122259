//! How long each stage takes: `cargo bench --bench stages`.

use divan::{Bencher, black_box};
use groundrule::judge::{self, Setting};
use groundrule::language;
use groundrule::library::{Opened, embedded, open};
use groundrule::record;
use groundrule::report::{json, terminal};
use groundrule::source::Sources;
use groundrule::{layers, program, survey};

const LOT: &str = include_str!("../demo/velder_mills/lot_07.yaml");

fn main() {
    divan::main();
}

fn opened() -> Opened {
    open(&embedded()).expect("the embedded library has no mistakes")
}

fn setting(opened: &Opened) -> Setting<'_> {
    Setting {
        library: &opened.library,
        survey: &opened.survey,
        ruleset_digest: &opened.digest,
    }
}

/// Every text of the library, to its tree.
#[divan::bench]
fn parse_library(bencher: Bencher<'_, '_>) {
    let mut sources = Sources::default();
    let texts = embedded().0;
    let bytes: usize = texts.values().map(String::len).sum();
    let ids: Vec<_> = texts
        .into_iter()
        .map(|(name, text)| sources.add(name, text))
        .collect();
    bencher
        .counter(divan::counter::BytesCount::new(bytes))
        .bench_local(|| {
            for id in &ids {
                black_box(language::parse(&sources, *id).expect("no mistakes"));
            }
        });
}

/// Every text of the library, to what can be asked.
#[divan::bench]
fn open_library(bencher: Bencher<'_, '_>) {
    let texts = embedded();
    bencher.bench_local(|| black_box(open(&texts).expect("no mistakes")));
}

/// One lot's text, to its facts.
#[divan::bench]
fn read_record(bencher: Bencher<'_, '_>) {
    let opened = opened();
    let mut sources = Sources::default();
    let id = sources.add("lot_07.yaml", LOT);
    bencher
        .counter(divan::counter::BytesCount::new(LOT.len()))
        .bench_local(|| record::read(&opened.library.vocabulary, &sources, id).expect("it reads"));
}

/// One lot's facts and the rules in force, to judgements.
#[divan::bench]
fn judge_record(bencher: Bencher<'_, '_>) {
    let opened = opened();
    let (program, record) = compiled(&opened);
    bencher.bench_local(|| {
        judge::judge(
            &program,
            &opened.library.vocabulary,
            &opened.survey,
            &record,
        )
        .len()
    });
}

/// The judgements of one lot, to findings in words.
#[divan::bench]
fn describe_findings(bencher: Bencher<'_, '_>) {
    let opened = opened();
    let mut sources = Sources::default();
    sources.add("lot_07.yaml", LOT);
    let (program, record) = compiled(&opened);
    let judgements = judge::judge(
        &program,
        &opened.library.vocabulary,
        &opened.survey,
        &record,
    );
    let describer =
        judge::Describer::new(&opened.library, &program, &opened.survey, &record, &sources);
    bencher.bench_local(|| {
        for judgement in &judgements {
            black_box(describer.finding(judgement));
        }
    });
}

fn compiled(opened: &Opened) -> (program::Program, record::facts::Record) {
    let mut sources = Sources::default();
    let id = sources.add("lot_07.yaml", LOT);
    let vocabulary = &opened.library.vocabulary;
    let record = record::read(vocabulary, &sources, id).expect("it reads");
    let record = survey::complete(vocabulary, record);
    let places = judge::places(&opened.library, &record).expect("known places");
    let in_force = layers::in_force(&opened.library, &places, &judge::dates(&record))
        .expect("no two places claim one topic");
    let program = program::compile(&opened.library, &opened.survey, in_force);
    (program, record)
}

/// A check of one lot with an opened library, from its text to a report's text.
#[divan::bench(args = ["json", "text"])]
fn check_lot(bencher: Bencher<'_, '_>, form: &str) {
    let opened = opened();
    bencher.bench_local(|| {
        let mut sources = Sources::default();
        let id = sources.add("lot_07.yaml", LOT);
        let record = record::read(&opened.library.vocabulary, &sources, id).expect("it reads");
        let judged =
            judge::report(setting(&opened), record, &sources, id).expect("rules are in force");
        match form {
            "json" => json::line(&judged.report),
            _ => terminal::report(
                &judged.report,
                LOT,
                terminal::Style {
                    colour: false,
                    width: 100,
                },
            ),
        }
    });
}
