//! Falls of real conduits, against the package that ships them.
//!
//! `tests/reference/networks/` holds 262 conduits of networks that pyswmm, swmmio and swmmanywhere
//! ship, US and metric, as records, and beside them what swmmio computes (`SlopeFtPerFt`: fall over
//! length along the pipe). Which file each came from, with its digest, stands in `networks.csv`
//! there; the script beside it makes all of it again. Such conduits come in any size, so they are
//! judged by rules of this test's own.

use std::collections::BTreeMap;
use std::path::Path;

use groundrule::finding::Verdict;
use groundrule::judge::{self, Setting};
use groundrule::library::{Opened, Texts, embedded, open};
use groundrule::quantity::{Rational, is_at_least};
use groundrule::record;
use groundrule::record::facts::Value;
use groundrule::source::Sources;
use groundrule::survey::{Argument, Mode, complete};
use groundrule::truth::Truth;

/// One that real sewers fall on both sides of.
const LEAST_FALL: (i128, i128) = (1, 200);

const RULES: &str = r#"
topic conduits "Falls of published conduits" permit plumbing

limit least : slope = 0.5 %   "least fall of this test"   cite common_practice "a number of this test"

rule falls {
  title   "Each conduit falls"
  each    sewer in building_sewers
  shall   overall_fall(sewer) is at least least
  cite    common_practice "a number of this test"
  hold    before_cover
  remedy  "None: it is a test."
}
"#;

const PLACE: &str = r#"
place "Networks that packages ship" {
  authority any "nobody (invented)" "a test"
}

adopt conduits
  from 2000-01-01   cite common_practice "a test"   because "a test"
"#;

fn opened() -> Opened {
    let mut texts: BTreeMap<String, String> = embedded()
        .0
        .into_iter()
        .filter(|(name, _)| name.starts_with("shared/"))
        .collect();
    texts.insert("rules/conduits.rules".into(), RULES.into());
    texts.insert(
        "jurisdictions/reference/networks/place.rules".into(),
        PLACE.into(),
    );
    open(&Texts(texts)).unwrap_or_else(|problems| {
        let all: Vec<String> = problems
            .problems
            .iter()
            .map(|problem| problem.diagnostic.to_string())
            .collect();
        panic!("{}", all.join("\n"))
    })
}

/// What the package says, by the conduit's id: the fall per length, and the unit it is drawn in.
fn published(folder: &Path) -> BTreeMap<String, (f64, String)> {
    let text = std::fs::read_to_string(folder.join("conduits.csv")).expect("the conduits");
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let head: Vec<&str> = lines.next().expect("a head").split(',').collect();
    let column = |name: &str| {
        head.iter()
            .position(|column| *column == name)
            .expect("a column")
    };
    let (id, unit, fall) = (
        column("id"),
        column("units"),
        column("swmmio_fall_over_length"),
    );
    lines
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            let fall = cells[fall].parse().expect("a number");
            (cells[id].to_owned(), (fall, cells[unit].to_owned()))
        })
        .collect()
}

#[test]
fn each_computed_fall_agrees_with_the_packages_own() {
    let opened = opened();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/networks");
    let published = published(&folder);
    let overall = opened
        .survey
        .function("overall_fall")
        .expect("a survey function");
    let limit = Rational::new(LEAST_FALL.0, LEAST_FALL.1).expect("not zero");
    let limit = groundrule::quantity::Interval::point(limit);
    let (mut compared, mut short, mut metric, mut level) = (0, 0, 0, 0);
    let mut records: Vec<_> = std::fs::read_dir(folder.join("records"))
        .expect("the records")
        .map(|entry| entry.expect("an entry").path())
        .collect();
    records.sort();
    for path in records {
        let text = std::fs::read_to_string(&path).expect("a record");
        let mut sources = Sources::default();
        let id = sources.add(path.display().to_string(), text);
        let vocabulary = &opened.library.vocabulary;
        let record = record::read(vocabulary, &sources, id).unwrap_or_else(|errors| {
            panic!("{}: {}", path.display(), errors[0].error);
        });
        let setting = Setting {
            library: &opened.library,
            survey: &opened.survey,
            ruleset_digest: &opened.digest,
        };
        let judged = judge::report(setting, record, &sources, id).expect("it is judged");
        let record = complete(vocabulary, judged.record);
        let findings = judged.report.findings.expect("findings");
        for finding in findings
            .iter()
            .filter(|finding| finding.rule == "conduits.falls")
        {
            let conduit = finding.subject[0].id.clone().expect("conduits have ids");
            let (theirs, unit) = &published[&conduit];
            let thing = record
                .things
                .iter()
                .position(|thing| thing.id.map(|id| record.text(id)) == Some(&conduit))
                .expect("the conduit");
            let thing = groundrule::record::facts::ThingRef(u32::try_from(thing).expect("few"));
            let answer =
                opened
                    .survey
                    .compute(overall, &[Argument::Thing(thing)], &record, Mode::Banded);
            let Value::Quantity(ours) = answer.value else {
                panic!("{conduit} has no fall");
            };
            let exact = ours
                .exact_point()
                .unwrap_or_else(|| panic!("{conduit} is not exact"));
            // The package divides floats: two of its last places are what it can be held to.
            let error = (exact.to_f64() - theirs).abs();
            assert!(
                error <= 1e-9 * theirs.abs().max(1e-3),
                "{conduit}: {} here, {theirs} there",
                exact.to_f64()
            );
            let expected = match is_at_least(ours, limit) {
                Truth::True => Verdict::Meets,
                Truth::False => Verdict::FallsShort,
                Truth::Unknown => panic!("{conduit} is exact and yet undecided"),
            };
            assert_eq!(finding.verdict, expected, "{conduit}");
            compared += 1;
            short += usize::from(expected == Verdict::FallsShort);
            metric += usize::from(unit == "m");
            level += usize::from(exact.sign() <= 0);
        }
    }
    assert_eq!(compared, published.len(), "every conduit is compared");
    assert!(
        compared >= 250 && metric >= 20,
        "{compared} conduits, {metric} metric"
    );
    assert!(
        short > 20 && level >= 2,
        "{short} short, {level} level or adverse"
    );
}
