//! What other programs read of a screening: tables that run no formula, SARIF by its published
//! schema, findings on a map as a GeoJSON reader understands them.

use std::path::Path;
use std::sync::LazyLock;

use geojson::{FeatureCollection, GeometryValue};
use groundrule::finding::Report;
use groundrule::library::{Opened, embedded, open};
use groundrule::record::Overrides;
use groundrule::report::{csv as table, geojson as map, sarif};
use groundrule::screen::{Content, Screened, Screening, Submitted};
use serde_json::Value;

mod archive;

static LIBRARY: LazyLock<Opened> = LazyLock::new(|| open(&embedded()).expect("the library opens"));

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn plan(record: &str, file: &str) -> Result<(String, String), String> {
    let path = Path::new(record).with_file_name(file);
    let text = std::fs::read_to_string(root().join(&path)).map_err(|error| error.to_string())?;
    Ok((path.display().to_string(), text))
}

fn screened(name: &str, content: Content) -> Screened {
    let overrides = Overrides::default();
    let screening = Screening::new(&LIBRARY, &overrides, &[], None, &plan);
    let name = name.to_owned();
    screening.one(Submitted { name, content })
}

fn demo(name: &str) -> Screened {
    let text = std::fs::read_to_string(root().join(name)).expect("a lot of the demo");
    screened(name, Content::Whole(text))
}

/// A few good lines of an archive and a few that can't be read.
fn lines() -> Vec<Screened> {
    let archive = archive::Archive::new(9).take(12);
    let bad = ["{ \"record\": 1", "= HYPERLINK(\"x\")", ""].map(str::to_owned);
    let lines = archive.chain(bad).enumerate();
    lines
        .map(|(at, text)| screened("an archive.jsonl", Content::Line(text, at + 1)))
        .collect()
}

/// The rows of a table as a reader sees them.
fn read(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows = reader
        .records()
        .map(|row| row.expect("a row of as many cells as the header"));
    rows.map(|row| row.iter().map(str::to_owned).collect())
        .collect()
}

fn column(name: &str) -> usize {
    let at = table::COLUMNS.iter().position(|column| *column == name);
    at.expect("a column")
}

#[test]
fn a_table_has_a_row_for_each_finding_and_each_error() {
    let all = lines();
    let text: String = all.iter().map(|one| table::rows(&one.report)).collect();
    let rows = read(&(table::header() + &text));
    let of = |report: &Report| {
        report.findings.iter().flatten().count() + report.errors.iter().flatten().count()
    };
    assert_eq!(
        rows.len(),
        all.iter().map(|one| of(&one.report)).sum::<usize>()
    );
    let (verdict, error) = (column("verdict"), column("error"));
    for row in &rows {
        assert!(row[verdict].is_empty() != row[error].is_empty(), "{row:?}");
    }
    let findings = all
        .iter()
        .flat_map(|one| one.report.findings.iter().flatten());
    let rules: Vec<&String> = findings.map(|finding| &finding.rule).collect();
    let written: Vec<&String> = rows.iter().map(|row| &row[column("rule")]).collect();
    assert_eq!(&written[..rules.len()], rules);
}

/// Cells that begin so are run by spreadsheets: OWASP, CSV Injection
/// (owasp.org/www-community/attacks/CSV_Injection).
const DANGEROUS: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

#[test]
fn no_cell_of_a_table_begins_like_a_formula() {
    let mut cells = 0;
    for beginning in DANGEROUS {
        let evil = format!("{beginning}cmd|' /C calc'!A0, \"x\"\n");
        let mut report = demo("demo/velder_mills/lot_07.yaml").report;
        report.lot = Some(evil.clone());
        report.record = evil.clone();
        let findings = report.findings.as_mut().expect("findings");
        findings[0].measured = Some(evil.clone());
        findings[0].title = evil.clone();
        let rows = read(&(table::header() + &table::rows(&report)));
        assert_eq!(rows[0][column("lot")], format!("'{evil}"));
        assert_eq!(rows[0][column("record")], format!("'{evil}"));
        assert_eq!(rows[0][column("measured")], format!("'{evil}"));
        assert_eq!(rows[0][column("title")], format!("'{evil}"));
        for cell in rows.iter().flatten() {
            assert!(!cell.starts_with(DANGEROUS), "{cell:?}");
            cells += 1;
        }
    }
    assert!(cells > 1000);
}

#[test]
fn a_lot_named_like_a_formula_comes_through_the_whole_way_without_harm() {
    let text = std::fs::read_to_string(root().join("demo/velder_mills/lot_07.yaml"));
    let text = text.expect("a lot").replace("lot: VM-07", "lot: '=1+1'");
    let report = screened("lot.yaml", Content::Whole(text)).report;
    assert_eq!(report.lot.as_deref(), Some("=1+1"));
    let rows = read(&(table::header() + &table::rows(&report)));
    assert!(rows.iter().all(|row| row[column("lot")] == "'=1+1"));
}

fn document(all: &[Screened]) -> Value {
    let results = all.iter().map(|one| sarif::results(&one.report));
    let results: Vec<String> = results.filter(|text| !text.is_empty()).collect();
    let text =
        sarif::before(&LIBRARY.library, &LIBRARY.digest) + &results.join(",") + sarif::after();
    serde_json::from_str(&text).expect("JSON")
}

