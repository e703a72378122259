//! A table with its mapping sheet says what records say: the same facts give the same findings,
//! each with its row and column, and what a cell lacks is absent.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::LazyLock;

use groundrule::finding::{Finding, Report, Verdict};
use groundrule::library::{Opened, embedded, open};
use groundrule::record::Overrides;
use groundrule::record::error::Mistakes;
use groundrule::record::table::{self, Rows, SheetError};
use groundrule::record::tree::{Node, NodeKind};
use groundrule::record::yaml;
use groundrule::screen::{
    Content, Gist, Screened, Screening, SheetText, Submitted, Summary, SummarySetting,
};
use groundrule::source::{Located, Sources};
use serde_json::{Map, Value, json};

mod lots;

use lots::demo_lots;

static LIBRARY: LazyLock<Opened> = LazyLock::new(|| open(&embedded()).expect("the library opens"));

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn read_sheet(text: &str) -> Result<SheetText, Vec<Located<SheetError>>> {
    let mut sources = Sources::default();
    let id = sources.add("cards.sheet", text);
    let sheet = table::read(&LIBRARY.library.vocabulary, &sources, id)?;
    let source = sources.get(id).clone();
    Ok(SheetText { sheet, source })
}

fn sheet(text: &str) -> SheetText {
    read_sheet(text).unwrap_or_else(|errors| panic!("{}", errors[0].error))
}

/// A plan of the demo, beside the record.
fn plan(record: &str, file: &str) -> Result<(String, String), String> {
    let path = Path::new(record).with_file_name(file);
    let text = std::fs::read_to_string(root().join(&path)).map_err(|error| error.to_string())?;
    Ok((path.display().to_string(), text))
}

/// What is found in each row of a table.
fn screened(name: &str, text: &str, sheet: &SheetText) -> Vec<Report> {
    let overrides = Overrides::default();
    let screening = Screening::new(&LIBRARY, &overrides, &[], Some(sheet), &plan);
    let rows =
        Rows::new(text.as_bytes(), &sheet.sheet).unwrap_or_else(|errors| panic!("{}", errors[0]));
    rows.map(|row| {
        let content = Content::Row(row.expect("a row"));
        let name = name.to_owned();
        screening.one(Submitted { name, content }).report
    })
    .collect()
}

/// What is found in a record of the demo.
fn judged(name: &str, text: &str) -> Report {
    let overrides = Overrides::default();
    let screening = Screening::new(&LIBRARY, &overrides, &[], None, &plan);
    let content = Content::Whole(text.to_owned());
    let name = name.to_owned();
    screening.one(Submitted { name, content }).report
}

/// A record taken apart: what stays in the sheet, and a column for every plain value.
#[derive(Default)]
struct Apart {
    columns: Vec<(String, String)>,
}

/// Parts of the head that hold for a whole table.
const SHARED: [&str; 5] = ["record", "place", "tolerances", "plan", "variances"];

impl Apart {
    fn mapping(&mut self, path: &str, node: &Node) -> Value {
        let mut left = Map::new();
        for entry in node.entries().expect("a mapping") {
            let key = &entry.key.value;
            let path = match path {
                "" => key.to_string(),
                path => format!("{path}.{key}"),
            };
            let is_shared = SHARED.contains(&path.as_str());
            match &entry.value.kind {
                NodeKind::Scalar(scalar) if !is_shared => {
                    self.columns.push((path, scalar.text.to_string()));
                }
                NodeKind::Mapping(_) if !is_shared && entry.value.get("reads").is_none() => {
                    left.insert(key.to_string(), self.mapping(&path, &entry.value));
                }
                NodeKind::Sequence(elements) if !is_shared && is_list_of_things(elements) => {
                    let elements = elements.iter().enumerate();
                    let things = elements.map(|(at, element)| match element.entries() {
                        Some(_) => self.mapping(&format!("{path}.{at}"), element),
                        None => whole(element),
                    });
                    let things: Vec<Value> = things.collect();
                    left.insert(key.to_string(), json!(things));
                }
                _ => {
                    left.insert(key.to_string(), whole(&entry.value));
                }
            }
        }
        json!(left)
    }
}

