//! Exactness against big integers, soundness of intervals, units at their limits, and text.

use std::cmp::Ordering;

use num_bigint::BigInt;
use num_rational::BigRational;
use proptest::prelude::*;

use super::parse::quantity;
use super::print::{show, show_apart, show_interval, show_point};
use super::{parse, quick, *};
use crate::truth::Truth;

fn unit(name: &str) -> Unit {
    Unit::parse(name).expect("a unit")
}

fn canonical(text: &str) -> Rational {
    quantity(text).expect("a quantity").nominal
}

fn ratio(numerator: i128, denominator: i128) -> Rational {
    Rational::new(numerator, denominator).expect("it fits")
}

fn interval(text: &str) -> Interval {
    let written = quantity(text).expect("a quantity");
    Interval::band(written.nominal, written.tolerance.unwrap_or(Rational::ZERO))
}

fn big(value: Rational) -> BigRational {
    BigRational::new(value.numerator().into(), value.denominator().into())
}

fn big_end(end: End) -> BigRational {
    match end {
        End::Exact(value) => big(value),
        End::Rounded(value) => BigRational::from_float(value.get()).expect("a finite float"),
    }
}

fn holds(interval: Interval, value: &BigRational) -> bool {
    interval
        .lower()
        .is_none_or(|lower| big_end(lower) <= *value)
        && interval
            .upper()
            .is_none_or(|upper| *value <= big_end(upper))
}

fn lies_within(value: &BigRational, near: Near) -> bool {
    let is_below = |end: f64| BigRational::from_float(end).is_none_or(|end| end <= *value);
    let is_above = |end: f64| BigRational::from_float(end).is_none_or(|end| *value <= end);
    is_below(near.lower()) && is_above(near.upper())
}

/// Finite floats of every size, the least among them.
fn any_float() -> impl Strategy<Value = f64> {
    use proptest::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    let near_one = -1e3_f64..1e3;
    prop_oneof![NORMAL | SUBNORMAL | ZERO | POSITIVE | NEGATIVE, near_one]
}

/// Of every size, up to the greatest that fits, and often 0.
fn any_rational() -> impl Strategy<Value = Rational> {
    let small = (-1000_i128..1000, 1_i128..1000);
    let middle = (any::<i64>(), 1..i64::MAX).prop_map(|(n, d)| (n.into(), d.into()));
    let large = (-i128::MAX..i128::MAX, 1..i128::MAX);
    prop_oneof![small, middle, large].prop_map(|(n, d)| ratio(n, d))
}

fn any_end() -> impl Strategy<Value = End> {
    let float = (-1e60_f64..1e60).prop_map(|value| Finite::new(value).expect("finite"));
    let tiny = (-1e-60_f64..1e-60).prop_map(|value| Finite::new(value).expect("finite"));
    prop_oneof![
        4 => any_rational().prop_map(End::Exact),
        1 => float.prop_map(End::Rounded),
        1 => tiny.prop_map(End::Rounded),
    ]
}

/// Quantities as they are written, and what is nearly one.
fn quantity_text() -> impl Strategy<Value = String> {
    let number = "-?[0-9]{1,4}|[0-9]{1,17}\\.[0-9]{1,9}|[0-9]{1,2}/[0-9]{1,3}|0{0,16}[0-9] [0-9]{1,2}/[0-9]{1,3}";
    let unit = "( (in|ft|mm|m|psi|%|deg|degF|gpm|in/ft|°F|furlong|ft3))?";
    let reading = (number, unit, "( [0-9]{1,2}( [0-9]/[0-9])? in)?")
        .prop_map(|(number, unit, inches)| format!("{number}{unit}{inches}"));
    let sign = prop_oneof![Just(" ± "), Just(" +/- "), Just("±"), Just(" "), Just("")];
    let both = (reading.clone(), sign, reading.clone());
    let whole = prop_oneof![
        2 => reading,
        2 => both.prop_map(|(one, sign, other)| format!("{one}{sign}{other}")),
    ];
    (whole, any::<prop::sample::Index>(), "[-0-9./: ±½'a-z]{0,1}").prop_map(
        |(mut text, at, patch)| {
            let at = at.index(text.len() + 1);
            if text.is_char_boundary(at) {
                text.insert_str(at, &patch);
            }
            text
        },
    )
}

