//! The tasks of the shop lead at the window.

mod cutting;
mod walking;

use eframe::egui::{Key, Modifiers, Role, pos2, vec2};
use egui_kittest::kittest::{NodeT, Queryable};
use oddment_app::act::Act;
use oddment_app::exchange::ReadAs;
use oddment_app::place::Place;
use oddment_app::rack::{CutSaid, RackAct};
use oddment_app::session::Session;
use oddment_app::sheet_facts::SheetFacts;
use oddment_core::part::{MadeFrom, Priority};
use oddment_core::plan::Count;
use oddment_core::shape::{Loop, Point, Region};
use oddment_core::sheet::{EdgeFacts, Metal, Sheet};
use oddment_files::dxf_out::sheet_dxf;
use oddment_files::labels::Stickers;
use oddment_rack::facts::Facts;

use crate::tests::bench::{Bench, bench};

#[test]
fn the_rack_is_filtered_by_typing() {
    let mut bench = bench("filter");
    bench.press("Rack");
    assert!(bench.says("10 sheets"));
    assert!(bench.says("S3-041") && bench.says("A2-047"));
    bench.type_into("filter the rack", "5754");
    assert!(bench.says("A2-047") && !bench.says("S6-012"));
}

#[test]
fn the_keyboard_goes_from_field_to_field_past_what_is_only_proposed() {
    let mut bench = bench("add-by-keys");
    bench.press("Rack");
    bench.press("Add a sheet");
    bench.harness.run_steps(6);
    for (name, text) in
        [("size", "980x610"), ("material", "S235"), ("thickness", "3"), ("stands", "bay 9")]
    {
        let field = bench.harness.get_by_role_and_label(Role::TextInput, name);
        assert!(field.is_focused(), "{name}");
        field.type_text(text);
        bench.harness.run_steps(2);
        bench.harness.key_press(Key::Tab);
        bench.harness.run_steps(2);
    }
    assert!(bench.harness.get_by_role_and_label(Role::TextInput, "heat").is_focused());
    bench.harness.key_press(Key::Enter);
    bench.until(|s| s.rack().unwrap().listing().sheets.len() == 14);
    assert_eq!(bench.sheet("R-0001").facts.stands, "bay 9");
}

#[test]
fn a_sheet_is_added_at_the_keyboard() {
    let mut bench = bench("add");
    bench.press("Rack");
    bench.press("Add a sheet");
    // The card finds its size, and so its place, in the frames after it has opened.
    bench.harness.run_steps(6);
    bench.press("one clean rectangle");
    bench.type_into("size", "1200x800");
    bench.type_into("clean rectangle", "500x400");
    bench.type_into("material", "s235");
    bench.type_into("thickness", "3");
    bench.type_into("stands", "bay 9");
    bench.harness.key_press(Key::Enter);
    bench.until(|s| s.rack().unwrap().listing().sheets.len() == 14);
    let added = bench.sheet("R-0001");
    assert_eq!((added.facts.material.as_str(), added.facts.stands.as_str()), ("S235", "bay 9"));
    assert!(bench.says("R-0001, 3 mm S235"));
    // It is the one that is chosen, and what is said of it is gone in another place.
    let said = "R-0001 is in the rack. Write the label on it.";
    assert!(bench.says(said));
    assert_eq!(bench.session().rack().unwrap().added(), Some("R-0001"));
    bench.press("Compare");
    bench.press("Rack");
    assert!(!bench.says(said));
    bench.press("Label");
    assert!(bench.says("The label of R-0001 as PDF"));
}

#[test]
fn the_keyboard_goes_along_the_chosen_sheets_line_as_it_stands() {
    let mut bench = bench("line");
    bench.press("Rack");
    bench.press("S3-041,");
    bench.harness.get_by_label("Hold").focus();
    bench.harness.run_steps(2);
    for next in ["Move", "Label", "Facts", "Take it"] {
        bench.harness.key_press(Key::Tab);
        bench.harness.run_steps(2);
        let button = bench.harness.get_by_label(next);
        assert!(button.accesskit_node().is_focused(), "{next}");
    }
}

