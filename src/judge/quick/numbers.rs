//! Numbers and places of labels: with floats, or exactly where those leave a comparison open. What
//! is missing for one is remembered in the walk.

use super::code::{Condition, Key, Number, Table};
use super::ends::Ends;
use super::held::Held;
use super::walk::QuickWalk;
use crate::judge::evaluate::axis_places;
use crate::judge::value::{Places, Value};
use crate::language::syntax::Fold;
use crate::program::code::{Axis, List};
use crate::quantity::Interval;
use crate::truth::Truth;

impl QuickWalk<'_> {
    // Most numbers are constants and facts: what there is to work out stays out of their way.
    #[inline(always)]
    pub(super) fn number<E: Ends>(&mut self, number: &Number) -> E {
        match number {
            Number::Known(known) => E::known(known),
            Number::Fact(of, fact) => {
                let value = E::fact(self.figures, self.mode, self.thing(*of), *fact);
                self.doubts |= value.is_none();
                let value = value.unwrap_or(E::WHOLE);
                self.lacks |= value.is_whole();
                value
            }
            computed => self.computed(computed),
        }
    }

    #[inline(never)]
    fn computed<E: Ends>(&mut self, number: &Number) -> E {
        match number {
            Number::Known(_) | Number::Fact(..) => self.number(number),
            Number::Negate(inner) => self.number::<E>(inner).negate(),
            Number::Add(parts) => self.both(parts, |a: E, b| Some(a.plus(b))),
            Number::Subtract(parts) => self.both(parts, |a: E, b| Some(a.plus(b.negate()))),
            Number::Multiply(parts) => self.both(parts, |a: E, b| Some(a.times(b))),
            // By what is not known everything is possible.
            Number::Divide(parts) => self.both(parts, |a: E, b| match b.is_whole() {
                true => Some(E::WHOLE),
                false => a.over(b),
            }),
            Number::Lesser(parts) => self.both(parts, |a: E, b| Some(a.lesser(b))),
            Number::Greater(parts) => self.both(parts, |a: E, b| Some(a.greater(b))),
            Number::Power(base, exponent) => {
                let base: E = self.number(base);
                self.sure(base.raised(*exponent))
            }
            Number::Root(inner) => {
                let inner: E = self.number(inner);
                self.sure(inner.root())
            }
            Number::If(parts, has_range) => self.branch(parts, *has_range),
            Number::Count(list, inner) => self.count(*list, inner.as_deref()),
            Number::Fold(fold, list, inner) => self.fold(*fold, *list, inner),
            Number::Lookup(table) => self.lookup(table),
        }
    }

    #[inline]
    fn both<E: Ends>(
        &mut self,
        [left, right]: &[Number; 2],
        join: impl Fn(E, E) -> Option<E>,
    ) -> E {
        let a = self.number(left);
        let b = self.number(right);
        self.sure(join(a, b))
    }

    #[inline]
    fn sure<E: Ends>(&mut self, value: Option<E>) -> E {
        self.doubts |= value.is_none();
        value.unwrap_or(E::WHOLE)
    }

    #[inline(never)]
    fn branch<E: Ends>(
        &mut self,
        (condition, then, otherwise): &(Condition, Number, Number),
        has_range: bool,
    ) -> E {
        let held = self.condition(condition);
        match held.truth() {
            Truth::True => self.number(then),
            Truth::False => self.number(otherwise),
            Truth::Unknown => {
                self.lacks |= held == Held::Missing;
                let a: E = self.number(then);
                let b: E = self.number(otherwise);
                match has_range || a == b {
                    true => a.hull(b),
                    false => E::WHOLE,
                }
            }
        }
    }

    #[inline(never)]
    fn count<E: Ends>(&mut self, list: List, inner: Option<&Condition>) -> E {
        let (items, is_open) = self.list(list);
        let (mut sure, mut perhaps) = (0_u32, 0_u32);
        self.lacks |= is_open;
        for item in items {
            let Some(inner) = inner else {
                sure += 1;
                continue;
            };
            self.bind(*item);
            let held = self.condition(inner);
            self.unbind();
            match held {
                Held::True => sure += 1,
                Held::False => {}
                Held::Close => perhaps += 1,
                Held::Missing => {
                    perhaps += 1;
                    self.lacks = true;
                }
            }
        }
        E::counted(sure, (!is_open).then_some(sure + perhaps))
    }

    #[inline(never)]
    fn fold<E: Ends>(&mut self, fold: Fold, list: List, inner: &Number) -> E {
        let (items, is_open) = self.list(list);
        self.lacks |= is_open || (items.is_empty() && fold != Fold::Total);
        let mut value = match fold {
            Fold::Total => Some(E::counted(0, Some(0))),
            Fold::Least | Fold::Greatest => None,
        };
        for item in items {
            self.bind(*item);
            let number: E = self.number(inner);
            self.unbind();
            value = Some(match (fold, value) {
                (_, None) => number,
                (Fold::Least, Some(known)) => known.lesser(number),
                (Fold::Greatest, Some(known)) => known.greater(number),
                (Fold::Total, Some(known)) => known.plus(number),
            });
        }
        let value = value.unwrap_or(E::WHOLE);
        match (is_open, fold) {
            (false, _) => value,
            (true, Fold::Least) => value.lesser(E::WHOLE),
            (true, Fold::Greatest) => value.greater(E::WHOLE),
            (true, Fold::Total) => E::WHOLE,
        }
    }

    /// A cell whose place is sure; anything else is left to the record. Keys are exact always: they
    /// often lie on a bound.
    #[inline(never)]
    fn lookup<E: Ends>(&mut self, table: &Table) -> E {
        let lacks = self.lacks;
        let mut cell = 0;
        for Key { key, axis } in &table.keys {
            let key: Interval = self.number(key);
            let (first, past, beyond) = axis_places(axis, key_of(axis, key));
            if beyond || past != first + 1 {
                self.doubts = true;
                return E::WHOLE;
            }
            cell = cell * axis.length() + first;
        }
        self.lacks = lacks;
        self.sure(table.cells[cell].as_ref().map(E::known))
    }
}

fn key_of(axis: &Axis, key: Interval) -> Value<'static> {
    match axis {
        Axis::UpTo { .. } | Axis::From { .. } => Value::Number(key),
        Axis::Scale { .. } => {
            let place = key.exact_point().and_then(|place| place.as_integer());
            let place = place.and_then(|place| u16::try_from(place).ok());
            Value::Places(place.map_or(Places::UNKNOWN, Places::one))
        }
    }
}
