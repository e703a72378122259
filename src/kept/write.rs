//! Records by their rows in, rows written out.

use rusqlite::{Connection, OptionalExtension as _, params};

use super::geometry::Extent;
use super::key::Key;
use super::rows::Shown;
use super::turned::Change;
use super::{Keeping, Ongoing, Touched};

/// What is written of a record.
pub(super) struct Written {
    pub record: i64,
    pub result: Option<i64>,
    pub fresh: Option<Fresh>,
    /// What is shown of it, where that is not shown yet.
    pub shown: Option<Shown>,
    pub changes: Vec<Change>,
    pub what_changed: String,
    pub name: String,
    pub lot: Option<String>,
    pub places: String,
    pub stage: Option<String>,
    pub counts: [usize; 4],
}

/// A row of `results` to be.
pub(super) struct Fresh {
    pub text_key: Key,
    pub plan_file: Option<String>,
    pub plan_key: Vec<u8>,
    pub packed: Vec<u8>,
    pub head: Head,
}

/// What a row of `results` shows beside the packed report.
pub(super) struct Head {
    pub line: Option<usize>,
    pub counts: [usize; 6],
    pub error: Option<String>,
    pub digest: String,
}

impl Keeping {
    /// Keeps what one record says.
    pub(super) fn write(&mut self, ongoing: Ongoing, written: Written) -> rusqlite::Result<()> {
        let (result, is_new) = match (&written.fresh, written.result) {
            (Some(fresh), _) => self.result(fresh, &written)?,
            (None, Some(result)) => (result, false),
            (None, None) => unreachable!("what was not kept was judged"),
        };
        self.judged += usize::from(written.fresh.is_some());
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
            .execute((ongoing.id, written.record, result, is_new))?;
        self.touched.has_turned |= !written.changes.is_empty();
        self.change(ongoing, &written)
    }

    /// The row of a result, and whether it is a new one: the same file may be given twice, and a
    /// row that somebody damaged is mended.
    fn result(&self, fresh: &Fresh, written: &Written) -> rusqlite::Result<(i64, bool)> {
        let known: Option<i64> = self
            .database
            .prepare_cached(
                "UPDATE results SET report = ?3 WHERE text_key = ?1 AND plan_key = ?2
                 RETURNING id",
            )?
            .query_row((fresh.text_key, &fresh.plan_key, &fresh.packed), |row| {
                row.get(0)
            })
            .optional()?;
        if let Some(known) = known {
            return Ok((known, false));
        }
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
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17)",
            )?
            .execute(params![
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
            ])?;
        Ok((self.database.last_insert_rowid(), true))
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
            let counts = &thing.counts;
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
                    counts.total(),
                    counts.falls_short,
                    counts.too_close,
                    counts.not_recorded,
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
