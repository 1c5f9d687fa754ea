//! Ends that meet, nearly meet, and meet too often.

use super::*;

#[test]
fn ends_that_miss_by_microns_meet_without_a_word() {
    let text = line(0.0, 0.0, 20.0, 0.0)
        + &line(20.0006, 0.0003, 20.0, 10.0)
        + &line(20.0, 10.0, 0.0, 10.0)
        + &line(0.0, 10.0, 0.0, 0.0);
    let drawing = check(&entities(&text), &[(200.0, 0)]);
    assert!(drawing.problems.iter().all(|p| !p.what.contains("gap")));
}

#[test]
fn small_gaps_are_closed_and_told() {
    let text = line(0.0, 0.0, 19.97, 0.0)
        + &line(20.0, 0.0, 20.0, 10.0)
        + &line(20.0, 10.0, 0.0, 10.0)
        + &line(0.0, 9.99, 0.0, 0.0);
    let drawing = check(&entities(&text), &[(200.0, 0)]);
    let problem = told(&drawing, "2 gaps between ends, the widest 0.03 mm");
    assert!(!problem.must_settle);
    assert!(problem.at.unwrap().distance(Point::new(20.0, 0.0)) < 0.1);
}

#[test]
fn a_single_open_curve_closes_on_itself() {
    let text = " 0 LWPOLYLINE 70 0 10 0 20 0 10 20 20 0 10 20 20 10 10 0 20 10 10 0 20 0.04";
    check(&entities(text), &[(200.0, 0)]);
}

#[test]
fn wide_gaps_stay_open_and_are_for_a_person() {
    let text = line(0.0, 0.0, 19.9, 0.0)
        + &line(20.0, 0.0, 20.0, 10.0)
        + &line(20.0, 10.0, 0.0, 10.0)
        + &line(0.0, 10.0, 0.0, 0.0)
        + &circle(50.0, 50.0, 2.0);
    let drawing = check(&entities(&text), &[(12.566, 0)]);
    assert!(told(&drawing, "1 gap keeps a contour open, 0.1 mm wide").must_settle);
    assert!(!drawing.regions[0].in_open);
    let options = ReadOptions { bridge: 0.2, ..ReadOptions::default() };
    let wider = read_drawing("p.dxf", entities(&text).as_bytes(), &options).unwrap();
    assert_eq!(wider.regions.len(), 2);
}

#[test]
fn what_lies_within_an_open_outline_is_told_to_and_the_gap_is_named() {
    let open = |gap: f64| {
        let text = line(gap, 0.0, 60.0, 0.0)
            + &line(60.0, 0.0, 60.0, 40.0)
            + &line(60.0, 40.0, 0.0, 40.0)
            + &line(0.0, 40.0, 0.0, 0.0)
            + &circle(20.0, 20.0, 5.0)
            + &circle(90.0, 20.0, 5.0);
        read(&entities(&text))
    };
    for (gap, words) in [
        (0.3, "1 gap keeps a contour open, 0.3 mm wide"),
        (2.345, "1 gap may leave an outline open, 2.345 mm wide"),
    ] {
        let drawing = open(gap);
        told(&drawing, words);
        let inside: Vec<bool> = drawing.regions.iter().map(|f| f.in_open).collect();
        assert_eq!(inside, [true, false], "{gap}");
    }
    // So far apart they are not meant to meet.
    assert!(open(30.0).regions.iter().all(|f| !f.in_open));
}

#[test]
fn a_gap_does_not_swallow_pieces_shorter_than_itself() {
    // A zigzag of pieces of 0.03 mm keeps all of its corners.
    let mut text = String::new();
    let x = |i: u32| f64::from(i) * 0.03;
    for i in 0..400 {
        let y = |i: u32| if i.is_multiple_of(2) { 0.0 } else { 0.02 };
        text += &line(x(i), y(i), x(i + 1), y(i + 1));
    }
    text += &(line(x(400), 0.0, x(400), 10.0)
        + &line(x(400), 10.0, 0.0, 10.0)
        + &line(0.0, 10.0, 0.0, 0.0));
    let drawing = read(&entities(&text));
    assert_eq!(edges(&drawing).len(), 403);
}

