//! Many records in, what was found in each out, in the same order whatever the number of threads.
//!
//! Records come in batches, and nothing of a batch is kept after it: an archive of any size takes
//! the memory of one batch and of what is counted. A record that can't be read is a result with
//! its errors. Nothing here opens a file: plans are asked for by name.

mod filter;
mod read;
mod summary;

pub use filter::Filter;
pub use read::{Content, PlanText, Plans, SheetText, Submitted};
pub use summary::{Gist, Lacking, Near, Placed, RuleCount, Summary, SummarySetting, Unread, Worst};

use std::collections::BTreeMap;

use rayon::ThreadPool;
use rayon::prelude::*;

use crate::finding::{Counts, Finding, Report, ReportedError, STANDING};
use crate::judge::{self, Chooser, Judged, SCHEMA, Telling};
use crate::library::{Opened, Problem, text_digest};
use crate::quantity::Rational;
use crate::record::{Overrides, Record, plan};
use crate::source::{SourceId, Sources};

/// What all records are screened with.
pub struct Screening<'a> {
    /// The library.
    pub opened: &'a Opened,
    /// What stands in for parts of their heads.
    pub overrides: &'a Overrides,
    /// The same in words.
    pub stood_in: &'a [String],
    /// How the rows of tables are read.
    pub sheet: Option<&'a SheetText>,
    /// Where the text of a plan comes from.
    pub plans: &'a Plans<'a>,
    /// Which findings are told.
    pub telling: Telling,
    chooser: Chooser,
}

/// What was found in one record.
#[derive(Debug, Clone)]
pub struct Screened {
    /// Its findings or its errors. Where only some are told, all are counted.
    pub report: Report,
    /// How many of the findings that were asked for have each verdict.
    pub asked: Counts,
    /// When it was recorded, canonical in seconds; none where it can't be read.
    pub recorded: Option<Rational>,
    /// Where its things lie by their ids, as longitude and latitude, where it has a plan.
    pub places: BTreeMap<String, Vec<[f64; 2]>>,
    /// The plan that it names, whether or not that could be read.
    pub plan: Option<PlanText>,
}

/// How something stands on the map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape<'a> {
    /// At one place: longitude and latitude.
    Point([f64; 2]),
    /// Along several.
    Line(&'a [[f64; 2]]),
}

impl<'a> Shape<'a> {
    /// The shape of some places; none where there are none.
    pub fn of(places: &'a [[f64; 2]]) -> Option<Shape<'a>> {
        match places {
            [] => None,
            [only] => Some(Shape::Point(*only)),
            line => Some(Shape::Line(line)),
        }
    }
}

impl Screened {
    /// Where a finding's subject lies: the innermost thing of it that the plan shows.
    pub fn position(&self, finding: &Finding) -> Option<&[[f64; 2]]> {
        let places = self.places.get(self.shown(finding)?)?;
        Some(places.as_slice())
    }

    /// That thing's id.
    pub fn shown<'f>(&self, finding: &'f Finding) -> Option<&'f str> {
        let subjects = finding.subject.iter().rev();
        let mut ids = subjects.filter_map(|subject| subject.id.as_deref());
        ids.find(|id| self.places.contains_key(*id))
    }
}

impl<'a> Screening<'a> {
    /// Ready to screen, and to tell all that is found.
    pub fn new(
        opened: &'a Opened,
        overrides: &'a Overrides,
        stood_in: &'a [String],
        sheet: Option<&'a SheetText>,
        plans: &'a Plans<'a>,
    ) -> Self {
        Screening {
            opened,
            overrides,
            stood_in,
            sheet,
            plans,
            telling: Telling::All,
            chooser: Chooser::new(&opened.library),
        }
    }

    /// The same, telling only some of what it finds.
    pub fn telling(self, telling: Telling) -> Self {
        Screening { telling, ..self }
    }

    /// Screens a batch on the threads of a pool and makes something of each result, in the order
    /// of the batch.
    pub fn batch<T: Send>(
        &self,
        pool: &ThreadPool,
        batch: Vec<Submitted>,
        make: impl Fn(Screened) -> T + Sync,
    ) -> Vec<T> {
        pool.install(|| {
            let records = batch.into_par_iter();
            records.map(|record| make(self.one(record))).collect()
        })
    }

