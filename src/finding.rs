//! What judging gives: findings, their verdicts and their evidence.
//!
//! These types are the contract: JSON is what they serialize to, and their schema is published
//! beside the records'. Every other form shows the same findings.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a rule says of one subject.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The rule applies and what it asks is so, for every value the record allows.
    Meets,
    /// The rule applies and what it asks is not so, for every value the record allows.
    FallsShort,
    /// Undecided, and nothing was missing: the tolerances reach across the limit.
    #[serde(rename = "too_close")]
    TooClose,
    /// Undecided, and something was missing. Never taken for `Meets`.
    NotRecorded,
    /// The rule's `when` is false, or there is no such subject.
    DoesNotApply,
    /// The rule hands the decision to the authority, or a precaution to the competent person.
    Refer,
}

impl Verdict {
    /// Every verdict, in the order in which counts are given.
    pub const ALL: [Verdict; 6] = [
        Verdict::Meets,
        Verdict::FallsShort,
        Verdict::TooClose,
        Verdict::NotRecorded,
        Verdict::DoesNotApply,
        Verdict::Refer,
    ];

    /// Its name in JSON and in cases.
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Meets => "meets",
            Verdict::FallsShort => "falls_short",
            Verdict::TooClose => "too_close",
            Verdict::NotRecorded => "not_recorded",
            Verdict::DoesNotApply => "does_not_apply",
            Verdict::Refer => "refer",
        }
    }

    /// Whether it leaves open what knowing more would decide.
    pub fn is_undecided(self) -> bool {
        matches!(self, Verdict::NotRecorded | Verdict::TooClose)
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Verdict::Meets => "meets",
            Verdict::FallsShort => "falls short",
            Verdict::TooClose => "too close to call",
            Verdict::NotRecorded => "not recorded",
            Verdict::DoesNotApply => "does not apply",
            Verdict::Refer => "refer",
        }
    }

    /// The verdict of a name.
    pub fn named(name: &str) -> Option<Verdict> {
        Verdict::ALL
            .into_iter()
            .find(|verdict| verdict.name() == name)
    }
}

/// What a rule asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Obligation {
    /// Required.
    Shall,
    /// Advised; never changes the exit status.
    Should,
    /// That a reading is there.
    ShallRecord,
    /// A question for the authority.
    Refer,
    /// Worker safety; never meets.
    Precaution,
}

impl Obligation {
    /// In the words of the rule language.
    pub fn words(self) -> &'static str {
        match self {
            Obligation::Shall => "shall",
            Obligation::Should => "should",
            Obligation::ShallRecord => "shall record",
            Obligation::Refer => "refer",
            Obligation::Precaution => "precaution",
        }
    }
}

/// Whether something is to be done about it at this stage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Due {
    /// Not before a later hold point; not counted in the exit status.
    Later,
    /// At this stage.
    Now,
    /// What is missing can no longer be seen as it was.
    Past,
}

impl Due {
    /// Its name in JSON.
    pub fn name(self) -> &'static str {
        match self {
            Due::Later => "later",
            Due::Now => "now",
            Due::Past => "past",
        }
    }
}

/// How tolerances count in the verdict that decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Decision {
    /// They guard it.
    Banded,
    /// They are left out.
    AsRead,
}

/// How far a cited clause binds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ClauseStanding {
    /// Read in a published text.
    Published,
    /// Common practice of the trade.
    Practice,
    /// Published, but stated here from memory.
    Memory,
    /// An ordinance or order of a place.
    Local,
}

/// Of what a rule speaks: a thing of the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Subject {
    /// What kind of thing.
    pub thing: String,
    /// Where it stands in the record.
    pub path: String,
    /// Its id, where it has one.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub id: Option<String>,
    /// Where along its run it begins.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub from: Option<String>,
    /// Where along its run it ends.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub to: Option<String>,
    /// Where along its run it lies.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub at: Option<String>,
}

/// Values for plotting, rounded, in canonical units; never judged with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Plot {
    /// The least and the greatest measured value; null where there is no end.
    pub measured: [Option<f64>; 2],
    /// The limit; null where it is not one number.
    pub limit: Option<f64>,
    /// The least margin.
    pub margin: Option<f64>,
    /// The margin as a share of the limit; null where that says nothing: of a limit of zero, an
    /// elevation, a temperature or a date.
    pub share: Option<f64>,
    /// The canonical unit.
    pub unit: String,
}

