//! Files that are no drawing, damaged, or made to do harm: each ends in a sentence.

use super::*;

#[test]
fn other_kinds_of_files_are_refused_by_name() {
    assert!(refused(b"ISO-10303-21;\nHEADER;").contains("STEP"));
    assert!(refused(b"AC1032\0\0\0\0").contains("DWG"));
    assert!(refused(b"\x89PNG\r\n").contains("picture"));
    assert!(refused(b"%PDF-1.7").contains("PDF"));
    assert!(refused(b"solid cube\nfacet normal 0 0 1").contains("3D"));
    for garbage in [&b""[..], b"\0\0\0", b"hello", b"<html></html>", b"0"] {
        assert!(!refused(garbage).is_empty());
    }
}

#[test]
fn solids_alone_are_named() {
    let message = refused(entities(" 0 3DSOLID 8 body 1 xyz 0 REGION 8 body").as_bytes());
    assert!(message.contains("2 3D solids"), "{message}");
    let message = refused(entities(" 0 LINE 67 1 10 0 20 0 11 5 21 5").as_bytes());
    assert!(message.contains("paper space"), "{message}");
}

#[test]
fn an_outline_that_stays_open_is_refused_with_the_place_of_the_gap() {
    let text =
        line(0.0, 0.0, 20.0, 0.0) + &line(20.0, 0.5, 20.0, 10.0) + &line(20.0, 10.0, 0.0, 0.0);
    let message = refused(entities(&text).as_bytes());
    assert!(message.contains("0.5 mm wide at (20, 0.25)"), "{message}");
}

#[test]
fn a_file_that_ends_early_is_refused_wherever_it_ends() {
    let blocks = "0 BLOCK 2 B 10 0 20 0".to_owned() + &circle(0.0, 0.0, 5.0) + " 0 ENDBLK";
    let text = rectangle(0.0, 0.0, 20.0, 10.0) + " 0 INSERT 2 B 10 5 20 5";
    let header = "9 $INSUNITS 70 4";
    let whole = file(&[("HEADER", header), ("BLOCKS", &blocks), ("ENTITIES", &text)]);
    let ends = whole.rfind("0\nENDSEC").unwrap();
    for length in 0..ends {
        let result = read_drawing("p.dxf", &whole.as_bytes()[..length], &ReadOptions::default());
        assert!(result.is_err(), "cut off after {length} bytes it was still read");
    }
}

#[test]
fn damage_is_refused_with_its_line() {
    let text = entities(&rectangle(0.0, 0.0, 20.0, 10.0));
    let conflict = text.replacen("0\nLINE", "<<<<<<< HEAD\n0\nLINE", 1);
    assert!(
        refused(conflict.as_bytes()).starts_with("line 15: "),
        "{}",
        refused(conflict.as_bytes())
    );
    for number in ["NaN", "inf", "1e400", "-1e99", "2;5", "1,2,3", ""] {
        let bad = text.replacen("\n20\n0\n", &format!("\n20\n{number}\n"), 1);
        assert!(refused(bad.as_bytes()).contains("line "), "{number}");
    }
    let spline = " 0 SPLINE 71 3 40 0 40 0 40 0 40 0 40 -1 40 1 40 1 40 1 10 0 20 0 10 1 20 1 10 2 20 0 10 3 20 1";
    assert!(refused(entities(spline).as_bytes()).contains("knots"));
    refused(entities(" 0 SPLINE 71 999999999 10 0 20 0 10 1 20 1").as_bytes());
    refused(entities(" 0 SPLINE 71 2 41 0 41 0 41 0 10 0 20 0 10 1 20 1 10 2 20 2").as_bytes());
}

#[test]
fn a_decimal_comma_is_read_as_a_point_and_told() {
    let text = entities(&rectangle(0.0, 0.0, 20.5, 10.0)).replace("20.5", "20,5");
    told(&check(&text, &[(205.0, 0)]), "decimal comma");
}

