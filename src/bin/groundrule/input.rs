//! Libraries and records from the disk, and what stands in for parts of a record's head.

use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use groundrule::check::typed::PlaceId;
use groundrule::layers::LayerError;
use groundrule::library::{self, Opened, Problem, Texts};
use groundrule::quantity::{Rational, date};
use groundrule::record::Overrides;
use groundrule::report::mistakes;
use groundrule::source::Sources;
use groundrule::vocabulary::HoldId;
use thiserror::Error;

use crate::args::{Common, Listing};
use crate::output;
use crate::ruleset::{self, Trust};
use crate::submit;

/// The largest text that is read, in bytes.
const LARGEST_TEXT: u64 = 8 << 20;
/// The largest record, in bytes.
pub const LARGEST_RECORD: u64 = 8 << 20;

/// What keeps a command from being done.
#[derive(Debug, Error)]
pub enum Failure {
    /// A file that can't be read.
    #[error("can't read {}: {reason}", .file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// Why.
        reason: String,
    },
    /// A library with mistakes; they have been rendered already.
    #[error("{0}")]
    Rendered(String),
    /// An option that means nothing.
    #[error("{what}\n  {mend}")]
    Option {
        /// What is wrong.
        what: String,
        /// The mend.
        mend: String,
    },
    /// A file that can't be written.
    #[error("can't write {}: {reason}", .file.display())]
    Unwritable {
        /// The file.
        file: PathBuf,
        /// Why.
        reason: String,
    },
}

impl Failure {
    /// What is wrong, with the mend that its error knows.
    pub fn refused(what: String, error: &dyn miette::Diagnostic) -> Failure {
        let mend = error.help().map(|help| help.to_string());
        Failure::Option {
            what,
            mend: mend.unwrap_or_default(),
        }
    }
}

/// The library asked for, read and checked.
pub fn library(common: &Common) -> Result<Opened, Failure> {
    library_of_listing(&common.listing)
}

/// The library that a command's options name.
pub fn library_of_listing(listing: &Listing) -> Result<Opened, Failure> {
    let valid_on = match &listing.valid_on {
        None => None,
        Some(text) => Some(date_option("--valid-on", text)?),
    };
    let trust = Trust {
        signers: listing.signers.clone(),
        valid_on,
    };
    match &listing.library {
        Some(file) if file.is_file() => ruleset::opened(file, &trust),
        folder => library_of(folder.as_deref()),
    }
}

/// The library of a folder or of a published ruleset, or the one inside the program.
pub fn library_of(folder: Option<&Path>) -> Result<Opened, Failure> {
    match folder {
        Some(file) if file.is_file() => ruleset::opened(file, &Trust::default()),
        folder => opened(&texts(folder)?),
    }
}

/// A library's texts, checked.
pub fn opened(texts: &Texts) -> Result<Opened, Failure> {
    library::open(texts).map_err(|problems| rendered(&problems.sources, problems.problems))
}

/// Mistakes of texts, as standard error shows them.
pub fn rendered(sources: &Sources, problems: Vec<Problem>) -> Failure {
    Failure::Rendered(mistakes::render(
        sources,
        problems,
        output::stderr_has_colour(),
        output::width(),
    ))
}

/// Mistakes of a call about places, a line each with its mend.
pub fn told(errors: &[LayerError]) -> String {
    let lines = errors.iter().map(|error| {
        let help = miette::Diagnostic::help(error).map(|help| format!("\n  {help}"));
        format!("{error}{}", help.unwrap_or_default())
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// The place of a path given in the call.
pub fn place(opened: &Opened, path: &str) -> Result<PlaceId, Failure> {
    opened.library.place_named(path).ok_or_else(|| {
        let places = opened.library.places.iter();
        let known: Vec<&str> = places.map(|place| place.path.as_str()).collect();
        Failure::Option {
            what: format!("no place `{path}` in this library"),
            mend: format!("its places: {}", known.join(", ")),
        }
    })
}

/// The name most like the one given, of those that there are.
pub fn nearest<'a>(name: &str, known: &[&'a str]) -> Option<&'a str> {
    let known = known.iter().copied();
    known.min_by_key(|known| strsim::damerau_levenshtein(known, name))
}

/// Today, canonical in seconds.
pub fn today() -> Rational {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    let days = since.map_or(0, |since| since.as_secs() / 86_400);
    Rational::from_integer(i64::try_from(days).unwrap_or(0) * 86_400)
}

/// The hold point given as `--at`.
pub fn hold(opened: &Opened, at: Option<&str>) -> Result<Option<HoldId>, Failure> {
    let Some(name) = at else {
        return Ok(None);
    };
    let vocabulary = &opened.library.vocabulary;
    match vocabulary.hold(name) {
        Some(hold) => Ok(Some(hold)),
        None => {
            let holds = vocabulary.holds.iter();
            let known: Vec<&str> = holds.map(|hold| hold.name.as_str()).collect();
            Err(Failure::Option {
                what: format!("--at {name}: not a hold point"),
                mend: format!("the hold points, in order: {}", known.join(", ")),
            })
        }
    }
}

