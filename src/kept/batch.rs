//! A batch of records in; what was said of each before, or is said of it now, kept and handed on.

use rayon::ThreadPool;
use rayon::prelude::*;
use rusqlite::{Connection, OptionalExtension as _, params};

use super::describe::Exact;
use super::key::{Key, of_plan, of_text};
use super::pack::{pack, told, unpack};
use super::rows::shown;
use super::turned::{Change, turned, what_changed};
use super::write::{Fresh, Head, Written};
use super::{Keeping, KeptError, Ongoing, Rules};
use crate::finding::Report;
use crate::screen::{Screened, Screening, Submitted};

/// How many results are held whole at once.
const AT_ONCE: usize = 64;

/// A result of the same text, kept earlier.
struct Earlier {
    id: i64,
    plan_file: Option<String>,
    plan_key: Vec<u8>,
    report: Vec<u8>,
}

/// What a record says, and where that came from.
struct Heard {
    screened: Screened,
    /// The row of `results`, where it has one.
    result: Option<i64>,
    plan_file: Option<String>,
    plan_key: Vec<u8>,
    /// What its findings tell of their rules, where that is to be shown.
    told: Vec<String>,
}

/// The same with its rows known.
struct Settled {
    heard: Heard,
    text_key: Key,
    record: i64,
    /// What the record's row names now.
    current: Option<i64>,
    /// The rows of `rules`, one a finding.
    rules: Vec<i64>,
    before: Before,
}

/// What the screening before said of the record.
enum Before {
    /// There is none, or it said the same.
    Nothing,
    /// The record was not in it.
    Absent,
    /// Something else.
    Packed(Vec<u8>),
}

impl Keeping {
    /// As [`Screening::batch`], and keeps what is said; what was said before of the same text by
    /// the same rules is taken over. All of the batch is kept, or nothing of it.
    ///
    /// # Errors
    ///
    /// A file that can't be written.
    pub fn batch<T: Send>(
        &mut self,
        screening: &Screening<'_>,
        pool: &ThreadPool,
        batch: Vec<Submitted>,
        make: impl Fn(Screened) -> T + Sync,
    ) -> Result<Vec<T>, KeptError> {
        self.in_transaction(|keeping| {
            let mut made = Vec::new();
            let mut batch = batch.into_iter();
            loop {
                let some: Vec<Submitted> = batch.by_ref().take(AT_ONCE).collect();
                if some.is_empty() {
                    keeping.describe(Exact::No)?;
                    return Ok(made);
                }
                made.extend(keeping.some(screening, pool, some, &make)?);
            }
        })
    }

    pub(super) fn in_transaction<T>(
        &mut self,
        work: impl FnOnce(&mut Keeping) -> rusqlite::Result<T>,
    ) -> Result<T, KeptError> {
        let done = self.database.execute_batch("BEGIN IMMEDIATE");
        let done = done.and_then(|()| work(self)).and_then(|done| {
            self.database.execute_batch("COMMIT")?;
            Ok(done)
        });
        // Closing the file rolls back what is not whole.
        done.map_err(|error| KeptError::of(&self.file, &error))
    }

    fn some<T: Send>(
        &mut self,
        screening: &Screening<'_>,
        pool: &ThreadPool,
        batch: Vec<Submitted>,
        make: &(impl Fn(Screened) -> T + Sync),
    ) -> rusqlite::Result<Vec<T>> {
        let ongoing = self.begun()?;
        let basis = self.basis.as_str();
        let keys: Vec<Key> =
            pool.install(|| batch.par_iter().map(|one| of_text(basis, one)).collect());
        let earlier = keys.iter().map(|key| self.earlier(key));
        let earlier = earlier.collect::<rusqlite::Result<Vec<_>>>()?;
        let rules = &self.rules;
        let heard: Vec<Heard> = pool.install(|| {
            let both = batch.into_par_iter().zip(earlier);
            both.map(|(record, earlier)| heard(screening, rules, record, earlier))
                .collect()
        });
        let mut settled = Vec::new();
        for (heard, key) in heard.into_iter().zip(keys) {
            settled.push(self.settled(ongoing, heard, key)?);
        }
        let rules = &self.rules;
        let both: Vec<(Written, T)> = pool.install(|| {
            let settled = settled.into_par_iter();
            settled.map(|one| written(rules, one, make)).collect()
        });
        let mut made = Vec::new();
        for (written, one) in both {
            self.write(ongoing, written)?;
            made.push(one);
        }
        Ok(made)
    }

