//! A record and a GeoJSON plan in, clearances or mistakes out.

use groundrule::library::{Opened, Problem, embedded, open};
use groundrule::quantity::{Interval, Rational, Unit};
use groundrule::record::facts::{Record, ThingRef, Value};
use groundrule::record::{plan, read};
use groundrule::report::mistakes;
use groundrule::source::Sources;
use groundrule::survey::{Argument, Mode, complete};
use std::sync::LazyLock;

static LIBRARY: LazyLock<Opened> =
    LazyLock::new(|| open(&embedded()).unwrap_or_else(|_| panic!("the library has no mistake")));

const HEAD: &str = "record: 1
lot: X-1
place: [ somewhere ]
permits: none
recorded: { date: 2026-04-18 }
stage: before_cover
tolerances: exact
";

/// Reads a record and attaches its plan; else the mistakes as somebody is told of them.
fn attached(facts: &str, geojson: &str) -> Result<Record, String> {
    let vocabulary = &LIBRARY.library.vocabulary;
    let mut sources = Sources::default();
    let id = sources.add("lot_07.yaml", format!("{HEAD}{facts}"));
    let plan_id = sources.add("lot_07.geojson", geojson);
    let told =
        |sources: &Sources, problems: Vec<Problem>| mistakes::render(sources, problems, false, 100);
    let record = read(vocabulary, &sources, id)
        .map_err(|errors| told(&sources, errors.into_iter().map(Problem::from).collect()))?;
    let record = plan::attach(vocabulary, record, &sources, plan_id)
        .map_err(|errors| told(&sources, errors.into_iter().map(Problem::from).collect()))?;
    Ok(complete(vocabulary, record))
}

fn thing(record: &Record, id: &str) -> ThingRef {
    let mut things = record.things.iter();
    let found = things.position(|thing| thing.id.is_some_and(|text| record.text(text) == id));
    ThingRef(u32::try_from(found.expect("the id is in the record")).expect("few things"))
}

fn clearance(record: &Record, one: &str, two: &str, mode: Mode) -> Interval {
    let survey = &LIBRARY.survey;
    let function = survey.function("horizontal_clearance").expect("declared");
    let arguments = [one, two].map(|id| Argument::Thing(thing(record, id)));
    match survey.compute(function, &arguments, record, mode).value {
        Value::Quantity(value) => value,
        other => panic!("not a distance: {other:?}"),
    }
}

fn feature(id: &str, geometry: &str, coordinates: &str) -> String {
    format!(
        "    {{ \"type\": \"Feature\", \"properties\": {{ \"id\": \"{id}\" }},\n      \"geometry\": {{ \"type\": \"{geometry}\", \"coordinates\": {coordinates} }} }}"
    )
}

fn collection(features: &[String]) -> String {
    format!(
        "{{ \"type\": \"FeatureCollection\",\n  \"features\": [\n{}\n] }}\n",
        features.join(",\n")
    )
}

fn metres(text: &str) -> Rational {
    Rational::parse_decimal(text).expect("a number")
}

const TWO: &str = "plan: { file: lot_07.geojson, tolerance: exact }
stations: [ { id: ST-1, basin_outside_diameter: 0 in } ]
wells: [ { id: W-1, outside_diameter: 0 in } ]
";

#[derive(serde::Deserialize)]
struct Lot {
    case: u32,
    station: [String; 2],
    wells: Vec<[String; 2]>,
    distances: Vec<f64>,
}

