//! What must hold when the system does not do its part.

use oddment_core::sheet::EdgeKind;
use oddment_files::drawing::ReadOptions;

use super::*;
use crate::exchange::drawn_sheets;
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
    NewSheet { label: None, facts, outline, drawing: None }
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

#[test]
fn a_file_that_may_only_be_read_is_read() {
    let (folder, mut shop) = shop("read-only");
    shop.add(plate()).unwrap();
    let path = shop.path().to_path_buf();
    drop(shop);
    let files =
        || fs::read_dir(&folder).unwrap().map(|e| e.unwrap().file_name()).collect::<Vec<_>>();
    let (content, beside) = (fs::read(&path).unwrap(), files());
    // As it is opened where the system does not let it be written.
    let mut shop = Shop::open_as(&path, false).unwrap();
    assert!(matches!(shop.closed(), Some(ShopFault::ReadOnly(_))));
    assert_eq!(shop.list().unwrap().len(), 1);
    assert!(matches!(shop.add(plate()), Err(ShopFault::ReadOnly(_))));
    let direct = shop.connection.execute("DELETE FROM materials", []).unwrap_err();
    assert!(matches!(ShopFault::from(direct), ShopFault::ReadOnly(_)));
    drop(shop);
    assert_eq!((fs::read(&path).unwrap(), files()), (content, beside));
    fs::remove_dir_all(folder).unwrap();
}

/// How the file itself says that it is written: 1 with a rollback journal, 2 with a write-ahead log.
fn written_with(path: &Path) -> [u8; 2] {
    let bytes = fs::read(path).unwrap();
    [bytes[18], bytes[19]]
}

#[test]
fn a_file_left_with_a_write_ahead_log_gets_a_rollback_journal() {
    let (folder, mut shop) = shop("log");
    let path = shop.path().to_path_buf();
    assert_eq!(written_with(&path), [1, 1]);
    shop.add(plate()).unwrap();
    drop(shop);
    let log = |connection: &Connection| {
        let mode = |row: &rusqlite::Row<'_>| row.get::<_, String>(0);
        let mode = connection.pragma_update_and_check(None, "journal_mode", "WAL", mode).unwrap();
        assert_eq!(mode, "wal");
    };
    let other = Connection::open(&path).unwrap();
    log(&other);
    other.execute("UPDATE shop SET name = 'by another tool'", []).unwrap();
    // Others would have to close it first; until then what they wrote counts, and it is said.
    let mut shop = Shop::open(&path).unwrap();
    assert!(shop.notices().join(" ").contains("write-ahead log"), "{:?}", shop.notices());
    shop.add(plate()).unwrap();
    drop((shop, other));
    let shop = Shop::open(&path).unwrap();
    assert_eq!(written_with(&path), [1, 1]);
    assert!(!shop.notices().join(" ").contains("log"), "{:?}", shop.notices());
    assert_eq!(shop.name_and_currency().unwrap().0, "by another tool");
    assert_eq!(shop.list().unwrap().len(), 2);
    assert_eq!(shop.verify().unwrap().problems, Vec::<String>::new());
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn the_note_of_whoever_writes_is_gone_before_others_may_write() {
    let (folder, mut shop) = shop("note");
    let path = shop.path().to_path_buf();
    let mut note = path.clone().into_os_string();
    note.push(".writing");
    let note = PathBuf::from(note);
    // Somebody who reads keeps the writer from ending.
    let reader = Connection::open(&path).unwrap();
    reader.execute_batch("BEGIN; SELECT count(*) FROM sheets;").unwrap();
    let written = std::thread::spawn(move || shop.add(plate()).unwrap());
    // Once a writer waits to end, nobody else may begin to read.
    let late = Connection::open(&path).unwrap();
    late.busy_timeout(Duration::ZERO).unwrap();
    let count = |c: &Connection| c.query_row("SELECT count(*) FROM sheets", [], |r| r.get(0));
    while count(&late).is_ok_and(|sheets: i64| sheets == 0) {
        std::thread::sleep(Duration::from_millis(1));
    }
    assert!(!note.exists());
    reader.execute_batch("COMMIT").unwrap();
    written.join().unwrap();
    assert_eq!(count(&late).unwrap(), 1);
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_disk_that_is_full_amid_drawings_changes_nothing() {
    let (folder, mut shop) = shop("drawings");
    let label = shop.add(plate()).unwrap();
    let dxf = shop.dxf_of(&label).unwrap();
    let drawings = folder.join("drawings");
    fs::create_dir_all(&drawings).unwrap();
    fs::write(drawings.join("K-1.dxf"), &dxf).unwrap();
    // Long enough to need more pages than the sheets do.
    let long = format!("999\n{}\n{dxf}", "long ".repeat(100_000));
    fs::write(drawings.join("K-2.dxf"), long).unwrap();
    let drawn = || {
        let facts = plate().facts;
        let read = drawn_sheets(&drawings, &facts, &ReadOptions::default(), &mut |_, _| true);
        read.unwrap().unwrap()
    };
    assert_eq!(drawn().not_taken, []);
    let pages: i64 =
        shop.connection.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
    let most = |shop: &Shop, pages: i64| {
        shop.connection.pragma_update_and_check(None, "max_page_count", pages, |_| Ok(())).unwrap();
    };
    most(&shop, pages + 40);
    let before = shop.newest_event().unwrap();
    assert_eq!(shop.take_drawings(drawn()), Err(ShopFault::DiskFull));
    assert_eq!((shop.newest_event().unwrap(), shop.list().unwrap().len()), (before, 1));
    assert_eq!(shop.drawings().unwrap(), Vec::<String>::new());
    assert_eq!(shop.verify().unwrap().problems, Vec::<String>::new());
    most(&shop, 1_000_000);
    assert_eq!(shop.take_drawings(drawn()).unwrap(), ["K-1", "K-2"]);
    assert_eq!(shop.drawings().unwrap().len(), 2);
    assert_eq!(shop.verify().unwrap().problems, Vec::<String>::new());
    fs::remove_dir_all(folder).unwrap();
}
