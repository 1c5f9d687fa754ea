//! The tasks of whoever cuts bars, at the window.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use oddment_app::act::Act;
use oddment_app::place::Place;
use oddment_app::session::Session;
use oddment_core::bars::{CutBar, Face, clear};

use crate::tests::bench::{Bench, bench};

fn fill(bench: &mut Bench) {
    bench.press("Fill");
    bench.until(|s| s.bars().order().planned.is_some());
}

#[test]
fn an_order_is_planned_recorded_and_taken_back() {
    let mut bench = bench("bars");
    bench.press("plan on bars");
    assert!(bench.says("T40-01, 2310.0 mm") && bench.says("full length, to buy, 6000.0 mm"));
    fill(&mut bench);
    let planned = bench.session().bars().order().planned.clone().unwrap();
    assert!(clear(&planned.list, &planned.plan).is_ok());
    assert!(bench.says("check: clear: 18 of 18 parts"));
    // Remnants of the rack are worth cutting.
    assert!(planned.plan.bars.iter().any(|bar| !planned.list.stock[bar.stock].name.is_empty()));
    bench.press("Compare the ways");
    bench.until(|s| s.bars().ways().is_some_and(|ways| ways.len() == 4));
    assert_eq!(bench.session().settings().place, Place::BarWays);
    assert!(
        bench.session().bars().ways().unwrap()[0]
            .found
            .as_ref()
            .is_ok_and(|best| { (best.plan.cost - planned.plan.cost).abs() < 0.01 })
    );
    bench.press("full lengths alone: ");
    bench.press("Take it");
    assert_eq!(bench.session().settings().place, Place::Bars);
    let taken = bench.session().bars().order().planned.clone().unwrap();
    assert!(taken.plan.cost >= planned.plan.cost - 0.005 && taken.faults.is_empty());
    bench.press("Undo: Take full lengths alone");
    assert_eq!(bench.session().bars().order().planned.as_ref(), Some(&planned));
    // From bars to bars: the other kind of stock is not what is meant.
    bench.act(Act::Go(Place::BarWays));
    bench.press("Sheet");
    assert_eq!(bench.session().settings().place, Place::Bars);
    let bars = planned.plan.bars.len();
    assert!(bench.says(&format!("bar {bars} of {bars}: ")));
    bench.press("bar 1 of ");
    let first = planned.list.setup(&planned.plan.bars[0]);
    assert!(bench.says(&format!("{:.1}", first.cuts[0].at)));
    // Recorded: what is left of each bar is its new length, and nothing is wanted any more.
    bench.press("Record the cut");
    bench.until(|s| s.bars().order().wanted() == 0);
    let mut there = bench.session().rack().unwrap().listing().sheets.clone();
    there.retain(|e| e.facts.bar.is_some());
    for bar in &planned.plan.bars {
        let (stock, setup) = (&planned.list.stock[bar.stock], planned.list.setup(bar));
        if stock.count.is_some() {
            let left = there.iter().find(|e| e.label == stock.name).map(|e| e.size[0]);
            let wanted = setup.kept.then_some(setup.left.1 - setup.left.0);
            assert!(left.zip(wanted).is_none_or(|(a, b)| (a - b).abs() < 1e-6), "{left:?}");
            assert_eq!(left.is_some(), wanted.is_some());
        }
    }
    // Taken back here it is taken back in the rack, and the other way round.
    let whole = |s: &Session| {
        let sheets = &s.rack().unwrap().listing().sheets;
        sheets.iter().any(|e| e.label == "T40-01" && (e.size[0] - 2310.0).abs() < 1e-6)
    };
    bench.press("Undo: Record");
    bench.until(whole);
    assert_eq!(bench.session().bars().order().wanted(), 18);
    assert!(bench.session().bars().undoes_and_redoes().1.is_none());
    bench.press("Record the cut");
    bench.until(|s| s.bars().order().wanted() == 0);
    bench.press("Rack");
    bench.press("Undo: ");
    bench.until(whole);
    assert_eq!(bench.session().bars().order().wanted(), 18);
}

#[test]
fn a_cut_is_recorded_part_by_part_and_what_was_not_made_goes_back() {
    let mut bench = bench("part-by-part");
    bench.press("plan on bars");
    fill(&mut bench);
    let planned = bench.session().bars().order().planned.clone().unwrap();
    let parts = planned.list.parts.clone();
    let first = &planned.plan.bars[0];
    assert!(first.pieces.len() > 2);
    let called = |piece: usize| parts[first.pieces[piece].part].called();
    bench.press("Part by part");
    // The card finds its size, and so its place, in the frames after it has opened.
    bench.harness.run_steps(6);
    bench.press(&format!("1.1 {} scrap", called(0)));
    bench.type_into(&format!("why 1.1 {} is scrap", called(0)), "cut short");
    bench.press(&format!("1.2 {} half cut", called(1)));
    let not_made = first.pieces.len();
    assert!(bench.says(&format!("{not_made} parts go back to the order.")));
    bench.type_into("minutes it took", "7");
    bench.press("Record it");
    // The first bar was begun, so that it is shorter; but nothing was made of it.
    bench.until(|s| s.bars().order().planned.is_none());
    assert_eq!(bench.session().bars().order().wanted(), not_made);
    let stock = &planned.list.stock[first.stock];
    let begun = CutBar { stock: first.stock, pieces: first.pieces[..2].to_vec() };
    let setup = planned.list.setup(&begun);
    let left = setup.left.1 - setup.left.0;
    let has = |s: &Session, mm: f64| {
        let sheets = &s.rack().unwrap().listing().sheets;
        sheets.iter().any(|e| e.facts.bar.is_some() && (e.size[0] - mm).abs() < 1e-6)
    };
    assert!(setup.kept && left < stock.length);
    bench.until(|s| has(s, left));
    bench.press("Rack");
    bench.press("Undo: ");
    bench.until(|s| !has(s, left));
}

