//! What to cut off: the straight cut that frees the most useful leftover, and the cuts that make the
//! rest fit the bin.

use oddment_core::leftover::largest_rectangle;
use oddment_core::shape::{Bounds, Edge, Loop, Point, Region, SheetSpace, subtract};

use crate::facts::{Facts, Material};
use crate::outline::Outline;

/// Pieces for the bin are no longer than this (mm) on a side, where nobody says otherwise.
pub const BIN: f64 = 600.0;

/// Metal (mm) left between a cut-out and the crop line.
const BESIDE: f64 = 2.0;

/// A straight cut across the sheet, from edge to edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Line {
    /// Upright, at this x (mm): the middle of the slot.
    X(f64),
    /// Level, at this y.
    Y(f64),
}

/// A cut that frees a leftover, and what is left then.
#[derive(Clone, Debug, PartialEq)]
pub struct Crop {
    /// Where to cut.
    pub line: Line,
    /// Length of metal cut through, mm.
    pub length: f64,
    /// The leftover that is kept.
    pub kept: Region<SheetSpace>,
    /// What it weighs (kg) and is worth.
    pub kept_is: (f64, f64),
    /// What becomes of the rest.
    pub rest: ForBin,
}

/// Metal that is not kept, and how to cut it up for the bin.
#[derive(Clone, Debug, PartialEq)]
pub struct ForBin {
    /// What it weighs (kg), and what it brings as scrap.
    pub scrap_is: (f64, f64),
    /// Where to cut, so that no piece is longer on a side than the bin takes.
    pub cut_up: Vec<Line>,
    /// Length of metal that those cut through, mm.
    pub cut_up_length: f64,
}

impl Crop {
    /// “Cut at X 402.5 (1000 mm): 37.6 kg worth 43.20 are kept; …”, money in the shop's currency.
    pub fn words(&self) -> String {
        format!(
            "cut at {} ({:.0} mm): {:.1} kg worth {:.2} are kept; the rest, {}",
            self.line,
            self.length,
            self.kept_is.0,
            self.kept_is.1,
            self.rest.words()
        )
    }
}

impl ForBin {
    /// What becomes of metal that goes to scrap; pieces for the bin are no longer than `bin` mm on a side.
    pub fn of(metal: &[Region<SheetSpace>], facts: &Facts, material: &Material, bin: f64) -> Self {
        let kg = facts.metal().weight(metal.iter().map(Region::area).sum());
        let cut_up = cut_up(metal, bin);
        // An empty sum is −0.
        let cut_up_length = cut_up.iter().map(|line| line.length(metal)).sum::<f64>() + 0.0;
        Self { scrap_is: (kg, kg * material.scrap), cut_up, cut_up_length }
    }

    /// “28.4 kg, brings 4.26 as scrap; cut it up at X 500.0 (1000 mm)”, money in the shop's currency.
    pub fn words(&self) -> String {
        let (kg, value) = self.scrap_is;
        let words = format!("{kg:.1} kg, brings {value:.2} as scrap");
        match self.cut_up_words() {
            Some(cut_up) => format!("{words}; {cut_up}"),
            None => words,
        }
    }

    /// “cut it up at X 500.0 (1000 mm)”; `None` where it goes into the bin as it is.
    pub fn cut_up_words(&self) -> Option<String> {
        let lines: Vec<String> = self.cut_up.iter().map(ToString::to_string).collect();
        (!lines.is_empty())
            .then(|| format!("cut it up at {} ({:.0} mm)", lines.join(", "), self.cut_up_length))
    }
}

impl Line {
    /// The slot, `kerf` mm wide, across all of `bounds`.
    pub fn slot(self, bounds: &Bounds<SheetSpace>, kerf: f64) -> Option<Region<SheetSpace>> {
        let (around, half) = (bounds.grown(1.0), 0.5 * kerf.max(1e-3));
        let (min, max) = match self {
            Self::X(x) => (Point::new(x - half, around.min.y), Point::new(x + half, around.max.y)),
            Self::Y(y) => (Point::new(around.min.x, y - half), Point::new(around.max.x, y + half)),
        };
        Some(Region::new(Loop::rectangle(min, max).ok()?, Vec::new()))
    }