/// The usual forms are read the quick way, so that the property above says something.
#[test]
fn the_usual_forms_are_read_the_quick_way() {
    for text in [
        "42 in",
        "3 1/4 in",
        "812.40 ft",
        "2 ft 6 in",
        "-2 ft",
        "54 in ± 1/2 in",
        "3 ft 3 1/2 in +/- 1/4 in",
        "0.62",
        "2 %",
    ] {
        assert!(quick::quantity(text).is_some(), "{text}");
    }
}

/// An interval and one of its values.
fn interval_with_value() -> impl Strategy<Value = (Interval, BigRational)> {
    let ends = (any_end(), any_end(), 0_u8..5, 0_u32..=8);
    ends.prop_map(|(one, other, form, eighths)| {
        let (lower, upper) = (one.min(other), one.max(other));
        let (low, high) = (big_end(lower), big_end(upper));
        let share = BigRational::new(BigInt::from(eighths), BigInt::from(8));
        let inside = &low + (&high - &low) * share;
        match form {
            0 => (Interval::at_least(lower), inside),
            1 => (Interval::at_most(upper), inside),
            2 => (Interval::new(lower, lower).expect("ordered"), low),
            _ => (Interval::new(lower, upper).expect("ordered"), inside),
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn comparison_is_exact(left in any_end(), right in any_end()) {
        prop_assert_eq!(left.cmp(&right), big_end(left).cmp(&big_end(right)));
        prop_assert_eq!(left.cmp(&left), Ordering::Equal);
    }

    #[test]
    fn neighbours_are_told_apart(n in -i128::MAX + 1..i128::MAX, d in 2..i128::MAX) {
        let (left, right) = (ratio(n, d), ratio(n, d - 1));
        prop_assert_eq!(left.cmp(&right), big(left).cmp(&big(right)));
    }

    #[test]
    fn arithmetic_is_exact_or_says_that_it_does_not_fit(
        left in any_rational(), right in any_rational()
    ) {
        for (ours, exact) in [
            (left.checked_add(right), big(left) + big(right)),
            (left.checked_subtract(right), big(left) - big(right)),
            (left.checked_multiply(right), big(left) * big(right)),
        ] {
            if let Some(ours) = ours {
                prop_assert_eq!(big(ours), exact);
            }
        }
        if let Some(quotient) = left.checked_divide(right) {
            prop_assert_eq!(big(quotient), big(left) / big(right));
        }
    }

    #[test]
    fn the_quick_way_reads_what_the_whole_parser_reads(text in quantity_text()) {
        if let Some(quick) = quick::quantity(&text) {
            prop_assert_eq!(Ok(quick), parse::any_quantity(&text), "{}", text);
        }
    }

    #[test]
    fn enclosures_are_next_to_the_value(value in any_rational()) {
        let (below, above) = value.enclosure();
        let float = |value: f64| BigRational::from_float(value).expect("finite");
        prop_assert!(float(below) <= big(value) && big(value) <= float(above));
        prop_assert!(above == below || above == below.next_up());
    }

    #[test]
    fn floats_around_hold_what_their_operands_allow(
        (a, x) in interval_with_value(), (b, y) in interval_with_value()
    ) {
        let zero = BigRational::from_integer(0.into());
        let (a, b) = (Near::around(a), Near::around(b));
        prop_assert!(lies_within(&x, a) && lies_within(&y, b));
        prop_assert!(lies_within(&(&x + &y), a.plus(b)), "{:?} + {:?}", a, b);
        prop_assert!(lies_within(&(&x - &y), a.plus(b.negate())), "{:?} - {:?}", a, b);
        prop_assert!(lies_within(&(&x * &y), a.times(b)), "{:?} × {:?}", a, b);
        if let Some(quotient) = a.over(b) {
            prop_assert!(y != zero && lies_within(&(&x / &y), quotient), "{:?} / {:?}", a, b);
        }
        if let Some(square) = a.raised(2) {
            prop_assert!(lies_within(&(&x * &x), square), "{:?} ^ 2", a);
        }
    }

    #[test]
    fn floats_around_floats_hold_what_comes_of_them(x in any_float(), y in any_float()) {
        let of = |float: f64| Near::point(float);
        let exact = |float: f64| BigRational::from_float(float).expect("finite");
        let (a, b) = (exact(x), exact(y));
        let sum = of(x).plus(of(y));
        prop_assert!(lies_within(&(&a + &b), sum), "{x:e} + {y:e}");
        prop_assert!(lies_within(&(&a * &b), of(x).times(of(y))), "{x:e} × {y:e}");
        if let Some(quotient) = of(x).over(of(y)) {
            prop_assert!(lies_within(&(&a / &b), quotient), "{x:e} / {y:e}");
        }
        // What cancels out leaves nothing between.
        let nothing = of(x).plus(of(-x));
        prop_assert_eq!((nothing.lower(), nothing.upper()), (0.0, 0.0));
    }

    #[test]
    fn operations_hold_what_their_operands_allow(
        (a, x) in interval_with_value(), (b, y) in interval_with_value()
    ) {
        prop_assert!(holds(a, &x) && holds(b, &y));
        prop_assert!(holds(a.add(b), &(&x + &y)), "{:?} + {:?}", a, b);
        prop_assert!(holds(a.subtract(b), &(&x - &y)), "{:?} - {:?}", a, b);
        prop_assert!(holds(a.multiply(b), &(&x * &y)), "{:?} × {:?}", a, b);
        prop_assert!(holds(a.lesser(b), (&x).min(&y)));
        prop_assert!(holds(a.greater(b), (&x).max(&y)));
        prop_assert!(holds(a.hull(b), &x) && holds(a.hull(b), &y));
        match a.divide(b) {
            Ok(quotient) => prop_assert!(holds(quotient, &(&x / &y)), "{:?} / {:?}", a, b),
            Err(reason) => {
                prop_assert_eq!(reason, Undefined::DivisorMayBeZero);
                prop_assert!(b.may_be_zero());
            }
        }
    }

    #[test]
    fn whole_powers_hold_what_their_base_allows(
        (a, x) in interval_with_value(), exponent in -6_i64..7
    ) {
        if let Ok(power) = a.power_integer(exponent) {
            prop_assert!(holds(power, &num_power(&x, exponent)), "{:?} ^ {}", a, exponent);
        } else {
            prop_assert!(exponent < 0 && a.may_be_zero());
        }
    }

    #[test]
    fn roots_hold_what_their_base_allows(value in any_rational(), degree in 2_i128..6) {
        let value = value.magnitude();
        let root = Interval::point(value).power(ratio(1, degree)).expect("not negative");
        // Raised again, its ends must stand on both sides.
        let raise = |end: End| num_power(&big_end(end), degree as i64);
        prop_assert!(root.lower().is_some_and(|end| raise(end) <= big(value)));
        prop_assert!(root.upper().is_some_and(|end| raise(end) >= big(value)));
    }

    #[test]
    fn comparisons_are_the_ones_at_every_point(
        (a, x) in interval_with_value(), (b, y) in interval_with_value()
    ) {
        for (truth, at_point) in [
            (is_at_least(a, b), x >= y),
            (is_more_than(a, b), x > y),
            (is_at_most(a, b), x <= y),
            (is_less_than(a, b), x < y),
            (is_equal(a, b), x == y),
        ] {
            if truth.is_definite() {
                prop_assert_eq!(truth, Truth::from(at_point));
            }
        }
    }

    #[test]
    fn no_text_makes_reading_panic(text in "\\PC{0,40}") {
        if let Err(error) = quantity(&text) {
            let place = error.place();
            prop_assert!(text.is_char_boundary(place.offset));
            prop_assert!(text.is_char_boundary(place.offset + place.length));
            prop_assert!(!error.mend().is_empty() && !error.to_string().is_empty());
        }
    }

    #[test]
    fn no_text_like_a_quantity_makes_reading_panic(
        text in "[-0-9 ./'\"±+infts%,:½°µ²lbgpm−]{0,30}"
    ) {
        if let Err(error) = quantity(&text) {
            let place = error.place();
            prop_assert!(text.get(place.offset..place.offset + place.length).is_some());
        }
    }

    #[test]
    fn what_is_shown_reads_the_same(sixty_fourths in -100_000_i128..100_000, thousandths in -9_999_999_i128..9_999_999) {
        for (value, name) in [
            (ratio(sixty_fourths, 64), "in"),
            (ratio(sixty_fourths, 64), "ft"),
            (ratio(sixty_fourths, 64), "in/ft"),
            (ratio(thousandths, 1000), "ft"),
            (ratio(thousandths, 1000), "psi"),
            (ratio(thousandths, 1000), "%"),
            (ratio(thousandths, 1000), "lb/ft3"),
        ] {
            let unit = unit(name);
            let value = unit.canonical(value).expect("it fits");
            prop_assert_eq!(canonical(&show(value, &unit)), value);
        }
    }

    #[test]
    fn different_values_look_different(value in any_rational(), nudge in 1_i128..i128::MAX) {
        let unit = unit("in");
        let Some(other) = value.checked_add(ratio(1, nudge)) else { return Ok(()); };
        let (left, right) = show_apart(value, other, &unit);
        prop_assert_ne!(left, right);
    }
}

fn num_power(base: &BigRational, exponent: i64) -> BigRational {
    let positive = num_rational::Ratio::new(
        base.numer().pow(exponent.unsigned_abs() as u32),
        base.denom().pow(exponent.unsigned_abs() as u32),
    );
    if exponent < 0 {
        positive.recip()
    } else {
        positive
    }
}

/// NIST SP 811 (2008), Appendix B, and what follows exactly from its definitions of the inch, the
/// foot, the gallon, the pound and standard gravity.
#[test]
fn factors_are_those_of_the_definitions() {
    for (one, same) in [
        ("1 in", "0.0254 m"),
        ("1 ft", "0.3048 m"),
        ("1 yd", "0.9144 m"),
        ("1 mi", "1609.344 m"),
        ("1 gal", "3.785411784 L"),
        ("1 gal", "231 in3"),
        ("1 gpm", "0.0630901964 L/s"),
        ("1 lb", "4.4482216152605 N"),
        ("1 lb", "0.45359237 kg"),
        ("1 kg", "9.80665 N"),
        ("1 psi", "144 lb/ft2"),
        ("1 psi", "1 lb/in2"),
        ("1 psf", "1 lb/ft2"),
        ("1 tsf", "2000 psf"),
        ("1 kip", "1000 lb"),
        ("1 bar", "100 kPa"),
        ("1 hp", "550 ft·lb/s"),
        ("1 hp", "745.69987158227022 W"),
        ("1728 gal", "231 ft3"),
        ("1 gpd", "1 gal/day"),
        ("1440 gpd", "1 gpm"),
        ("1 inHg", "3386.388640341 Pa"),
        ("1 ohm/kft", "0.001 ohm/ft"),
        ("1 W", "1 V·A"),
        ("9 degF", "5 degC"),
        ("1/4 in/ft", "1/48 ft/ft"),
        ("2 %", "20 mm/m"),
        ("2 ft/s", "0.6096 m/s"),
    ] {
        let (left, right) = (quantity(one).expect(one), quantity(same).expect(same));
        assert_eq!(left.dimension, right.dimension, "{one} and {same}");
        assert_eq!(left.nominal, right.nominal, "{one} and {same}");
    }
}

/// The sheet `units` of our worked examples: computed with pint 0.25.3, to 1e-8.
#[test]
fn agrees_with_the_worked_examples() {
    for (one, unit_name, expected) in [
        ("1 psi", "kPa", 6.894757293),
        ("1 ft3", "gal", 7.480519481),
        ("62.4 lb/ft3", "kg/m3", 999.55211),
        ("2 ft/s", "m/s", 0.6096),
    ] {
        let ours = canonical(one)
            .checked_divide(unit(unit_name).factor)
            .expect("it fits");
        assert!(
            (ours.to_f64() / expected - 1.0).abs() < 1e-8,
            "{one}: {}",
            ours.to_f64()
        );
    }
    // Feet of water for 1 psi at 62.4 lb/ft3: sheet `units-head`, to 1e-5.
    let head = interval("1 psi")
        .divide(interval("62.4 lb/ft3"))
        .expect("not 0");
    let feet = head.divide(interval("1 ft")).expect("not 0");
    let feet = feet.exact_point().expect("exact").to_f64();
    assert!((feet - 2.307692).abs() < 1e-5, "{feet}");
}

/// 0 degF = 255.372 K, 32 degF = 273.15 K, 212 degF = 100 degC: NIST SP 811, B.8.
#[test]
fn temperatures_are_points_where_they_are_asked_to_be() {
    let point = |text: &str| quantity(text).expect(text).point().expect("it fits");
    assert_eq!(point("32 °F"), ratio(27315, 100));
    assert_eq!(point("212 degF"), point("100 °C"));
    assert_eq!(canonical("18 degF"), canonical("10 degC"));
    assert!(quantity("5 degF").expect("a temperature").has_offset());
    assert_eq!(show_point(point("68 degF"), &unit("degF")), "68 degF");
}

#[test]
fn what_is_exactly_at_its_limit_meets_it_in_any_unit() {
    for same in [
        "24 in",
        "2 ft",
        "2 ft 0 in",
        "2' 0\"",
        "0.6096 m",
        "609.6 mm",
        "2/3 yd",
    ] {
        assert_eq!(
            is_at_least(interval(same), interval("24 in")),
            Truth::True,
            "{same}"
        );
        assert_eq!(
            is_more_than(interval(same), interval("24 in")),
            Truth::False,
            "{same}"
        );
        assert_eq!(
            is_equal(interval(same), interval("24 in")),
            Truth::True,
            "{same}"
        );
    }
    assert_eq!(
        is_at_least(interval("609.5999999999 mm"), interval("2 ft")),
        Truth::False
    );
}

#[test]
fn a_band_across_the_limit_is_unknown() {
    assert_eq!(
        is_at_least(interval("24 in ± 1/4 in"), interval("24 in")),
        Truth::Unknown
    );
    assert_eq!(
        is_at_least(interval("24 1/4 in ± 1/4 in"), interval("24 in")),
        Truth::True
    );
    assert_eq!(
        is_at_least(interval("23 in ± 1/4 in"), interval("24 in")),
        Truth::False
    );
    assert_eq!(
        is_at_least(Interval::WHOLE, interval("24 in")),
        Truth::Unknown
    );
    assert_eq!(
        is_equal(interval("24 in ± 1 in"), interval("24 in")),
        Truth::Unknown
    );
}

#[test]
fn nothing_times_anything_is_nothing() {
    let zero = Interval::point(Rational::ZERO);
    assert_eq!(zero.multiply(Interval::WHOLE), zero);
    assert_eq!(Interval::WHOLE.multiply(zero), zero);
}

#[test]
fn once_a_number_is_that_number() {
    let one = Interval::point(Rational::ONE);
    let rounded = Interval::point(ratio(2, 1)).root().expect("it has a root");
    for number in [rounded, rounded.negate(), Interval::WHOLE] {
        assert_eq!(number.multiply(one), number);
        assert_eq!(one.multiply(number), number);
        assert_eq!(number.divide(one), Ok(number));
    }
}

#[test]
fn a_missing_operand_leaves_a_half_line() {
    let two = Rational::from_integer(2);
    assert_eq!(Interval::WHOLE.lesser(two.into()), Interval::at_most(two));
    assert_eq!(Interval::WHOLE.greater(two.into()), Interval::at_least(two));
}

#[test]
fn a_square_is_never_negative() {
    let around_zero = Interval::band(Rational::ZERO, Rational::from_integer(3));
    let square = Interval::new(Rational::ZERO, Rational::from_integer(9)).expect("ordered");
    assert_eq!(around_zero.power_integer(2), Ok(square));
    assert_eq!(
        Interval::WHOLE.power_integer(2),
        Ok(Interval::at_least(Rational::ZERO))
    );
    assert_eq!(
        around_zero.power_integer(-1),
        Err(Undefined::DivisorMayBeZero)
    );
    assert_eq!(around_zero.root(), Err(Undefined::OutsideDomain));
}

#[test]
fn rational_roots_are_exact() {
    let power = |base: Rational, exponent: Rational| {
        Interval::point(base)
            .power(exponent)
            .expect("in the domain")
            .exact_point()
    };
    assert_eq!(power(ratio(9, 4), ratio(1, 2)), Some(ratio(3, 2)));
    assert_eq!(power(ratio(8, 27), ratio(-2, 3)), Some(ratio(9, 4)));
    assert_eq!(power(Rational::ONE, ratio(463, 250)), Some(Rational::ONE));
    assert_eq!(
        power(ratio(1 << 126, 1), ratio(1, 2)),
        Some(ratio(1 << 63, 1))
    );
    assert_eq!(power(ratio(2, 1), ratio(1, 2)), None);
}

#[test]
fn reads_every_form() {
    for (text, same) in [
        ("18 1/2 in", "18.5 in"),
        ("2 ft 6 in", "30 in"),
        ("3'-6 1/2\"", "42.5 in"),
        ("3' 6\"", "42 in"),
        ("3'6\"", "42 in"),
        ("42\"", "42 in"),
        ("3'", "36 in"),
        ("-2 ft 6 in", "-30 in"),
        ("−2 ft", "-24 in"),
        ("  150   mm ", "0.15 m"),
        ("24in", "2 ft"),
        ("3 1/2", "3.5"),
        ("812.40 ft", "812.4 ft"),
    ] {
        assert_eq!(canonical(text), canonical(same), "{text}");
    }
    let reading = quantity("24 in +/- 1/4 in").expect("a reading");
    assert_eq!(reading.tolerance, Some(canonical("1/4 in")));
    assert_eq!(reading, quantity("24 in ± 1/4 in").expect("the same"));
    assert!(quantity("1/4 in/ft").expect("a slope").is_slope);
    assert!(quantity("2 %").expect("a slope").is_slope);
    assert!(!quantity("5 ppm").expect("a number").is_slope);
    assert!(quantity("0.62").expect("a number").is_bare_number);
}

/// What is refused, at which stretch of the text, and the mend.
#[test]
fn refuses_with_the_place_and_a_mend() {
    for (text, place, mend) in [
        ("", "", "write a number and its unit, such as `3 1/2 in`"),
        (
            "about 3 in",
            "about",
            "write a number and its unit, such as `3 1/2 in`",
        ),
        (
            ".inf",
            ".inf",
            "write a number and its unit, such as `3 1/2 in`",
        ),
        ("1,200 ft", "1,200", "write `1200` without the comma"),
        (".5 in", ".5", "write `0.5`"),
        ("5. in", "5.", "write `5` without the point"),
        ("3-1/2 in", "3-1/2", "write `3 1/2`"),
        ("18½ in", "18½", "write `18 1/2`"),
        (
            "1:48",
            "1:48",
            "write the slope with its unit, such as `1/4 in/ft` or `2 %`: a ratio is read in two senses",
        ),
        (
            "3 5/4 in",
            "3 5/4",
            "write a fraction below 1 after the whole number",
        ),
        ("1/0 in", "1/0", "correct the fraction"),
        ("3 feet", "feet", "write `ft`"),
        ("3 Gallons", "Gallons", "write `gal`"),
        ("3 PSI", "PSI", "write `psi`"),
        ("3 ft²", "ft²", "write `ft2`"),
        (
            "3 gallons per minute",
            "gallons per minute",
            "write `gal/min`",
        ),
        ("3 gmp", "gmp", "is `gpm` meant?"),
        ("3 in 4", "4", "remove it"),
        (
            "2 ft 14 in",
            "2 ft 14 in",
            "write less than 12 inches, or inches alone",
        ),
        (
            "2.5 ft 6 in",
            "2.5 ft 6 in",
            "write whole feet, or feet alone with a decimal",
        ),
        (
            "2 ft 6",
            "2 ft 6",
            "write `in` after the inches, such as `2 ft 6 in`",
        ),
        ("24 ± 1/4 in", "24", "write `24 in ± 1/4 in`"),
        ("24 in ± 1/4", "1/4", "write `24 in ± 1/4 in`"),
        (
            "24 in ± 1 %",
            "1 %",
            "write the tolerance as a length, such as `± 1/4 in`: it is absolute",
        ),
        ("24 in ± -1 in", "-1 in", "remove the minus sign"),
        ("1 in ± 1 in ± 1 in", "± 1 in", "keep one of them"),
        (
            "0.0000000000000000000001 in",
            "0.0000000000000000000001",
            "write the digits that were read, or another unit",
        ),
    ] {
        let error = quantity(text).expect_err(text);
        let at = error.place();
        assert_eq!(
            &text[at.offset..at.offset + at.length],
            place,
            "{text}: {error}"
        );
        assert_eq!(error.mend(), mend, "{text}: {error}");
    }
    let long = "1 ".repeat(100);
    assert!(matches!(
        quantity(&long),
        Err(QuantityError::TooLong { .. })
    ));
}

#[test]
fn every_suggested_unit_is_a_unit() {
    for name in Unit::all() {
        assert_eq!(&*unit(name).name, name);
        assert_eq!(
            quantity(&format!("1 {name}")).expect(name).unit,
            Some(unit(name))
        );
    }
    for name in [
        "length",
        "flow",
        "unit_weight",
        "resistance",
        "temperature_difference",
    ] {
        let dimension = Dimension::named(name).expect("a dimension");
        let example = dimension.example_unit().expect("an example");
        assert_eq!(unit(example).dimension, dimension);
    }
}

#[test]
fn shows_as_the_trade_writes() {
    for (text, name, shown) in [
        ("24.5 in", "in", "24 1/2 in"),
        ("2 ft", "in", "24 in"),
        ("1 %", "in/ft", "0.12 in/ft"),
        ("1/96", "in/ft", "1/8 in/ft"),
        ("-1/8 in", "in", "-1/8 in"),
        ("1 psi", "kPa", "6.89476 kPa"),
        ("812.40 ft", "ft", "812.4 ft"),
        ("0.9999999 psi", "psi", "1 psi"),
        ("1 m", "in", "39.3701 in"),
    ] {
        assert_eq!(show(canonical(text), &unit(name)), shown, "{text}");
    }
}

#[test]
fn shows_intervals() {
    let inch = unit("in");
    for (interval, shown) in [
        (interval("24 1/2 in ± 1/4 in"), "24 1/2 in ± 1/4 in"),
        (interval("24 in"), "24 in"),
        (Interval::WHOLE, "anything"),
        (Interval::at_least(canonical("2 ft")), "at least 24 in"),
        (Interval::at_most(canonical("2 ft")), "at most 24 in"),
        (interval("1 m ± 1 mm"), "from 39.3307 in to 39.4094 in"),
    ] {
        assert_eq!(show_interval(interval, &inch), shown);
    }
    let (left, right) = show_apart(canonical("609.5999999 mm"), canonical("2 ft"), &inch);
    assert_eq!(
        (left.as_str(), right.as_str()),
        ("23.999999996 in", "24 in")
    );
}

#[test]
fn dimensions_multiply_and_read_as_words() {
    let force_by_length = Dimension::FORCE.multiply(Dimension::LENGTH);
    assert_eq!(force_by_length.to_string(), "ft·lb");
    assert_eq!(Dimension::UNIT_WEIGHT.to_string(), "unit weight");
    assert_eq!(
        Dimension::VOLTAGE.divide(Dimension::CURRENT),
        Dimension::RESISTANCE
    );
    assert_eq!(
        Dimension::VOLTAGE.multiply(Dimension::CURRENT),
        Dimension::POWER
    );
    assert_eq!(Dimension::AREA.power(ratio(1, 2)), Some(Dimension::LENGTH));
    assert_eq!(Dimension::LENGTH.power(ratio(1, 2)), None);
    assert_eq!(Dimension::named("slope"), None);
    assert_eq!(
        Dimension::LENGTH
            .divide(Dimension::TIME.multiply(Dimension::TIME))
            .to_string(),
        "ft/s2"
    );
}
