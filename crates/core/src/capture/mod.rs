//! From what a person measured to a sheet: its edges and cut-outs, each with how it was made, how
//! it is known, and how far it may be off.
//!
//! A [`Captured`] is what one source says: lengths from a tape ([`typed`], in
//! [`words`]), points from the
//! machine's pointer ([`rows`], [`points`]), contours from a photograph or a drawing ([`trace`]).
//! [`Captured::merged`] takes the better of two sources, edge by edge, and [`Captured::metal`] makes
//! metal of it: cut-outs that run over the rim or into each other are cut from it exactly. [`fit`]
//! has the least squares beneath.

pub mod fit;
mod merge;
pub mod points;
pub mod rows;
pub mod trace;
pub mod typed;
pub mod words;

use crate::shape::{
    Bounds, Edge, KnownEdges, Loop, LoopFault, Point, Pose, Region, SheetSpace, Vector, subtract,
};
use crate::sheet::{Body, Contour, EdgeFacts, NoGo, Sheet};

/// How an edge came to be known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// From a drawing, or from a plan that was cut.
    Drawing,
    /// With a tape.
    Taped,
    /// With the machine's pointer.
    Pointer,
    /// From a photograph.
    Photo,
}

/// What is known of one captured edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// How it was made, and how far (mm) it may really be off.
    pub facts: EdgeFacts,
    /// How it is known.
    pub how: How,
}

/// A closed edge of metal with what is known of each of its lines and arcs.
#[derive(Clone, Debug, PartialEq)]
pub struct Rim {
    shape: Loop<SheetSpace>,
    known: Vec<Known>,
}

impl Rim {
    /// A rim all of whose edges are known alike.
    pub fn uniform(shape: Loop<SheetSpace>, known: Known) -> Self {
        let known = vec![known; shape.vertices().len()];
        Self { shape, known }
    }

    /// The rim of these edges, each starting where the one before ends.
    ///
    /// # Errors
    /// Where they enclose nothing.
    pub fn of_edges(edges: Vec<(Edge<SheetSpace>, Known)>) -> Result<Self, LoopFault> {
        let vertex =
            |e: &Edge<SheetSpace>| crate::shape::Vertex { point: e.from(), bulge: e.bulge() };
        let shape = Loop::new(edges.iter().map(|(e, _)| vertex(e)))?;
        let memory = KnownEdges::new(edges.iter().copied());
        let first = edges[0].1;
        // Edges without length were dropped.
        let known = shape.edges().map(|e| memory.note(&e).unwrap_or(first)).collect();
        Ok(Self { shape, known })
    }

    /// Its shape.
    pub fn shape(&self) -> &Loop<SheetSpace> {
        &self.shape
    }

    /// What is known of each edge, in the order of the loop's edges.
    pub fn known(&self) -> &[Known] {
        &self.known
    }

    /// Its edges, with what is known of them.
    pub fn edges(&self) -> impl Iterator<Item = (Edge<SheetSpace>, Known)> + '_ {
        self.shape.edges().zip(self.known.iter().copied())
    }

    /// The greatest give or take (mm) of its edges.
    pub fn give_or_take(&self) -> f64 {
        self.known.iter().map(|k| k.facts.give_or_take).fold(0.0, f64::max)
    }

    /// All its edges with at least this give or take, mm.
    #[must_use]
    pub fn no_better_than(self, give_or_take: f64) -> Self {
        self.knowing(|_, known| {
            known.facts.give_or_take = known.facts.give_or_take.max(give_or_take);
        })
    }

    /// The same with what is known of each edge changed, which comes with its place among them.
    #[must_use]
    pub fn knowing(mut self, change: impl Fn(usize, &mut Known)) -> Self {
        self.known.iter_mut().enumerate().for_each(|(i, known)| change(i, known));
        self
    }

    fn placed(&self, pose: &Pose<SheetSpace, SheetSpace>) -> Self {
        Self { shape: self.shape.placed(pose), known: self.known.clone() }
    }
}

/// How far one measurement lies from what was made of all of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Residual {
    /// What was measured, for people: `edge 2`, `circle 1`, `top side`.
    pub of: String,
    /// Where.
    pub at: Point<SheetSpace>,
    /// Millimetres, positive outward of a circle and to the left of a line.
    pub off: f64,
}

/// What one source, or several together, say of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Captured {
    /// The outer edge.
    pub outer: Rim,
    /// What is cut out, in the order it was named. They may run over the rim and into each other.
    pub cutouts: Vec<Rim>,
    /// Metal that nobody could see: no-go.
    pub unknown: Vec<Loop<SheetSpace>>,
    /// How well the measurements agree.
    pub residuals: Vec<Residual>,
}

/// Why what was captured is no metal.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoMetal {
    /// A cut-out that cuts nothing.
    #[error(
        "cut-out {0} takes nothing from the metal: it lies off the sheet or in another cut-out"
    )]
    CutsNothing(usize),
    /// Edges that cannot be told apart.
    #[error("cut-out {0} runs along another edge in a tangle; move it a little, or draw the sheet")]
    Tangled(usize),
    /// All is cut away.
    #[error("the cut-outs leave no metal")]
    NothingLeft,
}

/// A connected piece of captured metal.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Its outer edge.
    pub outer: Rim,
    /// Its cut-outs.
    pub cutouts: Vec<Rim>,
}

/// The metal that was captured.
#[derive(Clone, Debug, PartialEq)]
pub struct CapturedMetal {
    /// Its pieces, largest first.
    pub pieces: Vec<Piece>,
    /// Metal that nobody could see.
    pub no_go: Vec<NoGo>,
}

/// Rims nearer than this (mm) to each other meet.
const MEET: f64 = 1e-6;