    /// How much metal (mm) it runs through.
    fn length(self, metal: &[Region<SheetSpace>]) -> f64 {
        let bounds = metal.iter().map(Region::bounds).fold(Bounds::EMPTY, Bounds::union).grown(1.0);
        // A hair aside of corners, so that each edge is crossed or not.
        const ASIDE: f64 = 1.234e-6;
        let (from, to) = match self {
            Self::X(x) => {
                (Point::new(x + ASIDE, bounds.min.y), Point::new(x + ASIDE, bounds.max.y))
            }
            Self::Y(y) => {
                (Point::new(bounds.min.x, y + ASIDE), Point::new(bounds.max.x, y + ASIDE))
            }
        };
        let across = Edge::Line { from, to };
        let mut meets: Vec<f64> = metal
            .iter()
            .flat_map(Region::loops)
            .flat_map(|l| l.edges())
            .flat_map(|e| oddment_core::shape::crossings(&across, &e).into_iter().flatten())
            .map(|p| from.distance(p))
            .collect();
        meets.sort_by(f64::total_cmp);
        meets.chunks_exact(2).map(|pair| pair[1] - pair[0]).sum()
    }
}

impl std::fmt::Display for Line {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::X(x) => write!(f, "X {x:.1}"),
            Self::Y(y) => write!(f, "Y {y:.1}"),
        }
    }
}

/// The crop that frees the leftover with the largest rectangle that is free of cut-outs and of metal
/// nobody knows; `None` where no leftover so freed is worth keeping, where the rest of it is as well, or
/// where there is nothing to free it from. The leftover keeps a side of the sheet, and with it the square corners there. The rest is
/// cut up into pieces that are no longer than `bin` mm on a side.
pub fn propose(
    outline: &Outline,
    facts: &Facts,
    material: &Material,
    kerf: f64,
    bin: f64,
) -> Option<Crop> {
    let metal = outline.regions();
    let spoilt = outline
        .pieces
        .iter()
        .flat_map(|p| &p.cutouts)
        .map(|c| c.shape().bounds())
        .chain(outline.no_go.iter().map(|z| z.shape.bounds()))
        .fold(Bounds::EMPTY, Bounds::union);
    if spoilt.is_empty() {
        return None;
    }
    let off = BESIDE + 0.5 * kerf;
    let lines = [
        (Line::X(spoilt.max.x + off), true),
        (Line::X(spoilt.min.x - off), false),
        (Line::Y(spoilt.max.y + off), true),
        (Line::Y(spoilt.min.y - off), false),
    ];
    let freed = |(line, beyond): (Line, bool)| {
        let slot = line.slot(&outline.bounds(), kerf)?;
        let pieces: Option<Vec<_>> = metal.iter().map(|m| subtract(m, &slot)).collect();
        let (kept, rest): (Vec<_>, Vec<_>) = pieces?.into_iter().flatten().partition(|piece| {
            let middle = piece.bounds().centre();
            let is_beyond = match line {
                Line::X(x) => middle.x > x,
                Line::Y(y) => middle.y > y,
            };
            is_beyond == beyond
        });
        let kept = kept.into_iter().max_by(|a, b| a.area().total_cmp(&b.area()))?;
        let is_kept = |piece: &Region<SheetSpace>| material.keeping().keeps(piece, &facts.metal());
        // What is worth keeping goes into no bin: then the sheet is better left whole.
        if rest.is_empty() || !is_kept(&kept) || rest.iter().any(is_kept) {
            return None;
        }
        let clear = largest_rectangle(&kept)?;
        Some((clear.width() * clear.height(), line, kept, rest))
    };
    let (_, line, kept, rest) =
        lines.into_iter().filter_map(freed).max_by(|a, b| a.0.total_cmp(&b.0))?;
    let kept_kg = facts.metal().weight(kept.area());
    Some(Crop {
        line,
        length: line.length(&metal),
        kept_is: (kept_kg, kept_kg * material.price),
        rest: ForBin::of(&rest, facts, material, bin),
        kept,
    })
}

/// What becomes of a sheet of which no piece is kept by the material's rule; `None` where one is.
pub fn all_for_bin(
    outline: &Outline,
    facts: &Facts,
    material: &Material,
    bin: f64,
) -> Option<ForBin> {
    let (metal, keeping) = (outline.regions(), material.keeping());
    let kept = metal.iter().any(|piece| keeping.keeps(piece, &facts.metal()));
    (!kept).then(|| ForBin::of(&metal, facts, material, bin))
}

