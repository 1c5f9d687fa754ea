//! SVG: what its shapes draw, in the units of its `viewBox`, with y turned to point up.
//!
//! Our own walk over the parsed XML rather than the crate `usvg` (0.49), which makes splines of
//! arcs to a tenth of a pixel, keeps 24 bits of each number, and opens the files that a drawing
//! links to.

mod path;
mod style;

use std::collections::{BTreeMap, HashMap};

use oddment_core::shape::{Point, Vector};
use roxmltree::{Document, Node, ParsingOptions};
use svgtypes::{Length, LengthUnit, Transform, ViewBox};

use super::curve::{Affine, Stroke};
use super::units::Claim;
use super::{DrawingFault, LeftOut, OneOrMany, Sheet};
use crate::words::counted;
use style::{Look, Styles};

const NOT_IN_FILE: OneOrMany =
    ["reference to what is not in the file", "references to what is not in the file"];

/// Groups within groups deeper than this are refused; people draw a handful.
const DEEPEST: usize = 100;
/// More elements than this, counted as often as they are used, are refused.
const MOST_ELEMENTS: usize = 400_000;
/// More lines and curves than this are refused.
const MOST_CURVES: usize = 250_000;

/// Pixels to an inch, by the standard.
const PIXELS_PER_INCH: f64 = 96.0;

/// Reads an SVG file.
pub(super) fn read(bytes: &[u8]) -> Result<Sheet, DrawingFault> {
    let text = std::str::from_utf8(bytes).map_err(|fault| DrawingFault::Broken {
        place: format!("byte {}", fault.valid_up_to()),
        what: "the text is not UTF-8".to_owned(),
    })?;
    refuse_deep(text)?;
    // Drawings may declare their document type; what it links to is never opened.
    let parsing = ParsingOptions {
        allow_dtd: true,
        nodes_limit: 4 * MOST_ELEMENTS as u32,
        ..ParsingOptions::default()
    };
    let document = Document::parse_with_options(text, parsing).map_err(|fault| {
        DrawingFault::Broken { place: "the XML".to_owned(), what: fault.to_string() }
    })?;
    let root = document.root_element();
    if root.tag_name().name() != "svg" {
        return Err(DrawingFault::NotADrawing("an XML file without an svg element".to_owned()));
    }
    let styles = Styles::of(&document)?;
    let by_id = document.descendants().filter_map(|n| n.attribute("id").map(|id| (id, n)));
    let mut reader = Reader {
        styles,
        by_id: by_id.collect(),
        strokes: Vec::new(),
        curves: 0,
        elements: 0,
        layers: vec!["0".to_owned()],
        skipped: BTreeMap::new(),
    };
    let view = view_box(root)?;
    let bottom = match view {
        Some(view) => view.y + view.h,
        None => length(root, "height")?.unwrap_or(0.0),
    };
    let upright = Affine {
        x: Vector::new(1.0, 0.0),
        y: Vector::new(0.0, -1.0),
        shift: Vector::new(0.0, bottom),
    };
    let around = Around { frame: upright, look: Look::default(), layer: 0, depth: 0 };
    reader.children(root, &around)?;

    let left_out = reader.skipped.into_iter().map(|(([one, many], layer), (count, at))| LeftOut {
        what: counted(count, one, many),
        at: Some(at),
        layer: reader.layers.get(layer).cloned(),
        done: "left out",
        must_settle: false,
    });
    Ok(Sheet {
        left_out: left_out.collect(),
        strokes: reader.strokes,
        layers: reader.layers,
        claim: claim(root, view)?,
    })
}

/// Parsers walk into elements by calling themselves: too deep a tree would end the program.
fn refuse_deep(text: &str) -> Result<(), DrawingFault> {
    let mut depth = 0_usize;
    for (i, _) in text.match_indices('<') {
        let tag = &text.as_bytes()[i + 1..];
        match tag.first() {
            Some(b'/') => depth = depth.saturating_sub(1),
            Some(b'!' | b'?') | None => {}
            Some(_) => {
                let end = tag.iter().position(|b| *b == b'>').unwrap_or(0);
                depth += usize::from(end == 0 || tag[end - 1] != b'/');
            }
        }
        if depth > 2 * DEEPEST {
            return Err(too_deep());
        }
    }
    Ok(())
}

fn too_deep() -> DrawingFault {
    DrawingFault::TooLarge(format!("groups within groups, more than {DEEPEST} deep"))
}

