//! Results in, one file that keeps them and their history out: SQLite in the form of an OGC
//! GeoPackage, which geographic programs open.
//!
//! A record whose text, plan, rules and options are what they were is not judged again. Every
//! batch is one transaction, and rows get their numbers in the order of the records: a screening
//! that was cut off goes on where it stopped and leaves what it would have left.

mod batch;
mod describe;
mod error;
mod finish;
mod geometry;
mod key;
mod open;
mod pack;
mod rows;
mod turned;
mod write;

pub use error::KeptError;
pub use finish::{Kept, Since, Turned};

use std::collections::HashMap;
use std::path::PathBuf;

use rusqlite::Connection;

use crate::screen::Screened;
use geometry::Extent;
use pack::Told;

/// The form of our tables. Another form is another number.
const FORM: i64 = 1;

/// What a screening is asked, beside what a `Screening` holds.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// The paths as they were given.
    pub paths: Vec<String>,
}

/// A file being written by a screening.
pub struct Keeping {
    file: PathBuf,
    database: Connection,
    is_new: bool,
    rules: Rules,
    asked: Asked,
    /// What the results depend on beside the records, in hexadecimal.
    basis: String,
    /// What is said of the ruleset and the options in the row of this screening.
    named: Named,
    /// Once the first record has come.
    ongoing: Option<Ongoing>,
    /// How many records this run judged.
    judged: usize,
    touched: Touched,
}

/// What is shown that was not when the layers were described last.
#[derive(Debug, Default)]
struct Touched {
    is_shown: bool,
    has_turned: bool,
    lots: Option<Extent>,
    things: Option<Extent>,
}

/// What the row of a screening says of its ruleset and options.
#[derive(Debug)]
struct Named {
    ruleset: String,
    signed_by: Option<String>,
    stood_in: String,
    sheet: Option<String>,
}

/// The row of this screening.
#[derive(Debug, Clone, Copy)]
struct Ongoing {
    id: i64,
    /// The one before it that came to its end.
    since: Option<i64>,
    /// How many records it had when this run went on with it.
    found: usize,
}

/// What findings tell of their rules, by the rows that keep it.
#[derive(Default)]
struct Rules {
    ids: HashMap<String, i64>,
    told: HashMap<i64, Told<'static>>,
}

/// A file being read.
pub struct Reading {
    file: PathBuf,
    database: Connection,
    rules: Rules,
    /// The last screening that came to its end, and the digest of its ruleset.
    last: (i64, String),
}

impl Reading {
    /// That the last screening was by the ruleset of a digest.
    ///
    /// # Errors
    ///
    /// It was by another.
    pub fn by_rules(&self, digest: &str) -> Result<(), KeptError> {
        let (_, found) = &self.last;
        if found == digest {
            return Ok(());
        }
        Err(KeptError::OtherRules {
            file: self.file.clone(),
            found: found.clone(),
            expected: digest.to_owned(),
        })
    }

    /// Hands on what the last screening that came to its end said, in its order, until `take` says
    /// to stop.
    ///
    /// # Errors
    ///
    /// A damaged file.
    pub fn last<E: From<KeptError>>(
        &self,
        mut take: impl FnMut(Screened) -> Result<bool, E>,
    ) -> Result<usize, E> {
        let of = |error: rusqlite::Error| KeptError::of(&self.file, &error);
        let mut found = self.database.prepare(LAST).map_err(of)?;
        let mut rows = found.query([self.last.0]).map_err(of)?;
        let mut count = 0;
        while let Some(row) = rows.next().map_err(of)? {
            let packed: Vec<u8> = row.get(0).map_err(of)?;
            let unpacked = pack::unpack(&packed, &self.rules.told);
            let screened = unpacked.ok_or_else(|| self.damaged())?;
            count += 1;
            if !take(screened)? {
                break;
            }
        }
        Ok(count)
    }

    fn damaged(&self) -> KeptError {
        KeptError::Failed {
            file: self.file.clone(),
            reason: "a report in it can't be read".to_owned(),
        }
    }
}

const LAST: &str = "
SELECT results.report FROM statements JOIN results ON results.id = statements.result
WHERE statements.screening = ?1
ORDER BY statements.id";
