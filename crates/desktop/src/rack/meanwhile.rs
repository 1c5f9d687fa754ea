//! The rack at the window while another program has its file open.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use oddment_app::act::Act;
use oddment_app::rack::RackAct;
use oddment_app::shop::ShopAct;
use oddment_rack::Shop;
use oddment_rack::facts::Material;

use crate::tests::bench::{Bench, bench};

/// The file that the window has open, open in another program too.
fn other(bench: &Bench) -> Shop {
    let path = bench.session().rack().unwrap().shop().1.unwrap().to_path_buf();
    let mut shop = Shop::open(&path).unwrap();
    shop.set_who("ben at the laser");
    shop
}

#[test]
fn facts_that_another_program_wrote_meanwhile_stay_and_clashes_are_told_on_the_card() {
    let mut bench = bench("meanwhile-facts");
    let mut other = other(&bench);
    bench.press("Rack");
    bench.press("S3-044,");
    bench.press("Facts");
    other.correct("S3-044", |f| f.bow = Some(3.0)).unwrap();
    bench.type_into("finish", "pickled");
    bench.press("Put right");
    bench.until(|s| s.rack().unwrap().said() == Some("S3-044 is put right."));
    let facts = other.sheet("S3-044").unwrap().entry.facts;
    assert_eq!((facts.bow, facts.finish.as_str()), (Some(3.0), "pickled"));
    // Both change the same: it is told where it was typed, and stays typed.
    bench.press("Facts");
    other.correct("S3-044", |f| f.coating = "film".into()).unwrap();
    bench.type_into("coating", "oil");
    bench.press("Put right");
    bench.until(|s| s.rack().unwrap().refused().is_some());
    assert!(bench.says("coating is “film” now, not “oil”"));
    assert_eq!(bench.harness.get_all_by_label("coating").last().unwrap().value().unwrap(), "oil");
    assert_eq!(other.sheet("S3-044").unwrap().entry.facts.coating, "film");
}

#[test]
fn undo_takes_back_what_it_names_and_nothing_newer() {
    let mut bench = bench("meanwhile-undo");
    let mut other = other(&bench);
    bench.press("Rack");
    bench.press("S3-044,");
    bench.press("Hold");
    let held = |shop: &Shop| shop.sheet("S3-044").unwrap().entry.facts.held().is_some();
    bench.until(|s| {
        let named = s.rack().unwrap().listing().undoable.clone();
        named.is_some_and(|event| event.said.starts_with("S3-044: held"))
    });
    // The window has not heard of this yet.
    other.move_to("S3-041", "at the laser").unwrap();
    bench.harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    bench.until(|s| s.rack().unwrap().said().is_some_and(|said| said.starts_with("Undone: ")));
    assert!(!held(&other));
    assert_eq!(other.sheet("S3-041").unwrap().entry.facts.stands, "at the laser");
    // What stands in the way is told.
    bench.until(|s| {
        let named = s.rack().unwrap().listing().undoable.clone();
        named.is_some_and(|event| event.said.starts_with("S3-041: moved"))
    });
    other.move_to("S3-041", "rack C").unwrap();
    bench.act(Act::Rack(RackAct::Undo(None)));
    bench.until(|s| s.rack().unwrap().refused().is_some());
    assert!(bench.says("S3-041 has changed since") && bench.says("ben at the laser"));
    assert_eq!(other.sheet("S3-041").unwrap().entry.facts.stands, "rack C");
}

#[test]
fn a_price_that_another_program_wrote_meanwhile_stays() {
    let mut bench = bench("meanwhile-price");
    let mut other = other(&bench);
    let known = other.materials().unwrap().remove(0);
    let dearer = Material { price: known.price + 1.0, ..known.clone() };
    other.set_material(Some(&known), &dearer).unwrap();
    let key = format!("materials/{}/scrap", known.name);
    let act = ShopAct::Keep(vec![(key, Some(0.125.into()))], "scrap brings less".into());
    bench.act(Act::Shop(act));
    let kept = format!("{} is kept so.", known.name);
    bench.until(|s| s.rack().unwrap().said() == Some(kept.as_str()));
    let now = other.materials().unwrap().remove(0);
    assert_eq!((now.price, now.scrap), (dearer.price, 0.125));
}
