use oddment_rack::backup;
use oddment_rack::facts::Facts;
use oddment_rack::sheets::NewSheet;
use oddment_rack::{Shop, ShopFault};

use crate::common::{Folder, new_shop, plate, sound};

#[test]
fn a_shop_is_there_again_after_closing() {
    let folder = Folder::new();
    let path = folder.shop_path();
    let label = folder.shop().add(plate(None, 600.0, 400.0)).unwrap();
    let shop = Shop::open(&path).unwrap();
    assert!(shop.closed().is_none());
    let sheet = shop.sheet(&label.to_lowercase()).unwrap();
    assert_eq!(sheet.entry.facts.material, "S235");
    assert_eq!(sheet.entry.facts.density, 7850.0);
    assert!((sheet.entry.weight() - 5.652).abs() < 1e-9);
    assert!(matches!(Shop::create(&path, &new_shop()), Err(ShopFault::Exists)));
    sound(&shop);
}

#[test]
fn other_files_are_refused_and_left_as_they_are() {
    let folder = Folder::new();
    let path = folder.shop_path();
    assert!(matches!(Shop::open(&path), Err(ShopFault::Missing)));
    for content in [&b""[..], b"hello", b"SQLite format 3\0 and nothing more"] {
        std::fs::write(&path, content).unwrap();
        assert!(Shop::open(&path).is_err());
        assert_eq!(std::fs::read(&path).unwrap(), content);
    }
}

#[test]
fn a_file_of_a_newer_program_is_refused_with_a_sentence() {
    let folder = Folder::new();
    let path = folder.shop_path();
    drop(folder.shop());
    let connection = rusqlite::Connection::open(&path).unwrap();
    connection.pragma_update(None, "user_version", 99).unwrap();
    drop(connection);
    let before = std::fs::read(&path).unwrap();
    let said = Shop::open(&path).err().unwrap().to_string();
    assert!(said.contains("version 99") && said.contains("use the newer program"), "{said}");
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

#[test]
fn a_damaged_file_can_be_read_as_far_as_it_goes_and_a_backup_is_offered() {
    let folder = Folder::new();
    let path = folder.shop_path();
    let mut shop = folder.shop();
    for _ in 0..200 {
        shop.add(plate(None, 600.0, 400.0)).unwrap();
    }
    drop(shop);
    drop(Shop::open(&path).unwrap());
    let good = backup::newest_good(&path).unwrap();
    let whole = std::fs::read(&path).unwrap();
    let mut bytes = whole.clone();
    let middle = bytes.len() / 2;
    bytes[middle..middle + 20_000].fill(0x5A);
    std::fs::write(&path, &bytes).unwrap();
    // Known to be damaged at once, though there is nothing new to make a backup of.
    let mut shop = Shop::open(&path).unwrap();
    match shop.closed() {
        Some(ShopFault::Damaged { backup: Some(backup), .. }) => assert_eq!(*backup, good),
        other => panic!("{other:?}"),
    }
    let _ = shop.list();
    assert!(!shop.verify().unwrap().problems.is_empty());
    assert!(shop.add(plate(None, 10.0, 10.0)).is_err());
    drop(shop);
    // Without its head nothing can be read at all.
    let mut bytes = whole;
    bytes[..100].fill(0);
    std::fs::write(&path, bytes).unwrap();
    let said = Shop::open(&path).err().unwrap().to_string();
    assert!(said.contains(&good.display().to_string()), "{said}");
}

#[test]
fn what_no_sheet_can_be_is_refused_with_all_reasons() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let facts = Facts { material: "unobtainium".into(), bow: Some(f64::NAN), ..Facts::default() };
    let outline = plate(None, 1.0, 1.0).outline;
    let said =
        shop.add(NewSheet { label: None, facts, outline, drawing: None }).unwrap_err().to_string();
    for word in ["thickness", "density of unobtainium", "bow"] {
        assert!(said.contains(word), "{said}");
    }
    assert_eq!(shop.newest_event().unwrap(), 0);
}

#[test]
fn two_at_once_wait_for_each_other() {
    let folder = Folder::new();
    let path = folder.shop_path();
    drop(folder.shop());
    let adding = |who: &'static str| {
        let path = path.clone();
        std::thread::spawn(move || {
            let mut shop = Shop::open(&path).unwrap();
            shop.set_who(who);
            for _ in 0..50 {
                shop.add(plate(None, 600.0, 400.0)).unwrap();
            }
        })
    };
    for thread in [adding("ann"), adding("bob")] {
        thread.join().unwrap();
    }
    let shop = Shop::open(&path).unwrap();
    assert_eq!(shop.list().unwrap().len(), 100);
    assert_eq!(shop.events(200).unwrap().len(), 100);
    sound(&shop);
}

/// Tells the worker below which file to read, and whether its folder may be written.
#[cfg(unix)]
const READ: &str = "ODDMENT_RACK_READ";

/// What a person may do who may not write: told by [`READ`], or nothing.
#[cfg(unix)]
#[test]
fn a_reader_of_the_other_test() {
    let Ok(path) = std::env::var(READ) else { return };
    let path = std::path::Path::new(&path);
    let mut shop = Shop::open(path).unwrap();
    assert_eq!(shop.list().unwrap().len(), 1);
    let refused = shop.add(plate(None, 600.0, 400.0)).unwrap_err();
    if std::fs::OpenOptions::new().write(true).open(path).is_err() {
        assert!(matches!(shop.closed(), Some(ShopFault::ReadOnly(_))));
        assert!(matches!(refused, ShopFault::ReadOnly(_)), "{refused:?}");
    } else {
        // Without a place for its journal nothing is written.
        assert!(shop.notices().join(" ").contains("No backup was made"), "{:?}", shop.notices());
        assert!(refused.to_string().contains("its folder may not be written"), "{refused}");
    }
    assert_eq!(shop.list().unwrap().len(), 1);
}

#[cfg(unix)]
#[test]
fn a_file_or_folder_that_may_not_be_written_is_read() {
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    use std::os::unix::process::CommandExt;
    let folder = Folder::new();
    let path = folder.shop_path();
    folder.shop().add(plate(None, 600.0, 400.0)).unwrap();
    // Who may do everything may write this too: then somebody else reads, who must reach the program.
    let program = folder.0.join("reader");
    std::fs::copy(std::env::current_exe().unwrap(), &program).unwrap();
    let is_root = std::fs::metadata(&program).unwrap().uid() == 0;
    let mode = |path: &std::path::Path, mode| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    let before = std::fs::read(&path).unwrap();
    for (of_file, of_folder) in [(0o444, 0o755), (0o666, 0o555)] {
        mode(&path, of_file);
        mode(&folder.0, of_folder);
        let mut reader = std::process::Command::new(&program);
        reader.args(["--exact", "opening::a_reader_of_the_other_test"]).env(READ, &path);
        if is_root {
            reader.uid(65_534).gid(65_534);
        }
        let done = reader.output().unwrap();
        mode(&folder.0, 0o755);
        assert!(done.status.success(), "{of_file:o}: {}", String::from_utf8_lossy(&done.stdout));
        assert!(String::from_utf8_lossy(&done.stdout).contains("1 passed"));
    }
    assert_eq!(std::fs::read(&path).unwrap(), before);
}