/// What kind of thing is missing.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum MissingKind {
    /// A fact that was not recorded.
    Fact,
    /// A fact known only from the plan, or told.
    NotRead,
    /// Readings that exclude each other.
    Disagree,
    /// A list that was not written, or may hold more.
    List,
    /// A stretch of a run that nobody measured.
    Stretch,
    /// A value that a table does not have.
    Table,
    /// A value outside a curve.
    Curve,
    /// Arithmetic without an answer.
    Domain,
    /// A permit or its date.
    Permit,
}

/// What kept a verdict from being reached.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
pub struct Missing {
    /// Where it would stand in the record; empty where that is nowhere.
    pub path: String,
    /// In words.
    pub what: String,
    /// What kind it is.
    pub kind: MissingKind,
}

/// A place in the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Place {
    /// The fact or list.
    pub path: String,
    /// The line, from 1.
    pub line: usize,
    /// The character within the line, from 1.
    pub column: usize,
    /// The row and column, where the record is the row of a table.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub cell: Option<String>,
}

/// A clause that a rule or a limit stands on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Clause {
    /// The source's name in the rule language.
    pub source: String,
    /// Its title.
    pub document: String,
    /// Its edition.
    pub edition: String,
    /// The section.
    pub section: String,
    /// How far it binds.
    pub standing: ClauseStanding,
}

impl Clause {
    /// As it is cited within a line: the document, its edition and the section.
    pub fn cited(&self) -> String {
        format!("{} ({}), {}", self.document, self.edition, self.section)
    }
}

/// A value that a comparison used, and where it came from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Limit {
    /// The limit or the cell.
    pub name: String,
    /// Its value as written; `no value` where it has none.
    pub value: String,
    /// Through which layers it came, the model first.
    pub way: Vec<Layer>,
}

/// What one layer says of a value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Layer {
    /// `model`, or the place.
    pub layer: String,
    /// The value there.
    pub value: String,
    /// From permits of which date.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub from: Option<String>,
    /// To permits before which date.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub until: Option<String>,
    /// Under which clause.
    pub clause: String,
    /// Why.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub because: Option<String>,
    /// What is to be said about it: that it is stale, or has no force.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub note: Option<String>,
}

/// A variance that names this rule and subject.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Variance {
    /// Its number.
    pub number: String,
    /// Who granted it.
    pub authority: String,
    /// When.
    pub date: String,
    /// The last day, or `no end`.
    pub until: String,
    /// Why.
    pub because: String,
    /// Whether the place's own ruleset lists it; otherwise only the record claims it.
    pub granted: bool,
    /// Whether it was valid when the installation was recorded.
    pub valid: bool,
}

/// What one rule says of one subject, and why.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Finding {
    /// The rule.
    pub rule: String,
    /// What it asks, in a line.
    pub title: String,
    /// How it asks.
    pub obligation: Obligation,
    /// The verdict that decides.
    pub verdict: Verdict,
    /// Which of the two that is.
    pub decision: Decision,
    /// The verdict with tolerances as guard.
    pub banded: Verdict,
    /// The verdict without tolerances.
    pub as_read: Verdict,
    /// Whether it is due.
    pub due: Due,
    /// Of what it speaks, the outermost first; empty for the lot itself.
    pub subject: Vec<Subject>,
    /// What was measured, with its unit.
    pub measured: Option<String>,
    /// The limit, with its unit.
    pub limit: Option<String>,
    /// The least distance to the limit that the record allows, positive when satisfied.
    pub margin: Option<String>,
    /// The same for plotting.
    pub si: Option<Plot>,
    /// What kept it from being decided.
    pub missing: Vec<Missing>,
    /// Where in the record the values stand.
    #[serde(rename = "where")]
    pub places: Vec<Place>,
    /// The clauses, the local ones first.
    pub clauses: Vec<Clause>,
    /// The values it used and their ways.
    pub limits: Vec<Limit>,
    /// The kind of permit whose date selected the rule.
    pub permit: Option<String>,
    /// That date; the recorded date for a precaution.
    pub in_force_on: Option<String>,
    /// The place whose rule it is; none for the model's own.
    pub place: Option<String>,
    /// A variance for it.
    pub variance: Option<Variance>,
    /// The question, where it refers.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub question: Option<String>,
    /// How it is mended.
    pub remedy: String,
    /// Where its shortfall can still be mended.
    pub hold: String,
    /// Whom it can hurt.
    pub hazard: Option<String>,
    /// What to mind about that.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub hazard_caution: Option<String>,
    /// Always: whom to ask.
    pub caution: String,
}

