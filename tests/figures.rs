//! What is laid out from a text at once, held against what is laid out of the record it makes.

use std::cell::RefCell;
use std::sync::{Arc, LazyLock};

use groundrule::figures::{Figures, Layout, Plainly};
use groundrule::judge;
use groundrule::library::{Opened, embedded, open};
use groundrule::record::{self, Overrides};
use groundrule::source::Sources;
use groundrule::survey::complete;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

mod archive;
mod lots;

use lots::demo_lots;

static LIBRARY: LazyLock<Opened> =
    LazyLock::new(|| open(&embedded()).expect("the library inside the program opens"));

/// What reads, and where it lays out: used again and again, as for an archive.
type Room = (Plainly<'static>, Figures);

/// With all facts and lists that there are, and with those that the rules of an archive ask for.
static LAYOUTS: LazyLock<[Arc<Layout>; 2]> = LazyLock::new(|| {
    let vocabulary = &LIBRARY.library.vocabulary;
    let line = archive::Archive::new(11).next().expect("a record");
    let mut sources = Sources::default();
    let id = sources.add("archive", line);
    let record = record::read(vocabulary, &sources, id).expect("it reads");
    let judged = judge::report(LIBRARY.setting(), record, &sources, id).expect("it is judged");
    let asked = Arc::clone(judged.chosen.quick(vocabulary).layout());
    [Arc::new(Layout::everything(vocabulary)), asked]
});

thread_local! {
    static ROOMS: RefCell<[Room; 2]> = RefCell::new(LAYOUTS.each_ref().map(|layout| {
        let plainly = Plainly::new(&LIBRARY.library.vocabulary, layout);
        (plainly, Figures::new(layout))
    }));
}

/// Whether a text is laid out at once, and then as its record is.
fn is_same(text: &str) -> bool {
    ROOMS.with_borrow_mut(|rooms| {
        let rooms = rooms.iter_mut().zip(&*LAYOUTS);
        let [everything, asked]: [bool; 2] = rooms
            .map(|(room, layout)| is_same_in(room, layout, text))
            .collect::<Vec<_>>()
            .try_into()
            .expect("one of each layout");
        assert_eq!(everything, asked, "{text}");
        everything
    })
}

fn is_same_in((plainly, figures): &mut Room, layout: &Arc<Layout>, text: &str) -> bool {
    let vocabulary = &LIBRARY.library.vocabulary;
    let overrides = Overrides::default();
    let Some(head) = plainly.read(text, &overrides, figures) else {
        return false;
    };
    let mut sources = Sources::default();
    let id = sources.add("record", text);
    let record = match record::read_with(vocabulary, &sources, id, &overrides) {
        Ok(record) => complete(vocabulary, record),
        Err(mistakes) => panic!("it has mistakes, {mistakes:?}:\n{text}"),
    };
    assert_eq!(format!("{head:?}"), format!("{:?}", record.head), "{text}");
    let slowly = Figures::of(&record, layout);
    assert!(*figures == slowly, "{text}\n{figures:#?}\n{slowly:#?}");
    true
}

#[test]
fn demo_lots_are_laid_out_as_their_records_are() {
    let lots = demo_lots();
    let at_once = lots.iter().filter(|(_, text)| is_same(text)).count();
    assert!(at_once > 0, "none of {} lots", lots.len());
}

#[test]
fn an_archive_is_laid_out_at_once() {
    let lines = archive::Archive::new(11).take(400);
    let at_once = lines.filter(|line| is_same(line)).count();
    assert!(at_once > 380, "{at_once} of 400 lines");
}

/// Records of an archive and of the demo.
fn texts() -> impl Strategy<Value = String> {
    static TEXTS: LazyLock<Vec<String>> = LazyLock::new(|| {
        let lines = archive::Archive::new(12).take(40);
        lines
            .chain(demo_lots().into_iter().map(|(_, text)| text))
            .collect()
    });
    any::<prop::sample::Index>().prop_map(|at| at.get(&TEXTS).clone())
}

/// What may stand where something else stood: other values, other keys, signs that mean something.
fn patches() -> impl Strategy<Value = String> {
    prop_oneof![
        "[\"{}\\[\\],:#' \n0-9.-]{0,4}",
        prop::sample::select(vec![
            "\"none\"",
            "none",
            "\"more\"",
            "more",
            "null",
            "yes",
            "\"yes\"",
            "no",
            "true",
            "id",
            "\"id\"",
            "SC-1",
            "length",
            "at",
            "from",
            "to",
            "ft",
            "in",
            " ± 1/4 in",
            "± -1 in",
            "exact",
            "others",
            "0 ft",
            "200 ft",
            "1/0 in",
            "degF",
            "psi",
            "%",
            "2 %",
            "1:48",
            "record",
            "site",
            "lot",
            "datum",
            "spans",
            "shots",
            "\\u00b1",
            "12 AWG",
            "\"\"",
            "-",
        ])
        .prop_map(str::to_owned),
    ]
}

/// Always the same cases, or, to hunt, as many others as `PROPTEST_CASES` asks for.
fn config() -> ProptestConfig {
    let (cases, rng_seed) = match std::env::var("PROPTEST_CASES") {
        Ok(_) => (ProptestConfig::default().cases, RngSeed::Random),
        Err(_) => (3000, RngSeed::Fixed(61)),
    };
    ProptestConfig {
        cases,
        rng_seed,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

#[test]
fn many_changed_texts_are_still_laid_out_at_once() {
    // Else the property below would say nothing.
    let line = archive::Archive::new(12).next().expect("a record");
    let mut at_once = 0;
    for at in 0..line.len() {
        if line.as_bytes()[at].is_ascii_digit() {
            let mut changed = line.clone();
            changed.replace_range(at..=at, "7");
            at_once += usize::from(is_same(&changed));
        }
    }
    assert!(at_once > 40, "{at_once}");
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn a_text_that_is_changed_is_laid_out_as_its_record_is_or_left_to_it(
        text in texts(),
        at in any::<prop::sample::Index>(),
        length in 0_usize..12,
        patch in patches(),
    ) {
        let boundary = |mut at: usize| {
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let start = boundary(at.index(text.len() + 1));
        let end = boundary((start + length).min(text.len())).max(start);
        let mut changed = text.clone();
        changed.replace_range(start..end, &patch);
        is_same(&changed);
    }
}