fn is_list_of_things(elements: &[Node]) -> bool {
    elements
        .iter()
        .any(|element| element.entries().is_some() && element.get("reads").is_none())
}

fn whole(node: &Node) -> Value {
    match &node.kind {
        NodeKind::Empty | NodeKind::Unreadable => Value::Null,
        NodeKind::Scalar(scalar) => json!(scalar.text),
        NodeKind::Sequence(elements) => elements.iter().map(whole).collect(),
        NodeKind::Mapping(entries) => {
            let pairs = entries.iter();
            json!(
                pairs
                    .map(|entry| (entry.key.value.to_string(), whole(&entry.value)))
                    .collect::<Map<_, _>>()
            )
        }
    }
}

/// A sheet and a table that together say what a record says.
fn as_table(text: &str) -> (String, String) {
    let mut sources = Sources::default();
    let id = sources.add("record", text);
    let tree = yaml::parse(&sources, id, &mut Mistakes::default()).expect("a record");
    let mut apart = Apart::default();
    let constants = apart.mapping("", &tree);
    let columns = apart.columns.iter();
    let columns: Map<String, Value> = columns
        .map(|(path, _)| (path.clone(), json!({ "to": path })))
        .collect();
    let sheet = json!({ "sheet": "1", "constants": constants, "columns": columns });
    let mut table = csv::Writer::from_writer(Vec::new());
    table
        .write_record(apart.columns.iter().map(|(path, _)| path))
        .expect("a header");
    table
        .write_record(apart.columns.iter().map(|(_, cell)| cell))
        .expect("a row");
    let table = table.into_inner().expect("a table");
    (sheet.to_string(), String::from_utf8(table).expect("UTF-8"))
}

/// Findings without where they stand: that is another place in a table.
fn anywhere(report: Report) -> Vec<Finding> {
    let findings = report.findings.expect("findings").into_iter();
    let without = findings.map(|finding| Finding {
        places: Vec::new(),
        ..finding
    });
    without.collect()
}

#[test]
fn a_lot_written_as_a_row_has_the_findings_of_its_record() {
    for (name, text) in demo_lots() {
        let (sheet_text, table) = as_table(&text);
        let mut rows = screened(&name, &table, &sheet(&sheet_text));
        let row = rows.pop().expect("a row");
        assert!(rows.is_empty());
        assert_eq!(row.errors, None, "{name}");
        assert_eq!(row.line, Some(2));
        let record = judged(&name, &text);
        assert_eq!(row.exit_status, record.exit_status, "{name}");
        assert_eq!(anywhere(row), anywhere(record), "{name}");
    }
}

const SHEET: &str = "
sheet: 1
constants:
  place: aldmoor/sarnfell/velder_mills
  permits: { electrical: { issued: 2026-03-19 } }
  recorded: { date: 2026-04-18 }
  stage: before_cover
  tolerances: { length: 1/4 in, others: exact }
  supply_cables:
    - id: SC-1
      length: 62 ft
      spans: [ { from: 0 ft, to: 62 ft, wiring: direct_burial, location: yard } ]
columns:
  Lot: { to: lot }
  Cover (in): { to: supply_cables.0.spans.0.cover, unit: in }
";

/// The finding on the cover of the cable in each row of a table.
fn covers(sheet_text: &str, table: &str) -> Vec<Finding> {
    let reports = screened("cards.csv", table, &sheet(sheet_text)).into_iter();
    let covers = reports.map(|report| {
        let errors = report.errors;
        let findings = report.findings.unwrap_or_else(|| panic!("{errors:?}"));
        let mut cover = findings
            .into_iter()
            .filter(|one| one.rule == "cable_burial.cover");
        cover.next().expect("a finding on the cover")
    });
    covers.collect()
}

