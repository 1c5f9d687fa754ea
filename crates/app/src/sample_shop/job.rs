//! Jobs of the sample shop: its orders on its sheets.

use std::fs;
use std::io;
use std::path::Path;

use oddment_core::part::{MadeFrom, Part};
use oddment_core::plan::{Count, Stock, Wanted};
use oddment_core::shape::{Edge, Loop, Region, SheetSpace};
use oddment_core::sheet::{Body, Contour, Sheet};
use oddment_files::drawing::{Drawing, ReadOptions, read_drawing};
use oddment_files::job_file::{Origin, SourcedJob};
use oddment_files::values::Values;

use super::{SampleDrawing, SampleOrder, SamplePart, SampleSheet, SampleShop, SampleShopFault};

impl SampleShop {
    /// The order on these of the shop's sheets, with the clearances and starts that the usual machine
    /// begins with at its thickness. Where the drawings lie in `folder` (an absolute path, see
    /// [`Self::write_drawings`]), the job names them there.
    ///
    /// # Errors
    /// Never for the files that the program was tested with.
    pub fn job(
        &self,
        order: &SampleOrder,
        sheets: &[&SampleSheet],
        folder: Option<&Path>,
    ) -> Result<SourcedJob, SampleShopFault> {
        let thickness = self.first_part(order)?.thickness;
        let values = Values::starting();
        let clearances =
            values.clearances(None, thickness).ok_or(SampleShopFault::TooThick(thickness))?;
        let mut job = SourcedJob::new(clearances);
        job.job.starts = values.starts(None, thickness);
        let origin = |drawing: &SampleDrawing| match folder {
            Some(folder) => {
                Origin::Drawing { path: folder.join(drawing.file), mm_per_unit: 1.0, region: 0 }
            }
            None => Origin::Outline,
        };
        for sheet in sheets {
            job.add_sheet(Stock { sheet: sheet.sheet()?, count: 1 }, origin(&sheet.drawing));
        }
        for (part, count) in &order.lines {
            let part = &self.parts[*part];
            let wanted = Wanted { part: part.part()?, count: Count::Exactly(*count) };
            job.add_part(wanted, origin(&part.drawing));
        }
        Ok(job)
    }

    /// The sheets that are of the order's material and thickness.
    ///
    /// # Errors
    /// [`SampleShopFault::Empty`] where the order asks for nothing.
    pub fn sheets_for(&self, order: &SampleOrder) -> Result<Vec<&SampleSheet>, SampleShopFault> {
        let part = self.first_part(order)?;
        let alike = |s: &&SampleSheet| {
            s.metal.material == part.material && s.metal.thickness == part.thickness
        };
        Ok(self.sheets.iter().filter(alike).collect())
    }

    /// Writes every drawing of the shop below `folder`.
    ///
    /// # Errors
    /// Where the folder can't be written.
    pub fn write_drawings(folder: &Path) -> io::Result<()> {
        for drawing in Self::drawings() {
            let file = folder.join(drawing.file);
            if let Some(parent) = file.parent() {
                fs::create_dir_all(parent)?;
            }
            fs::write(file, drawing.dxf)?;
        }
        Ok(())
    }

    fn first_part(&self, order: &SampleOrder) -> Result<&SamplePart, SampleShopFault> {
        let (part, _) =
            order.lines.first().ok_or_else(|| SampleShopFault::Empty(order.name.clone()))?;
        Ok(&self.parts[*part])
    }
}

impl SamplePart {
    /// The part, read from its drawing.
    ///
    /// # Errors
    /// Never for the drawings that the program was tested with.
    pub fn part(&self) -> Result<Part, SampleShopFault> {
        let found = self.drawing.read()?.regions.into_iter().next();
        let found = found.ok_or_else(|| SampleShopFault::Empty(self.name.clone()))?;
        Ok(Part {
            marks: found.marks,
            turning: self.turning.clone(),
            flip: self.flip,
            grain: self.grain,
            made_from: Some(MadeFrom {
                material: self.material.clone(),
                thickness: self.thickness,
            }),
            ..Part::new(self.name.clone(), found.region)
        })
    }
}

impl SampleSheet {
    /// The sheet, read from its drawing.
    ///
    /// # Errors
    /// Never for the drawings that the program was tested with.
    pub fn sheet(&self) -> Result<Sheet, SampleShopFault> {
        let regions = self.drawing.read()?.regions;
        Ok(Sheet {
            name: self.label.clone(),
            bodies: regions.iter().map(|f| self.body(f.region.reinterpret())).collect(),
            no_go: Vec::new(),
            grain: self.grain,
            made_of: Some(self.metal.clone()),
        })
    }

