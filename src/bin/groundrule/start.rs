//! `start PLACE`: a new place in a library, whole or not at all.

use std::path::{Path, PathBuf};

use groundrule::check::typed::TopicId;
use groundrule::forms::{NewPlace, new_place};
use groundrule::library::{self, Opened, Texts};
use groundrule::quantity::date;

use crate::args::Start;
use crate::input::{self, Failure};
use crate::output;

/// The start of a place's file of cases.
const CASES: &str = "\
# Cases that show what the place's statements do: a case meets, one falls short, one stands at the
# limit. Take the `# ` away and put readings in; `groundrule prove` runs them.
#
# place: PLACE
# head:
#   permits: { electrical: { issued: DATE } }
#   recorded: { by: the clerk, date: DATE }
#   stage: hand_over
#   tolerances: exact
# cases:
#   - case: what it shows
#     record:
#       site: {}
#     expect: { TOPIC.RULE: meets }
";

/// Lays down a place and says what to do next.
pub fn run(start: &Start) -> Result<u8, Failure> {
    let is_new = !start.library.exists();
    let texts = match is_new {
        true => model(),
        false => input::texts(Some(&start.library))?,
    };
    let opened = library::open(&texts)
        .map_err(|problems| input::rendered(&problems.sources, problems.problems))?;
    refuse(start, &opened)?;
    let from = match &start.from {
        Some(text) => input::date_option("--from", text)?,
        None => input::today(),
    };
    let topics = topics(start, &opened)?;
    let from = date::show(from);
    let adoption = start.section.as_deref().zip(start.because.as_deref());
    let place = NewPlace {
        path: &start.place,
        title: &start.title,
        authority: &start.authority,
        contact: &start.contact,
        topics: &topics,
        from: &from,
        adoption,
    };
    let rules = new_place(&opened.library, &place);
    let mut laid = texts.clone();
    let name = format!("jurisdictions/{}/place.rules", start.place);
    laid.0.insert(name.clone(), rules.clone());
    // What is laid down can be read, or nothing is.
    library::open(&laid)
        .map_err(|problems| input::rendered(&problems.sources, problems.problems))?;
    let cases = CASES.replace("PLACE", &start.place).replace("DATE", &from);
    write(start, is_new, &texts, &rules, &cases)?;
    output::write(&next(start, is_new, &name), None)?;
    Ok(0)
}

/// The model without the invented places.
fn model() -> Texts {
    let mut texts = library::embedded();
    texts
        .0
        .retain(|name, _| !name.starts_with("jurisdictions/"));
    texts
}

/// What can't become a place.
fn refuse(start: &Start, opened: &Opened) -> Result<(), Failure> {
    let path = &start.place;
    let is_name = |part: &str| {
        part.starts_with(|first: char| first.is_ascii_lowercase())
            && part
                .chars()
                .all(|other| other.is_ascii_lowercase() || other.is_ascii_digit() || other == '_')
    };
    if !path.split('/').all(is_name) {
        return Err(Failure::Option {
            what: format!("`{path}` can't be the path of a place"),
            mend: "write names of small letters, digits and `_`, the outer place first: state/county/town".to_owned(),
        });
    }
    if opened.library.place_named(path).is_some() {
        return Err(Failure::Option {
            what: format!(
                "there is a place `{path}` in {} already",
                start.library.display()
            ),
            mend: format!("edit jurisdictions/{path}/place.rules"),
        });
    }
    if let Some((parent, _)) = path.rsplit_once('/')
        && opened.library.place_named(parent).is_none()
    {
        let places = opened.library.places.iter();
        let known: Vec<&str> = places.map(|place| place.path.as_str()).collect();
        let known = match known.as_slice() {
            [] => "it has none yet".to_owned(),
            known => format!("its places: {}", known.join(", ")),
        };
        return Err(Failure::Option {
            what: format!(
                "no place `{parent}` in {} for `{path}` to lie in",
                start.library.display()
            ),
            mend: format!("start `{parent}` first; {known}"),
        });
    }
    let texts = [
        ("--title", Some(&start.title)),
        ("--authority", Some(&start.authority)),
        ("--contact", Some(&start.contact)),
        ("--section", start.section.as_ref()),
        ("--because", start.because.as_ref()),
    ];
    for (option, text) in texts {
        let Some(text) = text else { continue };
        let is_bad = |character: char| character == '"' || character.is_control();
        if text.trim().is_empty() || text.contains(is_bad) {
            return Err(Failure::Option {
                what: format!("{option} {text:?}: a rule file can't hold this text"),
                mend: "write at least a word, without quotation marks and ends of lines".to_owned(),
            });
        }
    }
    Ok(())
}