#[test]
fn distances_agree_with_geodesics() {
    // tests/reference/plan: places by the hundred, distances by geographiclib.
    let text = include_str!("reference/plan/plan.jsonl");
    let most = Interval::point(metres("0.001"));
    for case in text.lines() {
        let lot: Lot = serde_json::from_str(case).expect("a case a line");
        let place = |id: &str, [longitude, latitude]: &[String; 2]| {
            feature(id, "Point", &format!("[ {longitude}, {latitude} ]"))
        };
        let mut features = vec![place("ST-1", &lot.station)];
        let mut wells = Vec::new();
        for (index, well) in lot.wells.iter().enumerate() {
            let id = format!("W-{index}");
            features.push(place(&id, well));
            wells.push(format!("{{ id: {id}, outside_diameter: 0 in }}"));
        }
        let facts = TWO.replace("{ id: W-1, outside_diameter: 0 in }", &wells.join(", "));
        let record =
            attached(&facts, &collection(&features)).unwrap_or_else(|told| panic!("{told}"));
        for (index, expected) in lot.distances.iter().enumerate() {
            let distance = clearance(&record, "ST-1", &format!("W-{index}"), Mode::Banded);
            let expected = Rational::from_f64(*expected).expect("a number");
            assert!(
                distance.contains(expected),
                "case {}: {distance:?}",
                lot.case
            );
            let (lower, upper) = (distance.lower(), distance.upper());
            let (lower, upper) = lower.zip(upper).expect("a distance that is known");
            let width = Interval::new(upper, upper).zip(Interval::new(lower, lower));
            let width = width
                .map(|(upper, lower)| upper.subtract(lower))
                .expect("ends");
            assert!(
                width.upper() < most.upper(),
                "case {}: {distance:?}",
                lot.case
            );
        }
    }
}

#[test]
fn the_tolerance_of_a_plan_is_that_of_its_coordinates() {
    // Each of the four coordinates may be off by 0.3 ft, each place by 0.3 ft × √2, the distance by
    // twice that: 0.8485 ft; the projection adds 0.0003 m at the most.
    let features = [
        feature("ST-1", "Point", "[ -77.0365, 38.8977 ]"),
        feature("W-1", "Point", "[ -77.0360, 38.8977 ]"),
    ];
    let exact = attached(TWO, &collection(&features)).unwrap_or_else(|told| panic!("{told}"));
    let rough = TWO.replace("tolerance: exact", "tolerance: 0.3 ft");
    let rough = attached(&rough, &collection(&features)).unwrap_or_else(|told| panic!("{told}"));
    let nominal = clearance(&exact, "ST-1", "W-1", Mode::AsRead);
    assert_eq!(clearance(&rough, "ST-1", "W-1", Mode::AsRead), nominal);
    let foot = Unit::parse("ft").expect("the foot is known");
    let off = |text: &str| {
        let off = foot.canonical(Rational::parse_decimal(text).expect("a number"));
        Interval::band(Rational::ZERO, off.expect("a length"))
    };
    let banded = clearance(&rough, "ST-1", "W-1", Mode::Banded);
    let within = nominal.add(off("0.8496"));
    assert_eq!(within.hull(banded), within, "{banded:?}");
    let beyond = nominal.add(off("0.8485"));
    assert_eq!(banded.hull(beyond), banded, "{banded:?}");
}

#[test]
fn a_line_string_is_the_line_of_its_run() {
    // A degree of latitude at the equator is 110.574 km (WGS 84): 0.0001° is 11.057 m.
    let facts = "plan: { file: lot_07.geojson, tolerance: exact }
laterals: [ { id: L-1, outside_diameter: 0 in } ]
wells: [ { id: W-1, outside_diameter: 0 in } ]
";
    let features = [
        feature("L-1", "LineString", "[ [ 0, 0 ], [ 0.001, 0, 12.5 ] ]"),
        feature("W-1", "Point", "[ 0.0005, 0.0001 ]"),
    ];
    let record = attached(facts, &collection(&features)).unwrap_or_else(|told| panic!("{told}"));
    let distance = clearance(&record, "L-1", "W-1", Mode::Banded);
    let expected = Interval::band(metres("11.0574"), metres("0.001"));
    assert_eq!(expected.hull(distance), expected, "{distance:?}");
}

