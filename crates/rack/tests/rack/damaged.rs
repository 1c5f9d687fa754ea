//! Shop files with bytes changed: an answer each time, never a panic; and the newest good backup put in
//! their place.

use oddment_files::drawing::ReadOptions;
use oddment_rack::backup::put_back;
use oddment_rack::exchange::drawn_sheets;
use oddment_rack::facts::Facts;
use oddment_rack::fillers::Filler;
use oddment_rack::orders::Order;
use oddment_rack::record::Recording;
use oddment_rack::sheets::age;
use oddment_rack::{Shop, ShopFault};
use serde_json::Value;

use crate::bars::bar;
use crate::common::{Folder, everything, plan, plate, record, rectangle, sound};

/// How many damaged files are tried.
fn mutations() -> usize {
    std::env::var("ODDMENT_MUTATIONS").ok().and_then(|n| n.parse().ok()).unwrap_or(150)
}

/// The bytes cut off, some of them changed, or a run of them overwritten.
fn mutated(whole: &[u8], random: &mut fastrand::Rng) -> Vec<u8> {
    let mut bytes = whole.to_vec();
    match random.u32(0..3) {
        0 => bytes.truncate(random.usize(0..bytes.len())),
        1 => {
            for _ in 0..random.usize(1..40) {
                let at = random.usize(0..bytes.len());
                bytes[at] = random.u8(..);
            }
        }
        _ => {
            let at = random.usize(0..bytes.len() - 64);
            let value = random.u8(..);
            bytes[at..at + 64].fill(value);
        }
    }
    bytes
}

/// One of the text's numbers made another, or one of its lines written twice or left out.
fn retyped(text: &str, random: &mut fastrand::Rng) -> String {
    const NUMBERS: [&str; 8] =
        ["0", "-1", "1e308", "-1e-300", "NaN", "99999999999999999999", "null", "\""];
    let digits: Vec<usize> =
        text.char_indices().filter(|(_, c)| c.is_ascii_digit()).map(|(at, _)| at).collect();
    if random.bool() && !digits.is_empty() {
        let at = digits[random.usize(0..digits.len())];
        let number = NUMBERS[random.usize(0..NUMBERS.len())];
        return format!("{}{number}{}", &text[..at], &text[at + 1..]);
    }
    let mut lines: Vec<&str> = text.lines().collect();
    let at = random.usize(0..lines.len());
    if random.bool() {
        lines.insert(at, lines[at]);
    } else {
        lines.remove(at);
    }
    lines.join("\n")
}

#[test]
fn damaged_imports_are_an_answer_and_leave_the_rack_sound() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    record(&mut shop, &label, &planned, Recording::default()).unwrap();
    shop.add_picture(&label, "a.png", b"\x89PNG\r\n\x1a\npixels").unwrap();
    shop.add(bar(2000.0)).unwrap();
    let texts = [shop.list_csv().unwrap(), everything(&shop), shop.dxf_of(&label).unwrap()];
    let facts = Facts { material: "S235".into(), thickness: 3.0, ..Facts::default() };
    let mut random = fastrand::Rng::with_seed(12);
    let mut other = (Folder::new(), None);
    let (mut taken, mut refused) = (0, 0);
    for round in 0..mutations() {
        // A rack that took something has the labels; the next may be tried on an empty one.
        let into = other.1.get_or_insert_with(|| other.0.shop());
        let text = &texts[round % texts.len()];
        let text = if random.bool() {
            retyped(text, &mut random)
        } else {
            String::from_utf8_lossy(&mutated(text.as_bytes(), &mut random)).into_owned()
        };
        let done = match round % texts.len() {
            0 => into.take_list(&text).is_ok_and(|done| !done.added.is_empty()),
            1 => into.take_everything(&text).is_ok_and(|labels| !labels.is_empty()),
            _ => {
                let file = other.0.0.join("drawing.dxf");
                std::fs::write(&file, &text).unwrap();
                let drawn = drawn_sheets(&file, &facts, &ReadOptions::default(), &mut |_, _| true);
                let done = into.take_drawings(drawn.unwrap().unwrap_or_default());
                done.is_ok_and(|labels| !labels.is_empty())
            }
        };
        if done {
            taken += 1;
            sound(into);
            other = (Folder::new(), None);
        } else {
            refused += 1;
        }
    }
    assert!(taken > 0 && refused > 0, "{taken} taken, {refused} refused");
}

