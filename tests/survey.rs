//! Geometry over records: record text in, values out.

use std::fmt::Write as _;
use std::sync::LazyLock;

use groundrule::language;
use groundrule::quantity::{Interval, Rational, Unit, is_at_least, is_less_than};
use groundrule::record::facts::{Record, ThingRef, Value};
use groundrule::record::read;
use groundrule::source::{SourceId, Sources};
use groundrule::survey::{Answer, Argument, Cause, Mode, Survey, complete};
use groundrule::truth::Truth;
use groundrule::vocabulary::{Vocabulary, build};
use proptest::prelude::*;

/// The vocabulary of the job and its survey functions.
struct Lot {
    vocabulary: Vocabulary,
    survey: Survey,
}

fn vocabulary_of(texts: &[String]) -> Vocabulary {
    let mut sources = Sources::default();
    let ids: Vec<SourceId> = texts
        .iter()
        .map(|text| sources.add("some.rules", text.as_str()))
        .collect();
    let files: Vec<_> = ids
        .iter()
        .map(|id| (*id, language::parse(&sources, *id).expect("well formed")))
        .collect();
    let files: Vec<_> = files.iter().map(|(id, file)| (*id, file)).collect();
    build(&files).expect("a vocabulary without mistakes")
}

/// One for all tests: it takes longer to build than to ask.
fn lot() -> &'static Lot {
    static LOT: LazyLock<Lot> = LazyLock::new(built);
    &LOT
}

fn built() -> Lot {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/shared/vocabulary");
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .expect("the vocabulary is there")
        .map(|entry| entry.expect("the folder can be listed").path())
        .collect();
    paths.sort();
    let texts: Vec<_> = paths
        .iter()
        .map(|path| std::fs::read_to_string(path).expect("the file can be read"))
        .collect();
    let vocabulary = vocabulary_of(&texts);
    let survey = Survey::new(&vocabulary).expect("every declared function can be computed");
    Lot { vocabulary, survey }
}

impl Lot {
    fn record(&self, facts: &str) -> Record {
        let head = "record: 1\nlot: X-1\nplace: [ somewhere ]\npermits:\n  plumbing: { number: P-1, issued: 2026-03-02 }\nrecorded: { by: R. Ames, role: crew_lead, date: 2026-04-18 }\nstage: before_cover\ndatum: a nail (invented)\n";
        let tolerances = if facts.contains("tolerances:") {
            ""
        } else {
            "tolerances: exact\n"
        };
        let mut sources = Sources::default();
        let id = sources.add("record.yaml", format!("{head}{tolerances}{facts}"));
        let record = read(&self.vocabulary, &sources, id)
            .unwrap_or_else(|mistakes| panic!("{facts}\n{mistakes:?}"));
        complete(&self.vocabulary, record)
    }

    fn thing(&self, record: &Record, id: &str) -> ThingRef {
        let found = record
            .things
            .iter()
            .position(|thing| thing.id.is_some_and(|text| record.text(text) == id));
        ThingRef(u32::try_from(found.expect("the id is in the record")).expect("few things"))
    }

    fn asks(&self, record: &Record, name: &str, ids: &[&str], mode: Mode) -> Answer {
        let arguments: Vec<_> = ids
            .iter()
            .map(|id| Argument::Thing(self.thing(record, id)))
            .collect();
        let function = self.survey.function(name).expect("a declared function");
        self.survey.compute(function, &arguments, record, mode)
    }

    /// The banded value of a function, in metres or as a plain number.
    fn value(&self, facts: &str, name: &str, ids: &[&str]) -> Interval {
        let record = self.record(facts);
        quantity(&self.asks(&record, name, ids, Mode::Banded))
    }
}

fn quantity(answer: &Answer) -> Interval {
    match answer.value {
        Value::Quantity(value) => value,
        other => panic!("not a quantity: {other:?}"),
    }
}

fn exact(text: &str) -> Rational {
    Rational::parse_decimal(text).expect("a number")
}

fn feet(text: &str) -> Rational {
    let foot = Unit::parse("ft").expect("the foot is known");
    foot.canonical(exact(text)).expect("a length in feet")
}

fn inches(text: &str) -> Rational {
    let inch = Unit::parse("in").expect("the inch is known");
    inch.canonical(exact(text)).expect("a length in inches")
}

/// Whether a value lies within so many feet of an expected one.
fn near(value: Interval, expected_ft: &str, within_ft: &str) -> bool {
    let expected = Interval::band(feet(expected_ft), feet(within_ft));
    value.lower().is_some_and(|end| expected.contains(end))
        && value.upper().is_some_and(|end| expected.contains(end))
}

// Worked examples.

#[test]
fn cover_is_least_at_the_swale() {
    // numpy, piecewise linear (worked example `cover-profile`): ground 100.0, 99.2, 96.4, 98.1,
    // 98.6 ft at 0, 20, 55, 80, 120 ft; outside bottom of the pipe 95.0, 93.2, 93.2 ft at 0, 60,
    // 120 ft, outside diameter 1.66 in: least cover 2.91167 ft at 55 ft, 4.86167 ft at the start.
    // The crowns below are those bottoms and 1.66 in = 0.138333… ft.
    let facts = "laterals:
  - id: L-1
    length: 120 ft
    outside_diameter: 1.66 in
    wall: 0 in
    shots:
      - { at: 0 ft, invert: 95.0 ft }
      - { at: 60 ft, invert: 93.2 ft }
      - { at: 120 ft, invert: 93.2 ft }
    ground_shots:
      - { at: 0 ft, ground: 100.0 ft }
      - { at: 20 ft, ground: 99.2 ft }
      - { at: 55 ft, ground: 96.4 ft }
      - { at: 80 ft, ground: 98.1 ft }
      - { at: 120 ft, ground: 98.6 ft }
";
    let lot = lot();
    // Shots 60 ft apart are farther than the run allows, unless the vocabulary says otherwise.
    let facts = facts.replace(
        "      - { at: 60 ft,",
        "      - { at: 30 ft, invert: 94.1 ft }\n      - { at: 60 ft,",
    );
    let facts = facts.replace(
        "      - { at: 120 ft, invert",
        "      - { at: 90 ft, invert: 93.2 ft }\n      - { at: 120 ft, invert",
    );
    let record = lot.record(&facts);
    let least = lot.asks(&record, "least_cover", &["L-1"], Mode::Banded);
    assert!(near(quantity(&least), "2.91167", "0.001"), "{least:?}");
    assert_eq!(least.at, Some(Interval::point(feet("55"))));
    assert_eq!(least.causes, []);
    let greatest = lot.asks(&record, "greatest_cover", &["L-1"], Mode::Banded);
    assert!(
        near(quantity(&greatest), "5.26167", "0.001"),
        "{greatest:?}"
    );
}

