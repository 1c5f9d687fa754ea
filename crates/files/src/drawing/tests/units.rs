//! What the numbers mean.

use oddment_core::units::LengthUnit;

use super::*;

/// A square of `side` units in a file that states this `$INSUNITS`.
fn square(side: f64, insunits: Option<u32>) -> String {
    let header = insunits.map_or(String::new(), |u| format!("9 $INSUNITS 70 {u}"));
    file(&[
        ("HEADER", &format!("{header} 9 $MEASUREMENT 70 0")),
        ("ENTITIES", &rectangle(0.0, 0.0, side, side)),
    ])
}

#[track_caller]
fn check_units(side: f64, insunits: Option<u32>, mm: f64, assumed: bool, must_settle: bool) {
    let drawing = read(&square(side, insunits));
    let width = drawing.regions[0].region.bounds().width();
    assert!((drawing.units.mm_per_unit - mm).abs() < 1e-12, "{:?}", drawing.units);
    assert!((width - side * mm).abs() < 1e-6);
    assert_eq!(drawing.units.assumed, assumed);
    assert_eq!(drawing.problems.iter().any(|p| p.must_settle), must_settle);
    assert_eq!(drawing.problems.is_empty(), !assumed && !must_settle);
}

#[test]
fn a_header_is_obeyed_when_believable() {
    check_units(100.0, Some(4), 1.0, false, false);
    check_units(10.0, Some(1), 25.4, false, false);
    check_units(10.0, Some(5), 10.0, false, false);
    check_units(1.2, Some(6), 1000.0, false, false);
    check_units(2.0, Some(2), 304.8, false, false);
}

#[test]
fn a_header_that_makes_no_sense_is_not_obeyed_silently() {
    check_units(252.5, Some(1), 1.0, true, true);
    check_units(500.0, Some(6), 1.0, true, true);
    check_units(2.5, Some(4), 25.4, true, true);
    check_units(1e6, Some(4), 1.0, false, true);
}

#[test]
fn without_a_unit_size_decides() {
    check_units(92.0, None, 1.0, true, false);
    check_units(92.0, Some(0), 1.0, true, false);
    check_units(14.8, None, 1.0, true, false);
    check_units(3.65, Some(0), 25.4, true, true);
}

#[test]
fn given_units_win() {
    let options = ReadOptions { units: Some(LengthUnit::Mm), ..ReadOptions::default() };
    let drawing = read_drawing("p.dxf", square(10.0, Some(1)).as_bytes(), &options).unwrap();
    assert_eq!((drawing.units.mm_per_unit, drawing.units.assumed), (1.0, false));
    assert_eq!(drawing.units.name, "mm");
}
