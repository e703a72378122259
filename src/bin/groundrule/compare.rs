//! `compare ONE TWO`: what differs between two places, dates or rulesets, or two records of a lot.

use std::path::{Path, PathBuf};

use groundrule::check::typed::{PlaceId, TopicId};
use groundrule::compare::{
    Change, RecordComparison, Side, compare_findings, compare_rules, records_of_one_lot,
};
use groundrule::finding::Report;
use groundrule::layers::{self, Dates, InForce};
use groundrule::library::Opened;
use groundrule::quantity::{Rational, date};
use groundrule::record::Overrides;
use groundrule::report::{comparison, mistakes, terminal::Style};
use groundrule::screen::{Content, Screening, Submitted};
use groundrule::source::Sources;
use serde::Serialize;

use crate::args::{Compare, TextOrJson};
use crate::input::{self, Failure};
use crate::output;

/// Nothing differs.
const SAME: u8 = 0;
/// Something differs.
const DIFFERS: u8 = 1;
/// Some record could not be judged on both sides.
const UNREADABLE: u8 = 2;

/// What `--as json` writes.
#[derive(Serialize)]
struct Compared<'a> {
    before: &'a str,
    after: &'a str,
    changes: &'a [Change],
    records: &'a [RecordComparison],
}

/// Tells what differs; the exit status says whether anything does.
pub fn run(compare: &Compare) -> Result<u8, Failure> {
    let form = compare.text_or_json()?;
    match of_records(compare) {
        Some((one, other)) => two_records(compare, form, one, other),
        None => two_sides(compare, form),
    }
}

/// Two files, where both arguments are files.
fn of_records(compare: &Compare) -> Option<(&Path, &Path)> {
    match compare.sides.as_slice() {
        [one, other] if Path::new(one).is_file() && Path::new(other).is_file() => {
            Some((Path::new(one), Path::new(other)))
        }
        _ => None,
    }
}

fn two_records(
    compare: &Compare,
    form: TextOrJson,
    one: &Path,
    other: &Path,
) -> Result<u8, Failure> {
    let opened = input::library_of(compare.library.first().map(PathBuf::as_path))?;
    let as_written = Overrides::default();
    let screening = Screening::new(&opened, &as_written, &[], None, &input::plan);
    let before = report(&screening, &submitted(one)?)?;
    let after = report(&screening, &submitted(other)?)?;
    if before.lot != after.lot {
        return Err(Failure::Option {
            what: format!(
                "{} is of lot {}, {} of lot {}",
                one.display(),
                before.lot.unwrap_or_default(),
                other.display(),
                after.lot.unwrap_or_default()
            ),
            mend: "name two records of one lot, the earlier first".to_owned(),
        });
    }
    let compared = records_of_one_lot(&before, &after);
    let differs = compared
        .changes
        .iter()
        .any(|change| change.before != change.after);
    let text = match form {
        TextOrJson::Text => comparison::records(&before.record, &compared, style(compare)),
        TextOrJson::Json => line(&Compared {
            before: &before.record,
            after: &after.record,
            changes: &[],
            records: std::slice::from_ref(&compared),
        }),
    };
    output::write(&text, compare.to.as_deref())?;
    Ok(if differs { DIFFERS } else { SAME })
}

/// One side as it was asked for.
struct Asked<'a> {
    opened: &'a Opened,
    place: Option<PlaceId>,
    on: Rational,
    /// The date in place of the records' permits', where one was given.
    given: Option<Rational>,
}

impl Asked<'_> {
    fn words(&self, library: Option<&Path>) -> String {
        let place = match self.place {
            Some(place) => self.opened.library.places[place.index()].path.as_str(),
            None => "the model",
        };
        let library = library.map_or(String::new(), |library| {
            format!(" of {}", library.display())
        });
        format!("{place}{library}, permits of {}", date::show(self.on))
    }

    fn in_force(&self) -> Result<InForce, Failure> {
        let library = &self.opened.library;
        match self.place {
            Some(place) => layers::in_force(library, &[place], &Dates::all_on(self.on))
                .map_err(|errors| Failure::Rendered(input::told(&errors))),
            None => {
                let is_model = |topic: TopicId| library.topics[topic.index()].home.is_none();
                Ok(layers::as_written(
                    library,
                    is_model,
                    Some(self.on),
                    self.on,
                ))
            }
        }
    }

    fn overrides(&self) -> Overrides {
        let place = self
            .place
            .map(|place| self.opened.library.places[place.index()].path.clone());
        Overrides {
            places: place.into_iter().collect(),
            on: self.given,
            at: None,
        }
    }
}

