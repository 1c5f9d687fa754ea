//! The program ended at any moment, and two programs at once on one file.
//!
//! The tests start themselves anew as the program to be ended: the test binary runs its own
//! [`a_worker_of_the_other_tests`], which does nothing unless it is told to.

use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use oddment_rack::Shop;
use oddment_rack::record::{BarRecording, Recording};
use rusqlite::Connection;

use crate::bars;
use crate::common::{Folder, new_shop, plan, plate, record, rectangle, sound};

/// Tells the worker what to do, and on which file.
const TASK: &str = "ODDMENT_RACK_TASK";
const FILE: &str = "ODDMENT_RACK_FILE";

/// How often the program is ended, unless the environment says otherwise: 200 for the full figure.
fn moments() -> u64 {
    number("ODDMENT_KILLS", 12)
}

/// How many cuts each of two programs records: 500 for the full figure.
fn recordings() -> u64 {
    number("ODDMENT_RECORDINGS", 20)
}

fn number(name: &str, usual: u64) -> u64 {
    std::env::var(name).ok().and_then(|n| n.parse().ok()).unwrap_or(usual)
}

fn worker(task: &str, file: &Path) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "interrupted::a_worker_of_the_other_tests", "--nocapture"])
        .env(TASK, task)
        .env(FILE, file)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
fn a_worker_of_the_other_tests() {
    let (Ok(task), Ok(file)) = (std::env::var(TASK), std::env::var(FILE)) else { return };
    let file = Path::new(&file);
    match task.as_str() {
        "busy" => loop {
            let mut shop = Shop::open(file).unwrap();
            for _ in 0..20 {
                let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
                let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
                record(&mut shop, &label, &planned, Recording::default()).unwrap();
                shop.undo(None).unwrap();
                shop.hold(&label, "order 1", None).unwrap();
                let bar = shop.add(bars::bar(2000.0)).unwrap();
                let mut list = bars::list(&[(500.0, 2)]);
                list.stock = shop.bars_for(&list, None).unwrap();
                list.stock.retain(|stock| stock.name == bar);
                bars::record(&mut shop, &list, &BarRecording::default()).unwrap();
            }
        },
        "record" => {
            let mut shop = Shop::open(file).unwrap();
            // Both programs cut from all sheets, so that each sees what the other did.
            let labels: Vec<String> = shop.list().unwrap().into_iter().map(|e| e.label).collect();
            let name = format!("part-{}", std::process::id());
            let mut done = 0;
            while done < recordings() {
                let label = &labels[done as usize % labels.len()];
                let place = free_place(&shop, label);
                let planned =
                    plan(&shop, label, &[(rectangle(&name, 10.0, 10.0), place.0, place.1)]);
                // Where the other was faster the plan is refused, and made anew.
                if record(&mut shop, label, &planned, Recording::default()).is_ok() {
                    done += 1;
                }
            }
        }
        "bring up" => {
            let shop = Shop::open(file).unwrap();
            // What comes after it is not what is looked at.
            std::thread::sleep(Duration::from_secs(60));
            drop(shop);
        }
        other => panic!("no task {other}"),
    }
}

/// Where the next 10 × 10 part goes on a sheet, in rows.
fn free_place(shop: &Shop, label: &str) -> (f64, f64) {
    let cut = shop.sheet(label).unwrap().outline.pieces[0].cutouts.len();
    (10.0 + 18.0 * (cut % 50) as f64, 10.0 + 18.0 * (cut / 50) as f64)
}

#[test]
fn ended_at_any_moment_the_file_is_as_before_or_after() {
    let folder = Folder::new();
    let path = folder.shop_path();
    drop(folder.shop());
    let mut random = fastrand::Rng::with_seed(7);
    let (mut sheets, mut events) = (0, 0);
    for _ in 0..moments() {
        let mut child = worker("busy", &path);
        std::thread::sleep(Duration::from_millis(60 + random.u64(0..400)));
        child.kill().unwrap();
        child.wait().unwrap();
        let shop = Shop::open(&path).unwrap();
        assert!(shop.closed().is_none(), "{:?}", shop.closed());
        sound(&shop);
        // What was there once is never lost.
        let now = (shop.list_all().unwrap().len(), shop.newest_event().unwrap());
        assert!(now.0 >= sheets && now.1 >= events, "{now:?}");
        // Of each sheet either all of a cut is there or nothing.
        for entry in shop.list_all().unwrap() {
            let cut = shop.cuts_of(&entry.label).unwrap().len();
            if let Some(bar) = &entry.facts.bar {
                assert_eq!(usize::from(!bar.is_whole(entry.size[0])), cut, "{}", entry.label);
                continue;
            }
            let cutouts = shop.outline_of(&entry).unwrap().pieces[0].cutouts.len();
            assert_eq!(cutouts, cut, "{}", entry.label);
        }
        (sheets, events) = now;
    }
    assert!(events > 0, "the program was always ended before it did anything");
}

