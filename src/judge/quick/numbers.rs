//! Numbers and places of labels: with floats, or exactly where those leave a comparison open. What
//! is missing for one is remembered in the walk.

use super::code::{Computed, Fact, Key, Number, Step, Table};
use super::ends::Ends;
use super::held::Held;
use super::walk::QuickWalk;
use crate::figures::{List, Scope};
use crate::judge::evaluate::axis_places;
use crate::judge::value::{Places, Value};
use crate::language::syntax::Fold;
use crate::program::code::Axis;
use crate::quantity::Interval;
use crate::truth::Truth;

impl QuickWalk<'_, '_> {
    // Most numbers are constants and facts: what there is to work out stays out of their way.
    #[inline(always)]
    pub fn number<E: Ends>(&mut self, number: &Number, scope: Scope) -> E {
        match number {
            Number::Known(known) => E::known(known),
            Number::Fact(fact) => self.fact(*fact, scope),
            Number::Computed(computed) => self.computed(computed, scope),
        }
    }

    #[inline(always)]
    fn fact<E: Ends>(&mut self, fact: Fact, scope: Scope) -> E {
        let value = E::fact(self, fact, scope);
        self.doubts |= value.is_none();
        let value = value.unwrap_or(E::WHOLE);
        self.lacks |= value.is_whole();
        value
    }

    #[inline(never)]
    fn computed<E: Ends>(&mut self, computed: &Computed, scope: Scope) -> E {
        match computed {
            Computed::Negate(inner) => self.number::<E>(inner, scope).negate(),
            Computed::Add(parts) => self.both(parts, scope, |a: E, b| Some(a.plus(b))),
            Computed::Subtract(parts) => {
                self.both(parts, scope, |a: E, b| Some(a.plus(b.negate())))
            }
            Computed::Multiply(parts) => self.both(parts, scope, |a: E, b| Some(a.times(b))),
            // By what is not known everything is possible.
            Computed::Divide(parts) => self.both(parts, scope, |a: E, b| match b.is_whole() {
                true => Some(E::WHOLE),
                false => a.over(b),
            }),
            Computed::Lesser(parts) => self.both(parts, scope, |a: E, b| Some(a.lesser(b))),
            Computed::Greater(parts) => self.both(parts, scope, |a: E, b| Some(a.greater(b))),
            Computed::Power(base, exponent) => {
                let base: E = self.number(base, scope);
                self.sure(base.raised(*exponent))
            }
            Computed::Root(inner) => {
                let inner: E = self.number(inner, scope);
                self.sure(inner.root())
            }
            Computed::If {
                condition,
                then,
                otherwise,
                has_range,
            } => self.branch(condition, [then, otherwise], *has_range, scope),
            Computed::Count(list, inner) => self.count(*list, inner.as_deref(), scope),
            Computed::Fold(fold, list, inner) => self.fold(*fold, *list, inner, scope),
            Computed::Lookup(table) => self.lookup(table, scope),
        }
    }

    #[inline]
    fn both<E: Ends>(
        &mut self,
        [left, right]: &[Number; 2],
        scope: Scope,
        join: impl Fn(E, E) -> Option<E>,
    ) -> E {
        let a = self.number(left, scope);
        let b = self.number(right, scope);
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
        condition: &[Step],
        [then, otherwise]: [&Number; 2],
        has_range: bool,
        scope: Scope,
    ) -> E {
        let held = self.condition(condition, scope).held();
        match held.truth() {
            Truth::True => self.number(then, scope),
            Truth::False => self.number(otherwise, scope),
            Truth::Unknown => {
                self.lacks |= held == Held::Missing;
                let a: E = self.number(then, scope);
                let b: E = self.number(otherwise, scope);
                match has_range || a == b {
                    true => a.hull(b),
                    false => E::WHOLE,
                }
            }
        }
    }

    #[inline(never)]
    fn count<E: Ends>(&mut self, list: List, inner: Option<&[Step]>, scope: Scope) -> E {
        let (items, is_open) = self.list(list, scope);
        let frames = self.stops.frames.len();
        let within = self.within(scope);
        let (mut sure, mut perhaps) = (0_u32, 0_u32);
        self.lacks |= is_open;
        for item in items {
            let Some(inner) = inner else {
                sure += 1;
                continue;
            };
            let inside = within.with(*item);
            let held = self.condition(inner, inside).held();
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
        self.stops.frames.truncate(frames);
        E::counted(sure, (!is_open).then_some(sure + perhaps))
    }

    #[inline(never)]
    fn fold<E: Ends>(&mut self, fold: Fold, list: List, inner: &Number, scope: Scope) -> E {
        let (items, is_open) = self.list(list, scope);
        self.lacks |= is_open || (items.is_empty() && fold != Fold::Total);
        let frames = self.stops.frames.len();
        let within = self.within(scope);
        let mut value = match fold {
            Fold::Total => Some(E::counted(0, Some(0))),
            Fold::Least | Fold::Greatest => None,
        };
        for item in items {
            let inside = within.with(*item);
            let number: E = self.number(inner, inside);
            value = Some(match (fold, value) {
                (_, None) => number,
                (Fold::Least, Some(known)) => known.lesser(number),
                (Fold::Greatest, Some(known)) => known.greater(number),
                (Fold::Total, Some(known)) => known.plus(number),
            });
        }
        self.stops.frames.truncate(frames);
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
    fn lookup<E: Ends>(&mut self, table: &Table, scope: Scope) -> E {
        let lacks = self.lacks;
        let mut cell = 0;
        for Key { key, axis } in &table.keys {
            let key: Interval = self.number(key, scope);
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
