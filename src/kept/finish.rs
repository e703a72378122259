//! The beginning and the end of a screening in its file, and what turned since the one before.

use std::collections::BTreeMap;
use std::path::PathBuf;

use rusqlite::{Connection, OptionalExtension as _, params};

use super::describe::Exact;
use super::turned::GONE;
use super::write::unshow;
use super::{Keeping, KeptError, Ongoing};
use crate::compare::Turn;

/// What a screening left in its file.
#[derive(Debug, Clone)]
pub struct Kept {
    /// The file.
    pub file: PathBuf,
    /// How many records there were.
    pub records: usize,
    /// How many of them this run judged; the others are as they were when they were judged.
    pub judged: usize,
    /// How many records an earlier run had when it was cut off, where this one went on with it.
    pub went_on: usize,
    /// The screening before, and what turned since.
    pub since: Option<Since>,
}

/// What turned since the screening before.
#[derive(Debug, Clone)]
pub struct Since {
    /// When that began, in UTC.
    pub began: String,
    /// How it was asked otherwise, in words.
    pub asked_otherwise: Vec<&'static str>,
    /// How much turned, by what became of it.
    pub counts: BTreeMap<String, usize>,
    /// The first of what falls short now, what is mended and what is gone.
    pub first: Vec<Turned>,
}

/// Something that turned.
#[derive(Debug, Clone)]
pub struct Turned {
    /// What became of it, in words.
    pub turn: String,
    /// The record.
    pub record: String,
    /// The rule, where it is a finding.
    pub rule: Option<String>,
    /// Of what the finding speaks.
    pub subject: Option<String>,
    /// What was measured before, and the limit.
    pub before: Option<String>,
    /// The same now.
    pub after: Option<String>,
}

/// The records that this run has met.
const MET: &str = "SELECT records.id FROM records
JOIN met ON met.name = records.name AND met.part = records.part AND records.nth < met.count";

impl Keeping {
    /// The row of this screening: one that was cut off, where it is the same, or else a new one.
    pub(super) fn begun(&mut self) -> rusqlite::Result<Ongoing> {
        if let Some(ongoing) = self.ongoing {
            return Ok(ongoing);
        }
        self.database.execute_batch(
            "CREATE TEMP TABLE met (name TEXT, part TEXT, count INTEGER,
             PRIMARY KEY (name, part)) WITHOUT ROWID",
        )?;
        let paths = self.asked.paths.join("\n");
        let cut_off: Option<(i64, bool, Option<i64>)> = self
            .database
            .query_row(
                "SELECT id, basis = ?1 AND paths = ?2, since FROM screenings
                 WHERE ended IS NULL",
                (&self.basis, &paths),
                |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
            )
            .optional()?;
        let ongoing = match cut_off {
            Some((id, true, since)) => Ongoing {
                id,
                since,
                found: self.database.query_row(
                    "SELECT count(*) FROM statements WHERE screening = ?1",
                    [id],
                    |row| row.get(0),
                )?,
            },
            Some((id, false, _)) => {
                forget(&self.database, id)?;
                self.begin(&paths)?
            }
            None => self.begin(&paths)?,
        };
        self.ongoing = Some(ongoing);
        Ok(ongoing)
    }

    fn begin(&self, paths: &str) -> rusqlite::Result<Ongoing> {
        let since = self.database.query_row(
            "SELECT max(id) FROM screenings WHERE ended IS NOT NULL",
            [],
            |row| row.get(0),
        )?;
        self.database.execute(
            "INSERT INTO screenings (began, program, ruleset, signed_by, paths, stood_in, sheet,
             basis, since)
             VALUES (strftime('%Y-%m-%dT%H:%M:%fZ','now'), ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            params![
                env!("CARGO_PKG_VERSION"),
                self.named.ruleset,
                self.named.signed_by,
                paths,
                self.named.stood_in,
                self.named.sheet,
                self.basis,
                since,
            ],
        )?;
        Ok(Ongoing {
            id: self.database.last_insert_rowid(),
            since,
            found: 0,
        })
    }

    /// Ends the screening: what is not there any more is told, and what turned.
    ///
    /// # Errors
    ///
    /// A file that can't be written.
    pub fn finish(mut self, most: usize) -> Result<Kept, KeptError> {
        self.in_transaction(|keeping| {
            let ongoing = keeping.begun()?;
            let database = &keeping.database;
            for table in ["statements", "changes"] {
                let record = if table == "changes" {
                    "record_id"
                } else {
                    "record"
                };
                let unmet =
                    format!("DELETE FROM {table} WHERE screening = ?1 AND {record} NOT IN ({MET})");
                database.execute(&unmet, [ongoing.id])?;
            }
            let is_less = hide_what_was_not_met(database)?;
            let is_gone = tell_what_is_gone(database, ongoing)?;
            drop_what_nobody_names(database)?;
            count(database, ongoing.id)?;
            keeping.touched.is_shown |= is_less;
            keeping.touched.has_turned |= is_gone;
            keeping.describe(Exact::Yes)?;
            keeping.kept(ongoing, most)
        })
    }

    fn kept(&self, ongoing: Ongoing, most: usize) -> rusqlite::Result<Kept> {
        let database = &self.database;
        let records = database.query_row(
            "SELECT records FROM screenings WHERE id = ?1",
            [ongoing.id],
            |row| row.get(0),
        )?;
        Ok(Kept {
            file: self.file.clone(),
            records,
            judged: self.judged,
            went_on: ongoing.found,
            since: match ongoing.since {
                Some(since) => Some(turned_since(database, ongoing.id, since, most)?),
                None => None,
            },
        })
    }
}

