//! Findings as a table: a header, then a row a finding. The only file of the reporting side that
//! speaks `csv`.
//!
//! Records come from strangers and tables are opened in spreadsheets, which run a cell that
//! begins like a formula. Such a cell gets a quote before it (OWASP, CSV Injection).

use csv::{Writer, WriterBuilder};

use super::terminal::subject_words;
use crate::finding::{Finding, Report, ReportedError};

/// What stands above the columns.
pub const COLUMNS: [&str; 24] = [
    "record",
    "line",
    "cell",
    "lot",
    "places",
    "stage",
    "rule",
    "title",
    "obligation",
    "verdict",
    "due",
    "subject",
    "measured",
    "limit",
    "margin",
    "hazard",
    "hold",
    "missing",
    "clauses",
    "in_force_on",
    "remedy",
    "hazard_caution",
    "caution",
    "error",
];

/// The header.
pub fn header() -> String {
    written(|writer| writer.write_record(COLUMNS))
}

/// A row a finding; of a record that can't be read, a row an error.
pub fn rows(report: &Report) -> String {
    written(|writer| {
        for finding in report.findings.iter().flatten() {
            write(writer, report, &of_finding(report, finding))?;
        }
        for error in report.errors.iter().flatten() {
            write(writer, report, &of_error(error))?;
        }
        Ok(())
    })
}

/// The cells that say where a row belongs, before those that differ.
struct Cells {
    line: Option<usize>,
    cell: Option<String>,
    rest: [String; 18],
}

fn of_finding(report: &Report, finding: &Finding) -> Cells {
    let place = finding.places.first();
    let said = |text: &Option<String>| text.clone().unwrap_or_default();
    let missing = finding.missing.iter().map(|missing| missing.what.as_str());
    let clauses = finding.clauses.iter();
    let clauses = clauses.map(|clause| format!("{} {}", clause.document, clause.section));
    Cells {
        line: place.map(|place| place.line).or(report.line),
        cell: place.and_then(|place| place.cell.clone()),
        rest: [
            finding.rule.clone(),
            finding.title.clone(),
            finding.obligation.words().to_owned(),
            finding.verdict.name().to_owned(),
            finding.due.name().to_owned(),
            subject_words(&finding.subject),
            said(&finding.measured),
            said(&finding.limit),
            said(&finding.margin),
            said(&finding.hazard),
            finding.hold.clone(),
            missing.collect::<Vec<_>>().join("; "),
            clauses.collect::<Vec<_>>().join("; "),
            said(&finding.in_force_on),
            finding.remedy.clone(),
            said(&finding.hazard_caution),
            finding.caution.clone(),
            String::new(),
        ],
    }
}

fn of_error(error: &ReportedError) -> Cells {
    let mut rest: [String; 18] = Default::default();
    let help = error.help.as_ref().map(|help| format!(" ({help})"));
    rest[17] = format!("{}{}", error.message, help.unwrap_or_default());
    Cells {
        line: error.line,
        cell: error.cell.clone(),
        rest,
    }
}

fn write(writer: &mut Writer<Vec<u8>>, report: &Report, cells: &Cells) -> csv::Result<()> {
    let line = cells.line.map(|line| line.to_string());
    let head = [
        report.record.clone(),
        line.unwrap_or_default(),
        cells.cell.clone().unwrap_or_default(),
        report.lot.clone().unwrap_or_default(),
        report.places.join(" "),
        report.stage.clone().unwrap_or_default(),
    ];
    writer.write_record(head.iter().chain(&cells.rest).map(|cell| harmless(cell)))
}

/// A cell that no spreadsheet takes for a formula. A negative margin, `-5 3/4 in`, is our own and
/// yet gets its quote: what matters is how a cell begins, not whose it is.
fn harmless(cell: &str) -> String {
    match cell.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        true => format!("'{cell}"),
        false => cell.to_owned(),
    }
}

fn written(write: impl FnOnce(&mut Writer<Vec<u8>>) -> csv::Result<()>) -> String {
    let mut writer = WriterBuilder::new().from_writer(Vec::new());
    write(&mut writer).expect("memory takes what is written to it");
    let bytes = writer
        .into_inner()
        .expect("memory takes what is written to it");
    String::from_utf8(bytes).expect("texts were written")
}
