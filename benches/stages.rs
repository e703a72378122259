//! How long each stage takes, and start-up beside the mere reading of the same bytes.
//!
//! `cargo bench` prints absolute times; what counts are the ratios within one run.

use divan::{Bencher, black_box};
use groundrule::judge::{self, Describer, Setting, judge as judge_record};
use groundrule::language;
use groundrule::layers::in_force;
use groundrule::library::{Opened, Texts, embedded, open, text_digest};
use groundrule::program::compile;
use groundrule::record;
use groundrule::source::{SourceId, Sources};
use groundrule::survey::complete;

const LOT: &str = include_str!("../demo/velder_mills/lot_07.yaml");

fn main() {
    divan::main();
}

fn opened(texts: &Texts) -> Opened {
    open(texts).expect("the library inside the program opens")
}

fn lot() -> (Sources, SourceId) {
    let mut sources = Sources::default();
    let id = sources.add("lot_07.yaml", LOT);
    (sources, id)
}

mod start_up {
    use super::*;

    /// The measure: every byte of the library looked at once.
    #[divan::bench]
    fn read_the_bytes(bencher: Bencher<'_, '_>) {
        let texts = embedded();
        bencher.bench_local(|| {
            texts
                .0
                .values()
                .map(|text| text.bytes().filter(|byte| *byte == b'\n').count())
                .sum::<usize>()
        });
    }

    #[divan::bench]
    fn digest_the_bytes(bencher: Bencher<'_, '_>) {
        let texts = embedded();
        bencher.bench_local(|| {
            for text in texts.0.values() {
                black_box(text_digest(text));
            }
        });
    }

    #[divan::bench]
    fn parse_the_library(bencher: Bencher<'_, '_>) {
        let mut sources = Sources::default();
        let ids: Vec<SourceId> = embedded()
            .0
            .into_iter()
            .map(|(name, text)| sources.add(name, text))
            .collect();
        bencher.bench_local(|| {
            for id in &ids {
                black_box(language::parse(&sources, *id)).expect("it parses");
            }
        });
    }

    #[divan::bench]
    fn open_the_library(bencher: Bencher<'_, '_>) {
        let texts = embedded();
        bencher.bench_local(|| opened(black_box(&texts)));
    }
}

mod one_lot {
    use super::*;

    #[divan::bench]
    fn read_the_record(bencher: Bencher<'_, '_>) {
        let opened = opened(&embedded());
        let (sources, id) = lot();
        bencher.bench_local(|| record::read(&opened.library.vocabulary, &sources, id));
    }

    #[divan::bench]
    fn choose_and_compile_its_rules(bencher: Bencher<'_, '_>) {
        let opened = opened(&embedded());
        let (sources, id) = lot();
        let record = record::read(&opened.library.vocabulary, &sources, id).expect("it reads");
        let places = judge::places(&opened.library, &record, &sources).expect("its places");
        let dates = judge::dates(&record);
        bencher.bench_local(|| {
            let standing = in_force(&opened.library, &places, &dates).expect("its rules");
            compile(&opened.library, &opened.survey, standing)
        });
    }

    #[divan::bench]
    fn judge_it(bencher: Bencher<'_, '_>) {
        let opened = opened(&embedded());
        let (sources, id) = lot();
        let vocabulary = &opened.library.vocabulary;
        let record = record::read(vocabulary, &sources, id).expect("it reads");
        let places = judge::places(&opened.library, &record, &sources).expect("its places");
        let record = complete(vocabulary, record);
        let standing =
            in_force(&opened.library, &places, &judge::dates(&record)).expect("its rules");
        let program = compile(&opened.library, &opened.survey, standing);
        bencher.bench_local(|| judge_record(&program, vocabulary, &opened.survey, &record).len());
    }

    #[divan::bench]
    fn tell_every_finding(bencher: Bencher<'_, '_>) {
        let opened = opened(&embedded());
        let (sources, id) = lot();
        let vocabulary = &opened.library.vocabulary;
        let record = record::read(vocabulary, &sources, id).expect("it reads");
        let places = judge::places(&opened.library, &record, &sources).expect("its places");
        let record = complete(vocabulary, record);
        let standing =
            in_force(&opened.library, &places, &judge::dates(&record)).expect("its rules");
        let program = compile(&opened.library, &opened.survey, standing);
        let judgements = judge_record(&program, vocabulary, &opened.survey, &record);
        bencher.bench_local(|| {
            let describer =
                Describer::new(&opened.library, &program, &opened.survey, &record, &sources);
            judgements
                .iter()
                .map(|judgement| describer.finding(judgement))
                .collect::<Vec<_>>()
        });
    }

    #[divan::bench]
    fn from_text_to_report(bencher: Bencher<'_, '_>) {
        let opened = opened(&embedded());
        let (sources, id) = lot();
        bencher.bench_local(|| {
            let record = record::read(&opened.library.vocabulary, &sources, id).expect("it reads");
            let setting = Setting {
                library: &opened.library,
                survey: &opened.survey,
                ruleset_digest: &opened.digest,
            };
            judge::report(setting, record, &sources, id).expect("it is judged")
        });
    }
}
