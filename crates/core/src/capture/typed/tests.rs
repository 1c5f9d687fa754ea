//! Sheets worked out by hand.

use super::*;

fn sides(sheet: &mut TypedSheet) -> &mut Vec<Missing> {
    match &mut sheet.outer {
        Outer::Sides { missing, .. } => missing,
        Outer::Corners(_) => panic!("no sides"),
    }
}

fn missing(at: MissingAt, width: f64, depth: f64) -> Missing {
    let edges = EdgeSaid { kind: EdgeKind::OwnCut, give_or_take: Some(0.5) };
    Missing { at, width, depth, edges }
}

#[track_caller]
fn area(sheet: &TypedSheet, expected: f64) -> Captured {
    let captured = sheet.captured().unwrap();
    let metal = captured.metal().unwrap();
    let found: f64 = metal.sheet("s").area();
    assert!((found - expected).abs() < 1e-6 * expected, "{found} is not {expected}");
    captured
}

#[test]
fn an_l_is_missing_any_of_its_corners() {
    for corner in Corner::ALL {
        let mut sheet = TypedSheet::rectangle([1200.0, 800.0]);
        sides(&mut sheet).push(missing(MissingAt::Corner(corner), 400.0, 300.0));
        let captured = area(&sheet, 1200.0 * 800.0 - 400.0 * 300.0);
        let middle = match corner {
            Corner::LowerLeft => (200.0, 150.0),
            Corner::LowerRight => (1000.0, 150.0),
            Corner::UpperRight => (1000.0, 650.0),
            Corner::UpperLeft => (200.0, 650.0),
        };
        assert!(!captured.outer.shape().encloses(Point::new(middle.0, middle.1)), "{corner:?}");
        // Two edges of what is missing, four of the sides, each as it was said.
        let own = captured.outer.known().iter().filter(|k| k.facts.kind == EdgeKind::OwnCut);
        assert_eq!((own.count(), captured.outer.known().len()), (2, 6));
    }
}

#[test]
fn notches_are_measured_from_the_datum_on_every_side() {
    for (side, middle) in [
        (Side::Bottom, (150.0, 15.0)),
        (Side::Top, (150.0, 785.0)),
        (Side::Left, (15.0, 150.0)),
        (Side::Right, (1185.0, 150.0)),
    ] {
        let mut sheet = TypedSheet::rectangle([1200.0, 800.0]);
        sides(&mut sheet).push(missing(MissingAt::Side(side, 100.0), 100.0, 30.0));
        let captured = area(&sheet, 1200.0 * 800.0 - 100.0 * 30.0);
        let at = Point::new(middle.0, middle.1);
        assert!(!captured.outer.shape().encloses(at), "{side:?}");
    }
}

/// A parallelogram leaning by 20 mm: by hand, its diagonals are √(1020² + 800²) and
/// √(980² + 800²).
#[test]
fn diagonals_tell_how_far_it_is_out_of_square() {
    let mut sheet = TypedSheet::rectangle([1000.0, (800f64 * 800.0 + 400.0).sqrt()]);
    let Outer::Sides { diagonals, .. } = &mut sheet.outer else { panic!("no sides") };
    *diagonals = Some([1020f64.hypot(800.0), 980f64.hypot(800.0)]);
    let captured = area(&sheet, 1000.0 * 800.0);
    let upper = captured.outer.shape().vertices()[3].point;
    assert!(upper.distance(Point::new(20.0, 800.0)) < 1e-9, "{upper:?}");
    assert!(captured.residuals.iter().all(|r| r.off.abs() < 1e-9));
}

#[test]
fn diagonals_that_cannot_be_are_refused_and_small_errors_said() {
    let with = |rising: f64, falling: f64| {
        let mut sheet = TypedSheet::rectangle([300.0, 400.0]);
        let Outer::Sides { diagonals, .. } = &mut sheet.outer else { panic!("no sides") };
        *diagonals = Some([rising, falling]);
        sheet.captured()
    };
    assert!(matches!(with(800.0, 500.0).unwrap_err()[..], [TypedFault::NoTriangle(..)]));
    assert!(matches!(with(520.0, 520.0).unwrap_err()[..], [TypedFault::Disagree(..)]));
    // Both a millimetre too long: by similar triangles the upper corners lie 2 · 5/3 mm
    // further apart than the top is long.
    let off = with(501.0, 501.0).unwrap().residuals[0].off;
    assert!((off - 10.0 / 3.0).abs() < 0.02, "{off}");
}

