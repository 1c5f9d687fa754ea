//! The cut of one sheet as a DXF drawing: its contours in the order of cutting, as drawn for a
//! machine that compensates itself, or as the centre line of the beam with lead-ins and tabs.

use oddment_core::check::CheckedPlan;
use oddment_core::cutting::{Cut, PassKind};
use oddment_core::plan::Job;
use oddment_core::shape::{BedSpace, Pose, SheetSpace};
use oddment_core::units::LengthUnit;

use super::pen::Pen;
use super::svg::SvgPen;
use super::writer::{Layer, Writer};
use super::{
    CUT_INNER, CUT_OUTER, MARK, NO_GO, NoDrawing, SHEET, SHEET_CUTOUT, chains, draw_sheet,
};

const BEAM_OUTER: Layer = Layer { name: "BEAM_OUTER", colour: 1, dashed: false };
const BEAM_INNER: Layer = Layer { name: "BEAM_INNER", colour: 5, dashed: false };

const CROP: Layer = Layer { name: "CROP", colour: 4, dashed: false };
const CUT_UP: Layer = Layer { name: "CUT_UP", colour: 2, dashed: false };

/// Which lines of a cut are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CutLines {
    /// The parts' own outlines: the machine keeps half a kerf off, leads in and tabs by itself.
    AsDrawn,
    /// The beam's centre, from each pierce along its lead-in round the contour, but for tabs.
    BeamCentre,
}

/// One layout of a clear plan in the order of its cut, in `unit`, where it lies on the bed. Pieces
/// of the beam's centre line are polylines on `BEAM_INNER` and `BEAM_OUTER`, begun at their pierce;
/// contours as drawn lie on `CUT_INNER` and `CUT_OUTER`, open where they share a cut with a part that
/// was cut before; engraving lies on `MARK`, the straight cuts through the skeleton (always the beam's
/// centre) on `CROP` and `CUT_UP`. `SHEET`, `SHEET_CUTOUT` and `NO_GO` come first and are not to be cut.
///
/// # Errors
/// [`NoDrawing::NotClear`] where the check found faults.
pub fn cut_dxf(
    job: &Job,
    checked: &CheckedPlan,
    layout: usize,
    cut: &Cut,
    lines: CutLines,
    lies: Pose<SheetSpace, BedSpace>,
    unit: LengthUnit,
) -> Result<String, NoDrawing> {
    let [outer, inner] = lines.layers();
    let mut writer =
        Writer::new(&[outer, inner, MARK, CROP, CUT_UP, SHEET, SHEET_CUTOUT, NO_GO], unit);
    draw_cut(&mut writer, job, checked, layout, cut, lines, lies)?;
    Ok(writer.finish())
}

/// The same as an SVG, full size.
///
/// # Errors
/// [`NoDrawing::NotClear`] where the check found faults.
pub fn cut_svg(
    job: &Job,
    checked: &CheckedPlan,
    layout: usize,
    cut: &Cut,
    lines: CutLines,
    lies: Pose<SheetSpace, BedSpace>,
    unit: LengthUnit,
) -> Result<String, NoDrawing> {
    let mut pen = SvgPen::new(unit);
    draw_cut(&mut pen, job, checked, layout, cut, lines, lies)?;
    Ok(pen.finish())
}

impl CutLines {
    /// The layers of outer and inner contours.
    fn layers(self) -> [Layer; 2] {
        match self {
            Self::AsDrawn => [CUT_OUTER, CUT_INNER],
            Self::BeamCentre => [BEAM_OUTER, BEAM_INNER],
        }
    }
}

fn draw_cut(
    pen: &mut impl Pen,
    job: &Job,
    checked: &CheckedPlan,
    layout: usize,
    cut: &Cut,
    lines: CutLines,
    lies: Pose<SheetSpace, BedSpace>,
) -> Result<(), NoDrawing> {
    if !checked.is_clear() {
        return Err(NoDrawing::NotClear);
    }
    let [outer, inner] = lines.layers();
    // The drawing's own coordinates are the bed's.
    let on_bed = Pose::<SheetSpace, SheetSpace>::new(lies.shift, lies.turn, lies.flipped);
    let Some(laid) = checked.plan().layouts.get(layout) else { return Ok(()) };
    draw_sheet(pen, &job.stock[laid.stock].sheet, &NO_GO, on_bed);
    for pass in &cut.passes {
        let layer = match pass.kind {
            PassKind::Mark => &MARK,
            PassKind::Hole => &inner,
            PassKind::Outline => &outer,
            PassKind::Crop => &CROP,
            PassKind::CutUp => &CUT_UP,
        };
        if pass.kind == PassKind::Mark {
            for edge in &pass.run {
                pen.edge(layer, &edge.placed(&on_bed));
            }
        } else if let (CutLines::AsDrawn, Some(placed)) = (lines, pass.placed) {
            let placement = &laid.placements[placed];
            let part = &job.wanted[placement.part].part;
            let Some(contour) = part.region.loops().nth(pass.contour) else { continue };
            let contour = contour.placed(&placement.pose);
            match pass.unshared(&contour) {
                None => pen.contour(layer, &contour.placed(&on_bed)),
                Some(pieces) => chains(pen, layer, &pieces, &on_bed),
            }
        } else {
            chains(pen, layer, &pass.pieces(), &on_bed);
        }
    }
    Ok(())
}
