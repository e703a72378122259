//! Units: a table of those we know, and quotients of them.
//!
//! Factors are exact. The inch, the gallon (231 cubic inches) and the pound are exact by
//! definition and standard gravity is 9.80665 m/s², all after NIST SP 811, Appendix B.

use std::borrow::Cow;
use std::ops::Deref;
use std::sync::Arc;

use super::dimension::Dimension;
use super::number::Rational;

/// A unit, simple or a quotient. It is handed about a good deal, and those of the table weigh
/// nothing.
#[derive(Debug, Clone)]
pub struct Unit(Kept);

#[derive(Debug, Clone)]
enum Kept {
    Known(&'static Definition),
    Made(Arc<Definition>),
}

/// What a unit is, under the name it is shown by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Definition {
    /// As it is written in our texts: `lb/ft3`, `degF`.
    pub name: Cow<'static, str>,
    /// What it measures.
    pub dimension: Dimension,
    /// How many canonical units (m, s, N, A, K, degree of angle) one of it is.
    pub factor: Rational,
    /// Of a temperature scale: its zero in kelvin. A *difference* of temperatures is told by the
    /// factor alone.
    pub offset: Option<Rational>,
    /// Whether a slope may be written in it: a length by a length, or per cent.
    pub is_slope: bool,
}

impl Deref for Unit {
    type Target = Definition;

    #[inline]
    fn deref(&self) -> &Definition {
        match &self.0 {
            Kept::Known(known) => known,
            Kept::Made(made) => made,
        }
    }
}

impl PartialEq for Unit {
    fn eq(&self, other: &Self) -> bool {
        **self == **other
    }
}

impl Eq for Unit {}

/// A text that is no unit of ours.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is not a unit known here")]
pub struct UnknownUnit {
    /// What was found.
    pub found: String,
    /// How to mend it: a unit to write, or an explanation.
    pub mend: String,
}

const fn known(name: &'static str, dimension: Dimension, above: i128, below: i128) -> Definition {
    Definition {
        name: Cow::Borrowed(name),
        dimension,
        factor: Rational::constant(above, below),
        offset: None,
        is_slope: false,
    }
}

const fn scale(name: &'static str, factor: (i128, i128), zero: (i128, i128)) -> Definition {
    Definition {
        name: Cow::Borrowed(name),
        dimension: Dimension::TEMPERATURE_DIFFERENCE,
        factor: Rational::constant(factor.0, factor.1),
        offset: Some(Rational::constant(zero.0, zero.1)),
        is_slope: false,
    }
}

/// One pound of force is 4.4482216152605 N: 0.45359237 kg times 9.80665 m/s².
const POUND: i128 = 8_896_443_230_521;
const TERA: i128 = 1_000_000_000_000;
/// One gallon is 231 × 0.0254³ m³.
const GALLON: i128 = 473_176_473;
const GALLON_PER: i128 = 125_000_000_000;

