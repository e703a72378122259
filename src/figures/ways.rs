//! The ways through lists, and lists within them, on which rules go, and where each stops.

use super::{Column, Figures, Layout, Thing};

/// Whose a fact or list is: how many things further out than the innermost, or the site.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Owner(pub u8);

impl Owner {
    /// Of the site, too, where nothing is bound.
    pub const INNERMOST: Owner = Owner(0);
    pub const SITE: Owner = Owner(u8::MAX);
}

/// A list as figures keep it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct List {
    pub of: Owner,
    pub column: Column,
}

/// What is bound: the innermost thing, and which are around it.
// Two numbers, which go by the processor's registers: what lies in memory and was only just put
// together there is slow to be had again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Scope {
    pub innermost: Thing,
    around: Around,
}

/// How many things are bound, and the one around the innermost: its place among the frames, from 1,
/// or 0 for the site.
// The place in the upper half, the number in the lower.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Around(u64);

impl Around {
    fn new(place: u32, depth: u8) -> Around {
        Around(u64::from(place) << 32 | u64::from(depth))
    }

    fn frame(self, frames: &[Frame]) -> Option<&Frame> {
        frames.get(((self.0 >> 32) as usize).checked_sub(1)?)
    }
}

/// A thing that others are bound within.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Frame(Scope);

impl Scope {
    /// The site alone.
    pub const SITE: Scope = Scope {
        innermost: Thing::SITE,
        around: Around(0),
    };

    /// How many things are bound.
    pub fn depth(self) -> u8 {
        self.around.0 as u8
    }

    /// What is around the innermost thing.
    pub fn outer(self, frames: &[Frame]) -> Scope {
        let frame = self.around.frame(frames);
        frame.map_or(Scope::SITE, |frame| frame.0)
    }

    #[inline(always)]
    pub fn thing(self, of: Owner, frames: &[Frame]) -> Thing {
        match of {
            Owner::INNERMOST => self.innermost,
            Owner::SITE => Thing::SITE,
            Owner(hops) => self.further_out(hops, frames),
        }
    }

    #[inline(never)]
    fn further_out(mut self, hops: u8, frames: &[Frame]) -> Thing {
        for _ in 0..hops {
            self = self.outer(frames);
        }
        self.innermost
    }

    /// Where things are bound within the innermost.
    #[inline]
    pub fn within(self, frames: &mut Vec<Frame>) -> Within {
        let depth = self.depth();
        if depth > 0 {
            frames.push(Frame(self));
        }
        let place = if depth > 0 { frames.len() as u32 } else { 0 };
        Within(Around::new(place, depth + 1))
    }
}

/// Where more is bound.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Within(Around);

impl Within {
    #[inline(always)]
    pub fn with(self, item: Thing) -> Scope {
        Scope {
            innermost: item,
            around: self.0,
        }
    }
}

/// A place on a way where something is to be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Stop {
    pub scope: Scope,
    pub why: Why,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Why {
    /// The way ends there, and the rule is to be asked.
    Asked,
    /// There may be more in the next list than it tells.
    Open,
    /// There is nothing in the next list.
    Empty,
}

impl Why {
    /// To stop before a list goes on, where there is a reason.
    pub fn of_list(items: &[Thing], is_open: bool) -> Option<Why> {
        match (is_open, items) {
            (true, _) => Some(Why::Open),
            (false, []) => Some(Why::Empty),
            (false, [_, ..]) => None,
        }
    }
}

impl Figures {
    /// Finds the stops of all ways of the layout.
    pub(super) fn find_stops(&mut self, layout: &Layout) {
        for way in &layout.ways {
            self.go(way, Scope::SITE);
            self.ends.push(self.stops.len() as u32);
        }
    }

    fn go(&mut self, way: &[List], scope: Scope) {
        let [list, inner @ ..] = way else {
            let why = Why::Asked;
            return self.stops.push(Stop { scope, why });
        };
        let list = self.items(scope.thing(list.of, &self.frames), list.column);
        if let Some(why) = Why::of_list(self.elements(list), list.is_open) {
            self.stops.push(Stop { scope, why });
        }
        let within = scope.within(&mut self.frames);
        for place in list.first..list.past {
            self.go(inner, within.with(self.items[usize::from(place)]));
        }
    }

    /// All stops, the ends of each way's among them, and what is around what is bound there.
    pub(crate) fn stops(&self) -> (&[Stop], &[u32], &[Frame]) {
        (&self.stops, &self.ends, &self.frames)
    }
}
