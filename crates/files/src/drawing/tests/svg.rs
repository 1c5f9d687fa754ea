//! SVG shapes, styles and units.

use oddment_core::units::LengthUnit;

use super::*;

/// A page of 200 × 100 mm with this on it, in millimetres.
fn page(content: &str) -> String {
    format!(
        r#"<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
        width="200mm" height="100mm" viewBox="0 0 200 100">{content}</svg>"#
    )
}

#[test]
fn shapes_are_taken_in_mm_with_y_up() {
    let drawing = check(&page(r#"<rect x="10" y="20" width="40" height="30"/>"#), &[(1200.0, 0)]);
    assert_eq!(drawing.regions[0].region.bounds().min, Point::new(10.0, 50.0));
    assert_eq!((drawing.units.name.as_str(), drawing.units.assumed), ("mm", false));
    check(&page(r#"<rect width="40" height="30" rx="5"/>"#), &[(1200.0 - 21.46, 0)]);
    check(&page(r#"<circle cx="50" cy="50" r="10"/>"#), &[(314.159, 0)]);
    check(&page(r#"<polygon points="0,0 10,0 10,10"/>"#), &[(50.0, 0)]);
    check(&page(r#"<polyline points="0,0 10,0 10,10"/>"#), &[(50.0, 0)]);
    let ellipse = read(&page(r#"<ellipse cx="50" cy="50" rx="40" ry="10"/>"#));
    assert!((ellipse.regions[0].region.area() - 1256.637).abs() < 0.5);
}

#[test]
fn arcs_in_paths_stay_arcs() {
    let drawing = check(&page(r#"<path d="M10 50 a40 40 0 0 1 80 0 z"/>"#), &[(2513.27, 0)]);
    assert_eq!(edges(&drawing).len(), 2);
    assert!(drawing.regions[0].region.bounds().max.y > 89.99);
    check(&page(r#"<path d="M50 10 A40 40 0 1 1 49.999 10 z"/>"#), &[(5026.548, 0)]);
    check(&page(r#"<path d="M10 10 h20 v5 H10 Z M12 11 h2 v2 h-2 z"/>"#), &[(96.0, 1)]);
}

#[test]
fn curves_become_few_arcs() {
    let k = 0.552_284_75 * 10.0;
    let text = format!(
        r#"<path d="M60 50 c0 {k} {a} 10 -10 10 S40 {b} 40 50 {c} 40 50 40 S60 {d} 60 50z"/>"#,
        a = k - 10.0,
        b = 50.0 + k,
        c = format_args!("S{} ", 50.0 - k),
        d = 50.0 - k,
    );
    let drawing = read(&page(&text));
    assert!(worst(&drawing, |p| p.distance(Point::new(50.0, 50.0)) - 10.0) < 0.008);
    assert!(edges(&drawing).len() <= 16, "{}", edges(&drawing).len());
    let parabola = read(&page(r#"<path d="M0 0 q20 40 40 0 t40 0 v-50 h-80z"/>"#));
    assert!((parabola.regions[0].region.area() - 4000.0).abs() < 0.5);
}

#[test]
fn groups_transforms_and_references_are_followed() {
    let text = r##"<defs><rect id="r" width="10" height="10"/></defs>
        <g transform="translate(50 50) rotate(30)"><g transform="scale(2,-1)"><use href="#r"/></g></g>
        <use xlink:href="#r" x="100" y="20"/>"##;
    check(&page(text), &[(200.0, 0), (100.0, 0)]);
}

#[test]
fn hidden_shapes_and_texts_are_left_out() {
    let text = r#"<style>.no { display: none } g > circle { visibility: hidden }</style>
        <rect width="50" height="50"/><rect class="no" x="5" y="5" width="5" height="5"/>
        <g id="helpers"><circle cx="20" cy="20" r="5"/></g><text x="3" y="3">M6</text>
        <rect style="fill:none;stroke:none" x="15" y="5" width="5" height="5"/>
        <rect style="display:none" x="15" y="5" width="5" height="5"/>"#;
    let drawing = check(&page(text), &[(2500.0, 0)]);
    told(&drawing, "hidden shapes");
    told(&drawing, "1 text");
}

#[test]
fn strokes_stay_open_where_fills_close() {
    let text = r#"<rect width="50" height="50"/>
        <path style="stroke:black;fill:none" d="M5 5 h10 v10"/><path d="M30 5 h10 v10"/>"#;
    let drawing = check(&page(text), &[(2450.0, 1)]);
    assert_eq!(drawing.regions[0].marks.len(), 1);
}

#[test]
fn pixels_are_asked_about_and_given_units_mean_units_of_the_drawing() {
    let text = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300" height="300" viewBox="0 0 150 150">
        <rect width="96" height="96"/></svg>"#;
    let drawing = read(text);
    assert!((drawing.regions[0].region.bounds().width() - 50.8).abs() < 1e-6);
    assert!(drawing.units.assumed && told(&drawing, "pixels").must_settle);
    let options = ReadOptions { units: Some(LengthUnit::Mm), ..ReadOptions::default() };
    let drawing = read_drawing("p.svg", text.as_bytes(), &options).unwrap();
    assert!((drawing.regions[0].region.bounds().width() - 96.0).abs() < 1e-9);
}

#[test]
fn damage_is_refused_with_its_line() {
    assert!(refused(page("<path d=\"M0 0 L10 ten\"/>").as_bytes()).contains("line 2"));
    assert!(refused(page("<g>").as_bytes()).contains("XML"));
    assert!(refused(b"<svg>\xff</svg>").contains("byte 5"));
    refused(page(r#"<circle r="1e300"/>"#).as_bytes());
    refused(page(r#"<rect width="5%" height="5"/>"#).as_bytes());
}

#[test]
fn references_that_go_round_or_multiply_end() {
    let round = r##"<g id="a"><use href="#a"/></g>"##;
    assert!(refused(page(round).as_bytes()).contains("deep"));
    let mut bomb = r#"<defs><g id="g0"><circle r="1"/></g>"#.to_owned();
    for i in 1..30 {
        let last = i - 1;
        bomb += &format!(r##"<g id="g{i}"><use href="#g{last}"/><use href="#g{last}"/></g>"##);
    }
    assert!(
        refused(page(&(bomb + r##"</defs><use href="#g29"/>"##)).as_bytes()).contains("more than")
    );
    let deep = "<g>".repeat(300_000);
    assert!(refused(page(&deep).as_bytes()).contains("deep"));
}
