//! The nested layout as a DXF drawing for the machine: closed contours on layers named for their
//! purpose, in the sheet's coordinates, full size, in millimetres.

mod cut;
mod pen;
mod single;
mod svg;
mod writer;

use oddment_core::check::CheckedPlan;
use oddment_core::cutting::common::unshared;
use oddment_core::part::{MarkKind, Part};
use oddment_core::plan::{Job, Layout, Placement};
use oddment_core::shape::{Bounds, Edge, PartSpace, Pose, SheetSpace, Vector};
use oddment_core::sheet::Sheet;
use oddment_core::square_up::SquaredUp;

use oddment_core::units::LengthUnit;

use crate::job_file::SourcedJob;
pub use cut::{CutLines, cut_dxf, cut_svg};
use pen::Pen;
pub use single::single_dxf;
use writer::{Layer, Writer};

/// Between sheets that are drawn side by side, mm.
const BETWEEN_SHEETS: f64 = 200.0;

const CUT_OUTER: Layer = Layer { name: "CUT_OUTER", colour: 1, dashed: false };
const CUT_INNER: Layer = Layer { name: "CUT_INNER", colour: 5, dashed: false };
const MARK: Layer = Layer { name: "MARK", colour: 3, dashed: false };
const BEND: Layer = Layer { name: "BEND", colour: 6, dashed: true };
const SHEET: Layer = Layer { name: "SHEET", colour: 8, dashed: false };
const SHEET_CUTOUT: Layer = Layer { name: "SHEET_CUTOUT", colour: 9, dashed: false };
const NO_GO: Layer = Layer { name: "NO_GO", colour: 30, dashed: true };

/// Why no drawing for the machine is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoDrawing {
    /// The check found faults.
    #[error(
        "the plan is not clear: no drawing for the machine is made of it; clear its faults first"
    )]
    NotClear,
}

/// The layouts of a clear plan as an ASCII DXF, release 2000: the first sheet in its own
/// coordinates, others beside it toward +x. What is to be cut lies on `CUT_OUTER` and `CUT_INNER`
/// (inner contours first; outlines are open where they share a cut with a part drawn before), engraving on `MARK`, bend lines on `BEND`; `SHEET`, `SHEET_CUTOUT` and
/// `NO_GO` show what is there already and are not to be cut.
///
/// # Errors
/// [`NoDrawing::NotClear`] where the check found faults.
pub fn layout_dxf(job: &SourcedJob, checked: &CheckedPlan) -> Result<String, NoDrawing> {
    layouts_dxf(&job.job, checked, &checked.plan().layouts, checked.squared_up(0))
}

/// As [`layout_dxf`], of one layout of the plan alone.
///
/// # Errors
/// [`NoDrawing::NotClear`] where the check found faults.
pub fn one_layout_dxf(
    job: &SourcedJob,
    checked: &CheckedPlan,
    layout: usize,
) -> Result<String, NoDrawing> {
    let layouts = &checked.plan().layouts;
    let alone = layouts.get(layout).map_or(&[][..], std::slice::from_ref);
    layouts_dxf(&job.job, checked, alone, checked.squared_up(layout))
}

fn layouts_dxf(
    job: &Job,
    checked: &CheckedPlan,
    layouts: &[Layout],
    squared_up: Option<&SquaredUp>,
) -> Result<String, NoDrawing> {
    if !checked.is_clear() {
        return Err(NoDrawing::NotClear);
    }
    let layers = [CUT_OUTER, CUT_INNER, MARK, BEND, SHEET, SHEET_CUTOUT, NO_GO];
    let mut writer = Writer::new(&layers, LengthUnit::Mm);
    let mut right: Option<f64> = None;
    for layout in layouts {
        let sheet = &job.stock[layout.stock].sheet;
        let bounds: Bounds<SheetSpace> =
            sheet.no_go.iter().map(|z| z.shape.bounds()).fold(sheet.bounds(), Bounds::union);
        let along = right.map_or(0.0, |right| right + BETWEEN_SHEETS - bounds.min.x);
        right = Some(bounds.max.x + along);
        let mut aside = Pose::shifted(Vector::new(along, 0.0));
        if let ([_], Some(s)) = (layouts, squared_up) {
            // Alone, it is drawn as it is cut.
            let lies = s.drawing(sheet.bounds().min);
            aside = Pose::new(lies.shift, lies.turn, lies.flipped);
        }
        draw(&mut writer, job, layout, aside);
    }
    Ok(writer.finish())
}

