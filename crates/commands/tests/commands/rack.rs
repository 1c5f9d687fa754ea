//! The rack from a command line, on a shop file of the test's own.

use std::path::Path;

use crate::common::{Bench, Ran, oddment};
use oddment_commands::Outcome;
use oddment_rack::Shop;

const SQUARE: &[(f64, f64)] = &[(0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0)];
const SHEET: &[(f64, f64)] = &[(0.0, 0.0), (600.0, 0.0), (600.0, 400.0), (0.0, 400.0)];

struct Rack {
    bench: Bench,
    shop: String,
}

impl Rack {
    fn new(name: &str) -> Self {
        let bench = Bench::new(name);
        let shop = bench.path("shop.oddment");
        let made = oddment(&["rack", "new", &shop, "--json"]);
        assert_eq!(made.outcome, Some(Outcome::Yes), "{made:?}");
        Self { bench, shop }
    }

    fn run(&self, args: &[&str]) -> Ran {
        let mut line = vec!["rack"];
        line.extend(args);
        line.extend(["--shop", &self.shop, "--json"]);
        oddment(&line)
    }

    #[track_caller]
    fn yes(&self, args: &[&str]) -> serde_json::Value {
        let ran = self.run(args);
        assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
        ran.json()
    }

    /// A plan of one tab, 20 mm from both edges of the sheet that is called plate.
    #[track_caller]
    fn planned_tab(&self, sheet: &str, part: &str, clearances: &str) -> String {
        let job = self.bench.write(
            "job.json",
            format!(
                "{{\"format\": \"oddment-job\", \"version\": 1, \"units\": \"mm\", {clearances}\
                 \"sheets\": [{{\"name\": \"plate\", {sheet}}}], \
                 \"parts\": [{{\"name\": \"tab\", \"source\": {part:?}}}], \
                 \"locked\": [{{\"part\": \"tab\", \"sheet\": \"plate\", \"x\": 20, \"y\": 20, \
                 \"turn_deg\": 0, \"flipped\": false}}]}}"
            ),
        );
        let out = self.bench.path("out");
        let nested = oddment(&["nest", "--job", &job, "--steps", "10", "--out", &out]);
        assert_eq!(nested.outcome, Some(Outcome::Yes), "{nested:?}");
        self.bench.path("out/plan.json")
    }

    #[track_caller]
    fn is_sound(&self) {
        let said = self.yes(&["check"]);
        assert_eq!(said["sound"], true, "{said}");
    }
}

#[test]
fn a_sheet_comes_is_cut_and_the_cut_is_taken_back() {
    let rack = Rack::new("rack_story");
    let offcut = rack.bench.drawing("offcut.dxf", &[SHEET], &[(300.0, 200.0, 40.0)]);
    let part = rack.bench.drawing("tab.dxf", &[SQUARE], &[]);
    let added = rack.yes(&[
        "add",
        &offcut,
        "--label",
        "offcut",
        "--material",
        "S235",
        "--thickness",
        "3mm",
        "--stands",
        "rack A",
        "--heat",
        "H 4711",
    ]);
    assert_eq!(added["label"], "offcut");
    let plan = rack.bench.path("plan");
    let wanted = format!("{part}=3");
    let nested = oddment(&[
        "nest", "--sheet", &offcut, "--part", &wanted, "--steps", "200", "--edge", "6", "--web",
        "4", "--out", &plan,
    ]);
    assert_eq!(nested.outcome, Some(Outcome::Yes), "{nested:?}");
    let plan = rack.bench.path("plan/plan.json");
    // The drawing's plan knows nothing of the rack's give or take of 1 mm, so it may be too near.
    let recorded = rack.yes(&["record", &plan, "--anyway", "--scrap", "tab#2=burnt"]);
    assert_eq!(recorded["sheets"][0]["good"], 2);
    assert_eq!(recorded["sheets"][0]["not_made"][0]["outcome"]["scrap"], "burnt");
    assert_eq!(recorded["sheets"][0]["heat"], "H 4711");
    rack.is_sound();
    let shown = rack.yes(&["show", "OFFCUT"]);
    assert_eq!(shown["outline"]["pieces"][0]["cutouts"].as_array().unwrap().len(), 4);
    assert_eq!(shown["history"].as_array().unwrap().len(), 2);
    // The drawings of the sheet and of its parts are kept as they were read.
    let shop = Shop::open(Path::new(&rack.shop)).unwrap();
    let of_part = &shown["cuts"][0]["parts"][0]["drawing"];
    for (hash, file) in [(&shown["drawing"]["hash"], &offcut), (of_part, &part)] {
        let (name, content) = shop.drawing(hash.as_str().unwrap()).unwrap().unwrap();
        assert_eq!(content, std::fs::read(file).unwrap(), "{name}");
    }
    assert_eq!(shown["drawing"]["name"], "offcut.dxf");
    drop(shop);
    let again = rack.yes(&["record", &plan]);
    assert!(again["event"].is_null());
    assert_eq!(again["sheets"][0]["recorded"], false);
    let undone = rack.yes(&["undo"]);
    assert_eq!(undone["undone"]["kind"], "cut");
    let metal = rack.yes(&["show", "offcut"])["metal_mm2"].as_f64().unwrap();
    assert!((metal - (240_000.0 - 1600.0 * std::f64::consts::PI)).abs() < 1e-6);
    rack.is_sound();
}