#[test]
fn fall_is_the_difference_of_inverts_over_that_of_chainages() {
    // By definition (worked example `slope-inverts`): 98.5 ft down to 97.9 ft over 48 ft is 1.25 %.
    let facts = "building_sewers:
  - id: BS-1
    length: 48 ft
    shots: [ { at: 0 ft, invert: 98.5 ft }, { at: 48 ft, invert: 97.9 ft } ]
";
    for name in ["least_fall", "overall_fall", "greatest_fall"] {
        let fall = lot().value(facts, name, &["BS-1"]);
        assert_eq!(fall, Interval::point(exact("0.0125")), "{name}");
    }
}

fn line(points: &[(&str, &str)]) -> String {
    let mut text = String::from("[ ");
    for (index, (east, north)) in points.iter().enumerate() {
        let comma = if index == 0 { "" } else { ", " };
        write!(
            text,
            "{comma}{{ easting: {east} ft, northing: {north} ft }}"
        )
        .expect("a text");
    }
    text + " ]"
}

#[test]
fn a_line_is_nearest_to_a_well_inside_its_last_segment() {
    // shapely 2.2.0 (worked example `dist-line-well`): 32.41323 ft.
    let sewer = line(&[("0", "0"), ("40", "10"), ("90", "10"), ("120", "60")]);
    let facts = format!(
        "water_services: [ {{ id: WS-1, outside_diameter: 0 in, line: {sewer} }} ]\nsupply_cables: [ {{ id: C-1, outside_diameter: 0 in, line: {} }} ]\n",
        line(&[("75", "48")]),
    );
    let distance = lot().value(&facts, "horizontal_clearance", &["C-1", "WS-1"]);
    assert!(near(distance, "32.41323", "0.001"), "{distance:?}");
}

#[test]
fn two_lines_that_part_are_nearest_where_they_begin() {
    // shapely 2.2.0 (worked example `dist-parallel`): 9.5 ft, below 10 ft.
    let facts = format!(
        "supply_cables: [ {{ id: C-1, outside_diameter: 0 in, line: {} }} ]\nwater_services: [ {{ id: WS-1, outside_diameter: 0 in, line: {} }} ]\n",
        line(&[("0", "0"), ("100", "0")]),
        line(&[("0", "9.5"), ("100", "12")]),
    );
    let distance = lot().value(&facts, "horizontal_clearance", &["C-1", "WS-1"]);
    assert!(near(distance, "9.5", "0.000001"), "{distance:?}");
    assert_eq!(
        is_less_than(distance, Interval::point(feet("10"))),
        Truth::True
    );
}

#[test]
fn a_tank_is_measured_from_its_edge() {
    // shapely 2.2.0 (worked example `dist-tank-building`): centre at (52, −6) ft, radius 1 ft, from
    // a building of 40 ft by 28 ft: 12.4164 ft from the edge.
    let facts = format!(
        "stations: [ {{ id: ST-1, basin_outside_diameter: 2 ft, line: {} }} ]\nfoundations: [ {{ id: F-1, line: {} }} ]\n",
        line(&[("52", "-6")]),
        line(&[
            ("0", "0"),
            ("40", "0"),
            ("40", "28"),
            ("0", "28"),
            ("0", "0")
        ]),
    );
    let distance = lot().value(&facts, "horizontal_clearance", &["ST-1", "F-1"]);
    assert!(near(distance, "12.4164", "0.001"), "{distance:?}");
}

// Crossings and distances in space.

/// A lateral that falls 1 ft in 100 ft eastwards and a water service that crosses it level, 25 ft
/// from its start, at right angles.
fn crossing(water_top: &str, others: &str) -> String {
    format!(
        "laterals:
  - id: L-1
    length: 100 ft
    outside_diameter: 2 in
    wall: 0.25 in
    shots: [ {{ at: 0 ft, crown: 100 ft }}, {{ at: 50 ft, crown: 99.5 ft }}, {{ at: 100 ft, crown: 99 ft }} ]
    line: {}
water_services:
  - id: WS-1
    length: 40 ft
    outside_diameter: 1 in
    shots: [ {{ at: 0 ft, crown: {water_top} }}, {{ at: 40 ft, crown: {water_top} }} ]
    line: {}
{others}",
        line(&[("0", "0"), ("100", "0")]),
        line(&[("25", "-20"), ("25", "20")]),
    )
}

const BOTH: [&str; 2] = ["L-1", "WS-1"];