#[test]
fn labels_are_written_where_a_person_says() {
    let mut bench = bench("labels");
    let file = bench.folder.join("to print/of two.pdf");
    std::fs::create_dir_all(file.parent().unwrap()).unwrap();
    let labels = vec!["S3-041".to_owned(), "S3-044".to_owned()];
    bench.act(Act::Rack(RackAct::Labels(labels, Stickers::A4, file.clone())));
    bench.until(|s| s.rack().unwrap().said().is_some_and(|said| said.contains("of two.pdf")));
    assert!(std::fs::read(&file).unwrap().starts_with(b"%PDF"));
}

#[test]
fn room_is_looked_for_and_sheets_are_held() {
    let mut bench = bench("find");
    bench.press("Rack");
    bench.type_into("filter the rack", "s235");
    bench.type_into("has room for a size", "150x100");
    bench.harness.key_press(Key::Enter);
    bench.until(|s| s.rack().unwrap().finding().is_some_and(|f| f.found().is_some()));
    assert!(bench.says("has room") && bench.says("have room"));
    bench.press("Show all");
    bench.press("S3-044,");
    bench.press("Hold");
    bench.until(|s| s.rack().unwrap().listing().sheets.iter().any(|e| e.facts.held().is_some()));
    assert!(bench.says("held for Front racks"));
}

#[test]
fn keys_are_the_cards_while_one_lies_over_the_rack() {
    let mut bench = bench("card-keys");
    bench.press("Rack");
    bench.press("S3-044,");
    bench.press("Hold");
    bench.until(|s| s.rack().unwrap().listing().sheets.iter().any(|e| e.facts.held().is_some()));
    bench.press("Facts");
    bench.harness.run_steps(4);
    bench.harness.key_press(Key::N);
    bench.harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    bench.harness.run_steps(4);
    // No second card, and nothing is taken back under it.
    assert!(!bench.says("one clean rectangle"));
    assert!(bench.sheet("S3-044").facts.held().is_some());
    bench.harness.key_press(Key::Escape);
    bench.harness.run_steps(4);
    bench.harness.key_press(Key::N);
    bench.harness.run_steps(6);
    assert!(bench.says("one clean rectangle"));
}

#[test]
fn an_order_is_made_to_ask_for_a_certificate_where_it_is_made() {
    let mut bench = bench("certificate");
    bench.press("asks for a certificate");
    let asks = |asks: bool| move |s: &Session| s.asks_certificate("Front racks") == asks;
    bench.until(asks(true));
    let lines = bench.session().rack().unwrap().listing().orders[0].lines.clone();
    assert_eq!(lines.len(), bench.session().view().job().wanted.len());
    bench.press("Rack");
    bench.press("S3-044,");
    let seen = bench.sheet("S3-044").facts;
    let facts = Facts { certificate: String::new(), ..seen.clone() };
    bench.act(Act::Rack(RackAct::Correct("S3-044".into(), Box::new((seen, facts)))));
    bench.act(Act::Go(Place::Compare));
    bench.press("Compare the ways");
    bench.until(|s| s.compare().running().is_some_and(|r| r.posed().is_some()));
    let posed = bench.session().compare().running().unwrap().posed().unwrap().clone();
    assert!(posed.asked().certificate);
    assert!(!posed.labels.contains(&Some("S3-044".into())));
    bench.press("Front racks asks for a certificate");
    bench.until(asks(false));
    bench.until(|s| {
        s.compare()
            .running()
            .is_some_and(|r| r.posed().is_some_and(|posed| !posed.asked().certificate))
    });
}

#[test]
fn what_is_asked_for_has_room_in_a_narrow_window() {
    let mut bench = bench("narrow");
    bench.press("Rack");
    for size in [vec2(1100.0, 720.0), vec2(1400.0, 900.0)] {
        bench.harness.set_size(size);
        bench.harness.run_steps(6);
        let names = ["filter the rack", "has room for a size", "what the machine loads"];
        for name in names {
            let field = bench.harness.get_by_label(name).rect();
            assert!(field.right() <= size.x - 20.0 && field.bottom() < 300.0, "{name}: {field:?}");
        }
        // The heading tells what there is beside the places' names.
        assert!(bench.says("10 sheets"));
        assert!(bench.says("Add a sheet"));
    }
}

