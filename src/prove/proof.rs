//! What proving found: the words of the report and the shape of its JSON.

use schemars::JsonSchema;
use serde::Serialize;

use crate::finding::{Clause, Verdict};
use crate::source::{Sources, Span};

/// What a proof of some part of a library came to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Proof {
    /// What was proved: a place, a topic, or the whole library.
    pub of: String,
    /// The digest of the ruleset.
    pub ruleset: String,
    /// The date by which what a place has in force was taken.
    pub on: String,
    /// Whether nothing in it fails or is unproved.
    pub proved: bool,
    /// The cases, and the rules that lack some.
    pub cases: Cases,
    /// The limits that the model leaves open and no place filled.
    pub open_limits: Vec<OpenLimit>,
    /// What cases notice when a limit, a row, a literal or a comparison is changed.
    pub changes: Changes,
    /// What places change, and which way.
    pub amendments: Vec<Amendment>,
    /// Rules whose outcome is settled before anything is recorded.
    pub settled: Vec<Settled>,
    /// Gaps and overlaps of adoptions and statements.
    pub over_time: Vec<OverTime>,
}

/// A place in a file of the library.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct Where {
    /// The file.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
    /// The character within the line, from 1.
    pub column: usize,
}

impl Where {
    pub(super) fn of(sources: &Sources, span: Span) -> Where {
        let position = sources.position(span);
        Where {
            file: sources.get(span.source).name.to_string(),
            line: position.line,
            column: position.column,
        }
    }
}

impl std::fmt::Display for Where {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}", self.file, self.line)
    }
}

/// The cases and what came of them.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Cases {
    /// How many cases were run.
    pub run: usize,
    /// How many verdicts they expect.
    pub expectations: usize,
    /// Those that came out otherwise.
    pub wrong: Vec<WrongCase>,
    /// Rules that lack a case which their form allows.
    pub lacking: Vec<Lacking>,
}

/// A case that came out otherwise than its author expects.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct WrongCase {
    /// The case.
    pub case: String,
    /// Where the expectation stands.
    pub at: Where,
    /// The rule.
    pub rule: String,
    /// What was expected; a single verdict is of every subject.
    pub expected: Vec<Verdict>,
    /// What was found, in the order of subjects.
    pub found: Vec<Verdict>,
}

/// A rule without a case for a verdict that its form allows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Lacking {
    /// The rule.
    pub rule: String,
    /// Where it stands.
    pub at: Where,
    /// The verdicts that no case shows.
    pub verdicts: Vec<Verdict>,
}

/// A limit that the model leaves open and nobody filled at a place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct OpenLimit {
    /// The place.
    pub place: String,
    /// The limit.
    pub limit: String,
    /// What it means.
    pub meaning: Option<String>,
    /// What is to be written for it: a length, a number.
    pub expects: String,
    /// Where the model leaves it open.
    pub at: Where,
    /// The rules that ask the authority until it is filled.
    pub rules: Vec<String>,
    /// The clauses that hand it to the place.
    pub clauses: Vec<Clause>,
    /// The place's file.
    pub file: String,
    /// The statement to write there, its value, source and reason left to fill.
    pub statement: String,
}

/// What became of the changes that were tried.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Changes {
    /// How many were tried.
    pub tried: usize,
    /// How many some case noticed.
    pub noticed: usize,
    /// Those that no record can show: another equivalent decides, or another condition, or what is
    /// compared goes in steps.
    pub never_decides: Vec<NeverDecides>,
    /// Those that no case noticed.
    pub unproved: Vec<Unproved>,
    /// Cases that would notice them, ready to paste.
    pub suggestions: Vec<Suggestion>,
}

/// What a little more or less, or stricter or not, makes no difference to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct NeverDecides {
    /// What was changed: a limit, a row of a table, a literal, a comparison.
    pub what: String,
    /// As it is.
    pub is: String,
    /// As it was tried.
    pub tried: String,
    /// Why nothing shows it.
    pub why: String,
    /// Where it stands.
    pub at: Where,
}

