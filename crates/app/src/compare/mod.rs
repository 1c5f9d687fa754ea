//! The question which sheets an order should come from, put together from the shop file.

mod comparing;
mod told;

use oddment_core::compare::{Candidate, Question, Source, Want};
use oddment_core::distances::{Clearances, StartRule};
use oddment_core::leftover::Keeping;
use oddment_core::sheet::{EdgeFacts, EdgeKind, Metal};
use oddment_files::job_file::{CutWishes, sheet_rectangle};
use oddment_files::values::Values;
use oddment_rack::facts::Material;
use oddment_rack::find::Loadable;
use oddment_rack::outline::Outline;
use oddment_rack::sheets::Entry;
use oddment_rack::{Shop, ShopFault, when};

pub use comparing::{CompareAct, Comparing, Wishes};
pub use told::{NoPlace, no_place, why};

/// Thicknesses may differ by so much (mm) and count as equal.
const SAME: f64 = 1e-3;

/// Seconds of a day.
const DAY: f64 = 86_400.0;

/// Give or take (mm) of a bought sheet's edges.
const DELIVERED: f64 = 1.0;

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// The order. Its parts say nothing of their metal: `material` and `thickness` do.
    pub wanted: Vec<Want>,
    /// The material.
    pub material: String,
    /// Thickness, mm.
    pub thickness: f64,
    /// Whether materials that may stand in for it come into question too.
    pub stand_ins: bool,
    /// The order it is for: sheets held for others are left out.
    pub order: Option<String>,
    /// Whether sheets of the rack must have a certificate and a heat number. What is bought comes into
    /// question all the same: it can be bought with one.
    pub certificate: bool,
    /// What the machine can take.
    pub loadable: Loadable,
    /// Sides (mm) of the fresh sheets that can be bought; the shop's where `None`.
    pub fresh: Option<Vec<[f64; 2]>>,
    /// The rule of distances.
    pub clearances: Clearances,
    /// What starts need, where every contour must have one.
    pub starts: Option<StartRule>,
    /// On which machine and with which gas.
    pub cut: CutWishes,
}

/// The question, and which sheets of the rack its candidates are.
#[derive(Clone, Debug)]
pub struct Posed {
    /// The question.
    pub question: Question,
    /// Of each candidate from the rack its label.
    pub labels: Vec<Option<String>>,
    seen: Vec<Seen>,
    materials: Vec<Material>,
    asked: Asked,
}

/// What of a sheet of the rack matters here.
type Seen = (String, i64, Option<f64>, f64, bool);

fn seen(entry: &Entry) -> Seen {
    let f = &entry.facts;
    (entry.label.clone(), entry.shape, f.value, entry.weight(), f.setup.is_some())
}

/// Why nothing can be compared.
#[derive(Debug, thiserror::Error)]
pub enum NoQuestion {
    /// The shop does not know the material.
    #[error("the shop has no material {0}; it has {1}")]
    UnknownMaterial(String, String),
    /// No sheet in the rack, and none that can be bought.
    #[error(
        "there is no {thickness} mm {material}{} that the machine can take and nobody holds; name \
         fresh sizes that can be bought",
        if *certificate { " with a certificate and a heat number" } else { "" }
    )]
    NoSheet {
        /// Material.
        material: String,
        /// Thickness, mm.
        thickness: f64,
        /// Whether it had to have a certificate.
        certificate: bool,
    },
    /// The shop file can't be read.
    #[error(transparent)]
    Shop(#[from] ShopFault),
}