/// What the width of the page says about the units.
fn claim(root: Node, view: Option<ViewBox>) -> Result<Claim, DrawingFault> {
    let Some(text) = root.attribute("width") else {
        return Ok(Claim::Pixels(25.4 / PIXELS_PER_INCH));
    };
    let width = parse_length(root, "width", text)?;
    let Some(pixels) = pixels(width) else { return Ok(Claim::Pixels(25.4 / PIXELS_PER_INCH)) };
    let units = match view {
        Some(view) if view.w > 0.0 => view.w,
        _ => pixels,
    };
    let mm = pixels / units * 25.4 / PIXELS_PER_INCH;
    if matches!(width.unit, LengthUnit::None | LengthUnit::Px) {
        return Ok(Claim::Pixels(mm));
    }
    let known = [("mm", 1.0), ("cm", 10.0), ("in", 25.4)];
    let named = known.into_iter().find(|(_, size)| (mm / size - 1.0).abs() < 1e-3);
    Ok(Claim::Unit(named.map_or("px", |(name, _)| name), mm))
}

/// What surrounds an element.
struct Around {
    frame: Affine,
    look: Look,
    layer: usize,
    depth: usize,
}

struct Reader<'a, 'input> {
    styles: Styles<'a>,
    by_id: HashMap<&'a str, Node<'a, 'input>>,
    strokes: Vec<Stroke>,
    curves: usize,
    elements: usize,
    layers: Vec<String>,
    skipped: BTreeMap<(OneOrMany, usize), (usize, Point<super::curve::Drawn>)>,
}

impl<'a, 'input> Reader<'a, 'input> {
    fn children(&mut self, node: Node<'a, 'input>, around: &Around) -> Result<(), DrawingFault> {
        if around.depth > DEEPEST {
            return Err(too_deep());
        }
        for child in node.children().filter(Node::is_element) {
            self.element(child, around)?;
        }
        Ok(())
    }

    fn element(&mut self, node: Node<'a, 'input>, around: &Around) -> Result<(), DrawingFault> {
        self.elements += 1;
        if self.elements > MOST_ELEMENTS {
            return Err(DrawingFault::TooLarge(format!("more than {MOST_ELEMENTS} elements")));
        }
        let name = node.tag_name().name();
        let mut inside = Around {
            frame: around.frame.after(&transform(node)?),
            look: self.styles.look(node, &around.look),
            layer: around.layer,
            depth: around.depth + 1,
        };
        match name {
            "g" | "a" | "switch" => {
                inside.layer = self.layer(node, around.layer);
                self.children(node, &inside)
            }
            "svg" | "symbol" => {
                inside.frame = inside.frame.after(&viewport(node)?);
                self.children(node, &inside)
            }
            "use" => {
                let href = node.attributes().find(|a| a.name() == "href").map(|a| a.value());
                let target = href.and_then(|h| h.strip_prefix('#')).and_then(|h| self.by_id.get(h));
                let Some(target) = target.copied() else {
                    self.skip(NOT_IN_FILE, &inside);
                    return Ok(());
                };
                if inside.depth > DEEPEST {
                    return Err(too_deep());
                }
                let at = Vector::new(
                    length(node, "x")?.unwrap_or(0.0),
                    length(node, "y")?.unwrap_or(0.0),
                );
                inside.frame = inside.frame.after(&Affine { shift: at, ..Affine::IDENTITY });
                self.element(target, &inside)
            }
            "path" | "rect" | "circle" | "ellipse" | "line" | "polyline" | "polygon" => {
                if !inside.look.shown {
                    self.skip(["hidden shape", "hidden shapes"], &inside);
                    return Ok(());
                }
                let filled = inside.look.filled && !inside.look.stroked;
                for curves in path::of(node, filled)? {
                    self.curves += curves.len();
                    if self.curves > MOST_CURVES {
                        let what = format!("more than {MOST_CURVES} lines and curves");
                        return Err(DrawingFault::TooLarge(what));
                    }
                    if curves.is_empty() || inside.frame.determinant() == 0.0 {
                        continue;
                    }
                    let curves = curves.iter().map(|c| c.moved(&inside.frame)).collect();
                    let (layer, dashed) = (inside.layer, inside.look.dashed);
                    self.strokes.push(Stroke { curves, layer, dashed });
                }
                Ok(())
            }
            "text" => {
                self.skip(["text", "texts"], &inside);
                Ok(())
            }
            "image" | "foreignObject" => {
                self.skip(["picture", "pictures"], &inside);
                Ok(())
            }
            // Definitions, styles and descriptions draw nothing where they stand.
            _ => Ok(()),
        }
    }

