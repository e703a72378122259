//! `check RECORD…`: records in, findings out, the gravest exit status of all.

use std::path::Path;

use groundrule::library::Problem;
use groundrule::report::{json, mistakes, terminal};
use groundrule::screen::{Content, Screening, Submitted, graver};
use groundrule::source::Sources;

use crate::args::{Check, TextOrJson};
use crate::input::{self, Failure};
use crate::output;
use crate::submit::{self, TABLE};

/// Judges every record, whatever the others are.
pub fn run(check: &Check) -> Result<u8, Failure> {
    let opened = input::library(&check.common)?;
    let overrides = input::overrides(&check.common, &opened)?;
    let stood_in = input::stood_in(&check.common);
    let sheet = submit::sheet(&opened, check.tables.sheet.as_deref())?;
    let screening = Screening::new(&opened, &overrides, &stood_in, sheet.as_ref(), &input::plan);
    let mut told = Told {
        screening: &screening,
        form: check.common.listing.text_or_json()?,
        style: terminal::Style {
            colour: output::stdout_has_colour(check.common.listing.to.as_deref()),
            width: output::width(),
        },
        text: String::new(),
        gravest: 0,
    };
    for path in &check.records {
        told.path(path);
    }
    output::write(&told.text, check.common.listing.to.as_deref())?;
    Ok(told.gravest)
}

/// What has been said so far.
struct Told<'a> {
    screening: &'a Screening<'a>,
    form: TextOrJson,
    style: terminal::Style,
    text: String,
    gravest: u8,
}

impl Told<'_> {
    fn path(&mut self, path: &Path) {
        let (name, content) = match input::record(path) {
            Ok(read) => read,
            Err(failure) => return self.failure(path, &failure),
        };
        if !submit::has_ending(path, TABLE) {
            let whole = Submitted {
                name,
                content: Content::Whole(content.clone()),
            };
            return self.record(&whole, &content);
        }
        let text = content.as_bytes();
        submit::rows(self.screening.sheet, &name, text, &mut |row| {
            self.record(&row, &content);
            true
        });
    }

    /// Judges a record and shows it beside the text of its file.
    fn record(&mut self, record: &Submitted, file: &str) {
        let mut sources = Sources::default();
        match self.screening.judged(&mut sources, record) {
            Ok(judged) => {
                self.gravest = graver(self.gravest, judged.report.exit_status);
                match self.form {
                    TextOrJson::Text => {
                        let shown = terminal::report(&judged.report, file, self.style);
                        self.text.push_str(&shown);
                    }
                    TextOrJson::Json => self.json(&json::line(&judged.report)),
                }
            }
            Err(problems) => self.problems(record, &sources, problems),
        }
    }

    fn problems(&mut self, record: &Submitted, sources: &Sources, problems: Vec<Problem>) {
        self.gravest = graver(self.gravest, 2);
        match (self.form, &record.content) {
            (TextOrJson::Json, _) => {
                let told = problems.iter().map(|problem| problem.reported(sources));
                let unreadable = match &record.content {
                    Content::Unreadable(error) => Some(error.clone()),
                    Content::Whole(_) | Content::Line(..) | Content::Row(_) => None,
                };
                let errors = told.chain(unreadable).collect();
                self.json(&json::line(&self.screening.unread(record, errors)));
            }
            (TextOrJson::Text, Content::Unreadable(error)) => {
                output::complain(&mistakes::plain(&record.name, error));
            }
            (TextOrJson::Text, Content::Whole(_) | Content::Line(..) | Content::Row(_)) => {
                output::complain(&mistakes::render(
                    sources,
                    problems,
                    output::stderr_has_colour(),
                    output::width(),
                ));
            }
        }
    }

    fn failure(&mut self, path: &Path, failure: &Failure) {
        match self.form {
            TextOrJson::Text => {
                self.gravest = graver(self.gravest, 2);
                output::complain(&failure.to_string());
            }
            TextOrJson::Json => {
                let record = Submitted {
                    name: path.to_string_lossy().into_owned(),
                    content: Content::Unreadable(submit::unreadable(failure.to_string())),
                };
                self.problems(&record, &Sources::default(), Vec::new());
            }
        }
    }

    fn json(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }
}
