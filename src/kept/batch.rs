//! A batch of records in; what was said of each before, or is said of it now, kept and handed on.

use rayon::ThreadPool;
use rayon::prelude::*;
use rusqlite::{Connection, OptionalExtension as _, params};

use super::finish::Exact;
use super::geometry::Extent;
use super::key::{Key, of_plan, of_text};
use super::pack::{pack, told, unpack};
use super::rows::{Shown, shown};
use super::turned::{Change, turned, what_changed};
use super::{Keeping, KeptError, Ongoing, Rules, Touched};
use crate::finding::Report;
use crate::screen::{Screened, Screening, Submitted};

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

/// What is written of a record.
struct Written {
    record: i64,
    result: Option<i64>,
    fresh: Option<Fresh>,
    /// What is shown of it, where that is not shown yet.
    shown: Option<Shown>,
    changes: Vec<Change>,
    what_changed: String,
    name: String,
    lot: Option<String>,
    places: String,
    stage: Option<String>,
    counts: [usize; 4],
}

/// A row of `results` to be.
struct Fresh {
    text_key: Key,
    plan_file: Option<String>,
    plan_key: Vec<u8>,
    packed: Vec<u8>,
    head: Head,
}

/// What a row of `results` shows beside the packed report.
struct Head {
    line: Option<usize>,
    counts: [usize; 6],
    error: Option<String>,
    digest: String,
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
        self.in_transaction(|keeping| keeping.batch_within(screening, pool, batch, make))
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

    fn batch_within<T: Send>(
        &mut self,
        screening: &Screening<'_>,
        pool: &ThreadPool,
        batch: Vec<Submitted>,
        make: impl Fn(Screened) -> T + Sync,
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
            settled.map(|one| written(rules, one, &make)).collect()
        });
        let mut made = Vec::new();
        for (written, one) in both {
            self.write(ongoing, written)?;
            made.push(one);
        }
        self.describe(Exact::No)?;
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

// What is written.

impl Keeping {
    fn write(&mut self, ongoing: Ongoing, written: Written) -> rusqlite::Result<()> {
        let is_judged = written.fresh.is_some();
        self.judged += usize::from(is_judged);
        let result = match (&written.fresh, written.result) {
            (None, Some(result)) => result,
            (Some(fresh), _) => self.result(fresh, &written)?,
            (None, None) => unreachable!("what was not judged was kept"),
        };
        if let Some(shown) = &written.shown {
            self.show(&written, shown)?;
            self.database
                .prepare_cached("UPDATE records SET result = ?1 WHERE id = ?2")?
                .execute((result, written.record))?;
        }
        let stated: Option<i64> = self
            .database
            .prepare_cached("SELECT result FROM statements WHERE screening = ?1 AND record = ?2")?
            .query_row((ongoing.id, written.record), |row| row.get(0))
            .optional()?;
        if stated == Some(result) {
            return Ok(());
        }
        self.database
            .prepare_cached(
                "INSERT INTO statements (screening, record, result, judged)
                 VALUES (?1, ?2, ?3, ?4) ON CONFLICT (screening, record)
                 DO UPDATE SET result = excluded.result, judged = excluded.judged",
            )?
            .execute((ongoing.id, written.record, result, is_judged))?;
        self.touched.has_turned |= !written.changes.is_empty();
        self.change(ongoing, &written)
    }