#[test]
fn patterns_lie_where_they_are_said() {
    let mut sheet = TypedSheet::rectangle([1000.0, 500.0]);
    let hole = |at: (f64, f64), pattern| Cutout {
        shape: Shape::Circle(9.0),
        at: Vector::new(at.0, at.1),
        turn: 0.0,
        pattern,
        edges: EdgeSaid::default(),
    };
    sheet.cutouts.push(hole((100.0, 100.0), Pattern::Row(5, Vector::new(40.0, 0.0))));
    sheet.cutouts.push(hole((700.0, 250.0), Pattern::BoltCircle(6, 200.0, FRAC_PI_2)));
    let circle = std::f64::consts::PI * 4.5 * 4.5;
    let captured = area(&sheet, 1000.0 * 500.0 - 11.0 * circle);
    let centres: Vec<P> =
        captured.cutouts.iter().map(|c| c.shape().as_circle().unwrap().0).collect();
    assert!(centres[4].distance(Point::new(260.0, 100.0)) < 1e-9);
    assert!(centres[5].distance(Point::new(700.0, 350.0)) < 1e-9);
    assert!(centres[8].distance(Point::new(700.0, 150.0)) < 1e-9);
    assert!(captured.cutouts.iter().all(|c| c.give_or_take() == 2.0));
}

#[test]
fn cut_outs_over_the_rim_and_into_each_other_are_cut_exactly() {
    let mut sheet = TypedSheet::rectangle([1000.0, 500.0]);
    let said = EdgeSaid { kind: EdgeKind::OwnCut, give_or_take: Some(0.7) };
    let cut = |shape, x, y| Cutout {
        shape,
        at: Vector::new(x, y),
        turn: 0.0,
        pattern: Pattern::One,
        edges: said,
    };
    // A half round in the left side; a keyhole: a circle and the slot that runs from it.
    sheet.cutouts.push(cut(Shape::Circle(100.0), 0.0, 250.0));
    sheet.cutouts.push(cut(Shape::Rectangle([60.0, 10.0]), 500.0, 245.0));
    sheet.cutouts.push(cut(Shape::Rectangle([20.0, 40.0]), 560.0, 230.0));
    let half = std::f64::consts::PI * 50.0 * 50.0 / 2.0;
    let captured = area(&sheet, 1000.0 * 500.0 - half - 600.0 - 800.0);
    let metal = captured.metal().unwrap();
    let outer = &metal.pieces[0].outer;
    for (edge, known) in outer.edges() {
        let cut = edge.bulge() != 0.0;
        assert_eq!(known.facts.kind == EdgeKind::OwnCut, cut);
        assert_eq!(known.facts.give_or_take, if cut { 0.7 } else { 1.0 });
    }
    assert_eq!(metal.pieces[0].cutouts.len(), 1);
}

#[test]
fn what_takes_nothing_or_all_is_said() {
    let mut sheet = TypedSheet::rectangle([100.0, 50.0]);
    let cut = |shape, x, y| Cutout {
        shape,
        at: Vector::new(x, y),
        turn: 0.0,
        pattern: Pattern::One,
        edges: EdgeSaid::default(),
    };
    sheet.cutouts.push(cut(Shape::Circle(10.0), 50.0, 25.0));
    sheet.cutouts.push(cut(Shape::Circle(4.0), 50.0, 25.0));
    sheet.cutouts.push(cut(Shape::Circle(10.0), 200.0, 25.0));
    let said = sheet.captured().unwrap().metal().unwrap_err();
    assert_eq!(said, [NoMetal::CutsNothing(2), NoMetal::CutsNothing(3)]);
    sheet.cutouts = vec![cut(Shape::Rectangle([120.0, 70.0]), -10.0, -10.0)];
    assert_eq!(sheet.captured().unwrap().metal().unwrap_err(), [NoMetal::NothingLeft]);
}

#[test]
fn the_rest_of_one_clean_rectangle_is_unknown() {
    let mut sheet = TypedSheet::rectangle([1200.0, 800.0]);
    sheet.clean = Some([500.0, 400.0]);
    let metal = sheet.captured().unwrap().metal().unwrap();
    let unknown: f64 = metal.no_go.iter().map(|z| z.shape.area()).sum();
    assert!((unknown - (1200.0 * 800.0 - 500.0 * 400.0)).abs() < 1e-6);
    for wrong in [[1200.0, 800.0], [1300.0, 100.0], [0.0, 100.0], [f64::NAN, 1.0]] {
        sheet.clean = Some(wrong);
        assert!(sheet.captured().is_err(), "{wrong:?}");
    }
}

use super::super::NoMetal;
