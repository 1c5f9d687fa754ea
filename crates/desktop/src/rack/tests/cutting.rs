//! Sheets of the rack cut, recorded and taken back; and what keeps them from being cut.

use eframe::egui::{Key, Modifiers};
use oddment_app::act::Act;
use oddment_app::exchange::ReadAs;
use oddment_app::place::Place;
use oddment_app::rack::RackAct;
use oddment_app::session::{Bar, Session};
use oddment_app::sheet_facts::SheetFacts;
use oddment_core::shape::{Loop, Point, Region};
use oddment_core::sheet::{EdgeFacts, Metal, Sheet};
use oddment_files::dxf_out::sheet_dxf;
use oddment_rack::Shop;
use oddment_rack::stock_take::Mark;

use crate::tests::bench::{Bench, bench};

/// The rack's S3-041 taken to the place Sheet and filled, and the area (mm²) of its metal.
fn filled(name: &str) -> (Bench, f64) {
    let mut bench = bench(name);
    bench.press("Rack");
    bench.press("S3-041,");
    bench.press("Take it");
    bench.until(|s| s.settings().place == Place::Sheet);
    let area = bench.sheet("S3-041").area;
    bench.press("Fill");
    bench.until(|s| !s.view().plan.layouts.is_empty());
    bench.press("Keep this");
    (bench, area)
}

/// Whether the rack has S3-041 with all its metal.
fn is_whole(area: f64) -> impl Fn(&Session) -> bool + Copy {
    move |s| {
        let sheets = &s.rack().unwrap().listing().sheets;
        sheets.iter().any(|e| e.label == "S3-041" && (e.area - area).abs() < 1e-6)
    }
}

#[test]
fn a_sheet_is_taken_cut_and_recorded_in_one_press() {
    let (mut bench, before) = filled("record");
    let laid = bench.session().view().plan.placements().count();
    assert!(laid > 0 && bench.session().can_record());
    bench.press("Record the cut");
    bench.until(|s| s.view().plan.layouts.is_empty());
    // What is left is smaller, or not worth keeping.
    let whole = is_whole(before);
    bench.until(move |s| !whole(s));
    let shown = bench.session().view().job().stock.first().map(|s| s.sheet.area());
    assert!(shown.is_none_or(|area| area < before - 1000.0), "{shown:?}");
    // Taken back in the rack, the metal is there again.
    bench.press("Rack");
    bench.press("Undo: ");
    bench.until(whole);
    // So are its parts on the Sheet, to be cut anew.
    let placed = move |s: &Session| s.view().plan.placements().count();
    bench.until(move |s| placed(s) == laid);
    assert!(bench.session().can_record() && bench.session().barred().is_empty());
}

#[test]
fn a_sheet_that_is_no_more_in_the_rack_is_told_and_nothing_goes_to_the_machine() {
    let (mut bench, _) = filled("gone");
    assert!(bench.says("check: clear as recorded"));
    bench.act(Act::Rack(RackAct::BeginWalk(String::new())));
    bench.act(Act::Rack(RackAct::Mark("S3-041".into(), Mark::Missing)));
    bench.act(Act::Rack(RackAct::EndWalk(false)));
    bench.until(|s| !s.barred().is_empty());
    assert!(bench.session().barred()[0].why == Bar::Gone);
    assert!(bench.says("check: the sheet has changed"));
    bench.press("Export");
    assert!(bench.says("Nothing is exported: S3-041 is in the rack no more"));
    let out = bench.folder.join("out");
    bench.act(Act::ExportTo(out.clone()));
    assert!(!out.exists());
    assert!(bench.session().refusal().unwrap().contains("Nothing is exported"));
}

#[test]
fn parts_of_an_order_that_asks_for_a_certificate_go_to_the_machine_only_on_a_sheet_with_one() {
    let mut bench = bench("uncertified");
    bench.press("asks for a certificate");
    bench.until(|s| s.asks_certificate("Front racks"));
    bench.press("Rack");
    bench.press("N2-008,");
    bench.press("Take it");
    bench.until(|s| s.settings().place == Place::Sheet);
    let wanted = &bench.session().view().job().wanted;
    let tab = wanted.iter().position(|w| w.part.name == "rack-stay-tab").unwrap();
    bench.act(Act::SetMadeFrom(tab, None));
    bench.act(Act::PlaceOne(tab));
    bench.until(|s| !s.barred().is_empty());
    assert!(bench.says("check: no heat number"));
    let out = bench.folder.join("out");
    bench.act(Act::ExportTo(out.clone()));
    assert!(!out.exists());
    assert!(bench.says("Not done: Nothing is exported: Front racks asks for a certificate"));
    bench.press("asks for a certificate");
    bench.until(|s| s.barred().is_empty());
    bench.act(Act::ExportTo(out.clone()));
    bench.until(|s| !s.is_busy());
    assert!(out.exists());
}