    fn result(&self, fresh: &Fresh, written: &Written) -> rusqlite::Result<i64> {
        let head = &fresh.head;
        let [
            meets,
            falls_short,
            too_close,
            not_recorded,
            does_not_apply,
            refer,
        ] = head.counts;
        self.database
            .prepare_cached(
                "INSERT INTO results (text_key, plan_file, plan_key, line, lot, places, stage,
                 status, meets, falls_short, too_close, not_recorded, does_not_apply, refer, error,
                 record_digest, report)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17)
                 ON CONFLICT (text_key, plan_key) DO UPDATE SET report = excluded.report
                 RETURNING id",
            )?
            .query_row(
                params![
                    fresh.text_key,
                    fresh.plan_file,
                    fresh.plan_key,
                    head.line,
                    written.lot,
                    written.places,
                    written.stage,
                    written.counts[0],
                    meets,
                    falls_short,
                    too_close,
                    not_recorded,
                    does_not_apply,
                    refer,
                    head.error,
                    head.digest,
                    fresh.packed,
                ],
                |row| row.get(0),
            )
    }

    /// Puts what is shown of a record in the place of what was.
    fn show(&mut self, written: &Written, shown: &Shown) -> rusqlite::Result<()> {
        unshow(&self.database, written.record)?;
        let [status, falls_short, too_close, not_recorded] = written.counts;
        if let Some(middle) = &shown.middle {
            self.database
                .prepare_cached(
                    "INSERT INTO lots_on_map (geom, record_id, record, lot, places, stage, status,
                     falls_short, too_close, not_recorded)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
                )?
                .execute(params![
                    middle,
                    written.record,
                    written.name,
                    written.lot,
                    written.places,
                    written.stage,
                    status,
                    falls_short,
                    too_close,
                    not_recorded,
                ])?;
        }
        let mut fids = Vec::new();
        for thing in &shown.things {
            let counted = &thing.counted;
            self.database
                .prepare_cached(
                    "INSERT INTO things_on_map (geom, record_id, record, lot, thing, findings,
                     falls_short, too_close, not_recorded)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
                )?
                .execute(params![
                    thing.geometry,
                    written.record,
                    written.name,
                    written.lot,
                    thing.id,
                    counted.findings,
                    counted.falls_short,
                    counted.too_close,
                    counted.not_recorded,
                ])?;
            fids.push((thing.id.as_str(), self.database.last_insert_rowid()));
        }
        for row in &shown.findings {
            let thing = row.thing.as_deref();
            let fid = fids.iter().find(|(id, _)| Some(*id) == thing);
            self.database
                .prepare_cached(
                    "INSERT INTO verdicts (record, rule, thing, verdict, due, subject, line,
                     measured, \"limit\", margin, share, missing, in_force_on)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
                )?
                .execute(params![
                    written.record,
                    row.rule,
                    fid.map(|(_, fid)| fid),
                    row.verdict.name(),
                    row.due,
                    row.subject,
                    row.line,
                    row.measured,
                    row.limit,
                    row.margin,
                    row.share,
                    said(&row.missing),
                    row.in_force_on,
                ])?;
        }
        self.touched.add(shown);
        Ok(())
    }

    fn change(&self, ongoing: Ongoing, written: &Written) -> rusqlite::Result<()> {
        let Some(since) = ongoing.since else {
            return Ok(());
        };
        self.database
            .prepare_cached("DELETE FROM changes WHERE screening = ?1 AND record_id = ?2")?
            .execute((ongoing.id, written.record))?;
        for change in &written.changes {
            let finding = change.finding();
            self.database
                .prepare_cached(
                    "INSERT INTO changes (screening, since, record_id, record, lot, turn,
                     what_changed, rule, title, subject, before, after, before_measured,
                     after_measured)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)",
                )?
                .execute(params![
                    ongoing.id,
                    since,
                    written.record,
                    written.name,
                    written.lot,
                    change.words(),
                    said(&written.what_changed),
                    finding.map(|one| one.rule.as_str()),
                    finding.map(|one| one.title.as_str()),
                    finding.and_then(|one| said(&one.subject.join(", ")).map(str::to_owned)),
                    finding.and_then(|one| one.before),
                    finding.and_then(|one| one.after),
                    finding.and_then(|one| one.before_measured.as_deref()),
                    finding.and_then(|one| one.after_measured.as_deref()),
                ])?;
        }
        Ok(())
    }
}

impl Touched {
    fn add(&mut self, shown: &Shown) {
        let wider = |known: Option<Extent>, new: Option<Extent>| {
            [known, new].into_iter().flatten().reduce(Extent::with)
        };
        self.is_shown = true;
        self.things = wider(self.things, shown.extent);
        let middle = shown.extent.map(Extent::middle);
        self.lots = wider(self.lots, Extent::of(&middle));
    }
}

/// Takes away what is shown of a record.
pub(super) fn unshow(database: &Connection, record: i64) -> rusqlite::Result<()> {
    for statement in [
        "DELETE FROM verdicts WHERE record = ?1",
        "DELETE FROM things_on_map WHERE record_id = ?1",
        "DELETE FROM lots_on_map WHERE record_id = ?1",
    ] {
        database.prepare_cached(statement)?.execute([record])?;
    }
    Ok(())
}

/// What was said; nothing where that is empty.
fn said(text: &str) -> Option<&str> {
    (!text.is_empty()).then_some(text)
}
