//! Where rules stop: the things of which each is asked.

use super::Subject;
use super::code::{Condition, Level, Way};
use super::held::{Held, Outcome};
use super::walk::QuickWalk;
use crate::figures::{self, Figures, Frame, Owner, Scope, Thing, Why, Within};
use crate::finding::Verdict;
use crate::record::facts::ThingRef;

/// A place on a rule's way where something is to be told.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stop {
    pub scope: Scope,
    /// What is to be told, where there is nothing more to ask.
    pub settled: Option<Verdict>,
    /// Whether the rule applies, as far as was asked, and what is told of that.
    pub applies: Outcome,
}

impl Stop {
    #[inline]
    fn of(figures::Stop { scope, why }: figures::Stop) -> Stop {
        Stop {
            scope,
            settled: verdict(why),
            applies: Outcome::silent(Held::True),
        }
    }

    fn asked(scope: Scope, applies: Outcome) -> Stop {
        Stop {
            scope,
            settled: None,
            applies,
        }
    }

    fn settled(scope: Scope, verdict: Verdict, told: Outcome) -> Stop {
        Stop {
            settled: Some(verdict),
            ..Stop::asked(scope, told)
        }
    }
}

/// What is told there, where the rule is not asked.
#[inline]
fn verdict(why: Why) -> Option<Verdict> {
    match why {
        Why::Asked => None,
        Why::Open => Some(Verdict::NotRecorded),
        Why::Empty => Some(Verdict::DoesNotApply),
    }
}

/// The places where rules stop, and what is around them.
#[derive(Debug, Default)]
pub(super) struct Stops {
    pub all: Vec<Stop>,
    pub frames: Vec<Frame>,
}

impl Stops {
    /// Those that the figures have, in the place of what stands here.
    pub fn take(&mut self, figures: &Figures) {
        let (stops, _, frames) = figures.stops();
        self.all.clear();
        self.all.extend(stops.iter().map(|stop| Stop::of(*stop)));
        self.frames.clear();
        self.frames.extend_from_slice(frames);
    }

    /// What is bound at one of them.
    pub fn subject(&self, stop: u32) -> Subject {
        let mut scope = self.all[stop as usize].scope;
        let mut subject = Subject {
            depth: scope.depth(),
            ..Subject::default()
        };
        let things = &mut subject.things[..usize::from(scope.depth())];
        for place in things.iter_mut().rev() {
            *place = scope.innermost.itself();
            scope = scope.outer(&self.frames);
        }
        subject
    }

    /// Adds one of which something was told already, and says its place.
    pub fn add(&mut self, subject: &[ThingRef]) -> u32 {
        let mut scope = Scope::SITE;
        for thing in subject {
            scope = scope.within(&mut self.frames).with(Thing::bare(*thing));
        }
        self.all
            .push(Stop::asked(scope, Outcome::silent(Held::True)));
        (self.all.len() - 1) as u32
    }
}

impl QuickWalk<'_, '_> {
    #[inline(always)]
    pub fn thing(&self, of: Owner, scope: Scope) -> Thing {
        scope.thing(of, &self.stops.frames)
    }

    /// Within the innermost thing of a scope, for as long as it is asked about.
    #[inline]
    pub fn within(&mut self, scope: Scope) -> Within {
        scope.within(&mut self.stops.frames)
    }

    /// Adds the places at which a way stops.
    #[inline]
    pub fn go(&mut self, Way { whens, levels }: &Way) {
        self.inside(whens, levels, Outcome::silent(Held::True), Scope::SITE);
    }

    #[inline(always)]
    fn inside(&mut self, whens: &[Condition], levels: &[Level], applies: Outcome, scope: Scope) {
        // Each kind of stop is put together where it is to be.
        let stops = |this: &mut Self, stop| this.stops.all.push(stop);
        let applies = self.applies(whens, applies, scope);
        match levels {
            _ if applies.held() == Held::False => {
                stops(self, Stop::settled(scope, Verdict::DoesNotApply, applies));
            }
            [] => stops(self, Stop::asked(scope, applies)),
            [_, ..] => self.each(levels, applies, scope),
        }
    }

    // No more is handed on than the processor's registers take.
    #[inline(never)]
    fn each(&mut self, levels: &[Level], applies: Outcome, scope: Scope) {
        let [level, inner @ ..] = levels else {
            return;
        };
        let (items, is_open) = self.list(level.list, scope);
        if let Some(verdict) = Why::of_list(items, is_open).and_then(verdict) {
            let stop = Stop::settled(scope, verdict, Outcome::silent(Held::True));
            self.stops.all.push(stop);
        }
        let within = self.within(scope);
        for item in items {
            self.inside(&level.whens, inner, applies, within.with(*item));
        }
    }

    /// Whether a rule still applies. Where it does not, what is told is of the condition by which
    /// it does not.
    #[inline(always)]
    pub fn applies(&mut self, whens: &[Condition], mut applies: Outcome, scope: Scope) -> Outcome {
        for condition in whens {
            let one = self.condition_in_line(condition, scope);
            applies = one.but(applies.held().and(one.held()));
            if applies.held() == Held::False {
                break;
            }
        }
        applies
    }
}
