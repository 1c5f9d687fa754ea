//! What one program changes while another has the same open is never written over unseen.

use oddment_rack::facts::{Facts, KeepRule, Material};
use oddment_rack::fillers::{Filler, Stocked};
use oddment_rack::orders::Order;
use oddment_rack::record::Recording;
use oddment_rack::{Shop, ShopFault};

use crate::common::{Folder, plan, plate, record, rectangle, sound};

/// The same file, open in two programs, with one sheet.
fn two() -> (Folder, Shop, Shop, String) {
    let folder = Folder::new();
    let mut office = folder.shop();
    let label = office.add(plate(None, 600.0, 400.0)).unwrap();
    let saw = Shop::open(&folder.shop_path()).unwrap();
    (folder, office, saw, label)
}

fn facts(shop: &Shop, label: &str) -> Facts {
    shop.sheet(label).unwrap().entry.facts
}

#[track_caller]
fn refused(done: Result<(), ShopFault>, words: &[&str]) {
    let said = done.unwrap_err().to_string();
    assert!(words.iter().all(|word| said.contains(word)), "{said}");
}

#[test]
fn facts_that_another_program_wrote_meanwhile_stay() {
    let (_folder, mut office, mut bench, label) = two();
    let seen = facts(&office, &label);
    bench.correct(&label, |f| (f.bow, f.heat) = (Some(3.0), "H 2".into())).unwrap();
    bench.move_to(&label, "rack B").unwrap();
    let wants = Facts { notes: "scratched".into(), grade: "S235JR".into(), ..seen.clone() };
    office.put_right(&label, &seen, &wants).unwrap();
    let now = facts(&bench, &label);
    assert_eq!((now.notes.as_str(), now.grade.as_str()), ("scratched", "S235JR"));
    assert_eq!((now.bow, now.heat.as_str(), now.stands.as_str()), (Some(3.0), "H 2", "rack B"));
    // Another value for what the other changed too: told with both, and nothing of it is written.
    let before = office.newest_event().unwrap();
    let wants =
        Facts { heat: "H 3".into(), bow: Some(5.0), finish: "pickled".into(), ..seen.clone() };
    let words = [&label[..], "heat is “H 2” now, not “H 3”", "bow is 3.0 now, not 5.0"];
    refused(office.put_right(&label, &seen, &wants), &words);
    assert_eq!((office.newest_event().unwrap(), facts(&office, &label)), (before, now));
    // The same value is no conflict.
    let wants = Facts { heat: "H 2".into(), ..seen.clone() };
    office.put_right(&label, &seen, &wants).unwrap();
    assert_eq!(facts(&office, &label).heat, "H 2");
    sound(&office);
}

#[test]
fn a_material_is_changed_by_two_programs_at_once() {
    let (_folder, mut office, mut bench, _) = two();
    let seen = office.materials().unwrap().remove(0);
    let dearer = Material { price: 2.5, ..seen.clone() };
    bench.set_material(Some(&seen), &dearer).unwrap();
    let keep = KeepRule { amount: 9.0, ..seen.keep };
    office.set_material(Some(&seen), &Material { keep, ..seen.clone() }).unwrap();
    let now = office.materials().unwrap().remove(0);
    assert_eq!((now.price, now.keep.amount), (2.5, 9.0));
    let cheaper = Material { price: 0.5, ..seen.clone() };
    let words = ["S235", "price is 2.5 now, not 0.5"];
    refused(office.set_material(Some(&seen), &cheaper), &words);
    // One that both add.
    let brass = Material::new("brass", 8500.0, 7.0);
    bench.set_material(None, &brass).unwrap();
    let words = ["brass", "price is 7.0 now, not 8.0"];
    refused(office.set_material(None, &Material { price: 8.0, ..brass.clone() }), &words);
    office.set_material(None, &brass).unwrap();
}

