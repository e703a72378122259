//! The falls of real sewer networks, against those of a package that engineers reckon them with.
//!
//! Source: the `SlopeFtPerFt` of swmmio 0.8.6 (MIT licence) for the conduits of the networks that
//! swmmio 0.8.6, pyswmm and swmmanywhere ship as examples and test data. `networks.csv` in
//! `reference/networks/` names the file behind each; `generate.py` there took the numbers.

use std::collections::BTreeMap;
use std::path::Path;

use groundrule::finding::{Finding, Verdict};
use groundrule::judge;
use groundrule::library::{Opened, Texts, embedded, open};
use groundrule::quantity::{Interval, Rational};
use groundrule::record;
use groundrule::record::facts::{Record, ThingRef, Value};
use groundrule::report::mistakes;
use groundrule::source::Sources;
use groundrule::survey::{Argument, Mode, complete};

const CONDUITS: &str = include_str!("reference/networks/conduits.csv");

/// swmmio takes the slope from inverts and lengths in floats. An invert of some 1000 ft has an
/// error of 1e-13 ft, which over a fall of a thousandth of a foot is 1e-10 of it.
const RELATIVE: f64 = 1e-9;

/// 1/16 in/ft, the limit of the tests' rule.
fn limit() -> Rational {
    Rational::new(1, 192).expect("a fraction")
}

struct Conduit {
    network: &'static str,
    units: &'static str,
    length: Rational,
    fall: Rational,
    slope_of_swmmio: f64,
}

impl Conduit {
    /// The decimals of the table, divided without rounding.
    fn slope(&self) -> Rational {
        self.fall
            .checked_divide(self.length)
            .expect("a conduit has a length")
    }
}

fn conduits() -> BTreeMap<&'static str, Conduit> {
    let mut lines = CONDUITS.lines();
    let names: Vec<&str> = lines.next().expect("a head").split(',').collect();
    let column = |name: &str| {
        let found = names.iter().position(|known| *known == name);
        found.unwrap_or_else(|| panic!("no column {name}"))
    };
    let (id, network, units) = (column("id"), column("network"), column("units"));
    let (length, fall, slope) = (
        column("length"),
        column("fall"),
        column("swmmio_fall_over_length"),
    );
    let exact = |text: &str| {
        Rational::parse_decimal(text).unwrap_or_else(|| panic!("`{text}` is no decimal"))
    };
    lines
        .map(|line| {
            let fields: Vec<&'static str> = line.split(',').collect();
            let conduit = Conduit {
                network: fields[network],
                units: fields[units],
                length: exact(fields[length]),
                fall: exact(fields[fall]),
                slope_of_swmmio: fields[slope].parse().expect("a float"),
            };
            (fields[id], conduit)
        })
        .collect()
}

/// The library's vocabulary and model, with the place of the records in the demo's stead.
fn library() -> Opened {
    let mut texts: BTreeMap<String, String> = embedded()
        .0
        .into_iter()
        .filter(|(name, _)| !name.starts_with("jurisdictions/"))
        .collect();
    for (name, text) in [
        ("place.rules", include_str!("networks/place.rules")),
        (
            "network_falls.rules",
            include_str!("networks/network_falls.rules"),
        ),
    ] {
        texts.insert(
            format!("jurisdictions/reference/networks/{name}"),
            text.to_owned(),
        );
    }
    open(&Texts(texts)).unwrap_or_else(|problems| {
        panic!(
            "{}",
            mistakes::render(&problems.sources, problems.problems, false, 80)
        )
    })
}

fn judged(opened: &Opened, name: &str, text: &str) -> (Record, Vec<Finding>) {
    let mut sources = Sources::default();
    let id = sources.add(name, text);
    let record = record::read(&opened.library.vocabulary, &sources, id)
        .unwrap_or_else(|errors| panic!("{name}: {errors:?}"));
    let judged = judge::report(opened.setting(), record, &sources, id)
        .unwrap_or_else(|errors| panic!("{name}: {errors:?}"));
    let record = complete(&opened.library.vocabulary, judged.record);
    (record, judged.report.findings.expect("it was judged"))
}