#[test]
fn a_bare_number_takes_the_unit_of_its_column_and_another_keeps_its_own() {
    let table = "Lot,Cover (in)\nA,31\nB,24 1/2\nC,2 ft 7 in\nD,787 mm\nE,31 ± 2\nF,31 +/- 1/2\n";
    let measured: Vec<Option<String>> = covers(SHEET, table)
        .into_iter()
        .map(|finding| finding.measured)
        .collect();
    let expected = [
        "31 in ± 1/4 in",
        "24 1/2 in ± 1/4 in",
        "31 in ± 1/4 in",
        "from 30.7343 in to 31.2343 in",
        "31 in ± 2 in",
        "31 in ± 1/2 in",
    ];
    assert_eq!(measured, expected.map(|text| Some(text.to_owned())));
}

#[test]
fn the_tolerance_of_a_column_counts_where_the_cell_has_none() {
    let sheet = SHEET.replace("unit: in }", "unit: in, tolerance: 2 in }");
    let found = covers(&sheet, "Lot,Cover (in)\nA,31\nB,31 ± 1/2\n");
    assert_eq!(found[0].verdict, Verdict::TooClose);
    assert_eq!(found[1].verdict, Verdict::Meets);
}

#[test]
fn an_empty_cell_is_absent_and_never_zero() {
    let sheet = format!("{SHEET}texts: {{ empty: [ \"-\", \"n/a\" ] }}\n");
    let table = "Lot,Cover (in)\nA,\nB,   \nC,-\nD,N/A\nE,0\n";
    let found = covers(&sheet, table);
    for finding in &found[..4] {
        assert_eq!(finding.verdict, Verdict::NotRecorded);
        assert_eq!(finding.missing[0].path, "supply_cables[0].spans[0].cover");
    }
    assert_eq!(found[4].verdict, Verdict::FallsShort, "zero is a reading");
}

#[test]
fn what_was_only_told_is_no_reading() {
    let sheet = SHEET.replace("unit: in }", "unit: in, how: told }");
    let found = covers(&sheet, "Lot,Cover (in)\nA,36\n");
    assert_eq!(found[0].verdict, Verdict::NotRecorded);
}

#[test]
fn a_finding_says_the_row_and_the_column_and_what_the_sheet_says_for_all_rows() {
    let table = "Lot,Cover (in)\nA,31\n\"B, or\nnot B\",29\n";
    let found = covers(SHEET, table);
    let place = &found[1].places[0];
    assert_eq!(place.cell.as_deref(), Some("row 3, column \"Cover (in)\""));
    assert_eq!((place.line, place.column), (4, 8), "{place:?}");
    let wiring = found[1]
        .places
        .iter()
        .find(|place| place.path.ends_with("wiring"));
    let cell = wiring.and_then(|place| place.cell.as_deref());
    assert_eq!(cell, Some("row 3, by line 12 of cards.sheet"));
}

#[test]
fn a_list_of_which_only_columns_speak_may_hold_more() {
    let sheet = SHEET.replace("columns:\n", "columns:\n  Well: { to: wells.0.kind }\n");
    let reports = screened(
        "cards.csv",
        "Lot,Well,Cover (in)\nA,private_well,31\nB,,31\n",
        &self::sheet(&sheet),
    );
    for report in &reports {
        let claimed = &report.claimed_complete;
        assert!(!claimed.contains(&"wells".to_owned()), "{claimed:?}");
        assert!(
            claimed.contains(&"supply_cables".to_owned()),
            "the sheet says so"
        );
    }
}