    /// The results of a text, whatever its plan was.
    fn earlier(&self, key: &Key) -> rusqlite::Result<Vec<Earlier>> {
        let mut found = self.database.prepare_cached(
            "SELECT id, plan_file, plan_key, report FROM results WHERE text_key = ?1 ORDER BY id",
        )?;
        let rows = found.query_map([key], |row| {
            Ok(Earlier {
                id: row.get(0)?,
                plan_file: row.get(1)?,
                plan_key: row.get(2)?,
                report: row.get(3)?,
            })
        })?;
        rows.collect()
    }

    fn settled(
        &mut self,
        ongoing: Ongoing,
        mut heard: Heard,
        text_key: Key,
    ) -> rusqlite::Result<Settled> {
        let (record, current) = known_by(&self.database, &heard.screened.report)?;
        // What was said before, and then not, is shown again.
        if heard.result.is_some() && heard.result != current {
            heard.told = told(&heard.screened);
        }
        let mut rules = Vec::new();
        for told in &heard.told {
            rules.push(rule(&self.database, &mut self.rules, told)?);
        }
        let before = match ongoing.since {
            None => Before::Nothing,
            Some(since) => before(&self.database, since, record, heard.result)?,
        };
        Ok(Settled {
            heard,
            text_key,
            record,
            current,
            rules,
            before,
        })
    }
}

/// What a record says: as it was kept, where nothing changed that it depends on.
fn heard(
    screening: &Screening<'_>,
    rules: &Rules,
    record: Submitted,
    earlier: Vec<Earlier>,
) -> Heard {
    // All results of a text name the same plan.
    let plan_file = earlier.first().and_then(|one| one.plan_file.clone());
    let plan = plan_file
        .as_ref()
        .map(|file| screening.plan(&record.name, file));
    let plan_key = of_plan(plan.as_ref());
    let same = earlier.into_iter().find(|one| one.plan_key == plan_key);
    let kept = same.and_then(|one| Some((one.id, unpack(&one.report, &rules.told)?)));
    if let Some((id, screened)) = kept {
        return Heard {
            told: Vec::new(),
            screened,
            result: Some(id),
            plan_file,
            plan_key,
        };
    }
    let mut screened = screening.one(record);
    let plan = screened.plan.take();
    Heard {
        told: told(&screened),
        result: None,
        plan_key: of_plan(plan.as_ref()),
        plan_file: plan.map(|plan| plan.file),
        screened,
    }
}

/// The row of a record, made where there is none, and the result that it names.
fn known_by(database: &Connection, report: &Report) -> rusqlite::Result<(i64, Option<i64>)> {
    let part = match (&report.line, &report.lot) {
        (None, _) => String::new(),
        (Some(_), Some(lot)) => lot.clone(),
        (Some(line), None) => format!("line {line}"),
    };
    let nth: i64 = database
        .prepare_cached(
            "INSERT INTO met (name, part, count) VALUES (?1, ?2, 1)
             ON CONFLICT DO UPDATE SET count = count + 1 RETURNING count - 1",
        )?
        .query_row((&report.record, &part), |row| row.get(0))?;
    let found = database
        .prepare_cached(
            "SELECT id, result FROM records WHERE name = ?1 AND part = ?2 AND nth = ?3",
        )?
        .query_row((&report.record, &part, nth), |row| {
            Ok((row.get(0)?, row.get(1)?))
        })
        .optional()?;
    if let Some(found) = found {
        return Ok(found);
    }
    database
        .prepare_cached("INSERT INTO records (name, part, nth) VALUES (?1, ?2, ?3)")?
        .execute((&report.record, &part, nth))?;
    Ok((database.last_insert_rowid(), None))
}

