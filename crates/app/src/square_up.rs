//! What became short on the sheet as it lies is snugged anew.

use oddment_core::check::{CheckedPlan, Fault, Party, check_laid};
use oddment_core::plan::Plan;
use oddment_core::square_up::SquaredUp;

use crate::hand::Hand;
use crate::open_job::{Copy, OpenJob, SheetSlot};

/// No part is moved farther than this, mm; the nearest clear place is taken.
const REACH: f64 = 5000.0;

/// A plan after what became short was moved.
#[derive(Clone, Debug, Default)]
pub struct Snugged {
    /// The plan.
    pub plan: Plan,
    /// Parts that were moved.
    pub moved: Vec<Copy>,
    /// Parts that are short and locked.
    pub locked: Vec<Copy>,
    /// Parts that are short and have no clear place at their angle.
    pub stuck: Vec<Copy>,
}

/// Moves each part of a layout that is short on the sheet as it lies to the nearest clear place, one
/// after the other; locked ones stay.
pub fn snug_anew(open: &OpenJob, layout: usize, squared_up: &SquaredUp) -> Snugged {
    let mut laid = open.clone();
    let Some(stock) = laid.plan.layouts.get(layout).map(|l| l.stock) else {
        return Snugged { plan: laid.plan, ..Snugged::default() };
    };
    let as_laid = squared_up.as_laid(open.job(), stock);
    laid.job_mut().job = as_laid;
    let slot = SheetSlot { stock, layout: Some(layout) };
    let mut snugged = Snugged::default();
    let checked = checked(open, &laid.plan, layout, squared_up);
    for copy in short(&checked, layout) {
        if laid.find(copy).is_some_and(|(_, p)| p.locked) {
            snugged.locked.push(copy);
            continue;
        }
        let Some(mut hand) = Hand::pick_up(&laid, slot, &[copy]) else { continue };
        if hand.is_clear() {
            // Another part that was moved made room for it.
            continue;
        }
        let pose = hand.snug(REACH).then(|| hand.held().next().map(|(_, pose)| pose)).flatten();
        match (pose, laid.find_mut(copy)) {
            (Some(pose), Some(placement)) => {
                placement.pose = pose;
                snugged.moved.push(copy);
            }
            _ => snugged.stuck.push(copy),
        }
    }
    Snugged { plan: laid.plan, ..snugged }
}

fn checked(open: &OpenJob, plan: &Plan, layout: usize, squared_up: &SquaredUp) -> CheckedPlan {
    let mut lie = vec![None; plan.layouts.len()];
    lie[layout] = Some(squared_up.clone());
    check_laid(open.job(), plan.clone(), lie)
}

/// The parts that are too near to something, each once, the worst first.
fn short(checked: &CheckedPlan, layout: usize) -> Vec<Copy> {
    let Some(placements) = checked.plan().layouts.get(layout).map(|l| &l.placements) else {
        return Vec::new();
    };
    let mut found: Vec<Copy> = Vec::new();
    for fault in &checked.report().faults {
        let Fault::Short(m) = fault else { continue };
        // Of two parts the one that is not locked gives way.
        let other = match m.other {
            Party::Placed(other) => Some(other),
            _ => None,
        };
        let gives = [Some(m.placed), other].into_iter().flatten();
        let gives = gives.map(|i| &placements[i]).min_by_key(|p| p.locked);
        if m.layout == layout
            && let Some(copy) = gives.map(Copy::of)
            && !found.contains(&copy)
        {
            found.push(copy);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use oddment_core::shape::{BedSpace, Loop, Point, Pose, Region, SheetSpace, Vector};
    use oddment_core::sheet::{EdgeFacts, Sheet};
    use oddment_core::square_up::{Clamp, Measured, judge, pointer_points};

    use super::*;
    use crate::trial::{open, placement, rectangle};

    #[test]
    fn what_a_clamp_makes_short_is_snugged_anew_and_what_is_locked_is_said() {
        let outer = Loop::rectangle(Point::new(0.0, 0.0), Point::new(800.0, 500.0)).unwrap();
        let sheet = Sheet::new("S", &[Region::new(outer, Vec::new())], EdgeFacts::default());
        let lies = Pose::<SheetSpace, BedSpace>::new(Vector::new(50.0, 40.0), 0.035, false);
        let at = |f: &oddment_core::square_up::Feature| Measured {
            feature: *f,
            at: lies.apply(f.at()),
            give_or_take: 0.5,
        };
        let measured: Vec<Measured> = pointer_points(&sheet).iter().map(at).collect();
        let judged = judge(&sheet, &measured, &[]);
        let mut open = open(sheet, vec![(rectangle("plate", 100.0, 60.0), 2)]);
        for x in [50.0, 300.0] {
            let slot = open.slots()[0];
            open.lay(slot, placement(0, x, 50.0));
        }
        let mut squared_up = SquaredUp::new(judged.relied_on().unwrap()).unwrap();
        let plan = open.plan.clone();
        assert!(checked(&open, &plan, 0, &squared_up).is_clear());
        let grip = lies.apply(Point::new(100.0, 45.0));
        squared_up.clamps = vec![Clamp {
            name: "clamp".into(),
            shape: Loop::rectangle(grip, grip + Vector::new(30.0, 20.0)).unwrap(),
            clearance: 5.0,
        }];
        assert!(!checked(&open, &plan, 0, &squared_up).is_clear());
        let snugged = snug_anew(&open, 0, &squared_up);
        assert_eq!(snugged.moved, [Copy { part: 0, number: 1 }]);
        assert!(snugged.stuck.is_empty());
        assert!(checked(&open, &snugged.plan, 0, &squared_up).is_clear());
        open.plan.layouts[0].placements[0].locked = true;
        let snugged = snug_anew(&open, 0, &squared_up);
        assert!(snugged.moved.is_empty() && snugged.locked == [Copy { part: 0, number: 1 }]);
        // One that is wedged between two others goes farther than they leave it room.
        open.plan.layouts[0].placements.clear();
        for (x, y) in [(50.0, 50.0), (50.0, 116.0), (50.0, 182.0)] {
            open.job_mut().job.wanted[0].count = oddment_core::plan::Count::Exactly(3);
            let slot = open.slots()[0];
            open.lay(slot, placement(0, x, y));
        }
        let middle = lies.apply(Point::new(70.0, 130.0));
        squared_up.clamps[0].shape =
            Loop::rectangle(middle, middle + Vector::new(30.0, 20.0)).unwrap();
        let snugged = snug_anew(&open, 0, &squared_up);
        assert_eq!(snugged.moved, [Copy { part: 0, number: 2 }]);
        assert!(checked(&open, &snugged.plan, 0, &squared_up).is_clear());
    }
}
