//! What single entities draw.

use std::f64::consts::TAU;

use oddment_core::shape::{Edge, Point, Vector};

use super::super::curve::{Affine, Curve, Drawn, arc, polyline};
use super::super::{DrawingFault, OneOrMany};
use super::tokens::{Pair, Pairs};
use super::{Layers, is_dashed, splines};

/// What is left out without a word.
pub(super) const VIEWPORTS: OneOrMany = ["viewport", "viewports"];

const OTHER: OneOrMany = ["entity of another kind", "entities of other kinds"];

const TILTED: OneOrMany = ["entity tilted out of the plane", "entities tilted out of the plane"];

/// One entity, in the coordinates of its block or of the drawing.
#[derive(Clone, Debug)]
pub(super) struct Entity {
    pub(super) what: What,
    /// Number of its layer.
    pub(super) layer: usize,
    /// `None` where its layer decides.
    pub(super) dashed: Option<bool>,
    /// Why it is not to be seen, if so.
    pub(super) unseen: Option<&'static str>,
}

#[derive(Clone, Debug)]
pub(super) enum What {
    /// Curves drawn without lifting the pen; lowest and highest z.
    Path(Vec<Curve>, (f64, f64)),
    /// A block put in.
    Insert(Insert),
    /// Not something that is cut: what it is called in the plural, and where.
    Other(OneOrMany, Point<Drawn>),
}

/// A block put in, perhaps as an array.
#[derive(Clone, Debug)]
pub(super) struct Insert {
    /// Name of the block, in lower case.
    pub(super) block: String,
    /// From the block's coordinates (its base point taken off) to those around it.
    pub(super) frame: Affine,
    /// How many columns and rows.
    pub(super) count: (u32, u32),
    /// From one column and row to the next, in the coordinates around.
    pub(super) step: (Vector, Vector),
}

/// Reads entities one after another, reusing its memory.
#[derive(Default)]
pub(super) struct Reader<'a> {
    fields: Vec<Pair<'a>>,
    /// How many numbers had a decimal comma.
    pub(super) commas: usize,
}

