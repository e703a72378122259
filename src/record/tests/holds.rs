//! What a record means.

use super::trade::vocabulary;
use super::{codes, list_of, read_text, record, slot_of, text_codes, thing, with_head};
use crate::quantity::{Interval, Rational};
use crate::record::error::Mistakes;
use crate::record::facts::{State, THE_SITE, Value};
use crate::record::head::Overrides;
use crate::record::yaml;
use crate::record::{read_fragment, read_with};
use crate::source::Sources;
use crate::vocabulary::HoldId;

fn rational(above: i128, below: i128) -> Rational {
    Rational::new(above, below).expect("a fraction")
}

/// Inches in metres: the inch is 0.0254 m exactly (NIST SP 811, appendix B).
fn inches(above: i128, below: i128) -> Rational {
    rational(above * 254, below * 10_000)
}

/// The band and the value as read of one fact of one thing.
fn quantity(body: &str, path: &[(&str, usize)], fact: &str) -> (Interval, Interval) {
    let (record, vocabulary) = (record(body), vocabulary());
    let slot = slot_of(
        &record,
        &vocabulary,
        thing(&record, &vocabulary, path),
        fact,
    );
    assert_eq!(slot.state, State::Read);
    match (slot.banded, slot.as_read) {
        (Value::Quantity(banded), Value::Quantity(as_read)) => (banded, as_read),
        other => panic!("no quantities: {other:?}"),
    }
}

fn state(body: &str, path: &[(&str, usize)], fact: &str) -> State {
    let (record, vocabulary) = (record(body), vocabulary());
    slot_of(
        &record,
        &vocabulary,
        thing(&record, &vocabulary, path),
        fact,
    )
    .state
}

fn value(body: &str, path: &[(&str, usize)], fact: &str) -> Value {
    let (record, vocabulary) = (record(body), vocabulary());
    slot_of(
        &record,
        &vocabulary,
        thing(&record, &vocabulary, path),
        fact,
    )
    .banded
}

const SPAN: &[(&str, usize)] = &[("supply_cables", 0), ("spans", 0)];

fn span(facts: &str) -> String {
    format!("supply_cables: [ {{ spans: [ {{ {facts} }} ] }} ]")
}

#[test]
fn a_reading_takes_the_tolerance_of_the_head() {
    let (banded, as_read) = quantity(&span("cover: 24 in"), SPAN, "cover");
    assert_eq!(banded, Interval::band(inches(24, 1), inches(1, 4)));
    assert_eq!(as_read, Interval::point(inches(24, 1)));
}

#[test]
fn a_reading_with_a_tolerance_keeps_its_own() {
    let (banded, _) = quantity(&span("cover: 24 in ± 1 in"), SPAN, "cover");
    assert_eq!(banded, Interval::band(inches(24, 1), inches(1, 1)));
}

#[test]
fn others_are_exact_where_the_head_says_so() {
    let (banded, _) = quantity(
        "supply_cables: [ { conduit_fall: 2 % } ]",
        &SPAN[..1],
        "conduit_fall",
    );
    assert_eq!(banded, Interval::point(rational(1, 50)));
}

#[test]
fn a_stated_length_and_a_chainage_are_exact() {
    let body = "building_sewers: [ { length: 38 ft, rated_length: 10 ft } ]";
    let sewer = &[("building_sewers", 0)];
    let (length, _) = quantity(body, sewer, "length");
    let (rated, _) = quantity(body, sewer, "rated_length");
    assert_eq!(length, Interval::point(inches(38 * 12, 1)));
    assert_eq!(rated, Interval::point(inches(120, 1)));
}

#[test]
fn several_readings_intersect() {
    let (banded, as_read) = quantity(&span("cover: [ 24 in, 24 1/4 in ]"), SPAN, "cover");
    // 24 in ± 1/4 in and 24 1/4 in ± 1/4 in share what lies from 24 in to 24 1/4 in.
    assert_eq!(Some(banded), Interval::new(inches(24, 1), inches(97, 4)));
    assert_eq!(Some(as_read), Interval::new(inches(24, 1), inches(97, 4)));
    assert!(record(&span("cover: [ 24 in, 24 1/4 in ]")).has_several);
    assert!(!record(&span("cover: 24 in")).has_several);
}

#[test]
fn readings_that_exclude_each_other_disagree() {
    assert_eq!(
        state(&span("cover: [ 24 in, 26 in ]"), SPAN, "cover"),
        State::Disagree
    );
    assert_eq!(
        state(&span("ribbon: [ yes, no ]"), SPAN, "ribbon"),
        State::Disagree
    );
    assert_eq!(
        state(&span("wiring: [ pvc_40, pvc_40 ]"), SPAN, "wiring"),
        State::Read
    );
}