#[test]
fn a_size_in_another_unit_is_refused_and_hints_are_in_the_unit_that_is_typed() {
    let mut bench = bench("inches");
    bench.act(Act::ToggleUnit);
    bench.press("Rack");
    bench.type_into("has room for a size", "400 by");
    bench.harness.key_press(Key::Enter);
    bench.harness.run_steps(4);
    assert!(bench.says("write for example 39x24"));
    bench.press("Add a sheet");
    bench.harness.run_steps(6);
    assert!(bench.says("such as 39x24, over all") && !bench.says("980x610"));
    bench.type_into("size", "980x610");
    bench.type_into("material", "S235");
    bench.type_into("thickness", "0.12");
    bench.harness.key_press(Key::Enter);
    bench.until(|s| s.rack().unwrap().refused().is_some());
    bench.harness.run_steps(4);
    assert!(bench.says("o sheet is longer than 20 m (787 in)"));
    bench.harness.get_all_by_label("size").last().unwrap().focus();
    bench.harness.run_steps(1);
    bench.harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    bench.type_into("size", "39x24");
    bench.harness.key_press(Key::Enter);
    bench.until(|s| s.rack().unwrap().listing().sheets.len() == 14);
    assert!((bench.sheet("R-0001").size[0] - 39.0 * 25.4).abs() < 1e-6);
    bench.harness.run_steps(4);
    bench.press("Add bars");
    bench.harness.run_steps(6);
    assert!(bench.says("such as 240"));
    bench.type_into("profile", "Square tube 40 × 2");
    bench.type_into("length", "6000");
    bench.type_into("material", "S235");
    bench.harness.key_press(Key::Enter);
    bench.harness.run_steps(4);
    assert!(bench.says("o bar is longer than 20 m (787 in)"));
}

#[test]
fn drawings_are_read_beside_the_shop_file() {
    let mut bench = bench("drawings");
    bench.press("Rack");
    bench.until(|s| s.rack().unwrap().is_listed());
    let folder = bench.folder.join("remnants");
    std::fs::create_dir_all(&folder).unwrap();
    let outer = Loop::rectangle(Point::origin(), Point::new(300.0, 200.0)).unwrap();
    let sheet = Sheet::new("x", &[Region::new(outer, Vec::new())], EdgeFacts::default());
    for n in 0..30 {
        std::fs::write(folder.join(format!("old-{n}.dxf")), sheet_dxf(&sheet)).unwrap();
    }
    // What can't be taken in is told file by file.
    for name in ["letter.dxf", "note.dxf"] {
        std::fs::write(folder.join(name), "no drawing").unwrap();
    }
    let facts = Facts { material: "S235".into(), thickness: 3.0, ..Facts::default() };
    bench.act(Act::Rack(RackAct::PickDrawings(Box::new(facts))));
    bench.act(Act::Rack(RackAct::Import(folder)));
    bench.until(|s| s.rack().unwrap().has("old-29"));
    assert!(bench.session().rack().unwrap().importing().is_none());
    assert!(bench.says("30 added"));
    assert!(bench.says("Not taken: letter.dxf, ") && bench.says("Not taken: note.dxf, "));
    // All that was asked of the shop file is done: nothing waits.
    bench.until(|s| !s.rack().unwrap().is_waiting());
}

#[test]
fn what_is_known_of_a_sheet_is_put_right_and_it_is_held_until_a_day() {
    let mut bench = bench("facts");
    bench.press("Rack");
    bench.press("S3-044,");
    bench.press("Facts");
    bench.type_into("notes", "scratched on one side");
    bench.press("Put right");
    bench.until(|s| {
        let sheets = &s.rack().unwrap().listing().sheets;
        sheets.iter().any(|e| e.facts.notes == "scratched on one side")
    });
    bench.press("Facts");
    bench.until(|s| s.rack().unwrap().history("S3-044").len() == 2);
    assert!(bench.says("corrected: notes"));
    bench.type_into("held until", "2999-12-31");
    bench.press("Hold it");
    bench.until(|s| {
        let sheets = &s.rack().unwrap().listing().sheets;
        sheets.iter().any(|e| e.facts.held().is_some_and(|h| h.until.is_some()))
    });
    assert!(bench.says("until 2999-12-31"));
}