#[test]
fn a_sheet_that_changed_in_the_rack_is_not_recorded_and_taken_again() {
    let mut bench = bench("outdated");
    let size = Some((900.0, 600.0));
    let facts = SheetFacts { name: "S3-041".into(), size, made_of: None, grain: None, count: 1 };
    bench.act(Act::PlainSheet(facts));
    bench.act(Act::PlaceOne(0));
    bench.until(|s| !s.view().plan.layouts.is_empty() && !s.barred().is_empty());
    bench.press("Record the cut");
    bench.until(|s| s.rack().unwrap().refused().is_some_and(|why| why.contains("not recorded: ")));
    bench.press("check: the sheet has changed");
    bench.press("S3-041 has changed in the rack");
    bench.until(|s| s.barred().is_empty());
    let session = bench.session();
    let (stock, entry) = (&session.view().job().stock[0], bench.sheet("S3-041"));
    assert!((stock.sheet.area() - entry.area).abs() < 1e-6);
    assert_eq!(session.view().plan.placements().count(), 1);
    assert_eq!(session.undoes_and_redoes().0, Some("Take S3-041 again"));
}

#[test]
fn a_recorded_cut_that_is_taken_back_on_the_sheet_is_taken_back_in_the_rack() {
    let (mut bench, before) = filled("record_undo");
    bench.press("Record the cut");
    bench.until(|s| s.view().plan.layouts.is_empty());
    // What was done stands on the line below, with the way back beside it.
    bench.press("Undo it: Record the cut of S3-041");
    let whole = is_whole(before);
    bench.until(whole);
    let session = bench.session();
    assert!(session.can_record() && !session.view().plan.layouts.is_empty());
    // What was cut can only be recorded anew.
    assert_eq!(session.undoes_and_redoes().1, None);
}

#[test]
fn a_cut_is_recorded_part_by_part_after_seeing_what_is_left() {
    let mut bench = bench("by-part");
    bench.press("Fill");
    bench.until(|s| !s.view().plan.layouts.is_empty());
    bench.press("Keep this");
    let laid = bench.session().view().plan.placements().count();
    let (part, copy) = {
        let p = bench.session().view().plan.placements().next().unwrap();
        (bench.session().view().job().wanted[p.part].part.name.clone(), p.copy)
    };
    bench.press("Part by part");
    let good = |s: &Session| {
        let tried = s.rack().unwrap().tried()?;
        Some((tried.outcome.as_ref().ok()?.recorded.good, tried.likely_minutes?))
    };
    bench.until(move |s| good(s).is_some());
    let (of_all, minutes) = good(bench.session()).unwrap();
    assert_eq!(of_all, laid);
    assert!(minutes > 0.0);
    bench.press(&format!("{part} #{copy} not begun"));
    bench.until(move |s| good(s).is_some_and(|(good, _)| good == laid - 1));
    assert!(bench.says("to scrap"));
    bench.press(&format!("{minutes:.1} as reckoned"));
    bench.press("Record it");
    bench.until(|s| s.view().plan.layouts.is_empty());
    // What was not begun goes back to the order.
    let wanted = &bench.session().view().job().wanted;
    assert!(wanted.iter().any(|w| w.part.name == part));
}

#[test]
fn the_drawings_of_parts_and_sheets_are_kept_with_what_was_made_of_them() {
    let mut bench = bench("drawings-kept");
    let drawn = |name: &str, [w, h]: [f64; 2]| {
        let outer = Loop::rectangle(Point::origin(), Point::new(w, h)).unwrap();
        let shape = Sheet::new("x", &[Region::new(outer, Vec::new())], EdgeFacts::default());
        let file = bench.folder.join(name);
        std::fs::write(&file, sheet_dxf(&shape)).unwrap();
        file
    };
    let (part, sheet) = (drawn("strap.dxf", [60.0, 30.0]), drawn("K-7.dxf", [400.0, 300.0]));
    bench.act(Act::Read(vec![part.clone()], ReadAs::Parts));
    let strap = |s: &Session| s.view().job().wanted.iter().position(|w| w.part.name == "strap");
    bench.until(move |s| strap(s).is_some());
    bench.act(Act::Read(vec![sheet.clone()], ReadAs::Sheet));
    bench.until(|s| s.view().job().stock.iter().any(|s| s.sheet.name == "K-7"));
    let metal = Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 };
    let (name, made_of) = ("K-7".to_owned(), Some(metal));
    bench.act(Act::SetSheet(SheetFacts { name, size: None, made_of, grain: None, count: 1 }));
    bench.act(Act::Rack(RackAct::AddShown));
    bench.until(|s| s.rack().unwrap().has("K-7"));
    let path = bench.session().rack().unwrap().shop().1.unwrap().to_path_buf();
    let shop = Shop::open(&path).unwrap();
    let kept = |hash: Option<String>| shop.drawing(&hash.unwrap()).unwrap().unwrap();
    let of_sheet = kept(bench.sheet("K-7").facts.drawing);
    assert_eq!(of_sheet, ("K-7.dxf".to_owned(), std::fs::read(&sheet).unwrap()));
    bench.act(Act::PlaceOne(strap(bench.session()).unwrap()));
    bench.until(|s| s.can_record());
    bench.press("Record the cut");
    bench.until(|s| s.view().plan.layouts.is_empty());
    let cuts = shop.cuts_of("K-7").unwrap();
    let of_part = kept(cuts[0].parts[0].drawing.clone());
    assert_eq!(of_part, ("strap.dxf".to_owned(), std::fs::read(&part).unwrap()));
    assert_eq!(shop.verify().unwrap().problems, Vec::<String>::new());
}

