//! `check RECORD…`: records in, findings out, the gravest exit status of all.

use groundrule::finding::{Counts, Report, ReportedError, STANDING};
use groundrule::judge::{self, Judged, SCHEMA};
use groundrule::library::{Opened, Problem, text_digest};
use groundrule::record::plan::PlanError;
use groundrule::record::{self, Overrides, Record};
use groundrule::report::{json, mistakes, terminal};
use groundrule::source::{Located, Sources};

use crate::args::{Check, TextOrJson};
use crate::input::{self, Failure};
use crate::output;

/// Judges every record, whatever the others are.
pub fn run(check: &Check) -> Result<u8, Failure> {
    let opened = input::library(&check.common)?;
    let overrides = input::overrides(&check.common, &opened)?;
    let stood_in = input::stood_in(&check.common);
    let colour = output::stdout_has_colour(check.common.listing.to.as_deref());
    let style = terminal::Style {
        colour,
        width: output::width(),
    };
    let form = check.common.listing.text_or_json()?;
    let mut text = String::new();
    let mut gravest = 0;
    for path in &check.records {
        let (name, content) = match input::record(path) {
            Ok(read) => read,
            Err(failure) => {
                gravest = graver(gravest, 2);
                match form {
                    TextOrJson::Text => output::complain(&failure.to_string()),
                    TextOrJson::Json => {
                        let error = ReportedError {
                            code: "record::unreadable".to_owned(),
                            message: failure.to_string(),
                            help: None,
                            line: None,
                            column: None,
                            cell: None,
                        };
                        let name = path.to_string_lossy();
                        let report = unread(&opened, &name, "", vec![error]);
                        text.push_str(&json::line(&report));
                        text.push('\n');
                    }
                }
                continue;
            }
        };
        let mut sources = Sources::default();
        match judged(&opened, &mut sources, &name, &content, &overrides) {
            Ok(mut judged) => {
                judged.report.stood_in.clone_from(&stood_in);
                gravest = graver(gravest, judged.report.exit_status);
                match form {
                    TextOrJson::Text => {
                        text.push_str(&terminal::report(&judged.report, &content, style));
                    }
                    TextOrJson::Json => {
                        text.push_str(&json::line(&judged.report));
                        text.push('\n');
                    }
                }
            }
            Err(problems) => {
                gravest = graver(gravest, 2);
                match form {
                    TextOrJson::Text => output::complain(&mistakes::render(
                        &sources,
                        problems,
                        output::stderr_has_colour(),
                        output::width(),
                    )),
                    TextOrJson::Json => {
                        let errors = problems
                            .iter()
                            .map(|problem| problem.reported(&sources))
                            .collect();
                        let report = unread(&opened, &name, &content, errors);
                        text.push_str(&json::line(&report));
                        text.push('\n');
                    }
                }
            }
        }
    }
    output::write(&text, check.common.listing.to.as_deref())?;
    Ok(gravest)
}

/// Reads and judges one record.
pub fn judged(
    opened: &Opened,
    sources: &mut Sources,
    name: &str,
    content: &str,
    overrides: &Overrides,
) -> Result<Judged, Vec<Problem>> {
    let record = read_record(opened, sources, name, content, overrides)?;
    let id = record.head.lot.span.source;
    judge::report(opened.setting(), record, sources, id)
        .map_err(|errors| errors.into_iter().map(Problem::from).collect())
}

/// Reads one record, and the plan that it names.
pub fn read_record(
    opened: &Opened,
    sources: &mut Sources,
    name: &str,
    content: &str,
    overrides: &Overrides,
) -> Result<Record, Vec<Problem>> {
    let id = sources.add(name, content);
    let record = record::read_with(&opened.library.vocabulary, sources, id, overrides)
        .map_err(|errors| errors.into_iter().map(Problem::from).collect::<Vec<_>>())?;
    with_plan(opened, sources, name, record)
}

/// The record with the places of the plan that it names.
fn with_plan(
    opened: &Opened,
    sources: &mut Sources,
    name: &str,
    record: Record,
) -> Result<Record, Vec<Problem>> {
    let Some(plan) = &record.head.plan else {
        return Ok(record);
    };
    let (file, at) = (plan.file.value.clone(), plan.file.span);
    let (plan_name, text) = input::plan(name, &file).map_err(|reason| {
        let error = PlanError::Unreadable { file, reason, at };
        let source = at.source;
        vec![Problem::from(Located { source, error })]
    })?;
    let id = sources.add(plan_name, text);
    record::plan::attach(&opened.library.vocabulary, record, sources, id)
        .map_err(|errors| errors.into_iter().map(Problem::from).collect())
}

fn unread(opened: &Opened, name: &str, content: &str, errors: Vec<ReportedError>) -> Report {
    Report {
        schema: SCHEMA.to_owned(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        record: name.to_owned(),
        lot: None,
        places: Vec::new(),
        stage: None,
        stood_in: Vec::new(),
        ruleset_digest: opened.digest.clone(),
        record_digest: text_digest(content),
        exit_status: 2,
        counts: Counts::default(),
        claimed_complete: Vec::new(),
        topics_not_in_force: Vec::new(),
        notices: Vec::new(),
        findings: None,
        errors: Some(errors),
        standing: STANDING.to_owned(),
    }
}

/// Of two statuses the graver: 2, 1, 3, 0.
fn graver(a: u8, b: u8) -> u8 {
    let rank = |status| match status {
        2 => 3,
        1 => 2,
        3 => 1,
        _ => 0,
    };
    if rank(b) > rank(a) { b } else { a }
}