/// Puts the question together, with the values that hold.
///
/// # Errors
/// [`NoQuestion`].
pub fn pose(shop: &Shop, values: &Values, asked: &Asked) -> Result<Posed, NoQuestion> {
    let materials = shop.materials()?;
    let Some(material) = known(&materials, &asked.material) else {
        let names: Vec<&str> = materials.iter().map(|m| m.name.as_str()).collect();
        return Err(NoQuestion::UnknownMaterial(asked.material.clone(), names.join(", ")));
    };
    let mut candidates = Vec::new();
    let mut labels = Vec::new();
    let list = shop.list()?;
    let suitable = suitable(&list, &materials, asked);
    for (entry, of) in &suitable {
        let sheet = shop.sheet(&entry.label)?;
        let is_full = is_full(&sheet.entry, &sheet.outline, values.fresh_sizes());
        let source = if is_full { Source::InStock } else { Source::Remnant };
        candidates.push(from_rack(&sheet.entry, sheet.sheet(), source, of.keeping()));
        labels.push(Some(entry.label.clone()));
    }
    let metal = Metal {
        material: material.name.clone(),
        thickness: asked.thickness,
        density: material.density,
    };
    for size in asked.fresh.as_deref().unwrap_or(values.fresh_sizes()) {
        if let Some(fresh) = fresh_sheet(*size, &metal, material.keeping()) {
            let lies =
                |[w, h]: [f64; 2]| (size[0] <= w && size[1] <= h) || (size[1] <= w && size[0] <= h);
            if asked.loadable.bed.is_none_or(lies)
                && asked.loadable.weight.is_none_or(|most| fresh.weight <= most)
            {
                candidates.push(fresh);
                labels.push(None);
            }
        }
    }
    if candidates.is_empty() {
        let (material, thickness) = (material.name.clone(), asked.thickness);
        let certificate = asked.certificate;
        return Err(NoQuestion::NoSheet { material, thickness, certificate });
    }
    let question = Question {
        wanted: asked.wanted.clone(),
        candidates,
        clearances: asked.clearances,
        starts: asked.starts,
        cut: values.cutting(&asked.cut, &metal),
        policies: *values.policies(),
    };
    let seen = suitable.iter().map(|(entry, _)| seen(entry)).collect();
    Ok(Posed { question, labels, seen, materials, asked: asked.clone() })
}

impl Posed {
    /// What was asked.
    pub fn asked(&self) -> &Asked {
        &self.asked
    }

    /// Labels of the sheets that have changed in the rack since, are gone or held by others, or have
    /// come; `sheets` and `materials` are those of now.
    pub fn changed(&self, sheets: &[Entry], materials: &[Material]) -> Vec<String> {
        let now: Vec<Seen> =
            suitable(sheets, materials, &self.asked).iter().map(|(entry, _)| seen(entry)).collect();
        let differ = |a: &[Seen], b: &[Seen]| {
            a.iter().filter(|s| !b.contains(s)).map(|s| s.0.clone()).collect::<Vec<_>>()
        };
        let mut changed = differ(&self.seen, &now);
        changed.extend(differ(&now, &self.seen));
        changed.sort();
        changed.dedup();
        changed
    }

    /// Whether what is known of the materials that matter has changed since.
    pub fn repriced(&self, materials: &[Material]) -> bool {
        let matters = |m: &&Material| {
            known(&self.materials, &self.asked.material)
                .is_some_and(|of| may_be(m, of, &self.asked))
        };
        !self.materials.iter().filter(matters).eq(materials.iter().filter(matters))
    }
}

/// Holds the rack's sheets among these candidates for an order and says which; none where one of them
/// has changed since it was looked at.
///
/// # Errors
/// Where one has changed or can't be held.
pub fn hold_all(
    shop: &mut Shop,
    posed: &Posed,
    candidates: impl IntoIterator<Item = usize>,
    order: &str,
) -> Result<Vec<String>, ShopFault> {
    let mut labels: Vec<String> =
        candidates.into_iter().filter_map(|c| posed.labels[c].clone()).collect();
    labels.dedup();
    let changed = posed.changed(&shop.list()?, &shop.materials()?);
    let changed: Vec<&str> =
        labels.iter().filter(|l| changed.contains(l)).map(String::as_str).collect();
    if !changed.is_empty() {
        let names = changed.join(" and ");
        let sentence = format!("{names} changed meanwhile, so nothing was held; compare again");
        return Err(ShopFault::refused(sentence));
    }
    for label in &labels {
        shop.hold(label, order, None)?;
    }
    Ok(labels)
}

fn known<'a>(materials: &'a [Material], name: &str) -> Option<&'a Material> {
    materials.iter().find(|m| m.name.eq_ignore_ascii_case(name.trim()))
}