    /// Screens a batch as [`Screening::batch`] does, while this thread does something else.
    pub fn batch_while<T: Send>(
        &self,
        pool: &ThreadPool,
        batch: Vec<Submitted>,
        make: impl Fn(Screened) -> T + Sync,
        meanwhile: impl FnOnce(),
    ) -> Vec<T> {
        let mut made = Vec::new();
        pool.in_place_scope(|scope| {
            scope.spawn(|_| made = self.batch(pool, batch, &make));
            meanwhile();
        });
        made
    }

    /// Screens one record.
    pub fn one(&self, record: Submitted) -> Screened {
        let mut sources = Sources::default();
        let (plan, judged) = self.judged_by_plan(&mut sources, &record);
        match judged {
            Ok(judged) => {
                let head = &judged.record.head;
                let source = head.plan.as_ref().and_then(|plan| plan.source);
                Screened {
                    recorded: Some(head.recorded_date.value),
                    places: source
                        .map(|source| plan::places(&sources, source))
                        .unwrap_or_default(),
                    asked: judged.report.counts,
                    report: judged.report,
                    plan,
                }
            }
            Err(problems) => {
                let mut errors: Vec<ReportedError> = problems
                    .iter()
                    .map(|problem| problem.reported(&sources))
                    .collect();
                if let Content::Unreadable(error) = &record.content {
                    errors.push(error.clone());
                }
                Screened {
                    report: self.unread(&record, errors),
                    asked: Counts::default(),
                    recorded: None,
                    places: BTreeMap::new(),
                    plan,
                }
            }
        }
    }

    /// Reads and judges one record.
    ///
    /// # Errors
    ///
    /// All mistakes of the record and its plan; none of them where there is nothing to read.
    pub fn judged(
        &self,
        sources: &mut Sources,
        record: &Submitted,
    ) -> Result<Judged, Vec<Problem>> {
        self.judged_by_plan(sources, record).1
    }

    /// The plan that a record names, whatever becomes of it, and the record judged.
    fn judged_by_plan(
        &self,
        sources: &mut Sources,
        submitted: &Submitted,
    ) -> (Option<PlanText>, Result<Judged, Vec<Problem>>) {
        let (id, record) = match self.read_alone(sources, submitted) {
            Ok(read) => read,
            Err(problems) => return (None, Err(problems)),
        };
        let plan = self.named_plan(&submitted.name, &record);
        let record = self.with_plan(sources, record, plan.as_ref());
        (
            plan,
            record.and_then(|record| self.judge(sources, id, record)),
        )
    }

    fn judge(&self, sources: &Sources, id: SourceId, read: Record) -> Result<Judged, Vec<Problem>> {
        let setting = self.opened.setting();
        let mut judged = judge::report_by(&self.chooser, setting, read, sources, id, self.telling)
            .map_err(|errors| errors.into_iter().map(Problem::from).collect::<Vec<_>>())?;
        judged.report.stood_in = self.stood_in.to_vec();
        Ok(judged)
    }

    /// The report on a record that can't be read.
    pub fn unread(&self, record: &Submitted, errors: Vec<ReportedError>) -> Report {
        Report {
            schema: SCHEMA.to_owned(),
            program: env!("CARGO_PKG_VERSION").to_owned(),
            record: record.name.clone(),
            line: record.line(),
            lot: None,
            places: Vec::new(),
            stage: None,
            stood_in: Vec::new(),
            ruleset_digest: self.opened.digest.clone(),
            ruleset_signed_by: self.opened.provenance.signed_by.clone(),
            record_digest: text_digest(&record.text()),
            exit_status: 2,
            counts: Counts::default(),
            claimed_complete: Vec::new(),
            topics_not_in_force: Vec::new(),
            notices: self.opened.provenance.notices.clone(),
            findings: None,
            errors: Some(errors),
            standing: STANDING.to_owned(),
        }
    }
}

/// Of two statuses the graver: 2, 1, 3, 0.
pub fn graver(a: u8, b: u8) -> u8 {
    let rank = |status| match status {
        2 => 3,
        1 => 2,
        3 => 1,
        _ => 0,
    };
    if rank(b) > rank(a) { b } else { a }
}