#[test]
fn filler_parts_are_kept_and_asked_for_where_a_plan_leaves_metal() {
    let mut bench = bench("fillers");
    bench.press("Rack");
    let part = bench.session().view().job().wanted[0].part.name.clone();
    bench.press("Fillers");
    bench.press(&format!("Make {part} a filler part"));
    bench.press("Keep");
    bench.until(|s| s.rack().unwrap().listing().fillers.len() == 2);
    // Fewer than the least are there, of the sample shop's own too.
    assert!(bench.says("Fillers (2 short)"));
    // The order asks for it already.
    let names = |s: &Session| -> Vec<String> {
        s.fillers().iter().map(|f| f.filler.part.clone()).collect()
    };
    assert_eq!(names(bench.session()), ["mudguard-washer"]);
    bench.press("Sheet");
    bench.press(&part);
    bench.press(&format!("Take {part} off the order"));
    bench.act(Act::PlaceOne(0));
    bench.until(|s| !s.view().plan.layouts.is_empty());
    assert_eq!(names(bench.session()).len(), 2);
    bench.press("Add fillers");
    for (name, count) in [(part.as_str(), 20), ("mudguard-washer", 95)] {
        let wanted = &bench.session().view().job().wanted;
        let wanted = wanted.iter().find(|w| w.part.name == name).unwrap();
        assert_eq!(wanted.count, Count::Exactly(count), "{name}");
        assert_eq!(wanted.part.priority, Priority::IfRoom);
    }
    assert!(bench.session().fillers().is_empty());
}

#[test]
fn a_filler_part_is_taken_off_once_that_is_kept() {
    let mut bench = bench("filler-removed");
    let fillers = |s: &Session| s.rack().unwrap().listing().fillers.len();
    bench.press("Rack");
    bench.press("Fillers");
    bench.press("mudguard-washer is no filler part");
    assert!(bench.says("Laid no more once you press Keep: mudguard-washer"));
    bench.press("Cancel");
    bench.press("Fillers");
    // Nothing was done yet.
    assert!(bench.says("mudguard-washer is no filler part"));
    assert_eq!(fillers(bench.session()), 1);
    bench.press("mudguard-washer is no filler part");
    bench.press("Keep");
    bench.until(move |s| fillers(s) == 0);
}

#[test]
fn filler_parts_are_asked_for_only_where_the_plan_leaves_metal() {
    let mut bench = bench("filler-room");
    // A strip that its one part leaves nothing of.
    let outer = Loop::rectangle(Point::origin(), Point::new(60.0, 30.0)).unwrap();
    let part = Sheet::new("x", &[Region::new(outer, Vec::new())], EdgeFacts::default());
    let file = bench.folder.join("strip.dxf");
    std::fs::write(&file, sheet_dxf(&part)).unwrap();
    bench.act(Act::Read(vec![file], ReadAs::Parts));
    let strip = |s: &Session| s.view().job().wanted.iter().position(|w| w.part.name == "strip");
    bench.until(move |s| strip(s).is_some());
    let washer = bench.session().rack().unwrap().listing().fillers[0].filler.clone();
    let metal = Metal { material: washer.material, thickness: washer.thickness, density: 7850.0 };
    // 10 mm on each side of it.
    let size = Some((80.0, 50.0));
    let facts =
        SheetFacts { name: "strip".into(), size, made_of: Some(metal), grain: None, count: 1 };
    bench.act(Act::PlainSheet(facts));
    bench.act(Act::PlaceOne(strip(bench.session()).unwrap()));
    bench.until(|s| !s.view().plan.layouts.is_empty());
    let wanted = bench.session().view().job().wanted.len();
    bench.act(Act::Rack(RackAct::LayFillers));
    let refusal = bench.session().refusal().unwrap().to_owned();
    assert!(refusal.contains("no place was found for mudguard-washer"), "{refusal}");
    assert_eq!(bench.session().view().job().wanted.len(), wanted);
}

#[test]
fn all_parts_of_an_order_can_be_looked_for_on_the_metal_that_they_are_made_of() {
    let mut bench = bench("all-parts");
    let outer = Loop::rectangle(Point::origin(), Point::new(60.0, 30.0)).unwrap();
    let shape = Sheet::new("x", &[Region::new(outer, Vec::new())], EdgeFacts::default());
    let names = ["eye", "fork", "guard", "hook", "iris", "jaw"];
    let files = names.map(|name| bench.folder.join(format!("{name}.dxf"))).to_vec();
    files.iter().for_each(|file| std::fs::write(file, sheet_dxf(&shape)).unwrap());
    bench.act(Act::Read(files, ReadAs::Parts));
    let jaw = |s: &Session| s.view().job().wanted.iter().position(|w| w.part.name == "jaw");
    bench.until(move |s| jaw(s).is_some());
    let metal = MadeFrom { material: "5754".into(), thickness: 2.0 };
    bench.act(Act::SetMadeFrom(jaw(bench.session()).unwrap(), Some(metal)));
    bench.press("Rack");
    assert!(!bench.says("jaw"));
    bench.press(&format!("{} more parts", bench.session().view().job().wanted.len() - 5));
    bench.press("jaw");
    let sought = bench.session().rack().unwrap().finding().unwrap().sought().clone();
    // Not what the sheet that is shown is made of.
    assert_eq!((sought.part.name.as_str(), sought.metal), ("jaw", Some(("5754".into(), 2.0))));
}