/// The sheets of the rack that come into question, going by what is known of them, and their material.
fn suitable<'a>(
    sheets: &'a [Entry],
    materials: &'a [Material],
    asked: &Asked,
) -> Vec<(&'a Entry, &'a Material)> {
    let Some(material) = known(materials, &asked.material) else { return Vec::new() };
    let suits = |entry: &&Entry| {
        let held = entry.facts.held_for_another(asked.order.as_deref());
        entry.facts.whereabouts.is_here()
            && entry.facts.bar.is_none()
            && held.is_none()
            && (!asked.certificate || entry.facts.is_certified())
            && (entry.facts.thickness - asked.thickness).abs() <= SAME
            && asked.loadable.takes(entry)
    };
    let of = |entry: &'a Entry| {
        let of = known(materials, &entry.facts.material)?;
        may_be(of, material, asked).then_some((entry, of))
    };
    sheets.iter().filter(suits).filter_map(of).collect()
}

/// Whether a sheet of one material may be used where another is asked for.
fn may_be(of: &Material, wanted: &Material, asked: &Asked) -> bool {
    let stands_in = || wanted.stand_ins.iter().any(|s| s.eq_ignore_ascii_case(&of.name));
    of.name == wanted.name || (asked.stand_ins && stands_in())
}

/// Whether it is a full sheet: one rectangle, no smaller than what is sold, that nobody has cut from.
fn is_full(entry: &Entry, outline: &Outline, sold: &[[f64; 2]]) -> bool {
    let [w, h] = entry.size;
    let holds = |[a, b]: &[f64; 2]| w.max(h) > a.max(*b) - 5.0 && w.min(h) > a.min(*b) - 5.0;
    let [piece] = &outline.pieces[..] else { return false };
    sold.iter().any(holds)
        && piece.cutouts.is_empty()
        && outline.no_go.is_empty()
        && entry.facts.parent.is_none()
        && (w * h - entry.area).abs() < 1.0
        && piece.outer.notes().iter().all(|n| n.facts.kind == EdgeKind::Mill)
}

fn from_rack(
    entry: &Entry,
    sheet: oddment_core::sheet::Sheet,
    source: Source,
    keeping: Keeping,
) -> Candidate {
    Candidate {
        sheet,
        count: 1,
        source,
        weight: entry.weight(),
        value: entry.facts.value,
        keeping,
        days: Some((when::now() - entry.facts.came) as f64 / DAY),
    }
}

/// Fresh sheets of a size, as many as are needed; their grain runs along the first side, as they are
/// rolled.
pub fn fresh_sheet(
    [width, height]: [f64; 2],
    metal: &Metal,
    keeping: Keeping,
) -> Option<Candidate> {
    let (mut sheet, _) = sheet_rectangle(format!("{width}x{height}"), width, height).ok()?;
    let facts = EdgeFacts { kind: EdgeKind::Mill, give_or_take: DELIVERED };
    let regions: Vec<_> = sheet.bodies.iter().map(|b| b.region()).collect();
    sheet = oddment_core::sheet::Sheet::new(sheet.name, &regions, facts);
    sheet.made_of = Some(metal.clone());
    sheet.grain = Some(0.0);
    let weight = metal.weight(sheet.area());
    Some(Candidate {
        sheet,
        count: MOST_BOUGHT,
        source: Source::ToBuy,
        weight,
        value: None,
        keeping,
        days: None,
    })
}

/// No order takes more sheets of a size.
const MOST_BOUGHT: usize = 1_000;

#[cfg(test)]
mod tests {
    use oddment_core::compare::{WayKind, compare};
    use oddment_core::job::{Budget, Stop};
    use oddment_core::part::Part;
    use oddment_rack::sheets::NewSheet;

    use super::*;
    use crate::rack::create_sample_shop;
    use crate::sample_shop::SampleShop;