#[test]
fn a_crossing_is_measured_from_the_underside_to_the_top() {
    // By hand: at 25 ft the lateral's top lies at 99.75 ft and its underside 2 in below. The
    // service's top at 98 ft leaves 1.75 ft − 2 in = 19 in.
    let facts = crossing("98 ft", "");
    let lot = lot();
    let record = lot.record(&facts);
    let gap = lot.asks(&record, "crossing_clearance", &BOTH, Mode::Banded);
    assert!(near(quantity(&gap), "1.583333333", "0.000001"), "{gap:?}");
    assert_eq!(gap.at, Some(Interval::point(feet("25"))));
    assert_eq!(gap.causes, []);
    assert!(!gap.readings.is_empty());
    // Above: the service's underside at 101 ft − 1 in over 99.75 ft leaves 14 in.
    let above = lot.value(&crossing("101 ft", ""), "crossing_clearance", &BOTH);
    assert!(near(above, "1.166666667", "0.000001"), "{above:?}");
    // Asked the other way round it is the same.
    let turned = lot.value(&facts, "crossing_clearance", &["WS-1", "L-1"]);
    assert_eq!(turned, quantity(&gap));
}

#[test]
fn a_crossing_without_a_profile_names_what_was_not_levelled() {
    let lot = lot();
    let record = lot.record(&crossing("98 ft", "").replace("{ at: 50 ft, crown: 99.5 ft }, ", ""));
    let gap = lot.asks(&record, "crossing_clearance", &BOTH, Mode::Banded);
    assert_eq!(quantity(&gap).upper(), None);
    let lateral = lot.thing(&record, "L-1");
    let is_stretch =
        |cause: &Cause| matches!(cause, Cause::Stretch { thing, .. } if *thing == lateral);
    assert!(gap.causes.iter().any(is_stretch), "{:?}", gap.causes);
}

#[test]
fn a_crossing_taped_otherwise_than_levelled_is_not_known() {
    let taped = |vertical: &str| {
        let entry = format!("crossings: [ {{ upper: L-1, lower: WS-1, vertical: {vertical} }} ]\n");
        crossing("98 ft", &entry)
    };
    let lot = lot();
    let agreeing = lot.value(&taped("19 in ± 1/2 in"), "crossing_clearance", &BOTH);
    assert_eq!(agreeing, Interval::point(inches("19")));
    let record = lot.record(&taped("24 in ± 1/2 in"));
    let apart = lot.asks(&record, "crossing_clearance", &BOTH, Mode::Banded);
    assert!(quantity(&apart).is_whole());
    assert!(
        matches!(apart.causes[..], [Cause::Apart { .. }]),
        "{:?}",
        apart.causes
    );
}

#[test]
fn a_line_that_may_not_cross_has_no_upright_distance() {
    // The service ends 0.2 ft past the lateral, and each vertex may be off by more than that.
    let facts = crossing("98 ft", "").replace("northing: 20 ft }", "northing: 0.2 ft }");
    let facts = format!("tolerances: {{ length: 0.2 ft, others: exact }}\n{facts}");
    let gap = lot().value(&facts, "crossing_clearance", &BOTH);
    assert!(gap.is_whole(), "{gap:?}");
}

#[test]
fn a_distance_in_space_is_between_the_outsides() {
    // By hand: parallel axes 3 ft apart in plan and, at 98 + 1/24 and 102 + 1/24 ft with the same
    // diameter of 1 in, 4 ft in height: 5 ft between axes (3-4-5), 4 ft 11 in outside.
    let run = |id: &str, north: &str, top: &str| {
        format!(
            "[ {{ id: {id}, length: 40 ft, outside_diameter: 1 in, shots: [ {{ at: 0 ft, crown: {top} }}, {{ at: 40 ft, crown: {top} }} ], line: {} }} ]",
            line(&[("0", north), ("40", north)])
        )
    };
    let facts = format!(
        "laterals: {}\nwater_services: {}\n",
        run("L-1", "0", "98 ft"),
        run("WS-1", "3", "102 ft")
    );
    assert_eq!(
        lot().value(&facts, "true_clearance", &BOTH),
        Interval::point(inches("59"))
    );
    // Where they cross, no plan tells them apart: the heights do.
    let crossed = lot().value(&crossing("98 ft", ""), "true_clearance", &BOTH);
    assert!(near(crossed, "1.583333333", "0.001"), "{crossed:?}");
    // Without heights it is at least the level distance.
    let flat = facts.replace(", crown: 98 ft", "");
    let flat = lot().value(&flat, "true_clearance", &BOTH);
    assert_eq!(flat, Interval::at_least(inches("35")));
}

// What is missing is never bridged.

const SEWER: &str = "building_sewers:
  - id: BS-1
    length: 80 ft
    shots:
      - { at: 0 ft, invert: 99.0 ft, ground: 104 ft, crown: 99.3 ft }
      - { at: 40 ft, invert: 98.0 ft, ground: 104 ft, crown: 98.3 ft }
      - { at: 80 ft, invert: 97.0 ft, ground: 104 ft, crown: 97.3 ft }
";

#[test]
fn a_shot_without_an_invert_leaves_the_fall_open_below() {
    let lot = lot();
    let record = lot.record(&SEWER.replace("invert: 98.0 ft, ", ""));
    let fall = lot.asks(&record, "least_fall", &["BS-1"], Mode::Banded);
    assert!(quantity(&fall).is_whole());
    assert!(
        matches!(fall.causes[..], [Cause::Fact { .. }]),
        "{:?}",
        fall.causes
    );
}

#[test]
fn a_run_that_is_not_levelled_to_its_end_names_the_stretch() {
    let lot = lot();
    let record = lot.record(&SEWER.replace("length: 80 ft", "length: 90 ft"));
    let fall = lot.asks(&record, "least_fall", &["BS-1"], Mode::Banded);
    let stretch = Cause::Stretch {
        thing: lot.thing(&record, "BS-1"),
        from: Some(feet("80")),
        to: Some(feet("90")),
    };
    assert_eq!(fall.causes, [stretch]);
    assert_eq!(quantity(&fall), Interval::at_most(exact("0.025")));
}

