//! Results in, counts and the worst of them out, in bounded space.
//!
//! Of each record only a gist is taken, on the thread that screened it; the summary adds gists up
//! in the order of the records, so that it says the same whatever the number of threads.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use super::Screened;
use crate::finding::{Due, Finding, MissingKind, Obligation, ReportedError, Verdict};
use crate::record::table::without_indices;

/// How many records are named where some lack the same fact.
const MOST_NAMED: usize = 3;

/// What is taken into a summary.
#[derive(Debug, Clone)]
pub struct SummarySetting {
    /// How many of each list are kept.
    pub most: usize,
    /// A finding that is met by less than this share of its limit is told.
    pub near: Option<f64>,
    /// The facts and lists that the cards ever had; none where that is not known.
    pub asked: Option<Vec<String>>,
}

/// What a summary takes from one record.
#[derive(Debug, Clone)]
pub struct Gist {
    record: String,
    status: u8,
    place: Option<String>,
    verdicts: BTreeMap<Verdict, usize>,
    rules: BTreeMap<String, RuleCount>,
    worst: Option<Worst>,
    missing: BTreeSet<String>,
    never_asked: BTreeSet<String>,
    near: Vec<Near>,
    errors: Vec<ReportedError>,
}

/// What became of one rule.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RuleCount {
    /// What it asks.
    pub title: String,
    /// Findings that fall short.
    pub falls_short: usize,
    /// Findings that are not decided although it was asked.
    pub undecided: usize,
    /// Findings that can't be decided because nobody ever asked.
    pub never_asked: usize,
}

/// What became of the records of one place.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Placed {
    /// How many there are.
    pub records: usize,
    /// In order.
    pub in_order: usize,
    /// With something that falls short.
    pub falls_short: usize,
    /// With something undecided and nothing that falls short.
    pub undecided: usize,
}

/// A record that falls short.
#[derive(Debug, Clone, PartialEq)]
pub struct Worst {
    /// Its name.
    pub record: String,
    /// Its lot.
    pub lot: String,
    /// The hazards of what falls short.
    pub hazards: BTreeSet<String>,
    /// How many findings fall short.
    pub falls_short: usize,
    /// How many of them say that readings exclude each other.
    pub contradictions: usize,
    /// By how much the worst of them does, as a share of its limit; none where that says nothing.
    pub share: Option<f64>,
    /// That finding: its rule.
    pub rule: String,
    /// What was measured.
    pub measured: Option<String>,
    /// Its limit.
    pub limit: Option<String>,
}

/// Something that is met by little.
#[derive(Debug, Clone, PartialEq)]
pub struct Near {
    /// The record.
    pub record: String,
    /// The rule.
    pub rule: String,
    /// Of what it speaks, as a path; empty for the lot.
    pub subject: String,
    /// What was measured.
    pub measured: String,
    /// Its limit.
    pub limit: String,
    /// By how much, as a share of the limit.
    pub share: f64,
}

/// Records that lack the same fact.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Lacking {
    /// How many.
    pub records: usize,
    /// The first of them.
    pub first: Vec<String>,
}

/// A record that can't be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unread {
    /// Its name.
    pub record: String,
    /// The first of its errors.
    pub error: ReportedError,
    /// How many more there are.
    pub others: usize,
}

/// What was found in all records together.
#[derive(Debug, Clone)]
pub struct Summary {
    /// What is taken into it.
    pub setting: SummarySetting,
    /// How many records there are.
    pub records: usize,
    /// How many have each exit status.
    pub statuses: BTreeMap<u8, usize>,
    /// How many findings have each verdict.
    pub verdicts: BTreeMap<Verdict, usize>,
    /// By rule, where something falls short or is undecided.
    pub rules: BTreeMap<String, RuleCount>,
    /// By place.
    pub places: BTreeMap<String, Placed>,
    /// The worst records, the worst first.
    pub worst: Vec<Worst>,
    /// Facts and lists that were asked, by how many records lack them.
    pub lacking: BTreeMap<String, Lacking>,
    /// The same of those that the cards never had.
    pub never_asked: BTreeMap<String, usize>,
    /// What is met by the least.
    pub near: Vec<Near>,
    /// How many are met by less than the chosen share.
    pub near_count: usize,
    /// The first records that can't be read.
    pub unread: Vec<Unread>,
}