#[test]
fn sheets_are_listed_by_what_is_typed_and_held() {
    let rack = Rack::new("rack_list");
    let add = |size: &str, place: &str| {
        let added =
            rack.yes(&["add", size, "--material", "S235", "--thickness", "3", "--stands", place]);
        added["label"].as_str().unwrap().to_owned()
    };
    assert_eq!(
        (add("980x610", "rack A"), add("500x400", "bay 2")),
        ("R-0001".into(), "R-0002".into())
    );
    let found = rack.yes(&["list", "bay", "3mm"]);
    assert_eq!(found["sheets"].as_array().unwrap().len(), 1);
    assert_eq!(found["sheets"][0]["label"], "R-0002");
    let held = rack.yes(&["hold", "r-0002", "--for", "order 212", "--until", "2999-01-31"]);
    assert_eq!(held["held_for"], "order 212");
    rack.run(&["hold", "R-0002", "--for", "order 9"]).refused("held for order 212");
    assert_eq!(rack.yes(&["list", "held", "212"])["sheets"][0]["label"], "R-0002");
    assert!(rack.yes(&["hold", "R-0002", "--release"])["held_for"].is_null());
    let ran = rack.run(&["list", "titanium"]);
    assert_eq!(ran.outcome, Some(Outcome::No), "{ran:?}");
}

#[test]
fn what_is_known_of_a_part_of_a_sheet_leaves_the_rest_no_go() {
    let rack = Rack::new("rack_quick");
    let common = ["--material", "S235", "--thickness", "3"];
    let clean = [&["add", "1200x800", "--clean", "500x400"][..], &common].concat();
    let label = rack.yes(&clean)["label"].as_str().unwrap().to_owned();
    let shown = rack.yes(&["show", &label]);
    assert_eq!(shown["outline"]["no_go"][0]["name"], "not measured");
    assert_eq!(shown["outline"]["no_go"][0]["v"].as_array().unwrap().len(), 6);
    let corner = [&["add", "1200x800", "--corner", "300x200"][..], &common].concat();
    assert_eq!(rack.yes(&corner)["metal_mm2"], 1200.0 * 800.0 - 300.0 * 200.0);
    rack.is_sound();
}

#[test]
fn what_can_not_be_done_is_said_in_a_sentence() {
    let rack = Rack::new("rack_refused");
    rack.run(&["add", "980x610", "--material", "unobtainium", "--thickness", "0"])
        .refused("density of unobtainium");
    rack.run(&["show", "R-7"]).refused("no sheet in the rack is labelled R-7");
    rack.run(&["undo"]).refused("nothing to undo");
    rack.run(&["add", "100x100", "--clean", "500x400", "--material", "S235", "--thickness", "3"])
        .refused("does not go into");
    rack.run(&["hold", "R-1"]).refused("--for");
    oddment(&["rack", "list", "--shop", &rack.bench.path("none.oddment")])
        .refused("there is no shop file here");
    let text = rack.bench.write("text.oddment", "hello");
    oddment(&["rack", "list", "--shop", &text]).refused("no shop file of Oddment");
    oddment(&["rack", "new", &rack.shop]).refused("there is a file of this name already");
}

