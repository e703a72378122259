//! Verdicts and margins without a word: what an archive is sifted by.
//!
//! Each rule is walked with floats that enclose the exact intervals. What they decide is decided;
//! where they touch, the two sides are worked out exactly; and where that is not enough the whole
//! rule is judged by the record itself. So a verdict is always the exact one, and only margins are
//! near: whoever tells of a ruling judges its rule exactly.

mod code;
mod conditions;
mod ends;
mod held;
mod numbers;
mod stops;
mod walk;

use std::ops::Deref;
use std::sync::Arc;

use super::value::MOST_BOUND;
use super::{Judge, Judgement};
use crate::check::typed::Decision;
use crate::figures::{Figures, Layout};
use crate::finding::Verdict;
use crate::program::Program;
use crate::quantity::Near;
use crate::record::facts::{Record, THE_SITE, ThingRef};
use crate::survey::{Mode, Survey};
use crate::vocabulary::Vocabulary;

use code::{Over, QuickRule, Turning};
use stops::Stops;
use walk::QuickWalk;

/// The things that `each` bound, the outermost first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Subject {
    things: [ThingRef; MOST_BOUND],
    depth: u8,
}

impl Default for Subject {
    fn default() -> Self {
        Subject {
            things: [THE_SITE; MOST_BOUND],
            depth: 0,
        }
    }
}

impl Subject {
    /// The things, the outermost first.
    pub fn things(&self) -> &[ThingRef] {
        &self.things[..usize::from(self.depth)]
    }
}

/// What one rule says of one subject, in the fewest bytes.
#[derive(Debug, Clone, Copy)]
pub struct Ruling {
    /// The rule, by its place in the program.
    pub rule: u32,
    /// Of what, by its place among the stops.
    stop: u32,
    /// With tolerances as guard.
    pub banded: Verdict,
    /// Without them.
    pub as_read: Verdict,
    /// The least margin that the record allows; "not a number" where there is none.
    margin: f64,
    /// The size of the limit, as near as a share needs it.
    limit: f32,
}

impl Ruling {
    /// The verdict that decides.
    pub fn verdict(&self, program: &Program) -> Verdict {
        match program.rules[self.rule as usize].decision {
            Decision::Banded => self.banded,
            Decision::AsRead => self.as_read,
        }
    }

    /// The least margin that the record allows, to within the rounding of floats, in the canonical
    /// unit; none where the comparison has none.
    pub fn margin(&self) -> Option<f64> {
        self.margin.is_finite().then_some(self.margin)
    }

    /// That margin as a share of the greatest limit that may be meant; none without both.
    pub fn share(&self) -> Option<f64> {
        let says_something = self.limit.is_finite() && self.limit > 0.0;
        let margin = self.margin().filter(|_| says_something);
        margin.map(|margin| margin / f64::from(self.limit))
    }

    fn of(rule: u32, stop: u32, judgement: &Judgement<'_>) -> Ruling {
        let told = judgement.reported.and_then(|reported| {
            let limit = reported.limit(judgement.rule);
            let margin = Near::around(reported.margin?);
            Some((margin.lower(), Near::around(limit.number()).size() as f32))
        });
        let (margin, limit) = told.unwrap_or((f64::NAN, 0.0));
        Ruling {
            rule,
            stop,
            banded: judgement.banded,
            as_read: judgement.as_read,
            margin,
            limit,
        }
    }
}

/// The rules of a program, ready for floats.
#[derive(Debug)]
pub struct Quick {
    /// In the program's order; none for what is judged exactly only.
    rules: Vec<Option<QuickRule>>,
    layout: Arc<Layout>,
}

impl Quick {
    /// Of a program, with a layout that keeps what its rules ask for and no more.
    pub fn of(program: &Program, vocabulary: &Vocabulary) -> Quick {
        Quick::grown(program, vocabulary, Layout::empty(vocabulary), true)
    }

