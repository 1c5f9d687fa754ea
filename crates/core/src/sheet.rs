//! One physical sheet of stock: its metal, its old cut-outs, how sure each edge is, and where
//! nothing may lie.

use crate::shape::{Bounds, Loop, Region, SheetSpace};

/// How an outer edge was made; it decides how near to it one may cut.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum EdgeKind {
    /// As it came from the mill.
    #[default]
    Mill,
    /// Cut with a shear.
    Sheared,
    /// Cut here, by this machine.
    OwnCut,
}

/// What is known of an edge.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct EdgeFacts {
    /// How it was made.
    pub kind: EdgeKind,
    /// How far (mm) it may really lie from where it is recorded.
    pub give_or_take: f64,
}

/// A closed edge of metal, with what is known of each of its lines and arcs.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    shape: Loop<SheetSpace>,
    facts: Vec<EdgeFacts>,
}

impl Contour {
    /// A contour all of whose edges are known alike.
    pub fn uniform(shape: Loop<SheetSpace>, facts: EdgeFacts) -> Self {
        let facts = vec![facts; shape.vertices().len()];
        Self { shape, facts }
    }

    /// A contour with facts for each edge, in the order of the loop's edges; `None` where the
    /// numbers differ.
    pub fn with_facts(shape: Loop<SheetSpace>, facts: Vec<EdgeFacts>) -> Option<Self> {
        (facts.len() == shape.vertices().len()).then_some(Self { shape, facts })
    }

    /// Its shape.
    pub fn shape(&self) -> &Loop<SheetSpace> {
        &self.shape
    }

    /// Facts of each edge, in the order of the loop's edges.
    pub fn facts(&self) -> &[EdgeFacts] {
        &self.facts
    }
}

/// A connected piece of metal.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// Its outer edge.
    pub outer: Contour,
    /// What has been cut out of it.
    pub cutouts: Vec<Contour>,
}

impl Body {
    /// The body with these edges, all known alike.
    pub fn uniform(region: &Region<SheetSpace>, facts: EdgeFacts) -> Self {
        Self {
            outer: Contour::uniform(region.outer().clone(), facts),
            cutouts: region.holes().iter().map(|h| Contour::uniform(h.clone(), facts)).collect(),
        }
    }

    /// Its metal.
    pub fn region(&self) -> Region<SheetSpace> {
        Region::new(
            self.outer.shape.clone(),
            self.cutouts.iter().map(|c| c.shape.clone()).collect(),
        )
    }
}

/// Where nothing may lie: a clamp, or metal nobody has measured.
#[derive(Clone, Debug, PartialEq)]
pub struct NoGo {
    /// What it is, for people.
    pub name: String,
    /// Its outline.
    pub shape: Loop<SheetSpace>,
    /// How far (mm) the head must keep from it.
    pub clearance: f64,
    /// Whether something stands there that a lifted head could still meet, such as a clamp; otherwise it
    /// is metal that nobody knows, or ground beyond the head's reach.
    pub stands_up: bool,
}

/// What a sheet is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Metal {
    /// What people call it, such as S235.
    pub material: String,
    /// Millimetres.
    pub thickness: f64,
    /// Kilograms per cubic metre.
    pub density: f64,
}

impl Metal {
    /// Weight (kg) of `area` mm² of it.
    pub fn weight(&self, area: f64) -> f64 {
        area * self.thickness * self.density * 1e-9
    }
}

/// A sheet of stock.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Label or name.
    pub name: String,
    /// Its metal: usually one body; more where old cuts parted it, or left an island in a cut-out.
    pub bodies: Vec<Body>,
    /// Where nothing may lie.
    pub no_go: Vec<NoGo>,
    /// Direction of the grain, radians.
    pub grain: Option<f64>,
    /// What it is made of, where that is known.
    pub made_of: Option<Metal>,
}

impl Sheet {
    /// The sheet made of these pieces of metal, all edges known alike.
    pub fn new(name: impl Into<String>, metal: &[Region<SheetSpace>], facts: EdgeFacts) -> Self {
        Self {
            name: name.into(),
            bodies: metal.iter().map(|region| Body::uniform(region, facts)).collect(),
            no_go: Vec::new(),
            grain: None,
            made_of: None,
        }
    }

    /// The box around all its metal.
    pub fn bounds(&self) -> Bounds<SheetSpace> {
        self.bodies.iter().map(|b| b.outer.shape.bounds()).fold(Bounds::EMPTY, Bounds::union)
    }

    /// Area of its metal, mm².
    pub fn area(&self) -> f64 {
        self.bodies.iter().map(|b| b.region().area()).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_metre_of_three_millimetre_steel_weighs_23_6_kg() {
        let steel = Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 };
        assert!((steel.weight(1e6) - 23.55).abs() < 1e-9);
    }
}
