//! What single entities and blocks draw.

use super::*;

const HALF_MOON: &str = " 0 LWPOLYLINE 70 1 10 0 20 0 42 1 10 20 20 0";

#[test]
fn lines_in_any_order_and_direction_make_an_outline() {
    check(&entities(&rectangle(-3.0, 7.0, 20.0, 10.0)), &[(200.0, 0)]);
}

#[test]
fn arcs_run_counter_clockwise_whatever_their_angles() {
    for angles in ["50 90 51 270", "50 -270 51 -90", "50 450 51 630", "50 90 51 -90"] {
        let text = format!(" 0 ARC 10 0 20 0 40 10 {angles}") + &line(0.0, -10.0, 0.0, 10.0);
        let drawing = check(&entities(&text), &[(157.08, 0)]);
        assert!(drawing.regions[0].region.bounds().max.x < 0.01, "{angles}");
    }
    check(&entities(" 0 ARC 10 0 20 0 40 10 50 0 51 360"), &[(314.159, 0)]);
    check(&entities(" 0 ARC 10 5 20 5 40 1 50 30 51 30 0 CIRCLE 10 0 20 0 40 10"), &[(314.159, 0)]);
}

#[test]
fn a_circle_stays_round() {
    let drawing = read(&entities(&circle(5.0, 5.0, 10.0)));
    assert_eq!(edges(&drawing).len(), 2);
    assert!(worst(&drawing, |p| p.distance(Point::new(5.0, 5.0)) - 10.0) < 1e-9);
}

#[test]
fn bulges_bend_to_the_right_side_and_may_exceed_a_half_circle() {
    let drawing = check(&entities(HALF_MOON), &[(157.08, 0)]);
    assert!(drawing.regions[0].region.bounds().min.y < -9.99);
    // Three quarters of a circle: bulge tan(270° / 4).
    check(
        &entities(" 0 LWPOLYLINE 70 1 10 10 20 0 42 2.414213562373095 10 0 20 -10"),
        &[(0.75 * 314.159 + 50.0, 0)],
    );
    check(
        &entities(" 0 LWPOLYLINE 70 1 10 0 20 0 42 1 10 20 20 0 42 1 10 20 20 0 42 1"),
        &[(314.159, 0)],
    );
}

#[test]
fn vertices_of_a_spline_frame_are_skipped() {
    let vertex = |x: f64, y: f64, flags: u32| format!(" 0 VERTEX 10 {x} 20 {y} 70 {flags}");
    let text = " 0 POLYLINE 66 1 70 5".to_owned()
        + &vertex(0.0, 0.0, 8)
        + &vertex(500.0, 500.0, 16)
        + &vertex(10.0, 0.0, 8)
        + &vertex(10.0, 10.0, 8)
        + &vertex(0.0, 10.0, 8)
        + " 0 SEQEND";
    check(&entities(&text), &[(100.0, 0)]);
}

#[test]
fn old_polylines_carry_bulges_on_their_vertices() {
    let text = " 0 POLYLINE 66 1 70 1 0 VERTEX 10 0 20 0 42 1 0 VERTEX 10 20 20 0 0 SEQEND";
    check(&entities(text), &[(157.08, 0)]);
}

#[test]
fn a_closed_polyline_may_repeat_its_vertices() {
    let text =
        " 0 LWPOLYLINE 70 1 10 0 20 0 10 0 20 0 10 9 20 0 10 9 20 9 10 9 20 9 10 0 20 9 10 0 20 0";
    check(&entities(text), &[(81.0, 0)]);
}

#[test]
fn codes_may_come_in_any_order() {
    let text =
        " 0 LINE 10 0 11 10 20 0 21 0 0 LINE 10 10 11 5 20 0 21 8 0 LINE 21 0 11 0 20 8 10 5";
    check(&entities(text), &[(40.0, 0)]);
}

