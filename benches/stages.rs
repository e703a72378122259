//! How long each stage takes. Start-up beside the mere reading of the same bytes: `start_up.rs`.
//!
//! `cargo bench` prints absolute times; what counts are the ratios within one run.

use divan::{Bencher, black_box};
use groundrule::figures::Figures;
use groundrule::judge::{self, Describer, Quick, Rulings, judge as judge_record};
use groundrule::language;
use groundrule::layers::in_force;
use groundrule::library::{Opened, Texts, embedded, open};
use groundrule::program::{Program, compile};
use groundrule::record::{self, facts::Record};
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

/// The lot and its rules, ready to be judged.
fn ready(opened: &Opened, sources: &Sources, id: SourceId) -> (Record, Program) {
    let library = &opened.library;
    let record = record::read(&library.vocabulary, sources, id).expect("it reads");
    let places = judge::places(library, &record, sources).expect("its places");
    let record = complete(&library.vocabulary, record);
    let standing = in_force(library, &places, &judge::dates(&record)).expect("its rules");
    let program = compile(library, &opened.survey, standing);
    (record, program)
}

mod library {
    use super::*;

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
        let (record, program) = ready(&opened, &sources, id);
        let vocabulary = &opened.library.vocabulary;
        bencher.bench_local(|| judge_record(&program, vocabulary, &opened.survey, &record).len());
    }

    #[divan::bench]
    fn rule_on_it_without_a_word(bencher: Bencher<'_, '_>) {
        let opened = opened(&embedded());
        let (sources, id) = lot();
        let (record, program) = ready(&opened, &sources, id);
        let vocabulary = &opened.library.vocabulary;
        let quick = Quick::of(&program, vocabulary);
        let figures = Figures::of(&record, quick.layout());
        let mut rulings = Rulings::default();
        bencher.bench_local(|| {
            quick.rule_on(
                &program,
                vocabulary,
                &opened.survey,
                &figures,
                || &record,
                &mut rulings,
            );
            rulings.len()
        });
    }

    #[divan::bench]
    fn lay_out_its_figures(bencher: Bencher<'_, '_>) {
        let opened = opened(&embedded());
        let (sources, id) = lot();
        let (record, program) = ready(&opened, &sources, id);
        let quick = Quick::of(&program, &opened.library.vocabulary);
        let mut figures = Figures::new(quick.layout());
        bencher.bench_local(|| figures.take(black_box(&record)));
    }

    #[divan::bench]
    fn tell_every_finding(bencher: Bencher<'_, '_>) {
        let opened = opened(&embedded());
        let (sources, id) = lot();
        let (record, program) = ready(&opened, &sources, id);
        let vocabulary = &opened.library.vocabulary;
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
            judge::report(opened.setting(), record, &sources, id).expect("it is judged")
        });
    }
}