/// The lines of a grid that leaves no piece longer than `bin` mm on a side.
fn cut_up(metal: &[Region<SheetSpace>], bin: f64) -> Vec<Line> {
    let bounds = metal.iter().map(Region::bounds).fold(Bounds::EMPTY, Bounds::union);
    if bounds.is_empty() {
        return Vec::new();
    }
    let between = |from: f64, length: f64| {
        let pieces = (length / bin).ceil().max(1.0);
        (1..pieces as usize).map(move |i| from + length * i as f64 / pieces)
    };
    let xs = between(bounds.min.x, bounds.width()).map(Line::X);
    let ys = between(bounds.min.y, bounds.height()).map(Line::Y);
    xs.chain(ys).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::EdgeNote;

    #[test]
    fn the_largest_clean_side_is_freed_and_the_rest_is_cut_up() {
        let rectangle =
            |x, y, w, h| Loop::rectangle(Point::new(x, y), Point::new(x + w, y + h)).unwrap();
        let with = |hole: Loop<SheetSpace>| {
            let sheet = Region::new(rectangle(0.0, 0.0, 2000.0, 1000.0), vec![hole]);
            Outline::uniform(&[sheet], EdgeNote::default())
        };
        let outline = with(rectangle(100.0, 60.0, 300.0, 880.0));
        let facts = Facts { thickness: 3.0, density: 7850.0, ..Facts::default() };
        let material = Material::new("S235", 7850.0, 1.0);
        let crop = propose(&outline, &facts, &material, 1.0, BIN).unwrap();
        assert_eq!(crop.line, Line::X(402.5));
        assert!((crop.length - 1000.0).abs() < 1e-6);
        let area = (2000.0 - 403.0) * 1000.0;
        assert!((crop.kept.area() - area).abs() < 1e-6);
        assert!((crop.kept_is.0 - area * 3.0 * 7850.0e-9).abs() < 1e-9);
        let rest = 402.0 * 1000.0 - 300.0 * 880.0;
        assert!((crop.rest.scrap_is.0 - rest * 3.0 * 7850.0e-9).abs() < 1e-9);
        // 402 × 1000 goes into the bin in two; the cut runs through the webs beside the hole.
        assert_eq!(crop.rest.cut_up, [Line::Y(500.0)]);
        assert!((crop.rest.cut_up_length - 102.0).abs() < 1e-6);
        // A rest that is worth keeping by itself is not cut off for the bin.
        let small = with(rectangle(100.0, 100.0, 300.0, 250.0));
        assert_eq!(propose(&small, &facts, &material, 1.0, BIN), None);
    }

    #[test]
    fn nothing_is_freed_where_nothing_is_spoilt_or_worth_it() {
        let whole = Region::new(
            Loop::rectangle(Point::origin(), Point::new(500.0, 400.0)).unwrap(),
            Vec::new(),
        );
        let facts = Facts { thickness: 3.0, density: 7850.0, ..Facts::default() };
        let material = Material::new("S235", 7850.0, 1.0);
        let outline = Outline::uniform(std::slice::from_ref(&whole), EdgeNote::default());
        assert_eq!(propose(&outline, &facts, &material, 1.0, BIN), None);
        let hole = Loop::rectangle(Point::new(20.0, 20.0), Point::new(480.0, 380.0)).unwrap();
        let frame = Region::new(whole.outer().clone(), vec![hole]);
        let outline = Outline::uniform(&[frame], EdgeNote::default());
        assert_eq!(propose(&outline, &facts, &material, 1.0, BIN), None);
    }
    #[test]
    fn a_skeleton_that_is_not_kept_is_cut_up_for_the_bin() {
        let outer = Loop::rectangle(Point::origin(), Point::new(1500.0, 1000.0)).unwrap();
        let hole =
            |x, y| Loop::rectangle(Point::new(x, y), Point::new(x + 460.0, y + 450.0)).unwrap();
        let holes = [20.0, 520.0, 1020.0].into_iter().flat_map(|x| [hole(x, 20.0), hole(x, 520.0)]);
        let skeleton = Region::new(outer, holes.collect());
        let facts = Facts { thickness: 3.0, density: 7850.0, ..Facts::default() };
        let material = Material { scrap: 0.2, ..Material::new("S235", 7850.0, 1.0) };
        let outline = Outline::uniform(std::slice::from_ref(&skeleton), EdgeNote::default());
        assert_eq!(propose(&outline, &facts, &material, 1.0, 500.0), None);
        let bin = all_for_bin(&outline, &facts, &material, 500.0).unwrap();
        let kg = (1_500_000.0 - 6.0 * 460.0 * 450.0) * 3.0 * 7850.0e-9;
        assert!((bin.scrap_is.0 - kg).abs() < 1e-9 && (bin.scrap_is.1 - 0.2 * kg).abs() < 1e-9);
        assert_eq!(bin.cut_up, [Line::X(500.0), Line::X(1000.0), Line::Y(500.0)]);
        // Each of them runs along a web, all the way.
        assert!((bin.cut_up_length - (2.0 * 1000.0 + 1500.0)).abs() < 1e-6);
        let whole = Region::new(skeleton.outer().clone(), Vec::new());
        let outline = Outline::uniform(&[whole], EdgeNote::default());
        assert_eq!(all_for_bin(&outline, &facts, &material, 500.0), None);
    }
}