#[test]
fn a_mirrored_plane_negates_x() {
    for flat in ["210 0 220 0 230 -1", "210 1e-17 220 -0 230 -1.0"] {
        let text =
            format!(" 0 CIRCLE 10 -50 20 20 40 5 {flat}") + &rectangle(0.0, 0.0, 100.0, 40.0);
        check(&entities(&text), &[(4000.0 - 78.54, 1)]);
        let arc =
            format!(" 0 ARC 10 0 20 0 40 10 50 -90 51 90 {flat}") + &line(0.0, -10.0, 0.0, 10.0);
        let drawing = check(&entities(&arc), &[(157.08, 0)]);
        assert!(drawing.regions[0].region.bounds().max.x < 0.01);
    }
    let drawing = read(&entities(&(HALF_MOON.to_owned() + " 230 -1")));
    let bounds = drawing.regions[0].region.bounds();
    assert!(bounds.min.x < -19.99 && bounds.min.y < -9.99 && bounds.max.y < 0.01);
}

#[test]
fn what_is_tilted_out_of_the_plane_is_left_out_and_told() {
    let text = rectangle(0.0, 0.0, 9.0, 9.0) + " 0 CIRCLE 10 4 20 4 40 1 210 1 220 0 230 0";
    told(&check(&entities(&text), &[(81.0, 0)]), "tilted");
}

#[test]
fn heights_that_differ_are_told() {
    let text = rectangle(0.0, 0.0, 9.0, 9.0) + " 0 CIRCLE 10 4 20 4 30 5 40 1";
    assert!(told(&read(&entities(&text)), "heights").must_settle);
    let noise = rectangle(0.0, 0.0, 9.0, 9.0) + " 0 CIRCLE 10 4 20 4 30 1e-5 40 1";
    assert!(read(&entities(&noise)).problems.iter().all(|p| !p.must_settle));
}

/// A plate with a hole, in block `PLATE` with base point (1, 1), inserted by these pairs.
fn inserted(inserts: &str) -> String {
    let plate = "0 BLOCK 2 PLATE 10 1 20 1".to_owned()
        + &rectangle(1.0, 1.0, 20.0, 10.0)
        + &circle(6.0, 6.0, 2.0)
        + " 0 ENDBLK 0 BLOCK 2 Outer 10 0 20 0 0 INSERT 2 plate 10 5 20 0 41 0.5 42 0.5 50 30 0 ENDBLK";
    file(&[("BLOCKS", &plate), ("ENTITIES", inserts)])
}

const PLATE: f64 = 200.0 - 12.566;

#[test]
fn blocks_are_put_in_scaled_turned_and_mirrored() {
    let drawing = check(&inserted("0 INSERT 2 Plate 10 100 20 50"), &[(PLATE, 1)]);
    assert_eq!(drawing.regions[0].region.bounds().min, Point::new(100.0, 50.0));
    check(&inserted("0 INSERT 2 PLATE 10 0 20 0 41 -1 50 37"), &[(PLATE, 1)]);
    check(&inserted("0 INSERT 2 PLATE 10 0 20 0 41 3 42 3"), &[(9.0 * PLATE + 0.003, 1)]);
    check(&inserted("0 INSERT 2 OUTER 10 0 20 0 41 2 42 2 50 15"), &[(PLATE, 1)]);
    let drawing = check(&inserted("0 INSERT 2 PLATE 10 5 20 0 230 -1"), &[(PLATE, 1)]);
    assert_eq!(drawing.regions[0].region.bounds().max, Point::new(-5.0, 10.0));
}

#[test]
fn uneven_scale_makes_ellipses_of_circles() {
    let drawing = read(&inserted("0 INSERT 2 PLATE 10 0 20 0 41 3 42 1"));
    assert!((drawing.regions[0].region.area() - 3.0 * PLATE).abs() < 0.05);
    let hole = &drawing.regions[0].region.holes()[0];
    assert!(hole.vertices().len() <= 32);
    for edge in hole.edges() {
        for i in 0..=10 {
            let p = edge.at(f64::from(i) / 10.0);
            let (x, y) = ((p.x - 15.0) / 6.0, (p.y - 5.0) / 2.0);
            // The distance to the ellipse, from the implicit equation and its slope.
            let slope = 2.0 * (x / 6.0).hypot(y / 2.0);
            assert!((x * x + y * y - 1.0).abs() / slope < 0.005);
        }
    }
}

#[test]
fn arrays_of_blocks_turn_with_their_insert() {
    let text = inserted("0 INSERT 2 PLATE 10 0 20 0 50 90 70 3 71 2 44 30 45 40");
    let drawing = check(&text, &[(PLATE, 1); 6]);
    let corner = drawing.regions[0].region.bounds().min;
    assert!(corner.distance(Point::new(-50.0, 0.0)) < 1e-9, "{corner:?}");
}