#[test]
fn a_crop_is_proposed_and_recorded_with_the_cut() {
    let rack = Rack::new("rack_crop");
    let sheet = rack.bench.drawing("plate.dxf", &[SHEET], &[]);
    let part = rack.bench.drawing("tab.dxf", &[SQUARE], &[]);
    rack.yes(&[
        "add",
        &sheet,
        "--label",
        "plate",
        "--material",
        "S235",
        "--thickness",
        "6",
        "--give-or-take",
        "0",
    ]);
    let plan = rack.planned_tab(&format!("\"source\": {sheet:?}"), &part, "");
    // The strip with the part is scrap, what is right of the line stays and keeps its label.
    let recorded = rack.yes(&["record", &plan, "--crop", "X=100"]);
    assert_eq!(recorded["sheets"][0]["kept"].as_array().unwrap().len(), 1, "{recorded}");
    assert_eq!(recorded["sheets"][0]["kept"][0]["label"], "plate");
    let metal = rack.yes(&["show", "plate"])["metal_mm2"].as_f64().unwrap();
    assert!((metal - 400.0 * (600.0 - 100.0 - 0.075)).abs() < 1.0, "{metal}");
    rack.is_sound();
    rack.yes(&["undo"]);
    rack.yes(&["record", &plan]);
    let crop = &rack.yes(&["show", "plate", "--crop"])["crop"];
    let strip = (600.0 - 72.225 - 0.075) * 400.0 * 6.0 * 7850.0e-9;
    assert!((crop["kept_kg"].as_f64().unwrap() - strip).abs() < 1e-3, "{crop}");
    assert!(crop["line"].as_str().unwrap().starts_with("X 7"), "{crop}");
}

#[test]
fn the_crop_line_that_the_shop_asks_for_is_recorded_with_the_cut() {
    let rack = Rack::new("rack_planned_crop");
    let part = rack.bench.drawing("tab.dxf", &[SQUARE], &[]);
    rack.yes(&["add", "600x400", "--label", "plate", "--material", "S235", "--thickness", "3"]);
    let sheet = "\"rectangle\": [600, 400], \"made_of\": {\"material\": \"S235\", \
                 \"thickness\": 3, \"density\": 7850}";
    let clearances =
        "\"clearances\": {\"kerf\": 0.2, \"web\": 4, \"edge\": 6, \"sensing\": 4, \"lay\": 0}, ";
    let plan = rack.planned_tab(sheet, &part, clearances);
    let crop_least = ("order/crop_least".to_owned(), Some(serde_json::json!(150)));
    let mut shop = Shop::open(Path::new(&rack.shop)).unwrap();
    shop.set_values(&[crop_least], "strips are cropped off").unwrap();
    drop(shop);
    let metal = || rack.yes(&["show", "plate"])["metal_mm2"].as_f64().unwrap();
    // A web and one and a half kerfs from the part, which ends at 70: what is right of the slot stays.
    rack.yes(&["record", &plan]);
    assert!((metal() - 400.0 * (600.0 - 74.3 - 0.1)).abs() < 1e-2, "{}", metal());
    rack.is_sound();
    rack.yes(&["undo"]);
    rack.yes(&["record", &plan, "--no-last-cuts"]);
    let whole = 600.0 * 400.0 - 50.4 * 50.4;
    assert!((metal() - whole).abs() < 0.05, "{} {whole}", metal());
    rack.is_sound();
}

#[test]
fn sheets_with_room_are_found_and_labelled_counted_and_exchanged() {
    let rack = Rack::new("rack_find");
    for size in ["980x610", "300x200", "420x120"] {
        rack.yes(&["add", size, "--material", "S235", "--thickness", "3", "--stands", "rack A"]);
    }
    let found = rack.yes(&["find", "--size", "250x150", "--thickness", "3"]);
    assert_eq!(found["have_room"], 2);
    assert_eq!(found["looked_at"], 3);
    let labels: Vec<&str> =
        found["sheets"].as_array().unwrap().iter().map(|s| s["label"].as_str().unwrap()).collect();
    assert_eq!(labels, ["R-0002", "R-0001", "R-0003"]);
    assert_eq!(found["sheets"][2]["room"], "none");
    let lift = ["find", "--size", "250x150", "--thickness", "3", "--lift", "3"];
    assert_eq!(rack.yes(&lift)["looked_at"], 2);
    assert_eq!(rack.run(&["find", "--size", "1000x700"]).outcome, Some(Outcome::No));
    // A machine that takes little bow: of a sheet whose bow nobody knows that is said.
    rack.yes(&["correct", "R-0001", "--bow", "2"]);
    let bow = rack.run(&["find", "--size", "250x150", "--thickness", "3", "--bow", "4"]);
    assert_eq!(bow.json()["have_room"], 2);
    let said = |label: &str| bow.err.lines().find(|l| l.starts_with(label)).unwrap().to_owned();
    assert!(said("R-0002").contains("bow not known") && !said("R-0001").contains("bow not known"));
    let pdf = rack.bench.path("labels.pdf");
    rack.yes(&["label", "--matching", "rack", "--out", &pdf, "--paper", "letter"]);
    assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF"));
    rack.yes(&["stocktake", "begin"]);
    rack.yes(&["stocktake", "there", "R-0001", "R-0002"]);
    let ended = rack.yes(&["stocktake", "end", "--rest-is-missing"]);
    assert_eq!(ended["missing"][0], "R-0003");
    let csv = rack.bench.path("list.csv");
    rack.yes(&["export", &csv]);
    assert_eq!(rack.yes(&["import", &csv])["alike"], 3);
    let json = rack.bench.path("all.json");
    rack.yes(&["export", &json]);
    let dxf = rack.bench.path("R-0001.dxf");
    rack.yes(&["export", &dxf]);
    let other = Rack::new("rack_other");
    assert_eq!(other.yes(&["import", &json])["added"].as_array().unwrap().len(), 3);
    other.run(&["import", &dxf]).refused("--material");
    let taken = other.yes(&["import", &dxf, "--material", "S235", "--thickness", "3"]);
    assert_eq!(taken["added"][0], "R-0004");
    other.is_sound();
    rack.run(&["export", "rack.xlsx"]).refused(".csv");
}

