//! The shop file with 5,000 and with 100,000 sheets: opening, listing, filtering, finding room.

use std::path::{Path, PathBuf};
use std::time::Instant;

use oddment_core::distances::Clearances;
use oddment_core::fit::RESOLUTION;
use oddment_core::job::{Budget, Stop};
use oddment_core::part::Part;
use oddment_core::shape::{Loop, LoopFault, Point, Region, SheetSpace};
use oddment_core::sheet::{EdgeFacts, EdgeKind};
use oddment_rack::facts::{Facts, Material};
use oddment_rack::find::{Found, Loadable, Room, Wish, decide};
use oddment_rack::outline::{EdgeNote, Outline, Source};
use oddment_rack::sheets::NewSheet;
use oddment_rack::{NewShop, Shop, ShopFault};

use crate::report::Table;

/// Remnants that are asked for room.
const ASKED: usize = 2_000;

/// Seconds that the question may take at most; what is not decided then counts.
const PATIENCE: f64 = 30.0;

/// Figures for both sizes.
pub(crate) fn run() -> Table {
    let mut table = Table::new();
    for count in [5_000, 100_000] {
        let folder = std::env::temp_dir().join(format!("oddment-bench-{}", std::process::id()));
        if let Err(fault) = measure(&mut table, &folder, count) {
            eprintln!("error: {fault}");
        }
        let _ = std::fs::remove_dir_all(&folder);
    }
    table
}

fn measure(table: &mut Table, folder: &Path, count: usize) -> Result<(), ShopFault> {
    let _ = std::fs::create_dir_all(folder);
    let path: PathBuf = folder.join("shop.oddment");
    let materials = vec![Material::new("S235", 7850.0, 1.15), Material::new("5754", 2670.0, 4.8)];
    let new = NewShop { name: "Bench".into(), currency: "EUR".into(), materials };
    let mut shop = Shop::create(&path, &new)?;
    let mut random = fastrand::Rng::with_seed(3);
    for start in (0..count).step_by(5_000) {
        let batch = (start..(start + 5_000).min(count)).map(|_| remnant(&mut random));
        shop.add_all(
            batch
                .collect::<Result<_, _>>()
                .map_err(|f: LoopFault| ShopFault::Refused(f.to_string()))?,
        )?;
    }
    drop(shop);
    // A first opening makes the backup.
    drop(Shop::open(&path)?);
    let size = std::fs::metadata(&path).map_or(0, |m| m.len()) as f64 / 1e6;
    table.add(format!("{count} sheets: size of the file"), size, "MB", None);
    let most = (count == 5_000).then_some(1000.0);
    table.time(format!("{count} sheets: open"), most, || Shop::open(&path).map(drop));
    let shop = Shop::open(&path)?;
    table.time(format!("{count} sheets: list"), most, || shop.list());
    let list = shop.list()?;
    table.time(format!("{count} sheets: filter by three words"), None, || {
        list.iter().filter(|e| e.matches("s235 3mm rack b")).count()
    });
    table.time(format!("{count} sheets: one sheet with its shape"), None, || shop.sheet("R-0777"));
    let wish = bracket()?;
    if count == 5_000 {
        find_on(table, &shop, &wish)?;
    }
    // As a shop asks: of one metal and thickness.
    let wish = Wish { material: Some("S235".into()), thickness: Some(3.0), ..wish };
    let begun = Instant::now();
    let found = shop.find(&wish, &budget(&|| is_late(begun)), &mut |_, _| {})?;
    let name = format!("{count} sheets: find room, any angle, on the {} of 3 mm S235", found.len());
    tell_found(table, &name, begun, &found, None);
    Ok(())
}

fn is_late(begun: Instant) -> bool {
    begun.elapsed().as_secs_f64() > PATIENCE
}

fn budget<'a>(time_up: &'a (dyn Fn() -> bool + Sync)) -> Budget<'a> {
    Budget { steps: None, time_up, stop: Stop::default() }
}