    #[test]
    fn a_rectangle_smaller_than_what_is_sold_is_a_remnant() {
        let folder = tempfile::tempdir().unwrap();
        let mut shop = create_sample_shop(&folder.path().join("shop.oddment")).unwrap();
        let add = |shop: &mut Shop, w: f64, h: f64| {
            let metal = Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 };
            let keeping = shop.materials().unwrap()[0].keeping();
            let sheet = fresh_sheet([w, h], &metal, keeping).unwrap().sheet;
            let outline = Outline::of_sheet(&sheet, oddment_rack::outline::Source::Drawing);
            let facts = oddment_rack::facts::Facts {
                material: "S235".into(),
                thickness: 3.0,
                density: 7850.0,
                ..Default::default()
            };
            let label = shop.add(NewSheet { label: None, facts, outline, drawing: None }).unwrap();
            let sheet = shop.sheet(&label).unwrap();
            is_full(&sheet.entry, &sheet.outline, Values::starting().fresh_sizes())
        };
        assert!(!add(&mut shop, 800.0, 400.0));
        // A little short of its nominal size, and lying the other way round.
        assert!(add(&mut shop, 1247.0, 2498.0));
    }

    #[test]
    fn an_order_with_a_certificate_comes_from_certified_sheets_or_what_is_bought() {
        let folder = std::env::temp_dir().join(format!("oddment-certified-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let mut shop = create_sample_shop(&folder.join("shop.oddment")).unwrap();
        shop.correct("S3-041", |f| (f.heat, f.certificate) = ("H 1".into(), "3.1".into())).unwrap();
        shop.correct("S3-044", |f| f.certificate = String::new()).unwrap();
        let asked = |certificate| Asked {
            wanted: Vec::new(),
            material: "S235".into(),
            thickness: 3.0,
            stand_ins: false,
            order: None,
            certificate,
            loadable: Loadable::default(),
            fresh: None,
            clearances: Clearances::STARTING,
            starts: None,
            cut: CutWishes::default(),
        };
        let values = Values::starting();
        let labels = |certificate| pose(&shop, values, &asked(certificate)).unwrap().labels;
        assert!(labels(false).contains(&Some("S3-044".into())));
        let certified = labels(true);
        let of_rack: Vec<&String> = certified.iter().flatten().collect();
        assert!(
            of_rack.contains(&&"S3-041".to_owned()) && !of_rack.contains(&&"S3-044".to_owned())
        );
        for label in of_rack {
            assert!(shop.sheet(label).unwrap().entry.facts.is_certified(), "{label}");
        }
        assert!(certified.contains(&None));
        // A certificate that is found later is a change.
        let posed = pose(&shop, values, &asked(true)).unwrap();
        shop.correct("S3-044", |f| (f.heat, f.certificate) = ("H 2".into(), "3.1".into())).unwrap();
        let changed = posed.changed(&shop.list().unwrap(), &shop.materials().unwrap());
        assert_eq!(changed, ["S3-044"]);
        let _ = std::fs::remove_dir_all(&folder);
    }

    /// Told in a second that a fresh sheet is cheapest, a person would not wait for the remnant that
    /// takes all: a comparison is settled only once that was tried hard.
    #[test]
    fn a_remnant_that_takes_all_after_a_longer_search_is_found_before_it_is_settled() {
        let folder = std::env::temp_dir().join(format!("oddment-settled-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let shop = create_sample_shop(&folder.join("shop.oddment")).unwrap();
        let (sample, values) = (SampleShop::load().unwrap(), Values::starting());
        let wanted = sample.order("Front racks").unwrap().lines.iter().map(|(part, count)| {
            let part = sample.parts[*part].part().unwrap();
            Want { part: Part { made_from: None, ..part }, count: *count, order: 0, due: None }
        });
        let asked = Asked {
            wanted: wanted.collect(),
            material: "S235".into(),
            thickness: 3.0,
            stand_ins: false,
            order: None,
            certificate: false,
            loadable: Loadable::default(),
            fresh: None,
            clearances: values.clearances(None, 3.0).unwrap(),
            starts: values.starts(None, 3.0),
            cut: CutWishes::default(),
        };
        let question = pose(&shop, values, &asked).unwrap().question;
        let budget = Budget { steps: None, time_up: &|| false, stop: Stop::default() };
        let found = compare(&question, 1, &budget, &mut |_| {});
        assert!(found.settled);
        let best = found.best().unwrap();
        assert!(best.is_complete() && best.checked.is_clear());
        assert_eq!(best.kind, WayKind::OneRemnant);
        std::fs::remove_dir_all(&folder).unwrap();
    }
}
