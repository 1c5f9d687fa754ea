//! What parts allowed of themselves when they were last asked. A comparison asks of the same few
//! parts for hundreds of sheets, and the check for every layout.

use std::sync::{Arc, LazyLock};

use quick_cache::Weighter;
use quick_cache::sync::Cache;

use super::{PartChoices, choices};
use crate::distances::{Clearances, LeadForm, StartRule};
use crate::shape::{PartSpace, Region, Vertex};

/// Starts kept at most, of all parts together: a few hundred bytes each.
const MOST_STARTS: u64 = 200_000;
/// Parts that this is about.
const PARTS: usize = 1_000;

static KNOWN: LazyLock<Cache<Asked, Arc<PartChoices>, Starts>> =
    LazyLock::new(|| Cache::with_weighter(PARTS, MOST_STARTS, Starts));

/// The same as [`choices`], looked for once.
pub(super) fn choices_of(
    region: &Region<PartSpace>,
    clearances: &Clearances,
    rule: &StartRule,
    flipped: bool,
) -> Arc<PartChoices> {
    let asked = Asked::new(region, clearances, rule, flipped);
    if let Some(known) = KNOWN.get(&asked) {
        return known;
    }
    let found = Arc::new(choices(region, clearances, rule, flipped));
    KNOWN.insert(asked, found.clone());
    found
}

/// All that [`choices`] goes by, to the last bit.
#[derive(Clone, PartialEq, Eq, Hash)]
struct Asked {
    /// The contours' corners, and how far the edges from them bulge.
    corners: Vec<[u64; 3]>,
    /// Where each contour ends.
    ends: Vec<usize>,
    lengths: [u64; 5],
    form: LeadForm,
    /// Whether outlines run clockwise, may start from an old edge, and the part lies flipped.
    ways: [bool; 3],
}

impl Asked {
    fn new(
        region: &Region<PartSpace>,
        clearances: &Clearances,
        rule: &StartRule,
        flipped: bool,
    ) -> Self {
        let StartRule { pierce, small_hole, least_lead, lead, clockwise_outside, form, from_edge } =
            *rule;
        let (mut corners, mut ends) = (Vec::new(), Vec::new());
        for contour in region.loops() {
            let corner = |v: &Vertex<PartSpace>| [v.point.x, v.point.y, v.bulge].map(f64::to_bits);
            corners.extend(contour.vertices().iter().map(corner));
            ends.push(corners.len());
        }
        Self {
            corners,
            ends,
            lengths: [clearances.beam(), pierce, small_hole, least_lead, lead].map(f64::to_bits),
            form,
            ways: [clockwise_outside, from_edge, flipped],
        }
    }
}

/// Weighs by how many starts are kept.
#[derive(Clone)]
struct Starts;

impl Weighter<Asked, Arc<PartChoices>> for Starts {
    fn weight(&self, _: &Asked, known: &Arc<PartChoices>) -> u64 {
        1 + known.iter().map(|of_contour| of_contour.len() as u64).sum::<u64>()
    }
}
