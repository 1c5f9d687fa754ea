use oddment_rack::record::Recording;

use crate::common::{Folder, plan, plate, record, rectangle, sound};

#[test]
fn the_latest_is_taken_back_as_a_new_event() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    record(&mut shop, &label, &planned, Recording::default()).unwrap();
    let undone = shop.undo(None).unwrap();
    assert_eq!(undone.kind, "cut");
    let history = shop.history(&label).unwrap();
    let kinds: Vec<&str> = history.iter().map(|e| e.kind.as_str()).collect();
    assert_eq!(kinds, ["undo", "cut", "add"]);
    assert_eq!(history[1].undone_by, Some(history[0].number));
    assert!(shop.cuts_of(&label).unwrap().is_empty());
    // Then the coming of the sheet itself.
    assert_eq!(shop.undo(None).unwrap().kind, "add");
    assert!(shop.list().unwrap().is_empty());
    assert!(shop.undo(None).unwrap_err().to_string().contains("nothing to undo"));
    sound(&shop);
}

#[test]
fn what_was_changed_since_is_not_taken_back_from_under_it() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    let cut = record(&mut shop, &label, &planned, Recording::default()).unwrap();
    let more = plan(&shop, &label, &[(rectangle("bar", 100.0, 50.0), 220.0, 20.0)]);
    record(&mut shop, &label, &more, Recording::default()).unwrap();
    let said = shop.undo(Some(cut.event)).unwrap_err().to_string();
    assert!(said.contains("has changed since"), "{said}");
    let said = shop.undo(Some(99)).unwrap_err().to_string();
    assert!(said.contains("no event 99"), "{said}");
}

#[test]
fn labels_are_never_used_again() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    shop.add(plate(Some("A 1"), 600.0, 400.0)).unwrap();
    shop.undo(None).unwrap();
    let said = shop.add(plate(Some("a 1"), 600.0, 400.0)).unwrap_err().to_string();
    assert!(said.contains("never used again"), "{said}");
    shop.add(plate(Some("R-0001"), 600.0, 400.0)).unwrap();
    assert_eq!(shop.add(plate(None, 600.0, 400.0)).unwrap(), "R-0002");
    for odd in ["", "  ", "a\nb", "--", "a label that is far too long for tape"] {
        assert!(shop.add(plate(Some(odd), 600.0, 400.0)).is_err(), "{odd:?}");
    }
}