#[test]
fn a_block_that_is_missing_is_told() {
    let drawing = read(&inserted("0 INSERT 2 PLATE 10 0 20 0 0 INSERT 2 other 10 0 20 0"));
    assert!(told(&drawing, "not in the file").must_settle);
}

#[test]
fn a_circle_drawn_as_a_rational_spline_is_round() {
    let h = std::f64::consts::FRAC_1_SQRT_2;
    let mut text = " 0 SPLINE 70 11 71 2".to_owned();
    for knot in [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4] {
        text += &format!(" 40 {knot}");
    }
    let corners =
        [(10, 0), (10, 10), (0, 10), (-10, 10), (-10, 0), (-10, -10), (0, -10), (10, -10), (10, 0)];
    for (i, (x, y)) in corners.into_iter().enumerate() {
        text += &format!(" 10 {x} 20 {y} 41 {}", if i % 2 == 1 { h } else { 1.0 });
    }
    let drawing = read(&entities(&text));
    assert!(worst(&drawing, |p| p.distance(Point::origin()) - 10.0) < 0.005);
    assert!(edges(&drawing).len() <= 8, "{}", edges(&drawing).len());
}

#[test]
fn a_spline_through_points_passes_them_smoothly() {
    let on_circle = |i: u32| {
        let (y, x) = (f64::from(i) * std::f64::consts::TAU / 24.0).sin_cos();
        format!(" 11 {} 21 {}", 50.0 * x, 50.0 * y)
    };
    let points: String = (0..=24).map(|i| on_circle(i % 24)).collect();
    let drawing = read(&entities(&(" 0 SPLINE 70 8 71 3".to_owned() + &points)));
    assert!(worst(&drawing, |p| p.distance(Point::origin()) - 50.0) < 0.02);
    assert!(edges(&drawing).len() <= 96, "{}", edges(&drawing).len());
}

#[test]
fn a_closed_spline_with_free_ends_may_leave_the_wrap_to_the_reader() {
    let corners = [(0, 0), (30, 0), (30, 30), (0, 30)];
    let mut text = " 0 SPLINE 70 3 71 3".to_owned();
    for knot in 0..8 {
        text += &format!(" 40 {knot}");
    }
    for (x, y) in corners {
        text += &format!(" 10 {x} 20 {y}");
    }
    let drawing = read(&entities(&text));
    assert_eq!(drawing.regions.len(), 1);
    let centre = drawing.regions[0].region.centroid();
    assert!(centre.distance(Point::new(15.0, 15.0)) < 0.01);
}

#[test]
fn ellipses_become_few_arcs_that_stay_close() {
    let text = " 0 ELLIPSE 10 0 20 0 11 60 21 0 40 0.25 41 0 42 6.283185307179586";
    let drawing = read(&entities(text));
    let area = drawing.regions[0].region.area();
    assert!((area / (std::f64::consts::PI * 60.0 * 15.0) - 1.0).abs() < 1e-4, "{area}");
    let off = |p: Point<PartSpace>| {
        let (x, y) = (p.x / 60.0, p.y / 15.0);
        (x * x + y * y - 1.0) / (2.0 * (x / 60.0).hypot(y / 15.0))
    };
    assert!(worst(&drawing, off) < 0.005);
    assert!(edges(&drawing).len() <= 64, "{}", edges(&drawing).len());
}

#[test]
fn half_an_ellipse_seen_from_below_bulges_the_other_way() {
    for (normal, above) in [("230 1", true), ("230 -1", false)] {
        let text =
            format!(" 0 ELLIPSE 10 0 20 0 11 20 21 0 40 0.5 41 0 42 3.141592653589793 {normal}")
                + &line(-20.0, 0.0, 20.0, 0.0);
        let bounds = read(&entities(&text)).regions[0].region.bounds();
        assert_eq!(bounds.max.y > 9.9, above);
        assert_eq!(bounds.min.y < -9.9, !above);
    }
}