#[test]
fn duplicates_are_taken_once_whichever_way_they_run() {
    let text = rectangle(0.0, 0.0, 20.0, 10.0)
        + &line(20.0, 0.0, 0.0, 0.0)
        + &rectangle(0.0, 0.0, 20.0, 10.0)
        + &circle(5.0, 5.0, 2.0)
        + " 0 ARC 10 5 20 5 40 2 50 0 51 180 0 ARC 10 5 20 5 40 2 50 180 51 0"
        + " 0 LWPOLYLINE 70 1 10 20 20 10 10 0 20 10 10 0 20 0 10 20 20 0";
    let drawing = check(&entities(&text), &[(200.0 - 12.566, 1)]);
    told(&drawing, "5 lines drawn twice");
    told(&drawing, "2 contours drawn twice");
}

#[test]
fn lines_without_length_are_dropped() {
    let text = rectangle(0.0, 0.0, 20.0, 10.0)
        + &line(3.0, 3.0, 3.0, 3.0)
        + " 0 LWPOLYLINE 70 1 0 LWPOLYLINE 70 1 10 5 20 5 0 CIRCLE 10 1 20 1 40 0";
    let drawing = check(&entities(&text), &[(200.0, 0)]);
    assert!(drawing.regions[0].marks.is_empty());
}

#[test]
fn lines_along_a_contour_are_not_engraved_on_it() {
    let text = rectangle(0.0, 0.0, 20.0, 10.0) + &line(5.0, 0.0, 12.0, 0.0);
    let drawing = check(&entities(&text), &[(200.0, 0)]);
    assert!(drawing.regions[0].marks.is_empty());
    told(&drawing, "along a contour");
}

#[test]
fn neighbours_that_share_an_edge_stay_two_parts() {
    let text = rectangle(0.0, 0.0, 20.0, 10.0)
        + &line(20.0, 0.0, 50.0, 0.0)
        + &line(50.0, 0.0, 50.0, 10.0)
        + &line(50.0, 10.0, 20.0, 10.0);
    let drawing = check(&entities(&text), &[(300.0, 0), (200.0, 0)]);
    assert!(told(&drawing, "more than two ends meet").must_settle);
}

#[test]
fn a_line_that_hangs_on_a_corner_is_a_mark() {
    let text = rectangle(0.0, 0.0, 20.0, 10.0) + &line(0.0, 0.0, 8.0, 5.0);
    let drawing = check(&entities(&text), &[(200.0, 0)]);
    assert_eq!(drawing.regions[0].marks.len(), 1);
}

#[test]
fn a_hole_that_shares_a_corner_with_its_outline_stays_a_hole() {
    let text = rectangle(0.0, 0.0, 20.0, 10.0)
        + &line(0.0, 0.0, 6.0, 2.0)
        + &line(6.0, 2.0, 4.0, 6.0)
        + &line(4.0, 6.0, 0.0, 0.0);
    check(&entities(&text), &[(200.0 - 14.0, 1)]);
}

#[test]
fn contours_joined_by_a_line_are_told_apart() {
    let text = rectangle(0.0, 0.0, 20.0, 10.0)
        + &rectangle(30.0, 0.0, 10.0, 10.0)
        + &line(20.0, 0.0, 30.0, 0.0);
    check(&entities(&text), &[(200.0, 0), (100.0, 0)]);
}

#[test]
fn arcs_that_leave_a_node_alike_are_told_apart() {
    // A lens beside a straight line: three links between the same two ends.
    let arc = |bulge: f64| format!(" 0 LWPOLYLINE 10 0 20 0 42 {bulge} 10 10 20 0");
    let text = line(0.0, 0.0, 10.0, 0.0) + &arc(1.0) + &arc(0.5);
    let whole = 39.27;
    let shallow =
        read(&entities(&(line(0.0, 0.0, 10.0, 0.0) + &arc(0.5)))).regions[0].region.area();
    let mut expected = [(whole - shallow, 0), (shallow, 0)];
    expected.sort_by(|a, b| b.0.total_cmp(&a.0));
    check(&entities(&text), &expected);
}

#[test]
fn an_edge_shared_in_part_is_parted_where_lines_branch() {
    // Three strips drawn as one frame with two boxes on top of its rims.
    let text = rectangle(0.0, 0.0, 100.0, 40.0)
        + &rectangle(0.0, 0.0, 100.0, 10.0)
        + &rectangle(0.0, 30.0, 100.0, 10.0);
    check(&entities(&text), &[(2000.0, 0), (1000.0, 0), (1000.0, 0)]);
}