/// A change that no case noticed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Unproved {
    /// What was changed: a limit, a row of a table, a literal, a comparison.
    pub what: String,
    /// As it is.
    pub is: String,
    /// As it was tried.
    pub tried: String,
    /// Where it stands.
    pub at: Where,
    /// The rules that use it.
    pub rules: Vec<String>,
    /// Which of the suggested cases notices it, counted from 0.
    pub suggestion: Option<usize>,
    /// Why no case could be made.
    pub why_none: Option<String>,
}

/// A case to paste.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Suggestion {
    /// Into which file, at the end of its cases.
    pub file: String,
    /// The rule it is of.
    pub rule: String,
    /// The case.
    pub yaml: String,
    /// How the file begins, where it isn't there yet.
    pub begins: Option<String>,
}

/// Which way a change of a place goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// The rules ask less.
    Loosens,
    /// The rules ask more.
    Tightens,
    /// The rules ask the same in other words.
    Rewords,
    /// It can't be told.
    CannotTell,
}

impl Way {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Way::Loosens => "loosens",
            Way::Tightens => "tightens",
            Way::Rewords => "rewords",
            Way::CannotTell => "can't be told",
        }
    }
}

/// Whether an amendment has force.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Force {
    /// It has.
    Holds,
    /// It has, but what it amends is no longer what its author saw.
    Stale,
    /// It has none: it loosens what may only be tightened, or changes what is fixed.
    Forbidden,
    /// It has none: whether it loosens can't be told, where only tightening is allowed.
    Unclear,
}

impl Force {
    /// In words; none where there is nothing to say.
    pub fn words(self) -> Option<&'static str> {
        match self {
            Force::Holds => None,
            Force::Stale => Some("holds, but what it amends is no longer what its author saw"),
            Force::Forbidden => Some(
                "has no force: it loosens what may only be tightened, or changes what is fixed",
            ),
            Force::Unclear => Some(
                "has no force: whether it loosens can't be told, where only tightening is allowed",
            ),
        }
    }

    /// Whether the amendment has none.
    pub fn is_none(self) -> bool {
        match self {
            Force::Forbidden | Force::Unclear => true,
            Force::Holds | Force::Stale => false,
        }
    }
}

/// A change that a place makes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Amendment {
    /// The place.
    pub place: String,
    /// What it changes, and how: `cable_burial.cover_by_wiring(direct_burial, yard): 24 in → 30 in`.
    pub change: String,
    /// Which way that goes.
    pub way: Way,
    /// Whether it has force, and from which date that is so; the first date is its own.
    pub force: Vec<ForceFrom>,
    /// Until when it stands.
    pub until: Option<String>,
    /// Where it stands.
    pub at: Where,
}

/// Whether an amendment has force from a date on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ForceFrom {
    /// From when.
    pub from: String,
    /// Whether it has.
    pub force: Force,
}

/// How a rule's outcome is settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Outlook {
    /// Its `when` is false for everything that can be recorded.
    NeverApplies,
    /// What it asks is so for everything that can be recorded.
    NeverFallsShort,
    /// What it asks is not so for anything that can be recorded.
    NeverMeets,
}

impl Outlook {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Outlook::NeverApplies => "can never apply",
            Outlook::NeverFallsShort => "can never fall short",
            Outlook::NeverMeets => "can never be met",
        }
    }
}

/// A rule whose outcome is settled by the ranges that facts are declared to have.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Settled {
    /// The rule.
    pub rule: String,
    /// At which place; none as the model has it.
    pub place: Option<String>,
    /// How.
    pub outlook: Outlook,
    /// The condition that settles it.
    pub at: Where,
}

/// What is to be looked at in the times of a place's statements.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct OverTime {
    /// The place.
    pub place: String,
    /// What is to be looked at.
    pub what: String,
    /// The statement.
    pub at: Where,
}