/// What a survey function gives for a sewer, as an exact number.
fn surveyed(opened: &Opened, record: &Record, function: &str, id: &str) -> Rational {
    let at = record
        .things
        .iter()
        .position(|thing| thing.id.is_some_and(|text| record.text(text) == id))
        .unwrap_or_else(|| panic!("no {id}"));
    let thing = ThingRef(u32::try_from(at).expect("few things"));
    let function = opened
        .survey
        .function(function)
        .expect("a declared function");
    let arguments = [Argument::Thing(thing)];
    let answer = opened
        .survey
        .compute(function, &arguments, record, Mode::Banded);
    match answer.value {
        Value::Quantity(value) => value
            .exact_point()
            .unwrap_or_else(|| panic!("{id}: {value:?} is not one number")),
        other => panic!("{id}: {other:?} is not a quantity"),
    }
}

fn agree(ours: f64, theirs: f64) -> bool {
    (ours - theirs).abs() <= RELATIVE * theirs.abs()
}

#[test]
fn every_fall_is_that_of_swmmio_and_its_verdict_follows() {
    let opened = library();
    let conduits = conduits();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/networks/records");
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    let mut kinds: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for entry in std::fs::read_dir(folder).expect("the records are there") {
        let path = entry.expect("an entry").path();
        let text = std::fs::read_to_string(&path).expect("a readable file");
        let name = path.file_name().expect("a file").to_string_lossy();
        let (record, findings) = judged(&opened, &name, &text);
        let findings = findings
            .iter()
            .filter(|finding| finding.rule.starts_with("network_falls."));
        for finding in findings {
            let id = finding.subject[0]
                .id
                .as_deref()
                .expect("every sewer has an id");
            let conduit = &conduits[id];
            assert_eq!(name, format!("{}.yaml", conduit.network), "{id}");
            holds(&opened, &record, finding, id, conduit);
            *seen.entry(id.to_owned()).or_default() += 1;
            let way = match conduit.fall.sign() {
                0 => "level",
                1 => "falling",
                _ => "adverse",
            };
            *kinds.entry((conduit.units, way)).or_default() += 1;
        }
    }
    let all: Vec<&str> = conduits.keys().copied().collect();
    assert_eq!(
        seen.keys().collect::<Vec<_>>(),
        all,
        "each conduit is judged"
    );
    assert!(seen.values().all(|count| *count == 2), "by both rules");
    for kind in [("ft", "falling"), ("m", "falling")] {
        assert!(kinds.contains_key(&kind), "no {kind:?} among {kinds:?}");
    }
    for way in ["level", "adverse"] {
        assert!(
            kinds.keys().any(|kind| kind.1 == way),
            "no {way} among {kinds:?}"
        );
    }
}

fn holds(opened: &Opened, record: &Record, finding: &Finding, id: &str, conduit: &Conduit) {
    let rule = &finding.rule;
    let slope = conduit.slope();
    let function = if rule.ends_with(".overall") {
        "overall_fall"
    } else {
        "least_fall"
    };
    let exact = surveyed(opened, record, function, id);
    assert_eq!(exact, slope, "{id}: {function} is not fall over length");
    assert!(
        agree(exact.to_f64(), conduit.slope_of_swmmio),
        "{id}: {} against {}",
        exact.to_f64(),
        conduit.slope_of_swmmio
    );
    let plotted = finding.si.as_ref().expect("a comparison").measured;
    let (least, greatest) = (plotted[0].expect("bounded"), plotted[1].expect("bounded"));
    assert_eq!(least, greatest, "{id}: exact readings have one fall");
    assert!(
        agree(least, conduit.slope_of_swmmio),
        "{id}: {least} against {}",
        conduit.slope_of_swmmio
    );
    let expected = if slope < limit() {
        Verdict::FallsShort
    } else {
        Verdict::Meets
    };
    assert_eq!(finding.verdict, expected, "{id}: {rule} of {slope:?}");
    let margin = Interval::point(exact).subtract(Interval::point(limit()));
    assert_eq!(
        margin.exact_point().expect("a point").sign() < 0,
        expected == Verdict::FallsShort,
        "{id}: the margin's sign"
    );
}
