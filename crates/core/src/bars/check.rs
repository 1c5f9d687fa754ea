//! The independent test of a plan for bars. It shares with the solver what a list says, and
//! nothing of how plans are made.

use super::arrange::Piece;
use super::cut_list::{CutList, Stock, Wanted};
use super::hole::Face;
use super::plan::{BarPlan, CutBar};

/// How far (mm) a distance may be short.
const TOLERANCE: f64 = 1e-4;

/// What is wrong with a plan.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BarFault {
    /// A part that lies where the bar is lost or where there is no bar.
    #[error(
        "bar {bar}: part {piece} lies from {from:.3} to {to:.3} mm, the bar can be used from {least:.3} to {most:.3}"
    )]
    OffTheBar {
        /// Which bar of the plan, from 1.
        bar: usize,
        /// Which of its parts, from 1.
        piece: usize,
        /// Where the part begins, mm.
        from: f64,
        /// Where it ends, mm.
        to: f64,
        /// Where a part may begin, mm.
        least: f64,
        /// Where it may end, mm.
        most: f64,
    },
    /// Two parts nearer to each other than the cut between them is wide.
    #[error("bar {bar}: between parts {piece} and {} are {gap:.3} mm, the cut takes {cut:.3}", piece + 1)]
    NoRoomForCut {
        /// Which bar of the plan, from 1.
        bar: usize,
        /// The first of the two parts, from 1.
        piece: usize,
        /// What is between them at the tightest, mm along the bar.
        gap: f64,
        /// How wide the cut is there, mm along the bar.
        cut: f64,
    },
    /// A part turned as its section or seam does not allow.
    #[error("bar {bar}: part {piece} is turned, which its section or seam does not allow")]
    Turned {
        /// Which bar of the plan, from 1.
        bar: usize,
        /// Which of its parts, from 1.
        piece: usize,
    },
    /// A bar that can't be loaded.
    #[error("bar {bar}: it is {length} mm long, which the machine does not take")]
    CantBeLoaded {
        /// Which bar of the plan, from 1.
        bar: usize,
        /// How long it is.
        length: f64,
    },
    /// A bar or part the list does not have.
    #[error("bar {bar}: it names a bar or part that the list does not have")]
    Unknown {
        /// Which bar of the plan, from 1.
        bar: usize,
    },
    /// A bar from which nothing is cut.
    #[error("bar {bar}: nothing is cut from it")]
    Empty {
        /// Which bar of the plan, from 1.
        bar: usize,
    },
    /// More bars of a line than there are.
    #[error("stock line {line}: {used} are used, there are {there}")]
    TooFewBars {
        /// Which line, from 1.
        line: usize,
        /// How many are used.
        used: usize,
        /// How many there are.
        there: usize,
    },
    /// Not as many parts of a line as the plan and the list say.
    #[error(
        "part line {line}: {cut} are cut and {missing} said to be missing, {wanted} are wanted"
    )]
    Miscounted {
        /// Which line, from 1.
        line: usize,
        /// How many are cut.
        cut: usize,
        /// How many are said to be missing.
        missing: usize,
        /// How many are wanted.
        wanted: usize,
    },
    /// The cost is not that of the bars.
    #[error("the plan is said to cost {said}, its bars cost {cost}")]
    Cost {
        /// What the plan says.
        said: f64,
        /// What its bars cost.
        cost: f64,
    },
}

/// A plan that the check has passed. Only [`clear`] makes one; exports ask for it.
#[derive(Clone, Copy, Debug)]
pub struct ClearBars<'a> {
    list: &'a CutList,
    plan: &'a BarPlan,
}

impl<'a> ClearBars<'a> {
    /// The list it was checked for.
    pub fn list(&self) -> &'a CutList {
        self.list
    }

    /// The plan.
    pub fn plan(&self) -> &'a BarPlan {
        self.plan
    }
}

/// Checks a plan.
///
/// # Errors
/// All that is wrong with it.
pub fn clear<'a>(list: &'a CutList, plan: &'a BarPlan) -> Result<ClearBars<'a>, Vec<BarFault>> {
    let faults = check(list, plan);
    if faults.is_empty() { Ok(ClearBars { list, plan }) } else { Err(faults) }
}

/// All that is wrong with a plan for a list.
pub fn check(list: &CutList, plan: &BarPlan) -> Vec<BarFault> {
    let mut faults = Vec::new();
    let mut used = vec![0; list.stock.len()];
    let mut cut = vec![0; list.parts.len()];
    let mut cost = 0.0;
    for (i, bar) in plan.bars.iter().enumerate() {
        let number = i + 1;
        let known = |piece: &Piece| piece.part < list.parts.len() && piece.at.is_finite();
        if bar.stock >= list.stock.len() || !bar.pieces.iter().all(known) {
            faults.push(BarFault::Unknown { bar: number });
            continue;
        }
        if bar.pieces.is_empty() {
            faults.push(BarFault::Empty { bar: number });
        }
        used[bar.stock] += 1;
        cost += charged(list, bar);
        for piece in &bar.pieces {
            cut[piece.part] += 1;
        }
        check_bar(list, bar, number, &mut faults);
    }
    for (i, (stock, used)) in list.stock.iter().zip(&used).enumerate() {
        if let Some(there) = stock.count.filter(|there| used > there) {
            faults.push(BarFault::TooFewBars { line: i + 1, used: *used, there });
        }
    }
    for (i, (part, cut)) in list.parts.iter().zip(&cut).enumerate() {
        let missing = plan.missing.get(i).copied().unwrap_or(0);
        if cut + missing != part.count {
            let (line, cut, wanted) = (i + 1, *cut, part.count);
            faults.push(BarFault::Miscounted { line, cut, missing, wanted });
        }
    }
    if (cost - plan.cost).abs() > 1e-6 * (1.0 + cost) {
        faults.push(BarFault::Cost { said: plan.cost, cost });
    }
    faults
}