#[test]
fn a_stale_count_of_a_filler_part_replaces_no_cut() {
    let (_folder, mut office, mut bench, label) = two();
    let tab = Filler {
        part: "tab".into(),
        material: "S235".into(),
        thickness: 3.0,
        most: 5,
        counted: 1,
        ..Filler::default()
    };
    office.set_fillers(&[], &[(None, tab.clone())]).unwrap();
    let seen: Stocked = office.fillers().unwrap().remove(0);
    let planned = plan(&bench, &label, &[(rectangle("tab", 60.0, 40.0), 20.0, 20.0)]);
    record(&mut bench, &label, &planned, Recording::default()).unwrap();
    // Another limit only: the tab that was cut counts on.
    let wants = Filler { most: 9, ..seen.seen() };
    office.set_fillers(&[], &[(Some(seen.clone()), wants)]).unwrap();
    let now = bench.fillers().unwrap().remove(0);
    assert_eq!((now.there, now.filler.most), (2, 9));
    bench.undo(None).unwrap();
    assert_eq!(bench.fillers().unwrap()[0].there, 1);
    record(&mut bench, &label, &planned, Recording::default()).unwrap();
    // A count of what was there before the cut is told, and none of what goes with it is written.
    let other = Filler { part: "shim".into(), ..tab.clone() };
    let counted = Filler { counted: 4, ..seen.seen() };
    let done = office.set_fillers(&[], &[(None, other), (Some(seen.clone()), counted.clone())]);
    refused(done, &["tab", "in stock is 2 now, not 4"]);
    assert_eq!(office.fillers().unwrap().len(), 1);
    // Having seen it, it counts as counted now.
    let seen = office.fillers().unwrap().remove(0);
    office.set_fillers(&[], &[(Some(seen.clone()), Filler { counted: 4, ..seen.seen() })]).unwrap();
    assert_eq!(office.fillers().unwrap()[0].there, 4);
    bench.undo(None).unwrap();
    assert_eq!(office.fillers().unwrap()[0].there, 4);
    bench.set_fillers(&["tab".to_owned()], &[]).unwrap();
    refused(office.set_fillers(&[], &[(Some(seen), counted)]), &["a filler part no more"]);
}

#[test]
fn an_order_is_changed_as_it_is_now() {
    let (_folder, mut office, mut bench, _) = two();
    let asks = |known: Option<Order>| {
        let known = known.unwrap_or_else(|| Order::named("order 212"));
        Order { certificate: true, ..known }
    };
    bench
        .change_order("order 212", |known| {
            assert_eq!(known, None);
            Order { lines: vec![("tab".into(), 4)], ..Order::named("order 212") }
        })
        .unwrap();
    office.change_order("ORDER 212", asks).unwrap();
    let now = bench.order("order 212").unwrap().unwrap();
    assert_eq!((now.certificate, now.lines), (true, vec![("tab".to_owned(), 4)]));
    assert_eq!(bench.orders().unwrap().len(), 1);
    assert!(office.change_order(" ", asks).is_err());
}

#[test]
fn only_the_event_that_is_named_is_taken_back() {
    let (_folder, mut office, mut bench, label) = two();
    office.hold(&label, "order 1", None).unwrap();
    let named = office.undoable().unwrap().unwrap();
    let other = bench.add(plate(None, 500.0, 300.0)).unwrap();
    // What the other program did since, to another sheet, stays.
    assert_eq!(office.undo(Some(named.number)).unwrap().said, named.said);
    assert!(facts(&bench, &label).hold.is_none());
    assert!(facts(&bench, &other).whereabouts.is_here());
    // To the same sheet it stands in the way, and is named.
    office.hold(&label, "order 2", None).unwrap();
    let named = office.undoable().unwrap().unwrap();
    bench.set_who("ben at the laser");
    bench.move_to(&label, "rack B").unwrap();
    let done = office.undo(Some(named.number)).map(drop);
    refused(done, &[&label, "ben at the laser", "moved to rack B", "undo that first"]);
    assert!(facts(&office, &label).hold.is_some());
    sound(&office);
}