#[test]
fn what_is_from_the_plan_is_no_reading_of_a_measured_fact() {
    for how in ["from_plan", "told"] {
        let body = span(&format!("cover: {{ reads: 24 in, how: {how} }}"));
        assert_eq!(state(&body, SPAN, "cover"), State::NotRead);
    }
    let measured = span("cover: { reads: 24 in, how: measured, by: R. Ames }");
    assert_eq!(state(&measured, SPAN, "cover"), State::Read);
    let stated = span("wiring: { reads: pvc_40, how: from_plan }");
    assert_eq!(state(&stated, SPAN, "wiring"), State::Read);
}

#[test]
fn a_reading_beside_the_plan_counts_alone() {
    let body = span("cover: [ { reads: 40 in, how: from_plan }, 24 in ]");
    let (banded, _) = quantity(&body, SPAN, "cover");
    assert_eq!(banded, Interval::band(inches(24, 1), inches(1, 4)));
    assert!(!record(&body).has_several);
}

#[test]
fn what_is_empty_is_absent() {
    for facts in [
        "cover:",
        "cover: null",
        "cover: ~",
        "cover: { reads: , by: R. Ames }",
        "",
    ] {
        assert_eq!(state(&span(facts), SPAN, "cover"), State::Absent, "{facts}");
    }
}

#[test]
fn a_list_is_open_closed_or_absent() {
    let vocabulary = vocabulary();
    for (body, count, open, written) in [
        ("site: {}", 0, true, false),
        ("wells:", 0, true, false),
        ("wells: none", 0, false, true),
        ("wells: [ { id: W-1 }, {} ]", 2, false, true),
        ("wells: [ { id: W-1 }, more ]", 1, true, true),
        ("wells: [ more ]", 0, true, true),
    ] {
        let record = record(body);
        let list = list_of(&record, &vocabulary, THE_SITE, "wells");
        assert_eq!(
            (list.items.len(), list.open, list.written),
            (count, open, written),
            "{body}"
        );
    }
}

#[test]
fn a_size_is_read_as_a_label_with_any_spacing() {
    let sewer: &[(&str, usize)] = &[("building_sewers", 0)];
    for (text, place) in [
        ("2 1/2 in", 0),
        ("2  1/2   in", 0),
        ("DN 100", 2),
        ("'4 in'", 2),
    ] {
        let body = format!("building_sewers: [ {{ nominal_size: {text} }} ]");
        assert_eq!(
            value(&body, sewer, "nominal_size"),
            Value::Label(place),
            "{text}"
        );
    }
}

#[test]
fn dates_are_seconds_from_1970() {
    // 2000-03-01 is day 11017 after 1970-01-01: the civil-calendar algorithms of Howard Hinnant,
    // "chrono-Compatible Low-Level Date Algorithms".
    let (banded, _) = quantity("site: { located_on: 2000-03-01 }", &[], "located_on");
    assert_eq!(banded, Interval::point(rational(11_017 * 86_400, 1)));
}

#[test]
fn temperatures_are_points_on_their_scale() {
    // Water freezes at 32 °F, 0 °C and 273.15 K (NIST SP 811, appendix B).
    for text in ["32 degF", "0 degC", "273.15 K"] {
        let body = format!("site: {{ ground_temperature: {text} }}");
        let (banded, _) = quantity(&body, &[], "ground_temperature");
        assert_eq!(banded, Interval::point(rational(27_315, 100)), "{text}");
    }
}

#[test]
fn elevations_are_points_with_the_tolerance_of_a_length() {
    let body = "building_sewers: [ { shots: [ { at: 0 ft, invert: 809.10 ft } ] } ]";
    let (banded, _) = quantity(body, &[("building_sewers", 0), ("shots", 0)], "invert");
    assert_eq!(
        banded,
        Interval::band(inches(80_910 * 12, 100), inches(24, 100))
    );
}

#[test]
fn plain_words_stay_the_text_that_was_written() {
    let (record, vocabulary) = (
        record("site: { soil: 0.10 }\nwells: [ { id: no } ]"),
        vocabulary(),
    );
    let Value::Text(soil) = slot_of(&record, &vocabulary, THE_SITE, "soil").banded else {
        panic!("a text");
    };
    assert_eq!(record.text(soil), "0.10");
    let well = thing(&record, &vocabulary, &[("wells", 0)]);
    assert_eq!(record.thing(well).id.map(|id| record.text(id)), Some("no"));
}

#[test]
fn a_reference_finds_its_thing_wherever_it_stands() {
    let record = record("clearances: [ { to: W-1 } ]\nwells: [ { id: W-1 } ]");
    let vocabulary = vocabulary();
    let clearance = thing(&record, &vocabulary, &[("clearances", 0)]);
    let Value::Text(to) = slot_of(&record, &vocabulary, clearance, "to").banded else {
        panic!("a reference");
    };
    assert_eq!(
        record.with_id(to),
        Some(thing(&record, &vocabulary, &[("wells", 0)]))
    );
}

