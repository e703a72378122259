//! Numbers and places of labels, each with whether something was missing for it: with floats, or
//! exactly where those leave a comparison open.

use super::code::{Condition, Key, Number, Table};
use super::ends::Ends;
use super::walk::QuickWalk;
use crate::judge::evaluate::axis_places;
use crate::judge::value::{Places, Value};
use crate::language::syntax::Fold;
use crate::program::code::{Axis, List};
use crate::quantity::Interval;
use crate::truth::Truth;

type Missing<T> = (T, bool);

impl QuickWalk<'_> {
    #[inline]
    pub(super) fn number<E: Ends>(&mut self, number: &Number) -> Missing<E> {
        match number {
            Number::Known(known) => (E::known(known), false),
            Number::Fact(of, fact) => {
                let value = E::fact(self.figures, self.mode, self.thing(*of), *fact);
                self.doubts |= value.is_none();
                let value = value.unwrap_or(E::WHOLE);
                (value, value.is_whole())
            }
            computed => self.computed(computed),
        }
    }

    fn computed<E: Ends>(&mut self, number: &Number) -> Missing<E> {
        match number {
            Number::Known(_) | Number::Fact(..) => self.number(number),
            Number::Negate(inner) => {
                let (value, missing) = self.number::<E>(inner);
                (value.negate(), missing)
            }
            Number::Add(parts) => self.both(parts, |a: E, b| Some(a.plus(b))),
            Number::Subtract(parts) => self.both(parts, |a: E, b| Some(a.plus(b.negate()))),
            Number::Multiply(parts) => self.both(parts, |a: E, b| Some(a.times(b))),
            Number::Divide(parts) => self.both(parts, E::over),
            Number::Lesser(parts) => self.both(parts, |a: E, b| Some(a.lesser(b))),
            Number::Greater(parts) => self.both(parts, |a: E, b| Some(a.greater(b))),
            Number::Power(base, exponent) => {
                let (base, missing) = self.number::<E>(base);
                self.sure(base.raised(*exponent), missing)
            }
            Number::Root(inner) => {
                let (inner, missing) = self.number::<E>(inner);
                self.sure(inner.root(), missing)
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
    ) -> Missing<E> {
        let (a, a_missing) = self.number(left);
        let (b, b_missing) = self.number(right);
        self.sure(join(a, b), a_missing || b_missing)
    }

    #[inline]
    fn sure<E: Ends>(&mut self, value: Option<E>, missing: bool) -> Missing<E> {
        self.doubts |= value.is_none();
        (value.unwrap_or(E::WHOLE), missing)
    }

    fn branch<E: Ends>(
        &mut self,
        (condition, then, otherwise): &(Condition, Number, Number),
        has_range: bool,
    ) -> Missing<E> {
        let held = self.condition(condition);
        match held.truth {
            Truth::True => self.number(then),
            Truth::False => self.number(otherwise),
            Truth::Unknown => {
                let (a, a_missing) = self.number::<E>(then);
                let (b, b_missing) = self.number::<E>(otherwise);
                let missing = held.missing || a_missing || b_missing;
                let value = if has_range || a == b {
                    a.hull(b)
                } else {
                    E::WHOLE
                };
                (value, missing)
            }
        }
    }

    fn count<E: Ends>(&mut self, list: List, inner: Option<&Condition>) -> Missing<E> {
        let (items, is_open) = self.list(list);
        let (mut sure, mut perhaps) = (0_u32, 0_u32);
        let mut missing = is_open;
        for item in items {
            let Some(inner) = inner else {
                sure += 1;
                continue;
            };
            self.bind(*item);
            let held = self.condition(inner);
            self.unbind();
            match held.truth {
                Truth::True => sure += 1,
                Truth::False => {}
                Truth::Unknown => {
                    perhaps += 1;
                    missing |= held.missing;
                }
            }
        }
        let most = (!is_open).then_some(sure + perhaps);
        (E::counted(sure, most), missing)
    }

    fn fold<E: Ends>(&mut self, fold: Fold, list: List, inner: &Number) -> Missing<E> {
        let (items, is_open) = self.list(list);
        let mut missing = is_open || (items.is_empty() && fold != Fold::Total);
        let mut value = match fold {
            Fold::Total => Some(E::counted(0, Some(0))),
            Fold::Least | Fold::Greatest => None,
        };
        for item in items {
            self.bind(*item);
            let (number, lacks) = self.number::<E>(inner);
            self.unbind();
            missing |= lacks;
            value = Some(match (fold, value) {
                (_, None) => number,
                (Fold::Least, Some(known)) => known.lesser(number),
                (Fold::Greatest, Some(known)) => known.greater(number),
                (Fold::Total, Some(known)) => known.plus(number),
            });
        }
        let value = value.unwrap_or(E::WHOLE);
        let value = match (is_open, fold) {
            (false, _) => value,
            (true, Fold::Least) => value.lesser(E::WHOLE),
            (true, Fold::Greatest) => value.greater(E::WHOLE),
            (true, Fold::Total) => E::WHOLE,
        };
        (value, missing)
    }

    /// A cell whose place is sure; anything else is left to the exact walk. Keys are exact always:
    /// they often lie on a bound.
    fn lookup<E: Ends>(&mut self, table: &Table) -> Missing<E> {
        let mut cell = 0;
        for Key { key, axis } in &table.keys {
            let (key, _) = self.number::<Interval>(key);
            let (first, past, beyond) = axis_places(axis, key_of(axis, key));
            if beyond || past != first + 1 {
                self.doubts = true;
                return (E::WHOLE, true);
            }
            cell = cell * axis.length() + first;
        }
        self.sure(table.cells[cell].as_ref().map(E::known), false)
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
