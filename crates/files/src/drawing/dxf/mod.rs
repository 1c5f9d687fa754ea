//! DXF: sections, layers and blocks. What single entities draw is in [`entities`], what inserted
//! blocks do to them in [`blocks`].

mod blocks;
mod entities;
mod splines;
mod tokens;

use std::collections::HashMap;

use super::units::Claim;
use super::{DrawingFault, LeftOut, Sheet};
use entities::{Entity, Reader};
pub(super) use tokens::BINARY_MARK;
use tokens::{Pair, Pairs};

/// The names of the layers, in the order in which they were first met, and what hides them.
#[derive(Default)]
struct Layers {
    names: Vec<String>,
    hidden: Vec<Option<&'static str>>,
    dashed: Vec<bool>,
    by_name: HashMap<String, usize>,
}

impl Layers {
    /// The number of the layer called `name`; upper and lower case are alike in DXF.
    fn number(&mut self, name: String) -> usize {
        let next = self.names.len();
        let number = *self.by_name.entry(name.to_lowercase()).or_insert(next);
        if number == next {
            let hidden = name.eq_ignore_ascii_case("Defpoints").then_some("never plotted");
            self.hidden.push(hidden);
            self.dashed.push(false);
            self.names.push(name);
        }
        number
    }
}

/// A block: entities to be inserted elsewhere.
struct Block {
    base: (f64, f64),
    entities: Vec<Entity>,
}

/// What is taken from a file before blocks are inserted.
#[derive(Default)]
struct Document {
    layers: Layers,
    blocks: HashMap<String, Block>,
    entities: Vec<Entity>,
    insunits: Option<i64>,
    left_out: Vec<LeftOut>,
}

/// Reads a DXF file, ASCII or binary.
pub(super) fn read(bytes: &[u8]) -> Result<Sheet, DrawingFault> {
    blocks::explode(Document::read(bytes)?)
}

/// The units of `$INSUNITS`. `$MEASUREMENT` says nothing about the numbers and is not read.
fn claim(insunits: i64) -> Claim {
    match insunits {
        1 => Claim::Unit("in", 25.4),
        2 => Claim::Unit("ft", 304.8),
        3 => Claim::Unit("mile", 1_609_344.0),
        4 => Claim::Unit("mm", 1.0),
        5 => Claim::Unit("cm", 10.0),
        6 => Claim::Unit("m", 1000.0),
        7 => Claim::Unit("km", 1e6),
        8 => Claim::Unit("microinch", 25.4e-6),
        9 => Claim::Unit("mil", 0.0254),
        10 => Claim::Unit("yd", 914.4),
        12 => Claim::Unit("nm", 1e-6),
        13 => Claim::Unit("µm", 1e-3),
        14 => Claim::Unit("dm", 100.0),
        _ => Claim::Silent,
    }
}

impl Document {
    fn read(bytes: &[u8]) -> Result<Self, DrawingFault> {
        let mut document = Self::default();
        let mut pairs = Pairs::new(bytes);
        let mut had_entities = false;
        let mut ended = false;
        while let Some(pair) = pairs.next()? {
            if pair.is(0, "EOF") {
                ended = true;
                break;
            }
            if !pair.is(0, "SECTION") {
                continue;
            }
            let Some(name) = pairs.next()? else { break };
            if name.is(2, "HEADER") {
                document.header(&mut pairs)?;
            } else if name.is(2, "TABLES") {
                document.tables(&mut pairs)?;
            } else if name.is(2, "BLOCKS") {
                document.blocks(&mut pairs)?;
            } else if name.is(2, "ENTITIES") {
                document.entities(&mut pairs)?;
                had_entities = true;
            } else {
                skip_section(&mut pairs, had_entities)?;
            }
        }
        if !had_entities {
            return Err(pairs.fault("the file ends before any entities"));
        }
        if !ended {
            document.left_out.push(LeftOut {
                what: "the file has no end mark".to_owned(),
                at: None,
                layer: None,
                done: "its entities are complete and were taken",
                must_settle: false,
            });
        }
        Ok(document)
    }