fn topics(start: &Start, opened: &Opened) -> Result<Vec<TopicId>, Failure> {
    let topics = &opened.library.topics;
    let named = start.topic.iter().map(|name| {
        let at = topics.iter().position(|topic| topic.name == *name);
        at.map(TopicId::at).ok_or_else(|| {
            let known: Vec<&str> = topics.iter().map(|topic| topic.name.as_str()).collect();
            let nearest = input::nearest(name, &known);
            Failure::Option {
                what: format!("--topic {name}: no such topic"),
                mend: format!(
                    "the nearest: {}; all: {}",
                    nearest.unwrap_or("none"),
                    known.join(", ")
                ),
            }
        })
    });
    named.collect()
}

/// Writes beside what is there and moves it into place in one step.
fn write(
    start: &Start,
    is_new: bool,
    texts: &Texts,
    rules: &str,
    cases: &str,
) -> Result<(), Failure> {
    let target = match is_new {
        true => start.library.clone(),
        false => start.library.join("jurisdictions").join(&start.place),
    };
    let unwritable = |error: std::io::Error| Failure::Unwritable {
        file: target.clone(),
        reason: error.kind().to_string(),
    };
    let around = match target.parent() {
        Some(around) if !around.as_os_str().is_empty() => around.to_owned(),
        Some(_) | None => PathBuf::from("."),
    };
    std::fs::create_dir_all(&around).map_err(unwritable)?;
    let beside = tempfile::TempDir::new_in(&around).map_err(unwritable)?;
    let place = match is_new {
        true => beside.path().join("jurisdictions").join(&start.place),
        false => beside.path().to_owned(),
    };
    let files = texts.0.iter().filter(|_| is_new);
    for (name, text) in files {
        put(&beside.path().join(name), text).map_err(unwritable)?;
    }
    put(&place.join("place.rules"), rules).map_err(unwritable)?;
    put(&place.join("place.cases.yaml"), cases).map_err(unwritable)?;
    open_to_all(beside.path()).map_err(unwritable)?;
    // An empty folder of that name may be there.
    std::fs::rename(beside.path(), &target).map_err(unwritable)?;
    // Moved: nothing is left to be cleaned up.
    let _ = beside.keep();
    Ok(())
}

fn put(file: &Path, text: &str) -> std::io::Result<()> {
    if let Some(folder) = file.parent() {
        std::fs::create_dir_all(folder)?;
    }
    std::fs::write(file, text)
}

/// A folder made for a while is its maker's alone.
#[cfg(unix)]
fn open_to_all(folder: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(folder, std::fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn open_to_all(_folder: &Path) -> std::io::Result<()> {
    Ok(())
}

fn next(start: &Start, is_new: bool, name: &str) -> String {
    let library = start.library.display();
    let place = &start.place;
    let model = match is_new {
        true => format!("The model's rules and words lie in {library} now.\n"),
        false => String::new(),
    };
    format!(
        "{model}Laid down: {library}/{name}, and its cases beside it.\n\nNext:\n  1. edit it: take the `# ` from the topics that are adopted, name the section and the reason,\n     amend what differs, set what is left to the place\n  2. groundrule prove {place} --library {library}\n  3. groundrule rules {place} --library {library}\n  4. groundrule publish {place} --library {library} --to FOLDER\n"
    )
}