impl Gist {
    /// What a summary takes from a result.
    pub fn of(screened: &Screened, setting: &SummarySetting) -> Gist {
        let report = &screened.report;
        let record = match report.line {
            Some(line) => format!("{}:{line}", report.record),
            None => report.record.clone(),
        };
        let mut gist = Gist {
            status: report.exit_status,
            place: (!report.places.is_empty()).then(|| report.places.join(" and ")),
            verdicts: screened.asked.by_verdict().collect(),
            rules: BTreeMap::new(),
            worst: None,
            missing: BTreeSet::new(),
            never_asked: BTreeSet::new(),
            near: Vec::new(),
            errors: report.errors.clone().unwrap_or_default(),
            record,
        };
        let findings = report.findings.as_deref().unwrap_or_default();
        for finding in findings {
            gist.finding(finding, setting);
        }
        let lot = report.lot.as_deref().unwrap_or_default();
        gist.worst = worst(&gist.record, lot, findings);
        gist
    }

    fn finding(&mut self, finding: &Finding, setting: &SummarySetting) {
        self.near.extend(near(&self.record, finding, setting.near));
        if finding.due == Due::Later {
            return;
        }
        let mut count = RuleCount::default();
        match finding.verdict {
            Verdict::FallsShort => count.falls_short = 1,
            Verdict::TooClose => count.undecided = 1,
            Verdict::NotRecorded => {
                if self.lacks(finding, setting) {
                    count.undecided = 1;
                } else {
                    count.never_asked = 1;
                }
            }
            Verdict::Meets | Verdict::DoesNotApply | Verdict::Refer => return,
        }
        let known = self.rules.entry(finding.rule.clone()).or_default();
        known.title.clone_from(&finding.title);
        known.add(&count);
    }

    /// Takes down what a finding lacks; whether any of it was ever asked.
    fn lacks(&mut self, finding: &Finding, setting: &SummarySetting) -> bool {
        let mut was_asked = false;
        for missing in &finding.missing {
            let path = match (&missing.kind, missing.path.as_str()) {
                (_, "") => missing.what.clone(),
                (_, path) => without_indices(path),
            };
            let asked = missing.kind == MissingKind::Disagree || ever_asked(setting, &path);
            was_asked |= asked;
            if asked {
                self.missing.insert(path);
            } else {
                self.never_asked.insert(path);
            }
        }
        was_asked || finding.missing.is_empty()
    }
}

/// Whether the cards ever had a fact or a list, or something of it.
fn ever_asked(setting: &SummarySetting, path: &str) -> bool {
    let Some(asked) = &setting.asked else {
        return true;
    };
    // The head's permits are no facts; they are asked of every record.
    path.starts_with("permits.")
        || asked
            .iter()
            .any(|one| one == path || inside(path, one) || inside(one, path))
}

fn inside(inner: &str, outer: &str) -> bool {
    inner
        .strip_prefix(outer)
        .is_some_and(|rest| rest.starts_with('.'))
}

impl RuleCount {
    fn add(&mut self, other: &RuleCount) {
        self.falls_short += other.falls_short;
        self.undecided += other.undecided;
        self.never_asked += other.never_asked;
        if self.title.is_empty() {
            self.title.clone_from(&other.title);
        }
    }
}

fn near(record: &str, finding: &Finding, least: Option<f64>) -> Option<Near> {
    let si = finding.si.as_ref()?;
    let share = si.share?;
    // What is exact and exactly at its limit was chosen so.
    let was_chosen = share == 0.0 && si.measured[0] == si.measured[1];
    let is_near = finding.verdict == Verdict::Meets && share < least? && !was_chosen;
    let subject = finding.subject.last();
    is_near.then(|| Near {
        record: record.to_owned(),
        rule: finding.rule.clone(),
        subject: subject.map_or(String::new(), |subject| subject.path.clone()),
        measured: finding.measured.clone().unwrap_or_default(),
        limit: finding.limit.clone().unwrap_or_default(),
        share,
    })
}

