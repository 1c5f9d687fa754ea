//! Small drawings of our own, each with what it must read as.

mod choices;
mod dxf;
mod hostile;
mod joining;
mod properties;
mod svg;
mod units;

use oddment_core::part::MarkKind;
use oddment_core::shape::{Edge, PartSpace, Point};

use super::*;

/// A DXF in millimetres with these entities, as pairs one after another: `0 LINE 10 5 …`.
fn entities(pairs: &str) -> String {
    file(&[("HEADER", "9 $INSUNITS 70 4"), ("ENTITIES", pairs)])
}

/// A DXF with these sections.
fn file(sections: &[(&str, &str)]) -> String {
    let mut text = String::new();
    for (name, pairs) in sections {
        text += &format!("0\nSECTION\n2\n{name}\n");
        for token in pairs.split_whitespace() {
            text += token;
            text.push('\n');
        }
        text += "0\nENDSEC\n";
    }
    text + "0\nEOF\n"
}

fn line(x1: f64, y1: f64, x2: f64, y2: f64) -> String {
    format!(" 0 LINE 10 {x1} 20 {y1} 11 {x2} 21 {y2}")
}

/// A rectangle of four lines, not in order.
fn rectangle(x: f64, y: f64, w: f64, h: f64) -> String {
    line(x, y, x + w, y)
        + &line(x, y + h, x + w, y + h)
        + &line(x + w, y + h, x + w, y)
        + &line(x, y + h, x, y)
}

fn circle(x: f64, y: f64, r: f64) -> String {
    format!(" 0 CIRCLE 10 {x} 20 {y} 40 {r}")
}

fn read(text: &str) -> Drawing {
    match read_drawing("plate.dxf", text.as_bytes(), &ReadOptions::default()) {
        Ok(drawing) => drawing,
        Err(fault) => panic!("{fault}"),
    }
}

#[track_caller]
fn refused(bytes: &[u8]) -> String {
    let result = read_drawing("plate.dxf", bytes, &ReadOptions::default());
    result.expect_err("should be refused").to_string()
}

/// Checks the regions' net areas (to 0.01 mm²) and numbers of holes, in order.
#[track_caller]
fn check(text: &str, regions: &[(f64, usize)]) -> Drawing {
    let drawing = read(text);
    let found: Vec<_> =
        drawing.regions.iter().map(|f| (f.region.area(), f.region.holes().len())).collect();
    let same = found.len() == regions.len()
        && found.iter().zip(regions).all(|(a, b)| (a.0 - b.0).abs() < 0.01 && a.1 == b.1);
    assert!(same, "found {found:?}, not {regions:?}; {:?}", drawing.problems);
    drawing
}

/// Checks that a problem with these words was told, and returns it.
#[track_caller]
fn told<'a>(drawing: &'a Drawing, words: &str) -> &'a Problem {
    let problem = drawing.problems.iter().find(|p| p.what.contains(words));
    problem.unwrap_or_else(|| panic!("“{words}” is not in {:?}", drawing.problems))
}

fn edges(drawing: &Drawing) -> Vec<Edge<PartSpace>> {
    drawing.regions[0].region.outer().edges().collect()
}

/// How far the outline's edges leave the curve with this distance function, sampled densely.
fn worst(drawing: &Drawing, off: impl Fn(Point<PartSpace>) -> f64) -> f64 {
    let samples =
        edges(drawing).into_iter().flat_map(|e| (0..=20).map(move |i| e.at(f64::from(i) / 20.0)));
    samples.map(|p| off(p).abs()).fold(0.0, f64::max)
}

#[test]
fn regions_come_largest_first_and_equal_ones_from_the_left_and_from_below() {
    let squares = [(40.0, 9.0), (40.0, 0.0), (20.0, 30.0), (0.0, 60.0)];
    let mut text: String = squares.iter().map(|(x, y)| rectangle(*x, *y, 5.0, 5.0)).collect();
    text += &rectangle(100.0, 100.0, 30.0, 20.0);
    let drawing = read(&entities(&text));
    let corners: Vec<_> = drawing.regions.iter().map(|f| f.region.bounds().min).collect();
    let corners: Vec<_> = corners.iter().map(|p| (p.x, p.y)).collect();
    assert_eq!(corners, [(100.0, 100.0), (0.0, 60.0), (20.0, 30.0), (40.0, 0.0), (40.0, 9.0)]);
    assert_eq!(drawing.part_names("plate")[4], "plate-5");
    assert_eq!(read(&entities(&circle(0.0, 0.0, 9.0))).part_names("plate"), ["plate"]);
}

#[test]
fn islands_in_holes_are_regions_of_their_own() {
    let text = rectangle(0.0, 0.0, 100.0, 100.0)
        + &rectangle(10.0, 10.0, 50.0, 50.0)
        + &rectangle(20.0, 20.0, 20.0, 20.0)
        + &rectangle(25.0, 25.0, 5.0, 5.0)
        + &rectangle(70.0, 70.0, 10.0, 10.0);
    check(&entities(&text), &[(10_000.0 - 2500.0 - 100.0, 2), (400.0 - 25.0, 1)]);
}

#[test]
fn a_hole_that_touches_its_outline_stays_a_hole() {
    let text = rectangle(0.0, 0.0, 100.0, 100.0)
        + " 0 LWPOLYLINE 70 1 10 0 20 50 10 10 20 40 10 20 20 50 10 10 20 60";
    check(&entities(&text), &[(10_000.0 - 200.0, 1)]);
}

#[test]
fn contours_that_cross_are_named_and_left() {
    let text = rectangle(0.0, 0.0, 100.0, 50.0) + &rectangle(90.0, 10.0, 30.0, 30.0);
    let drawing = read(&entities(&text));
    let problem = told(&drawing, "cross");
    assert!(problem.must_settle && problem.at.is_some());
    assert_eq!(drawing.regions.len(), 2);
}

#[test]
fn open_lines_travel_with_the_part_they_lie_on() {
    let text = rectangle(0.0, 0.0, 100.0, 50.0)
        + &rectangle(200.0, 0.0, 50.0, 50.0)
        + &line(30.0, 0.0, 30.0, 50.0)
        + &line(210.0, 20.0, 230.0, 20.0)
        + &line(400.0, 0.0, 410.0, 0.0);
    let drawing = check(&entities(&text), &[(5000.0, 0), (2500.0, 0)]);
    assert_eq!(drawing.regions[0].marks[0].kind, MarkKind::Bend);
    assert_eq!(drawing.regions[1].marks[0].kind, MarkKind::Engrave);
    assert_eq!(told(&drawing, "outside every part").at, Some(Point::new(405.0, 0.0)));
}

#[test]
fn layers_of_marks_and_bends_are_not_cut_and_construction_is_left_out() {
    let text = rectangle(0.0, 0.0, 100.0, 50.0)
        + " 0 CIRCLE 8 engraving 10 20 20 20 40 5"
        + " 0 LINE 8 bend_lines 10 60 20 5 11 60 21 30"
        + " 0 CIRCLE 8 construction 10 50 20 25 40 45";
    let drawing = check(&entities(&text), &[(5000.0, 0)]);
    let kinds: Vec<_> = drawing.regions[0].marks.iter().map(|m| m.kind).collect();
    assert_eq!(kinds, [MarkKind::Engrave, MarkKind::Bend]);
    assert_eq!(told(&drawing, "construction").layer.as_deref(), Some("construction"));
}

#[test]
fn names_of_layers_mean_nothing_where_they_would_leave_nothing() {
    check(&entities(" 0 CIRCLE 8 marks 10 0 20 0 40 10"), &[(314.159, 0)]);
}
