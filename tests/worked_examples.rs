//! Worked examples of the trade, reckoned through the rule language: record in, finding out.
//!
//! Each says where its numbers come from. Distances between plans and covers along profiles are
//! held against shapely and numpy in `survey.rs`.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use groundrule::finding::{Finding, Verdict};
use groundrule::judge;
use groundrule::library::{Opened, Texts, embedded, open};
use groundrule::quantity::{Rational, Unit, parse};
use groundrule::record;
use groundrule::report::mistakes;
use groundrule::source::Sources;

const FOOT: f64 = 0.3048;

/// Opened once for all tests.
static LIBRARY: LazyLock<Opened> = LazyLock::new(library);

fn library() -> Opened {
    let mut texts: BTreeMap<String, String> = embedded()
        .0
        .into_iter()
        .filter(|(name, _)| !name.starts_with("jurisdictions/"))
        .collect();
    for (name, text) in [
        ("place.rules", include_str!("worked_examples/place.rules")),
        ("worked.rules", include_str!("worked_examples/worked.rules")),
    ] {
        texts.insert(
            format!("jurisdictions/worked/examples/{name}"),
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

const HEAD: &str = "record: 1
lot: X-1
place: worked/examples
permits:
  plumbing: { number: P-1, issued: 2026-03-02 }
  electrical: { number: E-1, issued: 2026-03-02 }
recorded: { by: R. Ames, role: crew_lead, date: 2026-04-18 }
stage: later
tolerances: exact
datum: a nail (invented)
";

/// The one finding of a rule on a record.
fn found(rule: &str, facts: &str) -> Finding {
    let opened = &*LIBRARY;
    let mut sources = Sources::default();
    let id = sources.add("record.yaml", format!("{HEAD}{facts}"));
    let record = record::read(&opened.library.vocabulary, &sources, id)
        .unwrap_or_else(|errors| panic!("{facts}\n{errors:?}"));
    let judged = judge::report(opened.setting(), record, &sources, id)
        .unwrap_or_else(|errors| panic!("{facts}\n{errors:?}"));
    let mut findings = judged.report.findings.expect("it was judged");
    findings.retain(|finding| finding.rule == rule);
    assert_eq!(findings.len(), 1, "{rule} on {facts}");
    findings.remove(0)
}

/// What was measured, in the canonical unit.
fn measured(finding: &Finding) -> f64 {
    let plot = finding.si.as_ref().expect("a comparison of quantities");
    assert_eq!(plot.measured[0], plot.measured[1], "one value");
    plot.measured[0].expect("a value")
}

fn limit(finding: &Finding) -> f64 {
    let plot = finding.si.as_ref().expect("a comparison of quantities");
    plot.limit.expect("one limit")
}

fn near(ours: f64, theirs: f64, within: f64) {
    assert!((ours - theirs).abs() <= within, "{ours} against {theirs}");
}

fn sewer(length: &str, from: &str, to: &str) -> String {
    format!(
        "building_sewers:\n  - id: BS-1\n    length: {length}\n    shots: [ {{ at: 0 ft, invert: {from} }}, {{ at: {length}, invert: {to} }} ]\n"
    )
}

// Falls.

#[test]
fn six_tenths_of_a_foot_in_forty_eight_feet_is_an_eighth_and_no_quarter() {
    // By definition: (98.5 − 97.9) / 48 = 1.25 % = 0.15 in/ft, between 1/8 and 1/4 in/ft.
    let facts = sewer("48 ft", "98.5 ft", "97.9 ft");
    let eighth = found("worked.fall_of_an_eighth", &facts);
    near(measured(&eighth), 0.0125, 1e-9);
    near(measured(&eighth) * 12.0, 0.15, 1e-8);
    assert_eq!(eighth.verdict, Verdict::Meets);
    let quarter = found("worked.fall_of_a_quarter", &facts);
    assert_eq!(quarter.verdict, Verdict::FallsShort);
}

#[test]
fn an_inch_and_a_quarter_in_ten_feet_is_an_eighth_in_a_foot() {
    // 12VAC5-640-470 B: 1.25 in per 10 ft, which is 1.041667 % and 1/8 in/ft: at the limit, met.
    let finding = found(
        "worked.fall_of_an_eighth",
        &sewer("10 ft", "100 in", "98.75 in"),
    );
    near(measured(&finding), 0.010_416_67, 1e-8);
    assert_eq!(finding.verdict, Verdict::Meets);
    let flatter = sewer("10 ft", "100 in", "98.7501 in");
    let finding = found("worked.fall_of_an_eighth", &flatter);
    assert_eq!(finding.verdict, Verdict::FallsShort);
}

#[test]
fn slopes_in_per_cent() {
    // By definition; 2 % is 0.24 in/ft and so less than a quarter.
    let in_percent = |text: &str| {
        let slope = parse::quantity(text).expect("a slope").nominal;
        let percent = Unit::parse("%").expect("per cent is known");
        slope.checked_divide(percent.factor).expect("it fits")
    };
    for (slope, percent) in [
        ("1/4 in/ft", 2.083_333),
        ("1/8 in/ft", 1.041_667),
        ("1/16 in/ft", 0.520_833),
    ] {
        near(in_percent(slope).to_f64(), percent, 1e-5);
    }
    assert!(in_percent("2 %") < in_percent("1/4 in/ft"));
    assert_eq!(in_percent("2 %"), in_percent("0.24 in/ft"));
    assert_eq!(in_percent("2 %"), Rational::new(2, 1).expect("two"));
}

// Raceways.

fn raceway(wiring: &str, size: &str, contents: &str) -> String {
    format!(
        "raceways:\n  - {{ id: RW-1, length: 5 ft, wiring: {wiring}, size: {size}, contents: [ {contents} ] }}\n"
    )
}

#[test]
fn ten_conductors_fill_schedule_80() {
    // NEC Chapter 9, Table 5 (areas, read in the 2008 edition) and Table 4 (schedule 80, from
    // memory, recomputed from the inside diameters): four 10 AWG and six 14 AWG THWN have
    // 0.1426 in²; Table 1 allows 40 %.
    let contents = "{ number: 4, insulation: thwn, size: 10 AWG }, { number: 6, insulation: thwn, size: 14 AWG }";
    for (size, percent, verdict) in [
        ("1/2 in", 65.714, Verdict::FallsShort),
        ("3/4 in", 34.866, Verdict::Meets),
        ("1 in", 20.727, Verdict::Meets),
    ] {
        let facts = raceway("pvc_80", size, contents);
        let share = found("worked.fill", &facts);
        near(measured(&share) * 100.0, percent, 0.01);
        assert_eq!(share.verdict, verdict, "{size}");
        let model = found("raceways.fill", &facts);
        near(measured(&model) / 0.0254_f64.powi(2), 0.1426, 1e-6);
        assert_eq!(model.verdict, verdict, "the model's own rule, {size}");
    }
}

#[test]
fn three_conductors_fill_metal_tubing() {
    // NEC 2011 Chapter 9, Tables 1, 4 and 5: three 6 AWG of 0.0507 in² in EMT of 0.533 in².
    let facts = raceway(
        "emt",
        "3/4 in",
        "{ number: 3, insulation: thwn, size: 6 AWG }",
    );
    let share = found("worked.fill", &facts);
    near(measured(&share) * 100.0, 28.537, 0.01);
    near(limit(&share), 0.40, 1e-12);
    assert_eq!(share.verdict, Verdict::Meets);
    assert_eq!(found("raceways.fill", &facts).verdict, Verdict::Meets);
}

// Distances.

#[test]
fn a_line_is_nearer_to_a_well_than_any_of_its_vertices() {
    // shapely 2.2.0: from (0, 0), (40, 10), (90, 10), (120, 60) ft to (75, 48) ft it is
    // 32.41323 ft, to a place inside the last segment; from the nearest vertex, 41 ft.
    let facts = "supply_cables:
  - id: C-1
    outside_diameter: 0 in
    line: [ { easting: 0 ft, northing: 0 ft }, { easting: 40 ft, northing: 10 ft }, { easting: 90 ft, northing: 10 ft }, { easting: 120 ft, northing: 60 ft } ]
wells:
  - { id: W-1, outside_diameter: 0 in, line: [ { easting: 75 ft, northing: 48 ft } ] }
";
    let far = found("worked.far_from_well", facts);
    near(measured(&far) / FOOT, 32.413_23, 0.001);
    assert_eq!(far.verdict, Verdict::FallsShort);
    assert_eq!(found("worked.near_well", facts).verdict, Verdict::Meets);
}

#[test]
fn a_hole_stays_outside_the_plane_from_the_footing() {
    // IRC 2018 P2604.4: 45 degrees from the footing's edge. A footing 2 ft deep beside a trench of
    // 5.5 ft leaves at least 3.5 ft between them.
    let facts = |offset: &str| {
        format!(
            "excavations:\n  - {{ id: EX-1, kind: trench, depth: 5.5 ft, footing_depth: 2 ft, footing_offset: {offset} }}\n"
        )
    };
    let at = found("separation_ipc.footing_clear", &facts("3 ft 6 in"));
    assert_eq!(at.verdict, Verdict::Meets);
    near(
        at.si.expect("a comparison").margin.expect("bounded"),
        0.0,
        1e-12,
    );
    let inside = found("separation_ipc.footing_clear", &facts("3.49 ft"));
    assert_eq!(inside.verdict, Verdict::FallsShort);
}

// Trenches.

fn trench(facts: &str) -> String {
    format!("excavations:\n  - {{ id: EX-1, kind: trench, {facts} }}\n")
}

#[test]
fn a_trench_in_type_b_soil_lies_back_by_its_depth() {
    // 29 CFR 1926 Subpart P, Table B-1: type B, one to one. 7 ft deep and set back 6.5 ft is
    // 0.9286 to one; 7 ft are needed.
    let facts = |setback: &str| {
        trench(&format!(
            "depth: 7 ft, slope_setback: {setback}, protection: sloped, soil_layers: [ {{ class: type_b }} ]"
        ))
    };
    let steep = found("excavation_safety.slope_for_soil", &facts("6.5 ft"));
    assert_eq!(steep.verdict, Verdict::FallsShort);
    near(measured(&steep) / FOOT, 6.5, 1e-8);
    let share = found("worked.set_back", &facts("6.5 ft"));
    near(measured(&share), 0.9286, 0.001);
    // What is in order is for the competent person: a precaution never meets.
    let flat = found("excavation_safety.slope_for_soil", &facts("7 ft"));
    assert_eq!(flat.verdict, Verdict::Refer);
}

#[test]
fn the_setbacks_of_the_soils_have_the_printed_angles() {
    // 29 CFR 1926 Subpart P, Table B-1: 3/4, 1 and 1 1/2 to one are printed as 53, 45 and 34
    // degrees; the arc tangents are 53.1301, 45 and 33.6901.
    let opened = &*LIBRARY;
    let table = opened
        .library
        .tables
        .iter()
        .find(|table| table.name == "setback_by_soil")
        .expect("a table of the model");
    for (soil, degrees, printed) in [
        ("type_a", 53.1301, 53.0),
        ("type_b", 45.0, 45.0),
        ("type_c", 33.6901, 34.0),
    ] {
        let cell = (0..table.cells.len())
            .find(|cell| table.cell_name(&opened.library.vocabulary, *cell) == soil)
            .expect("a row");
        let value = table.cells[cell].value.as_ref().expect("a value");
        let setback: f64 = value.written().parse().expect("a number");
        let angle = 1_f64.atan2(setback).to_degrees();
        near(angle, degrees, 1e-4);
        near(angle, printed, 0.5);
    }
}

#[test]
fn three_ladders_serve_a_trench_of_a_hundred_and_twenty_feet() {
    // 29 CFR 1926.651(c)(2): at most 25 ft sideways, so that a ladder serves 50 ft, and 120 ft ask
    // for three. Spread evenly, three leave 20 ft at most and two 30 ft.
    for (ladders, verdict) in [(2, Verdict::FallsShort), (3, Verdict::Refer)] {
        let travel = 120 / (2 * ladders);
        let facts = trench(&format!("depth: 5 ft, travel_to_ladder: {travel} ft"));
        let finding = found("excavation_safety.way_out_near", &facts);
        assert_eq!(finding.verdict, verdict, "{ladders} ladders");
        near(limit(&finding) / FOOT, 25.0, 1e-8);
    }
    let at = trench("depth: 5 ft, travel_to_ladder: 25 ft");
    let finding = found("excavation_safety.way_out_near", &at);
    assert_eq!(finding.verdict, Verdict::Refer);
}