#[test]
fn sheets_of_another_shop_file_are_put_away_and_come_back() {
    let (mut bench, _) = filled("other-shop");
    let laid = bench.session().view().plan.placements().count();
    bench.press("Rack");
    bench.act(Act::Rack(RackAct::NewShop(bench.folder.join("mine.oddment"))));
    bench.until(|s| s.view().job().stock.is_empty());
    bench.until(|s| s.rack().unwrap().listing().sheets.is_empty());
    assert!(bench.says("S3-041 of ") && bench.says("is put away"));
    bench.press("Sheet");
    bench.harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    bench.until(move |s| s.view().plan.placements().count() == laid);
    // The rack that is open does not have it, so that nothing is recorded there.
    assert!(!bench.session().can_record());
}

#[test]
fn a_cut_that_was_recorded_in_another_shop_file_is_not_taken_back_in_this_one() {
    let (mut bench, _) = filled("other-undo");
    bench.press("Record the cut");
    bench.until(|s| s.view().plan.layouts.is_empty());
    bench.act(Act::Rack(RackAct::NewShop(bench.folder.join("mine.oddment"))));
    bench.until(|s| s.rack().unwrap().shop().0 == "mine");
    let before = bench.session().undoes_and_redoes().0.map(str::to_owned);
    for _ in 0..2 {
        bench.act(Act::Undo);
    }
    assert!(bench.session().refusal().is_some_and(|why| why.contains("open that shop file")));
    assert!(before.is_some() && bench.session().view().plan.layouts.is_empty());
}

#[test]
fn what_one_press_scraps_is_said_before_it_is_pressed() {
    let (bench, _) = {
        let (mut bench, area) = filled("outlook");
        bench.until(|s| s.outlook().is_some());
        (bench, area)
    };
    let scrap = bench.session().outlook().unwrap().recorded.scrap.0;
    assert!(scrap > 0.05);
    assert!(bench.says(&format!("{scrap:.1} kg to scrap (")));
}

#[test]
fn a_cut_that_is_recorded_with_two_presses_is_recorded_once_and_told_so() {
    let (mut bench, _) = filled("twice");
    let record = || Act::Rack(RackAct::Record(Box::default()));
    bench.harness.state_mut().as_mut().unwrap().act(record());
    bench.harness.state_mut().as_mut().unwrap().act(record());
    bench.until(|s| s.view().plan.layouts.is_empty());
    assert!(bench.says(" parts good from S3-041"));
    assert!(!bench.says("recorded before"));
}

#[test]
fn a_sheet_that_is_held_for_another_order_does_not_go_to_the_machine() {
    let (mut bench, _) = filled("held-elsewhere");
    bench.act(Act::Rack(RackAct::Hold("S3-041".into(), "Other order".into(), None)));
    bench.until(|s| !s.barred().is_empty());
    assert!(bench.says("check: the sheet is held"));
    let out = bench.folder.join("out");
    bench.act(Act::ExportTo(out.clone()));
    assert!(!out.exists());
    assert!(bench.says("S3-041 is held for Other order; release it in the rack"));
    bench.act(Act::Rack(RackAct::Release("S3-041".into())));
    bench.until(|s| s.barred().is_empty());
}

#[test]
fn bed_and_cut_say_what_was_refused_take_back_and_are_not_empty_without_a_sheet() {
    let (mut bench, _) = filled("bed-cut");
    for place in [Place::Bed, Place::Cut] {
        bench.act(Act::Go(place));
        bench.act(Act::Lay(oddment_app::lay::LayAct::Snug));
        assert!(bench.says("Not done: The sheet is not squared up yet"), "{place:?}");
        assert!(bench.says("Undo: Fill"), "{place:?}");
    }
    bench.press("Undo: Fill");
    assert!(bench.session().view().plan.layouts.is_empty());
    bench.act(Act::Rack(RackAct::NewShop(bench.folder.join("mine.oddment"))));
    bench.until(|s| s.view().job().stock.is_empty());
    for place in [Place::Bed, Place::Cut] {
        bench.act(Act::Go(place));
        assert!(bench.says("No sheet is open"), "{place:?}");
    }
}