fn tell_found(table: &mut Table, name: &str, begun: Instant, found: &[Found], most: Option<f64>) {
    table.add(name, begun.elapsed().as_secs_f64(), "s", most);
    let count = |is: &dyn Fn(&Room) -> bool| found.iter().filter(|f| is(&f.room)).count() as f64;
    table.add("of them have room", count(&|r| matches!(r, Room::Has { .. })), "", None);
    table.add("not decided", count(&|r| *r == Room::NotDecided), "", Some(0.0));
}

/// Room for a bracket.
fn bracket() -> Result<Wish, ShopFault> {
    let fault = |f: LoopFault| ShopFault::Refused(f.to_string());
    let points = [
        (0.0, 0.0),
        (220.0, 0.0),
        (220.0, 60.0),
        (90.0, 60.0),
        (60.0, 90.0),
        (60.0, 180.0),
        (0.0, 180.0),
    ];
    let outer = Loop::polygon(points.map(|(x, y)| Point::new(x, y))).map_err(fault)?;
    Ok(Wish {
        typed: String::new(),
        material: None,
        thickness: None,
        loadable: Loadable::default(),
        order: None,
        certificate: false,
        part: Part::new("bracket", Region::new(outer, Vec::new())),
        clearances: Clearances::STARTING,
        by_thickness: Vec::new(),
        resolution: RESOLUTION,
    })
}

/// 2,000 remnants of all metals asked for room.
fn find_on(table: &mut Table, shop: &Shop, wish: &Wish) -> Result<(), ShopFault> {
    let mut sheets = Vec::new();
    for entry in shop.list()?.into_iter().take(ASKED) {
        let outline = shop.outline_of(&entry)?;
        sheets.push((entry, outline));
    }
    let begun = Instant::now();
    let found = decide(sheets, wish, &budget(&|| is_late(begun)), &mut |_, _| {});
    tell_found(table, &format!("room on {ASKED} remnants, any angle"), begun, &found, Some(2.0));
    Ok(())
}

/// The metal of a remnant with some to many round and square cut-outs.
pub(crate) fn remnant_region(random: &mut fastrand::Rng) -> Result<Region<SheetSpace>, LoopFault> {
    let mut side = |least: f64, most: f64| least + (most - least) * random.f64();
    let (width, height) = (side(250.0, 1500.0).round(), side(200.0, 900.0).round());
    let cell = 60.0;
    let (columns, rows) = ((width / cell) as usize, (height / cell) as usize);
    let share = side(0.05, 0.6);
    let mut holes: Vec<Loop<SheetSpace>> = Vec::new();
    for i in 0..columns * rows {
        let (x, y) = ((i % columns) as f64 * cell + 8.0, (i / columns) as f64 * cell + 8.0);
        if random.f64() < share {
            let size = 12.0 + 30.0 * random.f64();
            holes.push(if random.bool() {
                Loop::circle(Point::new(x + size / 2.0, y + size / 2.0), size / 2.0)?
            } else {
                Loop::rectangle(Point::new(x, y), Point::new(x + size, y + size))?
            });
        }
    }
    let outer = Loop::rectangle(Point::origin(), Point::new(width, height))?;
    Ok(Region::new(outer, holes))
}

/// A remnant of any metal.
fn remnant(random: &mut fastrand::Rng) -> Result<NewSheet, LoopFault> {
    let region = remnant_region(random)?;
    let facts = EdgeFacts { kind: EdgeKind::Mill, give_or_take: 1.0 };
    let note = EdgeNote { facts, source: Source::Drawing };
    let outline = Outline::uniform(&[region], note);
    let steel = random.u32(0..10) < 7;
    let facts = Facts {
        material: if steel { "S235" } else { "5754" }.to_owned(),
        thickness: f64::from(random.u32(1..7)),
        stands: format!("rack {}, slot {}", char::from(b'A' + random.u8(0..6)), random.u32(1..40)),
        heat: format!("H {}", random.u32(10_000..99_999)),
        ..Facts::default()
    };
    Ok(NewSheet { label: None, facts, outline, drawing: None })
}
