//! The meeting of the roads: a program and a record in, judgements out.
//!
//! Judging can't fail: what is not there is a verdict, not an error. A judgement is lean, so that
//! an archive is judged without writing a word; `describe` makes a finding of it.

mod budget;
mod cause;
mod chosen;
mod describe;
pub(crate) mod evaluate;
mod quick;
mod report;
mod show;
mod turns;
pub(crate) mod value;
mod why;

use std::borrow::Cow;

pub use cause::Cause;
pub use chosen::{Chooser, Chosen};
pub use describe::{Describer, caution, clause, limit, obligation};
pub use quick::{Quick, Ruling, Rulings, Subject};
pub use report::{
    Judged, SCHEMA, Setting, Telling, dates, exit_status, places, report, report_by,
    statement_notices,
};
pub use value::Reported;
pub use why::{Explanation, Line, why};

use cause::Causes;
use evaluate::Machine;

use crate::check::typed::Decision;
use crate::finding::Verdict;
use crate::program::code::{Clause, Demand, Program, Rule};
use crate::quantity::print;
use crate::record::facts::{FactOrList, Record, ThingRef};
use crate::survey::{Mode, Survey};
use crate::truth::Truth;
use crate::vocabulary::Vocabulary;

/// What one rule says of one subject.
#[derive(Debug, Clone)]
pub struct Judgement<'a> {
    /// The rule.
    pub rule: &'a Rule,
    /// The things that `each` bound, the outermost first.
    pub subject: Vec<ThingRef>,
    /// With tolerances as guard.
    pub banded: Verdict,
    /// Without them.
    pub as_read: Verdict,
    /// What was missing; empty for a definite verdict.
    pub causes: Vec<Cause>,
    /// The comparison to tell.
    pub reported: Option<Reported<'a>>,
    /// What the rule asks to be recorded, where it is that kind.
    pub asked: Option<(ThingRef, FactOrList)>,
}

impl Judgement<'_> {
    /// The least margin that the record allows, rounded, in the canonical unit; none where the
    /// comparison has none.
    pub fn margin(&self) -> Option<f64> {
        let margin = self.reported?.margin?;
        margin.lower().map(print::to_f64)
    }

    /// The verdict that decides.
    pub fn verdict(&self) -> Verdict {
        match self.rule.decision {
            Decision::Banded => self.banded,
            Decision::AsRead => self.as_read,
        }
    }
}

/// Judges a record by every rule of a program, in the program's order.
pub fn judge<'a>(
    program: &'a Program,
    vocabulary: &'a Vocabulary,
    survey: &'a Survey,
    record: &'a Record,
) -> Vec<Judgement<'a>> {
    let mut judge = Judge::new(program, vocabulary, survey, record);
    let rules = program.rules.iter();
    rules.flat_map(|rule| judge.rule(rule)).collect()
}

/// What it takes to judge one record exactly.
struct Judge<'a> {
    banded: Machine<'a>,
    as_read: Machine<'a>,
}

impl<'a> Judge<'a> {
    fn new(
        program: &'a Program,
        vocabulary: &'a Vocabulary,
        survey: &'a Survey,
        record: &'a Record,
    ) -> Self {
        let machine = |mode| Machine::new(program, vocabulary, survey, record, mode);
        Judge {
            banded: machine(Mode::Banded),
            as_read: machine(Mode::AsRead),
        }
    }

    /// What a rule says of its subjects, in their order.
    fn rule(&mut self, rule: &'a Rule) -> Vec<Judgement<'a>> {
        let mut judgements = Vec::new();
        judge_rule(rule, &mut self.banded, &mut self.as_read, &mut judgements);
        judgements
    }
}

fn judge_rule<'a>(
    rule: &'a Rule,
    banded: &mut Machine<'a>,
    as_read: &mut Machine<'a>,
    judgements: &mut Vec<Judgement<'a>>,
) {
    let guarded = one_way(rule, banded);
    // A definite banded verdict is the verdict at every point inside the tolerances, the readings
    // themselves among them, unless a value has two sources.
    let undecided = guarded.iter().any(|single| single.verdict.is_undecided());
    let plain: Cow<'_, [Single<'a>]> = if undecided || banded.record.has_several || rule.surveys {
        Cow::Owned(one_way(rule, as_read))
    } else {
        Cow::Borrowed(&guarded)
    };
    match rule.decision {
        Decision::Banded => {
            for single in &guarded {
                let other = verdict_on(&plain, &single.subject);
                judgements.push(single.judgement(rule, single.verdict, other));
            }
        }
        Decision::AsRead => {
            for single in plain.iter() {
                let other = verdict_on(&guarded, &single.subject);
                judgements.push(single.judgement(rule, other, single.verdict));
            }
        }
    }
}

