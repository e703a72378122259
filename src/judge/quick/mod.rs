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
mod walk;

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

use code::{QuickRule, Turning};
use held::size;
use walk::QuickWalk;

/// The things that `each` and quantifiers bound, the outermost first.
#[derive(Debug, Clone, Copy)]
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

    fn push(&mut self, thing: ThingRef) {
        // What a rule binds is bounded where it is checked.
        self.things[usize::from(self.depth)] = thing;
        self.depth += 1;
    }

    fn pop(&mut self) {
        self.depth -= 1;
    }

    fn of(things: &[ThingRef]) -> Subject {
        let mut subject = Subject::default();
        for thing in things {
            subject.push(*thing);
        }
        subject
    }
}

/// What one rule says of one subject, in the fewest bytes.
#[derive(Debug, Clone, Copy)]
pub struct Ruling {
    /// The rule, by its place in the program.
    pub rule: u32,
    /// Of what.
    pub subject: Subject,
    /// With tolerances as guard.
    pub banded: Verdict,
    /// Without them.
    pub as_read: Verdict,
    /// The least margin that the record allows; "not a number" where there is none.
    margin: f64,
    limit: f64,
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
        margin.map(|margin| margin / self.limit)
    }

    fn of(rule: u32, judgement: &Judgement<'_>) -> Ruling {
        let told = judgement.reported.and_then(|reported| {
            let limit = reported.limit(judgement.rule);
            let margin = Near::around(reported.margin?);
            Some((margin.lower(), size(Near::around(limit.number()))))
        });
        let (margin, limit) = told.unwrap_or((f64::NAN, 0.0));
        Ruling {
            rule,
            subject: Subject::of(&judgement.subject),
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
        let (rules, layout) = turned(program, vocabulary, Layout::empty(vocabulary));
        Quick {
            rules,
            layout: Arc::new(layout),
        }
    }

    /// Of a program, for records that are laid out before their rules are known; none where a rule
    /// asks for what the layout lacks.
    pub fn within(
        layout: &Arc<Layout>,
        program: &Program,
        vocabulary: &Vocabulary,
    ) -> Option<Quick> {
        let (rules, grown) = turned(program, vocabulary, Layout::clone(layout));
        (grown == **layout).then(|| Quick {
            rules,
            layout: Arc::clone(layout),
        })
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
    /// asked for only where its figures don't decide, as those of another layout never do. The rulings take the place of what stands in
    /// `rulings`.
    pub fn rule_on<'a>(
        &'a self,
        program: &'a Program,
        vocabulary: &'a Vocabulary,
        survey: &'a Survey,
        figures: &'a Figures,
        record: impl Fn() -> &'a Record,
        rulings: &mut Vec<Ruling>,
    ) {
        rulings.clear();
        let judge = || Judge::new(program, vocabulary, survey, record());
        let mut sifting = Sifting::new(self, program, figures, &judge);
        for number in 0..self.rules.len() {
            sifting.rule(number, rulings);
        }
    }
}

fn turned(
    program: &Program,
    vocabulary: &Vocabulary,
    layout: Layout,
) -> (Vec<Option<QuickRule>>, Layout) {
    let mut turning = Turning {
        program,
        vocabulary,
        layout,
        bound: Vec::new(),
    };
    let rules = program.rules.iter().map(|rule| turning.rule(rule));
    (rules.collect(), turning.layout)
}

/// One record being judged, by its figures where they do.
pub(super) struct Sifting<'a, 'f> {
    quick: &'a Quick,
    program: &'a Program,
    walk: QuickWalk<'a>,
    /// Whether the figures say anything of what is asked.
    is_laid_out: bool,
    judge: &'f dyn Fn() -> Judge<'a>,
    /// Once it was asked for.
    exact: Option<Judge<'a>>,
}

impl<'a, 'f> Sifting<'a, 'f> {
    pub fn new(
        quick: &'a Quick,
        program: &'a Program,
        figures: &'a Figures,
        judge: &'f dyn Fn() -> Judge<'a>,
    ) -> Self {
        figures.fetch();
        Sifting {
            quick,
            program,
            walk: QuickWalk::new(figures),
            is_laid_out: figures.is_of(&quick.layout),
            judge,
            exact: None,
        }
    }

    /// Adds what a rule says of its subjects; its judgements with it, where it took them.
    pub fn rule(&mut self, number: usize, rulings: &mut Vec<Ruling>) -> Option<Vec<Judgement<'a>>> {
        // What is checked has fewer rules than that.
        let place = u32::try_from(number).unwrap_or(u32::MAX);
        if let Some(quick) = &self.quick.rules[number]
            && self.is_laid_out
            && both_ways(&mut self.walk, place, quick, rulings)
        {
            return None;
        }
        let judgements = self.exactly(number);
        rulings.extend(judgements.iter().map(|one| Ruling::of(place, one)));
        Some(judgements)
    }

    /// Judges a rule exactly.
    pub fn exactly(&mut self, number: usize) -> Vec<Judgement<'a>> {
        let exact = self.exact.get_or_insert_with(self.judge);
        exact.rule(&self.program.rules[number])
    }
}

/// Walks a rule with tolerances and, where that may differ, without; whether no doubt is left.
/// What was said in doubt is taken back.
fn both_ways(
    walk: &mut QuickWalk<'_>,
    number: u32,
    rule: &QuickRule,
    rulings: &mut Vec<Ruling>,
) -> bool {
    let before = rulings.len();
    walk.mode = Mode::Banded;
    walk.rule(number, rule, rulings);
    if walk.doubts {
        rulings.truncate(before);
        return false;
    }
    let is_as_read = rule.decision == Decision::AsRead;
    let is_open = |ruling: &Ruling| ruling.banded.is_undecided();
    let may_differ = walk.close || is_as_read;
    let differs = may_differ && rulings[before..].iter().any(is_open);
    if !differs && !walk.figures.has_several {
        return true;
    }
    let middle = rulings.len();
    walk.mode = Mode::AsRead;
    walk.rule(number, rule, rulings);
    let (guarded, plain) = rulings[before..].split_at_mut(middle - before);
    let mut is_sure = !walk.doubts && guarded.len() == plain.len();
    for (one, other) in guarded.iter_mut().zip(plain) {
        is_sure &= one.subject.things() == other.subject.things();
        one.as_read = other.banded;
        if is_as_read {
            (one.margin, one.limit) = (other.margin, other.limit);
        }
    }
    rulings.truncate(if is_sure { middle } else { before });
    is_sure
}