fn two_sides(compare: &Compare, form: TextOrJson) -> Result<u8, Failure> {
    let given_twice = [compare.sides.len(), compare.on.len(), compare.library.len()];
    if given_twice.iter().all(|given| *given < 2) {
        return Err(Failure::Option {
            what: "nothing to compare: no place, `--on` or `--library` is given twice".to_owned(),
            mend: "give two places, `--on` twice, `--library` twice, or two records of a lot; what is given once counts for both sides".to_owned(),
        });
    }
    if given_twice.iter().any(|given| *given > 2) {
        return Err(Failure::Option {
            what: "more than two sides".to_owned(),
            mend: "give each place, `--on` and `--library` twice at the most".to_owned(),
        });
    }
    let first = input::library_of(compare.library.first().map(PathBuf::as_path))?;
    let second = match compare.library.get(1) {
        Some(library) => Some(input::library_of(Some(library))?),
        None => None,
    };
    let (one, other) = (
        asked(compare, &first, 0)?,
        asked(compare, second.as_ref().unwrap_or(&first), 1)?,
    );
    let (before, after) = (one.in_force()?, other.in_force()?);
    let changes = compare_rules(
        Side {
            opened: one.opened,
            in_force: &before,
        },
        Side {
            opened: other.opened,
            in_force: &after,
        },
    );
    let records = records(compare, &one, &other)?;
    let words = (
        one.words(compare.library.first().map(PathBuf::as_path)),
        other.words(nth(&compare.library, 1).map(PathBuf::as_path)),
    );
    let text = match form {
        TextOrJson::Text => {
            comparison::comparison(&words.0, &words.1, &changes, &records, style(compare))
        }
        TextOrJson::Json => line(&Compared {
            before: &words.0,
            after: &words.1,
            changes: &changes,
            records: &records,
        }),
    };
    output::write(&text, compare.to.as_deref())?;
    let is_unread = records.iter().any(|record| !record.errors.is_empty());
    let turned = records.iter().any(|record| !record.changes.is_empty());
    Ok(match (is_unread, changes.is_empty() && !turned) {
        (true, _) => UNREADABLE,
        (false, true) => SAME,
        (false, false) => DIFFERS,
    })
}

/// What stands on one side: the second where there is one, else the only one.
fn nth<T>(given: &[T], side: usize) -> Option<&T> {
    given.get(side).or_else(|| given.first())
}

fn asked<'a>(compare: &Compare, opened: &'a Opened, side: usize) -> Result<Asked<'a>, Failure> {
    let place = match nth(&compare.sides, side) {
        Some(path) => Some(input::place(opened, path)?),
        None => None,
    };
    let given = match nth(&compare.on, side) {
        Some(text) => Some(input::date_option("--on", text)?),
        None => None,
    };
    Ok(Asked {
        opened,
        place,
        on: given.unwrap_or_else(input::today),
        given,
    })
}

/// The records of `--records`, judged on both sides.
fn records(
    compare: &Compare,
    one: &Asked<'_>,
    other: &Asked<'_>,
) -> Result<Vec<RecordComparison>, Failure> {
    // Each side chooses its rules once for all records that go by them.
    let (of_one, of_other) = (one.overrides(), other.overrides());
    let before = Screening::new(one.opened, &of_one, &[], None, &input::plan);
    let after = Screening::new(other.opened, &of_other, &[], None, &input::plan);
    let mut compared = Vec::new();
    for path in input::record_files(&compare.records)? {
        let found = match submitted(&path) {
            Ok(record) => on_both_sides(&before, &after, &record),
            Err(failure) => unread(&path.to_string_lossy(), vec![failure.to_string()]),
        };
        if !found.changes.is_empty() || !found.errors.is_empty() {
            compared.push(found);
        }
    }
    Ok(compared)
}

fn on_both_sides(
    before: &Screening<'_>,
    after: &Screening<'_>,
    record: &Submitted,
) -> RecordComparison {
    match (report(before, record), report(after, record)) {
        (Ok(before), Ok(after)) => compare_findings(&before, &after),
        (before, after) => {
            let failures = [before.err(), after.err()].into_iter().flatten();
            let mut errors: Vec<String> = failures.map(|failure| failure.to_string()).collect();
            // Once where it is the same on both sides.
            errors.dedup();
            unread(&record.name, errors)
        }
    }
}

/// A record that was not judged on some side.
fn unread(name: &str, errors: Vec<String>) -> RecordComparison {
    RecordComparison {
        record: name.replace('\\', "/"),
        lot: None,
        changes: Vec::new(),
        same: 0,
        errors,
    }
}

/// The text of a record.
fn submitted(path: &Path) -> Result<Submitted, Failure> {
    let (name, content) = input::record(path)?;
    let content = Content::Whole(content);
    Ok(Submitted { name, content })
}

fn report(screening: &Screening<'_>, record: &Submitted) -> Result<Report, Failure> {
    let mut sources = Sources::default();
    let judged = screening.judged(&mut sources, record).map_err(|problems| {
        // One of many: told plain, where it can stand in a list.
        Failure::Rendered(mistakes::render(&sources, problems, false, output::width()))
    })?;
    Ok(judged.report)
}

fn style(compare: &Compare) -> Style {
    Style {
        colour: output::stdout_has_colour(compare.to.as_deref()),
        width: output::width(),
    }
}

fn line(compared: &Compared<'_>) -> String {
    let line = serde_json::to_string(compared);
    line.expect("a comparison holds only what JSON can say") + "\n"
}