#[test]
fn texts_of_the_cards_become_words_of_the_vocabulary() {
    let sheet = SHEET
        .replace(", wiring: direct_burial", "")
        .replace("columns:\n", "columns:\n  How:\n    to: supply_cables.0.spans.0.wiring\n    texts: { direct_burial: [ DB, direct ], pvc_40: Sch 40 }\n");
    let table = "Lot,How,Cover (in)\nA,db,29\nB,Sch  40,29\nC,pvc_80,29\n";
    let verdicts: Vec<Verdict> = covers(&sheet, table)
        .iter()
        .map(|one| one.verdict)
        .collect();
    assert_eq!(
        verdicts,
        [Verdict::FallsShort, Verdict::Meets, Verdict::Meets]
    );
}

/// The first error of each row that has one, with its cell.
fn errors(table: &str) -> Vec<(String, String)> {
    let reports = screened("cards.csv", table, &sheet(SHEET)).into_iter();
    let errors = reports.filter_map(|report| report.errors?.into_iter().next());
    errors
        .map(|error| (error.cell.unwrap_or_default(), error.message))
        .collect()
}

#[test]
fn a_cell_that_cannot_be_read_is_told_by_row_and_column_and_the_next_row_is_read() {
    let table = "Lot,Cover (in)\nA,31\nB,three feet\nC,31 lb\nD,29\n,30\n";
    let told = errors(table);
    let cells: Vec<&str> = told.iter().map(|(cell, _)| cell.as_str()).collect();
    assert_eq!(
        cells,
        [
            "row 3, column \"Cover (in)\"",
            "row 4, column \"Cover (in)\"",
            "row 6, column \"Lot\""
        ],
        "{told:?}"
    );
    assert!(
        told[2].1.contains("`lot`"),
        "an empty cell is a head that lacks it"
    );
}

#[test]
fn the_header_is_held_against_the_sheet() {
    let sheet = sheet(SHEET);
    let told = |table: &str| -> String {
        match Rows::new(table.as_bytes(), &sheet.sheet) {
            Ok(_) => "no mistake".to_owned(),
            Err(errors) => errors.iter().map(|error| format!("{error}\n")).collect(),
        }
    };
    assert_eq!(told("\u{feff}Lot,Cover (in)\n"), "no mistake");
    insta::assert_snapshot!(
        [
            told(""),
            told("Lot\n"),
            told("Lot,Cover (in),Colour\n"),
            told("Lot,Lot,Cover (in)\n"),
        ]
        .join("--\n"),
        @"
    the table has no header
    --
    the table has no column \"Cover (in)\"
    --
    the mapping sheet says nothing of the column \"Colour\"
    --
    the table has two columns \"Lot\"
    "
    );
}

#[test]
fn a_row_with_too_many_cells_or_no_text_is_one_mistake() {
    let sheet = sheet(SHEET);
    let table = b"Lot,Cover (in)\nA,31,1\nB,\xff\nC,31\n";
    let rows = Rows::new(&table[..], &sheet.sheet).expect("a header");
    let told: Vec<String> = rows
        .map(|row| match row {
            Ok(row) => row.cells.join("|"),
            Err(error) => error.to_string(),
        })
        .collect();
    assert_eq!(
        told,
        [
            "row 2 has 3 cells, expected 2 as in the header",
            "row 3 is not UTF-8 text",
            "C|31"
        ]
    );
}

#[test]
fn a_quote_that_is_never_closed_takes_no_more_than_a_record_may_have() {
    let sheet = sheet(SHEET);
    let endless = std::io::Read::chain(&b"Lot,Cover (in)\nA,\""[..], std::io::repeat(b'x'));
    let rows = Rows::new(endless, &sheet.sheet).expect("a header");
    let told: Vec<String> = rows
        .map(|row| row.expect_err("it is too long").to_string())
        .collect();
    assert_eq!(told, ["row 2 is longer than a record can be (8 MiB)"]);
}

