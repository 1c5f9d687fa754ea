use oddment_rack::Shop;
use oddment_rack::values::ShopValue;
use serde_json::{Value, json};

use crate::common::{Folder, sound};

const KERF: &str = "rows/plasma/3/kerf";

fn set(shop: &mut Shop, key: &str, value: Option<Value>) {
    shop.set_values(&[(key.to_owned(), value)], &format!("{key} changed")).unwrap();
}

fn known(values: &[ShopValue]) -> Vec<(&str, Option<&Value>)> {
    values.iter().map(|v| (v.key.as_str(), v.value.as_ref())).collect()
}

#[test]
fn values_are_kept_with_who_and_when_and_every_one_that_was_before() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    shop.set_who("ann");
    set(&mut shop, KERF, Some(json!(1.3)));
    set(&mut shop, "limits/one_person_kg", Some(json!(15)));
    shop.set_who("bo");
    set(&mut shop, KERF, Some(json!(1.4)));
    // Saying again what is so already is no event.
    let events = shop.newest_event().unwrap();
    set(&mut shop, KERF, Some(json!(1.4)));
    set(&mut shop, "rows/plasma/3/web", None);
    assert_eq!(shop.newest_event().unwrap(), events);
    let shop = Shop::open(&folder.shop_path()).unwrap();
    let values = shop.values().unwrap();
    let all = [("limits/one_person_kg", Some(&json!(15))), (KERF, Some(&json!(1.4)))];
    assert_eq!(known(&values), all);
    assert_eq!((values[0].who.as_str(), values[1].who.as_str()), ("ann", "bo"));
    assert!(values[1].at > 1_700_000_000);
    sound(&shop);
}

#[test]
fn a_starting_value_is_put_back_and_nothing_of_it_forgotten() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    set(&mut shop, KERF, Some(json!(1.3)));
    set(&mut shop, KERF, None);
    assert!(shop.values().unwrap().is_empty());
    let history = shop.value_history(KERF).unwrap();
    assert_eq!(known(&history), [(KERF, None), (KERF, Some(&json!(1.3)))]);
    let kinds: Vec<String> =
        shop.events(2).unwrap().into_iter().map(|e| format!("{} {}", e.kind, e.said)).collect();
    assert_eq!(kinds, [format!("value {KERF} changed"), format!("value {KERF} changed")]);
}

#[test]
fn several_values_are_one_event_and_what_is_too_long_is_refused() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let before = shop.events(100).unwrap().len();
    let two = [("a/b".to_owned(), Some(json!(1))), ("a/c".to_owned(), Some(json!("x")))];
    shop.set_values(&two, "a machine").unwrap();
    assert_eq!(shop.events(100).unwrap().len(), before + 1);
    let long = [("a/d".to_owned(), Some(json!("x".repeat(50_000))))];
    assert!(shop.set_values(&long, "too long").is_err());
    assert!(shop.set_values(&[(" ".to_owned(), None)], "nothing").is_err());
    assert_eq!(shop.values().unwrap().len(), 2);
}