#[test]
fn blocks_that_contain_themselves_or_multiply_end() {
    let selfish = "0 BLOCK 2 A 10 0 20 0 0 INSERT 2 A 10 0 20 0 0 ENDBLK";
    let text = file(&[("BLOCKS", selfish), ("ENTITIES", "0 INSERT 2 A 10 0 20 0")]);
    assert!(refused(text.as_bytes()).contains("deep"));
    for content in ["", " 0 LINE 10 0 20 0 11 1 21 1"] {
        let mut blocks = format!("0 BLOCK 2 B0 10 0 20 0{content} 0 ENDBLK");
        for i in 1..20 {
            blocks += &format!(
                " 0 BLOCK 2 B{i} 10 0 20 0 0 INSERT 2 B{} 70 1000 71 1000 44 1 45 1 0 ENDBLK",
                i - 1
            );
        }
        let text = file(&[("BLOCKS", &blocks), ("ENTITIES", "0 INSERT 2 B19")]);
        assert!(refused(text.as_bytes()).contains("more than"));
    }
}

#[test]
fn crowds_of_lines_at_one_spot_end() {
    let mut text = String::new();
    for i in 0..20_000 {
        let a = f64::from(i);
        text += &line(0.0, 0.0, a.cos(), a.sin());
    }
    refused(entities(&text).as_bytes());
    let rings: String = (1..3000).map(|i| circle(0.0, 0.0, f64::from(i) * 0.02)).collect();
    assert_eq!(read(&entities(&rings)).regions.len(), 1500);
}

/// Drawings to damage: one of each kind.
fn samples() -> Vec<Vec<u8>> {
    let blocks = "0 BLOCK 2 B 10 0 20 0".to_owned() + &circle(3.0, 3.0, 2.0) + " 0 ENDBLK";
    let text = rectangle(0.0, 0.0, 60.0, 40.0)
        + " 0 INSERT 2 B 10 5 20 5 41 2 70 3 44 9"
        + " 0 SPLINE 70 1 71 3 40 0 40 0 40 0 40 0 40 1 40 1 40 1 40 1"
        + " 10 20 20 20 10 40 20 20 10 20 20 40 10 20 20 20"
        + " 0 ELLIPSE 10 50 20 20 11 5 21 0 40 0.5 41 0 42 6.283185307179586"
        + " 0 LWPOLYLINE 70 1 10 40 20 5 42 0.5 10 45 20 5 42 -2 10 42 20 9 0 TEXT 10 1 20 1 1 x"
        + " 0 POLYLINE 70 1 0 VERTEX 10 2 20 30 42 1 0 VERTEX 10 8 20 30 0 SEQEND";
    let tables = "0 TABLE 2 LAYER 70 1 0 LAYER 2 0 70 0 62 7 6 DASHED 0 ENDTAB";
    let sections = [
        ("HEADER", "9 $INSUNITS 70 4"),
        ("TABLES", tables),
        ("BLOCKS", &blocks),
        ("ENTITIES", &text),
    ];
    let svg = r##"<svg xmlns="http://www.w3.org/2000/svg" width="90mm" viewBox="0 0 90 50"><style>.a{fill:none}</style>
        <g id="k" transform="rotate(20)"><rect width="50" height="20" rx="3"/><path class="a" d="M1 1q3 9 8 2t5 5a4 3 20 1 0 9 9z"/></g>
        <use href="#k" x="3"/><polygon points="1,1 9,2 3,8"/></svg>"##;
    vec![file(&sections).into_bytes(), svg.as_bytes().to_vec()]
}

#[test]
fn three_hundred_damaged_drawings_never_end_the_program() {
    let mut random = 0x2545_f491_4f6c_dd1d_u64;
    let mut next = |below: usize| {
        random ^= random << 13;
        random ^= random >> 7;
        random ^= random << 17;
        (random % below.max(1) as u64) as usize
    };
    for sample in samples() {
        for _ in 0..150 {
            let mut bytes = sample.clone();
            for _ in 0..=next(4) {
                let at = next(bytes.len());
                match next(5) {
                    0 => bytes[at] = b"0123456789.-eE,\n <>\"\0"[next(21)],
                    1 => bytes.truncate(at),
                    2 => drop(bytes.remove(at)),
                    3 => {
                        let from = next(bytes.len());
                        let copy: Vec<_> = bytes[from..].iter().take(next(60)).copied().collect();
                        bytes.splice(at..at, copy);
                    }
                    _ => bytes[at] ^= 1 << next(8),
                }
                if bytes.is_empty() {
                    break;
                }
            }
            match read_drawing("p", &bytes, &ReadOptions::default()) {
                Ok(drawing) => {
                    for found in &drawing.regions {
                        assert!(found.region.area().is_finite());
                    }
                }
                Err(fault) => assert!(!fault.to_string().is_empty()),
            }
        }
    }
}
