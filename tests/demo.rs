//! The main job on the sample shop, start to finish.

use std::fs;

use crate::program::{folder, json_in, oddment, text};

#[test]
fn the_demo_writes_four_files_and_its_plan_is_clear() {
    let out = folder("demo");
    oddment(&["demo", "--out", text(&out)]).ended(0);
    let starts = |file: &str, magic: &[u8]| {
        let bytes = fs::read(out.join(file)).unwrap();
        assert!(bytes.starts_with(magic), "{file} starts with {:?}", &bytes[..magic.len()]);
    };
    starts("picture.png", b"\x89PNG\r\n");
    starts("sheet.pdf", b"%PDF-");
    let plan = json_in(&out.join("plan.json"));
    assert_eq!(plan["format"], "oddment-plan");
    assert_eq!(plan["check"]["clear"], true);
    for wanted in plan["wanted"].as_array().unwrap() {
        assert_eq!(wanted["placed"], wanted["count"], "{}", wanted["part"]);
    }
    // What was written is read again: the plan is as clear as before, and the layout has a closed
    // contour for every part.
    let again = oddment(&["check", text(&out.join("plan.json")), "--json"]).ended(0).json();
    assert_eq!(again["clear"], true, "{again}");
    let layout = out.join("nest.dxf");
    let read = oddment(&["read", text(&layout), "--json"]).ended(0).json();
    assert!(!read["regions"].as_array().unwrap().is_empty());
}
