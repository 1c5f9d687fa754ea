//! Each command does its step from start to finish.

use crate::common::{Bench, oddment};
use oddment_commands::Outcome;

const SQUARE: &[(f64, f64)] = &[(0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0)];
const SHEET: &[(f64, f64)] = &[(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)];

#[test]
fn read_tells_what_is_in_a_drawing() {
    let bench = Bench::new("read_tells");
    let plate = bench.drawing("plate.dxf", &[SQUARE], &[(25.0, 25.0, 10.0)]);
    let ran = oddment(&["read", &plate, "--json"]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let read = ran.json();
    assert_eq!(read["units"]["name"], "mm");
    assert_eq!(read["units"]["assumed"], false);
    assert_eq!(read["regions"].as_array().unwrap().len(), 1);
    let region = &read["regions"][0];
    assert_eq!(region["name"], "plate");
    assert_eq!(region["holes"], 1);
    assert_eq!(region["width_mm"], 50.0);
    let area = region["area_mm2"].as_f64().unwrap();
    assert!((area - (2500.0 - 100.0 * std::f64::consts::PI)).abs() < 0.01, "{area}");
    assert!(ran.err.contains("plate"), "{ran:?}");

    let inches = oddment(&["read", &plate, "--units", "in", "--json"]).json();
    assert!((inches["regions"][0]["width_mm"].as_f64().unwrap() - 1270.0).abs() < 1e-6);
    assert_eq!(oddment(&["read", &plate]).out, "");
}

#[test]
fn every_contour_has_a_start_where_starts_are_on() {
    let bench = Bench::new("nest_starts");
    let part = bench.drawing("part.dxf", &[SQUARE], &[]);
    let nest = |sheet: &str, starts: &[&str]| {
        let wanted = format!("{part}=2");
        let mut line = vec!["nest", "--sheet", sheet, "--part", &wanted, "--edge", "1"];
        line.extend(["--web", "1", "--turn", "90", "--steps", "200", "--json"]);
        line.extend(starts);
        oddment(&line)
    };
    // 50 + 1.3 + 50 + 2 × 1.15 mm, and hardly more: nowhere is there 3 mm of waste for a pierce.
    assert_eq!(nest("104x52.6", &[]).outcome, Some(Outcome::Yes));
    let tight = nest("104x52.6", &["--starts", "on"]);
    assert_eq!(tight.outcome, Some(Outcome::No), "{tight:?}");
    assert_eq!(tight.json()["wanted"][0]["placed"], 1);
    assert_eq!(tight.json()["check"]["clear"], true);
    assert_eq!(tight.json()["starts"]["pierce"], 1.5);
    // With room round them both can start; with a shorter pierce distance they need less.
    assert_eq!(nest("112x58", &["--starts", "on"]).outcome, Some(Outcome::Yes));
    let near = ["--starts", "on", "--pierce", "0.6", "--lead", "1"];
    assert_eq!(nest("104x52.6", &near).outcome, Some(Outcome::Yes));

    // Checking again asks for starts where the plan does.
    let mut plan = nest("104x52.6", &[]).json();
    let saved = bench.write("plan.json", plan.to_string());
    assert_eq!(oddment(&["check", &saved]).outcome, Some(Outcome::Yes));
    plan["starts"] = serde_json::json!({"pierce": 1.5});
    let asking = bench.write("asking.json", plan.to_string());
    let checked = oddment(&["check", &asking, "--json"]);
    assert_eq!(checked.outcome, Some(Outcome::No));
    assert!(checked.err.contains("no place to start its outline"), "{checked:?}");
}

#[test]
fn nest_places_parts_and_check_agrees() {
    let bench = Bench::new("nest_places");
    let sheet = bench.drawing("offcut.dxf", &[SHEET], &[(150.0, 100.0, 20.0)]);
    let part = bench.drawing("part.dxf", &[SQUARE], &[]);
    let out = bench.path("out/plan");
    let wanted = format!("{part}=4");
    let ran = oddment(&[
        "nest", "--sheet", &sheet, "--part", &wanted, "--steps", "200", "--out", &out, "--json",
    ]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let plan = ran.json();
    assert_eq!(plan["format"], "oddment-plan");
    assert_eq!(plan["wanted"][0]["placed"], 4);
    assert_eq!(plan["check"]["clear"], true);
    assert_eq!(plan["sheets"][0]["source"], sheet.as_str());
    assert!(
        (plan["sheets"][0]["yield"].as_f64().unwrap()
            - 4.0 * 2500.0 / (60_000.0 - 400.0 * std::f64::consts::PI))
            .abs()
            < 1e-6
    );
    for file in ["plan.json", "nest.dxf", "picture.png", "sheet.pdf"] {
        assert!(bench.dir.join("out/plan").join(file).is_file(), "{file}");
    }
    let written = std::fs::read_to_string(bench.dir.join("out/plan/plan.json")).unwrap();
    assert_eq!(written, ran.out);

    let saved = bench.path("out/plan/plan.json");
    let checked = oddment(&["check", &saved, "--json"]);
    assert_eq!(checked.outcome, Some(Outcome::Yes), "{checked:?}");
    assert_eq!(checked.json(), plan["check"]);

    // A part moved onto its neighbour is found.
    let mut spoilt = plan.clone();
    let second = plan["sheets"][0]["placements"][1].clone();
    for key in ["x", "y", "turn_deg"] {
        spoilt["sheets"][0]["placements"][0][key] = second[key].clone();
    }
    let spoilt = bench.write("spoilt.json", spoilt.to_string());
    let checked = oddment(&["check", &spoilt, "--json"]);
    assert_eq!(checked.outcome, Some(Outcome::No), "{checked:?}");
    assert_eq!(checked.json()["clear"], false);
    assert!(checked.err.contains("part #"), "{checked:?}");

    // The drawings may have moved.
    let elsewhere = Bench::new("nest_places_elsewhere");
    for name in ["offcut.dxf", "part.dxf"] {
        std::fs::rename(bench.dir.join(name), elsewhere.dir.join(name)).unwrap();
    }
    oddment(&["check", &saved]).refused("offcut.dxf");
    let checked = oddment(&["check", &saved, "--drawings", &elsewhere.path("")]);
    assert_eq!(checked.outcome, Some(Outcome::Yes), "{checked:?}");
}

#[test]
fn what_has_no_place_is_answered_with_no() {
    let bench = Bench::new("what_has_no_place");
    let part = bench.drawing("part.dxf", &[SQUARE], &[]);
    for wanted in [format!("{part}=5"), format!("{part}=100000")] {
        let ran =
            oddment(&["nest", "--sheet", "120x120", "--part", &wanted, "--steps", "50", "--json"]);
        assert_eq!(ran.outcome, Some(Outcome::No), "{ran:?}");
        assert_eq!(ran.json()["check"]["clear"], true);
    }
    let out = bench.path("out");
    let ran = oddment(&[
        "nest", "--sheet", "40x40", "--part", &part, "--out", &out, "--steps", "5", "--json",
    ]);
    assert_eq!(ran.outcome, Some(Outcome::No), "{ran:?}");
    assert_eq!(ran.json()["sheets"].as_array().unwrap().len(), 0);
    assert!(bench.dir.join("out/plan.json").is_file());
}

#[test]
fn max_is_as_many_as_go_in() {
    let bench = Bench::new("max_is");
    let part = bench.drawing("part.dxf", &[SQUARE], &[]);
    let wanted = format!("{part}=max");
    let ran = oddment(&[
        "nest", "--sheet", "120x120", "--part", &wanted, "--turn", "none", "--kerf", "0", "--web",
        "1", "--edge", "1", "--steps", "100", "--json",
    ]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let plan = ran.json();
    assert_eq!(plan["wanted"][0]["count"], serde_json::Value::Null);
    assert_eq!(plan["wanted"][0]["placed"], 4);
}

#[test]
fn the_same_seed_and_steps_give_the_same_plan_on_any_threads() {
    let bench = Bench::new("the_same_seed");
    let part = bench.drawing("part.dxf", &[&[(0.0, 0.0), (60.0, 0.0), (0.0, 35.0)]], &[]);
    let wanted = format!("{part}=9");
    let plan = |threads: &str| {
        let ran = oddment(&[
            "nest",
            "--sheet",
            "200x100",
            "--part",
            &wanted,
            "--seed",
            "7",
            "--steps",
            "300",
            "--threads",
            threads,
            "--json",
        ]);
        let lines = ran.out.lines().filter(|l| !l.contains("\"seconds\""));
        lines.map(str::to_owned).collect::<Vec<_>>()
    };
    let one = plan("1");
    assert!(one.len() > 10);
    assert_eq!(one, plan("2"));
    assert_eq!(one, plan("1"));
}

#[test]
fn a_drawing_with_several_parts_and_one_given_twice() {
    let bench = Bench::new("several_parts");
    let small: &[(f64, f64)] = &[(100.0, 0.0), (120.0, 0.0), (100.0, 20.0)];
    let part = bench.drawing("kit.dxf", &[SQUARE, small], &[]);
    let twice = format!("{part}=2");
    let ran = oddment(&[
        "nest", "--sheet", "400x400", "--part", &part, "--part", &twice, "--steps", "50", "--json",
    ]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let plan = ran.json();
    let wanted: Vec<(&str, u64)> = plan["wanted"]
        .as_array()
        .unwrap()
        .iter()
        .map(|w| (w["part"].as_str().unwrap(), w["placed"].as_u64().unwrap()))
        .collect();
    assert_eq!(wanted, [("kit-1", 3), ("kit-2", 3)]);
}

#[test]
fn a_job_file_says_what_flags_can_not() {
    let bench = Bench::new("a_job_file");
    bench.drawing("part.dxf", &[SQUARE], &[]);
    let job = bench.write(
        "job.json",
        r#"{"format": "oddment-job", "version": 1, "units": "mm",
            "clearances": {"kerf": 0.2, "web": 1},
            "sheets": [{"name": "rest", "rectangle": [200, 120], "give_or_take": 1,
                        "no_go": [{"outline": [[0, 0], [70, 0], [70, 120], [0, 120]], "distance": 2}]}],
            "parts": [{"name": "a", "count": 2, "source": "part.dxf", "region": 0, "turn": 90}],
            "locked": [{"part": "a", "sheet": "rest", "x": 140, "y": 60, "turn_deg": 0, "flipped": false}]}"#,
    );
    let ran = oddment(&["nest", "--job", &job, "--kerf", "0.3mm", "--steps", "100", "--json"]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let plan = ran.json();
    assert_eq!(plan["clearances"]["kerf"], 0.3, "flags win");
    assert_eq!(plan["clearances"]["web"], 1.0);
    assert_eq!(plan["clearances"]["sensing"], 1.0, "sensing is the web where not given");
    let placements = plan["sheets"][0]["placements"].as_array().unwrap();
    assert_eq!(placements.len(), 2);
    assert!(placements.iter().any(|p| p["x"] == 140.0 && p["y"] == 60.0), "{plan}");
}

#[test]
fn help_is_for_asking() {
    for line in [&["--help"][..], &["nest", "--help"], &["read", "-h"], &["--version"]] {
        let ran = oddment(line);
        assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
        assert!(!ran.out.is_empty() && ran.err.is_empty(), "{ran:?}");
    }
}

#[test]
fn fit_finds_the_one_place_or_proves_that_there_is_none() {
    let bench = Bench::new("fit_finds");
    let slim: &[(f64, f64)] = &[(0.0, 0.0), (80.0, 0.0), (80.0, 10.0), (0.0, 10.0)];
    let part = bench.drawing("slim.dxf", &[slim], &[]);
    let fit = |sheet: &str, more: &[&str]| {
        let flags = ["--kerf", "0.5", "--web", "1", "--edge", "1", "--json"];
        let line = [&["fit", "--sheet", sheet, "--part", &part], &flags[..], more].concat();
        oddment(&line)
    };
    // 1.5 mm are kept clear on every side.
    let ran = fit("13.1x83.1", &[]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let answer = ran.json();
    assert_eq!(answer["answer"], "fits");
    let turn = answer["pose"]["turn_deg"].as_f64().unwrap().rem_euclid(180.0);
    assert!((turn - 90.0).abs() < 1.0, "{turn}");
    assert_eq!(answer["tightest"]["required"], 1.5);

    for ran in [fit("12.9x83.1", &[]), fit("13.1x83.1", &["--turn", "none"])] {
        assert_eq!(ran.outcome, Some(Outcome::No), "{ran:?}");
        let answer = ran.json();
        assert_eq!(answer["answer"], "cannot_fit");
        assert!(answer["shortfall_mm"].as_f64().unwrap() > 0.0);
    }
}

#[test]
fn nest_finds_the_only_place() {
    let bench = Bench::new("nest_finds");
    let slim: &[(f64, f64)] = &[(0.0, 0.0), (80.0, 0.0), (80.0, 10.0), (0.0, 10.0)];
    let part = bench.drawing("slim.dxf", &[slim], &[]);
    // On the slant it takes 90 / √2 = 63.64 mm each way, and no other turn takes less.
    let nest = |side: &str, seconds: &str| {
        let flags = ["--kerf", "0", "--web", "0", "--edge", "0", "--seconds", seconds];
        oddment(&[&["nest", "--sheet", side, "--part", &part], &flags[..]].concat())
    };
    assert_eq!(nest("63.66x63.66", "4").outcome, Some(Outcome::Yes));
    assert_eq!(nest("63.62x63.62", "0.5").outcome, Some(Outcome::No));
}

#[test]
fn fit_asks_about_one_part() {
    let bench = Bench::new("fit_asks");
    let other: &[(f64, f64)] = &[(100.0, 0.0), (120.0, 0.0), (100.0, 20.0)];
    let kit = bench.drawing("kit.dxf", &[SQUARE, other], &[]);
    oddment(&["fit", "--sheet", "300x300", "--part", &kit]).refused("2 parts");
}

#[test]
fn shorten_lays_all_items_into_a_short_strip() {
    let bench = Bench::new("shorten_lays");
    let instance = bench.write(
        "strip.json",
        r#"{"name": "squares", "strip_width": 20.01, "rotations_deg": [0],
            "items": [{"quantity": 4, "outline": [[0, 0], [10, 0], [10, 10], [0, 10]], "holes": []}]}"#,
    );
    let ran = oddment(&["shorten", &instance, "--steps", "2000", "--json"]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let found = ran.json();
    let length = found["length"].as_f64().unwrap();
    assert!((20.0 - 1e-4..30.0).contains(&length), "{length}");
    let density = found["density"].as_f64().unwrap();
    assert!((density - 100.0 * 400.0 / (20.01 * length)).abs() < 1e-9, "{density}");
    let placements = found["placements"].as_array().unwrap();
    let mut copies: Vec<u64> = placements.iter().map(|p| p["copy"].as_u64().unwrap()).collect();
    copies.sort_unstable();
    assert_eq!(copies, [1, 2, 3, 4]);
    for p in placements {
        let (x, y) = (p["x"].as_f64().unwrap(), p["y"].as_f64().unwrap());
        assert!(x > -1e-4 && x < length - 10.0 + 1e-4 && y > -1e-4 && y < 10.01 + 1e-4, "{p}");
    }
}

#[test]
fn demo_does_the_main_job() {
    let bench = Bench::new("demo_does");
    let out = bench.path("demo");
    let ran = oddment(&["demo", "--out", &out, "--steps", "300"]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let plan = bench.path("demo/plan.json");
    let text = std::fs::read_to_string(&plan).unwrap();
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    for entry in
        value["wanted"].as_array().unwrap().iter().chain(value["sheets"].as_array().unwrap())
    {
        assert!(std::path::Path::new(entry["source"].as_str().unwrap()).is_file(), "{entry}");
    }
    for file in ["nest.dxf", "picture.png", "sheet.pdf"] {
        assert!(bench.dir.join("demo").join(file).is_file(), "{file}");
    }
    assert_eq!(oddment(&["check", &plan]).outcome, Some(Outcome::Yes));
}
