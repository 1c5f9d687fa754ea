//! The cut of one sheet as a DXF drawing: its contours in the order of cutting, as drawn for a
//! machine that compensates itself, or as the centre line of the beam with lead-ins and tabs.

use oddment_core::check::CheckedPlan;
use oddment_core::cutting::{Cut, PassKind};
use oddment_core::plan::Job;
use oddment_core::shape::{BedSpace, Pose, SheetSpace};
use oddment_core::units::LengthUnit;

use super::writer::{Layer, Writer};
use super::{CUT_INNER, CUT_OUTER, MARK, NO_GO, NoDrawing, SHEET, SHEET_CUTOUT};

const BEAM_OUTER: Layer = Layer { name: "BEAM_OUTER", colour: 1, dashed: false };
const BEAM_INNER: Layer = Layer { name: "BEAM_INNER", colour: 5, dashed: false };

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
/// contours as drawn lie on `CUT_INNER` and `CUT_OUTER`, engraving on `MARK`. `SHEET`,
/// `SHEET_CUTOUT` and `NO_GO` come first and are not to be cut.
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
    if !checked.is_clear() {
        return Err(NoDrawing::NotClear);
    }
    let of_cut = match lines {
        CutLines::AsDrawn => [CUT_OUTER, CUT_INNER],
        CutLines::BeamCentre => [BEAM_OUTER, BEAM_INNER],
    };
    let [outer, inner] = &of_cut;
    let mut writer = Writer::new(&[*outer, *inner, MARK, SHEET, SHEET_CUTOUT, NO_GO], unit);
    // The drawing's own coordinates are the bed's.
    let on_bed = Pose::<SheetSpace, SheetSpace>::new(lies.shift, lies.turn, lies.flipped);
    let Some(laid) = checked.plan().layouts.get(layout) else { return Ok(writer.finish()) };
    let sheet = &job.stock[laid.stock].sheet;
    for body in &sheet.bodies {
        writer.contour(&SHEET, &body.outer.shape().placed(&on_bed));
        for cutout in &body.cutouts {
            writer.contour(&SHEET_CUTOUT, &cutout.shape().placed(&on_bed));
        }
    }
    for zone in &sheet.no_go {
        writer.contour(&NO_GO, &zone.shape.placed(&on_bed));
    }
    for pass in &cut.passes {
        let layer = match pass.kind {
            PassKind::Mark => &MARK,
            PassKind::Hole => inner,
            PassKind::Outline => outer,
        };
        if pass.kind == PassKind::Mark {
            for edge in &pass.run {
                writer.edge(layer, &edge.placed(&on_bed));
            }
        } else if lines == CutLines::AsDrawn {
            let placement = &laid.placements[pass.placed];
            let part = &job.wanted[placement.part].part;
            if let Some(contour) = part.region.loops().nth(pass.contour) {
                writer.contour(layer, &contour.placed(&on_bed.after(&placement.pose)));
            }
        } else {
            for piece in pass.pieces() {
                let piece: Vec<_> = piece.iter().map(|e| e.placed(&on_bed)).collect();
                writer.chain(layer, &piece);
            }
        }
    }
    Ok(writer.finish())
}
