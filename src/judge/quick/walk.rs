//! The walk over a rule's subjects and demand with floats: what the exact walk does, in the same
//! order.
//!
//! Where something is left open that the exact walk may decide, the walk says that it doubts, and
//! the rule is judged exactly.

use std::ops::Range;

use super::Ruling;
use super::code::{Fact, List, QuickDemand, QuickRule};
use super::held::{Held, Outcome, Told};
use super::scope::{Applies, Scope, Stops};
use crate::figures::{Figures, Thing};
use crate::finding::Verdict;
use crate::judge::{asked, recorded, undecided};
use crate::quantity::{Interval, Near};
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
    pub fn rule(
        &mut self,
        (number, rule): (u32, &QuickRule),
        stops: Range<usize>,
        rulings: &mut Vec<Ruling>,
    ) {
        for place in stops {
            let stop = &self.stops.all[place];
            let (verdict, told) = match stop.settled {
                Some(verdict) => (verdict, stop.told),
                None => self.asked(rule, stop.applies, stop.scope),
            };
            rulings.push(Ruling {
                rule: number,
                stop: place as u32,
                banded: verdict,
                as_read: verdict,
                margin: told.lower,
                limit: told.limit,
            });
        }
    }

    #[inline(always)]
    fn asked(&mut self, rule: &QuickRule, applies: Applies, scope: Scope) -> (Verdict, Told) {
        let applies = match self.applies(&rule.whens, applies, scope) {
            Ok(applies) => applies,
            Err(told) => return (Verdict::DoesNotApply, told),
        };
        let lacks = match &rule.demand {
            QuickDemand::Asked(condition, verdicts, in_order) => {
                let Outcome { held, told } = self.condition_in_line(condition, scope);
                let verdict = match applies.truth {
                    Truth::True => verdicts[held as usize],
                    truth @ (Truth::False | Truth::Unknown) => {
                        let missing = applies.missing || held == Held::Missing;
                        asked(truth, held.truth(), *in_order, missing)
                    }
                };
                return (verdict, told);
            }
            QuickDemand::Refer => {
                let verdict = match applies.truth {
                    Truth::True => Verdict::Refer,
                    Truth::False | Truth::Unknown => undecided(applies.missing),
                };
                return (verdict, Told::NOTHING);
            }
            QuickDemand::RecordFact(fact) => !self
                .figures
                .is_recorded(self.thing(fact.of, scope), fact.column),
            QuickDemand::RecordList(list) => !self
                .figures
                .is_complete(self.thing(list.of, scope), list.column),
        };
        let verdict = recorded(applies.truth, lacks, applies.missing || lacks);
        (verdict, Told::NOTHING)
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

    /// None where only the record knows it.
    pub fn exact(&self, fact: Fact, scope: Scope) -> Option<Interval> {
        self.figures
            .exact(self.mode, self.thing(fact.of, scope), fact.column)
    }
}
