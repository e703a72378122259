//! Values as text: a measured value, its limit and the margin between them, in the limit's unit.

use super::value::Value;
use crate::finding::Plot;
use crate::quantity::{
    Dimension, End, Interval, Unit, date,
    print::{show, show_apart, show_interval, show_number, show_point, to_f64},
};
use crate::truth::Truth;
use crate::vocabulary::{PointKind, Type, Vocabulary};

/// The length from which feet are told rather than inches, in metres: 6 ft.
const LONG: f64 = 1.8288;

/// How a comparison is shown.
#[derive(Default)]
pub(super) struct Shown {
    pub measured: Option<String>,
    pub limit: Option<String>,
    pub margin: Option<String>,
    pub plot: Option<Plot>,
}

impl Shown {
    /// Labels, texts and truths: no margin, and a word of what is asked.
    pub fn labels(
        vocabulary: &Vocabulary,
        kind: Type,
        (measured, limit): (Value<'_>, Value<'_>),
        asks: &str,
    ) -> Shown {
        Shown {
            measured: show_value(vocabulary, measured, kind, None),
            limit: show_value(vocabulary, limit, kind, None).map(|limit| format!("{asks}{limit}")),
            ..Shown::default()
        }
    }

    pub fn comparison(
        vocabulary: &Vocabulary,
        kind: Type,
        (measured, limit): (Value<'_>, Value<'_>),
        margin: Option<Interval>,
        unit: Option<&Unit>,
    ) -> Shown {
        let (shown_measured, shown_limit) = match (measured, limit) {
            (Value::Number(a), Value::Number(b)) => apart(kind, a, b, unit),
            _ => (
                show_value(vocabulary, measured, kind, unit),
                show_value(vocabulary, limit, kind, unit),
            ),
        };
        let least = margin.and_then(Interval::lower);
        let plot = match (measured, limit) {
            (Value::Number(a), Value::Number(b)) => Some(plot(kind, a, b, least)),
            _ => None,
        };
        Shown {
            measured: shown_measured,
            limit: shown_limit,
            margin: least.map(|least| show_difference(kind, least, unit)),
            plot,
        }
    }
}

/// A value in words; none where nothing is known of it.
pub(crate) fn show_value(
    vocabulary: &Vocabulary,
    value: Value<'_>,
    kind: Type,
    unit: Option<&Unit>,
) -> Option<String> {
    match value {
        Value::Truth(Truth::True) => Some("yes".to_owned()),
        Value::Truth(Truth::False) => Some("no".to_owned()),
        Value::Truth(Truth::Unknown) => None,
        Value::Number(interval) if interval.is_whole() => None,
        Value::Number(interval) => Some(show_as(kind, interval, unit)),
        Value::Text(text) => text.map(|text| format!("\"{text}\"")),
        Value::Places(places) => {
            let Type::Label(scale) = kind else {
                return None;
            };
            let scale = vocabulary.scale(scale);
            let label = |place: i32| {
                u16::try_from(place)
                    .ok()
                    .filter(|place| usize::from(*place) < scale.places.len())
                    .map(|place| scale.label(place))
            };
            match (label(places.least), label(places.greatest)) {
                (Some(least), Some(_)) if places.is_one() => Some(least.to_owned()),
                (Some(least), Some(greatest)) => Some(format!("{least} to {greatest}")),
                (Some(_) | None, _) => None,
            }
        }
    }
}

/// An interval of a type, in a unit or the type's own.
pub(crate) fn show_as(kind: Type, interval: Interval, unit: Option<&Unit>) -> String {
    match kind {
        Type::Point(PointKind::Date) => show_dates(interval),
        Type::Point(PointKind::Temperature) => {
            match (
                unit_for(kind, interval, unit),
                interval.lower(),
                interval.upper(),
            ) {
                (Some(unit), Some(lower), Some(_)) if interval.is_point() => {
                    show_point(lower, &unit)
                }
                (Some(unit), Some(lower), Some(upper)) => format!(
                    "from {} to {}",
                    show_point(lower, &unit),
                    show_point(upper, &unit)
                ),
                _ => "a temperature".to_owned(),
            }
        }
        Type::Quantity(_)
        | Type::Slope
        | Type::Point(_)
        | Type::YesNo
        | Type::Text
        | Type::Reference
        | Type::Label(_) => match unit_for(kind, interval, unit) {
            Some(unit) => show_interval(interval, &unit),
            None => show_plain(interval),
        },
    }
}

fn show_dates(interval: Interval) -> String {
    let show = |end: End| end.exact().map(date::show);
    match (
        interval.lower().and_then(show),
        interval.upper().and_then(show),
    ) {
        (Some(lower), Some(_)) if interval.is_point() => lower,
        (Some(lower), Some(upper)) => format!("from {lower} to {upper}"),
        (Some(lower), None) => format!("{lower} or later"),
        (None, Some(upper)) => format!("{upper} or earlier"),
        (None, None) => "any date".to_owned(),
    }
}

fn show_plain(interval: Interval) -> String {
    match (interval.lower(), interval.upper()) {
        (Some(lower), Some(_)) if interval.is_point() => show_number(lower),
        (Some(lower), Some(upper)) => {
            format!("from {} to {}", show_number(lower), show_number(upper))
        }
        (Some(lower), None) => format!("at least {}", show_number(lower)),
        (None, Some(upper)) => format!("at most {}", show_number(upper)),
        (None, None) => "anything".to_owned(),
    }
}

