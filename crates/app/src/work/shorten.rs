//! Shorten: what is not locked on a sheet comes together toward one of its edges, so that the metal
//! that is left is in one piece.
//!
//! Each part slides toward the edge as far as it goes, the nearest first; then the packer is asked to
//! lay all of them in less room, the rest of the sheet being barred, by steps that grow smaller where
//! it finds no way.

use std::time::{Duration, Instant};

use oddment_core::packer::{Settings, pack};
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{Bounds, Loop, Point, SheetSpace, Vector};
use oddment_core::sheet::NoGo;

use super::{Clock, Tell};
use crate::room::{Room, outline};

/// The first step is this share of the room taken, and the last (mm) is no smaller.
const FIRST_STEP: f64 = 0.08;
const LAST_STEP: f64 = 0.5;

/// How long the packer looks for a way to lay all parts in less room.
const ROUND: Duration = Duration::from_millis(2500);

/// The plan with one of its layouts shortened.
pub(super) fn shorten(
    job: &Job,
    start: &Plan,
    layout: usize,
    way: Vector,
    clock: &Clock,
    tell: &mut Tell<'_>,
) -> Plan {
    let mut plan = start.clone();
    let Some(first) = plan.layouts.get(layout).cloned() else { return plan };
    let mut best = slid(job, first, way, clock);
    plan.layouts[layout] = best.clone();
    tell(&plan);
    let Some(mut step) = reach(job, &best, way).map(|r| r.1 * FIRST_STEP) else { return plan };
    let (begun, mut rounds) = (Instant::now(), 0_u32);
    while step > LAST_STEP && !clock.is_over() {
        // As if no further round found a way: each halves the step, and takes about as long as those
        // before.
        let round = if rounds == 0 { ROUND } else { begun.elapsed() / rounds };
        clock.expect(round * (step / LAST_STEP).log2().ceil() as u32);
        rounds += 1;
        match tighter(job, &best, way, step, clock).map(|l| slid(job, l, way, clock)) {
            Some(better) if is_less(job, &better, &best, way) => {
                best = better;
                plan.layouts[layout] = best.clone();
                tell(&plan);
            }
            _ => step *= 0.5,
        }
    }
    plan
}

/// How far (mm) from the edge the loose parts of a layout reach: along the axis, and from the sheet's
/// own side. `None` where nothing is loose.
fn reach(job: &Job, layout: &Layout, way: Vector) -> Option<(f64, f64)> {
    let far =
        |b: Bounds<SheetSpace>| (b.min.to_vector().dot(-way)).max(b.max.to_vector().dot(-way));
    let loose = layout.placements.iter().filter(|p| !p.locked);
    let reach = loose.map(|p| far(outline(job, p.part, &p.pose).bounds())).reduce(f64::max)?;
    let sheet = job.stock[layout.stock].sheet.bounds();
    let near = sheet.min.to_vector().dot(-way).min(sheet.max.to_vector().dot(-way));
    Some((reach, reach - near))
}

fn is_less(job: &Job, a: &Layout, b: &Layout, way: Vector) -> bool {
    match (reach(job, a, way), reach(job, b, way)) {
        (Some(a), Some(b)) => a.0 < b.0 - 0.01,
        _ => false,
    }
}