/// What a walk says of a subject that another walk has judged: on the subject itself, on one
/// enclosing it, or, of several within it, the most undecided.
fn verdict_on(singles: &[Single<'_>], subject: &[ThingRef]) -> Verdict {
    let exact = singles.iter().find(|single| single.subject == subject);
    if let Some(single) = exact {
        return single.verdict;
    }
    let enclosing = singles
        .iter()
        .filter(|single| subject.starts_with(&single.subject))
        .max_by_key(|single| single.subject.len());
    let within = || {
        singles
            .iter()
            .filter(|single| single.subject.starts_with(subject))
            .map(|single| single.verdict)
    };
    if let Some(single) = enclosing
        && within().next().is_none()
    {
        return single.verdict;
    }
    for undecided in [Verdict::NotRecorded, Verdict::TooClose] {
        if within().any(|verdict| verdict == undecided) {
            return undecided;
        }
    }
    within().next().unwrap_or(Verdict::DoesNotApply)
}

/// One verdict, in one of the two ways of taking tolerances.
#[derive(Debug, Clone)]
struct Single<'a> {
    subject: Vec<ThingRef>,
    verdict: Verdict,
    causes: Vec<Cause>,
    reported: Option<Reported<'a>>,
    asked: Option<(ThingRef, FactOrList)>,
}

impl<'a> Single<'a> {
    fn judgement(&self, rule: &'a Rule, banded: Verdict, as_read: Verdict) -> Judgement<'a> {
        Judgement {
            rule,
            subject: self.subject.clone(),
            banded,
            as_read,
            causes: self.causes.clone(),
            reported: self.reported,
            asked: self.asked,
        }
    }
}

fn one_way<'a>(rule: &'a Rule, machine: &mut Machine<'a>) -> Vec<Single<'a>> {
    machine.clear();
    let mut walk = Walk {
        rule,
        machine,
        singles: Vec::new(),
    };
    walk.clause(0, Truth::True, Causes::NONE);
    walk.singles
}

/// A rule's head, walked clause by clause, with the `and` of the `when`s so far.
struct Walk<'a, 'm> {
    rule: &'a Rule,
    machine: &'m mut Machine<'a>,
    singles: Vec<Single<'a>>,
}

impl<'a> Walk<'a, '_> {
    fn clause(&mut self, at: usize, applies: Truth, causes: Causes) {
        let Some(clause) = self.rule.head.get(at) else {
            self.demand(applies, causes);
            return;
        };
        match clause {
            Clause::When(condition) => {
                let outcome = self.machine.walk(condition, &mut ());
                let applies = applies.and(outcome.value.truth());
                if applies == Truth::False {
                    let reported = self.reported(outcome.report);
                    self.tell(Verdict::DoesNotApply, Vec::new(), reported);
                    return;
                }
                let causes = self.machine.causes.both(causes, outcome.causes);
                self.clause(at + 1, applies, causes);
            }
            Clause::Each(list) => {
                let known = self.machine.list(*list);
                if known.open {
                    let more = self.machine.list_causes(*list);
                    let missing = self.machine.causes.list(more);
                    self.tell(Verdict::NotRecorded, missing, None);
                } else if known.items.is_empty() {
                    self.tell(Verdict::DoesNotApply, Vec::new(), None);
                }
                for item in &known.items {
                    self.machine.bound.push(*item);
                    self.clause(at + 1, applies, causes);
                    self.machine.bound.pop();
                }
            }
        }
    }

