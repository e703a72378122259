//! Our units against those of pint, a units library for Python; see
//! `reference/units/generate.py` for what was asked of it and which definitions differ.

use groundrule::quantity::{Rational, Unit, parse};

const CONVERSIONS: &str = include_str!("reference/units/units.csv");
/// pint reckons in floats, with a few roundings for each conversion.
const RELATIVE: f64 = 1e-12;

#[test]
fn agrees_with_pint_on_every_conversion() {
    let mut compared = 0;
    for line in CONVERSIONS
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
    {
        let fields: Vec<&str> = line.split(',').collect();
        let [kind, number, from, to, expected] = fields[..] else {
            panic!("five fields expected in `{line}`");
        };
        let expected: f64 = expected.parse().expect("a float");
        let ours = convert(kind, number, from, to).to_f64();
        assert!(
            (ours - expected).abs() <= RELATIVE * expected.abs(),
            "`{line}`: we have {ours}"
        );
        compared += 1;
    }
    assert!(compared > 500, "only {compared} conversions were compared");
}

fn convert(kind: &str, number: &str, from: &str, to: &str) -> Rational {
    let written = parse::quantity(&format!("{number} {from}")).expect("a quantity");
    let to = Unit::parse(to).expect("a unit");
    assert_eq!(written.dimension, to.dimension, "{from} and {to}");
    let canonical = match kind {
        "point" => written.point().expect("it fits"),
        "difference" => written.nominal,
        other => panic!("`{other}` is neither a point nor a difference"),
    };
    canonical.checked_divide(to.factor).expect("it fits")
}
