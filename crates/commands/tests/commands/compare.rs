//! Ways compared from a command line, on a shop file of the test's own.

use crate::common::{Bench, Ran, oddment};
use oddment_commands::Outcome;
use serde_json::Value;

const PLATE: &[(f64, f64)] = &[(0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0)];

struct Shop {
    bench: Bench,
    shop: String,
    plate: String,
}

impl Shop {
    /// A shop with a remnant that one plate uses up.
    fn new(name: &str) -> Self {
        let bench = Bench::new(name);
        let shop = bench.path("shop.oddment");
        let plate = bench.drawing("plate.dxf", &[PLATE], &[]);
        let made = oddment(&["rack", "new", &shop]);
        assert_eq!(made.outcome, Some(Outcome::Yes), "{made:?}");
        let remnant = ["rack", "add", "450x350", "--material", "S235", "--thickness", "3"];
        let edges = ["--edges", "own-cut", "--label", "small", "--shop", &shop];
        let added = oddment(&[&remnant[..], &edges[..]].concat());
        assert_eq!(added.outcome, Some(Outcome::Yes), "{added:?}");
        Self { bench, shop, plate }
    }

    fn compare(&self, more: &[&str]) -> Ran {
        let asked = ["compare", "--material", "S235", "--thickness", "3", "--shop", &self.shop];
        let how = ["--steps", "400", "--json"];
        oddment(&[&asked[..], &how[..], more].concat())
    }
}

#[test]
fn a_remnant_that_is_used_up_wins_is_held_and_every_number_adds_up() {
    let shop = Shop::new("compare_remnant");
    let csv = shop.bench.path("ways.csv");
    let plan = shop.bench.path("plan");
    let more = ["--part", &shop.plate, "--order", "racks", "--hold", "--csv", &csv, "--out", &plan];
    let ran = shop.compare(&more);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let said = ran.json();
    assert_eq!(said["ranked_by"], "money");
    let best = &said["ways"][0];
    assert_eq!(
        (&best["kind"], &best["sheets"][0]["sheet"]),
        (&"one_remnant".into(), &"small".into())
    );
    assert!(said["ways"].as_array().unwrap().iter().any(|w| w["kind"] == "fresh_only"));
    for way in said["ways"].as_array().unwrap() {
        let sum = |of: &Value, key: &str| -> f64 {
            of.as_array().unwrap().iter().map(|i| i[key].as_f64().unwrap()).sum()
        };
        let total = way["total"].as_f64().unwrap();
        assert!((sum(&way["account"], "amount") - total).abs() < 1e-9);
        let groups: f64 =
            way["money"].as_object().unwrap().values().filter_map(Value::as_f64).sum();
        assert!((groups - total).abs() < 1e-9);
        assert!(said["bound"].as_f64().unwrap() <= total + 1e-9);
    }
    assert!(said["why"].as_str().unwrap().contains("uses up a remnant"), "{}", said["why"]);
    assert_eq!(said["held"][0], "small");
    let table = std::fs::read_to_string(&csv).unwrap();
    assert!(table.lines().count() > 8 && table.contains("\"square up\""), "{table}");
    // Its plan is a plan on the rack's sheet.
    let recorded = oddment(&["rack", "record", &format!("{plan}/plan.json"), "--shop", &shop.shop]);
    assert_eq!(recorded.outcome, Some(Outcome::Yes), "{recorded:?}");
    // Held for racks, and then used up: others are offered fresh sheets.
    let others = shop.compare(&["--part", &shop.plate]).json();
    assert_eq!(others["ways"][0]["kind"], "fresh_only");
}

#[test]
fn several_orders_are_cut_together_what_is_due_first_from_the_first_sheet() {
    let shop = Shop::new("compare_batch");
    let job = |name: &str, part: &str| {
        let path = shop.bench.path(name);
        let text = serde_json::json!({"format": "oddment-job", "version": 1, "units": "mm",
            "sheets": [{"name": "any", "rectangle": [900, 700]}], "parts": [{"name": part, "count": 1,
            "outline": [[0, 0], [400, 0], [400, 300], [0, 300]]}]});
        std::fs::write(&path, text.to_string()).unwrap();
        path
    };
    let (late, soon) = (job("late.json", "plate"), job("soon.json", "plate"));
    let pdf = shop.bench.path("ways.pdf");
    let with = format!("{soon}=2026-03-02");
    let more = ["--job", &late, "--due", "2026-03-09", "--with", &with, "--pdf", &pdf];
    let ran = shop.compare(&more);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF"));
    let said = ran.json();
    for way in said["ways"].as_array().unwrap().iter().filter(|w| w["complete"] == true) {
        let orders = way["orders"].as_array().unwrap();
        assert_eq!((&orders[0]["order"], &orders[1]["order"]), (&"late".into(), &"soon".into()));
        let whole = |order: usize| orders[order]["whole_after_sheet"].as_u64().unwrap();
        assert!(whole(1) <= whole(0), "{way}");
        // Where both come from one sheet they are whole together; else the one due first is.
        assert_eq!(way["sheets"].as_array().unwrap().len() as u64 - 1, whole(0));
    }
    shop.compare(&["--job", &late, "--with", &format!("{soon}=soon")]).refused("is no day");
}