    fn body(&self, region: Region<SheetSpace>) -> Body {
        let outer = region.outer().clone();
        let mut facts = vec![self.outer; outer.vertices().len()];
        for (at, side) in &self.sides {
            let off = |e: &Edge<SheetSpace>| e.nearest(*at).distance(*at);
            let nearest = outer.edges().enumerate().min_by(|a, b| off(&a.1).total_cmp(&off(&b.1)));
            if let Some((edge, _)) = nearest {
                facts[edge] = *side;
            }
        }
        let cutout = |hole: &Loop<SheetSpace>| Contour::uniform(hole.clone(), self.cutouts);
        Body {
            cutouts: region.holes().iter().map(cutout).collect(),
            outer: Contour::with_facts(outer.clone(), facts)
                .unwrap_or_else(|| Contour::uniform(outer, self.outer)),
        }
    }
}

impl SampleDrawing {
    /// Reads it.
    ///
    /// # Errors
    /// Never for the drawings that the program was tested with.
    pub fn read(&self) -> Result<Drawing, SampleShopFault> {
        read_drawing(self.file, self.dxf.as_bytes(), &ReadOptions::default())
            .map_err(|fault| SampleShopFault::Drawing(self.file, fault))
    }
}

#[cfg(test)]
mod tests {
    use oddment_core::sheet::EdgeKind;

    use super::*;

    #[test]
    fn every_drawing_is_read_with_nothing_left_to_settle() {
        for drawing in SampleShop::drawings() {
            let read = drawing.read().unwrap();
            assert_eq!(read.regions.len(), 1, "{}", drawing.file);
            let marks = !read.regions[0].marks.is_empty();
            let said = read.problems.iter().filter(|p| !p.must_settle).count();
            assert_eq!(said, usize::from(marks), "{}: {:?}", drawing.file, read.problems);
            assert_eq!(read.problems.len(), said, "{}: {:?}", drawing.file, read.problems);
            assert!(!read.units.assumed, "{}", drawing.file);
        }
    }

    #[test]
    fn remnants_hold_many_old_cut_outs() {
        let shop = SampleShop::load().unwrap();
        let count = |s: &SampleSheet| s.sheet().unwrap().bodies[0].cutouts.len();
        let counts: Vec<usize> = shop.sheets.iter().map(count).filter(|n| *n > 0).collect();
        assert!(counts.len() >= 5 && counts.iter().all(|n| (10..=80).contains(n)), "{counts:?}");
    }

    #[test]
    fn one_person_lifts_every_part_and_marks_travel_along() {
        let shop = SampleShop::load().unwrap();
        for part in &shop.parts {
            let sheet = shop.sheets.iter().find(|s| s.metal.material == part.material).unwrap();
            let read = part.part().unwrap();
            let weight = sheet.metal.weight(read.region.area());
            assert!((0.005..1.0).contains(&weight), "{} weighs {weight} kg", part.name);
        }
        let bracket = shop.parts.iter().find(|p| p.name == "deck-bracket").unwrap();
        assert_eq!(bracket.part().unwrap().marks.len(), 1);
    }

    #[test]
    fn edges_are_known_side_by_side() {
        let shop = SampleShop::load().unwrap();
        let sheet = shop.sheet("S3-041").unwrap().sheet().unwrap();
        let outer = &sheet.bodies[0].outer;
        for (edge, facts) in outer.shape().edges().zip(outer.facts()) {
            let middle = edge.at(0.5);
            let kind = match (middle.x, middle.y) {
                (760.0, _) => EdgeKind::Sheared,
                (_, 520.0) => EdgeKind::OwnCut,
                _ => EdgeKind::Mill,
            };
            assert_eq!(facts.kind, kind, "edge through {middle:?}");
        }
    }

    #[test]
    fn every_order_makes_a_job_on_the_sheets_of_its_metal() {
        let shop = SampleShop::load().unwrap();
        for order in &shop.orders {
            let sheets = shop.sheets_for(order).unwrap();
            let job = shop.job(order, &sheets, None).unwrap();
            assert_eq!(job.job.stock.len(), sheets.len());
            assert_eq!(job.job.wanted.len(), order.lines.len());
        }
    }
}