#[test]
fn shots_farther_apart_than_the_run_allows_leave_a_gap() {
    let lot = lot();
    let record = lot.record(&SEWER.replace(
        "      - { at: 40 ft, invert: 98.0 ft, ground: 104 ft, crown: 98.3 ft }\n",
        "",
    ));
    let cover = lot.asks(&record, "least_cover", &["BS-1"], Mode::Banded);
    assert!(quantity(&cover).lower().is_none());
    assert!(
        matches!(cover.causes[..], [Cause::Stretch { .. }]),
        "{:?}",
        cover.causes
    );
}

#[test]
fn a_span_that_stops_short_opens_the_list() {
    let lot = lot();
    let record = lot.record(
        "supply_cables:
  - id: C-1
    length: 62 ft
    spans: [ { from: 0 ft, to: 3 ft, cover: 30 in }, { from: 5 ft, to: 62 ft, cover: 24 in } ]
",
    );
    let run = lot.thing(&record, "C-1");
    let kind = lot.vocabulary.thing(record.thing(run).kind);
    let spans = record.list(run, kind.list_named("spans").expect("cables have spans"));
    assert!(spans.open);
    assert_eq!(spans.gaps.len(), 1);
    assert_eq!(
        (spans.gaps[0].from, spans.gaps[0].to),
        (Some(feet("3")), Some(feet("5")))
    );
    let cover = lot.asks(&record, "least_cover", &["C-1"], Mode::Banded);
    assert_eq!(quantity(&cover), Interval::at_most(feet("2")));
    let gap = Cause::Stretch {
        thing: run,
        from: Some(feet("3")),
        to: Some(feet("5")),
    };
    assert_eq!(cover.causes, [gap]);
}

// Two sources.

#[test]
fn tape_and_plan_that_exclude_each_other_leave_nothing_known() {
    let facts = format!(
        "supply_cables: [ {{ id: C-1, outside_diameter: 0 in, line: {} }} ]\nwells: [ {{ id: W-1, outside_diameter: 0 in, line: {} }} ]\nclearances: [ {{ from: W-1, to: C-1, horizontal: 20 ft }} ]\n",
        line(&[("0", "0"), ("100", "0")]),
        line(&[("50", "30")]),
    );
    let lot = lot();
    let record = lot.record(&facts);
    let distance = lot.asks(
        &record,
        "horizontal_clearance",
        &["C-1", "W-1"],
        Mode::Banded,
    );
    assert!(quantity(&distance).is_whole());
    assert!(matches!(distance.causes[..], [Cause::Apart { .. }]));
}

/// What the contradictions of a record say.
fn contradictions(facts: &str) -> Vec<String> {
    let lot = lot();
    let found = lot.survey.contradictions(&lot.record(facts));
    let told = found
        .iter()
        .map(|one| format!("{}: {}", one.function, one.values.join("; ")));
    told.collect()
}

#[test]
fn contradictions_are_found_whatever_the_rules_ask() {
    let twenty = format!(
        "supply_cables: [ {{ id: C-1, outside_diameter: 0 in, line: {} }} ]\nwells: [ {{ id: W-1, outside_diameter: 0 in, line: {} }} ]\nclearances: [ {{ from: W-1, to: C-1, horizontal: 20 ft }} ]\n",
        line(&[("0", "0"), ("100", "0")]),
        line(&[("50", "30")]),
    );
    assert_eq!(
        contradictions(&twenty),
        ["horizontal_clearance: taped 20 ft; from the plan 30 ft"]
    );
    let thirty = twenty.replace("20 ft", "30 ft");
    assert!(contradictions(&thirty).is_empty());
    let taped = "crossings: [ { upper: L-1, lower: WS-1, vertical: 2 ft } ]\n";
    assert_eq!(
        contradictions(&crossing("98 ft", taped)),
        ["crossing_clearance: taped 2 ft; from plan and profiles 1 ft 7 in"]
    );
    assert_eq!(
        contradictions(&crossing("98 ft", "crossings: none\n")),
        ["crosses: the list of crossings is complete without them; their lines in plan cross"]
    );
    let cover = SEWER.replace(
        "length: 80 ft",
        "length: 80 ft\n    ground_shots: [ { at: 40 ft, ground: 105 ft } ]",
    );
    assert_eq!(
        contradictions(&cover),
        ["least_cover: levelled 104 ft; levelled 105 ft"]
    );
}

#[test]
fn a_fall_that_the_inverts_contradict_is_not_known() {
    // The inverts of `SEWER` fall 1 ft in 40 ft, 2.5 %.
    let read = |fall: &str| {
        SEWER.replace(
            "length: 80 ft",
            &format!(
                "length: 80 ft\n    fall_readings: [ {{ from: 10 ft, to: 30 ft, fall: {fall} }} ]"
            ),
        )
    };
    let lot = lot();
    let agreeing = lot.value(&read("2.4 % ± 0.2 %"), "least_fall", &["BS-1"]);
    assert_eq!(agreeing, Interval::point(exact("0.025")));
    let record = lot.record(&read("2 % ± 0.2 %"));
    let apart = lot.asks(&record, "least_fall", &["BS-1"], Mode::Banded);
    assert!(quantity(&apart).is_whole());
    assert!(
        matches!(apart.causes[..], [Cause::Apart { .. }]),
        "{:?}",
        apart.causes
    );
    assert_eq!(
        contradictions(&read("2 % ± 0.2 %")),
        ["least_fall: by the inverts 2.5 %; read as a fall 2 % ± 0.2 %"]
    );
}

