use std::path::Path;

use oddment_core::check::check;
use oddment_core::plan::{Count, Plan};
use oddment_core::sheet::Metal;
use oddment_rack::Shop;
use oddment_rack::drawings::Drawn;
use oddment_rack::facts::{Material, Whereabouts};
use oddment_rack::fillers::{Filler, Stocked};
use oddment_rack::orders::Order;
use oddment_rack::record::{Outcome, Recording};
use oddment_rack::sheets::NewSheet;
use oddment_rack::stock_take::Mark;

use crate::common::{Folder, plan, plate, record, rectangle, sound};

#[test]
fn a_stock_take_goes_on_after_a_break_and_tells_the_differences() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let labels: Vec<String> =
        (0..5).map(|_| shop.add(plate(None, 600.0, 400.0)).unwrap()).collect();
    assert!(shop.mark(&labels[0], &Mark::There).is_err(), "none is under way");
    let begun = shop.begin_stock_take("rack").unwrap();
    assert_eq!(begun.left.len(), 5);
    shop.mark(&labels[0], &Mark::There).unwrap();
    shop.mark(&labels[1], &Mark::Missing).unwrap();
    drop(shop);
    // The break.
    let mut shop = Shop::open(&folder.shop_path()).unwrap();
    let again = shop.begin_stock_take("something else").unwrap();
    assert_eq!((again.number, again.words.as_str(), again.left.len()), (begun.number, "rack", 3));
    shop.mark(&labels[2], &Mark::Moved("bay 2".into())).unwrap();
    shop.mark(&labels[3], &Mark::Damaged("bent".into())).unwrap();
    let events = shop.newest_event().unwrap();
    let told = shop.end_stock_take(false).unwrap();
    assert_eq!(shop.newest_event().unwrap(), events + 1);
    assert_eq!(
        (told.there, &told.missing, &told.not_seen),
        (1, &vec![labels[1].clone()], &vec![labels[4].clone()])
    );
    assert_eq!(told.moved, [(labels[2].clone(), "rack A".into(), "bay 2".into())]);
    let facts = |label: &String| shop.sheet(label).unwrap().entry.facts;
    assert_eq!(facts(&labels[1]).whereabouts, Whereabouts::Missing);
    assert_eq!(facts(&labels[2]).stands, "bay 2");
    assert_eq!(facts(&labels[3]).notes, "damaged: bent");
    assert!(shop.stock_take().unwrap().is_none());
    sound(&shop);
    // All of it can be taken back at once.
    shop.undo(None).unwrap();
    assert_eq!(shop.sheet(&labels[1]).unwrap().entry.facts.whereabouts, Whereabouts::Here);
}

#[test]
fn sheets_are_held_for_one_order_at_a_time() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    shop.set_who("ann");
    shop.hold(&label, "order 212", None).unwrap();
    shop.set_who("bob");
    let said = shop.hold(&label, "order 9", None).unwrap_err().to_string();
    assert!(said.contains("held for order 212 by ann"), "{said}");
    shop.hold(&label, "order 212", Some(1)).unwrap();
    // It has run out long ago.
    assert!(shop.sheet(&label).unwrap().entry.facts.held().is_none());
    shop.hold(&label, "order 9", None).unwrap();
    shop.release(&label).unwrap();
    assert!(shop.sheet(&label).unwrap().entry.facts.hold.is_none());
    let events = shop.newest_event().unwrap();
    shop.release(&label).unwrap();
    assert_eq!(shop.newest_event().unwrap(), events, "nothing was changed");
}

#[test]
fn what_was_not_made_goes_back_to_the_order() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let lines = vec![("a".to_owned(), 2), ("b".to_owned(), 1)];
    let order = Order { name: "order 212".into(), certificate: false, lines };
    shop.change_order(&order.name, |_| order.clone()).unwrap();
    let part = |name| rectangle(name, 100.0, 50.0);
    let planned = plan(&shop, &label, &[(part("a"), 20.0, 20.0), (part("b"), 220.0, 20.0)]);
    let recording = Recording {
        order: Some("Order 212".into()),
        outcomes: [(("b".to_owned(), 1), Outcome::Scrap("burnt".into()))].into(),
        ..Recording::default()
    };
    record(&mut shop, &label, &planned, recording).unwrap();
    let left = |shop: &Shop| -> Vec<usize> {
        shop.order_lines(&order).unwrap().iter().map(|l| l.left()).collect()
    };
    assert_eq!(left(&shop), [1, 1]);
    shop.undo(None).unwrap();
    assert_eq!(left(&shop), [2, 1]);
    // An order with a certificate is refused on this sheet.
    shop.change_order("order 212", |_| Order { certificate: true, ..order.clone() }).unwrap();
    let recording = Recording { order: Some("order 212".into()), ..Recording::default() };
    let said = record(&mut shop, &label, &planned, recording).unwrap_err().to_string();
    assert!(said.contains("certificate"), "{said}");
}