/// Every number in it, by its place.
fn numbers(value: &Value, at: &str, found: &mut Vec<String>) {
    match value {
        Value::Number(_) => found.push(at.to_owned()),
        Value::Array(all) => {
            all.iter().enumerate().for_each(|(i, v)| numbers(v, &format!("{at}/{i}"), found));
        }
        Value::Object(all) => all.iter().for_each(|(k, v)| numbers(v, &format!("{at}/{k}"), found)),
        _ => {}
    }
}

#[test]
fn no_number_of_an_import_is_too_large_to_live_with() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(Some("K-1"), 600.0, 400.0)).unwrap();
    let tab = Filler {
        part: "tab".into(),
        material: "S235".into(),
        thickness: 3.0,
        most: 5,
        ..Filler::default()
    };
    shop.set_fillers(&[], &[(None, tab)]).unwrap();
    shop.change_order("order 212", |_| Order {
        lines: vec![("tab".into(), 4)],
        ..Order::named("order 212")
    })
    .unwrap();
    shop.hold(&label, "order 212", Some(4_000_000_000)).unwrap();
    shop.add(bar(2000.0)).unwrap();
    let whole: Value = serde_json::from_str(&everything(&shop)).unwrap();
    let mut places = Vec::new();
    for part in ["shop", "materials", "orders", "fillers", "sheets", "profiles"] {
        numbers(&whole[part], &format!("/{part}"), &mut places);
    }
    for known in ["/sheets/0/facts/came", "/fillers/0/counted", "/fillers/0/counted_at"] {
        assert!(places.iter().any(|place| place == known), "{known} in {places:?}");
    }
    let (mut other, mut taken) = (Folder::new(), 0);
    let mut into = other.shop();
    for place in &places {
        for extreme in [Value::from(i64::MIN), Value::from(i64::MAX), Value::from(u64::MAX)] {
            let mut changed = whole.clone();
            *changed.pointer_mut(place).unwrap() = extreme;
            if into.take_everything(&changed.to_string()).is_err() {
                continue;
            }
            taken += 1;
            // Whatever was taken in can be lived with.
            for entry in into.list().unwrap() {
                let said = (age(entry.facts.came), age(entry.facts.seen), entry.weight());
                assert!(entry.matches("") && said.2.is_finite(), "{place}: {said:?}");
            }
            let label = into.add(plate(None, 600.0, 400.0)).unwrap();
            let planned = plan(&into, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
            let order = Some("order 212".to_owned());
            let recording = Recording { order, ..Recording::default() };
            record(&mut into, &label, &planned, recording).unwrap();
            for filler in into.fillers().unwrap() {
                assert!(
                    filler.there >= filler.filler.counted && filler.room() <= filler.filler.most
                );
            }
            for order in into.orders().unwrap() {
                let lines = into.order_lines(&order).unwrap();
                assert!(lines.iter().all(|line| line.left() <= line.wanted));
            }
            everything(&into);
            sound(&into);
            (other, into) = {
                let folder = Folder::new();
                let shop = folder.shop();
                (folder, shop)
            };
        }
    }
    drop(other);
    assert!(taken > 0 && taken < 3 * places.len(), "{taken} of 3 × {}", places.len());
}

#[test]
fn damaged_files_are_an_answer() {
    let rounds = mutations();
    let folder = Folder::new();
    let path = folder.shop_path();
    let mut shop = folder.shop();
    for _ in 0..3 {
        let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
        let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
        record(&mut shop, &label, &planned, Recording::default()).unwrap();
    }
    drop(shop);
    let whole = std::fs::read(&path).unwrap();
    let mut random = fastrand::Rng::with_seed(11);
    let (mut refused, mut found) = (0, 0);
    for _ in 0..rounds {
        std::fs::write(&path, mutated(&whole, &mut random)).unwrap();
        let Ok(mut shop) = Shop::open(&path) else {
            refused += 1;
            continue;
        };
        let _ = shop.list();
        let _ = shop.list_all();
        for label in ["R-0001", "R-0002", "R-0003"] {
            let _ = shop.sheet(label).map(|s| s.sheet());
            let _ = shop.history(label);
            let _ = shop.cuts_of(label);
        }
        match shop.verify() {
            Ok(verdict) if verdict.problems.is_empty() => {}
            _ => found += 1,
        }
        let _ = shop.undo(None);
        let _ = shop.add(plate(None, 100.0, 100.0));
    }
    assert!(refused > 0 && found > 0, "{refused} refused, {found} found");
}