    /// The layer of a group: its label where it has one, or its name.
    fn layer(&mut self, node: Node, around: usize) -> usize {
        let label = node.attributes().find(|a| a.name() == "label").map(|a| a.value());
        let Some(name) = label.or(node.attribute("id")) else { return around };
        let known = self.layers.iter().position(|l| l == name);
        // A thousand layers are no layers: the rest belongs to what is around it.
        known.unwrap_or_else(|| {
            if self.layers.len() >= 1000 {
                return around;
            }
            self.layers.push(name.to_owned());
            self.layers.len() - 1
        })
    }

    fn skip(&mut self, kind: OneOrMany, at: &Around) {
        let place = at.frame.point(Point::origin());
        self.skipped.entry((kind, at.layer)).or_insert((0, place)).0 += 1;
    }
}

fn transform(node: Node) -> Result<Affine, DrawingFault> {
    let Some(text) = node.attribute("transform") else { return Ok(Affine::IDENTITY) };
    let t: Transform = text.parse().map_err(|_| fault(node, "its transform can't be read"))?;
    let affine =
        Affine { x: Vector::new(t.a, t.b), y: Vector::new(t.c, t.d), shift: Vector::new(t.e, t.f) };
    let finite = affine.x.is_finite() && affine.y.is_finite() && affine.shift.is_finite();
    if finite { Ok(affine) } else { Err(fault(node, "its transform is not a number")) }
}

/// From the coordinates inside a nested `svg` or `symbol` to those around it.
fn viewport(node: Node) -> Result<Affine, DrawingFault> {
    let at = Vector::new(length(node, "x")?.unwrap_or(0.0), length(node, "y")?.unwrap_or(0.0));
    let size = (length(node, "width")?, length(node, "height")?);
    let scale = match (view_box(node)?, size) {
        (Some(view), (Some(w), Some(h))) => (w / view.w).min(h / view.h),
        _ => 1.0,
    };
    let corner = view_box(node)?.map_or(Vector::default(), |v| Vector::new(v.x, v.y));
    Ok(Affine {
        x: Vector::new(scale, 0.0),
        y: Vector::new(0.0, scale),
        shift: at - corner * scale,
    })
}

fn view_box(node: Node) -> Result<Option<ViewBox>, DrawingFault> {
    let Some(text) = node.attribute("viewBox") else { return Ok(None) };
    text.parse().map(Some).map_err(|_| fault(node, "its viewBox can't be read"))
}

/// A length in pixels; `None` where there is none, or one in percent of something.
fn length(node: Node, name: &str) -> Result<Option<f64>, DrawingFault> {
    let Some(text) = node.attribute(name) else { return Ok(None) };
    let pixels = pixels(parse_length(node, name, text)?);
    if pixels.is_some_and(|p| !p.is_finite() || p.abs() > 1e9) {
        return Err(fault(node, &format!("its {name} can't be a length")));
    }
    Ok(pixels)
}

fn parse_length(node: Node, name: &str, text: &str) -> Result<Length, DrawingFault> {
    text.trim().parse().map_err(|_| fault(node, &format!("its {name} can't be read")))
}

fn pixels(length: Length) -> Option<f64> {
    let per_unit = match length.unit {
        LengthUnit::None | LengthUnit::Px => 1.0,
        LengthUnit::In => PIXELS_PER_INCH,
        LengthUnit::Cm => PIXELS_PER_INCH / 2.54,
        LengthUnit::Mm => PIXELS_PER_INCH / 25.4,
        LengthUnit::Pt => PIXELS_PER_INCH / 72.0,
        LengthUnit::Pc => PIXELS_PER_INCH / 6.0,
        LengthUnit::Em | LengthUnit::Ex | LengthUnit::Percent => return None,
    };
    Some(length.number * per_unit)
}

/// A fault of an element, with its line.
fn fault(node: Node, what: &str) -> DrawingFault {
    let line = node.document().text_pos_at(node.range().start).row;
    let name = node.tag_name().name();
    DrawingFault::Broken { place: format!("line {line}"), what: format!("“{name}”: {what}") }
}