/// The name of no-go that nobody has measured.
pub const NOT_MEASURED: &str = "not measured";

impl Captured {
    /// A sheet of which the outer edge alone is known.
    pub fn of_outer(outer: Rim) -> Self {
        Self { outer, cutouts: Vec::new(), unknown: Vec::new(), residuals: Vec::new() }
    }

    /// The sheet that its metal makes.
    ///
    /// # Errors
    /// [`NoMetal`], for each cut-out that can't be.
    pub fn metal(&self) -> Result<CapturedMetal, Vec<NoMetal>> {
        let region = |l: &Loop<SheetSpace>| Region::new(l.clone(), Vec::new());
        let outer = region(&self.outer.shape);
        let sets: Vec<_> = self.cutouts.iter().map(|c| region(&c.shape).edge_set()).collect();
        let whole = outer.edge_set();
        let alone = |i: usize| {
            let inside = whole.boundary_gap(&sets[i], MEET).is_none()
                && outer.contains(self.cutouts[i].shape.vertices()[0].point);
            inside
                && sets.iter().enumerate().all(|(j, other)| {
                    // Apart on their rims, and neither lies in the other.
                    let starts = |k: usize| self.cutouts[k].shape.vertices()[0].point;
                    i == j
                        || sets[i].bounds().distance_squared(&other.bounds()) > 0.0
                        || (sets[i].boundary_gap(other, MEET).is_none()
                            && !other.covers(starts(i))
                            && !sets[i].covers(starts(j)))
                })
        };
        let (holes, others): (Vec<usize>, Vec<usize>) = (0..sets.len()).partition(|i| alone(*i));
        let holes = holes.into_iter().map(|i| self.cutouts[i].shape.clone()).collect();
        let mut metal = vec![Region::new(self.outer.shape.clone(), holes)];
        let mut faults = Vec::new();
        for i in others {
            let before: f64 = metal.iter().map(Region::area).sum();
            let cut = region(&self.cutouts[i].shape);
            let left: Option<Vec<_>> = metal.iter().map(|m| subtract(m, &cut)).collect();
            let Some(left) = left else {
                faults.push(NoMetal::Tangled(i + 1));
                continue;
            };
            let left: Vec<_> = left.into_iter().flatten().collect();
            if before - left.iter().map(Region::area).sum::<f64>() < 1e-3 {
                faults.push(NoMetal::CutsNothing(i + 1));
            } else {
                metal = left;
            }
        }
        if metal.is_empty() {
            faults.push(NoMetal::NothingLeft);
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        metal.sort_by(|a, b| b.area().total_cmp(&a.area()));
        let rims = std::iter::once(&self.outer).chain(&self.cutouts);
        let memory = KnownEdges::new(rims.flat_map(Rim::edges));
        let worst = self.outer.known[0];
        let rim = |l: &Loop<SheetSpace>| Rim {
            shape: l.clone(),
            known: l.edges().map(|e| memory.note(&e).unwrap_or(worst)).collect(),
        };
        let piece = |r: &Region<SheetSpace>| Piece {
            outer: rim(r.outer()),
            cutouts: r.holes().iter().map(rim).collect(),
        };
        let no_go = self.unknown.iter().map(|shape| NoGo {
            name: NOT_MEASURED.to_owned(),
            shape: shape.clone(),
            clearance: 0.0,
            stands_up: false,
        });
        Ok(CapturedMetal { pieces: metal.iter().map(piece).collect(), no_go: no_go.collect() })
    }

    /// Moved so that the box around the outer edge begins at the datum corner, and turned, by less
    /// than 45°, so that its longest straight edge runs along x or y: as somebody would lay it.
    #[must_use]
    pub fn at_datum(&self) -> Self {
        let straight = self.outer.shape.edges().filter(|e| matches!(e, Edge::Line { .. }));
        let longest = straight.max_by(|a, b| a.length().total_cmp(&b.length()));
        let quarter = std::f64::consts::FRAC_PI_2;
        let turn = longest.map_or(0.0, |e| {
            let angle = e.direction(0.5).angle();
            (angle / quarter).round() * quarter - angle
        });
        let turned = self.placed(&Pose::new(Vector::default(), turn, false));
        let corner = turned.outer.shape.bounds().min;
        turned.placed(&Pose::shifted(Point::origin() - corner))
    }

    fn placed(&self, pose: &Pose<SheetSpace, SheetSpace>) -> Self {
        Self {
            outer: self.outer.placed(pose),
            cutouts: self.cutouts.iter().map(|c| c.placed(pose)).collect(),
            unknown: self.unknown.iter().map(|u| u.placed(pose)).collect(),
            residuals: self
                .residuals
                .iter()
                .map(|r| Residual { at: pose.apply(r.at), ..r.clone() })
                .collect(),
        }
    }
}

impl CapturedMetal {
    /// The sheet for planning.
    pub fn sheet(&self, name: impl Into<String>) -> Sheet {
        let contour = |rim: &Rim| {
            let facts = rim.known.iter().map(|k| k.facts).collect();
            Contour::with_facts(rim.shape.clone(), facts)
                .unwrap_or_else(|| Contour::uniform(rim.shape.clone(), rim.known[0].facts))
        };
        let body = |p: &Piece| Body {
            outer: contour(&p.outer),
            cutouts: p.cutouts.iter().map(contour).collect(),
        };
        Sheet {
            name: name.into(),
            bodies: self.pieces.iter().map(body).collect(),
            no_go: self.no_go.clone(),
            grain: None,
            made_of: None,
        }
    }

    /// The box around its metal.
    pub fn bounds(&self) -> Bounds<SheetSpace> {
        self.pieces.iter().map(|p| p.outer.shape.bounds()).fold(Bounds::EMPTY, Bounds::union)
    }
}
