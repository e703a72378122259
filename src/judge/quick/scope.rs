//! Of what a rule is asked: the things that are bound at once, and how they are come by.

use super::Subject;
use super::code::{Condition, Level, Owner, Way};
use super::held::{Held, Outcome};
use super::walk::QuickWalk;
use crate::figures::Thing;
use crate::finding::Verdict;
use crate::record::facts::ThingRef;

/// What is bound: the innermost thing, and which are around it.
// Two numbers, which go by the processor's registers: what lies in memory and was only just put
// together there is slow to be had again.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scope {
    innermost: Thing,
    around: Around,
}

/// How many things are bound, and the one around the innermost: its place among the frames, from 1,
/// or 0 for the site.
// The place in the upper half, the number in the lower.
#[derive(Debug, Clone, Copy)]
struct Around(u64);

impl Around {
    fn new(place: u32, depth: u8) -> Around {
        Around(u64::from(place) << 32 | u64::from(depth))
    }

    fn depth(self) -> u8 {
        self.0 as u8
    }

    fn frame(self, frames: &[Frame]) -> Option<&Frame> {
        frames.get(((self.0 >> 32) as usize).checked_sub(1)?)
    }
}

/// A thing that others are bound within.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame(Scope);

impl Scope {
    /// The site alone.
    const SITE: Scope = Scope {
        innermost: Thing::SITE,
        around: Around(0),
    };

    fn depth(self) -> u8 {
        self.around.depth()
    }

    /// What is around the innermost thing.
    fn outer(self, frames: &[Frame]) -> Scope {
        self.around
            .frame(frames)
            .map_or(Scope::SITE, |frame| frame.0)
    }
}

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

/// The places where rules stop, and what is around them.
#[derive(Debug, Default)]
pub(super) struct Stops {
    pub all: Vec<Stop>,
    pub frames: Vec<Frame>,
}

impl Stops {
    pub fn clear(&mut self) {
        self.all.clear();
        self.frames.clear();
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
            scope = within(&mut self.frames, scope).with(Thing::bare(*thing));
        }
        self.all
            .push(Stop::asked(scope, Outcome::silent(Held::True)));
        (self.all.len() - 1) as u32
    }
}

/// Where more is bound.
#[derive(Debug, Clone, Copy)]
pub(super) struct Within(Around);

impl Within {
    #[inline(always)]
    pub fn with(self, item: Thing) -> Scope {
        Scope {
            innermost: item,
            around: self.0,
        }
    }
}

/// Within the innermost thing of a scope.
#[inline]
fn within(frames: &mut Vec<Frame>, scope: Scope) -> Within {
    let depth = scope.depth();
    if depth > 0 {
        frames.push(Frame(scope));
    }
    let place = if depth > 0 { frames.len() as u32 } else { 0 };
    Within(Around::new(place, depth + 1))
}

impl QuickWalk<'_, '_> {
    #[inline(always)]
    pub fn thing(&self, of: Owner, scope: Scope) -> Thing {
        match of {
            Owner::INNERMOST => scope.innermost,
            Owner::SITE => Thing::SITE,
            Owner(hops) => self.outer(hops, scope),
        }
    }

    #[inline(never)]
    fn outer(&self, hops: u8, mut scope: Scope) -> Thing {
        for _ in 0..hops {
            scope = scope.outer(&self.stops.frames);
        }
        scope.innermost
    }

    /// Within the innermost thing of a scope, for as long as it is asked about.
    #[inline]
    pub fn within(&mut self, scope: Scope) -> Within {
        within(&mut self.stops.frames, scope)
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
        let verdict = match (is_open, items) {
            (true, _) => Some(Verdict::NotRecorded),
            (false, []) => Some(Verdict::DoesNotApply),
            (false, [_, ..]) => None,
        };
        if let Some(verdict) = verdict {
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
