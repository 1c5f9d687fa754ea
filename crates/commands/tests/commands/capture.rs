//! Sheets captured from a command line.

use crate::common::{Bench, oddment};
use oddment_commands::Outcome;

#[test]
fn an_l_with_holes_is_drawn_and_read_back_as_the_same_metal() {
    let bench = Bench::new("capture-l");
    let out = bench.path("l.dxf");
    let ran = oddment(&[
        "capture",
        "1200x800",
        "--missing",
        "upper right 400x300",
        "--missing",
        "bottom 100x30 at 250",
        "--cutout",
        "circle 20 at 100,100 row 5 step 40,0",
        "--cutout",
        "rectangle 60x40 at 700,200",
        "--out",
        &out,
        "--json",
    ]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let expected = 1200.0 * 800.0
        - 400.0 * 300.0
        - 100.0 * 30.0
        - 5.0 * std::f64::consts::PI * 100.0
        - 60.0 * 40.0;
    let said = ran.json();
    assert!((said["metal_mm2"].as_f64().unwrap() - expected).abs() < 1e-6, "{said}");
    assert_eq!((said["width_mm"].as_f64(), said["file"].as_str()), (Some(1200.0), Some(&*out)));
    let read = oddment(&["read", &out, "--json"]).json();
    assert!((read["regions"][0]["area_mm2"].as_f64().unwrap() - expected).abs() < 0.01, "{read}");
    assert_eq!(read["regions"][0]["holes"], 6);
}

#[test]
fn points_make_the_sheet_and_go_before_the_tape() {
    let bench = Bench::new("capture-points");
    let shop = bench.path("shop.oddment");
    assert_eq!(oddment(&["rack", "new", &shop]).outcome, Some(Outcome::Yes));
    // A sheet of 1000 × 500 as it lies on the bed, shifted.
    let points = bench.write(
        "points.txt",
        "edge\n150,50\n950,50\n\n1050,100\n1050,500\n\n950,550\n150,550\n\n50,500\n50,100\n\
         circle\n270,150\n250,170\n230,150\n",
    );
    let ran = oddment(&[
        "capture",
        "1001.5x499",
        "--cutout",
        "circle 42 at 201,99",
        "--cutout",
        "circle 10 at 800,400",
        "--points",
        &points,
        "--add",
        "--material",
        "S235",
        "--thickness",
        "3",
        "--shop",
        &shop,
        "--json",
    ]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let label = ran.json()["label"].as_str().unwrap().to_owned();
    let shown = oddment(&["rack", "show", &label, "--shop", &shop, "--json"]).json();
    let expected = 1000.0 * 500.0 - std::f64::consts::PI * (400.0 + 25.0);
    assert!((shown["metal_mm2"].as_f64().unwrap() - expected).abs() < 1e-3, "{shown}");
    let piece = &shown["outline"]["pieces"][0];
    assert_eq!(piece["outer"]["e"][0][2], "measured", "{piece}");
    let sources: Vec<&str> = piece["cutouts"]
        .as_array()
        .unwrap()
        .iter()
        .map(|c| c["e"][0][2].as_str().unwrap())
        .collect();
    assert_eq!(sources, ["measured", "taped"]);
}

#[test]
fn what_cannot_be_is_refused_and_nothing_written() {
    let bench = Bench::new("capture-refused");
    let out = bench.path("no.dxf");
    let check = |args: &[&str], says: &str| {
        let mut line = vec!["capture"];
        line.extend(args);
        line.extend(["--out", &out]);
        let ran = oddment(&line);
        assert_eq!(ran.outcome, Some(Outcome::Refused), "{ran:?}");
        assert!(ran.err.contains(says), "{}", ran.err);
        assert!(!std::path::Path::new(&out).exists());
    };
    check(&[], "required");
    check(&["300x400", "--diagonals", "800x500"], "do not meet");
    check(&["100x50", "--cutout", "circle 9 at 300,300"], "takes nothing");
    check(&["100x50", "--missing", "top 100x30"], "how far along");
    check(&["100x50", "--missing", "top 20x60 at 30"], "crosses or touches");
    check(&["100x50", "--clean", "200x10"], "does not go into");
    let odd = bench.write("odd.txt", "edge\n0,0\nnonsense\n9,0\n");
    check(&["--points", &odd], "row 3");
    let flat = bench.write("flat.txt", "edge\n0,0\n9,0\n\n0,9\n9,9\n");
    check(&["--points", &flat], "alongside");
}

/// A sheet of 1000 × 700 with 43 holes, photographed at a slant: the photograph says all of it, and two
/// edges and a hole measured with the pointer go before.
#[test]
fn a_photograph_says_the_rough_and_points_what_matters() {
    use oddment_photo::rendered::{Scene, Shot, drilled, render};
    let bench = Bench::new("capture-photo");
    let metal = drilled().unwrap();
    let area = metal.area();
    let scene = Scene::plain(metal);
    let (tilt, from, lens, blur, noise, seed) = (0.4, -1.2, 0.0, 0.7, 2.0, 3);
    let shot = Shot { size: [1400, 1050], tilt, from, lens, blur, noise, seed };
    let rendered = render(&scene, &shot);
    let photo = bench.path("sheet.png");
    rendered.picture.save(&photo).unwrap();
    let corners = rendered.placed([1000.0, 700.0], 2.0).map(|q| format!("{:.1},{:.1}", q.x, q.y));
    let corners = corners.join(" ");
    // Two straight edges cannot close by themselves: all four, as they lie on the bed.
    let points = bench.write(
        "points.txt",
        "edge\n150,50\n950,50\n\n1050,100\n1050,700\n\n950,750\n150,750\n\n50,700\n50,100\n\
         circle\n240,210\n200,250\n160,210\n",
    );
    let (out, seen) = (bench.path("sheet.dxf"), bench.path("seen.png"));
    let by_photo =
        ["capture", "--photo", &photo, "--corners", &corners, "--rectangle", "1000x700", "--json"];
    let with = |more: &[&str]| {
        let ran = oddment(&[&by_photo, more].concat());
        assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
        ran.json()
    };
    let said = with(&["--out", &out, "--overlay", &seen]);
    assert!((said["metal_mm2"].as_f64().unwrap() / area - 1.0).abs() < 3e-3, "{said}");
    assert_eq!(said["photo"]["found"].as_array().unwrap().len(), 43, "{said}");
    assert!(std::path::Path::new(&out).exists() && std::path::Path::new(&seen).exists());
    let sources = |said: &serde_json::Value| -> (Vec<String>, usize) {
        let piece = &said["outline"]["pieces"][0];
        let source = |e: &serde_json::Value| e[2].as_str().unwrap().to_owned();
        let outer = piece["outer"]["e"].as_array().unwrap().iter().map(source).collect();
        let cutouts = piece["cutouts"].as_array().unwrap();
        let measured = cutouts.iter().filter(|c| source(&c["e"][0]) == "measured");
        (outer, measured.count())
    };
    assert_eq!(sources(&said), (vec!["photo".to_owned(); 4], 0));
    let merged = with(&["--points", &points, "--without", "2,5"]);
    assert_eq!(sources(&merged), (vec!["measured".to_owned(); 4], 1));
    assert_eq!(merged["outline"]["pieces"][0]["cutouts"].as_array().unwrap().len(), 41);

    let unseen = format!("{corners} 5,5");
    oddment(&[&by_photo[..], &["--without", "99"]].concat()).refused("there is no cut-out 99");
    oddment(&[&by_photo[..], &["--unseen", "1,1 2,2"]].concat()).refused("no places");
    assert!(!with(&["--unseen", &unseen])["outline"]["no_go"].as_array().unwrap().is_empty());
    let broken = bench.write("broken.jpg", [0xff, 0xd8, 0xff, 0xe0, 0, 16, 74, 70]);
    let wrong = |photo: &str, corners: &str, says: &str| {
        oddment(&["capture", "--photo", photo, "--corners", corners]).refused(says);
    };
    wrong(&broken, &corners, "can't be read");
    wrong(&points, &corners, "no JPEG or PNG");
    wrong(&photo, "1,1 2,2 3,3", "four corners");
    wrong(&photo, "1,1 900,1 900,900 1,900", "lower left, lower right");
    wrong(&photo, &corners, "squares are not found");
}

#[test]
fn the_target_is_printed() {
    let bench = Bench::new("capture-target");
    for name in ["target.pdf", "target.svg"] {
        let out = bench.path(name);
        let ran = oddment(&["capture", "--print-target", "a3", "--out", &out]);
        assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
        assert!(ran.err.contains("380 × 260 mm"), "{}", ran.err);
        assert!(std::fs::metadata(&out).unwrap().len() > 1000);
    }
    oddment(&["capture", "--print-target", "a4", "--out", &bench.path("a.txt")])
        .refused("name it .pdf");
}
