//! Why a file can't be kept in, or read from.

use std::path::PathBuf;

use miette::Diagnostic;
use rusqlite::ErrorCode;
use thiserror::Error;

/// What is wrong with a file of kept results.
#[derive(Debug, Error, Diagnostic)]
pub enum KeptError {
    /// `--keep results.db`
    #[error("{}: its name does not end in `.gpkg`", .file.display())]
    #[diagnostic(
        code(kept::ending),
        help("other programs know a GeoPackage by its name: write `{name}.gpkg`")
    )]
    Ending {
        /// The file.
        file: PathBuf,
        /// Its name without its ending.
        name: String,
    },
    /// `--keep` with a photograph, a map of somebody else's, a folder.
    #[error("{}: found {found}, expected a file that `screen --keep` wrote", .file.display())]
    #[diagnostic(
        code(kept::another_kind),
        help("it was left as it is; name another file, which is made if it isn't there")
    )]
    AnotherKind {
        /// The file.
        file: PathBuf,
        /// What it is.
        found: String,
    },
    /// A file of a later program.
    #[error("{}: found form {found} of kept results, expected form {expected}", .file.display())]
    #[diagnostic(
        code(kept::another_form),
        help(
            "it was left as it is, and groundrule {program} wrote it: use that one, or name another file"
        )
    )]
    AnotherForm {
        /// The file.
        file: PathBuf,
        /// Its form.
        found: i64,
        /// This program's.
        expected: i64,
        /// The version of the program that made it.
        program: String,
    },
    /// Two screenings into one file.
    #[error("{}: another program is using it", .file.display())]
    #[diagnostic(
        code(kept::in_use),
        help(
            "wait until the other screening is over, or close the file in the other program, and try again"
        )
    )]
    InUse {
        /// The file.
        file: PathBuf,
    },
    /// A file that isn't there, where one is to be read.
    #[error("{}: there is no such file", .file.display())]
    #[diagnostic(code(kept::missing), help("`screen PATH… --keep FILE` makes it"))]
    Missing {
        /// The file.
        file: PathBuf,
    },
    /// `--kept` after a first screening that was cut off.
    #[error("{}: no screening in it came to its end", .file.display())]
    #[diagnostic(
        code(kept::cut_off),
        help(
            "give the command again that was cut off, with `--keep`: it goes on where it stopped"
        )
    )]
    CutOff {
        /// The file.
        file: PathBuf,
    },
    /// `--kept` with other rules than those it was kept by, where the output tells of the rules.
    #[error("{}: kept by ruleset {found}, expected {expected}", .file.display())]
    #[diagnostic(
        code(kept::other_rules),
        help("name the rules it was kept by, `--library PATH`, or ask for another form")
    )]
    OtherRules {
        /// The file.
        file: PathBuf,
        /// The digest of its ruleset.
        found: String,
        /// The digest of the library's.
        expected: String,
    },
    /// A disk that is full, a folder that nobody may write in, a damaged file.
    #[error("{}: {reason}", .file.display())]
    #[diagnostic(
        code(kept::failed),
        help(
            "what was kept before stays whole; once the cause is mended, the same command goes on where this stopped"
        )
    )]
    Failed {
        /// The file.
        file: PathBuf,
        /// What SQLite says.
        reason: String,
    },
}

impl KeptError {
    /// What SQLite's error means for a file.
    pub(super) fn of(file: &std::path::Path, error: &rusqlite::Error) -> KeptError {
        let file = file.to_owned();
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => KeptError::InUse { file },
            Some(ErrorCode::NotADatabase) => KeptError::AnotherKind {
                file,
                found: "another format".to_owned(),
            },
            // The codes are SQLite's, and new ones come with it.
            Some(_) | None => KeptError::Failed {
                file,
                reason: error.to_string(),
            },
        }
    }
}
