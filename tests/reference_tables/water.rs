//! What water weighs.

use super::{limit, near, packaged, rounded};

/// IAPWS-95 at one atmosphere, as CoolProp computes it.
#[test]
fn buoyancy_is_reckoned_with_the_densest_water() {
    let densest = packaged("density_of_water", "lb/ft3")
        .into_iter()
        .map(|(.., weight)| weight)
        .fold(0.0, f64::max);
    let ours = limit("flotation.weight_of_water", "lb/ft3");
    near("uplift", ours, rounded(densest, 3), 1e-9);
}

#[test]
fn pressure_is_turned_into_head_with_water_between_four_and_twenty_degrees() {
    let ours = limit("flow_and_head.weight_of_water", "kg/m3");
    for (celsius, _, density) in packaged("density_of_water", "kg/m3") {
        // 25 degC is beyond sewage in the ground.
        let within = if celsius == "25 degC" { 0.003 } else { 0.002 };
        near(celsius, ours / density, 1.0, within);
    }
}

/// NIST SP 811, Appendix B.8 (memory): a conventional foot of water is 2989.067 Pa.
#[test]
fn a_foot_of_conventional_water_is_the_published_pressure() {
    let weight = limit("flow_and_head.weight_of_water", "kN/m3");
    near("ftH2O", weight * 1000.0 * 0.3048, 2989.067, 0.0005);
}