/// Takes away a screening that was cut off and is not gone on with.
fn forget(database: &Connection, screening: i64) -> rusqlite::Result<()> {
    for statement in [
        "DELETE FROM statements WHERE screening = ?1",
        "DELETE FROM changes WHERE screening = ?1",
        "DELETE FROM screenings WHERE id = ?1",
    ] {
        database.execute(statement, [screening])?;
    }
    Ok(())
}

/// Whether anything was hidden.
fn hide_what_was_not_met(database: &Connection) -> rusqlite::Result<bool> {
    let mut found = database.prepare(&format!(
        "SELECT id FROM records WHERE result IS NOT NULL AND id NOT IN ({MET}) ORDER BY id"
    ))?;
    let unmet: Vec<i64> = found
        .query_map([], |row| row.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    for record in &unmet {
        unshow(database, *record)?;
        database.execute("UPDATE records SET result = NULL WHERE id = ?1", [record])?;
    }
    Ok(!unmet.is_empty())
}

/// Whether anything is gone.
fn tell_what_is_gone(database: &Connection, ongoing: Ongoing) -> rusqlite::Result<bool> {
    let gone = database.execute(
        "INSERT INTO changes (screening, since, record_id, record, lot, turn)
         SELECT ?1, ?2, records.id, records.name, results.lot, ?3
         FROM statements
         JOIN records ON records.id = statements.record
         JOIN results ON results.id = statements.result
         WHERE statements.screening = ?2
         AND records.id NOT IN (SELECT record FROM statements WHERE screening = ?1)
         ORDER BY statements.id",
        (ongoing.id, ongoing.since, GONE),
    )?;
    Ok(gone > 0)
}

/// What a screening left that was cut off, and whose records are not as they were then.
fn drop_what_nobody_names(database: &Connection) -> rusqlite::Result<()> {
    database.execute_batch(
        "DELETE FROM records WHERE id NOT IN (SELECT record FROM statements);
         DELETE FROM results WHERE id NOT IN (SELECT result FROM statements);",
    )
}

fn count(database: &Connection, screening: i64) -> rusqlite::Result<()> {
    database.execute(
        "UPDATE screenings SET ended = strftime('%Y-%m-%dT%H:%M:%fZ','now'),
           (records, judged, in_order, fall_short, undecided, not_read) =
           (SELECT count(*), coalesce(sum(judged), 0), coalesce(sum(status = 0), 0),
              coalesce(sum(status = 1), 0), coalesce(sum(status = 3), 0),
              coalesce(sum(status = 2), 0)
            FROM statements JOIN results ON results.id = statements.result
            WHERE statements.screening = ?1)
         WHERE id = ?1",
        [screening],
    )?;
    Ok(())
}

fn turned_since(
    database: &Connection,
    screening: i64,
    since: i64,
    most: usize,
) -> rusqlite::Result<Since> {
    let (began, differs): (String, [bool; 4]) = database.query_row(
        "SELECT old.began, old.ruleset <> new.ruleset, old.program <> new.program,
         old.stood_in <> new.stood_in OR old.sheet IS NOT new.sheet, old.paths <> new.paths
         FROM screenings AS old, screenings AS new WHERE old.id = ?2 AND new.id = ?1",
        (screening, since),
        |row| {
            let differs = [row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?];
            Ok((row.get(0)?, differs))
        },
    )?;
    let words = [
        "by another ruleset",
        "by another program",
        "with other options",
        "of other paths",
    ];
    let asked_otherwise = words.into_iter().zip(differs);
    let mut counts = BTreeMap::new();
    let mut found = database
        .prepare("SELECT turn, count(*) FROM changes WHERE screening = ?1 GROUP BY turn")?;
    let mut rows = found.query([screening])?;
    while let Some(row) = rows.next()? {
        counts.insert(row.get(0)?, row.get(1)?);
    }
    let mut first = Vec::new();
    for turn in [Turn::FallsShort.words(), Turn::Mended.words(), GONE] {
        let mut found = database.prepare_cached(
            "SELECT turn, record, rule, subject, before_measured, after_measured FROM changes
             WHERE screening = ?1 AND turn = ?2 ORDER BY id LIMIT ?3",
        )?;
        let rows = found.query_map((screening, turn, most), |row| {
            Ok(Turned {
                turn: row.get(0)?,
                record: row.get(1)?,
                rule: row.get(2)?,
                subject: row.get(3)?,
                before: row.get(4)?,
                after: row.get(5)?,
            })
        })?;
        first.extend(rows.collect::<rusqlite::Result<Vec<_>>>()?);
    }
    Ok(Since {
        began,
        asked_otherwise: asked_otherwise
            .filter_map(|(words, differs)| differs.then_some(words))
            .collect(),
        counts,
        first,
    })
}