#[test]
fn orders_are_kept_and_their_certificates_asked_for() {
    let rack = Rack::new("rack_orders");
    rack.yes(&["add", "600x400", "--material", "S235", "--thickness", "3", "--heat", "H 1"]);
    let asks = ["--line", "tab=2", "--certificate", "yes"];
    let order = rack.run(&[&["order", "order 212"], &asks[..]].concat());
    assert_eq!(order.outcome, Some(Outcome::No), "two are still to be made");
    assert_eq!(order.json()["orders"][0]["lines"][0]["left"], 2);
    let find = ["find", "--size", "50x50", "--thickness", "3", "--order", "order 212"];
    let none = rack.run(&find);
    assert_eq!((none.outcome, none.json()["looked_at"].as_u64()), (Some(Outcome::No), Some(0)));
    let put_right = rack.yes(&["correct", "R-0001", "--certificate", "3.1 A 4711"]);
    assert_eq!(put_right["certificate"], "3.1 A 4711");
    assert_eq!(rack.yes(&find)["have_room"], 1);
    rack.is_sound();
}

#[test]
fn filler_parts_are_kept_and_counted_by_what_is_recorded() {
    let rack = Rack::new("rack_fillers");
    let part = rack.bench.drawing("tab.dxf", &[SQUARE], &[]);
    rack.run(&["filler", "tab", "--most", "4"]).refused("there is no such filler part yet");
    let keep = ["filler", "tab", "--drawing", &part, "--material", "S235", "--thickness", "3"];
    let kept = rack.run(&[&keep[..], &["--least", "2", "--most", "4"]].concat());
    assert_eq!(kept.outcome, Some(Outcome::No), "there are fewer than the least");
    assert_eq!(kept.json()["fillers"][0]["there"], 0);
    let sheet = rack.bench.drawing("R-0001.dxf", &[SHEET], &[]);
    rack.yes(&["add", &sheet, "--material", "S235", "--thickness", "3", "--give-or-take", "0"]);
    let (out, wanted) = (rack.bench.path("plan"), format!("{part}=3"));
    let nested =
        oddment(&["nest", "--sheet", &sheet, "--part", &wanted, "--steps", "50", "--out", &out]);
    assert_eq!(nested.outcome, Some(Outcome::Yes), "{nested:?}");
    let plan = rack.bench.path("plan/plan.json");
    let preview = rack.run(&["record", &plan, "--anyway", "--preview"]);
    assert_eq!(preview.json()["event"], serde_json::Value::Null);
    assert!(preview.err.contains("Nothing is recorded"), "{preview:?}");
    let kg = |said: &serde_json::Value| said["sheets"][0]["kept"][0]["weight_kg"].as_f64().unwrap();
    let would = kg(&preview.json());
    assert_eq!(rack.run(&["filler", "tab"]).json()["fillers"][0]["there"], 0);
    let recorded = rack.yes(&["record", &plan, "--anyway"]);
    assert!((kg(&recorded) - would).abs() < 1e-9);
    assert_eq!(rack.yes(&["filler"])["fillers"][0]["there"], 3);
    assert_eq!(rack.yes(&["filler", "TAB", "--there", "2"])["fillers"][0]["there"], 2);
    rack.yes(&["filler", "tab", "--remove"]);
    assert_eq!(rack.run(&["filler"]).outcome, Some(Outcome::No));
}