/// The texts of a folder's library, or of the one inside the program.
pub fn texts(folder: Option<&Path>) -> Result<Texts, Failure> {
    match folder {
        None => Ok(library::embedded()),
        Some(folder) => library::read_folder(folder)
            .map_err(|failure| Failure::refused(failure.to_string(), &failure)),
    }
}

/// What stands in for parts of a record's head.
pub fn overrides(common: &Common, opened: &Opened) -> Result<Overrides, Failure> {
    let on = match &common.on {
        None => None,
        Some(text) => Some(date_option("--on", text)?),
    };
    Ok(Overrides {
        places: common.place.clone(),
        on,
        at: hold(opened, common.at.as_deref())?,
    })
}

/// A date given as an option.
pub fn date_option(option: &str, text: &str) -> Result<Rational, Failure> {
    date::parse(text).ok_or_else(|| Failure::Option {
        what: format!("{option} {text}: not a date"),
        mend: format!("dates are written as year-month-day: {option} 2026-03-19"),
    })
}

/// The date asked for, or today.
pub fn on_or_today(text: Option<&str>) -> Result<Rational, Failure> {
    match text {
        Some(text) => date_option("--on", text),
        None => Ok(today()),
    }
}

/// What was put in place of parts of a record's head, in words.
pub fn stood_in(common: &Common) -> Vec<String> {
    let places = (!common.place.is_empty()).then(|| format!("place: {}", common.place.join(", ")));
    let on = common.on.as_ref().map(|on| format!("permit dates: {on}"));
    let at = common.at.as_ref().map(|at| format!("stage: {at}"));
    places.into_iter().chain(on).chain(at).collect()
}

/// What a record is called that came in no file.
pub const STANDARD_INPUT: &str = "standard input";

/// The text of a record, and the name it is called by.
pub fn record(path: &Path) -> Result<(String, String), Failure> {
    let name = path.to_string_lossy().into_owned();
    let unreadable = |reason: String| Failure::Unreadable {
        file: path.to_owned(),
        reason,
    };
    if name == "-" {
        let text = text(std::io::stdin()).map_err(unreadable)?;
        return Ok((STANDARD_INPUT.to_owned(), text));
    }
    if path.is_dir() {
        return Err(unreadable(
            "it is a folder; name the records in it".to_owned(),
        ));
    }
    let text = file(path).map_err(unreadable)?;
    Ok((name.replace('\\', "/"), text))
}

/// Records, and those in folders, in the order of their names. Links are not followed.
pub fn record_files(paths: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut found = Vec::new();
    for path in paths {
        if !path.is_dir() {
            found.push(path.clone());
            continue;
        }
        for entry in walkdir::WalkDir::new(path).sort_by_file_name() {
            let entry = entry.map_err(|error| Failure::Unreadable {
                file: error.path().unwrap_or(path).to_owned(),
                reason: error.to_string(),
            })?;
            if entry.file_type().is_file() && submit::has_ending(entry.path(), submit::RECORD) {
                found.push(entry.into_path());
            }
        }
    }
    Ok(found)
}

/// The text of the plan that a record names, and the name it is called by; else why it can't be
/// read. The record's reader lets no name through that leads out of its folder.
pub fn plan(record: &str, named: &str) -> Result<(String, String), String> {
    if record == STANDARD_INPUT {
        return Err(
            "the record came from standard input, so that no file lies beside it".to_owned(),
        );
    }
    let path = Path::new(record).with_file_name("").join(named);
    let text = file(&path)?;
    Ok((path.to_string_lossy().replace('\\', "/"), text))
}

/// The text of a rule file.
pub fn rule_file(path: &Path) -> Result<String, Failure> {
    file(path).map_err(|reason| Failure::Unreadable {
        file: path.to_owned(),
        reason,
    })
}

/// The text of a rule file that came in no file, and the name it is called by.
pub fn rules_of_standard_input() -> Result<(String, String), Failure> {
    let read = text(std::io::stdin()).map_err(|reason| Failure::Unreadable {
        file: STANDARD_INPUT.into(),
        reason,
    })?;
    Ok((STANDARD_INPUT.to_owned(), read))
}

fn file(path: &Path) -> Result<String, String> {
    text(std::fs::File::open(path).map_err(|error| error.to_string())?)
}

fn text(source: impl Read) -> Result<String, String> {
    text_within(source, LARGEST_TEXT, "a record or a rule file")
}

/// The text of a file that may not be larger than its kind can be.
pub fn bounded(path: &Path, most: usize, kind: &str) -> Result<String, Failure> {
    std::fs::File::open(path)
        .map_err(|error| error.to_string())
        .and_then(|file| text_within(file, most as u64, kind))
        .map_err(|reason| Failure::Unreadable {
            file: path.to_owned(),
            reason,
        })
}

fn text_within(source: impl Read, most: u64, kind: &str) -> Result<String, String> {
    let mut bytes = Vec::new();
    let read = source.take(most + 1).read_to_end(&mut bytes);
    read.map_err(|error| error.to_string())?;
    if bytes.len() as u64 > most {
        let most = match most >> 20 {
            0 => format!("{} KiB", most >> 10),
            mebibytes => format!("{mebibytes} MiB"),
        };
        return Err(format!("it is larger than {kind} can be ({most})"));
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        format!("it is not UTF-8 text (byte {at}); save it as UTF-8")
    })
}
