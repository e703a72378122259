//! What a quantity measures: powers of length, time, force, current, temperature and angle.
//!
//! Force stands in the place of mass: the trade's pound is a force.

use std::fmt;

use super::number::Rational;

/// The product of powers of the base dimensions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Dimension {
    // Length, time, force, current, temperature, angle.
    exponents: [i16; 6],
}

/// The base units shown for a dimension without a name, in the order of the exponents.
const BASE_UNITS: [&str; 6] = ["ft", "s", "lb", "A", "degF", "deg"];

/// Beyond this no formula of ours reaches; a rule that does is refused.
const GREATEST_EXPONENT: i128 = 1000;

/// Each dimension with a name, and the unit to suggest for it.
const NAMED: [(&str, Dimension, Option<&str>); 16] = [
    ("number", Dimension::NUMBER, None),
    ("length", Dimension::LENGTH, Some("in")),
    ("area", Dimension::AREA, Some("ft2")),
    ("volume", Dimension::VOLUME, Some("gal")),
    ("force", Dimension::FORCE, Some("lb")),
    ("pressure", Dimension::PRESSURE, Some("psi")),
    ("flow", Dimension::FLOW, Some("gpm")),
    ("velocity", Dimension::VELOCITY, Some("ft/s")),
    ("angle", Dimension::ANGLE, Some("deg")),
    ("voltage", Dimension::VOLTAGE, Some("V")),
    ("current", Dimension::CURRENT, Some("A")),
    ("resistance", Dimension::RESISTANCE, Some("ohm")),
    ("power", Dimension::POWER, Some("W")),
    ("time", Dimension::TIME, Some("min")),
    ("unit_weight", Dimension::UNIT_WEIGHT, Some("lb/ft3")),
    (
        "temperature_difference",
        Dimension::TEMPERATURE_DIFFERENCE,
        Some("degF"),
    ),
];

impl Dimension {
    /// A plain number.
    pub const NUMBER: Dimension = Dimension::of([0, 0, 0, 0, 0, 0]);
    /// A length.
    pub const LENGTH: Dimension = Dimension::of([1, 0, 0, 0, 0, 0]);
    /// An area.
    pub const AREA: Dimension = Dimension::of([2, 0, 0, 0, 0, 0]);
    /// A volume.
    pub const VOLUME: Dimension = Dimension::of([3, 0, 0, 0, 0, 0]);
    /// A force, weights among them.
    pub const FORCE: Dimension = Dimension::of([0, 0, 1, 0, 0, 0]);
    /// A pressure.
    pub const PRESSURE: Dimension = Dimension::of([-2, 0, 1, 0, 0, 0]);
    /// A volume in a time.
    pub const FLOW: Dimension = Dimension::of([3, -1, 0, 0, 0, 0]);
    /// A length in a time.
    pub const VELOCITY: Dimension = Dimension::of([1, -1, 0, 0, 0, 0]);
    /// An angle.
    pub const ANGLE: Dimension = Dimension::of([0, 0, 0, 0, 0, 1]);
    /// A voltage.
    pub const VOLTAGE: Dimension = Dimension::of([1, -1, 1, -1, 0, 0]);
    /// An electric current.
    pub const CURRENT: Dimension = Dimension::of([0, 0, 0, 1, 0, 0]);
    /// An electrical resistance.
    pub const RESISTANCE: Dimension = Dimension::of([1, -1, 1, -2, 0, 0]);
    /// A power.
    pub const POWER: Dimension = Dimension::of([1, -1, 1, 0, 0, 0]);
    /// A time.
    pub const TIME: Dimension = Dimension::of([0, 1, 0, 0, 0, 0]);
    /// A weight in a volume.
    pub const UNIT_WEIGHT: Dimension = Dimension::of([-3, 0, 1, 0, 0, 0]);
    /// The difference of two temperatures.
    pub const TEMPERATURE_DIFFERENCE: Dimension = Dimension::of([0, 0, 0, 0, 1, 0]);

    const fn of(exponents: [i16; 6]) -> Dimension {
        Dimension { exponents }
    }

    /// The dimension of that name in the rule language; none for other words, `slope` among them
    /// (a slope is a plain number).
    pub fn named(name: &str) -> Option<Dimension> {
        NAMED
            .iter()
            .find(|(word, _, _)| *word == name)
            .map(|(_, dimension, _)| *dimension)
    }

    /// Its name, if it has one.
    pub fn name(self) -> Option<&'static str> {
        NAMED
            .iter()
            .find(|(_, dimension, _)| *dimension == self)
            .map(|(word, _, _)| *word)
    }

    /// A unit to suggest where one is missing; none for a plain number.
    pub fn example_unit(self) -> Option<&'static str> {
        NAMED
            .iter()
            .find(|(_, dimension, _)| *dimension == self)
            .and_then(|(_, _, unit)| *unit)
    }

    /// Whether it is a plain number.
    pub fn is_number(self) -> bool {
        self == Dimension::NUMBER
    }

    /// That of a product.
    pub fn multiply(self, other: Dimension) -> Dimension {
        self.combine(other, i16::saturating_add)
    }

    /// That of a quotient.
    pub fn divide(self, other: Dimension) -> Dimension {
        self.combine(other, i16::saturating_sub)
    }

    /// That of a power; none where a base dimension would get a broken or absurd exponent.
    pub fn power(self, exponent: Rational) -> Option<Dimension> {
        let mut exponents = [0; 6];
        for (result, own) in exponents.iter_mut().zip(self.exponents) {
            let whole = exponent
                .checked_multiply(Rational::from_integer(i64::from(own)))?
                .as_integer()
                .filter(|whole| whole.abs() <= GREATEST_EXPONENT)?;
            *result = i16::try_from(whole).ok()?;
        }
        Some(Dimension { exponents })
    }

    fn combine(self, other: Dimension, operation: fn(i16, i16) -> i16) -> Dimension {
        let mut exponents = self.exponents;
        for (own, other) in exponents.iter_mut().zip(other.exponents) {
            *own = operation(*own, other);
        }
        Dimension { exponents }
    }

    /// Base units with their exponents, those of one sign, joined by `·`.
    fn base_units(self, sign: i16) -> String {
        let factors: Vec<String> = BASE_UNITS
            .iter()
            .zip(self.exponents)
            .filter(|(_, exponent)| exponent.signum() == sign)
            .map(|(unit, exponent)| match exponent.unsigned_abs() {
                1 => (*unit).to_owned(),
                times => format!("{unit}{times}"),
            })
            .collect();
        factors.join("·")
    }
}

impl fmt::Display for Dimension {
    /// The name (`unit weight`, with spaces), else units: `ft·lb`, `lb/ft4`, `1/s2`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(name) = self.name() {
            return f.write_str(&name.replace('_', " "));
        }
        match self.base_units(1).as_str() {
            "" => f.write_str("1")?,
            above => f.write_str(above)?,
        }
        match self.base_units(-1).replace('·', "/").as_str() {
            "" => Ok(()),
            below => write!(f, "/{below}"),
        }
    }
}
