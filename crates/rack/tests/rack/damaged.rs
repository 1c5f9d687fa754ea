//! Shop files with bytes changed: an answer each time, never a panic.

use oddment_rack::Shop;
use oddment_rack::record::Recording;

use crate::common::{Folder, plan, plate, record, rectangle};

#[test]
fn damaged_files_are_an_answer() {
    let rounds =
        std::env::var("ODDMENT_MUTATIONS").ok().and_then(|n| n.parse().ok()).unwrap_or(150);
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
        let mut bytes = whole.clone();
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
        std::fs::write(&path, &bytes).unwrap();
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
