//! A file's name in, a file of our form, locked for us, out; or why not.

use std::collections::HashMap;
use std::io::Read as _;
use std::path::Path;
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, OptionalExtension as _};

use super::key::basis;
use super::{Asked, FORM, Keeping, KeptError, Named, Reading, Rules, Touched};
use crate::finding::STANDING;
use crate::library::hex;
use crate::screen::Screening;

const SCHEMA: &str = include_str!("schema.sql");
/// `GPKG`, as GeoPackage's Requirement 2 asks.
const APPLICATION: i64 = 0x4750_4B47;
/// How an SQLite file begins.
const BEGINNING: &[u8] = b"SQLite format 3\0";
/// How long another program may take to be done with the file.
const PATIENCE: Duration = Duration::from_secs(1);

impl Keeping {
    /// Opens a file for a screening, or makes it. Until it is closed nobody else writes to it.
    ///
    /// # Errors
    ///
    /// A name that no GeoPackage has, a file of another kind or form, one that is in use, a folder
    /// that nobody may write in.
    pub fn open(
        file: &Path,
        screening: &Screening<'_>,
        asked: Asked,
    ) -> Result<Keeping, KeptError> {
        ending(file)?;
        let is_new = !is_ours_to_look_at(file)?;
        let of = |error: rusqlite::Error| KeptError::of(file, &error);
        let database = Connection::open(file).map_err(of)?;
        distrusting(&database).map_err(of)?;
        let is_empty = locked(&database).map_err(of)?;
        if is_empty {
            made(&database).map_err(of)?;
        } else {
            recognised(file, &database)?;
        }
        let opened = screening.opened;
        let signed_by = opened.provenance.signed_by.as_ref();
        Ok(Keeping {
            file: file.to_owned(),
            rules: rules(&database).map_err(of)?,
            database,
            is_new: is_new && is_empty,
            asked,
            basis: hex(&basis(screening)),
            named: Named {
                ruleset: opened.digest.clone(),
                signed_by: signed_by.map(|signer| signer.principal.clone()),
                stood_in: screening.stood_in.join("; "),
                sheet: screening.sheet.map(|sheet| sheet.source.name.to_string()),
            },
            ongoing: None,
            judged: 0,
            touched: Touched::default(),
        })
    }

    /// Closes the file, and takes it away if it is new and holds nothing.
    pub fn discard(self) {
        let is_bare = self.is_new && self.ongoing.is_none();
        drop(self.database);
        if is_bare {
            // What is left behind if this fails is an empty file of ours.
            let _ = std::fs::remove_file(&self.file);
        }
    }
}

impl Reading {
    /// Opens a file to read from it.
    ///
    /// # Errors
    ///
    /// A file that isn't there, one of another kind or form, one that is being written,
    /// one in which no screening came to its end.
    pub fn open(file: &Path) -> Result<Reading, KeptError> {
        if !is_ours_to_look_at(file)? {
            let file = file.to_owned();
            return Err(match file.exists() {
                true => KeptError::AnotherKind {
                    file,
                    found: "an empty file".to_owned(),
                },
                false => KeptError::Missing { file },
            });
        }
        let of = |error: rusqlite::Error| KeptError::of(file, &error);
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let database = Connection::open_with_flags(file, flags).map_err(of)?;
        distrusting(&database).map_err(of)?;
        recognised(file, &database)?;
        let last = database
            .query_row(
                "SELECT id, ruleset FROM screenings WHERE ended IS NOT NULL
                 ORDER BY id DESC LIMIT 1",
                [],
                |row| Ok((row.get(0)?, row.get(1)?)),
            )
            .optional()
            .map_err(of)?;
        let file = file.to_owned();
        let Some(last) = last else {
            return Err(KeptError::CutOff { file });
        };
        Ok(Reading {
            rules: rules(&database).map_err(of)?,
            database,
            last,
            file,
        })
    }
}

/// GeoPackage's Requirement 3.
fn ending(file: &Path) -> Result<(), KeptError> {
    let ending = file.extension().map(|ending| ending.to_string_lossy());
    if ending.is_some_and(|ending| ending == "gpkg") {
        return Ok(());
    }
    let name = file.file_stem().unwrap_or_default();
    Err(KeptError::Ending {
        file: file.to_owned(),
        name: name.to_string_lossy().into_owned(),
    })
}