/// What is no metal to be read back: names that begin so are left out when a drawing is read.
const SHEET_NO_GO: Layer = Layer { name: "CONSTRUCTION_NO_GO", colour: 30, dashed: true };

/// One sheet alone, in its own coordinates, as a drawing that reads back as the same metal: its edges on
/// `SHEET`, cut-outs on `SHEET_CUTOUT`; where nothing may lie is drawn on a layer for construction.
pub fn sheet_dxf(sheet: &Sheet) -> String {
    let mut writer = Writer::new(&[SHEET, SHEET_CUTOUT, SHEET_NO_GO], LengthUnit::Mm);
    draw_sheet(&mut writer, sheet, &SHEET_NO_GO, Pose::identity());
    writer.finish()
}

/// Draws a sheet and what lies on it; `aside` moves the sheet to its place in the drawing.
fn draw(writer: &mut Writer, job: &Job, layout: &Layout, aside: Pose<SheetSpace, SheetSpace>) {
    draw_sheet(writer, &job.stock[layout.stock].sheet, &NO_GO, aside);
    let part = |p: &Placement| &job.wanted[p.part].part;
    // A cut that two parts share is drawn once: with the first of them.
    let mut runs = match job.clearances.common_cut() {
        Some(kerf) => {
            let outline = |p: &Placement| part(p).region.outer().placed(&p.pose).edges().collect();
            let outlines: Vec<Vec<Edge<SheetSpace>>> =
                layout.placements.iter().map(outline).collect();
            unshared(&outlines, kerf)
        }
        None => vec![None; layout.placements.len()],
    };
    for (placement, runs) in layout.placements.iter().zip(&mut runs) {
        let pose = aside.after(&placement.pose);
        draw_inside(writer, part(placement), &pose);
        match runs {
            None => writer.contour(&CUT_OUTER, &part(placement).region.outer().placed(&pose)),
            Some(runs) => chains(writer, &CUT_OUTER, runs, &aside),
        }
    }
}

/// Draws a part: marks and bend lines first, its outline last.
fn draw_part(pen: &mut impl Pen, part: &Part, pose: &Pose<PartSpace, SheetSpace>) {
    draw_inside(pen, part, pose);
    pen.contour(&CUT_OUTER, &part.region.outer().placed(pose));
}

/// Draws what lies within a part's outline.
fn draw_inside(pen: &mut impl Pen, part: &Part, pose: &Pose<PartSpace, SheetSpace>) {
    for mark in &part.marks {
        let layer = match mark.kind {
            MarkKind::Engrave => &MARK,
            MarkKind::Bend => &BEND,
        };
        for edge in &mark.edges {
            pen.edge(layer, &edge.placed(pose));
        }
    }
    for hole in part.region.holes() {
        pen.contour(&CUT_INNER, &hole.placed(pose));
    }
}

/// Draws runs of edges, each as one line of lines and arcs.
fn chains(
    pen: &mut impl Pen,
    layer: &Layer,
    runs: &[Vec<Edge<SheetSpace>>],
    aside: &Pose<SheetSpace, SheetSpace>,
) {
    for run in runs {
        let run: Vec<_> = run.iter().map(|e| e.placed(aside)).collect();
        pen.chain(layer, &run);
    }
}

fn draw_sheet(
    pen: &mut impl Pen,
    sheet: &Sheet,
    no_go: &Layer,
    aside: Pose<SheetSpace, SheetSpace>,
) {
    for body in &sheet.bodies {
        pen.contour(&SHEET, &body.outer.shape().placed(&aside));
        for cutout in &body.cutouts {
            pen.contour(&SHEET_CUTOUT, &cutout.shape().placed(&aside));
        }
    }
    for zone in &sheet.no_go {
        pen.contour(no_go, &zone.shape.placed(&aside));
    }
}

#[cfg(test)]
mod tests;
