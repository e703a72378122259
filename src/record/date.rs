//! Civil dates as text and as seconds.

use jiff::civil;

use crate::quantity::Rational;

/// The seconds from the start of 1970-01-01 to that of a day written `2026-04-18`; none for any
/// other form, and for days that do not exist.
pub fn seconds(text: &str) -> Option<Rational> {
    let bytes = text.as_bytes();
    let is_iso = bytes.len() == 10
        && bytes.iter().enumerate().all(|(index, byte)| match index {
            4 | 7 => *byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    if !is_iso {
        return None;
    }
    let year = text[..4].parse().ok()?;
    let month = text[5..7].parse().ok()?;
    let day = text[8..].parse().ok()?;
    let date = civil::Date::new(year, month, day).ok()?;
    let since = date.duration_since(civil::date(1970, 1, 1));
    Some(Rational::from_integer(since.as_secs()))
}
