//! Writes DXF release 2000 (AC1015). Our own, since the `dxf` crate leaves handles out, writes
//! codes that this release does not know, and prints numbers its own way.

use std::fmt::Write as _;

use oddment_core::shape::{Bounds, Edge, Loop, Point, SheetSpace};
use oddment_core::units::LengthUnit;

use super::pen::Pen;

/// A layer of the drawing.
#[derive(Clone, Copy, Debug)]
pub(super) struct Layer {
    /// Letters A–Z, digits and _ only: some readers stop at anything else.
    pub(super) name: &'static str,
    /// Number in the standard palette; some controllers tell layers apart by colour.
    pub(super) colour: u8,
    /// Whether its lines are dashed.
    pub(super) dashed: bool,
}

/// Handles that others refer to.
const MODEL_SPACE: &str = "1F";
const PAPER_SPACE: &str = "1B";
const LAYER_TABLE: &str = "2";
/// Entities and layers count on from here.
const FIRST_FREE: u32 = 0x100;

/// Puts a drawing together.
pub(super) struct Writer {
    layers: Vec<Layer>,
    entities: String,
    next: u32,
    bounds: Bounds<SheetSpace>,
    unit: LengthUnit,
}

impl Writer {
    /// A drawing with these layers, its numbers in `unit`.
    pub(super) fn new(layers: &[Layer], unit: LengthUnit) -> Self {
        let next = FIRST_FREE + layers.len() as u32;
        let entities = String::new();
        Self { layers: layers.to_vec(), entities, next, bounds: Bounds::EMPTY, unit }
    }

    /// A length in the drawing's unit.
    fn length(&mut self, code: u32, mm: f64) {
        number(&mut self.entities, code, mm / self.unit.in_mm());
    }

    fn polyline(
        &mut self,
        layer: &Layer,
        vertices: impl ExactSizeIterator<Item = (Point<SheetSpace>, f64)>,
        closed: bool,
    ) {
        self.begin("LWPOLYLINE", layer);
        pair(&mut self.entities, 100, "AcDbPolyline");
        pair(&mut self.entities, 90, vertices.len());
        pair(&mut self.entities, 70, u8::from(closed));
        for (point, bulge) in vertices {
            self.length(10, point.x);
            self.length(20, point.y);
            if bulge != 0.0 {
                // A bulge has no unit: over a chord of metres the sixth digit would be seen.
                pair(&mut self.entities, 42, decimal(bulge, 12));
            }
        }
    }

    fn begin(&mut self, kind: &str, layer: &Layer) {
        let handle = format!("{:X}", self.next);
        self.next += 1;
        let out = &mut self.entities;
        pair(out, 0, kind);
        pair(out, 5, handle);
        pair(out, 330, MODEL_SPACE);
        pair(out, 100, "AcDbEntity");
        pair(out, 8, layer.name);
    }

    fn point(&mut self, code: u32, p: Point<SheetSpace>) {
        self.length(code, p.x);
        self.length(code + 10, p.y);
        self.length(code + 20, 0.0);
    }

    /// The whole file.
    pub(super) fn finish(self) -> String {
        let mut out = self.header();
        section(&mut out, "CLASSES", "");
        section(&mut out, "TABLES", &self.tables());
        section(&mut out, "BLOCKS", &blocks());
        section(&mut out, "ENTITIES", &self.entities);
        section(&mut out, "OBJECTS", &lines(OBJECTS));
        pair(&mut out, 0, "EOF");
        out
    }

    fn header(&self) -> String {
        let bounds = if self.bounds.is_empty() {
            Bounds::of([Point::origin(), Point::new(100.0, 100.0)])
        } else {
            self.bounds
        };
        let of_unit = |p: Point<SheetSpace>| {
            Point::<SheetSpace>::new(p.x / self.unit.in_mm(), p.y / self.unit.in_mm())
        };
        let bounds = Bounds { min: of_unit(bounds.min), max: of_unit(bounds.max) };
        let mut h = String::new();
        let variable = |h: &mut String, name: &str| pair(h, 9, format!("${name}"));
        for (name, code, value) in
            [("ACADVER", 1, "AC1015"), ("DWGCODEPAGE", 3, "ANSI_1252"), ("LUNITS", 70, "2")]
        {
            variable(&mut h, name);
            pair(&mut h, code, value);
        }
        let (measurement, units) = match self.unit {
            LengthUnit::Mm => (1, 4),
            LengthUnit::Inch => (0, 1),
        };
        for (name, value) in [("LUPREC", 4), ("MEASUREMENT", measurement), ("INSUNITS", units)] {
            variable(&mut h, name);
            pair(&mut h, 70, value);
        }
        for (name, point, with_z) in [
            ("INSBASE", Point::origin(), true),
            ("EXTMIN", bounds.min, true),
            ("EXTMAX", bounds.max, true),
            ("LIMMIN", bounds.min, false),
            ("LIMMAX", bounds.max, false),
        ] {
            variable(&mut h, name);
            number(&mut h, 10, point.x);
            number(&mut h, 20, point.y);
            if with_z {
                number(&mut h, 30, 0.0);
            }
        }
        variable(&mut h, "HANDSEED");
        pair(&mut h, 5, format!("{:X}", self.next));
        let mut out = String::new();
        section(&mut out, "HEADER", &h);
        out
    }

