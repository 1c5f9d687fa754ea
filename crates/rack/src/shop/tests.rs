//! What must hold when the system does not do its part.

use oddment_core::sheet::EdgeKind;

use super::*;
use crate::facts::Facts;
use crate::outline::Outline;
use crate::sheets::NewSheet;

fn shop(name: &str) -> (PathBuf, Shop) {
    let folder = std::env::temp_dir().join(format!("oddment-shop-{name}-{}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    let materials = vec![Material::new("S235", 7850.0, 1.15)];
    let new = NewShop { name: "Test".into(), currency: "EUR".into(), materials };
    let shop = Shop::create(&folder.join("shop.oddment"), &new).unwrap();
    (folder, shop)
}

fn plate() -> NewSheet {
    let facts = Facts { material: "S235".into(), thickness: 3.0, ..Facts::default() };
    let outline = Outline::rectangle([600.0, 400.0], EdgeKind::Mill).unwrap();
    NewSheet { label: None, facts, outline }
}

#[test]
fn a_full_disk_changes_nothing_and_is_said() {
    let (folder, mut shop) = shop("full");
    shop.add(plate()).unwrap();
    let pages: i64 =
        shop.connection.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
    shop.connection.pragma_update_and_check(None, "max_page_count", pages, |_| Ok(())).unwrap();
    let full = (0..200).find_map(|_| shop.add(plate()).err());
    assert_eq!(full, Some(ShopFault::DiskFull));
    let there = shop.list().unwrap().len();
    assert_eq!(shop.verify().unwrap().problems, Vec::<String>::new());
    shop.connection.pragma_update_and_check(None, "max_page_count", 1_000_000, |_| Ok(())).unwrap();
    shop.add(plate()).unwrap();
    assert_eq!(shop.list().unwrap().len(), there + 1);
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn whoever_has_the_file_is_named() {
    let (folder, mut first) = shop("busy");
    let mut second = Shop::open(first.path()).unwrap();
    second.connection.busy_timeout(Duration::from_millis(50)).unwrap();
    first.set_who("ann at the saw");
    let said = first.change("hold", |_| Ok(second.add(plate()).unwrap_err().to_string())).unwrap();
    assert!(said.starts_with("ann at the saw, since "), "{said}");
    assert!(second.add(plate()).is_ok());
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_clock_that_was_set_back_does_not_turn_history_round() {
    let (folder, mut shop) = shop("clock");
    let ahead = when::now() + 1_000_000;
    let row = "INSERT INTO events (at, who, kind, said) VALUES (?1, 'ann', 'note', 'later')";
    shop.connection.execute(row, [ahead]).unwrap();
    shop.add(plate()).unwrap();
    let events = shop.events(2).unwrap();
    assert_eq!((events[0].kind.as_str(), events[0].at), ("add", ahead));
    // Whoever opens it is told, but for what clocks differ by.
    let path = shop.path().to_path_buf();
    drop(shop);
    let told = |path: &Path| Shop::open(path).unwrap().notices().join(" ");
    assert!(told(&path).contains("The clock of this computer stands before"), "{}", told(&path));
    fs::remove_dir_all(folder).unwrap();
    let (folder, mut shop) = self::shop("clock-right");
    shop.add(plate()).unwrap();
    let path = shop.path().to_path_buf();
    drop(shop);
    assert!(!told(&path).contains("clock"), "{}", told(&path));
    fs::remove_dir_all(folder).unwrap();
}

#[cfg(unix)]
#[test]
fn a_file_that_may_only_be_read_is_read() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, mut shop) = shop("read-only");
    shop.add(plate()).unwrap();
    let path = shop.path().to_path_buf();
    drop(shop);
    fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
    // Who may do everything may write this too.
    if fs::OpenOptions::new().write(true).open(&path).is_err() {
        let mut shop = Shop::open(&path).unwrap();
        assert!(matches!(shop.closed(), Some(ShopFault::ReadOnly(_))));
        assert_eq!(shop.list().unwrap().len(), 1);
        assert!(matches!(shop.add(plate()), Err(ShopFault::ReadOnly(_))));
    }
    fs::remove_dir_all(folder).unwrap();
}