/// The row of what a finding tells of its rule.
fn rule(database: &Connection, rules: &mut Rules, told: &str) -> rusqlite::Result<i64> {
    if let Some(id) = rules.ids.get(told) {
        return Ok(*id);
    }
    let read: super::Told<'static> =
        serde_json::from_str(told).expect("it was written from such a thing");
    let clauses: Vec<String> = read.clauses.iter().map(|clause| clause.cited()).collect();
    database
        .prepare_cached(
            "INSERT INTO rules (rule, title, obligation, hazard, hold, clauses, remedy,
             hazard_caution, caution, told) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
        )?
        .execute(params![
            read.rule,
            read.title,
            read.obligation.words(),
            read.hazard,
            read.hold,
            clauses.join("; "),
            read.remedy,
            read.hazard_caution,
            read.caution,
            told
        ])?;
    let id = database.last_insert_rowid();
    rules.ids.insert(told.to_owned(), id);
    rules.told.insert(id, read);
    Ok(id)
}

fn before(
    database: &Connection,
    since: i64,
    record: i64,
    result: Option<i64>,
) -> rusqlite::Result<Before> {
    let found: Option<i64> = database
        .prepare_cached("SELECT result FROM statements WHERE screening = ?1 AND record = ?2")?
        .query_row((since, record), |row| row.get(0))
        .optional()?;
    let Some(found) = found else {
        return Ok(Before::Absent);
    };
    if Some(found) == result {
        return Ok(Before::Nothing);
    }
    let packed = database
        .prepare_cached("SELECT report FROM results WHERE id = ?1")?
        .query_row([found], |row| row.get(0))?;
    Ok(Before::Packed(packed))
}

fn written<T>(rules: &Rules, settled: Settled, make: &impl Fn(Screened) -> T) -> (Written, T) {
    let Settled { heard, record, .. } = settled;
    let mut screened = heard.screened;
    let (changes, what_changed) = match settled.before {
        Before::Nothing => (Vec::new(), String::new()),
        Before::Absent => (vec![Change::New], String::new()),
        Before::Packed(packed) => match unpack(&packed, &rules.told) {
            Some(before) => (
                turned(&before.report, &screened.report),
                what_changed(&before.report, &screened.report),
            ),
            None => (Vec::new(), String::new()),
        },
    };
    let is_shown = heard.result.is_some() && settled.current == heard.result;
    let shown = (!is_shown).then(|| shown(&screened, &settled.rules));
    let fresh = heard.result.is_none().then(|| Fresh {
        text_key: settled.text_key,
        plan_file: heard.plan_file,
        plan_key: heard.plan_key,
        packed: pack(&mut screened, &settled.rules),
        head: head(&screened.report),
    });
    let report = &screened.report;
    let counts = &report.counts;
    let written = Written {
        record,
        result: heard.result,
        fresh,
        shown,
        changes,
        what_changed,
        name: report.record.clone(),
        lot: report.lot.clone(),
        places: report.places.join(" "),
        stage: report.stage.clone(),
        counts: [
            usize::from(report.exit_status),
            counts.falls_short,
            counts.too_close,
            counts.not_recorded,
        ],
    };
    (written, make(screened))
}

fn head(report: &Report) -> Head {
    let counts = &report.counts;
    Head {
        line: report.line,
        counts: [
            counts.meets,
            counts.falls_short,
            counts.too_close,
            counts.not_recorded,
            counts.does_not_apply,
            counts.refer,
        ],
        error: report.errors.as_ref().map(|errors| {
            let messages = errors.iter().map(|error| error.message.as_str());
            messages.collect::<Vec<_>>().join("; ")
        }),
        digest: report.record_digest.clone(),
    }
}
