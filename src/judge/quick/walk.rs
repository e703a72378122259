//! The walk over a rule's subjects and demand with floats: what the exact walk does, in the same
//! order.
//!
//! Where something is left open that the exact walk may decide, the walk says that it doubts, and
//! the rule is judged exactly.

use std::ops::Range;

use super::Ruling;
use super::code::{Fact, QuickDemand, QuickRule, Step, Way};
use super::held::{Held, Outcome, Verdicts};
use super::stops::{OwnStop, Stops, verdict};
use crate::figures::{Figures, List, Scope, Stop, Thing};
use crate::finding::Verdict;
use crate::judge::{recorded, undecided};
use crate::quantity::{Interval, Near, Ratio};
use crate::survey::Mode;
use crate::truth::Truth;

/// One way of taking tolerances over one record.
pub(super) struct QuickWalk<'a, 'f> {
    pub figures: &'a Figures,
    pub stops: &'f mut Stops,
    pub mode: Mode,
    /// Something was missing for the number that is worked out.
    pub lacks: bool,
    /// Something was left open that the exact walk may decide.
    pub doubts: bool,
    /// Something is too close to call, so that it may be decided without tolerances.
    pub close: bool,
}

impl<'a, 'f> QuickWalk<'a, 'f> {
    pub fn new(figures: &'a Figures, stops: &'f mut Stops) -> Self {
        QuickWalk {
            figures,
            stops,
            mode: Mode::Banded,
            lacks: false,
            doubts: false,
            close: false,
        }
    }

    /// Walks a rule along some of the stops; what it says counts only where the walk does not doubt.
    #[inline(always)]
    pub fn rule<const IS_OWN: bool>(
        &mut self,
        (number, rule): (u32, &QuickRule),
        stops: Range<usize>,
        rulings: &mut Vec<Ruling>,
    ) {
        for place in stops {
            let (verdict, told) = self.at::<IS_OWN>(rule, place);
            rulings.push(Ruling {
                rule: number,
                stop: place as u32,
                banded: verdict,
                as_read: verdict,
                margin: told.margin,
                limit: told.limit(),
            });
        }
    }

    /// Walks a rule that asks something on its way.
    #[inline(never)]
    pub fn own_way(&mut self, rule: (u32, &QuickRule), way: &Way, rulings: &mut Vec<Ruling>) {
        let first = self.stops.count();
        self.go(way);
        self.rule::<true>(rule, first..self.stops.count(), rulings);
    }

    /// What a rule says at one stop, which is its own or shared.
    #[inline(always)]
    pub fn at<const IS_OWN: bool>(&mut self, rule: &QuickRule, place: usize) -> (Verdict, Outcome) {
        let OwnStop { stop, applies } = match IS_OWN {
            true => self.stops.own(place),
            // Nothing was asked on the way.
            false => OwnStop {
                stop: self.figures.stops().0[place],
                applies: Outcome::silent(Held::True),
            },
        };
        let Stop { scope, why } = stop;
        match (verdict(why), &rule.demand) {
            (Some(verdict), _) => (verdict, applies),
            (None, QuickDemand::Asked(condition, verdicts)) => {
                self.asked(rule, (condition, verdicts), applies, scope)
            }
            (
                None,
                QuickDemand::RecordFact(_) | QuickDemand::RecordList(_) | QuickDemand::Refer,
            ) => self.recorded(rule, applies, scope),
        }
    }

    #[inline(always)]
    fn asked(
        &mut self,
        rule: &QuickRule,
        (condition, verdicts): (&[Step], &Verdicts),
        applies: Outcome,
        scope: Scope,
    ) -> (Verdict, Outcome) {
        let applies = self.applies(&rule.whens, applies, scope);
        if applies.held() == Held::False {
            return (Verdict::DoesNotApply, applies);
        }
        let one = self.condition_in_line(condition, scope);
        (verdicts.of(applies.held(), one.held()), one)
    }

    /// What only asks whether something was recorded, or refers.
    #[inline(never)]
    fn recorded(&mut self, rule: &QuickRule, applies: Outcome, scope: Scope) -> (Verdict, Outcome) {
        let applies = self.applies(&rule.whens, applies, scope);
        let held = applies.held();
        if held == Held::False {
            return (Verdict::DoesNotApply, applies);
        }
        let (truth, missing) = (held.truth(), held == Held::Missing);
        let silent = Outcome::silent(held);
        let lacks = match &rule.demand {
            QuickDemand::RecordFact(fact) => !self
                .figures
                .is_recorded(self.thing(fact.of, scope), fact.column),
            QuickDemand::RecordList(list) => !self
                .figures
                .is_complete(self.thing(list.of, scope), list.column),
            QuickDemand::Asked(..) | QuickDemand::Refer => {
                let verdict = match truth {
                    Truth::True => Verdict::Refer,
                    Truth::False | Truth::Unknown => undecided(missing),
                };
                return (verdict, silent);
            }
        };
        (recorded(truth, lacks, missing || lacks), silent)
    }

    #[inline(always)]
    pub fn list(&self, list: List, scope: Scope) -> (&'a [Thing], bool) {
        self.figures.list(self.thing(list.of, scope), list.column)
    }

    #[inline(always)]
    pub fn near(&self, fact: Fact, scope: Scope) -> Near {
        self.figures
            .near(self.mode, self.thing(fact.of, scope), fact.column)
    }

    /// The ends of a fact that was recorded; none where 64 bits do not hold them.
    pub fn ends(&self, fact: Fact, scope: Scope) -> Option<[Ratio; 2]> {
        self.figures
            .ends(self.mode, self.thing(fact.of, scope), fact.column)
    }

    /// None where only the record knows it.
    pub fn exact(&self, fact: Fact, scope: Scope) -> Option<Interval> {
        self.figures
            .exact(self.mode, self.thing(fact.of, scope), fact.column)
    }
}