/// An error of a record or a call, where it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ReportedError {
    /// Its code.
    pub code: String,
    /// What is wrong.
    pub message: String,
    /// How to mend it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub help: Option<String>,
    /// The line, from 1.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub line: Option<usize>,
    /// The character within the line, from 1.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub column: Option<usize>,
    /// The row and column, where the record is the row of a table.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub cell: Option<String>,
}

/// How many findings have each verdict.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Counts {
    /// Meets.
    pub meets: usize,
    /// Falls short.
    pub falls_short: usize,
    /// Too close to call.
    pub too_close: usize,
    /// Not recorded.
    pub not_recorded: usize,
    /// Does not apply.
    pub does_not_apply: usize,
    /// Refer.
    pub refer: usize,
}

impl Counts {
    /// Counts some findings.
    pub fn of(findings: &[Finding]) -> Counts {
        let mut counts = Counts::default();
        for finding in findings {
            counts.add(finding.verdict);
        }
        counts
    }

    /// Counts one more.
    pub fn add(&mut self, verdict: Verdict) {
        *self.of_verdict(verdict) += 1;
    }

    /// How many have each verdict that any has.
    pub fn by_verdict(mut self) -> impl Iterator<Item = (Verdict, usize)> {
        let counts = Verdict::ALL.map(|verdict| (verdict, *self.of_verdict(verdict)));
        counts.into_iter().filter(|(_, count)| *count > 0)
    }

    /// How many there are.
    pub fn total(self) -> usize {
        self.by_verdict().map(|(_, count)| count).sum()
    }

    fn of_verdict(&mut self, verdict: Verdict) -> &mut usize {
        match verdict {
            Verdict::Meets => &mut self.meets,
            Verdict::FallsShort => &mut self.falls_short,
            Verdict::TooClose => &mut self.too_close,
            Verdict::NotRecorded => &mut self.not_recorded,
            Verdict::DoesNotApply => &mut self.does_not_apply,
            Verdict::Refer => &mut self.refer,
        }
    }
}

/// Who signed a ruleset.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SignedBy {
    /// Who, as the list of signers names them.
    pub principal: String,
    /// The fingerprint of the key.
    pub key: String,
    /// Where the list of signers came from.
    pub signers: SignerList,
}

/// Where a list of signers came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SignerList {
    /// It was named on the command line.
    Given,
    /// It is the program's own for that place.
    Program,
    /// It came with the ruleset itself, and proves no more than what the reader compares.
    Ruleset,
}

impl SignerList {
    /// In words, behind *by the list of signers*.
    pub fn words(self) -> &'static str {
        match self {
            SignerList::Given => "named on the command line",
            SignerList::Program => "inside the program",
            SignerList::Ruleset => "that came with the ruleset itself",
        }
    }
}

/// Who signed a ruleset that came as a file, and what is to be said of it besides.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Provenance {
    /// Who signed it.
    pub signed_by: Option<SignedBy>,
    /// What every report by it says: that it is unsigned, or superseded.
    pub notices: Vec<String>,
}

/// One record's findings, or the errors that kept it from being read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Groundrule findings of one record")]
pub struct Report {
    /// Which schema this follows.
    pub schema: String,
    /// The version of the program.
    pub program: String,
    /// The record's name.
    pub record: String,
    /// The line on which the record begins, where its file holds several.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub line: Option<usize>,
    /// The lot.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub lot: Option<String>,
    /// The places whose rules were asked for.
    pub places: Vec<String>,
    /// How far the work has come.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub stage: Option<String>,
    /// What stood in for parts of the record's head: the place, the permit dates, the stage.
    pub stood_in: Vec<String>,
    /// The digest of the ruleset.
    pub ruleset_digest: String,
    /// Who signed the ruleset, where it came as a signed file.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub ruleset_signed_by: Option<SignedBy>,
    /// The digest of the record.
    pub record_digest: String,
    /// 0 in order, 1 falls short, 2 not read, 3 undecided.
    pub exit_status: u8,
    /// How many findings have each verdict.
    pub counts: Counts,
    /// The lists that the record says are complete.
    pub claimed_complete: Vec<String>,
    /// The library's topics that are not in force there then.
    pub topics_not_in_force: Vec<String>,
    /// What should be said of the ruleset: statements that are stale or have no force, and
    /// variances that are expired or match nothing.
    pub notices: Vec<String>,
    /// The findings.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub findings: Option<Vec<Finding>>,
    /// The errors, in place of findings.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub errors: Option<Vec<ReportedError>>,
    /// That this screens and does not approve.
    pub standing: String,
}

/// Said in every report.
pub const STANDING: &str = "This screens a record against rules; it approves nothing. The local authority decides, and work on electricity, gas and trenches is for licensed and competent people.";