#[test]
fn pictures_come_out_as_they_went_in() {
    let rack = Rack::new("rack_pictures");
    rack.yes(&["add", "600x400", "--material", "S235", "--thickness", "3"]);
    assert_eq!(rack.run(&["picture", "R-0001"]).outcome, Some(Outcome::No));
    let png = b"\x89PNG\r\n\x1a\n and so on";
    let file = rack.bench.write("front.png", png);
    let text = rack.bench.write("front.txt", "no picture");
    rack.run(&["picture", "R-0001", &text]).refused("no picture");
    let out = rack.bench.path("out");
    let said = rack.yes(&["picture", "r-0001", &file, "--out", &out]);
    assert_eq!(said["pictures"][0]["name"], "front.png");
    assert_eq!(std::fs::read(rack.bench.path("out/R-0001-1.png")).unwrap(), png);
    rack.run(&["picture", "R-0001", "--remove", "2"]).refused("has 1 pictures");
    rack.yes(&["picture", "R-0001", "--remove", "1"]);
    rack.is_sound();
}

#[test]
fn certificate_orders_are_planned_on_sheets_with_a_heat_number_alone() {
    let rack = Rack::new("rack_certificates");
    let add = |label: &str, facts: &[&str]| {
        let metal = ["add", "600x400", "--material", "S235", "--thickness", "6", "--label", label];
        rack.yes(&[&metal[..], facts].concat());
    };
    add("bare", &[]);
    add("heat-only", &["--heat", "H 1"]);
    add("good", &["--heat", "H 2", "--certificate", "3.1 / 77", "--heat-mark", "300,200"]);
    rack.yes(&["order", "Hull", "--certificate", "yes"]);
    let part = rack.bench.drawing("tab.dxf", &[SQUARE], &[]);
    let plan = rack.bench.path("plan");
    let nest = |sheets: &[&str], order: &str, part: &str| {
        let shop = ["nest", "--shop", &rack.shop, "--order", order, "--out", &plan, "--sheet"];
        let rest = ["--part", part, "--turn", "none", "--steps", "100", "--json"];
        oddment(&[&shop[..], sheets, &rest].concat())
    };
    let ran = nest(&["bare", "heat-only", "good"], "Hull", &part);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    for said in ["bare: it has no heat number", "heat-only: it has no certificate"] {
        assert!(ran.err.contains(said), "{}", ran.err);
    }
    let sheets = ran.json()["sheets"].clone();
    assert_eq!(sheets[0]["sheet"], "good");
    assert_eq!(sheets.as_array().unwrap().len(), 1);
    // The plan is one on the rack's sheet, give or take and all.
    let made = rack.bench.path("plan/plan.json");
    let recorded = rack.yes(&["record", &made, "--order", "Hull", "--preview"]);
    assert_eq!(recorded["sheets"][0]["heat"], "H 2");
    nest(&["bare", "heat-only"], "Hull", &part).refused("no sheet of the job has one");
    // Another order may be cut from any of them; a cut through the mark is warned of.
    let ran = nest(&["bare"], "Other", &part);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    // In whatever corner it lies, this takes the middle of the sheet, and enough is left to be kept.
    let large = [(0.0, 0.0), (350.0, 0.0), (350.0, 300.0), (0.0, 300.0)];
    let large = rack.bench.drawing("plate.dxf", &[&large], &[]);
    let ran = nest(&["good"], "Hull", &large);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    assert!(ran.err.contains("heat number H 2 that was marked on good"), "{}", ran.err);
}

#[test]
fn a_damaged_shop_file_is_restored_from_its_newest_good_backup() {
    let rack = Rack::new("rack_restore");
    rack.yes(&["add", "600x400", "--material", "S235", "--thickness", "3"]);
    // Opening a file in which something has happened makes a backup.
    rack.yes(&["list"]);
    rack.run(&["restore"]).refused("is sound");
    let mut bytes = std::fs::read(&rack.shop).unwrap();
    bytes[..2000].fill(0);
    std::fs::write(&rack.shop, &bytes).unwrap();
    rack.run(&["list"]).refused("the newest good backup is");
    let said = rack.yes(&["restore"]);
    let aside = said["damaged_file"].as_str().unwrap();
    assert_eq!(std::fs::read(aside).unwrap(), bytes);
    assert_eq!(rack.yes(&["list"])["sheets"].as_array().unwrap().len(), 1);
    rack.is_sound();
}
