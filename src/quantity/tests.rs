use super::*;

#[test]
fn two_feet_is_twenty_four_inches() {
    let feet = parse::quantity("2 ft").expect("a length");
    let inches = parse::quantity("24 in").expect("a length");
    assert_eq!(feet.nominal, inches.nominal);
}