#[test]
fn pictures_stay_with_their_sheet_and_are_shown() {
    let mut bench = bench("pictures");
    bench.press("Rack");
    bench.press("S3-044,");
    let file = bench.folder.join("front.png");
    std::fs::write(&file, include_bytes!("../../../../../assets/screenshot.png")).unwrap();
    bench.press("Facts");
    bench.type_into("picture", file.to_str().unwrap());
    bench.press("Add it");
    bench.until(|s| {
        let sheets = &s.rack().unwrap().listing().sheets;
        sheets.iter().any(|e| e.label == "S3-044" && e.facts.pictures.len() == 1)
    });
    let hash = bench.sheet("S3-044").facts.pictures[0].clone();
    bench.until(move |s| s.rack().unwrap().picture(&hash).is_some_and(|p| p.is_some()));
    bench.press("Take picture 1 away");
    bench.until(|s| s.rack().unwrap().listing().sheets.iter().all(|e| e.facts.pictures.is_empty()));
}

#[test]
fn the_rack_goes_out_and_into_a_shop_file_of_ones_own() {
    let mut bench = bench("exchange");
    let sheets = |count: usize| {
        move |s: &Session| {
            let desk = s.rack().unwrap();
            desk.is_listed() && desk.listing().sheets.len() == count
        }
    };
    bench.press("Rack");
    bench.press("S3-044,");
    bench.press("In and out");
    assert!(bench.says("The list") && bench.says("S3-044 as a drawing"));
    bench.press("Close");
    let path = |bench: &Bench, name: &str| bench.folder.join(name);
    for name in ["out.csv", "out.json", "S3-044.dxf"] {
        let file = path(&bench, name);
        bench.act(Act::Rack(RackAct::Export(file.clone(), None)));
        bench.until(|s| s.rack().unwrap().said().is_some_and(|said| said.contains("is written")));
        assert!(file.exists(), "{name}");
    }
    // Drawings come in with what was said of all of them; those that can't be read are told.
    let drawings = path(&bench, "drawings");
    std::fs::create_dir_all(&drawings).unwrap();
    std::fs::copy(path(&bench, "S3-044.dxf"), drawings.join("OFF-1.dxf")).unwrap();
    std::fs::write(drawings.join("OFF-2.dxf"), "no drawing").unwrap();
    bench.press("In and out");
    bench.press("A folder of drawings");
    bench.press("Choose the folder");
    assert!(bench.says("material: which is it?"));
    bench.press("Close");
    let facts = Facts { material: "S235".into(), thickness: 3.0, ..Facts::default() };
    bench.act(Act::Rack(RackAct::PickDrawings(Box::new(facts))));
    bench.act(Act::Rack(RackAct::Import(drawings)));
    bench.until(sheets(14));
    assert!(bench.session().rack().unwrap().said().unwrap().contains("OFF-2.dxf"));
    assert_eq!(bench.sheet("OFF-1").size, bench.sheet("S3-044").size);
    // Into a shop file of one's own, and back.
    let own = path(&bench, "own.oddment");
    bench.act(Act::Rack(RackAct::NewShop(own.clone())));
    bench.until(sheets(0));
    assert_eq!(bench.session().rack().unwrap().shop().1, Some(own.as_path()));
    let whole = path(&bench, "out.json");
    bench.act(Act::Rack(RackAct::Import(whole)));
    bench.until(sheets(13));
    bench.act(Act::Rack(RackAct::OpenSampleShop));
    bench.until(sheets(14));
    // A damaged file is told, and the newest good backup put in its place.
    bench.act(Act::Rack(RackAct::OpenShop(own.clone())));
    bench.until(sheets(13));
    bench.act(Act::Rack(RackAct::OpenSampleShop));
    bench.until(sheets(14));
    let mut bytes = std::fs::read(&own).unwrap();
    bytes[..4096].fill(0);
    std::fs::write(&own, &bytes).unwrap();
    bench.act(Act::Rack(RackAct::OpenShop(own)));
    bench.until(|s| s.rack().unwrap().problem().is_some());
    assert!(bench.says("the newest good backup is"));
    bench.press("Go on from the backup");
    bench.until(sheets(13));
    assert!(bench.session().rack().unwrap().problem().is_none());
}