#[test]
fn falls_read_from_end_to_end_need_no_inverts() {
    let facts = "building_sewers:
  - id: BS-1
    length: 40 ft
    fall_readings: [ { from: 0 ft, to: 10 ft, fall: 3 % }, { from: 10 ft, to: 40 ft, fall: 1 % } ]
";
    assert_eq!(
        lot().value(facts, "least_fall", &["BS-1"]),
        Interval::point(exact("0.01"))
    );
    assert_eq!(
        lot().value(facts, "greatest_fall", &["BS-1"]),
        Interval::point(exact("0.03"))
    );
    // (10 ft × 3 % + 30 ft × 1 %) / 40 ft
    assert_eq!(
        lot().value(facts, "overall_fall", &["BS-1"]),
        Interval::point(exact("0.015"))
    );
    let short = facts.replace("to: 40 ft", "to: 30 ft");
    assert_eq!(
        lot().value(&short, "least_fall", &["BS-1"]),
        Interval::at_most(exact("0.01"))
    );
}

#[test]
fn an_adverse_fall_is_negative() {
    let facts = SEWER.replace("invert: 98.0 ft", "invert: 99.5 ft");
    let fall = lot().value(&facts, "least_fall", &["BS-1"]);
    assert_eq!(fall, Interval::point(exact("-0.0125")));
}

#[test]
fn water_stands_in_a_belly_up_to_the_lower_rim() {
    // By hand: inverts 99, 98, 98.4, 98.1, 97 ft. At 20 ft, 98 ft lies below 99 before and 98.4
    // after: 0.4 ft. At 60 ft, 98.1 ft has nothing higher after it and drains.
    let inverts = ["99", "98", "98.4", "98.1", "97"];
    let shots: Vec<_> = inverts
        .iter()
        .enumerate()
        .map(|(index, invert)| format!("{{ at: {} ft, invert: {invert} ft }}", 20 * index))
        .collect();
    let facts = format!(
        "building_sewers: [ {{ id: BS-1, length: 80 ft, shots: [ {} ] }} ]\n",
        shots.join(", ")
    );
    let lot = lot();
    let record = lot.record(&facts);
    let sag = lot.asks(&record, "sag_depth", &["BS-1"], Mode::Banded);
    assert_eq!(quantity(&sag), Interval::point(feet("0.4")));
    assert_eq!(sag.at, Some(Interval::point(feet("20"))));
    assert_eq!(sag.readings.len(), 3);
    assert_eq!(
        lot.value(SEWER, "sag_depth", &["BS-1"]),
        Interval::point(Rational::ZERO)
    );
    // A shot of unknown height may be lower still.
    let unknown = facts.replace("invert: 98.1 ft", "");
    assert_eq!(
        lot.value(&unknown, "sag_depth", &["BS-1"]),
        Interval::at_least(feet("0.4"))
    );
}

#[test]
fn a_slope_is_longer_than_its_plan() {
    // By hand, two right triangles: 12 ft along and 5 ft up is 13 ft; 4 ft along and 3 ft down is 5 ft.
    let facts = "laterals:
  - id: L-1
    length: 16 ft
    shots: [ { at: 0 ft, crown: 90 ft }, { at: 12 ft, crown: 95 ft }, { at: 16 ft, crown: 92 ft } ]
";
    let lot = lot();
    assert_eq!(
        lot.value(facts, "slope_length", &["L-1"]),
        Interval::point(feet("18"))
    );
    assert_eq!(
        lot.value(facts, "plan_length", &["L-1"]),
        Interval::point(feet("16"))
    );
    let level = facts.replace(", crown: 95 ft", "");
    assert_eq!(
        lot.value(&level, "slope_length", &["L-1"]),
        Interval::at_least(feet("16"))
    );
    let unknown = facts.replace("    length: 16 ft\n", "");
    assert!(lot.value(&unknown, "plan_length", &["L-1"]).is_whole());
}

/// The head of `ST-1` at a flow between two.
fn pump_head(facts: &str, from_gpm: &str, to_gpm: &str) -> Answer {
    let lot = lot();
    let record = lot.record(facts);
    let gallon = Unit::parse("gpm").expect("gallons a minute are known");
    let flow = |text: &str| gallon.canonical(exact(text)).expect("a flow");
    let flow = Interval::new(flow(from_gpm), flow(to_gpm)).expect("in order");
    let function = lot.survey.function("pump_head").expect("declared");
    let station = Argument::Thing(lot.thing(&record, "ST-1"));
    let arguments = [station, Argument::Quantity(flow)];
    lot.survey
        .compute(function, &arguments, &record, Mode::Banded)
}

#[test]
fn a_pump_curve_is_read_between_its_points_and_never_beyond() {
    // By hand: from 138 ft at 8 gpm to 92 ft at 12 gpm, 11.5 ft less a gpm: 103.5 ft at 11 gpm.
    let facts = "stations:
  - id: ST-1
    pump_curve: [ { flow: 8 gpm, head: 138 ft }, { flow: 12 gpm, head: 92 ft }, { flow: 14 gpm, head: 0 ft } ]
";
    let at_eleven = pump_head(facts, "11", "11");
    assert_eq!(quantity(&at_eleven), Interval::point(feet("103.5")));
    assert_eq!(at_eleven.readings.len(), 2);
    let band = pump_head(facts, "11", "13");
    assert_eq!(
        Some(quantity(&band)),
        Interval::new(feet("46"), feet("103.5"))
    );
    for (from, to) in [("7", "7"), ("15", "15"), ("13", "15")] {
        let beyond = pump_head(facts, from, to);
        assert!(quantity(&beyond).is_whole(), "{from} to {to} gpm");
        assert!(
            matches!(beyond.causes[..], [Cause::Curve { .. }]),
            "{:?}",
            beyond.causes
        );
    }
}

