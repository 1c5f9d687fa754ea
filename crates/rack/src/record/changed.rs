//! Whether a plan is still about the sheet as it is.

use oddment_core::plan::{Job, Layout};
use oddment_core::units::LengthUnit;
use oddment_files::words::thickness_words;
use rusqlite::Connection;

use crate::fault::ShopFault;
use crate::outline::{Outline, SAME};
use crate::shop::{State, outline};

use super::CutFacts;

/// How a plan stands to the sheet.
pub(super) enum Stand {
    /// It was made for the sheet as it is.
    Fits,
    /// Some of it was cut already, and nothing else was done to the shape since.
    Continues,
}

/// How the plan stands to the sheet as it is.
///
/// # Errors
/// [`ShopFault::Refused`] says what has changed since the plan was made.
pub(super) fn stand(
    connection: &Connection,
    (job, layout): (&Job, &Layout),
    state: &State,
    now: &Outline,
    plan_key: &str,
    unit: LengthUnit,
) -> Result<Stand, ShopFault> {
    let sheet = &job.stock[layout.stock].sheet;
    let label = &state.label;
    if let Some(metal) = &sheet.made_of {
        let own = state.facts.metal();
        if !metal.material.eq_ignore_ascii_case(&own.material)
            || (metal.thickness - own.thickness).abs() > SAME
        {
            return Err(ShopFault::refused(format!(
                "the plan is for {} {}, and {label} is {} {}",
                thickness_words(metal.thickness, unit),
                metal.material,
                thickness_words(own.thickness, unit),
                own.material
            )));
        }
    }
    if now.is_same_metal(&sheet.bodies, SAME) {
        return Ok(Stand::Fits);
    }
    // Back through the sheet's shapes to the one that the plan was made for.
    let mut statement = connection.prepare(
        "SELECT st.shape, e.said, c.plan_key FROM states st \
         JOIN events e ON e.id = st.event \
         LEFT JOIN cuts c ON c.event = st.event AND c.sheet = st.sheet \
         WHERE st.sheet = ?1 ORDER BY st.id DESC",
    )?;
    let mut rows = statement.query([state.sheet])?;
    let (mut since, mut only_this_plan, mut last) = (Vec::new(), true, state.shape);
    let mut made_by: Option<(String, Option<String>)> = None;
    while let Some(row) = rows.next()? {
        let shape: i64 = row.get(0)?;
        if shape != last {
            if let Some((said, key)) = made_by.take() {
                only_this_plan &= key.as_deref() == Some(plan_key);
                since.push(said);
            }
            last = shape;
            if outline(connection, shape)?.is_same_metal(&sheet.bodies, SAME) {
                if only_this_plan {
                    return Ok(Stand::Continues);
                }
                since.reverse();
                return Err(ShopFault::refused(format!(
                    "{label} has changed since the plan was made: {}; plan again on the sheet as it \
                     is now",
                    since.join(" ")
                )));
            }
        }
        made_by = Some((row.get(1)?, row.get(2)?));
    }
    let [there, planned] = [now.bounds(), sheet.bounds()];
    let cutouts: usize = sheet.bodies.iter().map(|b| b.cutouts.len()).sum();
    let there_cutouts: usize = now.pieces.iter().map(|p| p.cutouts.len()).sum();
    Err(ShopFault::refused(format!(
        "the plan's sheet is not {label} as it is or ever was: {} × {} {unit} with {cutouts} \
         cut-outs in the plan, {} × {} {unit} with {there_cutouts} in the rack; plan on the sheet \
         from the rack",
        unit.show(planned.width()),
        unit.show(planned.height()),
        unit.show(there.width()),
        unit.show(there.height())
    )))
}

/// The parts of this plan that were cut from the sheet already.
pub(super) fn cut_before(
    connection: &Connection,
    sheet: i64,
    plan_key: &str,
) -> Result<Vec<(String, usize)>, ShopFault> {
    let mut statement = connection.prepare(
        "SELECT c.facts FROM cuts c WHERE c.sheet = ?1 AND c.plan_key = ?2 \
         AND NOT EXISTS (SELECT 1 FROM events u WHERE u.undoes = c.event)",
    )?;
    let mut rows = statement.query((sheet, plan_key))?;
    let mut parts = Vec::new();
    while let Some(row) = rows.next()? {
        let facts: CutFacts = serde_json::from_str(&row.get::<_, String>(0)?)?;
        let cut = facts.parts.into_iter().filter(|p| p.outcome != super::Outcome::NeverStarted);
        parts.extend(cut.map(|p| (p.part, p.copy)));
    }
    Ok(parts)
}