#[test]
fn a_profile_that_is_typed_is_the_shops_own_from_then_on() {
    let mut bench = bench("own-profile");
    bench.press("plan on bars");
    bench.press("Profile, machine");
    bench.harness.get_all_by_label("profile").last().unwrap().focus();
    bench.harness.run_steps(1);
    bench.harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    bench.harness.run_steps(1);
    bench.type_into("profile", "square tube 45x2");
    bench.press("seam front");
    bench.type_into("far support", "900 to 4200");
    bench.press("Use this");
    bench.until(|s| !s.rack().unwrap().listing().profiles.is_empty());
    let kept = bench.session().rack().unwrap().listing().profiles[0].clone();
    assert_eq!((kept.name.as_str(), kept.seam), ("Square tube 45 × 2", Some(Face::Front)));
    let list = &bench.session().bars().order().list;
    assert_eq!(list.profile.as_ref(), Some(&kept));
    assert_eq!(list.machine.support, Some([900.0, 4200.0]));
}

#[test]
fn a_pasted_list_is_looked_at_and_taken() {
    let mut bench = bench("paste");
    bench.press("plan on bars");
    bench.press("Paste a list");
    bench.type_into("cut list", "Part;Length;Qty\nrail;712;8\npost;long;4\n");
    assert!(bench.says("line 3: “long” is not a length"));
    bench.press("Cancel");
    bench.press("Paste a list");
    bench.type_into("cut list", "Part;Length;Qty\nrail;712;8\npost;1200,5;4\n");
    assert!(bench.says("1200.5 mm"));
    let before = bench.session().bars().order().wanted();
    bench.press("Take 2 lines");
    assert_eq!(bench.session().bars().order().wanted(), before + 12);
    assert!(bench.says("rail, 712.0 mm, 8 wanted"));
    bench.press("Undo: Add 2 lines");
    assert_eq!(bench.session().bars().order().wanted(), before);
}

#[test]
fn lines_are_typed_and_changed() {
    let mut bench = bench("lines");
    bench.press("plan on bars");
    bench.type_into("next length", "1/2in");
    bench.harness.key_press(Key::Enter);
    bench.harness.run_steps(3);
    let last = |bench: &Bench| bench.session().bars().order().list.parts.last().unwrap().clone();
    assert_eq!((last(&bench).length, last(&bench).count), (12.7, 1));
    bench.type_into("next length", "long");
    bench.harness.key_press(Key::Enter);
    bench.harness.run_steps(3);
    assert!(bench.says("“long” is not a length"));
    bench.press("cargo rail, ");
    bench.type_into("holes", "9 at 40 top\ncope 20 at 600 front");
    bench.press("Use this");
    let rail = bench.session().bars().order().list.parts[0].clone();
    assert_eq!((rail.holes[0].at, rail.holes[0].size), (40.0, 9.0));
    assert!(!rail.holes[0].cope && rail.holes[1].cope && rail.holes[1].face == "front");
    assert_eq!(rail.ends, [std::f64::consts::FRAC_PI_4; 2]);
    bench.press("cargo rail, ");
    bench.press("Take it off the order");
    assert!(!bench.says("cargo rail, "));
}

#[test]
fn bars_are_added_to_the_rack_and_planned_on() {
    let mut bench = bench("add-bars");
    bench.press("Rack");
    bench.press("Add bars");
    bench.type_into("profile", "Square tube 40x2");
    bench.type_into("length", "3000");
    bench.type_into("how many", "2");
    bench.type_into("material", "S235");
    bench.harness.key_press(Key::Enter);
    bench.until(|s| s.rack().unwrap().listing().sheets.len() == 15);
    bench.press("Sheet");
    bench.press("plan on bars");
    assert!(bench.says("R-0001, 3000.0 mm") && bench.says("R-0002, 3000.0 mm"));
}

#[test]
fn a_bar_of_the_rack_is_taken_to_the_order() {
    let mut bench = bench("take-bar");
    bench.press("Rack");
    bench.type_into("filter the rack", "t40");
    bench.press("T40-02,");
    bench.press("Take it");
    bench.until(|s| s.settings().place == Place::Bars);
    assert!(bench.session().bars().order().from_rack);
}

#[test]
fn every_act_on_bars_is_in_the_list() {
    let listed = oddment_app::act::listed();
    let here: Vec<_> = listed.iter().filter(|l| l.place == Some(Place::Bars)).collect();
    assert!(here.iter().any(|l| matches!(l.act, Act::Bars(_)) && l.name == "Fill the bars"));
    assert!(listed.iter().any(|l| l.act == Act::Go(Place::Bars)));
}
