//! `oddment bars`, from start to finish and on lists that can't be meant.

use oddment_commands::Outcome;

use crate::common::{Bench, oddment};

#[test]
fn bars_are_cut_and_the_plan_proven() {
    let bench = Bench::new("bars_are_cut");
    let list = bench.write(
        "list.json",
        r#"{"kerf": 2, "grips": [40, 0],
            "stock": [{"length": 3000, "count": null}, {"length": 1546, "count": 1, "cost": 1}],
            "parts": [{"length": 984, "count": 3}, {"length": 500, "count": 3}]}"#,
    );
    let ran = oddment(&["bars", &list, "--seconds", "5", "--json"]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let plan = ran.json();
    // 984 three times and two cuts fill a long bar beside the grip and its cut; the remnant takes
    // the rest: 40 + 2, and 500 three times with two cuts between.
    let mut cuts: Vec<String> =
        plan["bars"].as_array().unwrap().iter().map(|b| b["cuts"].to_string()).collect();
    cuts.sort();
    assert_eq!(cuts, ["[500.0,500.0,500.0]", "[984.0,984.0,984.0]"]);
    assert_eq!(plan["cost"], 3001.0);
    assert_eq!(plan["lower_bound"], 3001.0);
    assert_eq!(plan["proven"], true);
    assert_eq!(plan["missing"].as_array().unwrap().len(), 0);
    assert!(plan["seconds"].as_f64().unwrap() >= 0.0);
    assert!(ran.err.contains("nothing costs less"), "{ran:?}");
}

#[test]
fn too_few_bars_is_a_no() {
    let bench = Bench::new("too_few_bars");
    let list = bench.write(
        "list.json",
        r#"{"stock": [{"length": 1000, "count": 1}], "parts": [{"length": 400, "count": 3}]}"#,
    );
    let ran = oddment(&["bars", &list, "--steps", "100", "--json"]);
    assert_eq!(ran.outcome, Some(Outcome::No), "{ran:?}");
    assert_eq!(ran.json()["missing"][0]["count"], 1);
    assert_eq!(ran.json()["bars"][0]["cuts"].as_array().unwrap().len(), 2);
}

#[test]
fn parts_may_come_from_a_table() {
    let bench = Bench::new("bars_table");
    let list = bench.write(
        "list.json",
        r#"{"profile": "Square tube 40 × 2", "grips": [50, 0], "colour": "red",
            "stock": [{"length": 2000, "name": "B-7", "heat": "4711"}]}"#,
    );
    let parts = bench.write("parts.csv", "part;length;qty\nrail;900;2\npin;20;1\n");
    let pdf = bench.path("sheet.pdf");
    let ran = oddment(&["bars", &list, "--parts", &parts, "--sheet", &pdf, "--json"]);
    assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF"));
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let bar = &ran.json()["bars"][0];
    assert_eq!(bar["heat"], "4711");
    assert_eq!(bar["pieces"][0]["name"], "rail");
    assert_eq!(bar["pieces"][0]["at"], 50.0);
    assert!(bar["warnings"][0].as_str().unwrap().contains("can’t be held"), "{bar}");
    assert!(ran.err.contains("colour means nothing here"), "{ran:?}");
    let bad = bench.write("bad.csv", "length\nlong\n");
    oddment(&["bars", &list, "--parts", &bad]).refused("bad.csv: line 2");
}

#[test]
fn lists_that_cannot_be_meant_are_refused() {
    let bench = Bench::new("bars_refused");
    let refused = |text: &str, says: &str| {
        oddment(&["bars", &bench.write("list.json", text), "--json"]).refused(says);
    };
    refused("", "the file is empty");
    refused("{", "not JSON");
    refused("{}", "“parts” is missing");
    refused(r#"{"stock": [], "parts": [{"length": 1}]}"#, "no bar to cut from");
    refused(r#"{"stock": [{"length": 100}], "parts": []}"#, "no parts are wanted");
    refused(
        r#"{"stock": [{"length": 100}], "parts": [{"length": 7}, {"length": 200}]}"#,
        "part line 2 is 200 mm long",
    );
    refused(r#"{"stock": [{"length": 0}], "parts": [{"length": 1}]}"#, "stock line 1");
    refused(r#"{"kerf": -2, "stock": [{"length": 9}], "parts": [{"length": 1}]}"#, "kerf is -2");
    refused(
        r#"{"stock": [{"length": 9}], "parts": [{"length": 1, "count": 999999}]}"#,
        "more than 10000 parts",
    );
    oddment(&["bars", &bench.path("none.json")]).refused("none.json");
}

#[test]
fn bars_of_the_rack_are_planned_recorded_and_taken_back() {
    let bench = Bench::new("bars_of_the_rack");
    let shop = bench.path("shop.oddment");
    let rack = |args: &[&str]| {
        let ran = oddment(&[&["rack"], args, &["--shop", &shop, "--json"]].concat());
        assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
        ran.json()
    };
    let made = oddment(&["rack", "new", &shop, "--json"]);
    assert_eq!(made.outcome, Some(Outcome::Yes), "{made:?}");
    rack(&[
        "profile",
        "--add",
        "Box 45",
        "--kind",
        "rectangular tube",
        "--measures",
        "45,45,2.5,4",
    ]);
    let facts = ["--profile", "box 45", "--material", "S235", "--heat", "H 3"];
    let added = rack(&[&["add", "3000"], &facts[..], &["--count", "2"]].concat());
    assert_eq!(added["labels"].as_array().unwrap().len(), 2);
    let label = added["label"].as_str().unwrap().to_owned();
    assert_eq!(rack(&["find", "box", "--length", "2999"])["have_room"], 2);
    let list = bench.write(
        "list.json",
        r#"{"profile": "Box 45", "material": "S235", "kerf": 2, "grips": [50, 0],
            "parts": [{"name": "post", "length": 700, "count": 1}]}"#,
    );
    let plan = bench.path("plan.json");
    let ran = oddment(&["bars", &list, "--shop", &shop, "--plan", &plan, "--json"]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let name = ran.json()["bars"][0]["name"].as_str().unwrap().to_owned();
    let would = rack(&["record", &plan, "--preview"]);
    assert_eq!(
        (&would["event"], &would["sheets"][0]["good"]),
        (&serde_json::Value::Null, &1.into())
    );
    assert_eq!(rack(&["show", &name])["length_mm"], 3000.0);
    let recorded = rack(&["record", &plan]);
    assert_eq!(recorded["sheets"][0]["good"], 1);
    assert_eq!(recorded["sheets"][0]["heat"], "H 3");
    // The grip of 50 and its cut, the post and the cut behind it: enough is left to be worth keeping.
    let left = 3000.0 - 50.0 - 2.0 - 702.0;
    let shown = rack(&["show", &name]);
    assert!((shown["length_mm"].as_f64().unwrap() - left).abs() < 1e-6, "{shown}");
    assert_eq!((&shown["kind"], &shown["delivered_mm"]), (&"bar".into(), &3000.0.into()));
    assert_eq!(rack(&["record", &plan])["sheets"][0]["recorded"], false);
    rack(&["label", &label, "--out", &bench.path("label.pdf")]);
    rack(&["undo"]);
    assert_eq!(rack(&["show", &name])["length_mm"], 3000.0);
    assert_eq!(rack(&["check"])["sound"], true);
    let none = bench.write("none.json", r#"{"parts": [{"length": 9}]}"#);
    oddment(&["bars", &none, "--shop", &shop]).refused("names no profile");
}