static KNOWN: [Definition; 48] = [
    known("in", Dimension::LENGTH, 127, 5_000),
    known("ft", Dimension::LENGTH, 381, 1_250),
    known("yd", Dimension::LENGTH, 1_143, 1_250),
    known("mi", Dimension::LENGTH, 201_168, 125),
    // Wire tables give ohms for a thousand feet.
    known("kft", Dimension::LENGTH, 1_524, 5),
    known("mm", Dimension::LENGTH, 1, 1_000),
    known("cm", Dimension::LENGTH, 1, 100),
    known("m", Dimension::LENGTH, 1, 1),
    known("km", Dimension::LENGTH, 1_000, 1),
    known("gal", Dimension::VOLUME, GALLON, GALLON_PER),
    known("L", Dimension::VOLUME, 1, 1_000),
    known("gpm", Dimension::FLOW, GALLON, GALLON_PER * 60),
    known("gpd", Dimension::FLOW, GALLON, GALLON_PER * 86_400),
    known("psi", Dimension::PRESSURE, POUND, 1_290_320_000),
    known("psf", Dimension::PRESSURE, POUND, 185_806_080_000),
    // 2000 lb on a square foot: soils.
    known("tsf", Dimension::PRESSURE, POUND, 92_903_040),
    known("Pa", Dimension::PRESSURE, 1, 1),
    known("kPa", Dimension::PRESSURE, 1_000, 1),
    known("MPa", Dimension::PRESSURE, 1_000_000, 1),
    known("bar", Dimension::PRESSURE, 100_000, 1),
    // The conventional inch of mercury: 13 595.1 kg/m³ at standard gravity.
    known("inHg", Dimension::PRESSURE, 3_386_388_640_341, TERA / 1_000),
    known("lb", Dimension::FORCE, POUND, 2 * TERA),
    known("kip", Dimension::FORCE, POUND, 2 * TERA / 1_000),
    known("N", Dimension::FORCE, 1, 1),
    known("kN", Dimension::FORCE, 1_000, 1),
    // The weight of a kilogram at standard gravity.
    known("kg", Dimension::FORCE, 196_133, 20_000),
    known("s", Dimension::TIME, 1, 1),
    known("min", Dimension::TIME, 60, 1),
    known("h", Dimension::TIME, 3_600, 1),
    known("d", Dimension::TIME, 86_400, 1),
    known("day", Dimension::TIME, 86_400, 1),
    known("mV", Dimension::VOLTAGE, 1, 1_000),
    known("V", Dimension::VOLTAGE, 1, 1),
    known("kV", Dimension::VOLTAGE, 1_000, 1),
    known("mA", Dimension::CURRENT, 1, 1_000),
    known("A", Dimension::CURRENT, 1, 1),
    known("ohm", Dimension::RESISTANCE, 1, 1),
    known("kohm", Dimension::RESISTANCE, 1_000, 1),
    known("Mohm", Dimension::RESISTANCE, 1_000_000, 1),
    known("W", Dimension::POWER, 1, 1),
    known("kW", Dimension::POWER, 1_000, 1),
    // 550 ft·lb/s, not the metric or the electrical horsepower.
    known("hp", Dimension::POWER, 4_191 * POUND, 50 * TERA),
    known("deg", Dimension::ANGLE, 1, 1),
    scale("degF", (5, 9), (45_967, 180)),
    scale("degC", (1, 1), (5_463, 20)),
    scale("K", (1, 1), (0, 1)),
    Definition {
        name: Cow::Borrowed("%"),
        dimension: Dimension::NUMBER,
        factor: Rational::constant(1, 100),
        offset: None,
        is_slope: true,
    },
    known("ppm", Dimension::NUMBER, 1, 1_000_000),
];

/// Their names, each as one number.
static KEYS: [u64; KNOWN.len()] = {
    let mut keys = [0; KNOWN.len()];
    let mut at = 0;
    while at < KNOWN.len() {
        let Cow::Borrowed(name) = KNOWN[at].name else {
            panic!("the table borrows its names");
        };
        keys[at] = match key(name.as_bytes()) {
            Some(key) => key,
            None => panic!("a name of the table is short"),
        };
        at += 1;
    }
    keys
};

/// A name of at most seven bytes as one number, another for each; none of a longer one.
#[inline]
const fn key(name: &[u8]) -> Option<u64> {
    if name.len() > 7 {
        return None;
    }
    // What a name begins with tells how long it is.
    let mut key = 1;
    let mut at = 0;
    while at < name.len() {
        key = key << 8 | name[at] as u64;
        at += 1;
    }
    Some(key)
}

/// Quotients and powers to suggest; they are read like any other.
const COMPOSED: [&str; 22] = [
    "in/ft", "mm/m", "in2", "ft2", "mm2", "m2", "ft3", "yd3", "m3", "gal/day", "L/s", "L/min",
    "m3/h", "ft3/s", "ft/s", "m/s", "lb/ft", "lb/ft2", "lb/ft3", "kN/m3", "ohm/kft", "gal/ft",
];

/// Signs that stand for a unit's name.
const SIGNS: [(&str, &str); 8] = [
    ("'", "ft"),
    ("′", "ft"),
    ("’", "ft"),
    ("\"", "in"),
    ("″", "in"),
    ("”", "in"),
    ("°F", "degF"),
    ("°C", "degC"),
];