    fn tables(&self) -> String {
        let mut out = lines(TABLES_BEFORE_LAYERS);
        table(&mut out, "LAYER", LAYER_TABLE, self.layers.len() + 1);
        let zero = Layer { name: "0", colour: 7, dashed: false };
        for (i, layer) in std::iter::once(&zero).chain(&self.layers).enumerate() {
            // Layer 0 has a handle of its own below those counted on.
            let handle =
                if i == 0 { "10".to_owned() } else { format!("{:X}", FIRST_FREE as usize + i - 1) };
            record(&mut out, "LAYER", &handle, LAYER_TABLE, "AcDbLayerTableRecord");
            pair(&mut out, 2, layer.name);
            pair(&mut out, 70, 0);
            pair(&mut out, 62, layer.colour);
            pair(&mut out, 6, if layer.dashed { "DASHED" } else { "CONTINUOUS" });
        }
        pair(&mut out, 0, "ENDTAB");
        out + &lines(TABLES_AFTER_LAYERS)
    }
}

impl Pen for Writer {
    /// A closed contour: a circle where it is one, or else one closed polyline with bulges.
    fn contour(&mut self, layer: &Layer, contour: &Loop<SheetSpace>) {
        self.bounds = self.bounds.union(contour.bounds());
        if let Some((centre, radius)) = contour.as_circle() {
            self.begin("CIRCLE", layer);
            pair(&mut self.entities, 100, "AcDbCircle");
            self.point(10, centre);
            self.length(40, radius);
            return;
        }
        let vertices = contour.vertices().iter().map(|v| (v.point, v.bulge));
        self.polyline(layer, vertices, true);
    }

    /// Lines and arcs that follow each other, as one open polyline.
    fn chain(&mut self, layer: &Layer, edges: &[Edge<SheetSpace>]) {
        let Some(last) = edges.last() else { return };
        self.bounds = edges.iter().map(Edge::bounds).fold(self.bounds, Bounds::union);
        let vertices: Vec<_> =
            edges.iter().map(|e| (e.from(), e.bulge())).chain([(last.to(), 0.0)]).collect();
        self.polyline(layer, vertices.into_iter(), false);
    }

    /// A line or an arc by itself.
    fn edge(&mut self, layer: &Layer, edge: &Edge<SheetSpace>) {
        self.bounds = self.bounds.union(edge.bounds());
        match *edge {
            Edge::Line { from, to } => {
                self.begin("LINE", layer);
                pair(&mut self.entities, 100, "AcDbLine");
                self.point(10, from);
                self.point(11, to);
            }
            Edge::Arc { from, to, centre, radius, sweep } => {
                self.begin("ARC", layer);
                pair(&mut self.entities, 100, "AcDbCircle");
                self.point(10, centre);
                self.length(40, radius);
                pair(&mut self.entities, 100, "AcDbArc");
                // Arcs run counter-clockwise in a DXF.
                let (start, end) = if sweep > 0.0 { (from, to) } else { (to, from) };
                for (code, p) in [(50, start), (51, end)] {
                    let degrees = (p - centre).angle().to_degrees().rem_euclid(360.0);
                    pair(&mut self.entities, code, decimal(degrees, 12));
                }
            }
        }
    }
}

fn section(out: &mut String, name: &str, body: &str) {
    pair(out, 0, "SECTION");
    pair(out, 2, name);
    out.push_str(body);
    pair(out, 0, "ENDSEC");
}

fn table(out: &mut String, name: &str, handle: &str, entries: usize) {
    pair(out, 0, "TABLE");
    pair(out, 2, name);
    pair(out, 5, handle);
    pair(out, 330, 0);
    pair(out, 100, "AcDbSymbolTable");
    pair(out, 70, entries);
}

fn record(out: &mut String, kind: &str, handle: &str, owner: &str, class: &str) {
    pair(out, 0, kind);
    pair(out, 5, handle);
    pair(out, 330, owner);
    pair(out, 100, "AcDbSymbolTableRecord");
    pair(out, 100, class);
}