/// What makes a record one of the worst, if anything required of it falls short.
fn worst(record: &str, lot: &str, findings: &[Finding]) -> Option<Worst> {
    let short: Vec<&Finding> = findings
        .iter()
        .filter(|finding| finding.verdict == Verdict::FallsShort)
        .filter(|finding| finding.due != Due::Later)
        .filter(|finding| finding.obligation != Obligation::Should)
        .collect();
    let share = |finding: &Finding| finding.si.as_ref().and_then(|si| si.share);
    let of = short
        .iter()
        .copied()
        .min_by(|one, two| by_share(share(one), share(two)))?;
    let hazards = short.iter().filter_map(|finding| finding.hazard.clone());
    let apart = |finding: &&&Finding| {
        let kinds = finding.missing.iter().map(|missing| missing.kind);
        kinds.clone().any(|kind| kind == MissingKind::Disagree)
    };
    Some(Worst {
        record: record.to_owned(),
        lot: lot.to_owned(),
        hazards: hazards.collect(),
        falls_short: short.len(),
        contradictions: short.iter().filter(apart).count(),
        share: share(of),
        rule: of.rule.clone(),
        measured: of.measured.clone(),
        limit: of.limit.clone(),
    })
}

/// The greatest shortfall first; what has no share after those that have one.
fn by_share(one: Option<f64>, two: Option<f64>) -> Ordering {
    match (one, two) {
        (Some(one), Some(two)) => one.total_cmp(&two),
        (Some(_), None) => Ordering::Less,
        (None, Some(_)) => Ordering::Greater,
        (None, None) => Ordering::Equal,
    }
}

impl Worst {
    /// More hazards, then the greater shortfall, then more findings.
    fn rank(&self, other: &Worst) -> Ordering {
        let hazards = other.hazards.len().cmp(&self.hazards.len());
        hazards
            .then_with(|| by_share(self.share, other.share))
            .then_with(|| other.falls_short.cmp(&self.falls_short))
    }
}

impl Summary {
    /// Of nothing yet.
    pub fn new(setting: SummarySetting) -> Summary {
        Summary {
            setting,
            records: 0,
            statuses: BTreeMap::new(),
            verdicts: BTreeMap::new(),
            rules: BTreeMap::new(),
            places: BTreeMap::new(),
            worst: Vec::new(),
            lacking: BTreeMap::new(),
            never_asked: BTreeMap::new(),
            near: Vec::new(),
            near_count: 0,
            unread: Vec::new(),
        }
    }

    /// Adds the gist of the next record.
    pub fn add(&mut self, gist: Gist) {
        let most = self.setting.most;
        self.records += 1;
        *self.statuses.entry(gist.status).or_default() += 1;
        for (verdict, count) in gist.verdicts {
            *self.verdicts.entry(verdict).or_default() += count;
        }
        for (rule, count) in &gist.rules {
            self.rules.entry(rule.clone()).or_default().add(count);
        }
        if let Some(place) = gist.place {
            self.places.entry(place).or_default().add(gist.status);
        }
        for path in gist.missing {
            let lacking = self.lacking.entry(path).or_default();
            lacking.records += 1;
            if lacking.first.len() < MOST_NAMED {
                lacking.first.push(gist.record.clone());
            }
        }
        for path in gist.never_asked {
            *self.never_asked.entry(path).or_default() += 1;
        }
        self.near_count += gist.near.len();
        let by_share = |one: &Near, two: &Near| one.share.total_cmp(&two.share);
        for near in gist.near {
            keep(&mut self.near, near, most, by_share);
        }
        if let Some(worst) = gist.worst {
            keep(&mut self.worst, worst, most, Worst::rank);
        }
        let mut errors = gist.errors.into_iter();
        if let Some(error) = errors.next().filter(|_| self.unread.len() < most) {
            self.unread.push(Unread {
                record: gist.record,
                error,
                others: errors.len(),
            });
        }
    }
}

impl Placed {
    fn add(&mut self, status: u8) {
        self.records += 1;
        match status {
            0 => self.in_order += 1,
            1 => self.falls_short += 1,
            _ => self.undecided += 1,
        }
    }
}

/// Keeps the first few by an order; of equals, those that came first.
fn keep<T>(kept: &mut Vec<T>, new: T, most: usize, order: impl Fn(&T, &T) -> Ordering) {
    let at = kept.partition_point(|known| order(known, &new) != Ordering::Greater);
    if at < most {
        kept.insert(at, new);
        kept.truncate(most);
    }
}