/// Two values that are compared: where both are single numbers, with as many digits as it takes
/// to look different when they are.
fn apart(
    kind: Type,
    measured: Interval,
    limit: Interval,
    unit: Option<&Unit>,
) -> (Option<String>, Option<String>) {
    let unit = unit_for(kind, measured, unit);
    let unit = unit.as_ref();
    let is_plain = !matches!(kind, Type::Point(PointKind::Date | PointKind::Temperature));
    if let (Some(unit), true, true, true) = (unit, is_plain, measured.is_point(), limit.is_point())
        && let (Some(a), Some(b)) = (measured.lower(), limit.lower())
    {
        let (a, b) = show_apart(a, b, unit);
        return (Some(a), Some(b));
    }
    let shown = |interval: Interval| (!interval.is_whole()).then(|| show_as(kind, interval, unit));
    (shown(measured), shown(limit))
}

/// A difference of two values of a type.
fn show_difference(kind: Type, value: End, unit: Option<&Unit>) -> String {
    match kind {
        Type::Point(PointKind::Date) => {
            let days = to_f64(value) / 86_400.0;
            format!("{days} days")
        }
        Type::Quantity(_)
        | Type::Slope
        | Type::Point(_)
        | Type::YesNo
        | Type::Text
        | Type::Reference
        | Type::Label(_) => match unit_for(kind, Interval::at_least(value), unit) {
            Some(unit) => show(value, &unit),
            None => show_number(value),
        },
    }
}

/// Whether values of a type can be shown in a unit.
pub(crate) fn fits(unit: &Unit, kind: Type) -> bool {
    dimension(kind) == Some(unit.dimension)
}

fn dimension(kind: Type) -> Option<Dimension> {
    match kind {
        Type::Quantity(dimension) => Some(dimension),
        Type::Slope => Some(Dimension::NUMBER),
        Type::Point(point) => Some(point.difference()),
        Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => None,
    }
}

/// The unit that was written, if values of the type can be shown in it; else the value's own.
fn unit_for(kind: Type, interval: Interval, written: Option<&Unit>) -> Option<Unit> {
    written
        .filter(|unit| fits(unit, kind))
        .cloned()
        .or_else(|| own_unit(kind, interval))
}

/// The unit for a value where nobody wrote one; none for plain numbers. What is longer than a
/// folding rule is told in feet.
fn own_unit(kind: Type, interval: Interval) -> Option<Unit> {
    let reaches = |end: Option<End>| end.is_some_and(|end| to_f64(end).abs() >= LONG);
    let is_long = reaches(interval.lower()) || reaches(interval.upper());
    let name = match kind {
        Type::Quantity(dimension) if dimension == Dimension::LENGTH && is_long => "ft",
        Type::Slope => "in/ft",
        Type::Point(PointKind::Elevation | PointKind::PublicElevation | PointKind::Chainage) => {
            "ft"
        }
        Type::Point(PointKind::Temperature) => "degF",
        Type::Point(PointKind::Date) => "day",
        Type::Quantity(dimension) => dimension.example_unit()?,
        Type::YesNo | Type::Text | Type::Reference | Type::Label(_) => return None,
    };
    Unit::parse(name).ok()
}

fn plot(kind: Type, measured: Interval, limit: Interval, margin: Option<End>) -> Plot {
    let rounded = |end: End| {
        let value = to_f64(end);
        // Nine digits are more than any drawing shows, and the same on every platform.
        format!("{value:.9e}").parse().unwrap_or(value)
    };
    let limit = limit.lower().filter(|_| limit.is_point()).map(rounded);
    let margin = margin.map(rounded);
    let is_point = matches!(kind, Type::Point(_));
    let of = limit.filter(|limit| !is_point && *limit != 0.0);
    Plot {
        measured: [measured.lower().map(rounded), measured.upper().map(rounded)],
        limit,
        margin,
        share: margin.zip(of).map(|(margin, limit)| margin / limit.abs()),
        unit: dimension(kind).map_or_else(String::new, canonical),
    }
}

/// The canonical unit of a dimension.
fn canonical(dimension: Dimension) -> String {
    let known = [
        (Dimension::NUMBER, "1"),
        (Dimension::LENGTH, "m"),
        (Dimension::AREA, "m2"),
        (Dimension::VOLUME, "m3"),
        (Dimension::FORCE, "N"),
        (Dimension::PRESSURE, "Pa"),
        (Dimension::FLOW, "m3/s"),
        (Dimension::VELOCITY, "m/s"),
        (Dimension::ANGLE, "deg"),
        (Dimension::VOLTAGE, "V"),
        (Dimension::CURRENT, "A"),
        (Dimension::RESISTANCE, "ohm"),
        (Dimension::POWER, "W"),
        (Dimension::TIME, "s"),
        (Dimension::UNIT_WEIGHT, "N/m3"),
        (Dimension::TEMPERATURE_DIFFERENCE, "K"),
    ];
    known
        .into_iter()
        .find(|(of, _)| *of == dimension)
        .map_or_else(|| dimension.to_string(), |(_, unit)| unit.to_owned())
}
