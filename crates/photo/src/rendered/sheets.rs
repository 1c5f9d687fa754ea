//! Sheets to be photographed.

use oddment_core::capture::typed::slot;
use oddment_core::shape::{Bounds, Loop, LoopFault, Point, Region, SheetSpace, Vector, Vertex};

use crate::target::Target;

type P = Point<SheetSpace>;

/// A sheet of 1000 × 700 mm from the origin, with holes of 8 mm and more all over it: round ones, slots,
/// rectangles and a bracket's outline.
///
/// # Errors
/// None that can be: for whoever calls in a test.
pub fn drilled() -> Result<Region<SheetSpace>, LoopFault> {
    let outer = Loop::rectangle(Point::origin(), Point::new(1000.0, 700.0))?;
    Ok(Region::new(outer, holes()?))
}

/// The same sheet with a corner and a notch missing and one corner round, about a target whose lower
/// left corner is the origin. What lies under the paper is not cut out.
///
/// # Errors
/// As [`drilled`].
pub fn notched(target: &Target) -> Result<Region<SheetSpace>, LoopFault> {
    let shift = Vector::new(-330.0, -250.0);
    let bulge = std::f64::consts::FRAC_PI_8.tan();
    let corners = [
        (0.0, 0.0, 0.0),
        (620.0, 0.0, 0.0),
        (620.0, 60.0, 0.0),
        (700.0, 60.0, 0.0),
        (700.0, 0.0, 0.0),
        (1000.0, 0.0, 0.0),
        (1000.0, 480.0, 0.0),
        (840.0, 480.0, 0.0),
        (840.0, 700.0, 0.0),
        (120.0, 700.0, bulge),
        (0.0, 580.0, 0.0),
    ];
    let vertex = |(x, y, bulge): (f64, f64, f64)| Vertex { point: Point::new(x, y) + shift, bulge };
    let outer = Loop::new(corners.map(vertex))?;
    let ([w, h], [mx, my]) = (target.size(), target.margins());
    let paper = Bounds { min: Point::new(-mx, -my), max: Point::new(w + mx, h + my) };
    let pose = oddment_core::shape::Pose::shifted(shift);
    let mut kept = Vec::new();
    for hole in holes()? {
        let hole: Loop<SheetSpace> = hole.placed(&pose);
        let apart = paper.distance(&hole.bounds()) > 12.0;
        let edges: Vec<_> = outer.edges().collect();
        let clear = edges.iter().all(|e| e.bounds().distance(&hole.bounds()) > 10.0);
        if apart && clear && outer.encloses(hole.vertices()[0].point) {
            kept.push(hole);
        }
    }
    Ok(Region::new(outer, kept))
}

fn holes() -> Result<Vec<Loop<SheetSpace>>, LoopFault> {
    let at = |x: f64, y: f64| -> P { Point::new(x, y) };
    let mut holes = Vec::new();
    // The smallest that count, in rows near all four rims.
    for i in 0..12 {
        let x = 60.0 + 80.0 * f64::from(i);
        holes.push(Loop::circle(at(x, 30.0), 4.1)?);
        holes.push(Loop::circle(at(x, 665.0), if i % 2 == 0 { 4.1 } else { 6.0 })?);
    }
    for i in 0..5 {
        let y = 110.0 + 110.0 * f64::from(i);
        holes.push(Loop::circle(at(40.0, y), 8.0)?);
        holes.push(Loop::circle(at(958.0, y), 5.0 + 3.0 * f64::from(i))?);
    }
    for (x, y, r) in [(150.0, 160.0, 40.0), (820.0, 380.0, 55.0), (300.0, 560.0, 25.0)] {
        holes.push(Loop::circle(at(x, y), r)?);
    }
    for (x, y, angle) in [(700.0, 150.0, 0.4), (180.0, 420.0, 1.3), (650.0, 560.0, -0.3)] {
        holes.push(slot(at(x, y), Vector::at_angle(angle) * 35.0, 9.0)?);
    }
    holes.push(Loop::rectangle(at(420.0, 90.0), at(540.0, 170.0))?);
    holes.push(Loop::rectangle(at(730.0, 250.0), at(760.0, 330.0))?);
    // A bracket with one bent side.
    let bracket = [
        (420.0, 540.0, 0.0),
        (560.0, 540.0, 0.0),
        (560.0, 570.0, 0.0),
        (500.0, 620.0, 0.25),
        (420.0, 610.0, 0.0),
    ];
    holes.push(Loop::new(bracket.map(|(x, y, bulge)| Vertex { point: at(x, y), bulge }))?);
    Ok(holes)
}