impl<'a> Reader<'a> {
    /// Reads the entity that begins with `first`, and returns the pair behind it.
    pub(super) fn read(
        &mut self,
        first: Pair<'a>,
        pairs: &mut Pairs<'a>,
        layers: &mut Layers,
        entities: &mut Vec<Entity>,
    ) -> Result<Option<Pair<'a>>, DrawingFault> {
        if first.code != 0 {
            return Err(first.fault("an entity should begin here"));
        }
        let mut next = self.collect(pairs)?;
        let kind = first.bytes().to_ascii_uppercase();
        let mut entity = Entity {
            what: What::Other(OTHER, Point::origin()),
            layer: layers.number(self.text(8).unwrap_or_else(|| "0".to_owned())),
            dashed: self.last(6).filter(|p| !p.is(6, "BYLAYER")).map(|p| is_dashed(&p)),
            unseen: if self.flags(67) & 1 == 1 {
                Some("in paper space")
            } else if self.flags(60) & 1 == 1 {
                Some("invisible")
            } else {
                None
            },
        };
        if kind == b"POLYLINE" {
            let (flags, mirror) = (self.flags(70), self.extrusion()?);
            let z = self.real(30)?.unwrap_or(0.0);
            let mut vertices = Vec::new();
            while let Some(pair) = next
                && pair.is(0, "VERTEX")
            {
                next = self.collect(pairs)?;
                // Vertices of the frame of a fitted spline are not on the curve.
                if self.flags(70) & 16 == 0 {
                    vertices.push((self.point(10)?, self.real(42)?.unwrap_or(0.0)));
                }
            }
            if next.is_some_and(|p| p.is(0, "SEQEND")) {
                next = self.collect(pairs)?;
            }
            entity.what = match (flags & (16 | 64) != 0, mirror) {
                (true, _) => What::Other(["mesh (3D)", "meshes (3D)"], at_first(&vertices)),
                (_, None) => What::Other(TILTED, at_first(&vertices)),
                (false, Some(frame)) => path(polyline(&vertices, flags & 1 == 1), &frame, (z, z)),
            };
        } else {
            entity.what = self.what(&kind)?;
        }
        entities.push(entity);
        Ok(next)
    }

    /// Gathers the fields up to the next entity, whose first pair it returns.
    fn collect(&mut self, pairs: &mut Pairs<'a>) -> Result<Option<Pair<'a>>, DrawingFault> {
        self.fields.clear();
        while let Some(pair) = pairs.next()? {
            if pair.code == 0 {
                return Ok(Some(pair));
            }
            self.fields.push(pair);
        }
        Ok(None)
    }

    fn what(&mut self, kind: &[u8]) -> Result<What, DrawingFault> {
        let other = match kind {
            b"LINE" => return self.line(),
            b"ARC" | b"CIRCLE" => return self.round(kind == b"ARC"),
            b"ELLIPSE" => return self.ellipse(),
            b"LWPOLYLINE" => return self.lwpolyline(),
            b"SPLINE" => return self.spline(),
            b"INSERT" => return self.insert(),
            b"TEXT" | b"MTEXT" | b"ATTRIB" | b"ATTDEF" | b"ARCALIGNEDTEXT" | b"RTEXT" => {
                ["text", "texts"]
            }
            b"DIMENSION" | b"ARC_DIMENSION" | b"LARGE_RADIAL_DIMENSION" => {
                ["dimension", "dimensions"]
            }
            b"LEADER" | b"MULTILEADER" | b"MLEADER" | b"TOLERANCE" => ["leader", "leaders"],
            b"HATCH" | b"MPOLYGON" | b"SOLID" | b"TRACE" | b"WIPEOUT" => {
                ["hatch or fill", "hatches and fills"]
            }
            b"POINT" => ["point", "points"],
            b"XLINE" | b"RAY" => ["endless construction line", "endless construction lines"],
            b"VIEWPORT" => VIEWPORTS,
            b"IMAGE" | b"OLEFRAME" | b"OLE2FRAME" | b"PDFUNDERLAY" | b"DGNUNDERLAY"
            | b"DWFUNDERLAY" | b"UNDERLAY" => ["picture", "pictures"],
            b"3DFACE" | b"MESH" | b"3DSOLID" | b"BODY" | b"REGION" | b"SURFACE"
            | b"EXTRUDEDSURFACE" | b"LOFTEDSURFACE" | b"REVOLVEDSURFACE" | b"SWEPTSURFACE"
            | b"PLANESURFACE" | b"NURBSURFACE" => {
                ["3D solid, surface or region", "3D solids, surfaces and regions"]
            }
            b"ACAD_TABLE" => ["table", "tables"],
            b"SEQEND" | b"VERTEX" | b"VIEWBASE" => ["loose end", "loose ends"],
            _ => OTHER,
        };
        Ok(What::Other(other, self.point(10).unwrap_or(Point::origin())))
    }

    fn line(&mut self) -> Result<What, DrawingFault> {
        let (from, to) = (self.point(10)?, self.point(11)?);
        let z = (self.real(30)?.unwrap_or(0.0), self.real(31)?.unwrap_or(0.0));
        let curves =
            if from == to { Vec::new() } else { vec![Curve::Edge(Edge::Line { from, to })] };
        Ok(What::Path(curves, (z.0.min(z.1), z.0.max(z.1))))
    }

    fn round(&mut self, is_arc: bool) -> Result<What, DrawingFault> {
        let centre = self.point(10)?;
        let Some(frame) = self.extrusion()? else {
            return Ok(What::Other(TILTED, centre));
        };
        let radius = self.real(40)?.unwrap_or(0.0).abs();
        let (mut start, mut sweep) = (0.0, TAU);
        if is_arc {
            let (from, to) = (self.real(50)?.unwrap_or(0.0), self.real(51)?.unwrap_or(360.0));
            let turn = (to - from).rem_euclid(360.0);
            // The same angle twice is nothing; whole turns apart it is a circle.
            let same = (to - from).abs() < 1e-9;
            let turn = if turn == 0.0 && !same { 360.0 } else { turn };
            start = from.to_radians();
            sweep = if same { 0.0 } else { turn.to_radians() };
        }
        let z = self.real(30)?.unwrap_or(0.0);
        let curves = if radius == 0.0 || sweep == 0.0 {
            Vec::new()
        } else {
            arc(centre, radius, start, sweep)
        };
        Ok(path(curves, &frame, (z, z)))
    }

    fn ellipse(&mut self) -> Result<What, DrawingFault> {
        let (centre, u) = (self.point(10)?, self.point(11)?.to_vector());
        let z = self.real(30)?.unwrap_or(0.0);
        let Some(frame) = self.extrusion()? else {
            return Ok(What::Other(TILTED, centre));
        };
        // An ellipse is in the drawing's own coordinates; seen from below it runs the other way.
        let v = u.left() * (self.real(40)?.unwrap_or(1.0) * frame.determinant());
        let start = self.real(41)?.unwrap_or(0.0);
        let end = self.real(42)?.unwrap_or(TAU);
        let sweep = (end - start).rem_euclid(TAU);
        let same = (end - start).abs() < 1e-9;
        let sweep = if sweep < 1e-9 && !same { TAU } else { sweep };
        if u == Vector::default() || v == Vector::default() || same {
            return Ok(What::Path(Vec::new(), (z, z)));
        }
        Ok(What::Path(vec![Curve::Ellipse { centre, u, v, start, sweep }], (z, z)))
    }

    fn lwpolyline(&mut self) -> Result<What, DrawingFault> {
        let mut vertices: Vec<(Point<Drawn>, f64)> = Vec::new();
        for i in 0..self.fields.len() {
            let field = self.fields[i];
            if field.code == 10 {
                vertices.push((Point::new(self.number(&field)?, 0.0), 0.0));
            }
            let Some(last) = vertices.last_mut() else { continue };
            match field.code {
                20 => last.0.y = field.real()?.0,
                42 => last.1 = field.real()?.0,
                _ => {}
            }
        }
        let Some(frame) = self.extrusion()? else {
            return Ok(What::Other(TILTED, at_first(&vertices)));
        };
        let z = self.real(38)?.unwrap_or(0.0);
        Ok(path(polyline(&vertices, self.flags(70) & 1 == 1), &frame, (z, z)))
    }

    fn spline(&mut self) -> Result<What, DrawingFault> {
        let (control, fit) = (self.points(10)?, self.points(11)?);
        let z = self.reals(30)?.into_iter().chain(self.reals(31)?);
        let z = z.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), z| (a.min(z), b.max(z)));
        let z = if z.0 > z.1 { (0.0, 0.0) } else { z };
        let curves = if control.is_empty() {
            splines::through(&fit, self.flags(70) & 1 == 1)
        } else {
            let degree = self.last(71).map_or(3, |p| p.whole());
            let shape = splines::Nurbs {
                degree: usize::try_from(degree).unwrap_or(0),
                knots: self.reals(40)?,
                weights: self.reals(41)?,
                control,
                closed: self.flags(70) & 1 == 1,
            };
            let first = self.fields.first().copied();
            shape.curves().map_err(|what| match first {
                Some(pair) => pair.fault(what),
                None => {
                    DrawingFault::Broken { place: "a spline".to_owned(), what: what.to_owned() }
                }
            })?
        };
        Ok(What::Path(curves, z))
    }

    fn insert(&mut self) -> Result<What, DrawingFault> {
        let at = self.point(10)?;
        let Some(frame) = self.extrusion()? else {
            return Ok(What::Other(
                ["block tilted out of the plane", "blocks tilted out of the plane"],
                at,
            ));
        };
        let turn = Vector::at_angle(self.real(50)?.unwrap_or(0.0).to_radians());
        let turn = Affine { x: turn, y: turn.left(), shift: at.to_vector() };
        let (sx, sy) = (self.real(41)?.unwrap_or(1.0), self.real(42)?.unwrap_or(1.0));
        let scale =
            Affine { x: Vector::new(sx, 0.0), y: Vector::new(0.0, sy), shift: Vector::default() };
        let placed = frame.after(&turn);
        let column = Vector::new(self.real(44)?.unwrap_or(0.0), 0.0);
        let row = Vector::new(0.0, self.real(45)?.unwrap_or(0.0));
        let count = |code| self.last(code).map_or(1, |p| p.whole()).clamp(1, i64::from(u16::MAX));
        Ok(What::Insert(Insert {
            block: self.text(2).unwrap_or_default().to_lowercase(),
            frame: placed.after(&scale),
            count: (count(70) as u32, count(71) as u32),
            step: (placed.vector(column), placed.vector(row)),
        }))
    }

    fn last(&self, code: i32) -> Option<Pair<'a>> {
        self.fields.iter().rev().find(|p| p.code == code).copied()
    }

    fn text(&self, code: i32) -> Option<String> {
        self.fields.iter().find(|p| p.code == code).map(Pair::text)
    }

    fn flags(&self, code: i32) -> i64 {
        self.last(code).map_or(0, |p| p.whole())
    }

    fn number(&mut self, pair: &Pair) -> Result<f64, DrawingFault> {
        let (value, comma) = pair.real()?;
        self.commas += usize::from(comma);
        Ok(value)
    }

    fn real(&mut self, code: i32) -> Result<Option<f64>, DrawingFault> {
        match self.fields.iter().find(|p| p.code == code).copied() {
            Some(pair) => self.number(&pair).map(Some),
            None => Ok(None),
        }
    }

    fn reals(&mut self, code: i32) -> Result<Vec<f64>, DrawingFault> {
        let mut reals = Vec::new();
        for i in 0..self.fields.len() {
            let field = self.fields[i];
            if field.code == code {
                reals.push(self.number(&field)?);
            }
        }
        Ok(reals)
    }

    /// The point whose x has this code; its y has the code ten higher, wherever it stands.
    fn point(&mut self, code: i32) -> Result<Point<Drawn>, DrawingFault> {
        let (x, y) = (self.real(code)?, self.real(code + 10)?);
        Ok(Point::new(x.unwrap_or(0.0), y.unwrap_or(0.0)))
    }

    fn points(&mut self, code: i32) -> Result<Vec<Point<Drawn>>, DrawingFault> {
        let (x, y) = (self.reals(code)?, self.reals(code + 10)?);
        Ok(x.into_iter().zip(y).map(|(x, y)| Point::new(x, y)).collect())
    }

    /// What the extrusion direction does to plane coordinates; `None` where it tilts them out of
    /// the plane.
    fn extrusion(&mut self) -> Result<Option<Affine>, DrawingFault> {
        let x = self.real(210)?.unwrap_or(0.0);
        let y = self.real(220)?.unwrap_or(0.0);
        let z = self.real(230)?.unwrap_or(1.0);
        if x.hypot(y) > 1e-4 * z.abs() {
            return Ok(None);
        }
        Ok(Some(if z < 0.0 { Affine::MIRROR } else { Affine::IDENTITY }))
    }
}

fn path(curves: Vec<Curve>, frame: &Affine, z: (f64, f64)) -> What {
    if *frame == Affine::IDENTITY {
        return What::Path(curves, z);
    }
    What::Path(curves.iter().map(|c| c.moved(frame)).collect(), z)
}

fn at_first(vertices: &[(Point<Drawn>, f64)]) -> Point<Drawn> {
    vertices.first().map_or(Point::origin(), |v| v.0)
}
