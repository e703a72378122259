//! Diameters, walls and strength of plastic pipe.

use super::{cell, cells, near, packaged};

#[test]
fn iron_pipe_diameters_are_those_of_the_pipe_standards() {
    let theirs = packaged("outside_diameter", "in");
    assert_eq!(theirs.len(), 27);
    for (pipe, size, inches) in theirs {
        let ours = cell("flow_and_head.iron_pipe_diameter", size, "in");
        near(&format!("{pipe}, {size}"), ours, inches, 1e-9);
    }
}

/// The standards print the least wall to a thousandth of an inch.
#[test]
fn a_dimension_ratio_gives_the_printed_wall() {
    let mut compared = 0;
    for (pipe, size, wall) in packaged("least_wall", "in") {
        if !pipe.starts_with("DR ") {
            continue;
        }
        let diameter = cell("flow_and_head.iron_pipe_diameter", size, "in");
        for table in [
            "flow_and_head.ratio_number",
            "pressure_lateral.ratio_as_number",
        ] {
            let ours = diameter / cell(table, pipe, "");
            near(&format!("{table}, {pipe}, {size}"), ours, wall, 0.000_501);
            compared += 1;
        }
    }
    assert_eq!(compared, 42);
}

/// Pipe is made 6 % thicker than its least wall, by handbooks of plastic pipe (memory).
#[test]
fn schedules_have_the_inside_diameter_that_their_walls_leave() {
    let mut compared = 0;
    for (pipe, size, wall) in packaged("least_wall", "in") {
        if pipe.starts_with("DR ") {
            continue;
        }
        let diameter = cell("flow_and_head.iron_pipe_diameter", size, "in");
        let key = format!("{pipe}, {size}");
        let ours = cell("flow_and_head.schedule_inside_diameter", &key, "in");
        near(&key, ours, diameter - 2.0 * 1.06 * wall, 0.001);
        compared += 1;
    }
    assert_eq!(compared, 6);
}

const STRESSES: [&str; 2] = [
    "flow_and_head.design_stress",
    "pressure_lateral.design_stress",
];

/// ASTM F412 (memory): the last two digits of a designation are the design stress at 73 degF
/// in hundreds of psi.
#[test]
fn a_designation_says_its_own_design_stress() {
    for table in STRESSES {
        let stresses = cells(table, "psi");
        assert_eq!(stresses.len(), 4);
        for (designation, stress) in stresses {
            let digits = &designation[designation.len() - 2..];
            let hundreds: f64 = digits.parse().expect("two digits");
            near(&designation, stress, 100.0 * hundreds, 1e-6);
        }
    }
}

/// ASTM D2837 and PPI TR-4 (memory): the design stress is the hydrostatic design basis times
/// the design factor, to the nearest preferred number (ISO 3, R10).
#[test]
fn the_design_stress_is_basis_times_factor() {
    const PREFERRED: [f64; 6] = [630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0];
    for (designation, basis, factor) in [
        ("pe3408", 1600.0, 0.5),
        ("pe3608", 1600.0, 0.5),
        ("pe4710", 1600.0, 0.63),
        ("pvc1120", 4000.0, 0.5),
    ] {
        let product = basis * factor;
        let off = |number: &f64| (number - product).abs();
        let nearest = PREFERRED
            .into_iter()
            .min_by(|one, other| off(one).total_cmp(&off(other)))
            .expect("not empty");
        for table in STRESSES {
            near(designation, cell(table, designation, "psi"), nearest, 1e-6);
        }
    }
}