/// Other spellings, in lower case, and what to write for them.
const SPELLINGS: [(&str, &str); 87] = [
    ("inch", "in"),
    ("inches", "in"),
    ("in.", "in"),
    ("foot", "ft"),
    ("feet", "ft"),
    ("ft.", "ft"),
    ("lf", "ft"),
    ("yard", "yd"),
    ("yards", "yd"),
    ("mile", "mi"),
    ("miles", "mi"),
    ("meter", "m"),
    ("meters", "m"),
    ("metre", "m"),
    ("metres", "m"),
    ("millimeter", "mm"),
    ("millimeters", "mm"),
    ("millimetre", "mm"),
    ("millimetres", "mm"),
    ("sq in", "in2"),
    ("sq ft", "ft2"),
    ("sf", "ft2"),
    ("square feet", "ft2"),
    ("square inches", "in2"),
    ("cu ft", "ft3"),
    ("cf", "ft3"),
    ("cubic feet", "ft3"),
    ("cu yd", "yd3"),
    ("cy", "yd3"),
    ("cubic yards", "yd3"),
    ("gallon", "gal"),
    ("gallons", "gal"),
    ("gals", "gal"),
    ("gal.", "gal"),
    ("liter", "L"),
    ("liters", "L"),
    ("litre", "L"),
    ("litres", "L"),
    ("lpm", "L/min"),
    ("lps", "L/s"),
    ("cfs", "ft3/s"),
    ("cfm", "ft3/min"),
    ("fps", "ft/s"),
    ("psig", "psi"),
    ("psia", "psi"),
    ("lbs", "lb"),
    ("lbf", "lb"),
    ("lb.", "lb"),
    ("pound", "lb"),
    ("pounds", "lb"),
    ("#", "lb"),
    ("kips", "kip"),
    ("kgf", "kg"),
    ("pcf", "lb/ft3"),
    ("plf", "lb/ft"),
    ("sec", "s"),
    ("second", "s"),
    ("seconds", "s"),
    ("minute", "min"),
    ("minutes", "min"),
    ("mins", "min"),
    ("hr", "h"),
    ("hrs", "h"),
    ("hour", "h"),
    ("hours", "h"),
    ("days", "d"),
    ("volt", "V"),
    ("volts", "V"),
    ("vac", "V"),
    ("amp", "A"),
    ("amps", "A"),
    ("ampere", "A"),
    ("amperes", "A"),
    ("ohms", "ohm"),
    ("ω", "ohm"),
    ("kω", "kohm"),
    ("mω", "Mohm"),
    ("megohm", "Mohm"),
    ("megohms", "Mohm"),
    ("watt", "W"),
    ("watts", "W"),
    ("horsepower", "hp"),
    ("degree", "deg"),
    ("degrees", "deg"),
    ("°", "deg"),
    ("f", "degF"),
    ("c", "degC"),
];

/// Spellings that need more than another spelling.
const EXPLAINED: [(&str, &str); 7] = [
    (
        "fth2o",
        "how much a foot of water presses depends on its density: write the pressure in `psi`, or the head as a length in `ft`",
    ),
    (
        "inh2o",
        "how much an inch of water presses depends on its density: write the pressure in `psi` or `Pa`",
    ),
    ("mgd", "write the flow in `gpm` or `gal/day`"),
    (
        "acre",
        "there are two feet that acres are made of: write the area in `ft2`",
    ),
    (
        "acres",
        "there are two feet that acres are made of: write the area in `ft2`",
    ),
    ("percent", "write `%`"),
    (
        "ton",
        "there are several tons: write the weight in `lb` or `kg`",
    ),
];

/// The longest text that is looked at as a unit, in bytes.
const LONGEST: usize = 40;

impl Unit {
    /// Reads a unit: one of the table, perhaps with an exponent (`ft2`), or a quotient or product
    /// of such (`lb/ft3`, `ft·lb/s`). What stands after each `/` divides.
    pub fn parse(text: &str) -> Result<Unit, UnknownUnit> {
        let text = text.trim();
        if text.len() <= LONGEST {
            if let Some(unit) = single(text) {
                return Ok(unit);
            }
            if let Some(unit) = composed(text) {
                return Ok(unit);
            }
        }
        Err(unknown(text))
    }

    /// What a unit of the table is.
    #[inline]
    pub(super) fn known(name: &[u8]) -> Option<&'static Definition> {
        let key = key(name)?;
        let place = KEYS.iter().position(|known| *known == key)?;
        Some(&KNOWN[place])
    }

    /// That unit.
    pub(super) fn of(known: &'static Definition) -> Unit {
        Unit(Kept::Known(known))
    }

    fn made(definition: Definition) -> Unit {
        Unit(Kept::Made(Arc::new(definition)))
    }

    /// The names of the table in its order, then the usual quotients and powers.
    pub fn all() -> impl Iterator<Item = &'static str> {
        KNOWN.iter().map(|known| &*known.name).chain(COMPOSED)
    }

    /// A number of this unit in canonical units; none where it does not fit.
    pub fn canonical(&self, number: Rational) -> Option<Rational> {
        number.checked_multiply(self.factor)
    }

    /// A point on the scale of this unit in canonical units, kelvin: of a unit without a scale
    /// the same as [`Unit::canonical`].
    pub fn point(&self, number: Rational) -> Option<Rational> {
        let above_zero = self.canonical(number)?;
        match self.offset {
            Some(zero) => above_zero.checked_add(zero),
            None => Some(above_zero),
        }
    }
}

