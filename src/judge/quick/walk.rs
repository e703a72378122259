//! The walk over a rule's head and demand with floats: what the exact walk does, in the same order.
//!
//! Where something is left open that the exact walk may decide, the walk says that it doubts, and
//! the rule is judged exactly.

use super::code::{Condition, Owner, QuickClause, QuickDemand, QuickRule};
use super::held::{Held, Told};
use super::{Ruling, Subject};
use crate::figures::{Figures, Thing};
use crate::finding::Verdict;
use crate::judge::value::MOST_BOUND;
use crate::judge::{asked, recorded, undecided};
use crate::program::code::List;
use crate::quantity::Near;
use crate::record::facts::ThingRef;
use crate::survey::Mode;
use crate::truth::Truth;
use crate::vocabulary::FactId;

/// One way of taking tolerances over one record.
pub(super) struct QuickWalk<'a> {
    pub figures: &'a Figures,
    pub mode: Mode,
    bound: Subject,
    /// The site, and what is bound, as the figures have them.
    things: [Thing; MOST_BOUND + 1],
    /// What is to be told of the condition that was asked last.
    pub told: Told,
    /// Something was missing for the number that is worked out.
    pub lacks: bool,
    /// Something was left open that the exact walk may decide.
    pub doubts: bool,
    /// Something is too close to call, so that it may be decided without tolerances.
    pub close: bool,
}

impl<'a> QuickWalk<'a> {
    pub fn new(figures: &'a Figures) -> Self {
        QuickWalk {
            figures,
            mode: Mode::Banded,
            bound: Subject::default(),
            things: [Thing::default(); MOST_BOUND + 1],
            told: Told::NOTHING,
            lacks: false,
            doubts: false,
            close: false,
        }
    }

    /// Walks a rule; what it says stands behind what is there already, and counts only where the
    /// walk does not doubt.
    pub fn rule(&mut self, number: u32, rule: &QuickRule, rulings: &mut Vec<Ruling>) {
        self.doubts = false;
        self.close = false;
        let mut telling = Telling {
            number,
            rule,
            rulings,
        };
        self.clauses(0, Truth::True, false, &mut telling);
    }

    fn clauses(
        &mut self,
        from: usize,
        mut applies: Truth,
        mut missing: bool,
        to: &mut Telling<'_>,
    ) {
        for (clause, next) in to.rule.head[from..].iter().zip(from + 1..) {
            match clause {
                QuickClause::When(condition) => {
                    let held = self.condition(condition);
                    applies = applies.and(held.truth());
                    if applies == Truth::False {
                        self.tell(Verdict::DoesNotApply, self.told, to);
                        return;
                    }
                    missing |= held == Held::Missing;
                }
                QuickClause::Each(list) => return self.each(*list, next, (applies, missing), to),
            }
        }
        self.demand(applies, missing, to);
    }

    #[inline]
    fn each(
        &mut self,
        list: List,
        next: usize,
        (applies, missing): (Truth, bool),
        to: &mut Telling<'_>,
    ) {
        let (items, is_open) = self.list(list);
        if is_open {
            self.tell(Verdict::NotRecorded, Told::NOTHING, to);
        } else if items.is_empty() {
            self.tell(Verdict::DoesNotApply, Told::NOTHING, to);
        }
        // The innermost thing is mostly asked at once.
        let is_last = next == to.rule.head.len();
        for item in items {
            self.bind(*item);
            match is_last {
                true => self.demand(applies, missing, to),
                false => self.clauses(next, applies, missing, to),
            }
            self.unbind();
        }
    }

    #[inline]
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
                let of = self.thing(Owner::of(list.of));
                let lacks = !self.figures.is_complete(of, list.list);
                self.recorded(lacks, applies, missing, to);
            }
        }
    }

    #[inline]
    fn asked(
        &mut self,
        condition: &Condition,
        in_order: Verdict,
        applies: Truth,
        missing: bool,
        to: &mut Telling<'_>,
    ) {
        let held = self.condition(condition);
        let verdict = match applies {
            Truth::True => held.verdict(in_order),
            applies @ (Truth::False | Truth::Unknown) => {
                let missing = missing || held == Held::Missing;
                asked(applies, held.truth(), in_order, missing)
            }
        };
        self.tell(verdict, self.told, to);
    }

    fn recorded(&mut self, lacks: bool, applies: Truth, missing: bool, to: &mut Telling<'_>) {
        let verdict = recorded(applies, lacks, missing || lacks);
        self.tell(verdict, Told::NOTHING, to);
    }

    #[inline]
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
        self.bound.push(item);
        self.things[usize::from(self.bound.depth)] = self.figures.thing(item);
    }

    /// Lets it go.
    #[inline]
    pub(super) fn unbind(&mut self) {
        self.bound.pop();
    }

    #[inline]
    pub(super) fn thing(&self, of: Owner) -> Thing {
        self.things[of.place()]
    }

    #[inline]
    pub(super) fn list(&self, list: List) -> (&'a [ThingRef], bool) {
        self.figures.list(self.thing(Owner::of(list.of)), list.list)
    }

    #[inline]
    pub(super) fn near(&self, of: Owner, fact: FactId) -> Near {
        self.figures.near(self.mode, self.thing(of), fact)
    }
}

/// Where the rulings of a rule go.
struct Telling<'r> {
    number: u32,
    rule: &'r QuickRule,
    rulings: &'r mut Vec<Ruling>,
}
