//! Civil dates as points in time: whole days from 1970-01-01, in seconds.

use jiff::civil::Date;

use super::Rational;

/// Seconds in a civil day.
const DAY: i64 = 86_400;

/// `2026-03-19` in seconds from 1970-01-01; nothing where there is no such day.
pub fn parse(text: &str) -> Option<Rational> {
    let well_formed = text.len() == 10
        && text.bytes().enumerate().all(|(at, byte)| match at {
            4 | 7 => byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    if !well_formed {
        return None;
    }
    let date = Date::new(
        text[..4].parse().ok()?,
        text[5..7].parse().ok()?,
        text[8..].parse().ok()?,
    );
    let since = date.ok()?.duration_since(Date::constant(1970, 1, 1));
    Some(Rational::from_integer(since.as_secs()))
}

/// The day in which a point in time lies, as `2026-03-19`; the seconds where it is out of reach.
pub fn show(seconds: Rational) -> String {
    let days = seconds
        .numerator()
        .div_euclid(seconds.denominator())
        .div_euclid(i128::from(DAY));
    let shown = i64::try_from(days)
        .ok()
        .and_then(|days| jiff::Span::new().try_days(days).ok())
        .and_then(|span| Date::constant(1970, 1, 1).checked_add(span).ok());
    match shown {
        Some(date) => date.to_string(),
        None => format!("{days} days from 1970-01-01"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_that_are_none_have_no_point() {
        for text in [
            "2026-02-29",
            "2025-13-01",
            "2025-00-10",
            "26-03-19",
            "2026-3-19",
            "",
            "2026-03-19T00:00",
        ] {
            assert_eq!(parse(text), None, "{text}");
        }
    }

    #[test]
    fn a_date_comes_back_as_it_was_written() {
        for text in [
            "1970-01-01",
            "1969-12-31",
            "2024-02-29",
            "2026-03-19",
            "9999-12-31",
        ] {
            let seconds = parse(text).expect("a date");
            assert_eq!(show(seconds), text);
        }
    }
}
