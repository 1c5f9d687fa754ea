//! The question which sheets an order should come from, put together from the shop file.

use oddment_core::compare::{Candidate, Question, Source, Want};
use oddment_core::cut_data::Process;
use oddment_core::distances::{Clearances, StartRule};
use oddment_core::leftover::Keeping;
use oddment_core::sheet::{EdgeFacts, EdgeKind, Metal};
use oddment_files::cut_data::{CutDataFault, starting_cut_data};
use oddment_files::job_file::sheet_rectangle;
use oddment_files::policies::{PoliciesFault, starting_policies};
use oddment_rack::facts::Material;
use oddment_rack::find::Loadable;
use oddment_rack::outline::Outline;
use oddment_rack::sheets::Entry;
use oddment_rack::{Shop, ShopFault, when};

/// Thicknesses may differ by so much (mm) and count as equal.
const SAME: f64 = 1e-3;

/// Seconds of a day.
const DAY: f64 = 86_400.0;

/// Give or take (mm) of a bought sheet's edges.
const DELIVERED: f64 = 1.0;

/// What is asked.
#[derive(Clone, Debug)]
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
    /// What the machine can take.
    pub loadable: Loadable,
    /// Sides (mm) of the fresh sheets that can be bought; those to start from where `None`.
    pub fresh: Option<Vec<[f64; 2]>>,
    /// The rule of distances.
    pub clearances: Clearances,
    /// What starts need, where every contour must have one.
    pub starts: Option<StartRule>,
}

/// The question, and which sheets of the rack its candidates are.
#[derive(Clone, Debug)]
pub struct Posed {
    /// The question.
    pub question: Question,
    /// Of each candidate from the rack its label, and the number of the state that it was seen in.
    pub seen: Vec<Option<(String, i64)>>,
}

/// Why nothing can be compared.
#[derive(Debug, thiserror::Error)]
pub enum NoQuestion {
    /// The shop does not know the material.
    #[error("the shop has no material {0}; it has {1}")]
    UnknownMaterial(String, String),
    /// No sheet in the rack, and none that can be bought.
    #[error(
        "there is no {thickness} mm {material} that the machine can take and nobody holds; name fresh \
         sizes that can be bought"
    )]
    NoSheet {
        /// Material.
        material: String,
        /// Thickness, mm.
        thickness: f64,
    },
    /// The shop file can't be read.
    #[error(transparent)]
    Shop(#[from] ShopFault),
    /// The cut data to start from are damaged.
    #[error(transparent)]
    CutData(#[from] CutDataFault),
    /// The policies to start from are damaged.
    #[error(transparent)]
    Policies(#[from] PoliciesFault),
}

/// Puts the question together.
///
/// # Errors
/// [`NoQuestion`].
pub fn pose(shop: &Shop, asked: &Asked) -> Result<Posed, NoQuestion> {
    let materials = shop.materials()?;
    let known = |name: &str| materials.iter().find(|m| m.name.eq_ignore_ascii_case(name.trim()));
    let Some(material) = known(&asked.material) else {
        let names: Vec<&str> = materials.iter().map(|m| m.name.as_str()).collect();
        return Err(NoQuestion::UnknownMaterial(asked.material.clone(), names.join(", ")));
    };
    let starting = starting_policies()?;
    let mut candidates = Vec::new();
    let mut seen = Vec::new();
    for entry in shop.list()? {
        let Some(of) = known(&entry.facts.material).filter(|m| may_be(m, material, asked)) else {
            continue;
        };
        let held = entry.facts.held().filter(|h| asked.order.as_ref() != Some(&h.order));
        let suits = entry.facts.whereabouts.is_here()
            && entry.facts.bar.is_none()
            && held.is_none()
            && (entry.facts.thickness - asked.thickness).abs() <= SAME
            && asked.loadable.takes(&entry);
        if suits {
            let number = shop.state_number(&entry.label)?;
            let sheet = shop.sheet(&entry.label)?;
            candidates.push(from_rack(&sheet.entry, &sheet.outline, sheet.sheet(), of.keeping()));
            seen.push(Some((entry.label, number)));
        }
    }
    let metal = Metal {
        material: material.name.clone(),
        thickness: asked.thickness,
        density: material.density,
    };
    for size in asked.fresh.as_ref().unwrap_or(&starting.fresh_sizes) {
        if let Some(fresh) = to_buy(*size, &metal, material.keeping()) {
            let lies =
                |[w, h]: [f64; 2]| (size[0] <= w && size[1] <= h) || (size[1] <= w && size[0] <= h);
            if asked.loadable.bed.is_none_or(lies)
                && asked.loadable.weight.is_none_or(|most| fresh.weight <= most)
            {
                candidates.push(fresh);
                seen.push(None);
            }
        }
    }
    if candidates.is_empty() {
        let (material, thickness) = (material.name.clone(), asked.thickness);
        return Err(NoQuestion::NoSheet { material, thickness });
    }
    let table = starting_cut_data()?;
    let rule = table.starts(Process::FibreLaser, asked.thickness);
    let question = Question {
        wanted: asked.wanted.clone(),
        candidates,
        clearances: asked.clearances,
        starts: asked.starts,
        cut: rule.zip(table.facts(Process::FibreLaser, &metal)),
        policies: starting.policies,
    };
    Ok(Posed { question, seen })
}

impl Posed {
    /// Labels of those of these candidates that have changed in the rack since, or are gone.
    ///
    /// # Errors
    /// Where the shop file can't be read.
    pub fn changed(
        &self,
        shop: &Shop,
        candidates: impl Iterator<Item = usize>,
    ) -> Result<Vec<String>, ShopFault> {
        let mut changed = Vec::new();
        for (label, number) in candidates.filter_map(|c| self.seen[c].as_ref()) {
            if shop.state_number(label)? != *number {
                changed.push(label.clone());
            }
        }
        Ok(changed)
    }
}

/// Whether a sheet of one material may be used where another is asked for.
fn may_be(of: &Material, wanted: &Material, asked: &Asked) -> bool {
    let stands_in = || wanted.stand_ins.iter().any(|s| s.eq_ignore_ascii_case(&of.name));
    of.name == wanted.name || (asked.stand_ins && stands_in())
}

fn from_rack(
    entry: &Entry,
    outline: &Outline,
    sheet: oddment_core::sheet::Sheet,
    keeping: Keeping,
) -> Candidate {
    // A whole sheet: one rectangle that nobody has cut from.
    let whole = match &outline.pieces[..] {
        [piece] => {
            piece.cutouts.is_empty()
                && outline.no_go.is_empty()
                && entry.facts.parent.is_none()
                && (entry.size[0] * entry.size[1] - entry.area).abs() < 1.0
                && piece.outer.notes().iter().all(|n| n.facts.kind == EdgeKind::Mill)
        }
        _ => false,
    };
    Candidate {
        sheet,
        count: 1,
        source: if whole { Source::InStock } else { Source::Remnant },
        weight: entry.weight(),
        value: entry.facts.value,
        keeping,
        days: Some((when::now() - entry.facts.came) as f64 / DAY),
    }
}

/// Fresh sheets of a size, as many as are needed; their grain runs along the first side, as they are
/// rolled.
fn to_buy([width, height]: [f64; 2], metal: &Metal, keeping: Keeping) -> Option<Candidate> {
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