    fn demand(&mut self, applies: Truth, causes: Causes) {
        if self.rule.unset.is_some() {
            self.refer(applies, causes);
            return;
        }
        match &self.rule.demand {
            Demand::Shall(condition) | Demand::Should(condition) => {
                self.condition(condition, Verdict::Meets, applies, causes);
            }
            Demand::Precaution(condition) => {
                self.condition(condition, Verdict::Refer, applies, causes);
            }
            Demand::Refer(_) => self.refer(applies, causes),
            Demand::RecordFact(of, fact) => {
                let thing = self.machine.thing(*of);
                let lacks = self.machine.fact_cause(thing, *fact);
                self.recorded(lacks, applies, causes, (thing, FactOrList::Fact(*fact)));
            }
            Demand::RecordList(list) => {
                let thing = self.machine.thing(list.of);
                let known = self.machine.list(*list);
                let lacks = if known.open || !known.gaps.is_empty() {
                    self.machine.list_causes(*list)
                } else {
                    Causes::NONE
                };
                self.recorded(lacks, applies, causes, (thing, FactOrList::List(list.list)));
            }
        }
    }

    /// A question, where the rule applies for sure.
    fn refer(&mut self, applies: Truth, causes: Causes) {
        let verdict = match applies {
            Truth::True => Verdict::Refer,
            Truth::False | Truth::Unknown => undecided(!causes.is_none()),
        };
        let missing = self.machine.causes.list(causes);
        self.tell(verdict, missing, None);
    }

    fn condition(
        &mut self,
        condition: &'a crate::program::code::Node,
        in_order: Verdict,
        applies: Truth,
        causes: Causes,
    ) {
        let outcome = self.machine.walk(condition, &mut ());
        let reported = self.reported(outcome.report);
        let all = self.machine.causes.both(causes, outcome.causes);
        let verdict = asked(applies, outcome.value.truth(), in_order, !all.is_none());
        let missing = match verdict {
            Verdict::NotRecorded => self.machine.causes.list(all),
            Verdict::Meets
            | Verdict::FallsShort
            | Verdict::TooClose
            | Verdict::DoesNotApply
            | Verdict::Refer => Vec::new(),
        };
        self.tell(verdict, missing, reported);
    }

    fn recorded(
        &mut self,
        lacks: Causes,
        applies: Truth,
        causes: Causes,
        asked: (ThingRef, FactOrList),
    ) {
        let all = self.machine.causes.both(causes, lacks);
        let verdict = recorded(applies, !lacks.is_none(), !all.is_none());
        let missing = self
            .machine
            .causes
            .list(if applies == Truth::True { lacks } else { all });
        self.tell(verdict, missing, None);
        if let Some(last) = self.singles.last_mut() {
            last.asked = Some(asked);
        }
    }

    fn reported(&self, number: Option<value::ReportNumber>) -> Option<Reported<'a>> {
        number.map(|number| self.machine.reports[number.0 as usize])
    }

    fn tell(&mut self, verdict: Verdict, causes: Vec<Cause>, reported: Option<Reported<'a>>) {
        self.singles.push(Single {
            subject: self.machine.bound.clone(),
            verdict,
            causes,
            reported,
            asked: None,
        });
    }
}

/// The verdict of a condition, where the rule applies and where it may.
fn asked(applies: Truth, holds: Truth, in_order: Verdict, is_missing: bool) -> Verdict {
    match (applies, holds) {
        (Truth::True, Truth::True) => in_order,
        (Truth::True, Truth::False) => Verdict::FallsShort,
        (Truth::True | Truth::False | Truth::Unknown, _) => undecided(is_missing),
    }
}

/// The verdict of what has to be recorded; `is_missing` says whether anything is, the condition
/// on which it has to be among it.
fn recorded(applies: Truth, lacks: bool, is_missing: bool) -> Verdict {
    if applies != Truth::True {
        undecided(is_missing)
    } else if lacks {
        Verdict::NotRecorded
    } else {
        Verdict::Meets
    }
}

fn undecided(is_missing: bool) -> Verdict {
    if is_missing {
        Verdict::NotRecorded
    } else {
        Verdict::TooClose
    }
}
