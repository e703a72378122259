//! Where rules stop: the things of which each is asked.

use super::Subject;
use super::code::{Condition, Level, Way};
use super::held::{Held, Outcome};
use super::walk::QuickWalk;
use crate::figures::{Figures, Frame, Owner, Scope, Stop, Thing, Why, Within};
use crate::finding::Verdict;
use crate::record::facts::ThingRef;

/// What is told at a stop where the rule is not asked.
#[inline]
pub(super) fn verdict(why: Why) -> Option<Verdict> {
    match why {
        Why::Asked => None,
        Why::Open => Some(Verdict::NotRecorded),
        Why::Empty => Some(Verdict::DoesNotApply),
    }
}

/// The places where rules stop beside those of the figures, and what is around all of them.
#[derive(Debug, Default)]
pub(super) struct Stops {
    /// How many the figures have, which come first.
    shared: usize,
    /// Those of rules that ask something on their way.
    own: Vec<OwnStop>,
    pub frames: Vec<Frame>,
}

/// Where a rule stops that asked something on its way.
#[derive(Debug, Clone, Copy)]
pub(super) struct OwnStop {
    pub stop: Stop,
    /// Whether the rule applies there, as far as was asked, and what is told of that.
    pub applies: Outcome,
}

impl Stops {
    /// Behind those of the figures, in the place of what stands here.
    pub fn follow(&mut self, figures: &Figures) {
        let (stops, _, frames) = figures.stops();
        self.shared = stops.len();
        self.own.clear();
        self.frames.clear();
        self.frames.extend_from_slice(frames);
    }

    /// How many there are, those of the figures with them.
    pub fn count(&self) -> usize {
        self.shared + self.own.len()
    }

    /// One behind those of the figures, by its place among all.
    pub fn own(&self, place: usize) -> OwnStop {
        self.own[place - self.shared]
    }

    fn push(&mut self, scope: Scope, why: Why, applies: Outcome) {
        let stop = Stop { scope, why };
        self.own.push(OwnStop { stop, applies });
    }

    /// What is bound at one of them.
    pub fn subject(&self, figures: &Figures, stop: u32) -> Subject {
        let place = stop as usize;
        let shared = figures.stops().0.get(place);
        let Stop { mut scope, .. } = shared.copied().unwrap_or_else(|| self.own(place).stop);
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
        self.push(scope, Why::Asked, Outcome::silent(Held::True));
        (self.count() - 1) as u32
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
        let applies = self.applies(whens, applies, scope);
        match levels {
            _ if applies.held() == Held::False => self.stops.push(scope, Why::Empty, applies),
            [] => self.stops.push(scope, Why::Asked, applies),
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
        if let Some(why) = Why::of_list(items, is_open) {
            let told = Outcome::silent(Held::True);
            self.stops.push(scope, why, told);
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
