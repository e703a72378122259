//! A value as crews write it beside the same in base units.

use serde_json::{Value, json};

/// Micrometres to a quarter of an inch.
const QUARTER: i64 = 6350;
/// Micrometres to a foot.
const FOOT: i64 = 304_800;

/// Nominal sizes of pipes in their order.
pub const PIPES: [&str; 12] = [
    "1 in", "1 1/4 in", "1 1/2 in", "2 in", "2 1/2 in", "3 in", "4 in", "5 in", "6 in", "8 in",
    "10 in", "12 in",
];
/// Sizes of conductors, from the thinnest.
pub const GAUGES: [&str; 7] = [
    "18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG",
];

/// A value in both forms.
#[derive(Debug, Clone)]
pub struct Written {
    /// As crews write it.
    pub text: Value,
    /// In base units.
    pub base: Value,
}

impl Written {
    /// The two forms.
    pub fn of(text: impl Into<Value>, base: impl Into<Value>) -> Written {
        Written {
            text: text.into(),
            base: base.into(),
        }
    }

    /// What is written the same in both.
    pub fn same(value: impl Into<Value>) -> Written {
        let value = value.into();
        Written::of(value.clone(), value)
    }

    /// Yes or no.
    pub fn yes_no(is: bool) -> Written {
        Written::of(if is { "yes" } else { "no" }, is)
    }

    /// A size: a label, or its place in the order.
    pub fn size(label: &str, order: &[&str]) -> Written {
        let place = order.iter().position(|known| *known == label);
        Written::of(label, json!(place))
    }
}

/// Quarters of an inch, written in one of ten styles.
pub fn length(quarters: i64, style: i64) -> Written {
    let (inches, quarter) = (quarters / 4, quarters % 4);
    let millimetres = quarters * QUARTER / 1000;
    let hundredths = quarters * 100 / 48;
    match style {
        0 => Written::of(format!("{millimetres} mm"), millimetres * 1000),
        1 => Written::of(hundredths_of_foot(hundredths), hundredths * FOOT / 100),
        2 => Written::of(
            format!("{} ft {} in", inches / 12, inches % 12),
            inches * 4 * QUARTER,
        ),
        3 => Written::of(format!("{inches} in ± 1/2 in"), inches * 4 * QUARTER),
        _ => match quarter {
            0 => Written::of(format!("{inches} in"), quarters * QUARTER),
            2 => Written::of(format!("{inches} 1/2 in"), quarters * QUARTER),
            _ => Written::of(format!("{inches} {quarter}/4 in"), quarters * QUARTER),
        },
    }
}

/// Whole feet.
pub fn feet(feet: i64) -> Written {
    Written::of(format!("{feet} ft"), feet * FOOT)
}

/// Hundredths of a foot above the datum, in feet or, to the millimetre, in metres.
pub fn elevation(hundredths: i64, metric: bool) -> Written {
    if !metric {
        return Written::of(hundredths_of_foot(hundredths), hundredths * FOOT / 100);
    }
    let millimetres = hundredths * FOOT / 100 / 1000;
    let text = format!("{}.{:03} m", millimetres / 1000, millimetres % 1000);
    Written::of(text, millimetres * 1000)
}

fn hundredths_of_foot(hundredths: i64) -> String {
    format!("{}.{:02} ft", hundredths / 100, hundredths % 100)
}

/// Minutes, in base units seconds.
pub fn minutes(minutes: i64) -> Written {
    Written::of(format!("{minutes} min"), minutes * 60)
}

/// Volts.
pub fn volts(volts: i64) -> Written {
    Written::of(format!("{volts} V"), volts)
}

/// Tenths of an ampere, in base units milliamperes.
pub fn tenths_of_ampere(tenths: i64) -> Written {
    Written::of(format!("{}.{} A", tenths / 10, tenths % 10), tenths * 100)
}

/// Tenths of a psi, in base units thousandths.
pub fn tenths_of_psi(tenths: i64) -> Written {
    Written::of(format!("{}.{} psi", tenths / 10, tenths % 10), tenths * 100)
}
