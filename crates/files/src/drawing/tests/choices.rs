//! What a person decides about a drawing.

use std::collections::BTreeMap;

use super::*;
use crate::drawing::LayerUse;

/// The same lines on a layer.
fn on(layer: &str, lines: &str) -> String {
    lines.replace("0 LINE", &format!("0 LINE 8 {layer}"))
}

fn read_so(text: &str, options: &ReadOptions) -> Drawing {
    read_drawing("plate.dxf", text.as_bytes(), options).unwrap()
}

#[test]
fn layers_are_cut_marked_or_left_out_as_a_person_says() {
    let text = entities(
        &[
            on("A", &rectangle(0.0, 0.0, 100.0, 60.0)),
            on("B", &rectangle(10.0, 10.0, 20.0, 20.0)),
            on("C", &rectangle(50.0, 10.0, 20.0, 20.0)),
        ]
        .concat(),
    );
    let all = read_so(&text, &ReadOptions::default());
    assert_eq!(all.regions[0].region.holes().len(), 2);
    let names: Vec<_> = all.layers.iter().map(|l| (l.name.as_str(), l.used)).collect();
    assert_eq!(names, [("A", LayerUse::Cut), ("B", LayerUse::Cut), ("C", LayerUse::Cut)]);
    let layers =
        BTreeMap::from([("B".to_owned(), LayerUse::Mark), ("C".to_owned(), LayerUse::LeaveOut)]);
    let chosen = read_so(&text, &ReadOptions { layers, ..ReadOptions::default() });
    assert_eq!(chosen.regions[0].region.holes().len(), 0);
    assert!(!chosen.regions[0].marks.is_empty());
    assert!(told(&chosen, "layer “C”").done.contains("as you said"));
    assert_eq!(chosen.layers[1].used, LayerUse::Mark);
    // What a person says is not taken back because it leaves nothing.
    let layers = BTreeMap::from([
        ("A".to_owned(), LayerUse::LeaveOut),
        ("B".to_owned(), LayerUse::LeaveOut),
        ("C".to_owned(), LayerUse::LeaveOut),
    ]);
    let options = ReadOptions { layers, ..ReadOptions::default() };
    assert!(read_drawing("plate.dxf", text.as_bytes(), &options).is_err());
}

#[test]
fn round_holes_too_small_become_centre_marks() {
    let text = entities(
        &[
            rectangle(0.0, 0.0, 100.0, 60.0),
            circle(20.0, 20.0, 1.0),
            circle(40.0, 20.0, 1.4),
            circle(60.0, 20.0, 1.6),
            rectangle(80.0, 10.0, 1.0, 1.0),
        ]
        .concat(),
    );
    let as_drawn = read_so(&text, &ReadOptions::default());
    assert_eq!((as_drawn.regions[0].region.holes().len(), as_drawn.small_holes(3.0)), (4, 2));
    let options = ReadOptions { centre_marks_under: 3.0, ..ReadOptions::default() };
    let drawing = read_so(&text, &options);
    assert_eq!(drawing.regions[0].region.holes().len(), 2);
    assert_eq!(drawing.regions[0].marks.len(), 4);
    let at = told(&drawing, "2 round holes").at.unwrap();
    assert!(at.y == 20.0 && (at.x == 20.0 || at.x == 40.0));
}