#[test]
fn each_mistake_of_a_plan_shows_its_place() {
    let point = |id: &str| feature(id, "Point", "[ -77.0365, 38.8977 ]");
    let well =
        |coordinates: &str| collection(&[feature("W-1", "Point", coordinates), point("ST-1")]);
    let wrong = [
        ("not_json", "{ \"type\": ".to_owned()),
        ("no_collection", "{ \"type\": \"Topology\" }".to_owned()),
        (
            "no_feature",
            collection(&["{ \"type\": \"Point\" }".into()]),
        ),
        (
            "no_id",
            collection(&[point("W-1").replace("\"id\"", "\"name\"")]),
        ),
        (
            "no_geometry",
            collection(&[point("W-1").replace("\"geometry\"", "\"geom\"")]),
        ),
        (
            "no_coordinates",
            collection(&[point("W-1").replace("\"coordinates\"", "\"at\"")]),
        ),
        (
            "polygon",
            collection(&[feature(
                "W-1",
                "Polygon",
                "[ [ [ 0, 0 ], [ 1, 1 ], [ 0, 1 ], [ 0, 0 ] ] ]",
            )]),
        ),
        (
            "one_place_line",
            collection(&[feature("W-1", "LineString", "[ [ 0, 0 ] ]")]),
        ),
        (
            "reference_system",
            collection(&[point("W-1")]).replacen('{', "{ \"crs\": { \"type\": \"name\" },", 1),
        ),
        ("unknown_id", collection(&[point("W-2")])),
        ("duplicate_id", collection(&[point("W-1"), point("W-1")])),
        ("no_line", collection(&[point("T-1")])),
        ("latitude", well("[ 38.8977, -97.0365 ]")),
        ("text_for_a_number", well("[ \"-77.0365\", 38.8977 ]")),
        ("one_number", well("[ -77.0365 ]")),
        (
            "antimeridian",
            collection(&[
                feature("W-1", "Point", "[ 179.999, 0 ]"),
                feature("ST-1", "Point", "[ -179.999, 0 ]"),
            ]),
        ),
        ("swapped", well("[ 38.8977, -77.0365 ]")),
        (
            "long_line",
            format!("{{{}\"type\": \"Topology\" }}", " ".repeat(70_000)),
        ),
    ];
    let facts = format!("{TWO}laterals: [ {{ pressure_tests: [ {{ id: T-1 }} ] }} ]\n");
    for (name, geojson) in wrong {
        let told = attached(&facts, &geojson).expect_err(name);
        insta::assert_snapshot!(name, told);
    }
    let own = TWO.replace(
        "{ id: W-1,",
        "{ id: W-1, line: [ { northing: 0 ft, easting: 0 ft } ],",
    );
    let told = attached(&own, &collection(&[point("ST-1")])).expect_err("two frames");
    insta::assert_snapshot!("two_frames", told);
}

#[test]
fn each_mistake_in_naming_a_plan_shows_its_place() {
    let plan = collection(&[]);
    for (name, written) in [
        (
            "above",
            "plan: { file: ../lot_07.geojson, tolerance: exact }",
        ),
        (
            "absolute",
            "plan: { file: /plans/lot_07.geojson, tolerance: exact }",
        ),
        (
            "backslash",
            "plan: { file: 'plans\\lot_07.geojson', tolerance: exact }",
        ),
        ("no_tolerance", "plan: { file: lot_07.geojson }"),
        ("no_file", "plan: { tolerance: 0.3 ft }"),
        (
            "bare_tolerance",
            "plan: { file: lot_07.geojson, tolerance: 0.3 }",
        ),
        ("a_name_alone", "plan: lot_07.geojson"),
        (
            "unknown_key",
            "plan: { file: lot_07.geojson, tolerance: exact, frame: utm }",
        ),
    ] {
        let told = attached(&format!("{written}\n"), &plan).expect_err(name);
        insta::assert_snapshot!(format!("naming_{name}"), told);
    }
}
