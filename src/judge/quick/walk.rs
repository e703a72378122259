//! The walk over a rule's head and demand with floats: what the exact walk does, in the same order.
//!
//! Where something is left open that the exact walk may decide, the walk says that it doubts, and
//! the rule is judged exactly.

use super::code::{Condition, Fact, Level, List, Owner, QuickDemand, QuickRule};
use super::held::{Held, Outcome, Told};
use super::{Ruling, Subject};
use crate::figures::{Figures, Thing};
use crate::finding::Verdict;
use crate::judge::value::MOST_BOUND;
use crate::judge::{asked, recorded, undecided};
use crate::quantity::{Interval, Near};
use crate::survey::Mode;
use crate::truth::Truth;

/// One way of taking tolerances over one record.
pub(super) struct QuickWalk<'a> {
    pub figures: &'a Figures,
    pub mode: Mode,
    bound: Subject,
    /// The site, and what is bound, as the figures have them.
    things: [Thing; ROOM],
    /// Something was missing for the number that is worked out.
    pub lacks: bool,
    /// Something was left open that the exact walk may decide.
    pub doubts: bool,
    /// Something is too close to call, so that it may be decided without tolerances.
    pub close: bool,
}

/// How many things there is room for: a power of two, and more than are ever bound.
const ROOM: usize = (MOST_BOUND + 1).next_power_of_two();

/// Whether a rule applies, as far as was asked, and whether something was missing for that.
#[derive(Clone, Copy)]
struct Applies {
    truth: Truth,
    missing: bool,
}

impl<'a> QuickWalk<'a> {
    pub fn new(figures: &'a Figures) -> Self {
        QuickWalk {
            figures,
            mode: Mode::Banded,
            bound: Subject::default(),
            things: [Thing::SITE; ROOM],
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
            demand: &rule.demand,
            rulings,
        };
        let applies = Applies {
            truth: Truth::True,
            missing: false,
        };
        self.inside(&rule.whens, &rule.levels, applies, &mut telling);
    }

    /// Asks what is asked of the innermost thing, and goes on below it.
    #[inline(always)]
    fn inside(
        &mut self,
        whens: &[Condition],
        levels: &[Level],
        applies: Applies,
        to: &mut Telling<'_>,
    ) {
        let Some(applies) = self.whens(whens, applies, to) else {
            return;
        };
        match levels {
            [] => self.demand(applies, to),
            [level, below @ ..] => self.each(level, below, applies, to),
        }
    }

    /// None where the rule does not apply, which is told.
    #[inline(always)]
    fn whens(
        &mut self,
        whens: &[Condition],
        mut applies: Applies,
        to: &mut Telling<'_>,
    ) -> Option<Applies> {
        for condition in whens {
            let Outcome { held, told } = self.condition(condition);
            applies.truth = applies.truth.and(held.truth());
            if applies.truth == Truth::False {
                self.tell(Verdict::DoesNotApply, told, to);
                return None;
            }
            applies.missing |= held == Held::Missing;
        }
        Some(applies)
    }

    #[inline(never)]
    fn each(&mut self, level: &Level, below: &[Level], applies: Applies, to: &mut Telling<'_>) {
        let (items, is_open) = self.list(level.list);
        if is_open {
            self.tell(Verdict::NotRecorded, Told::NOTHING, to);
        } else if items.is_empty() {
            self.tell(Verdict::DoesNotApply, Told::NOTHING, to);
        }
        for item in items {
            self.bind(*item);
            self.inside(&level.whens, below, applies, to);
            self.unbind();
        }
    }

    #[inline(always)]
    fn demand(&mut self, applies: Applies, to: &mut Telling<'_>) {
        match to.demand {
            QuickDemand::Shall(condition) => self.asked(condition, Verdict::Meets, applies, to),
            QuickDemand::Precaution(condition) => {
                self.asked(condition, Verdict::Refer, applies, to);
            }
            QuickDemand::Refer => {
                let verdict = match applies.truth {
                    Truth::True => Verdict::Refer,
                    Truth::False | Truth::Unknown => undecided(applies.missing),
                };
                self.tell(verdict, Told::NOTHING, to);
            }
            QuickDemand::RecordFact(fact) => {
                let lacks = !self.figures.is_recorded(self.thing(fact.of), fact.column);
                self.recorded(lacks, applies, to);
            }
            QuickDemand::RecordList(list) => {
                let lacks = !self.figures.is_complete(self.thing(list.of), list.column);
                self.recorded(lacks, applies, to);
            }
        }
    }

    #[inline(always)]
    fn asked(
        &mut self,
        condition: &Condition,
        in_order: Verdict,
        applies: Applies,
        to: &mut Telling<'_>,
    ) {
        let Outcome { held, told } = self.condition(condition);
        let verdict = match applies.truth {
            Truth::True => held.verdict(in_order),
            truth @ (Truth::False | Truth::Unknown) => {
                let missing = applies.missing || held == Held::Missing;
                asked(truth, held.truth(), in_order, missing)
            }
        };
        self.tell(verdict, told, to);
    }

    fn recorded(&mut self, lacks: bool, applies: Applies, to: &mut Telling<'_>) {
        let verdict = recorded(applies.truth, lacks, applies.missing || lacks);
        self.tell(verdict, Told::NOTHING, to);
    }

    #[inline(always)]
    fn tell(&mut self, verdict: Verdict, told: Told, to: &mut Telling<'_>) {
        to.rulings.push(Ruling {
            rule: to.number,
            subject: self.bound,
            banded: verdict,
            as_read: verdict,
            margin: told.lower,
            limit: told.limit,
        });
    }

    /// Binds an element, the innermost.
    #[inline(always)]
    pub(super) fn bind(&mut self, item: Thing) {
        self.bound.push(item.itself);
        self.things[usize::from(self.bound.depth) % ROOM] = item;
    }

    /// Lets it go.
    #[inline(always)]
    pub(super) fn unbind(&mut self) {
        self.bound.pop();
    }

    #[inline(always)]
    fn thing(&self, of: Owner) -> Thing {
        self.things[of.place() % ROOM]
    }

    #[inline(always)]
    pub(super) fn list(&self, list: List) -> (&'a [Thing], bool) {
        self.figures.list(self.thing(list.of), list.column)
    }

    #[inline(always)]
    pub(super) fn near(&self, fact: Fact) -> Near {
        self.figures.near(self.mode, self.thing(fact.of), fact.column)
    }

    /// None where only the record knows it.
    pub(super) fn exact(&self, fact: Fact) -> Option<Interval> {
        self.figures.exact(self.mode, self.thing(fact.of), fact.column)
    }
}

/// Where the rulings of a rule go.
struct Telling<'r> {
    number: u32,
    demand: &'r QuickDemand,
    rulings: &'r mut Vec<Ruling>,
}
