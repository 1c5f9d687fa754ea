use oddment_core::check::check;
use oddment_core::part::{Mark, Part};
use oddment_core::plan::{Count, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{Edge, Loop, Point, Region};

use super::*;
use crate::drawing::{ReadOptions, read_drawing};
use crate::job_file::{Origin, sheet_rectangle};
use crate::test_jobs::{CLEARANCES, bracket, placement};

fn job() -> (SourcedJob, Plan) {
    let mut job = SourcedJob::new(CLEARANCES);
    let (sheet, origin) = sheet_rectangle("S", 600.0, 400.0).unwrap();
    job.add_sheet(Stock { sheet, count: 2 }, origin);
    let outer = Loop::rectangle(Point::origin(), Point::new(100.0, 50.0)).unwrap();
    let hole = Loop::circle(Point::new(20.0, 20.0), 7.5).unwrap();
    let mut part = Part::new("P", Region::new(outer, vec![hole]));
    let bend = Edge::new(Point::new(50.0, 5.0), Point::new(50.0, 45.0), 0.0);
    let arc = Edge::new(Point::new(70.0, 20.0), Point::new(80.0, 20.0), 1.0);
    part.marks.push(Mark { kind: MarkKind::Bend, edges: vec![bend] });
    part.marks.push(Mark { kind: MarkKind::Engrave, edges: vec![arc] });
    part.flip = true;
    job.add_part(Wanted { part, count: Count::Exactly(2) }, Origin::Outline);
    let laid = |copy, x, y, degrees: f64, flipped| {
        let pose = Pose::new(Vector::new(x, y), degrees.to_radians(), flipped);
        Placement { part: 0, copy, pose, locked: false }
    };
    let first = Layout { stock: 0, placements: vec![laid(1, 50.0, 60.0, 0.0, false)] };
    let second = Layout { stock: 0, placements: vec![laid(2, 300.0, 200.0, 90.0, true)] };
    (job, Plan { layouts: vec![first, second] })
}

fn drawing() -> String {
    let (job, plan) = job();
    layout_dxf(&job, &check(&job.job, plan)).unwrap()
}

/// The groups of each entity, kind first.
fn entities(text: &str) -> Vec<Vec<(u32, String)>> {
    let lines: Vec<&str> = text.split("\r\n").collect();
    let groups: Vec<(u32, String)> =
        lines.chunks_exact(2).map(|c| (c[0].trim().parse().unwrap(), c[1].to_owned())).collect();
    let start = groups.iter().position(|g| *g == (2, "ENTITIES".to_owned())).unwrap() + 1;
    let mut found: Vec<Vec<(u32, String)>> = Vec::new();
    for group in &groups[start..] {
        match group {
            (0, kind) if kind == "ENDSEC" => break,
            (0, _) => found.push(vec![group.clone()]),
            _ => found.last_mut().unwrap().push(group.clone()),
        }
    }
    found
}

fn value(entity: &[(u32, String)], code: u32) -> &str {
    entity.iter().find(|g| g.0 == code).map_or("", |g| g.1.as_str())
}

#[test]
fn each_thing_lies_on_the_layer_of_its_purpose_inner_contours_first() {
    let drawn: Vec<String> =
        entities(&drawing()).iter().map(|e| format!("{} {}", value(e, 0), value(e, 8))).collect();
    let sheet =
        ["LWPOLYLINE SHEET", "LINE BEND", "ARC MARK", "CIRCLE CUT_INNER", "LWPOLYLINE CUT_OUTER"];
    assert_eq!(drawn, [sheet, sheet].concat());
}

#[test]
fn a_cut_that_two_parts_share_is_drawn_once() {
    let (mut job, mut plan) = job();
    job.job.clearances.common = true;
    let kerf = job.job.clearances.kerf;
    plan.layouts.truncate(1);
    let first = plan.layouts[0].placements[0];
    let pose = Pose::shifted(first.pose.shift + Vector::new(100.0 + kerf, 10.0));
    plan.layouts[0].placements.push(Placement { copy: 2, pose, ..first });
    let checked = check(&job.job, plan);
    assert!(checked.is_clear(), "{:?}", checked.report());
    let text = layout_dxf(&job, &checked).unwrap();
    let drawn = entities(&text);
    let outlines: Vec<_> = drawn.iter().filter(|e| value(e, 8) == "CUT_OUTER").collect();
    // The first whole; of the second, 10 mm higher, what lies beside the first is left out.
    assert_eq!(outlines.iter().map(|o| value(o, 70)).collect::<Vec<_>>(), ["1", "0"]);
    let at = |code| {
        let numbers = outlines[1].iter().filter(move |g| g.0 == code);
        numbers.map(|g| g.1.parse::<f64>().unwrap()).collect::<Vec<_>>()
    };
    let corners: Vec<(f64, f64)> = at(10).into_iter().zip(at(20)).collect();
    let length: f64 = corners.windows(2).map(|c| (c[1].0 - c[0].0).hypot(c[1].1 - c[0].1)).sum();
    assert!((length - (2.0 * 100.0 + 2.0 * 50.0 - 40.0)).abs() < 1e-6, "{length}");
    let left = 150.0 + kerf;
    assert!((corners[0].0 - left).abs() + (corners[0].1 - 70.0).abs() < 1e-6, "{corners:?}");
    let last = corners[corners.len() - 1];
    assert!((last.0 - left).abs() + (last.1 - 110.0).abs() < 1e-6, "{corners:?}");
}

#[test]
fn the_first_sheet_keeps_its_coordinates_and_the_second_stands_beside_it() {
    let drawn = entities(&drawing());
    let circles: Vec<_> = drawn.iter().filter(|e| value(e, 0) == "CIRCLE").collect();
    // 20, 20 of the part, moved by 50, 60.
    assert_eq!((value(circles[0], 10), value(circles[0], 20)), ("70.0", "80.0"));
    assert_eq!(value(circles[0], 40), "7.5");
    // Mirrored to −20, 20, turned a quarter to −20, −20, moved by 300, 200 and 600 + 200 aside.
    assert_eq!((value(circles[1], 10), value(circles[1], 20)), ("1080.0", "180.0"));
}

#[test]
fn arcs_run_counter_clockwise_also_when_mirrored() {
    let drawn = entities(&drawing());
    let arcs: Vec<_> = drawn.iter().filter(|e| value(e, 0) == "ARC").collect();
    // From 70, 20 counter-clockwise to 80, 20: the lower half.
    assert_eq!((value(arcs[0], 50), value(arcs[0], 51)), ("180.0", "0.0"));
    // Mirrored it stays the lower half; turned a quarter it is the right half.
    assert_eq!((value(arcs[1], 50), value(arcs[1], 51)), ("270.0", "90.0"));
}

#[test]
fn handles_are_used_once_and_lie_below_the_seed() {
    let text = drawing();
    let lines: Vec<&str> = text.split("\r\n").collect();
    let mut handles: Vec<u32> = lines
        .chunks_exact(2)
        .filter(|c| c[0].trim() == "5")
        .map(|c| u32::from_str_radix(c[1], 16).unwrap())
        .collect();
    // The first is the header's: the next free one.
    let seed = handles.remove(0);
    let count = handles.len();
    handles.sort_unstable();
    handles.dedup();
    assert_eq!(handles.len(), count);
    assert!(handles.iter().all(|h| *h < seed && *h > 0));
}

#[test]
fn no_drawing_for_the_machine_is_made_of_a_plan_that_is_not_clear() {
    let (job, mut plan) = job();
    plan.layouts[0].placements[0].pose.shift.x = 1.0;
    assert_eq!(layout_dxf(&job, &check(&job.job, plan)), Err(NoDrawing::NotClear));
}

#[test]
fn numbers_are_plain() {
    for (value, text) in [
        (0.0, "0.0"),
        (-0.0, "0.0"),
        (-1e-9, "0.0"),
        (12.5, "12.5"),
        (100.0, "100.0"),
        (1e6, "1000000.0"),
        (-0.123_456_78, "-0.123457"),
    ] {
        assert_eq!(writer::decimal(value, 6), text);
    }
}

#[test]
fn our_own_reader_finds_every_contour_where_it_was_laid() {
    let (mut job, mut plan) = job();
    // Turned by no round angle, flipped, and with a rounded part beside the square one.
    plan.layouts[0].placements[0].pose = Pose::new(Vector::new(90.5, 60.25), 1.234_567, false);
    job.add_part(Wanted { part: bracket(), count: Count::Max }, Origin::Outline);
    plan.layouts[0].placements.push(placement(1, 1, 301.234_567, 111.1, 77.7));
    let text = layout_dxf(&job, &check(&job.job, plan.clone())).unwrap();
    let drawing = read_drawing("nest.dxf", text.as_bytes(), &ReadOptions::default()).unwrap();
    assert_eq!((drawing.units.mm_per_unit, drawing.units.assumed), (1.0, false));
    let found: Vec<Loop<SheetSpace>> = drawing
        .regions
        .iter()
        .flat_map(|f| f.region.loops().map(Loop::reinterpret).collect::<Vec<_>>())
        .collect();
    let aside = [Vector::default(), Vector::new(800.0, 0.0)];
    let mut laid = 0;
    for (layout, aside) in plan.layouts.iter().zip(aside) {
        for placement in &layout.placements {
            let pose = Pose::<SheetSpace, SheetSpace>::shifted(aside).after(&placement.pose);
            let region = &job.job.wanted[placement.part].part.region;
            for contour in region.loops().map(|l| l.placed(&pose)) {
                let near = found.iter().any(|f| {
                    (f.area() - contour.area()).abs() < 0.002 * contour.perimeter()
                        && f.bounds().min.distance(contour.bounds().min) < 0.002
                        && f.bounds().max.distance(contour.bounds().max) < 0.002
                });
                assert!(near, "{contour:?} is not among {found:#?}");
                laid += 1;
            }
        }
    }
    assert_eq!(laid, 6);
    // And the two sheets.
    assert_eq!(found.len(), laid + 2);
}