#[test]
fn an_order_may_leave_its_sheets_out() {
    let shop = Shop::new("compare_order");
    let path = shop.bench.path("racks.json");
    let text = serde_json::json!({"format": "oddment-job", "version": 1, "units": "mm",
        "parts": [{"name": "plate", "count": 2,
        "outline": [[0, 0], [400, 0], [400, 300], [0, 300]]}]});
    std::fs::write(&path, text.to_string()).unwrap();
    let said = shop.compare(&["--job", &path]).json();
    assert_eq!(
        (&said["ways"][0]["placed"], &said["ways"][0]["complete"]),
        (&2.into(), &true.into())
    );
    // Whoever lays parts needs something to lay them on.
    let folder = shop.bench.path("laid");
    oddment(&["nest", "--job", &path, "--out", &folder, "--json"]).refused("sheets");
}

#[test]
fn what_the_shop_keeps_is_what_is_reckoned_with() {
    let shop = Shop::new("compare_values");
    let hands = |shop: &Shop| {
        let said = shop.compare(&["--part", &shop.plate]).json();
        said["ways"][0]["money"]["handling"].as_f64().unwrap()
    };
    let before = hands(&shop);
    let mut file = oddment_rack::Shop::open(shop.shop.as_ref()).unwrap();
    let values = [
        ("policies/labour_per_hour".to_owned(), Some(Value::from(80))),
        ("fresh/sizes".to_owned(), Some(serde_json::json!([[1500, 1500]]))),
    ];
    file.set_values(&values, "dearer hands").unwrap();
    drop(file);
    assert!((hands(&shop) - 2.0 * before).abs() < 1e-9);
    let said = shop.compare(&["--part", &shop.plate]).json();
    let fresh = said["ways"].as_array().unwrap().iter().find(|w| w["kind"] == "fresh_only");
    assert_eq!(fresh.unwrap()["sheets"][0]["sheet"], "1500x1500");
}

#[test]
fn an_order_that_asks_for_a_certificate_leaves_out_sheets_without_one() {
    let shop = Shop::new("compare_certificate");
    let rack = |args: &[&str]| {
        let ran = oddment(&[&["rack"], args, &["--shop", &shop.shop]].concat());
        assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    };
    rack(&["order", "Hull", "--certificate", "yes"]);
    let ran = shop.compare(&["--part", &shop.plate, "--order", "Hull"]);
    assert!(ran.err.contains("Hull asks for a certificate"), "{}", ran.err);
    assert_eq!(ran.json()["ways"][0]["kind"], "fresh_only");
    let none = shop.compare(&["--part", &shop.plate, "--order", "Hull", "--no-fresh"]);
    assert_eq!(none.outcome, Some(Outcome::Refused));
    assert!(none.err.contains("with a certificate and a heat number"), "{}", none.err);
    rack(&["correct", "small", "--heat", "H 1", "--certificate", "3.1 / 77"]);
    let ran = shop.compare(&["--part", &shop.plate, "--order", "Hull"]);
    assert_eq!(ran.json()["ways"][0]["kind"], "one_remnant");
}

#[test]
fn sheets_held_for_others_are_left_out() {
    let shop = Shop::new("compare_held");
    let held = oddment(&["rack", "hold", "small", "--for", "212", "--shop", &shop.shop]);
    assert_eq!(held.outcome, Some(Outcome::Yes), "{held:?}");
    let others = shop.compare(&["--part", &shop.plate]).json();
    assert_eq!(others["ways"][0]["kind"], "fresh_only");
    let own = shop.compare(&["--part", &shop.plate, "--order", "212"]).json();
    assert_eq!(own["ways"][0]["kind"], "one_remnant");
}

#[test]
fn what_goes_nowhere_is_named_with_how_much_is_short() {
    let shop = Shop::new("compare_nowhere");
    let long = [(0.0, 0.0), (448.0, 0.0), (448.0, 300.0), (0.0, 300.0)];
    let long = shop.bench.drawing("long.dxf", &[&long], &[]);
    let ran = shop.compare(&["--part", &long, "--no-fresh"]);
    assert_eq!(ran.outcome, Some(Outcome::No), "{ran:?}");
    let none = &ran.json()["no_place"][0];
    assert_eq!((&none["part"], &none["sheet"]), (&"long".into(), &"small".into()));
    let short = none["short_mm"].as_f64().unwrap();
    // 1 mm is left on either side, and at least 5 are asked for.
    assert!(short > 4.0 && short < 10.0, "{short}");
}

#[test]
fn what_can_not_be_compared_is_said() {
    let shop = Shop::new("compare_refused");
    shop.compare(&["--part", &format!("{}=max", shop.plate)]).refused("say how many");
    let unknown = ["compare", "--part", &shop.plate, "--thickness", "3", "--shop", &shop.shop];
    oddment(&[&unknown[..], &["--material", "cheese"]].concat()).refused("no material cheese");
    let thick = ["--material", "S235", "--no-fresh", "--thickness", "8"];
    let thick =
        [&["compare", "--part", &shop.plate, "--shop", &shop.shop][..], &thick[..]].concat();
    oddment(&thick).refused("name fresh sizes");
}

#[test]
fn the_same_steps_say_the_same_but_for_the_seconds() {
    let shop = Shop::new("compare_again");
    let run = |threads: &str| {
        let mut said = shop.compare(&["--part", &shop.plate, "--threads", threads]).json();
        said["seconds"] = Value::Null;
        said
    };
    assert_eq!(run("1"), run("2"));
}