#[test]
fn what_is_hidden_or_not_geometry_is_left_out_with_its_layer() {
    let tables =
        "0 TABLE 2 LAYER 70 2 0 LAYER 2 Slots 70 1 62 7 0 LAYER 2 Off 70 64 62 -3 0 ENDTAB";
    let text = rectangle(0.0, 0.0, 90.0, 50.0)
        + " 0 CIRCLE 8 slots 10 10 20 10 40 3 0 CIRCLE 8 OFF 10 20 20 10 40 3"
        + " 0 CIRCLE 8 DefPoints 10 30 20 10 40 3 0 CIRCLE 8 a 60 1 10 40 20 10 40 3"
        + " 0 CIRCLE 8 a 67 1 10 50 20 10 40 3 0 TEXT 8 notes 10 5 20 6 1 M6"
        + " 0 DIMENSION 8 dims 10 1 20 2 0 HATCH 8 fill 10 1 20 2 0 POINT 8 p 10 1 20 2";
    let drawing = check(&file(&[("TABLES", tables), ("ENTITIES", &text)]), &[(4500.0, 0)]);
    assert_eq!(told(&drawing, "frozen").layer.as_deref(), Some("Slots"));
    assert_eq!(told(&drawing, "switched off").layer.as_deref(), Some("Off"));
    told(&drawing, "DefPoints");
    told(&drawing, "invisible");
    told(&drawing, "paper space");
    assert_eq!(told(&drawing, "1 text").at, Some(Point::new(5.0, 6.0)));
    for words in ["1 dimension", "1 hatch or fill", "1 point"] {
        told(&drawing, words);
    }
}

#[test]
fn entities_of_a_block_on_layer_0_hide_with_their_insert() {
    let tables = "0 TABLE 2 LAYER 70 1 0 LAYER 2 helper 70 1 62 7 0 ENDTAB";
    let blocks = "0 BLOCK 2 B 10 0 20 0".to_owned() + &circle(20.0, 20.0, 5.0) + " 0 ENDBLK";
    let text = rectangle(0.0, 0.0, 90.0, 50.0) + " 0 INSERT 8 helper 2 B 10 0 20 0";
    let sections = [("TABLES", tables), ("BLOCKS", &blocks), ("ENTITIES", &text)];
    check(&file(&sections), &[(4500.0, 0)]);
}

#[test]
fn line_ends_comments_and_marks_at_the_ends_of_a_file_do_not_matter() {
    let text = entities(&rectangle(0.0, 0.0, 20.0, 10.0));
    for text in [
        text.replace('\n', "\r\n"),
        text.replace('\n', "\r"),
        format!("\u{feff}{text}"),
        format!("999\nmade by hand\n{text}\n\n\u{1a}\n"),
        text.replace("0\nLINE", "  0  \nLINE \n999\nLINE"),
        text.replace("0\nEOF\n", ""),
    ] {
        check(&text, &[(200.0, 0)]);
    }
}

#[test]
fn a_binary_file_reads_as_its_text() {
    for wide in [false, true] {
        let mut bytes = b"AutoCAD Binary DXF\r\n\x1a\0".to_vec();
        let text = entities(&(rectangle(0.0, 0.0, 20.0, 10.0) + &circle(5.0, 5.0, 2.0)));
        let lines: Vec<_> = text.lines().collect();
        for pair in lines.chunks(2) {
            let code: i16 = pair[0].parse().unwrap();
            if wide {
                bytes.extend(code.to_le_bytes());
            } else {
                bytes.push(u8::try_from(code).unwrap());
            }
            match code {
                10..=59 => bytes.extend(pair[1].parse::<f64>().unwrap().to_le_bytes()),
                _ => bytes.extend(pair[1].bytes().chain([0])),
            }
        }
        let drawing = read_drawing("b.dxf", &bytes, &ReadOptions::default()).unwrap();
        assert!((drawing.regions[0].region.area() - 200.0 + 12.566).abs() < 0.01);
        bytes.truncate(bytes.len() - 40);
        assert!(refused(&bytes).contains("byte"), "{}", refused(&bytes));
    }
}

#[test]
fn escaped_letters_in_names_of_layers_are_read() {
    let text = rectangle(0.0, 0.0, 9.0, 9.0) + " 0 TEXT 8 \\U+30EC\\U+00e4x 10 0 20 0";
    assert_eq!(told(&read(&entities(&text)), "1 text").layer.as_deref(), Some("レäx"));
}