#[test]
fn bends_add_up_between_pull_points() {
    let facts = "raceways:
  - id: R-1
    length: 60 ft
    bends: [ { at: 5 ft, angle: 90 deg }, { at: 10 ft, angle: 90 deg }, { at: 40 ft, angle: 45 deg } ]
    pull_points: [ { at: 30 ft } ]
";
    let degree = Unit::parse("deg").expect("degrees are known");
    let turned =
        |degrees: &str| Interval::point(degree.canonical(exact(degrees)).expect("an angle"));
    assert_eq!(lot().value(facts, "total_bend", &["R-1"]), turned("180"));
    let none = facts.replace("[ { at: 30 ft } ]", "none");
    assert_eq!(lot().value(&none, "total_bend", &["R-1"]), turned("225"));
    let lot = lot();
    let record = lot.record(&facts.replace("    pull_points: [ { at: 30 ft } ]\n", ""));
    let answer = lot.asks(&record, "total_bend", &["R-1"], Mode::Banded);
    assert_eq!(quantity(&answer), turned("90").hull(turned("225")));
    assert!(matches!(answer.causes[..], [Cause::List { .. }]));
}

/// The working of a function, a line each.
fn working(facts: &str, name: &str, ids: &[&str], flow_gpm: Option<&str>) -> String {
    let lot = lot();
    let record = lot.record(facts);
    let things = ids.iter().map(|id| Argument::Thing(lot.thing(&record, id)));
    let flow = flow_gpm.map(|flow| {
        let gallon = Unit::parse("gpm").expect("gallons a minute are known");
        let flow = gallon.canonical(exact(flow)).expect("a flow");
        Argument::Quantity(Interval::point(flow))
    });
    let arguments: Vec<_> = things.chain(flow).collect();
    let function = lot.survey.function(name).expect("declared");
    let answer = lot
        .survey
        .compute_with_steps(function, &arguments, &record, Mode::Banded);
    let steps: Vec<_> = answer.steps.into_iter().map(|step| step.text).collect();
    steps.join("\n")
}

#[test]
fn the_working_shows_numbers_with_units() {
    let read = SEWER.replace(
        "length: 80 ft",
        "length: 80 ft\n    fall_readings: [ { from: 10 ft, to: 30 ft, fall: 2.4 % ± 0.2 % } ]",
    );
    let fall = working(&read, "least_fall", &["BS-1"], None);
    let cover = working(SEWER, "least_cover", &["BS-1"], None);
    insta::assert_snapshot!(format!("{fall}\n{cover}"));
}

#[test]
fn the_working_of_distances_shows_numbers_with_units() {
    let entry = "crossings: [ { upper: L-1, lower: WS-1, vertical: 19 in } ]\n";
    let crossed = working(&crossing("98 ft", entry), "crossing_clearance", &BOTH, None);
    let apart = crossing(
        "98 ft",
        "wells: [ { id: W-1, outside_diameter: 6 in, line: [ { easting: 40 ft, northing: 30 ft } ] } ]\nclearances: [ { from: L-1, to: W-1, horizontal: 29 ft 8 in } ]\n",
    );
    let well = working(&apart, "horizontal_clearance", &["L-1", "W-1"], None);
    let rough = format!("tolerances: {{ length: 0.1 ft, others: exact }}\n{apart}");
    let rough = working(&rough, "horizontal_clearance", &["L-1", "W-1"], None);
    insta::assert_snapshot!(format!("{crossed}\n\n{well}\n\n{rough}"));
}

#[test]
fn the_working_along_a_run_shows_numbers_with_units() {
    let slope = "laterals:
  - id: L-1
    length: 16 ft
    shots: [ { at: 0 ft, crown: 90 ft, invert: 90 ft }, { at: 12 ft, crown: 95 ft, invert: 89 ft }, { at: 16 ft, crown: 92 ft, invert: 89.5 ft } ]
";
    let bends = "raceways:
  - id: R-1
    length: 60 ft
    bends: [ { at: 5 ft, angle: 90 deg }, { at: 10 ft, angle: 45 deg } ]
    pull_points: [ { at: 30 ft } ]
";
    let pump = "stations: [ { id: ST-1, pump_curve: [ { flow: 8 gpm, head: 138 ft }, { flow: 12 gpm, head: 92 ft } ] } ]\n";
    let told = [
        working(slope, "plan_length", &["L-1"], None),
        working(slope, "slope_length", &["L-1"], None),
        working(slope, "sag_depth", &["L-1"], None),
        working(SEWER, "sag_depth", &["BS-1"], None),
        working(bends, "total_bend", &["R-1"], None),
        working(pump, "pump_head", &["ST-1"], Some("11")),
    ];
    insta::assert_snapshot!(told.join("\n\n"));
}

#[test]
fn a_vocabulary_without_inverts_has_no_fall() {
    let text = "holds { later \"Later\" }\npermits { plumbing \"P\" }\nthing lateral \"A lateral\" run { }\nsurvey least_fall (run: lateral) gives slope \"fall\"\nsurvey least_fal (run: lateral) gives slope \"fall\"\n";
    let errors = Survey::new(&vocabulary_of(&[text.into()])).expect_err("both are mistakes");
    let told: Vec<_> = errors
        .iter()
        .map(|located| located.error.to_string())
        .collect();
    insta::assert_snapshot!(told.join("\n"));
}

// References computed by other programs.

#[derive(serde::Deserialize)]
struct CoverCase {
    case: u32,
    length: String,
    ground: Vec<Shot>,
    top_of_pipe: Vec<Shot>,
    least_cover: f64,
    greatest_cover: f64,
}

#[derive(serde::Deserialize)]
struct Shot {
    at: String,
    elevation: String,
}

