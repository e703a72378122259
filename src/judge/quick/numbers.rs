//! Numbers and places of labels with floats, each with whether something was missing for it.

use super::code::{Condition, Key, Leaf, Number, Table};
use super::walk::QuickWalk;
use crate::judge::evaluate::{axis_places, constant, read_as};
use crate::judge::value::Value;
use crate::language::syntax::Fold;
use crate::program::code::List;
use crate::quantity::Near;
use crate::truth::Truth;

type Missing<T> = (T, bool);

impl<'a> QuickWalk<'a> {
    /// A side of a comparison: of a fact the ends alone, since its exact value is at hand.
    #[inline]
    pub(super) fn side(&mut self, number: &Number) -> Missing<Near> {
        match number {
            Number::Known(near) => (*near, false),
            Number::Fact(of, fact) => {
                let ends = self.fact(*of, *fact);
                let value = ends.map_or(Near::WHOLE, Near::between);
                (value, value.is_whole())
            }
            computed => self.number(computed),
        }
    }

    pub(super) fn number(&mut self, number: &Number) -> Missing<Near> {
        match number {
            Number::Known(near) => (*near, false),
            Number::Fact(of, fact) => {
                let value = self.fact(*of, *fact).map_or(Near::WHOLE, Near::again);
                (value, value.is_whole())
            }
            Number::Negate(inner) => {
                let (value, missing) = self.number(inner);
                (value.negate(), missing)
            }
            Number::Add(parts) => self.both(parts, |a, b| Some(a.plus(b))),
            Number::Subtract(parts) => self.both(parts, |a, b| Some(a.minus(b))),
            Number::Multiply(parts) => self.both(parts, Near::times),
            Number::Divide(parts) => self.both(parts, Near::over),
            Number::Lesser(parts) => self.both(parts, |a, b| Some(a.lesser(b))),
            Number::Greater(parts) => self.both(parts, |a, b| Some(a.greater(b))),
            Number::Power(base, exponent) => {
                let (base, missing) = self.number(base);
                self.sure(base.raised(*exponent), missing)
            }
            Number::Root(inner) => {
                let (inner, missing) = self.number(inner);
                self.sure(inner.root(), missing)
            }
            Number::If(parts, has_range) => self.branch(parts, *has_range),
            Number::Count(list, inner) => self.count(*list, inner.as_deref()),
            Number::Fold(fold, list, inner) => self.fold(*fold, *list, inner),
            Number::Lookup(table) => self.lookup(table),
        }
    }

    fn both(
        &mut self,
        [left, right]: &[Number; 2],
        join: impl Fn(Near, Near) -> Option<Near>,
    ) -> Missing<Near> {
        let (a, a_missing) = self.number(left);
        let (b, b_missing) = self.number(right);
        self.sure(join(a, b), a_missing || b_missing)
    }

    fn sure(&mut self, value: Option<Near>, missing: bool) -> Missing<Near> {
        self.doubts |= value.is_none();
        (value.unwrap_or(Near::WHOLE), missing)
    }

    fn branch(
        &mut self,
        (condition, then, otherwise): &(Condition, Number, Number),
        has_range: bool,
    ) -> Missing<Near> {
        let held = self.condition(condition);
        match held.truth {
            Truth::True => self.number(then),
            Truth::False => self.number(otherwise),
            Truth::Unknown => {
                let (a, a_missing) = self.number(then);
                let (b, b_missing) = self.number(otherwise);
                let missing = held.missing || a_missing || b_missing;
                let value = if has_range || a == b {
                    a.hull(b)
                } else {
                    Near::WHOLE
                };
                (value, missing)
            }
        }
    }

    fn count(&mut self, list: List, inner: Option<&Condition>) -> Missing<Near> {
        let (items, is_open) = self.list(list);
        let (mut sure, mut perhaps) = (0_u32, 0_u32);
        let mut missing = is_open;
        for item in items {
            let Some(inner) = inner else {
                sure += 1;
                continue;
            };
            self.bound.push(*item);
            let held = self.condition(inner);
            self.bound.pop();
            match held.truth {
                Truth::True => sure += 1,
                Truth::False => {}
                Truth::Unknown => {
                    perhaps += 1;
                    missing |= held.missing;
                }
            }
        }
        let places = |number: u32| u16::try_from(number).ok().map(Near::exactly);
        let value = places(sure)
            .zip(places(sure + perhaps))
            .map(|(least, most)| {
                if is_open {
                    least.or_more()
                } else {
                    least.hull(most)
                }
            });
        self.sure(value, missing)
    }

    fn fold(&mut self, fold: Fold, list: List, inner: &Number) -> Missing<Near> {
        let (items, is_open) = self.list(list);
        let mut missing = is_open || (items.is_empty() && fold != Fold::Total);
        let mut value = match fold {
            Fold::Total => Some(Near::exactly(0)),
            Fold::Least | Fold::Greatest => None,
        };
        for item in items {
            self.bound.push(*item);
            let (number, lacks) = self.number(inner);
            self.bound.pop();
            missing |= lacks;
            value = Some(match (fold, value) {
                (_, None) => number,
                (Fold::Least, Some(known)) => known.lesser(number),
                (Fold::Greatest, Some(known)) => known.greater(number),
                (Fold::Total, Some(known)) => known.plus(number),
            });
        }
        let value = value.unwrap_or(Near::WHOLE);
        let value = match (is_open, fold) {
            (false, _) => value,
            (true, Fold::Least) => value.lesser(Near::WHOLE),
            (true, Fold::Greatest) => value.greater(Near::WHOLE),
            (true, Fold::Total) => Near::WHOLE,
        };
        (value, missing)
    }

    /// A cell whose place is sure; anything else is left to the exact walk.
    fn lookup(&mut self, table: &Table) -> Missing<Near> {
        let mut cell = 0;
        for Key { key, axis } in &table.keys {
            let (first, past, beyond) = axis_places(axis, self.exact(key));
            if beyond || past != first + 1 {
                self.doubts = true;
                return (Near::WHOLE, true);
            }
            cell = cell * axis.length() + first;
        }
        self.sure(table.cells[cell], false)
    }

    /// The value of a leaf as it is.
    pub(super) fn exact(&self, leaf: &Leaf) -> Value<'a> {
        match leaf {
            Leaf::Known(value) => constant(*value),
            Leaf::Fact(of, fact, gives) => {
                read_as(self.record, self.thing(*of), *fact, self.mode, *gives)
            }
        }
    }
}