#[test]
fn every_mistake_of_a_sheet_is_told_with_its_mend() {
    let text = "
sheet: 1
constants:
  lot: VM-1
  supply_cables: [ { id: SC-1 } ]
colums: {}
columns:
  Lot: { to: lot }
  Cable: { to: supply_cables.0.id }
  Cover: { to: supply_cables.0.spans.0.cove, unit: in }
  Depth: { to: supply_cables.0.spans.0.cover, unit: V, tolerance: 1 }
  Again: { to: supply_cables.0.spans.0.cover, unti: in }
  Fastened: { to: stations.0.lid_fastened, unit: in, how: guessed, texts: { maybe: [ x ] } }
  Bracket: { to: 'stations[0].serves' }
  Site: { to: frost_depth }
  Number: 17
  Nowhere: {}
asked: [ stations.lid_fastend, site.frost_depth ]
";
    let errors = read_sheet(text).expect_err("mistakes");
    let mut told: Vec<String> = errors
        .iter()
        .map(|located| {
            let help = miette::Diagnostic::help(&located.error).map(|help| help.to_string());
            format!("{}\n    {}", located.error, help.unwrap_or_default())
        })
        .collect();
    told.dedup();
    insta::assert_snapshot!(told.join("\n"));
}

/// What a table says by the sheet of these tests, in all.
fn summed_up(table: &str, setting: &SummarySetting) -> Summary {
    let mut summary = Summary::new(setting.clone());
    for report in screened("cards.csv", table, &sheet(SHEET)) {
        let screened = Screened {
            asked: report.counts,
            report,
            recorded: None,
            places: BTreeMap::new(),
            plan: None,
        };
        summary.add(Gist::of(&screened, setting));
    }
    summary
}

#[test]
fn what_the_cards_never_asked_is_told_apart_from_what_a_card_lacks() {
    let table = "Lot,Cover (in)\nA,\nB,29\n";
    let sum_up = |asked: Option<Vec<String>>| -> Summary {
        let setting = SummarySetting {
            most: 50,
            near: None,
            asked,
        };
        summed_up(table, &setting)
    };
    let asked = sheet(SHEET).sheet.asked.expect("what its columns say");
    assert!(
        asked.contains(&"supply_cables.spans.cover".to_owned()),
        "{asked:?}"
    );
    assert!(
        asked.contains(&"supply_cables.spans.wiring".to_owned()),
        "{asked:?}"
    );
    let told = sum_up(Some(asked));
    let cover = &told.lacking["supply_cables.spans.cover"];
    assert_eq!(
        (cover.records, cover.first.as_slice()),
        (1, &["cards.csv:2".to_owned()][..])
    );
    assert!(!told.lacking.contains_key("excavations"));
    assert_eq!(told.never_asked["excavations"], 2);
    let count = &told.rules["cable_burial.cover"];
    assert_eq!(
        (count.falls_short, count.undecided, count.never_asked),
        (1, 1, 0)
    );
    assert_eq!(told.worst.len(), 1);
    assert_eq!(told.worst[0].record, "cards.csv:3");
    let untold = sum_up(None);
    assert!(untold.never_asked.is_empty());
    assert_eq!(untold.lacking["excavations"].records, 2);
    let only_excavations = "sheet: 1\nasked: [ excavations ]\n";
    let own = sheet(only_excavations).sheet.asked;
    assert_eq!(sum_up(own).lacking["excavations"].records, 2);
}

#[test]
fn near_misses_are_those_met_by_less_than_the_share_the_nearest_first() {
    let table = "Lot,Cover (in)\nA,30\nB,36\nC,31\nD,30 1/2\nE,29\n";
    let setting = SummarySetting {
        most: 2,
        near: Some(0.05),
        asked: None,
    };
    let summary = summed_up(table, &setting);
    // 30 in is asked: of the least 30 1/4 and 30 3/4 that the tolerance leaves, 1/4 and 3/4 are over.
    let near: Vec<(&str, f64)> = summary
        .near
        .iter()
        .map(|near| (near.record.as_str(), (near.share * 1000.0).round() / 1000.0))
        .collect();
    assert_eq!(near, [("cards.csv:5", 0.008), ("cards.csv:4", 0.025)]);
    assert_eq!(summary.near_count, 2);
}