#[test]
fn cover_agrees_with_numpy() {
    // tests/reference/cover: random pipes, ground and top interpolated by numpy.
    let text = include_str!("reference/cover/cover.jsonl");
    let lot = lot_without_gaps();
    for case in text.lines() {
        let case: CoverCase = serde_json::from_str(case).expect("a case a line");
        let shots = |list: &[Shot], fact: &str| -> String {
            let shots = list.iter();
            let shots = shots.map(|shot| {
                format!(
                    "      - {{ at: {} ft, {fact}: {} ft }}\n",
                    shot.at, shot.elevation
                )
            });
            shots.collect()
        };
        let record = lot.record(&format!(
            "laterals:\n  - id: L-1\n    length: {} ft\n    shots:\n{}    ground_shots:\n{}",
            case.length,
            shots(&case.top_of_pipe, "crown"),
            shots(&case.ground, "ground"),
        ));
        for (name, expected) in [
            ("least_cover", case.least_cover),
            ("greatest_cover", case.greatest_cover),
        ] {
            let answer = lot.asks(&record, name, &["L-1"], Mode::Banded);
            let value = quantity(&answer);
            assert!(
                near(value, &format!("{expected:.9}"), "0.000001"),
                "case {}: {name}: {answer:?}",
                case.case
            );
        }
    }
}

#[derive(serde::Deserialize)]
struct ClearanceCase {
    case: u32,
    first: Vec<[String; 2]>,
    second_kind: String,
    second: Vec<[String; 2]>,
    distance_to_outline: f64,
    intersects: bool,
    crosses: bool,
    nearest_chainage: Option<f64>,
    length: f64,
}

#[test]
fn distances_and_crossings_agree_with_shapely() {
    // tests/reference/clearance: lines, points and outlines of areas, by shapely (GEOS).
    let text = include_str!("reference/clearance/clearance.jsonl");
    let lot = lot();
    for case in text.lines() {
        let case: ClearanceCase = serde_json::from_str(case).expect("a case a line");
        let mut second = case.second.clone();
        if case.second_kind == "area" && second.first() != second.last() {
            second.push(second[0].clone());
        }
        let line = |points: &[[String; 2]]| {
            let points: Vec<_> = points
                .iter()
                .map(|[east, north]| (&**east, &**north))
                .collect();
            line(&points)
        };
        let record = lot.record(&format!(
            "supply_cables: [ {{ id: C-1, length: {:.9} ft, outside_diameter: 0 in, line: {} }} ]\nwater_services: [ {{ id: WS-1, outside_diameter: 0 in, line: {} }} ]\n",
            case.length,
            line(&case.first),
            line(&second),
        ));
        let ids = ["C-1", "WS-1"];
        let answer = lot.asks(&record, "horizontal_clearance", &ids, Mode::Banded);
        let distance = quantity(&answer);
        if let Some(at) = case.nearest_chainage {
            let found = answer.at.expect("the run has a length");
            assert!(
                near(found, &format!("{at:.9}"), "0.000001"),
                "case {}: {found:?}",
                case.case
            );
        }
        let expected = format!("{:.9}", case.distance_to_outline);
        assert!(
            near(distance, &expected, "0.000001"),
            "case {}: {distance:?}",
            case.case
        );
        if case.second_kind == "line" {
            let crossing = lot.asks(&record, "crosses", &ids, Mode::Banded).value;
            match (case.crosses, case.intersects) {
                (true, _) => assert_ne!(crossing, Value::Truth(false), "case {}", case.case),
                (false, true) => assert_eq!(crossing, Value::Nothing, "case {}", case.case),
                (false, false) => assert_eq!(crossing, Value::Truth(false), "case {}", case.case),
            }
        }
    }
}

/// The reference pipes have shots at any distance.
fn lot_without_gaps() -> Lot {
    let mut lot = built();
    for thing in &mut lot.vocabulary.things {
        if let groundrule::vocabulary::Form::Run { gap } = &mut thing.form {
            *gap = None;
        }
    }
    lot.survey = Survey::new(&lot.vocabulary).expect("gaps take nothing away");
    lot
}

