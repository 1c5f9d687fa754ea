//! Blocks put in where they are inserted, and what is not to be cut left out.

use std::collections::BTreeMap;

use oddment_core::shape::{Bounds, Point, Vector};

use super::super::curve::{Affine, Drawn, Stroke};
use super::super::units::Claim;
use super::super::{DrawingFault, LeftOut, OneOrMany, Sheet};
use super::entities::{Entity, VIEWPORTS, What};
use super::{Document, claim};
use crate::drawing::layers::lines_words;
use crate::words::counted;

/// Deeper nesting is a block that contains itself.
const DEEPEST: usize = 32;
/// More entities than this, counted as often as their blocks are inserted, are refused.
const MOST_ENTITIES: usize = 1_000_000;
/// More lines and curves than this are refused.
const MOST_CURVES: usize = 250_000;
/// Heights (in the file's units) that differ by no more than this are noise.
const FLAT: f64 = 0.01;

/// The strokes of a document with all blocks inserted, and what was left out.
pub(super) fn explode(mut document: Document) -> Result<Sheet, DrawingFault> {
    let claim = document.insunits.map_or(Claim::Silent, claim);
    let zero = document.layers.number("0".to_owned());
    let mut explosion = Explosion {
        document: &document,
        zero,
        strokes: Vec::new(),
        curves: 0,
        entities: 0,
        skipped: BTreeMap::new(),
        heights: (f64::INFINITY, f64::NEG_INFINITY),
    };
    let top = Surroundings { frame: Affine::IDENTITY, layer: zero, depth: 0, unseen: None };
    explosion.all(&document.entities, &top)?;

    let Explosion { strokes, skipped, heights, .. } = explosion;
    let mut left_out = document.left_out;
    left_out.extend(skipped.into_iter().map(|((why, layer), s)| {
        let name = &document.layers.names[layer];
        let (what, done) = match why {
            Why::Kind([one, many]) => (counted(s.count, one, many), "left out"),
            Why::Unseen(how @ ("frozen" | "switched off")) => (
                format!("{} on the layer “{name}”, which is {how}", lines_words(s.count)),
                "left out",
            ),
            Why::Unseen("never plotted") => (
                format!("{} on the layer “{name}”", lines_words(s.count)),
                "left out, as it is never plotted",
            ),
            Why::Unseen(how) => (
                format!("{} {how}", lines_words(s.count)),
                "left out; only what is seen in the model space is read",
            ),
            Why::NoBlock => (
                counted(
                    s.count,
                    "inserted block that is not in the file",
                    "inserted blocks that are not in the file",
                ),
                "left out",
            ),
        };
        LeftOut {
            what,
            at: s.first,
            layer: Some(name.clone()),
            done,
            must_settle: matches!(why, Why::NoBlock),
        }
    }));
    if heights.1 - heights.0 > FLAT {
        left_out.push(LeftOut {
            what: format!(
                "heights (z) run from {} to {}: not a flat drawing",
                heights.0, heights.1
            ),
            at: None,
            layer: None,
            done: "everything taken as seen from above",
            must_settle: true,
        });
    }
    Ok(Sheet { strokes, layers: document.layers.names, claim, left_out })
}

/// Why something was left out.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Why {
    Kind(OneOrMany),
    Unseen(&'static str),
    NoBlock,
}

struct Skipped {
    count: usize,
    first: Option<Point<Drawn>>,
}

/// What surrounds the entities of an inserted block.
struct Surroundings {
    frame: Affine,
    layer: usize,
    depth: usize,
    unseen: Option<&'static str>,
}

struct Explosion<'a> {
    document: &'a Document,
    /// Number of layer 0, whose entities take the layer of their block's insert.
    zero: usize,
    strokes: Vec<Stroke>,
    curves: usize,
    entities: usize,
    skipped: BTreeMap<(Why, usize), Skipped>,
    heights: (f64, f64),
}

impl Explosion<'_> {
    fn all(&mut self, entities: &[Entity], around: &Surroundings) -> Result<(), DrawingFault> {
        let document = self.document;
        for entity in entities {
            self.entities += 1;
            if self.entities > MOST_ENTITIES {
                return Err(DrawingFault::TooLarge(format!("more than {MOST_ENTITIES} entities")));
            }
            let layer = if entity.layer == self.zero { around.layer } else { entity.layer };
            let unseen = around.unseen.or(entity.unseen).or(document.layers.hidden[layer]);
            match &entity.what {
                What::Path(curves, heights) => {
                    let moved = curves.iter().map(|c| c.moved(&around.frame));
                    if curves.is_empty() || around.frame.determinant() == 0.0 {
                        continue;
                    }
                    self.curves += curves.len();
                    if self.curves > MOST_CURVES {
                        let what = format!("more than {MOST_CURVES} lines and curves");
                        return Err(DrawingFault::TooLarge(what));
                    }
                    let dashed = entity.dashed.unwrap_or(document.layers.dashed[layer]);
                    let stroke = Stroke { curves: moved.collect(), layer, dashed };
                    if let Some(how) = unseen {
                        self.skip(Why::Unseen(how), layer, 1, stroke.rough_bounds());
                        continue;
                    }
                    self.heights = (self.heights.0.min(heights.0), self.heights.1.max(heights.1));
                    self.strokes.push(stroke);
                }
                What::Insert(insert) => {
                    let Some(block) = document.blocks.get(&insert.block) else {
                        self.skip(Why::NoBlock, layer, 1, Bounds::EMPTY);
                        continue;
                    };
                    if around.depth == DEEPEST {
                        let what = format!("blocks within blocks, more than {DEEPEST} deep");
                        return Err(DrawingFault::TooLarge(what));
                    }
                    let base = Vector::new(block.base.0, block.base.1);
                    let (columns, rows) = insert.count;
                    for (column, row) in
                        (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row)))
                    {
                        self.entities += 1;
                        if self.entities > MOST_ENTITIES {
                            let what = format!("more than {MOST_ENTITIES} inserted blocks");
                            return Err(DrawingFault::TooLarge(what));
                        }
                        let mut frame = insert.frame;
                        frame.shift = frame.shift - frame.vector(base)
                            + insert.step.0 * f64::from(column)
                            + insert.step.1 * f64::from(row);
                        let inside = Surroundings {
                            frame: around.frame.after(&frame),
                            layer,
                            depth: around.depth + 1,
                            unseen,
                        };
                        self.all(&block.entities, &inside)?;
                    }
                }
                What::Other(VIEWPORTS, _) => {}
                What::Other(kind, at) => {
                    let spot = around.frame.point(*at);
                    let why = unseen.map_or(Why::Kind(*kind), Why::Unseen);
                    if why == Why::Kind(*kind) {
                        self.skip(why, layer, 1, Bounds::of([spot]));
                    }
                }
            }
        }
        Ok(())
    }

    fn skip(&mut self, why: Why, layer: usize, count: usize, bounds: Bounds<Drawn>) {
        let first = (!bounds.is_empty()).then(|| bounds.centre());
        let skipped = self.skipped.entry((why, layer)).or_insert(Skipped { count: 0, first });
        skipped.count += count;
    }
}
