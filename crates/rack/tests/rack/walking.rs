use oddment_rack::Shop;
use oddment_rack::facts::Whereabouts;
use oddment_rack::orders::Order;
use oddment_rack::record::{Outcome, Recording};
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
    shop.set_order(&order).unwrap();
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
    shop.set_order(&Order { certificate: true, ..order.clone() }).unwrap();
    let recording = Recording { order: Some("order 212".into()), ..Recording::default() };
    let said = record(&mut shop, &label, &planned, recording).unwrap_err().to_string();
    assert!(said.contains("certificate"), "{said}");
}

#[test]
fn drawings_are_kept_once() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let hash = shop.keep_drawing("a.dxf", b"0\nEOF\n").unwrap();
    assert_eq!(shop.keep_drawing("b.dxf", b"0\nEOF\n").unwrap(), hash);
    assert_eq!(shop.drawing(&hash).unwrap(), Some(("a.dxf".into(), b"0\nEOF\n".to_vec())));
    assert_eq!(shop.drawing("none").unwrap(), None);
}
