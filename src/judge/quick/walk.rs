//! The walk over a rule's head and demand with floats: what the exact walk does, in the same order.
//!
//! Where something is left open that the exact walk may decide, the walk says that it doubts, and
//! the rule is judged exactly.

use super::code::{Condition, QuickClause, QuickDemand, QuickRule};
use super::held::Told;
use super::{Ruling, Subject};
use crate::figures::{Figures, Thing};
use crate::finding::Verdict;
use crate::judge::value::MOST_BOUND;
use crate::judge::{asked, recorded, undecided};
use crate::program::code::{Binding, List};
use crate::quantity::Near;
use crate::record::facts::ThingRef;
use crate::survey::Mode;
use crate::truth::Truth;
use crate::vocabulary::FactId;

/// One way of taking tolerances over one record.
pub(super) struct QuickWalk<'a> {
    pub figures: &'a Figures,
    pub mode: Mode,
    pub bound: Subject,
    /// What is bound, as the figures have it.
    pub things: [Thing; MOST_BOUND],
    /// Something was left open that the exact walk may decide.
    pub doubts: bool,
    /// Something is too close to call, so that it may be decided without tolerances.
    pub close: bool,
}

impl<'a> QuickWalk<'a> {
    /// Walks a rule; what it says stands behind what is there already, and counts only where the
    /// walk does not doubt.
    pub fn rule(&mut self, number: u32, rule: &QuickRule, rulings: &mut Vec<Ruling>) {
        self.bound = Subject::default();
        self.doubts = false;
        self.close = false;
        let mut walk = Telling {
            number,
            rule,
            rulings,
        };
        self.clause(0, Truth::True, false, &mut walk);
    }

    fn clause(&mut self, at: usize, applies: Truth, missing: bool, to: &mut Telling<'_>) {
        let rule = to.rule;
        let Some(clause) = rule.head.get(at) else {
            self.demand(applies, missing, to);
            return;
        };
        match clause {
            QuickClause::When(condition) => {
                let held = self.condition(condition);
                let applies = applies.and(held.truth);
                if applies == Truth::False {
                    self.tell(Verdict::DoesNotApply, held.told, to);
                    return;
                }
                self.clause(at + 1, applies, missing || held.missing, to);
            }
            QuickClause::Each(list) => {
                let (items, is_open) = self.list(*list);
                if is_open {
                    self.tell(Verdict::NotRecorded, Told::NOTHING, to);
                } else if items.is_empty() {
                    self.tell(Verdict::DoesNotApply, Told::NOTHING, to);
                }
                for item in items {
                    self.bind(*item);
                    self.clause(at + 1, applies, missing, to);
                    self.unbind();
                }
            }
        }
    }

    fn demand(&mut self, applies: Truth, missing: bool, to: &mut Telling<'_>) {
        match &to.rule.demand {
            QuickDemand::Shall(condition) => {
                self.asked(condition, Verdict::Meets, applies, missing, to);
            }
            QuickDemand::Precaution(condition) => {
                self.asked(condition, Verdict::Refer, applies, missing, to);
            }
            QuickDemand::Refer => {
                let verdict = match applies {
                    Truth::True => Verdict::Refer,
                    Truth::False | Truth::Unknown => undecided(missing),
                };
                self.tell(verdict, Told::NOTHING, to);
            }
            QuickDemand::RecordFact(of, fact) => {
                let lacks = !self.figures.is_recorded(self.thing(*of), *fact);
                self.recorded(lacks, applies, missing, to);
            }
            QuickDemand::RecordList(list) => {
                let lacks = !self.figures.is_complete(self.thing(list.of), list.list);
                self.recorded(lacks, applies, missing, to);
            }
        }
    }

    fn asked(
        &mut self,
        condition: &Condition,
        in_order: Verdict,
        applies: Truth,
        missing: bool,
        to: &mut Telling<'_>,
    ) {
        let held = self.condition(condition);
        let verdict = asked(applies, held.truth, in_order, missing || held.missing);
        self.tell(verdict, held.told, to);
    }

    fn recorded(&mut self, lacks: bool, applies: Truth, missing: bool, to: &mut Telling<'_>) {
        let verdict = recorded(applies, lacks, missing || lacks);
        self.tell(verdict, Told::NOTHING, to);
    }

    fn tell(&mut self, verdict: Verdict, told: Told, to: &mut Telling<'_>) {
        to.rulings.push(Ruling {
            rule: to.number,
            subject: self.bound,
            banded: verdict,
            as_read: verdict,
            told,
        });
    }

    /// Binds an element, the innermost.
    #[inline]
    pub(super) fn bind(&mut self, item: ThingRef) {
        let depth = usize::from(self.bound.depth);
        self.things[depth] = self.figures.thing(item);
        self.bound.push(item);
    }

    /// Lets it go.
    #[inline]
    pub(super) fn unbind(&mut self) {
        self.bound.pop();
    }

    #[inline]
    pub(super) fn thing(&self, binding: Binding) -> Thing {
        match binding {
            Binding::Site => Thing::default(),
            Binding::Local(at) => self.things[usize::from(at)],
        }
    }

    #[inline]
    pub(super) fn list(&self, list: List) -> (&'a [ThingRef], bool) {
        self.figures.list(self.thing(list.of), list.list)
    }

    #[inline]
    pub(super) fn fact(&self, of: Binding, fact: FactId) -> Near {
        self.figures.near(self.mode, self.thing(of), fact)
    }
}

/// Where the rulings of a rule go.
struct Telling<'r> {
    number: u32,
    rule: &'r QuickRule,
    rulings: &'r mut Vec<Ruling>,
}