fn blocks() -> String {
    let mut out = String::new();
    for (name, owner, begin, end, paper) in [
        ("*Model_Space", MODEL_SPACE, "20", "21", false),
        ("*Paper_Space", PAPER_SPACE, "1C", "1D", true),
    ] {
        let head = |out: &mut String, kind: &str, handle: &str, class: &str| {
            pair(out, 0, kind);
            pair(out, 5, handle);
            pair(out, 330, owner);
            pair(out, 100, "AcDbEntity");
            if paper {
                pair(out, 67, 1);
            }
            pair(out, 8, 0);
            pair(out, 100, class);
        };
        head(&mut out, "BLOCK", begin, "AcDbBlockBegin");
        pair(&mut out, 2, name);
        pair(&mut out, 70, 0);
        for code in [10, 20, 30] {
            number(&mut out, code, 0.0);
        }
        pair(&mut out, 3, name);
        pair(&mut out, 1, "");
        head(&mut out, "ENDBLK", end, "AcDbBlockEnd");
    }
    out
}

/// One group: a code and its value, a line each.
fn pair(out: &mut String, code: u32, value: impl std::fmt::Display) {
    // Writing to a text can't fail.
    let _ = write!(out, "{code:>3}\r\n{value}\r\n");
}

/// A length: millimetres with six decimals.
fn number(out: &mut String, code: u32, value: f64) {
    pair(out, code, decimal(value, 6));
}

/// A number with a decimal point, no exponent and no −0.
pub(super) fn decimal(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = text.trim_end_matches('0');
    let text = if text.ends_with('.') { format!("{text}0") } else { text.to_owned() };
    if text == "-0.0" { "0.0".to_owned() } else { text }
}

/// Groups as they stand below: code, a blank, value; two blanks or more between groups.
fn lines(groups: &str) -> String {
    let mut out = String::new();
    for group in groups.lines().flat_map(|l| l.split("  ")).map(str::trim).filter(|g| !g.is_empty())
    {
        let (code, value) = group.split_once(' ').unwrap_or((group, ""));
        pair(&mut out, code.parse().unwrap_or_default(), value);
    }
    out
}

/// Viewport and line types.
const TABLES_BEFORE_LAYERS: &str = "
0 TABLE  2 VPORT  5 8  330 0  100 AcDbSymbolTable  70 0  0 ENDTAB
0 TABLE  2 LTYPE  5 5  330 0  100 AcDbSymbolTable  70 4
0 LTYPE  5 14  330 5  100 AcDbSymbolTableRecord  100 AcDbLinetypeTableRecord
2 ByBlock  70 0  3   72 65  73 0  40 0.0
0 LTYPE  5 15  330 5  100 AcDbSymbolTableRecord  100 AcDbLinetypeTableRecord
2 ByLayer  70 0  3   72 65  73 0  40 0.0
0 LTYPE  5 16  330 5  100 AcDbSymbolTableRecord  100 AcDbLinetypeTableRecord
2 CONTINUOUS  70 0  3 Solid line  72 65  73 0  40 0.0
0 LTYPE  5 17  330 5  100 AcDbSymbolTableRecord  100 AcDbLinetypeTableRecord
2 DASHED  70 0  3 Dashed line  72 65  73 2  40 9.0  49 6.0  74 0  49 -3.0  74 0
0 ENDTAB";

/// Text style, views, the program's name, dimension styles and the two spaces.
const TABLES_AFTER_LAYERS: &str = "
0 TABLE  2 STYLE  5 3  330 0  100 AcDbSymbolTable  70 1
0 STYLE  5 11  330 3  100 AcDbSymbolTableRecord  100 AcDbTextStyleTableRecord
2 STANDARD  70 0  40 0.0  41 1.0  50 0.0  71 0  42 2.5  3 txt  4
0 ENDTAB
0 TABLE  2 VIEW  5 6  330 0  100 AcDbSymbolTable  70 0  0 ENDTAB
0 TABLE  2 UCS  5 7  330 0  100 AcDbSymbolTable  70 0  0 ENDTAB
0 TABLE  2 APPID  5 9  330 0  100 AcDbSymbolTable  70 1
0 APPID  5 12  330 9  100 AcDbSymbolTableRecord  100 AcDbRegAppTableRecord  2 ACAD  70 0
0 ENDTAB
0 TABLE  2 DIMSTYLE  5 A  330 0  100 AcDbSymbolTable  70 0  100 AcDbDimStyleTable  0 ENDTAB
0 TABLE  2 BLOCK_RECORD  5 1  330 0  100 AcDbSymbolTable  70 2
0 BLOCK_RECORD  5 1F  330 1  100 AcDbSymbolTableRecord  100 AcDbBlockTableRecord
2 *Model_Space
0 BLOCK_RECORD  5 1B  330 1  100 AcDbSymbolTableRecord  100 AcDbBlockTableRecord
2 *Paper_Space
0 ENDTAB";

/// The root of the drawing's objects.
const OBJECTS: &str = "
0 DICTIONARY  5 C  330 0  100 AcDbDictionary  281 1  3 ACAD_GROUP  350 D
0 DICTIONARY  5 D  330 C  100 AcDbDictionary  281 1";
