//! Wire, breakers and motors.

use super::{cell, cells, near, packaged, quantity, rounded};

const GAUGES: [(&str, f64); 6] = [
    ("14 AWG", 14.0),
    ("12 AWG", 12.0),
    ("10 AWG", 10.0),
    ("8 AWG", 8.0),
    ("6 AWG", 6.0),
    ("4 AWG", 4.0),
];

/// Ohms of 1000 ft of a solid wire of annealed copper at 75 degC. IEC 60028: 1/58 ohm·mm²/m at
/// 20 degC and 0.003 93 a degree; ASTM B258: 0.005 in × 92^((36 − n)/39) across. Both from
/// memory.
fn solid(number: f64) -> f64 {
    let millimetres = 25.4 * 0.005 * 92_f64.powf((36.0 - number) / 39.0);
    let area = std::f64::consts::PI / 4.0 * millimetres * millimetres;
    (1.0 + 0.003_93 * 55.0) / 58.0 * 304.8 / area
}

#[test]
fn solid_copper_has_the_resistance_of_its_metal() {
    let table = cells("supply_circuit.solid_resistance", "ohm");
    assert_eq!(table.len(), 4);
    for (gauge, number) in &GAUGES[..4] {
        let printed = cell("supply_circuit.solid_resistance", gauge, "ohm");
        near(gauge, printed, rounded(solid(*number), 3), 1e-9);
    }
}

/// ASTM B8 (memory) takes 2 % for the lay of the strands; the code's table is rounded from sizes
/// of its own, and stays within 0.6 % of that.
#[test]
fn stranded_copper_has_two_per_cent_more() {
    let table = cells("supply_circuit.stranded_resistance", "ohm");
    assert_eq!(table.len(), GAUGES.len());
    for (gauge, number) in GAUGES {
        let printed = cell("supply_circuit.stranded_resistance", gauge, "ohm");
        near(gauge, printed / (1.02 * solid(number)), 1.0, 0.006);
    }
}

/// The package has the table of alternating current (two figures, converted to ohms a
/// kilometre); in these sizes it is the same resistance.
#[test]
fn stranded_copper_agrees_with_the_table_for_alternating_current() {
    for (_, gauge, of_1000_ft) in packaged("resistance_in_pvc", "ohm/kft") {
        let ours = cell("supply_circuit.stranded_resistance", gauge, "ohm");
        near(gauge, rounded(ours, 2), rounded(of_1000_ft, 2), 1e-9);
    }
}

/// NOM-001-SEDE-2012, as a package ships it; it takes up the NEC's table of its time.
#[test]
fn ampacity_is_that_of_another_nations_standard() {
    let theirs = packaged("ampacity_60", "A");
    assert_eq!(
        theirs.len(),
        cells("supply_circuit.ampacity", "A").len(),
        "every cell"
    );
    for (_, gauge, amperes) in theirs {
        let ours = cell("supply_circuit.ampacity", gauge, "A");
        near(gauge, ours, amperes, 1e-9);
    }
}

/// The package's list leaves out 25 A, 35 A and 45 A; every other one of ours is in it, and
/// none of its is missing from ours.
#[test]
fn standard_ratings_miss_none_of_a_packages() {
    let ours = cells("supply_circuit.next_standard_rating", "A");
    for (key, rating) in &ours {
        assert_eq!(*key, format!("up to {rating} A"), "a rating is its own");
    }
    let greatest = ours.last().expect("not empty").1;
    let theirs: Vec<f64> = packaged("standard_rating", "A")
        .into_iter()
        .map(|(.., rating)| rating)
        .filter(|rating| *rating <= greatest)
        .collect();
    let left_out = [25.0, 35.0, 45.0];
    let ours: Vec<f64> = ours.into_iter().map(|(_, rating)| rating).collect();
    let shared: Vec<f64> = ours
        .iter()
        .copied()
        .filter(|rating| !left_out.contains(rating))
        .collect();
    assert_eq!(shared, theirs);
    assert_eq!(ours.len(), theirs.len() + left_out.len());
}

/// A dual-voltage motor takes twice the current at half the voltage, and what it takes in is
/// more than what it gives, by less the larger it is.
#[test]
fn motor_currents_are_those_of_one_motor_at_two_voltages() {
    const WATTS: f64 = 745.7;
    for table in ["motor_current", "motor_current_for_protection"] {
        let cells = cells(&format!("supply_circuit.{table}"), "A");
        let column = |volts: &str| -> Vec<(String, f64)> {
            let cells = cells.iter().filter(|(key, _)| key.ends_with(volts));
            cells
                .map(|(key, amperes)| (power(key).to_owned(), *amperes))
                .collect()
        };
        let (low, high) = (column("120 V"), column("240 V"));
        assert_eq!((low.len(), high.len()), (5, 8));
        for (power, amperes) in &low {
            let at_high = high.iter().find(|(other, _)| other == power);
            let at_high = at_high.expect("the same powers").1;
            near(power, *amperes, 2.0 * at_high, 1e-9);
        }
        let shares: Vec<f64> = high
            .iter()
            .map(|(power, amperes)| quantity(power) / quantity("1 hp") * WATTS / (230.0 * amperes))
            .collect();
        assert!(shares.is_sorted(), "{shares:?}");
        assert!(shares.iter().all(|share| *share < 1.0), "{shares:?}");
    }
}

/// `1/2 hp` of `up to 1/2 hp, up to 240 V`.
fn power(key: &str) -> &str {
    let row = key.split(',').next().expect("a row");
    let word = ["up to ", "from "];
    let start = word.iter().find_map(|word| row.strip_prefix(word));
    start.expect("a power")
}