#[test]
fn parents_stand_before_children_and_paths_say_where() {
    let record = record("supply_cables: [ { spans: [ {}, {} ] }, { spans: [ {} ] } ]");
    let vocabulary = vocabulary();
    let paths: Vec<_> = (0..)
        .zip(&record.things)
        .map(|(at, _)| record.path(&vocabulary, crate::record::facts::ThingRef(at)))
        .collect();
    assert_eq!(
        paths,
        [
            "",
            "supply_cables[0]",
            "supply_cables[0].spans[0]",
            "supply_cables[0].spans[1]",
            "supply_cables[1]",
            "supply_cables[1].spans[0]",
        ]
    );
}

#[test]
fn a_value_keeps_the_place_of_its_scalar() {
    let text = with_head(&span("cover: { reads: 24 1/2 in }"));
    let record = read_text(&text).expect("a record");
    let vocabulary = vocabulary();
    let slot = slot_of(
        &record,
        &vocabulary,
        thing(&record, &vocabulary, SPAN),
        "cover",
    );
    let place = slot.readings[0].span;
    assert_eq!(&text[place.start as usize..place.end as usize], "24 1/2 in");
}

#[test]
fn the_head_is_read() {
    let record = record("");
    assert_eq!(record.head.lot.value, "VM-07");
    assert_eq!(record.head.places.len(), 1);
    assert_eq!(record.head.stage.value, HoldId(1));
    let [permit] = record.head.permits.as_slice() else {
        panic!("one permit");
    };
    assert!(permit.issued.is_some() && permit.applied.is_none());
}

#[test]
fn json_is_read_alike() {
    let json = r#"{
  "record": 1, "lot": "VM-07", "place": [ "a/b", "a/c" ],
  "permits": { "plumbing": { "issued": "2026-03-02" } },
  "recorded": { "by": "R. Ames", "date": "2026-04-18" },
  "stage": "before_cover", "tolerances": "exact", "datum": null,
  "supply_cables": [ { "id": "SC-1", "spans": [ { "cover": "24 in", "ribbon": "yes" }, "more" ] } ],
  "wells": "none"
}"#;
    let record = read_text(json).unwrap_or_else(|mistakes| panic!("{mistakes:#?}"));
    let vocabulary = vocabulary();
    assert_eq!(record.head.places.len(), 2);
    let cable = thing(&record, &vocabulary, &[("supply_cables", 0)]);
    assert!(list_of(&record, &vocabulary, cable, "spans").open);
    assert!(list_of(&record, &vocabulary, THE_SITE, "wells").written);
}

#[test]
fn what_is_given_from_outside_stands_in_for_the_head() {
    let text = "record: 1\nlot: A-1\ntolerances: exact\n";
    let mut sources = Sources::default();
    let id = sources.add("a.yaml", text);
    let on = Rational::from_integer(86_400);
    let overrides = Overrides {
        places: vec!["a/b".into()],
        on: Some(on),
        at: Some(HoldId(2)),
    };
    let record = read_with(&vocabulary(), &sources, id, &overrides).expect("a record");
    assert_eq!(record.head.places[0].value, "a/b");
    assert_eq!(record.head.stage.value, HoldId(2));
    assert_eq!(record.head.recorded_date.value, on);
    let dates: Vec<_> = record
        .head
        .permits
        .iter()
        .map(|permit| permit.issued.as_ref().map(|date| date.value))
        .collect();
    assert_eq!(dates, [Some(on), Some(on)]);
}

#[test]
fn a_fragment_takes_its_head_from_elsewhere() {
    let text = "\
head:
  place: a/b
  permits: none
  recorded: { date: 2026-04-18 }
  stage: before_cover
  tolerances: exact
case:
  stage: start_up
record:
  wells: [ { id: W-1 } ]
";
    let mut sources = Sources::default();
    let id = sources.add("a.cases.yaml", text);
    let mut mistakes = Mistakes::default();
    let root = yaml::parse(&sources, id, &mut mistakes).expect("a tree");
    let part = |key: &str| root.get(key).expect("the part is there");
    let record = read_fragment(
        &vocabulary(),
        &sources,
        part("head"),
        &[part("case")],
        part("record"),
    )
    .expect("a record");
    assert_eq!(record.head.stage.value, HoldId(2));
    assert_eq!(record.things.len(), 2);
}

#[test]
fn all_mistakes_are_told_in_the_order_of_their_places() {
    let body = "site: { frost_depth: 30 }\nwells: []\nsupply_cables: [ { spans: [ { cover: 24, ribbon: maybe } ] } ]";
    assert_eq!(
        codes(body),
        ["bare_number", "empty_list", "bare_number", "yes_or_no"]
    );
}

#[test]
fn one_mistake_makes_no_others() {
    assert_eq!(
        codes("site: { frost_depth: &a 30 in, soil: *a }"),
        ["anchor", "alias"]
    );
    assert_eq!(codes("site: { soil: clay, soil: sand }"), ["duplicate_key"]);
    let misspelt = with_head("site: { frost_depth: 30 in }").replace("length: 1/4 in", "length: 2");
    assert_eq!(text_codes(&misspelt), ["bare_number"]);
}