/// Every loose part slid toward the edge, the nearest first, until none goes further.
fn slid(job: &Job, mut layout: Layout, way: Vector, clock: &Clock) -> Layout {
    for _ in 0..6 {
        let at =
            |p: &Placement| outline(job, p.part, &p.pose).bounds().centre().to_vector().dot(-way);
        let mut order: Vec<usize> =
            (0..layout.placements.len()).filter(|i| !layout.placements[*i].locked).collect();
        order.sort_by(|a, b| at(&layout.placements[*a]).total_cmp(&at(&layout.placements[*b])));
        let mut moved = false;
        for i in order {
            if clock.is_over() {
                return layout;
            }
            let p = layout.placements[i];
            let room = Room::new(job, layout.stock, Some(&layout), |other| {
                (other.part, other.copy) == (p.part, p.copy)
            });
            let shape = [outline(job, p.part, &p.pose)];
            if !room.is_clear(&shape, Vector::default()) {
                continue;
            }
            let pushed = room.push(&shape, Vector::default(), way);
            let shift = room.slide(&shape, pushed, pushed + way * 2000.0);
            if shift.dot(way) > 0.01 && room.is_clear(&shape, shift) {
                layout.placements[i].pose.shift += shift;
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    layout
}

/// All parts of a layout laid so that the loose ones reach `step` mm less far; `None` where no way
/// was found.
fn tighter(job: &Job, layout: &Layout, way: Vector, step: f64, clock: &Clock) -> Option<Layout> {
    let (far, _) = reach(job, layout, way)?;
    let mut sheet = job.stock[layout.stock].sheet.clone();
    let beam = job.clearances.to_no_go(0.0);
    sheet.no_go.push(NoGo {
        name: "beyond".into(),
        shape: beyond(sheet.bounds(), way, far - step + beam)?,
        clearance: 0.0,
        stands_up: false,
    });
    let count = |part: usize| layout.placements.iter().filter(|p| p.part == part).count();
    let wanted = job
        .wanted
        .iter()
        .enumerate()
        .map(|(i, w)| Wanted { part: w.part.clone(), count: Count::Exactly(count(i)) });
    let narrowed = Job {
        stock: vec![Stock { sheet, count: 1 }],
        wanted: wanted.collect(),
        clearances: job.clearances,
        starts: job.starts,
    };
    let start = Plan { layouts: vec![Layout { stock: 0, placements: layout.placements.clone() }] };
    let packed = clock.until(clock.started.elapsed() + ROUND, |budget| {
        pack(&narrowed, &start, Settings { seed: 1, threads: 0 }, budget, &mut |_| {})
    });
    let [found] = &packed.plan.layouts[..] else { return None };
    (found.placements.len() == layout.placements.len())
        .then(|| with_numbers_of(layout, &found.placements))
}

/// The metal further than `from` (mm along the axis) from the edge, and some more.
fn beyond(sheet: Bounds<SheetSpace>, way: Vector, from: f64) -> Option<Loop<SheetSpace>> {
    let sheet = sheet.grown(50.0);
    let (mut min, mut max) = (sheet.min, sheet.max);
    match (way.x, way.y) {
        (x, _) if x < -0.5 => min.x = from,
        (x, _) if x > 0.5 => max.x = -from,
        (_, y) if y < -0.5 => min.y = from,
        _ => max.y = -from,
    }
    Loop::rectangle(Point::new(min.x, min.y), Point::new(max.x, max.y)).ok()
}

/// The placements found, with the copy numbers and locks that the parts had.
fn with_numbers_of(layout: &Layout, found: &[Placement]) -> Layout {
    let mut loose: Vec<Placement> =
        layout.placements.iter().copied().filter(|p| !p.locked).collect();
    let mut placements: Vec<Placement> =
        layout.placements.iter().copied().filter(|p| p.locked).collect();
    for new in found.iter().filter(|p| !p.locked) {
        if let Some(i) = loose.iter().position(|p| p.part == new.part) {
            let old = loose.remove(i);
            placements.push(Placement { pose: new.pose, ..old });
        }
    }
    Layout { stock: layout.stock, placements }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{job, placement, rectangle, sheet_with_hole};
    use oddment_core::check::check;

    #[test]
    fn loose_parts_come_together_and_locked_ones_stay() {
        let job = job(sheet_with_hole(), vec![(rectangle("plate", 100.0, 60.0), 5)]);
        let placements: Vec<Placement> =
            [(300.0, 60.0), (600.0, 150.0), (820.0, 500.0), (700.0, 400.0), (640.0, 20.0)]
                .into_iter()
                .enumerate()
                .map(|(i, (x, y))| Placement { copy: i + 1, locked: i == 4, ..placement(0, x, y) })
                .collect();
        let start = Plan { layouts: vec![Layout { stock: 0, placements }] };
        assert!(check(&job, start.clone()).is_clear());
        for way in [Vector::new(-1.0, 0.0), Vector::new(0.0, 1.0)] {
            let mut heard = 0;
            let plan = shorten(&job, &start, 0, way, &Clock::of_seconds(3), &mut |_| heard += 1);
            assert!(heard > 0 && check(&job, plan.clone()).is_clear());
            let layout = &plan.layouts[0];
            let mut copies: Vec<usize> = layout.placements.iter().map(|p| p.copy).collect();
            copies.sort_unstable();
            assert_eq!(copies, [1, 2, 3, 4, 5]);
            let locked = layout.placements.iter().find(|p| p.locked).unwrap();
            assert_eq!(locked.pose, start.layouts[0].placements[4].pose);
            let (before, after) = (
                reach(&job, &start.layouts[0], way).unwrap().1,
                reach(&job, layout, way).unwrap().1,
            );
            // Four plates go beside each other along either edge: 60 wide and 5.5 from the edge.
            assert!(after < 120.0 && after < before - 200.0, "{before} to {after}");
        }
    }
}