#[test]
fn every_act_of_the_rack_is_in_the_list() {
    let names: Vec<String> = oddment_app::act::listed()
        .iter()
        .filter(|l| matches!(l.act, Act::Rack(_)) || l.act == Act::Go(Place::Rack))
        .map(|l| l.name.clone())
        .collect();
    assert!(names.iter().any(|n| n == "Rack") && names.iter().any(|n| n == "Record the cut"));
    let record = oddment_app::act::listed()
        .iter()
        .find(|l| l.act == Act::Rack(RackAct::Record(Box::<CutSaid>::default())))
        .unwrap();
    assert_eq!(record.keys[0].to_string(), "Ctrl Enter");
}

#[test]
fn a_slip_beside_a_card_loses_nothing_and_a_refusal_stays_on_it() {
    let mut bench = bench("slip");
    bench.press("Rack");
    bench.press("S3-044,");
    bench.press("Facts");
    bench.harness.run_steps(4);
    let longest = "x".repeat(100);
    bench.type_into("held for", &longest);
    bench.harness.drag_at(pos2(12.0, 450.0));
    bench.harness.drop_at(pos2(12.0, 450.0));
    bench.harness.run_steps(4);
    assert!(bench.says(&longest));
    bench.press("Hold it");
    bench.until(|s| s.rack().unwrap().refused().is_some());
    // The reason in words on the card, with all that was typed, and apart from news under it.
    assert!(bench.says(&longest) && bench.says("letters"));
    bench.harness.key_press(Key::Escape);
    bench.harness.run_steps(4);
    assert!(!bench.says(&longest));
    assert!(bench.says("Not done: "));
    assert!(bench.says("S3-044, "));
}

#[test]
fn a_shop_file_that_is_moved_away_is_said_to_be() {
    let mut bench = bench("moved-away");
    let path = bench.session().rack().unwrap().shop().1.unwrap().to_path_buf();
    std::fs::rename(&path, path.with_extension("elsewhere")).unwrap();
    bench.until(|s| s.rack().unwrap().problem().is_some());
    bench.press("Rack");
    assert!(bench.says("was moved or deleted since it was opened"));
}

#[test]
fn what_is_typed_counts_while_a_search_for_room_is_shown() {
    let mut bench = bench("filter-found");
    bench.press("Rack");
    bench.type_into("has room for a size", "100x80");
    bench.harness.key_press(Key::Enter);
    bench.until(|s| s.rack().unwrap().finding().is_some_and(|f| f.found().is_some()));
    assert!(bench.says("S3-041, ") && bench.says("S6-012, "));
    bench.type_into("filter the rack", "s355");
    assert!(!bench.says("S3-041, ") && bench.says("S6-012, "));
}

#[test]
fn facts_typed_above_a_hold_are_kept_with_it_and_an_unknown_material_is_refused() {
    let mut bench = bench("hold-facts");
    bench.press("Rack");
    bench.press("S3-044,");
    bench.press("Facts");
    bench.type_into("grade", "J2");
    bench.press("Hold it");
    bench.until(|s| {
        let sheets = &s.rack().unwrap().listing().sheets;
        let sheet = sheets.iter().find(|e| e.label == "S3-044").unwrap();
        sheet.facts.held().is_some_and(|h| h.order == "Front racks")
            && sheet.facts.grade.contains("J2")
    });
    bench.press("Facts");
    bench.type_into("material", "unobtainium");
    bench.press("Put right");
    bench.until(|s| s.rack().unwrap().refused().is_some());
    let why = bench.session().rack().unwrap().refused().unwrap().to_owned();
    assert!(why.contains("The shop has no material “"), "{why}");
    assert_eq!(bench.sheet("S3-044").facts.material, "S235");
}