    /// Of a program, for records that are laid out before their rules are known; none where a rule
    /// asks for what the layout lacks.
    pub fn within(
        layout: &Arc<Layout>,
        program: &Program,
        vocabulary: &Vocabulary,
    ) -> Option<Quick> {
        let quick = Quick::grown(program, vocabulary, Layout::clone(layout), false);
        (quick.layout == *layout).then(|| Quick {
            layout: Arc::clone(layout),
            ..quick
        })
    }

    fn grown(program: &Program, vocabulary: &Vocabulary, layout: Layout, may_add: bool) -> Quick {
        let mut turning = Turning {
            program,
            vocabulary,
            layout,
            may_add,
            bound: Vec::new(),
        };
        let rules = program.rules.iter().map(|rule| turning.rule(rule));
        Quick {
            rules: rules.collect(),
            layout: Arc::new(turning.layout),
        }
    }

    /// How its records are to be laid out.
    pub fn layout(&self) -> &Arc<Layout> {
        &self.layout
    }

    /// How many rules are walked with floats.
    pub fn count(&self) -> usize {
        self.rules.iter().flatten().count()
    }

    /// Judges a record by the program it was made of, in the program's order. The record itself is
    /// asked for only where its figures don't decide, as those of another layout never do. The
    /// rulings take the place of what stands in `rulings`.
    pub fn rule_on<'a>(
        &'a self,
        program: &'a Program,
        vocabulary: &'a Vocabulary,
        survey: &'a Survey,
        figures: &'a Figures,
        record: impl Fn() -> &'a Record,
        rulings: &mut Rulings,
    ) {
        let judge = || Judge::new(program, vocabulary, survey, record());
        let mut sifting = Sifting::new(self, program, figures, &judge, rulings);
        for (number, quick) in (0..).zip(&self.rules) {
            if !sifting.quickly(number, quick.as_ref()) {
                sifting.slowly(number);
            }
        }
    }
}

/// Rulings, and of what each is: used again and again, nothing is asked of the memory.
#[derive(Debug, Default)]
pub struct Rulings {
    all: Vec<Ruling>,
    stops: Stops,
}

impl Rulings {
    /// Of what one of them is.
    ///
    /// # Panics
    ///
    /// Perhaps, where the figures are not those that were judged.
    pub fn subject(&self, figures: &Figures, ruling: &Ruling) -> Subject {
        self.stops.subject(figures, ruling.stop)
    }
}

impl Deref for Rulings {
    type Target = [Ruling];

    fn deref(&self) -> &[Ruling] {
        &self.all
    }
}

/// One record being judged, by its figures where they do.
pub(super) struct Sifting<'a, 'f> {
    quick: &'a Quick,
    program: &'a Program,
    walk: QuickWalk<'a, 'f>,
    /// Whether the figures say anything of what is asked.
    is_laid_out: bool,
    judge: &'f dyn Fn() -> Judge<'a>,
    /// Once it was asked for.
    exact: Option<Judge<'a>>,
    rulings: &'f mut Vec<Ruling>,
    /// Where the stops of each way of the layout end.
    ends: &'a [u32],
}

impl<'a, 'f> Sifting<'a, 'f> {
    pub fn new(
        quick: &'a Quick,
        program: &'a Program,
        figures: &'a Figures,
        judge: &'f dyn Fn() -> Judge<'a>,
        rulings: &'f mut Rulings,
    ) -> Self {
        let is_laid_out = figures.is_of(&quick.layout);
        let Rulings { all, stops } = rulings;
        all.clear();
        stops.follow(figures);
        Sifting {
            quick,
            program,
            walk: QuickWalk::new(figures, stops),
            is_laid_out,
            judge,
            exact: None,
            rulings: all,
            ends: figures.stops().1,
        }
    }