/// The schema as OASIS published it, from a package that ships it: `tests/reference/README.md`.
fn sarif_schema() -> jsonschema::Validator {
    let text = include_str!("reference/sarif/sarif-schema-2.1.0.json");
    let mut schema: Value = serde_json::from_str(text).expect("JSON");
    // ECMA-262, whose expressions a schema's are, takes a lone bracket for itself; the reader of
    // expressions here wants it escaped.
    for of in ["run", "toolComponent"] {
        let language = &mut schema["definitions"][of]["properties"]["language"]["pattern"];
        assert_eq!(language, "^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}]?$");
        *language = r"^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}\]?$".into();
    }
    jsonschema::draft7::new(&schema).expect("a schema")
}

#[test]
fn sarif_follows_the_published_schema() {
    let schema = sarif_schema();
    let demos = [
        "velder_mills/lot_03",
        "velder_mills/lot_07",
        "quern_landing/lot_01",
    ];
    let demos = demos.map(|name| demo(&format!("demo/{name}.yaml")));
    for all in [demos.to_vec(), lines(), Vec::new()] {
        let document = document(&all);
        let mistakes: Vec<String> = schema
            .iter_errors(&document)
            .map(|mistake| format!("{}: {mistake}", mistake.instance_path()))
            .collect();
        assert!(mistakes.is_empty(), "{mistakes:#?}");
    }
    let mut wrong = document(&lines());
    wrong["runs"][0]["results"][0]["level"] = "grave".into();
    assert!(
        !schema.is_valid(&wrong),
        "the schema tells right from wrong"
    );
}

#[test]
fn a_result_points_at_the_line_of_the_record() {
    let name = "demo/velder_mills/lot_07.yaml";
    let document = document(&[demo(name)]);
    let results = document["runs"][0]["results"].as_array().expect("results");
    let short: Vec<&Value> = results.iter().filter(|one| one["kind"] == "fail").collect();
    assert_eq!(short.len(), 2);
    let cover = short
        .iter()
        .find(|one| one["ruleId"] == "cable_burial.cover");
    let place = &cover.expect("the cover")["locations"][0]["physicalLocation"];
    assert_eq!(place["artifactLocation"]["uri"], name);
    let text = std::fs::read_to_string(root().join(name)).expect("a lot");
    let line = place["region"]["startLine"].as_u64().expect("a line");
    let column = place["region"]["startColumn"].as_u64().expect("a column");
    let line = text.lines().nth(line as usize - 1).expect("that line");
    assert!(
        line[column as usize - 1..].starts_with("24 1/2 in"),
        "{line}"
    );
    let rules = document["runs"][0]["tool"]["driver"]["rules"]
        .as_array()
        .expect("rules");
    for result in results {
        assert!(rules.iter().any(|rule| rule["id"] == result["ruleId"]));
    }
}

#[test]
fn a_line_of_a_stream_is_the_line_that_its_results_point_at() {
    let all = lines();
    let document = document(&all);
    let results = document["runs"][0]["results"].as_array().expect("results");
    let unreadable = results
        .iter()
        .filter(|one| one["ruleId"] == "record.unreadable");
    let lines: Vec<u64> = unreadable
        .map(|one| &one["locations"][0]["physicalLocation"])
        .inspect(|place| assert_eq!(place["artifactLocation"]["uri"], "an%20archive.jsonl"))
        .filter_map(|place| place["region"]["startLine"].as_u64())
        .collect();
    assert!(lines.ends_with(&[13, 14, 15]), "{lines:?}");
}

#[test]
fn findings_lie_on_the_map_where_the_plan_shows_their_subject() {
    let name = "demo/quern_landing/lot_01.yaml";
    let one = demo(name);
    let text = map::before() + &map::features(&one) + map::after();
    let collection: FeatureCollection = text.parse().expect("GeoJSON");
    let (_, plan) = plan(name, "lot_01.geojson").expect("a plan");
    let plan: FeatureCollection = plan.parse().expect("a plan is GeoJSON");
    assert!(
        collection.features.len() > 30,
        "{}",
        collection.features.len()
    );
    let findings = one.report.findings.as_ref().expect("findings");
    let mut shown = collection.features.iter();
    for finding in findings {
        let ids = finding
            .subject
            .iter()
            .rev()
            .filter_map(|subject| subject.id.as_deref());
        let drawn = |id: &str| {
            let of = |feature: &&geojson::Feature| {
                feature.property("id").and_then(Value::as_str) == Some(id)
            };
            plan.features.iter().find(of)
        };
        let Some(drawn) = ids.filter_map(drawn).next() else {
            continue;
        };
        let feature = shown
            .next()
            .expect("a feature for each finding with a place");
        assert_eq!(
            feature.property("rule").and_then(Value::as_str),
            Some(&*finding.rule)
        );
        let verdict = feature.property("verdict").and_then(Value::as_str);
        assert_eq!(verdict, Some(finding.verdict.name()));
        let value = |feature: &geojson::Feature| -> GeometryValue {
            feature.geometry.as_ref().expect("a geometry").value.clone()
        };
        assert_eq!(value(feature), value(drawn), "{}", finding.rule);
    }
    assert!(shown.next().is_none());
}

#[test]
fn a_record_without_a_plan_has_nothing_on_the_map() {
    let one = demo("demo/velder_mills/lot_07.yaml");
    assert_eq!(map::features(&one), "");
    let text = map::before() + map::after();
    let collection: FeatureCollection = text.parse().expect("GeoJSON");
    assert!(collection.features.is_empty());
}