// Properties.

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Whatever the true heights are inside their tolerances, the true least cover and the true
    /// least fall lie inside the answer.
    #[test]
    fn cover_and_fall_hold_every_world(
        heights in prop::collection::vec((900_i64..1000, 1100_i64..1200, -5_i64..=5, -5_i64..=5), 2..6),
        tolerance in 0_i64..=5,
    ) {
        let lot = lot();
        let facts = |shift: i64, tolerance: i64| {
            let mut text = format!("tolerances: {{ elevation: 0.0{tolerance} ft, others: exact }}\nlaterals:\n  - id: L-1\n    length: {} ft\n    shots:\n", 10 * (heights.len() - 1));
            for (index, (crown, ground, dig, fill)) in heights.iter().enumerate() {
                let clamp = |by: i64| by.clamp(-tolerance, tolerance) * shift;
                let hundredths = |value: i64| format!("{}.{:02}", value / 100, value % 100);
                let (crown, ground) = (crown * 10 + clamp(*dig), ground * 10 + clamp(*fill));
                writeln!(text, "      - {{ at: {} ft, crown: {} ft, invert: {} ft, ground: {} ft }}", 10 * index, hundredths(crown), hundredths(crown), hundredths(ground)).expect("a text");
            }
            text
        };
        let banded = facts(0, tolerance);
        // The world: every reading moved inside its tolerance, and then exact.
        let world = facts(1, tolerance).replace(&format!("elevation: 0.0{tolerance} ft, others: exact"), "others: exact");
        for name in ["least_cover", "greatest_cover", "least_fall", "greatest_fall", "overall_fall", "sag_depth"] {
            let wide = lot.value(&banded, name, &["L-1"]);
            let one = lot.value(&world, name, &["L-1"]).exact_point().expect("an exact world");
            prop_assert!(wide.contains(one), "{name}: {one:?} not in {wide:?}");
        }
        let wide = lot.value(&banded, "slope_length", &["L-1"]);
        let one = lot.value(&world, "slope_length", &["L-1"]);
        // Roots are enclosures: the world's own may be a last place wide.
        prop_assert!(wide.intersect(one).is_some(), "{one:?} not in {wide:?}");
    }

    /// Deleting a reading never makes an answer appear: what was surely at least something after
    /// a deletion was so before.
    #[test]
    fn deleting_a_reading_never_decides(
        crowns in prop::collection::vec(9000_i64..9300, 3..6),
        deleted in 0_usize..6,
        what in prop::sample::select(vec!["at", "crown", "ground", "invert", "fall"]),
        is_read in any::<bool>(),
    ) {
        let lot = lot();
        let deleted = deleted % crowns.len();
        let facts = |is_deleted: bool| {
            let mut text = format!("laterals:\n  - id: L-1\n    length: {} ft\n", 10 * (crowns.len() - 1));
            if is_read {
                // A fall read so roughly that it never excludes the inverts.
                let fall = if is_deleted && what == "fall" { "" } else { ", fall: 5 % ± 45 %" };
                writeln!(text, "    fall_readings: [ {{ from: 0 ft, to: 20 ft{fall} }} ]").expect("a text");
            }
            text += "    shots:\n";
            for (index, crown) in crowns.iter().enumerate() {
                let mut shot = vec![("at", format!("{} ft", 10 * index))];
                let height = format!("{}.{:02} ft", crown / 100, crown % 100);
                shot.push(("crown", height.clone()));
                shot.push(("invert", height));
                shot.push(("ground", "95 ft".into()));
                shot.retain(|(name, _)| !(is_deleted && index == deleted && *name == what));
                let parts: Vec<_> = shot.iter().map(|(name, value)| format!("{name}: {value}")).collect();
                writeln!(text, "      - {{ {} }}", parts.join(", ")).expect("a text");
            }
            text
        };
        for name in ["least_cover", "least_fall", "greatest_cover", "greatest_fall", "sag_depth"] {
            let before = lot.value(&facts(false), name, &["L-1"]);
            let after = lot.value(&facts(true), name, &["L-1"]);
            prop_assert_eq!(before.hull(after), after);
        }
    }

    /// Moving vertices inside their tolerances never moves a distance out of its interval.
    #[test]
    fn a_distance_holds_every_world(
        points in prop::collection::vec((-500_i64..500, -500_i64..500, -2_i64..=2, -2_i64..=2), 3),
    ) {
        let lot = lot();
        let facts = |shift: i64, tolerances: &str| {
            let place = |index: usize| {
                let (east, north, right, up) = points[index];
                format!("{{ easting: {} in, northing: {} in }}", east + shift * right, north + shift * up)
            };
            format!("tolerances: {tolerances}\nsupply_cables: [ {{ id: C-1, outside_diameter: 0 in, line: [ {}, {} ] }} ]\nwells: [ {{ id: W-1, outside_diameter: 0 in, line: [ {} ] }} ]\n", place(0), place(1), place(2))
        };
        let banded = lot.value(&facts(0, "{ length: 2 in, others: exact }"), "horizontal_clearance", &["C-1", "W-1"]);
        let world = lot.value(&facts(1, "exact"), "horizontal_clearance", &["C-1", "W-1"]);
        prop_assert!(is_at_least(world, Interval::point(Rational::ZERO)) == Truth::True);
        prop_assert_eq!(banded.hull(world), banded);
    }

    /// Whatever the true places and heights are inside their tolerances, the true upright distance
    /// at a crossing and the true distance in space lie inside the answer.
    #[test]
    fn crossings_hold_every_world(
        places in prop::collection::vec((-20_i64..=20, -20_i64..=20, -2_i64..=2, -2_i64..=2), 5),
        heights in prop::collection::vec((-30_i64..=30, -2_i64..=2), 5),
    ) {
        let lot = lot();
        // Two lines that cross about (580, 0) in, the first of two segments.
        let nominal = [(0, 0), (500, 0), (1000, 0), (580, -200), (580, 200)];
        let facts = |shift: i64, tolerances: &str, elevations: &str| {
            let place = |index: usize| {
                let ((east, north), (right, up, east_by, north_by)) = (nominal[index], places[index]);
                format!("{{ easting: {} in, northing: {} in }}", east + right + shift * east_by, north + up + shift * north_by)
            };
            let height = |index: usize, above: i64| {
                let (height, by) = heights[index];
                let tenths = 1000 + above + height + shift * by;
                format!("{}.{} ft", tenths / 10, tenths % 10)
            };
            format!("tolerances: {{ length: {tolerances}, elevation: {elevations}, others: exact }}\nlaterals: [ {{ id: L-1, length: 1000 in, outside_diameter: 2 in ± 0 in, wall: 0 in ± 0 in, shots: [ {{ at: 0 in, crown: {} }}, {{ at: 480 in, crown: {} }}, {{ at: 1000 in, crown: {} }} ], line: [ {}, {}, {} ] }} ]\nwater_services: [ {{ id: WS-1, length: 400 in, outside_diameter: 1 in ± 0 in, shots: [ {{ at: 0 in, crown: {} }}, {{ at: 400 in, crown: {} }} ], line: [ {}, {} ] }} ]\n",
                height(0, 0), height(1, 0), height(2, 0), place(0), place(1), place(2), height(3, 40), height(4, 40), place(3), place(4))
        };
        for name in ["crossing_clearance", "true_clearance"] {
            let banded = lot.value(&facts(0, "2 in", "0.2 ft"), name, &BOTH);
            let world = lot.value(&facts(1, "0 in", "0 ft"), name, &BOTH);
            prop_assert!(!banded.is_whole(), "{name}");
            prop_assert_eq!(banded.hull(world), banded, "{}", name);
        }
    }
}