    /// Adds what a rule says of its subjects; its judgements with it, where it took them.
    pub fn rule(&mut self, number: u32) -> Option<Vec<Judgement<'a>>> {
        let quick = self.quick.rules[number as usize].as_ref();
        (!self.quickly(number, quick)).then(|| self.slowly(number))
    }

    /// The same by figures, where they decide it.
    #[inline(always)]
    fn quickly(&mut self, number: u32, quick: Option<&QuickRule>) -> bool {
        match quick {
            Some(quick) if self.is_laid_out => self.both_ways(number, quick),
            Some(_) | None => false,
        }
    }

    /// The same by the record.
    #[inline(never)]
    fn slowly(&mut self, number: u32) -> Vec<Judgement<'a>> {
        let judgements = self.exactly(number);
        for judgement in &judgements {
            let stop = self.walk.stops.add(&judgement.subject);
            self.rulings.push(Ruling::of(number, stop, judgement));
        }
        judgements
    }

    /// What was said so far.
    pub fn rulings(&self) -> &[Ruling] {
        self.rulings
    }

    /// Judges a rule exactly.
    pub fn exactly(&mut self, number: u32) -> Vec<Judgement<'a>> {
        let exact = self.exact.get_or_insert_with(self.judge);
        exact.rule(&self.program.rules[number as usize])
    }

    /// Walks a rule with tolerances and, where that may differ, without; whether no doubt is left.
    /// What was said in doubt is taken back.
    #[inline(always)]
    fn both_ways(&mut self, number: u32, rule: &QuickRule) -> bool {
        let before = self.rulings.len();
        self.walk.mode = Mode::Banded;
        self.one_way(number, rule);
        let walk = &self.walk;
        let is_as_read = rule.decision == Decision::AsRead;
        let may_differ = walk.close | is_as_read | walk.figures.has_several;
        if !may_differ & !walk.doubts {
            return true;
        }
        self.other_way(before, number, rule)
    }

    #[inline(never)]
    fn other_way(&mut self, before: usize, number: u32, rule: &QuickRule) -> bool {
        let all = &mut *self.rulings;
        if self.walk.doubts {
            all.truncate(before);
            return false;
        }
        let is_open = |ruling: &Ruling| ruling.banded.is_undecided();
        if !self.walk.figures.has_several && !all[before..].iter().any(is_open) {
            return true;
        }
        self.walk.mode = Mode::AsRead;
        let is_own = matches!(rule.over, Over::Own(_));
        if !is_own && !self.walk.figures.has_several && rule.decision == Decision::Banded {
            // What is decided with tolerances is decided without them, and stops are the same.
            for ruling in all[before..].iter_mut().filter(|ruling| is_open(ruling)) {
                ruling.as_read = self.walk.at::<false>(rule, ruling.stop as usize).0;
            }
            let is_sure = !self.walk.doubts;
            if !is_sure {
                all.truncate(before);
            }
            return is_sure;
        }
        let middle = all.len();
        self.one_way(number, rule);
        let (all, stops) = (&mut *self.rulings, &*self.walk.stops);
        let (guarded, plain) = all[before..].split_at_mut(middle - before);
        let mut is_sure = !self.walk.doubts && guarded.len() == plain.len();
        let subject = |ruling: &Ruling| stops.subject(self.walk.figures, ruling.stop);
        for (one, other) in guarded.iter_mut().zip(plain) {
            is_sure &= one.stop == other.stop || subject(one) == subject(other);
            one.as_read = other.banded;
            if rule.decision == Decision::AsRead {
                (one.margin, one.limit) = (other.margin, other.limit);
            }
        }
        all.truncate(if is_sure { middle } else { before });
        is_sure
    }

    #[inline(always)]
    fn one_way(&mut self, number: u32, rule: &QuickRule) {
        let walk = &mut self.walk;
        walk.doubts = false;
        walk.close = false;
        match &rule.over {
            Over::Shared(way) => {
                let first = way.checked_sub(1).map_or(0, |before| self.ends[before]);
                let stops = first as usize..self.ends[*way] as usize;
                walk.rule::<false>((number, rule), stops, self.rulings);
            }
            Over::Own(way) => walk.own_way((number, rule), way, self.rulings),
        }
    }
}