#[test]
fn the_newest_good_backup_takes_the_place_of_a_damaged_file() {
    let folder = Folder::new();
    let path = folder.shop_path();
    let mut shop = folder.shop();
    let kept = shop.add(plate(None, 600.0, 400.0)).unwrap();
    assert!(put_back(&path).unwrap_err().to_string().contains("is sound"));
    drop(shop);
    // Opening makes the backup.
    let mut shop = Shop::open(&path).unwrap();
    let lost = shop.add(plate(None, 500.0, 300.0)).unwrap();
    drop(shop);
    // A journal of the damaged file must not come into the backup.
    std::fs::write(path.with_file_name("shop.oddment-journal"), "an old journal").unwrap();
    let mut bytes = std::fs::read(&path).unwrap();
    bytes[..4096].fill(0x5a);
    std::fs::write(&path, &bytes).unwrap();
    let backup = match Shop::open(&path).err() {
        Some(ShopFault::Damaged { backup: Some(backup), .. }) => backup,
        other => panic!("{other:?}"),
    };
    // A newer backup that can be opened and is not sound is passed by.
    let worse = backup.with_file_name("20990101T000000-event-9.oddment");
    std::fs::copy(&backup, &worse).unwrap();
    let direct = rusqlite::Connection::open(&worse).unwrap();
    direct.execute("DROP TRIGGER states_stay", []).unwrap();
    direct.execute("UPDATE states SET facts = '{'", []).unwrap();
    drop(direct);
    let done = put_back(&path).unwrap();
    assert_eq!(std::fs::read(done.aside.as_ref().unwrap()).unwrap(), bytes);
    assert!(done.words().contains("damaged file is kept"), "{}", done.words());
    let shop = Shop::open(&path).unwrap();
    assert!(shop.sheet(&kept).is_ok() && shop.sheet(&lost).is_err());
    sound(&shop);
    drop(shop);
    // It was deleted.
    std::fs::remove_file(&path).unwrap();
    assert_eq!(put_back(&path).unwrap().aside, None);
    assert!(Shop::open(&path).unwrap().sheet(&kept).is_ok());
}

#[test]
fn a_damaged_file_is_read_as_far_as_it_goes() {
    let folder = Folder::new();
    let path = folder.shop_path();
    let mut shop = folder.shop();
    let noted = |n: usize| {
        let mut plate = plate(None, 600.0, 400.0);
        plate.facts.notes = format!("note {n:03}");
        plate
    };
    shop.add_all((0..200).map(noted).collect()).unwrap();
    drop(shop);
    // The first opening makes the backup, so that the next does not look at every page.
    drop(Shop::open(&path).unwrap());
    let mut bytes = std::fs::read(&path).unwrap();
    let at = bytes.windows(8).position(|w| w == b"note 100").unwrap();
    let page = at - at % 4096;
    bytes[page..page + 4096].fill(0x5a);
    std::fs::write(&path, &bytes).unwrap();
    let mut shop = Shop::open(&path).unwrap();
    let left = shop.list().unwrap();
    let notes: Vec<&str> = left.iter().map(|e| e.facts.notes.as_str()).collect();
    assert!(notes.contains(&"note 000") && notes.contains(&"note 199"), "{notes:?}");
    assert!(!notes.contains(&"note 100") && notes.len() > 100, "{notes:?}");
    // From then on it is known to be damaged, and nothing is changed.
    assert!(matches!(shop.closed(), Some(ShopFault::Damaged { backup: Some(_), .. })));
    assert!(matches!(shop.add(noted(0)), Err(ShopFault::Damaged { .. })));
    drop(shop);
    put_back(&path).unwrap();
    assert_eq!(Shop::open(&path).unwrap().list().unwrap().len(), 200);
}
