use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};

use oddment_core::check::{CheckedPlan, check};
use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::part::Part;
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{Loop, Point, Pose, Region, Vector};
use oddment_core::sheet::EdgeKind;
use oddment_rack::facts::{Facts, KeepRule, Material};
use oddment_rack::outline::Outline;
use oddment_rack::record::{Recorded, Recording};
use oddment_rack::sheets::NewSheet;
use oddment_rack::{NewShop, Shop, ShopFault};

/// A folder of its own, gone at the end.
pub(crate) struct Folder(pub(crate) PathBuf);

impl Folder {
    pub(crate) fn new() -> Self {
        static NEXT: AtomicU64 = AtomicU64::new(0);
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let name = format!("oddment-rack-{}-{number}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        Self(folder)
    }

    pub(crate) fn shop_path(&self) -> PathBuf {
        self.0.join("shop.oddment")
    }

    pub(crate) fn shop(&self) -> Shop {
        Shop::create(&self.shop_path(), &new_shop()).unwrap()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

pub(crate) fn new_shop() -> NewShop {
    let keep = KeepRule { amount: 1.15, least: [150.0, 100.0] };
    NewShop {
        name: "Test shop".into(),
        currency: "EUR".into(),
        materials: vec![Material { keep, ..Material::new("S235", 7850.0, 1.15) }],
    }
}

pub(crate) fn plate(label: Option<&str>, width: f64, height: f64) -> NewSheet {
    let facts = Facts {
        material: "s235".into(),
        thickness: 3.0,
        heat: "H 1".into(),
        stands: "rack A".into(),
        ..Facts::default()
    };
    let outline = Outline::rectangle([width, height], EdgeKind::Mill).unwrap();
    NewSheet { label: label.map(str::to_owned), facts, outline, drawing: None }
}

pub(crate) fn rectangle(name: &str, width: f64, height: f64) -> Part {
    let outer = Loop::rectangle(Point::origin(), Point::new(width, height)).unwrap();
    Part::new(name, Region::new(outer, Vec::new()))
}

pub(crate) fn ring(name: &str, outer: f64, inner: f64) -> Part {
    let circle = |r| Loop::circle(Point::new(0.0, 0.0), r).unwrap();
    Part::new(name, Region::new(circle(outer), vec![circle(inner)]))
}

/// All of a shop as JSON.
pub(crate) fn everything(shop: &Shop) -> String {
    let mut written = Vec::new();
    shop.write_everything(&mut written).unwrap();
    String::from_utf8(written).unwrap()
}

/// Kerf 1, web 2, edge distance 3.
pub(crate) const CLEARANCES: Clearances = Clearances {
    kerf: 1.0,
    web: 2.0,
    edge: EdgeDistance::all(3.0),
    sensing: 2.0,
    lay: 0.0,
    common: false,
};

/// A plan on a sheet of the rack: parts with the places of their origins.
pub(crate) fn plan(shop: &Shop, label: &str, parts: &[(Part, f64, f64)]) -> (Job, CheckedPlan) {
    plan_with(shop, label, parts, CLEARANCES)
}

pub(crate) fn plan_with(
    shop: &Shop,
    label: &str,
    parts: &[(Part, f64, f64)],
    clearances: Clearances,
) -> (Job, CheckedPlan) {
    let sheet = shop.sheet(label).unwrap().sheet();
    let wanted = |part: &Part| Wanted { part: part.clone(), count: Count::Exactly(1) };
    let job = Job {
        stock: vec![Stock { sheet, count: 1 }],
        wanted: parts.iter().map(|(part, _, _)| wanted(part)).collect(),
        clearances,
        starts: None,
    };
    let placement = |(part, (_, x, y)): (usize, &(Part, f64, f64))| Placement {
        part,
        copy: 1,
        pose: Pose::new(Vector::new(*x, *y), 0.0, false),
        locked: false,
    };
    let placements = parts.iter().enumerate().map(placement).collect();
    let plan = Plan { layouts: vec![Layout { stock: 0, placements }] };
    let checked = check(&job, plan);
    (job, checked)
}

pub(crate) fn record(
    shop: &mut Shop,
    label: &str,
    (job, checked): &(Job, CheckedPlan),
    recording: Recording,
) -> Result<Recorded, ShopFault> {
    let recorded = shop.record(job, checked, &[(0, label.to_owned(), recording)])?;
    Ok(recorded.into_iter().next().unwrap())
}

#[track_caller]
pub(crate) fn sound(shop: &Shop) {
    assert_eq!(shop.verify().unwrap().problems, Vec::<String>::new());
}