/// Whether there is a database to look into; false where there is nothing yet, an error where
/// there is something else.
fn is_ours_to_look_at(file: &Path) -> Result<bool, KeptError> {
    let another = |found: &str| KeptError::AnotherKind {
        file: file.to_owned(),
        found: found.to_owned(),
    };
    if file.is_dir() {
        return Err(another("a folder"));
    }
    let Ok(opened) = std::fs::File::open(file) else {
        // SQLite says why, if it is there and can't be read.
        return Ok(file.exists());
    };
    let mut beginning = Vec::new();
    let most = BEGINNING.len() as u64;
    if opened.take(most).read_to_end(&mut beginning).is_err() || beginning.is_empty() {
        return Ok(false);
    }
    if beginning != BEGINNING {
        return Err(another("another format"));
    }
    Ok(true)
}

/// A file may come from a stranger: what its views and triggers call is held to what is harmless.
fn distrusting(database: &Connection) -> rusqlite::Result<()> {
    database.busy_timeout(PATIENCE)?;
    database.pragma_update(None, "trusted_schema", false)
}

/// Takes the file for this run alone; whether it holds nothing yet.
fn locked(database: &Connection) -> rusqlite::Result<bool> {
    database.pragma_update(None, "locking_mode", "EXCLUSIVE")?;
    database.pragma_update(None, "foreign_keys", false)?;
    database.execute_batch("BEGIN EXCLUSIVE; COMMIT")?;
    let application: i64 = database.pragma_query_value(None, "application_id", |row| row.get(0))?;
    let names = "SELECT count(*) FROM sqlite_master";
    let names: i64 = database.query_row(names, [], |row| row.get(0))?;
    Ok(application == 0 && names == 0)
}

/// Makes our tables, all or none.
fn made(database: &Connection) -> rusqlite::Result<()> {
    let made = database.execute_batch(&format!("BEGIN; {SCHEMA}"));
    made?;
    database.execute(
        "INSERT INTO groundrule (form, program, standing) VALUES (?1, ?2, ?3)",
        (FORM, env!("CARGO_PKG_VERSION"), STANDING),
    )?;
    database.execute_batch("COMMIT")
}

fn recognised(file: &Path, database: &Connection) -> Result<(), KeptError> {
    let of = |error: rusqlite::Error| KeptError::of(file, &error);
    let another = |found: String| KeptError::AnotherKind {
        file: file.to_owned(),
        found,
    };
    let application: i64 = database
        .pragma_query_value(None, "application_id", |row| row.get(0))
        .map_err(of)?;
    if application != APPLICATION {
        let found = format!("an SQLite database of another program (application {application})");
        return Err(another(found));
    }
    let is_there: bool = database
        .query_row(
            "SELECT count(*) > 0 FROM sqlite_master WHERE type = 'table' AND name = 'groundrule'",
            [],
            |row| row.get(0),
        )
        .map_err(of)?;
    if !is_there {
        return Err(another("a GeoPackage of another program".to_owned()));
    }
    let form: Option<(i64, String)> = database
        .query_row("SELECT form, program FROM groundrule", [], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })
        .optional()
        .map_err(of)?;
    match form {
        Some((FORM, _)) => Ok(()),
        Some((found, program)) => Err(KeptError::AnotherForm {
            file: file.to_owned(),
            found,
            expected: FORM,
            program,
        }),
        None => Err(another(
            "a GeoPackage that does not say its form".to_owned(),
        )),
    }
}

fn rules(database: &Connection) -> rusqlite::Result<Rules> {
    let mut found = database.prepare("SELECT id, told FROM rules ORDER BY id")?;
    let mut rows = found.query([])?;
    let mut rules = Rules {
        ids: HashMap::new(),
        told: HashMap::new(),
    };
    while let Some(row) = rows.next()? {
        let (id, told): (i64, String) = (row.get(0)?, row.get(1)?);
        // A row that somebody changed is not found again, and what names it is judged again.
        if let Ok(read) = serde_json::from_str(&told) {
            rules.told.insert(id, read);
            rules.ids.insert(told, id);
        }
    }
    Ok(rules)
}