impl std::fmt::Display for Unit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.name)
    }
}

/// A unit of the table or a sign for one, with an exponent or without.
fn single(text: &str) -> Option<Unit> {
    let name = SIGNS
        .iter()
        .find(|(sign, _)| *sign == text)
        .map_or(text, |(_, name)| name);
    if let Some(unit) = Unit::known(name.as_bytes()) {
        return Some(Unit::of(unit));
    }
    let exponent = text
        .chars()
        .last()?
        .to_digit(10)
        .filter(|digit| (2..=4).contains(digit))?;
    let base = Unit::known(&text.as_bytes()[..text.len() - 1])?;
    // A power is taken of what has a size: not of temperatures, or of per cent.
    if base.offset.is_some() || base.dimension.is_number() {
        return None;
    }
    Some(Unit::made(Definition {
        name: text.to_owned().into(),
        dimension: base
            .dimension
            .power(Rational::from_integer(i64::from(exponent)))?,
        factor: base.factor.checked_power(u64::from(exponent))?,
        offset: None,
        is_slope: false,
    }))
}

/// Units joined by `/` and `·`.
fn composed(text: &str) -> Option<Unit> {
    let mut dimension = Dimension::NUMBER;
    let mut factor = Rational::ONE;
    let mut parts = 0;
    let mut lengths = 0;
    for (index, quotient) in text.split('/').enumerate() {
        for word in quotient.split('·') {
            let part = single(word.trim())?;
            if part.dimension.is_number() {
                return None;
            }
            parts += 1;
            lengths += i32::from(part.dimension == Dimension::LENGTH);
            if index == 0 {
                dimension = dimension.multiply(part.dimension);
                factor = factor.checked_multiply(part.factor)?;
            } else {
                dimension = dimension.divide(part.dimension);
                factor = factor.checked_divide(part.factor)?;
            }
        }
    }
    Some(Unit::made(Definition {
        name: text.to_owned().into(),
        dimension,
        factor,
        offset: None,
        is_slope: dimension.is_number() && parts == 2 && lengths == 2,
    }))
}

fn unknown(text: &str) -> UnknownUnit {
    let shown: String = text.chars().take(LONGEST).collect();
    UnknownUnit {
        mend: mend(&shown),
        found: shown,
    }
}

fn mend(found: &str) -> String {
    let lower = found
        .to_lowercase()
        .replace('²', "2")
        .replace('³', "3")
        .replace('^', "");
    if let Some((_, explanation)) = EXPLAINED.iter().find(|(word, _)| *word == lower) {
        return (*explanation).to_owned();
    }
    if let Some(unit) = respelled(&lower) {
        return format!("write `{unit}`");
    }
    match nearest(found, &lower) {
        Some(unit) => format!("is `{unit}` meant?"),
        None => {
            "write one of the units known here, such as `in`, `ft`, `gal`, `gpm`, `psi`, `lb`, \
                 `V`, `A`, `min`, or a quotient like `lb/ft3`"
                .to_owned()
        }
    }
}

/// Each part of a quotient by another spelling of ours, if that makes a unit.
fn respelled(lower: &str) -> Option<String> {
    if let Some(unit) = respelled_word(lower) {
        return Some(unit.to_owned());
    }
    let parts: Option<Vec<String>> = lower
        .replace(" per ", "/")
        .split('/')
        .map(|part| {
            let part = part.trim();
            respelled_word(part)
                .map(str::to_owned)
                .or_else(|| single(part).map(|unit| unit.name.to_string()))
        })
        .collect();
    let joined = parts?.join("/");
    Unit::parse_quietly(&joined).map(|unit| unit.name.to_string())
}

impl Unit {
    /// Without a suggestion, which would look for this again.
    fn parse_quietly(text: &str) -> Option<Unit> {
        single(text).or_else(|| composed(text))
    }
}

fn respelled_word(lower: &str) -> Option<&'static str> {
    SPELLINGS
        .iter()
        .find(|(word, _)| *word == lower)
        .map(|(_, unit)| *unit)
        .or_else(|| Unit::all().find(|name| name.to_lowercase() == lower))
}

/// A unit one slip of the finger away; names of one letter are near everything.
fn nearest(found: &str, lower: &str) -> Option<&'static str> {
    Unit::all()
        .filter(|name| name.len() > 1 && found.chars().count() > 1)
        .map(|name| (strsim::osa_distance(&name.to_lowercase(), lower), name))
        .filter(|(distance, _)| *distance <= 1)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}