    fn header(&mut self, pairs: &mut Pairs) -> Result<(), DrawingFault> {
        let mut variable = Vec::new();
        while let Some(pair) = pairs.next()? {
            if pair.is(0, "ENDSEC") {
                return Ok(());
            }
            if pair.code == 9 {
                variable = pair.bytes().to_vec();
            } else if pair.code == 70 && variable.eq_ignore_ascii_case(b"$INSUNITS") {
                self.insunits = Some(pair.whole());
            }
        }
        Err(pairs.fault("the file ends in its header"))
    }

    fn tables(&mut self, pairs: &mut Pairs) -> Result<(), DrawingFault> {
        let mut in_layer = false;
        let mut layer = None;
        while let Some(pair) = pairs.next()? {
            match pair.code {
                0 if pair.is(0, "ENDSEC") => return Ok(()),
                0 => (in_layer, layer) = (pair.is(0, "LAYER"), None),
                2 if in_layer => layer = Some(self.layers.number(pair.text())),
                _ => {}
            }
            let Some(layer) = layer else { continue };
            match pair.code {
                6 => self.layers.dashed[layer] = is_dashed(&pair),
                62 if pair.whole() < 0 => self.layers.hidden[layer] = Some("switched off"),
                70 if pair.whole() & 1 == 1 => self.layers.hidden[layer] = Some("frozen"),
                _ => {}
            }
        }
        Err(pairs.fault("the file ends in its tables"))
    }

    fn blocks(&mut self, pairs: &mut Pairs) -> Result<(), DrawingFault> {
        let mut reader = Reader::default();
        let mut pair = pairs.next()?;
        while let Some(start) = pair {
            if start.is(0, "ENDSEC") {
                return Ok(());
            }
            if !start.is(0, "BLOCK") {
                pair = pairs.next()?;
                continue;
            }
            let mut block = Block { base: (0.0, 0.0), entities: Vec::new() };
            let mut name = Vec::new();
            pair = pairs.next()?;
            while let Some(field) = pair
                && field.code != 0
            {
                match field.code {
                    2 => name = field.bytes().to_ascii_lowercase(),
                    10 => block.base.0 = field.real()?.0,
                    20 => block.base.1 = field.real()?.0,
                    _ => {}
                }
                pair = pairs.next()?;
            }
            while let Some(first) = pair
                && !first.is(0, "ENDBLK")
            {
                pair = reader.read(first, pairs, &mut self.layers, &mut block.entities)?;
            }
            let name = String::from_utf8_lossy(&name).into_owned();
            self.blocks.insert(name, block);
            if pair.is_some() {
                pair = pairs.next()?;
            }
        }
        Err(pairs.fault("the file ends in its blocks"))
    }

    fn entities(&mut self, pairs: &mut Pairs) -> Result<(), DrawingFault> {
        let mut reader = Reader::default();
        let mut pair = pairs.next()?;
        while let Some(first) = pair {
            if first.is(0, "ENDSEC") {
                if reader.commas > 0 {
                    self.left_out.push(LeftOut {
                        what: format!("{} numbers are written with a decimal comma", reader.commas),
                        at: None,
                        layer: None,
                        done: "read as decimal points",
                        must_settle: false,
                    });
                }
                return Ok(());
            }
            pair = reader.read(first, pairs, &mut self.layers, &mut self.entities)?;
        }
        Err(pairs.fault("the file ends in the middle of its entities, so part of it is missing"))
    }
}

/// Runs to the end of a section that is not needed. Behind the entities, damage does no harm.
fn skip_section(pairs: &mut Pairs, had_entities: bool) -> Result<(), DrawingFault> {
    loop {
        match pairs.next() {
            Ok(Some(pair)) if pair.is(0, "ENDSEC") => return Ok(()),
            Ok(Some(_)) => {}
            Ok(None) => return Ok(()),
            Err(_) if had_entities => return Ok(()),
            Err(fault) => return Err(fault),
        }
    }
}

/// Whether a line type's name is that of a broken line.
fn is_dashed(pair: &Pair) -> bool {
    let name = pair.text().to_lowercase();
    ["dash", "dot", "hidden", "center", "centre", "phantom", "divide", "border", "iso"]
        .iter()
        .any(|word| name.contains(word))
}
