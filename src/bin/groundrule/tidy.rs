//! `tidy FILE|FOLDER…`: rule files in their one layout, each rewritten whole or not at all.

use std::path::{Path, PathBuf};

use groundrule::language;
use groundrule::library::Problem;
use groundrule::report::mistakes;
use groundrule::source::Sources;
use walkdir::WalkDir;

use crate::args::Tidy;
use crate::input::{self, Failure};
use crate::output;

/// The ending of rule files.
const RULE_FILE: &str = "rules";
/// Some file is not tidy.
const NOT_TIDY: u8 = 1;
/// Some file could not be read.
const UNREADABLE: u8 = 2;

/// Lays out every file that reads, whatever the others are.
pub fn run(tidy: &Tidy) -> Result<u8, Failure> {
    if tidy.paths.iter().any(|path| path.as_os_str() == "-") {
        return standard_input(tidy);
    }
    let mut done = Done::default();
    for path in &tidy.paths {
        for file in files(path)? {
            if let Err(failure) = one(&file, tidy.list, &mut done) {
                done.unread += 1;
                output::complain(&failure.to_string());
            }
        }
    }
    output::write(&done.told(tidy.list), None)?;
    Ok(match (done.unread, tidy.list && !done.untidy.is_empty()) {
        (0, false) => 0,
        (0, true) => NOT_TIDY,
        _ => UNREADABLE,
    })
}

/// What came of the files.
#[derive(Debug, Default)]
struct Done {
    untidy: Vec<PathBuf>,
    tidy: usize,
    unread: usize,
}

impl Done {
    /// The files that were not tidy, a line each, and when they were written, how many.
    fn told(&self, only_list: bool) -> String {
        let lines = self
            .untidy
            .iter()
            .map(|file| format!("{}\n", file.display()));
        let lines: String = lines.collect();
        if only_list {
            return lines;
        }
        let files = |number: usize| match number {
            1 => "1 file".to_owned(),
            number => format!("{number} files"),
        };
        let count = match (self.untidy.len(), self.tidy) {
            (0, 0) => return lines,
            (0, tidy) => format!("{} tidy already", files(tidy)),
            (untidy, 0) => format!("{} tidied", files(untidy)),
            (untidy, tidy) => format!("{} tidied, {tidy} tidy already", files(untidy)),
        };
        format!("{lines}{count}\n")
    }
}

/// Lays out one file; a link is followed, so that it stays one.
fn one(path: &Path, only_list: bool, done: &mut Done) -> Result<(), Failure> {
    let name = path.to_string_lossy().replace('\\', "/");
    let text = input::rule_file(path)?;
    let tidied = tidied(&name, &text)?;
    if tidied == text {
        done.tidy += 1;
        return Ok(());
    }
    if !only_list {
        let target = std::fs::canonicalize(path).map_err(|error| Failure::Unwritable {
            file: path.to_owned(),
            reason: error.kind().to_string(),
        })?;
        output::write(&tidied, Some(&target))?;
    }
    done.untidy.push(path.to_owned());
    Ok(())
}

fn tidied(name: &str, text: &str) -> Result<String, Failure> {
    let mut sources = Sources::default();
    let id = sources.add(name, text);
    language::tidy(&sources, id).map_err(|errors| {
        let problems = errors.into_iter().map(Problem::from).collect();
        let (colour, width) = (output::stderr_has_colour(), output::width());
        Failure::Rendered(mistakes::render(&sources, problems, colour, width))
    })
}

fn standard_input(tidy: &Tidy) -> Result<u8, Failure> {
    if tidy.paths.len() > 1 {
        return Err(Failure::Option {
            what: "`-` beside other files".to_owned(),
            mend: "read standard input alone: its layout goes to standard output".to_owned(),
        });
    }
    let (name, text) = input::rules_of_standard_input()?;
    let tidied = tidied(&name, &text)?;
    if !tidy.list {
        output::write(&tidied, None)?;
        return Ok(0);
    }
    if tidied == text {
        return Ok(0);
    }
    output::write(&format!("{name}\n"), None)?;
    Ok(NOT_TIDY)
}

/// A file, or the rule files of a folder in order; links in it are not followed.
fn files(path: &Path) -> Result<Vec<PathBuf>, Failure> {
    if !path.is_dir() {
        return Ok(vec![path.to_owned()]);
    }
    let mut found = Vec::new();
    for entry in WalkDir::new(path).sort_by_file_name() {
        let entry = entry.map_err(|error| Failure::Unreadable {
            file: error.path().unwrap_or(path).to_owned(),
            reason: error.to_string(),
        })?;
        let is_rules = entry
            .path()
            .extension()
            .is_some_and(|ending| ending == RULE_FILE);
        if entry.file_type().is_file() && is_rules {
            found.push(entry.into_path());
        }
    }
    if found.is_empty() {
        return Err(Failure::Option {
            what: format!("no rule file in {}", path.display()),
            mend: "the names of rule files end in .rules".to_owned(),
        });
    }
    Ok(found)
}