/// What came with which version: a table, or an index of one that was there.
const CAME: [(i64, &str); 10] = [
    (6, "INDEX states_of_shape"),
    (6, "INDEX stock_marks_of_sheet"),
    (6, "INDEX shop_values_of_event"),
    (5, "TABLE fillers"),
    (4, "TABLE profiles"),
    (3, "TABLE shop_values"),
    (2, "TABLE stock_marks"),
    (2, "TABLE stock_takes"),
    (2, "TABLE orders"),
    (2, "TABLE drawings"),
];

/// A file as a program of an older version left it, that knew none of what came since.
fn old_file(path: &Path, version: i64, sheets: usize) {
    let mut shop = Shop::create(path, &new_shop()).unwrap();
    shop.add_all(vec![plate(None, 600.0, 400.0); sheets]).unwrap();
    drop(shop);
    let connection = Connection::open(path).unwrap();
    for (_, what) in CAME.iter().filter(|(came, _)| *came > version) {
        connection.execute(&format!("DROP {what}"), []).unwrap();
    }
    connection.pragma_update(None, "user_version", version).unwrap();
}

fn version(path: &Path) -> i64 {
    let connection = Connection::open(path).unwrap();
    connection.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap()
}

#[test]
fn ended_while_it_is_brought_up_to_date_the_file_is_old_or_new() {
    let folder = Folder::new();
    let path = folder.shop_path();
    let newest = {
        let new = folder.0.join("new.oddment");
        drop(Shop::create(&new, &new_shop()).unwrap());
        version(&new)
    };
    assert_eq!(newest, CAME[0].0, "say what came with version {newest}");
    let old: Vec<_> = (1..newest).map(|n| folder.0.join(format!("old-{n}.oddment"))).collect();
    for (version, old) in (1..).zip(&old) {
        old_file(old, version, 300);
    }
    let mut random = fastrand::Rng::with_seed(11);
    let mut waits = 40;
    let mut ended = [0, 0];
    for (round, before) in (0..moments()).zip((1..newest).cycle()) {
        std::fs::copy(&old[before as usize - 1], &path).unwrap();
        let mut child = worker("bring up", &path);
        std::thread::sleep(Duration::from_millis(random.u64(0..=waits)));
        child.kill().unwrap();
        child.wait().unwrap();
        let now = version(&path);
        assert!(now == before || now == newest, "round {round}: version {before} is {now}");
        // Where the program was always too fast or too slow, it is ended later or earlier.
        let is_new = now == newest;
        ended[usize::from(is_new)] += 1;
        waits = if is_new { (waits * 9 / 10).max(2) } else { (waits * 11 / 10 + 1).min(2000) };
        let shop = Shop::open(&path).unwrap();
        assert!(shop.closed().is_none(), "{:?}", shop.closed());
        assert_eq!((version(&path), shop.list().unwrap().len()), (newest, 300));
        sound(&shop);
        drop(shop);
        let _ = std::fs::remove_dir_all(oddment_rack::backup::folder(&path));
        for more in ["-wal", "-shm", "-journal"] {
            let mut name = path.clone().into_os_string();
            name.push(more);
            let _ = std::fs::remove_file(name);
        }
    }
    eprintln!(
        "from {} versions: ended before it was brought up {} times, after {} times",
        old.len(),
        ended[0],
        ended[1]
    );
}

#[test]
fn two_programs_record_on_one_file_and_nothing_is_lost() {
    let folder = Folder::new();
    let path = folder.shop_path();
    let mut shop = Shop::create(&path, &new_shop()).unwrap();
    for _ in 0..2 {
        shop.add(plate(None, 1000.0, 1000.0)).unwrap();
    }
    let children = [worker("record", &path), worker("record", &path)];
    for mut child in children {
        assert!(child.wait().unwrap().success());
    }
    sound(&shop);
    let made: usize = shop
        .list()
        .unwrap()
        .iter()
        .map(|e| shop.cuts_of(&e.label).unwrap().iter().map(|c| c.parts.len()).sum::<usize>())
        .sum();
    assert_eq!(made as u64, 2 * recordings());
    let cutouts: usize = shop
        .list()
        .unwrap()
        .iter()
        .map(|e| shop.outline_of(e).unwrap().pieces[0].cutouts.len())
        .sum();
    assert_eq!(cutouts, made);
}