#[test]
fn drawings_are_kept_once() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let drawn = |name: &str| {
        let drawing = Drawn::new(Path::new(name), b"0\nEOF\n".to_vec());
        NewSheet { drawing: Some(drawing), ..plate(None, 600.0, 400.0) }
    };
    let labels = shop.add_all(vec![drawn("in/a.dxf"), drawn("b.dxf")]).unwrap();
    let hash = |label: &str| shop.sheet(label).unwrap().entry.facts.drawing.unwrap();
    let known = hash(&labels[0]);
    assert_eq!(hash(&labels[1]), known);
    assert_eq!(shop.drawing(&known).unwrap(), Some(("a.dxf".into(), b"0\nEOF\n".to_vec())));
    assert_eq!(shop.drawing("none").unwrap(), None);
    sound(&shop);
}

#[test]
fn filler_parts_are_counted_by_what_was_cut_since() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let filler = Filler {
        part: " tab ".into(),
        material: "S235".into(),
        thickness: 3.0,
        least: 2,
        most: 5,
        counted: 1,
        ..Filler::default()
    };
    let odd = Filler { least: 6, ..filler.clone() };
    let add = |shop: &mut Shop, filler: Filler| shop.set_fillers(&[], &[(None, filler)]);
    assert!(add(&mut shop, odd).is_err());
    assert!(add(&mut shop, Filler { part: " ".into(), ..filler.clone() }).is_err());
    assert!(add(&mut shop, Filler { counted: usize::MAX, ..filler.clone() }).is_err());
    add(&mut shop, filler.clone()).unwrap();
    let stocked = |shop: &Shop| -> Stocked { shop.fillers().unwrap().remove(0) };
    assert_eq!((stocked(&shop).there, stocked(&shop).room()), (1, 4));
    assert!(stocked(&shop).is_short());
    let tab = |x| (rectangle("tab", 60.0, 40.0), x, 20.0);
    let mut planned = plan(&shop, &label, &[tab(20.0), tab(120.0), tab(220.0)]);
    // Three copies of one part.
    let mut layout = planned.1.plan().layouts[0].clone();
    for (i, p) in layout.placements.iter_mut().enumerate() {
        (p.part, p.copy) = (0, i + 1);
    }
    planned.0.wanted.truncate(1);
    planned.0.wanted[0].count = Count::Exactly(3);
    planned.1 = check(&planned.0, Plan { layouts: vec![layout] });
    let recording = Recording {
        outcomes: [(("tab".to_owned(), 3), Outcome::Scrap("burnt".into()))].into(),
        ..Recording::default()
    };
    record(&mut shop, &label, &planned, recording).unwrap();
    assert_eq!((stocked(&shop).there, stocked(&shop).room()), (3, 2));
    shop.undo(None).unwrap();
    assert_eq!(stocked(&shop).there, 1);
    record(&mut shop, &label, &planned, Recording::default()).unwrap();
    // Counted anew: what was cut before counts no more.
    let seen = stocked(&shop);
    shop.set_fillers(&[], &[(Some(seen), Filler { counted: 7, ..filler.clone() })]).unwrap();
    assert_eq!((stocked(&shop).there, stocked(&shop).room()), (7, 0));
    let metal =
        |material: &str, thickness| Metal { material: material.into(), thickness, density: 7850.0 };
    let stands_in =
        Material { stand_ins: vec!["S355".into()], ..Material::new("S235", 7850.0, 1.0) };
    for (material, thickness, goes) in
        [("s235", 3.0, true), ("S355", 3.0, true), ("S235", 2.0, false), ("5754", 3.0, false)]
    {
        let goes_on =
            stocked(&shop).goes_on(&metal(material, thickness), std::slice::from_ref(&stands_in));
        assert_eq!(goes_on, goes, "{material} {thickness}");
    }
    let gone = ["TAB".to_owned()];
    shop.set_fillers(&gone, &[]).unwrap();
    assert!(shop.fillers().unwrap().is_empty() && shop.set_fillers(&gone, &[]).is_err());
}

#[test]
fn pictures_stay_with_their_sheet() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let png = b"\x89PNG\r\n\x1a\n and so on";
    assert!(shop.add_picture(&label, "notes.txt", b"no picture").is_err());
    let mut large = png.to_vec();
    large.resize(5_000_000, 0);
    let said = shop.add_picture(&label, "large.png", &large).unwrap_err().to_string();
    assert!(said.contains("make it smaller"), "{said}");
    shop.add_picture(&label, "front.png", png).unwrap();
    shop.add_picture(&label, "the same.png", png).unwrap();
    let pictures = |shop: &Shop| shop.sheet(&label).unwrap().entry.facts.pictures;
    let [hash] = &pictures(&shop)[..] else { panic!("{:?}", pictures(&shop)) };
    assert_eq!(shop.drawing(hash).unwrap(), Some(("front.png".into(), png.to_vec())));
    // What is known of the sheet besides may be put right, and it may be cut.
    shop.correct(&label, |facts| facts.pictures.clear()).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("a", 100.0, 50.0), 20.0, 20.0)]);
    record(&mut shop, &label, &planned, Recording::default()).unwrap();
    assert_eq!(pictures(&shop), std::slice::from_ref(hash));
    shop.remove_picture(&label, hash).unwrap();
    assert!(pictures(&shop).is_empty());
    shop.undo(None).unwrap();
    assert_eq!(pictures(&shop), std::slice::from_ref(hash));
    sound(&shop);
}