/// Walks along one bar.
fn check_bar(list: &CutList, bar: &CutBar, number: usize, faults: &mut Vec<BarFault>) {
    let Stock { length, give_or_take, end, .. } = list.stock[bar.stock];
    let machine = &list.machine;
    if length < machine.shortest_load || machine.longest_load.is_some_and(|most| length > most) {
        faults.push(BarFault::CantBeLoaded { bar: number, length });
    }
    let profile = list.profile.as_ref().filter(|profile| profile.section.same_turned_over());
    // End for end top and bottom stay, turned over neither does, both together leave front and back.
    let seam_stays = |seam: Face, piece: &Piece| match seam {
        Face::Top | Face::Bottom => !piece.turned_over,
        Face::Front | Face::Back => piece.reversed == piece.turned_over,
    };
    let may_turn = |piece: &Piece| {
        !list.fixed_turn
            && profile.is_some_and(|p| p.seam.is_none_or(|seam| seam_stays(seam, piece)))
    };
    for (i, piece) in bar.pieces.iter().enumerate() {
        let part = &list.parts[piece.part];
        if (piece.reversed || piece.turned_over) && !may_turn(piece) {
            faults.push(BarFault::Turned { bar: number, piece: i + 1 });
        }
        let [near, far] = end_angles(part, piece);
        // A grip is kept clear of the tool and parted off with a cut.
        let held = |grip: f64| if grip > 0.0 { grip + machine.tool_to_grip } else { 0.0 };
        let parted = |lost: f64, angle: f64| {
            if lost > 0.0 { lost + list.kerf / angle.cos() } else { 0.0 }
        };
        let mut least = parted(held(list.grips[0]).max(machine.trim), near);
        if end > 0.0 {
            // An end that is not square is no part's end.
            least = least.max(list.kerf / near.cos());
        }
        let most = length - give_or_take - parted(held(list.grips[1]), far);
        let (from, to) = (piece.at, piece.at + part.length);
        if from < least - TOLERANCE || to > most + TOLERANCE {
            faults.push(BarFault::OffTheBar { bar: number, piece: i + 1, from, to, least, most });
        }
    }
    for (i, pair) in bar.pieces.windows(2).enumerate() {
        let [first, second] = [&pair[0], &pair[1]];
        let angle = end_angles(&list.parts[first.part], first)[1]
            .max(end_angles(&list.parts[second.part], second)[0]);
        let cut = list.kerf / angle.cos();
        // The ends are planes: if they are apart on both faces, they are in between.
        let [top, bottom] = [true, false].map(|up| {
            let (_, end) = extent(list, first, up);
            let (begin, _) = extent(list, second, up);
            begin - end
        });
        let gap = top.min(bottom);
        if gap < cut - TOLERANCE {
            faults.push(BarFault::NoRoomForCut { bar: number, piece: i + 1, gap, cut });
        }
    }
}

/// What a bar costs with what is left of it.
fn charged(list: &CutList, bar: &CutBar) -> f64 {
    let stock = &list.stock[bar.stock];
    let (Some(worth), Some(last)) = (&list.leftovers, bar.pieces.last()) else {
        return stock.cost();
    };
    let part = &list.parts[last.part];
    let slot = list.kerf / end_angles(part, last)[1].cos();
    let metres = ((stock.length - last.at - part.length - slot) / 1000.0).max(0.0);
    // No more is credited than was charged.
    let most = 1000.0 * (stock.cost() - stock.handling) / stock.length;
    let far = list.grips[1];
    let lost = if far > 0.0 { far + list.machine.tool_to_grip } else { 0.0 };
    let pays = match worth.credit - worth.scrap {
        _ if worth.bring_back <= 0.0 => 0.0,
        gain if gain > 0.0 => worth.bring_back / gain,
        _ => f64::INFINITY,
    };
    let goes_back = metres >= pays.max(list.machine.keep_from.max(lost) / 1000.0) - 1e-9;
    if goes_back {
        stock.cost() + worth.bring_back - metres * worth.credit.min(most)
    } else {
        stock.cost() - metres * worth.scrap.min(most)
    }
}

/// The angles of the ends towards the datum end and away from it.
fn end_angles(part: &Wanted, piece: &Piece) -> [f64; 2] {
    let [first, second] = part.ends;
    if piece.reversed { [second, first] } else { [first, second] }
}

/// From where to where a part reaches along its bar, on the upper or the lower face.
fn extent(list: &CutList, piece: &Piece, upper: bool) -> (f64, f64) {
    let part = &list.parts[piece.part];
    // On the face of the part that is up on the bar.
    let own_upper = upper != piece.turned_over;
    let back = |end: usize| {
        let run = list.height() * part.ends[end].tan();
        // The cosine tells how far the long side of the end is turned from the upper face; the
        // face stands back in proportion, as the end is a plane.
        let turn = if end == 0 { 0.0 } else { part.ends_turn };
        let along = if own_upper { turn.cos() } else { -turn.cos() };
        if (turn.sin()).abs() > 1e-3 { 0.0 } else { run * (1.0 - along) / 2.0 }
    };
    let (begin, end) = (back(0), part.length - back(1));
    if piece.reversed {
        (piece.at + part.length - end, piece.at + part.length - begin)
    } else {
        (piece.at + begin, piece.at + end)
    }
}
