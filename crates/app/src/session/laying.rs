//! Acts on laid parts and on what is in the hand.

use std::f64::consts::TAU;

use oddment_core::check::RESOLUTION;
use oddment_core::fit::Verdict;
use oddment_core::part::Turning;
use oddment_core::plan::{Count, Placement};
use oddment_core::shape::{PartSpace, Point, Pose, SheetSpace};
use oddment_files::words::wrong_metal_words;

use super::Session;
use crate::any_place::{AnyPlace, in_words};
use crate::hand::{Hand, mirrored, turned};
use crate::open_job::{Copy, SheetSlot};

/// How far (mm) a part that was put down where it is not clear goes by itself to a clear place.
pub(super) const SNUG_REACH: f64 = 60.0;

/// How far (mm) a part goes that may lie anywhere on the sheet.
pub(super) const ANYWHERE: f64 = 5000.0;

/// Turns no further apart (radians) are read as the same.
const SAME_TURN: f64 = 1e-3;

impl Session {
    /// Does something to what is selected, as one act, unless some of it is locked.
    pub(super) fn with_selected(
        &mut self,
        verb: &str,
        act: impl FnOnce(&mut Hand) -> Result<(), String>,
    ) {
        if let Some(hand) = &mut self.hand {
            if let Err(why) = act(hand) {
                self.refuse(why);
            }
            self.measure();
            return;
        }
        let Some(slot) = self.slot() else { return };
        if let Some(locked) = self.first_locked(&self.selected) {
            self.refuse(locked);
            return;
        }
        let Some(mut hand) = self.hand_of(slot, &self.selected) else { return };
        if let Err(why) = act(&mut hand) {
            self.refuse(why);
        } else if hand.has_moved() {
            let name = format!("{verb} {}", self.names(&self.selected));
            self.commit(&hand, slot, name);
        }
    }

    pub(super) fn first_locked(&self, copies: &[Copy]) -> Option<String> {
        let locked = copies.iter().find(|c| self.open.find(**c).is_some_and(|(_, p)| p.locked))?;
        Some(format!("{} is locked; L unlocks it", self.open.name_of(*locked)))
    }

    /// Puts what is held where it is now, as one act.
    pub(super) fn commit(&mut self, hand: &Hand, slot: SheetSlot, name: String) {
        let mut laid = Vec::new();
        let open = &mut self.open;
        let before = open.clone();
        for (held, pose) in hand.held() {
            match held.copy {
                Some(copy) => {
                    if let Some(placement) = open.find_mut(copy) {
                        placement.pose = pose;
                    }
                    laid.push(copy);
                }
                None => {
                    let placement = Placement { part: held.part, copy: 0, pose, locked: false };
                    laid.push(open.lay(slot, placement));
                }
            }
        }
        self.history.record(name, before);
        self.hint_is_read();
        self.selected = laid;
        self.changed();
    }

    pub(super) fn turning(&self, part: usize, flipped: bool) -> Turning {
        let grain = self.slot().and_then(|s| self.open.job().stock[s.stock].sheet.grain);
        self.open.job().wanted[part].part.turns(grain, flipped)
    }

    /// What is in the hand or selected: part, turn, and face.
    pub(super) fn lying(&self) -> Vec<(usize, f64, bool)> {
        match &self.hand {
            Some(hand) => hand.held().map(|(h, pose)| (h.part, pose.turn, pose.flipped)).collect(),
            None => self
                .selected
                .iter()
                .filter_map(|c| self.open.find(*c))
                .map(|(_, p)| (p.part, p.pose.turn, p.pose.flipped))
                .collect(),
        }
    }

    pub(super) fn turn_by(&mut self, by: f64) {
        let lying = self.lying();
        let Some(&(part, turn, flipped)) = lying.first() else { return };
        let by = match self.turning(part, flipped) {
            Turning::Free => by,
            Turning::Only(angles) => match next_angle(&angles, turn, by) {
                Some(by) => by,
                None => {
                    self.refuse(format!("{} may only lie like this", self.part_name(part)));
                    return;
                }
            },
        };
        self.turn_all(&lying, by);
    }

    pub(super) fn turn_to(&mut self, angle: f64) {
        let lying = self.lying();
        let Some(&(part, turn, flipped)) = lying.first() else { return };
        let off = |a: f64| {
            let off = (a - angle).rem_euclid(TAU);
            off.min(TAU - off)
        };
        let allowed = match self.turning(part, flipped) {
            Turning::Free => Some(angle),
            // The nearest that is allowed.
            Turning::Only(angles) => angles.into_iter().min_by(|a, b| off(*a).total_cmp(&off(*b))),
        };
        let Some(allowed) = allowed.filter(|a| a.is_finite()) else { return };
        self.turn_all(&lying, allowed - turn);
        if self.hand.is_none() && off(allowed) > SAME_TURN {
            let name = self.part_name(part);
            let degrees = |turn: f64| format!("{:.1}°", turn.to_degrees().rem_euclid(360.0));
            let (asked, lies) = (degrees(angle), degrees(allowed));
            self.notice =
                Some(format!("{name} may not lie at {asked}; {lies} is the nearest it may"));
        }
    }

    pub(super) fn turn_all(&mut self, lying: &[(usize, f64, bool)], by: f64) {
        let grain = self.slot().and_then(|s| self.open.job().stock[s.stock].sheet.grain);
        let refuses = lying.iter().find(|(part, turn, flipped)| {
            !self.open.job().wanted[*part].part.may_lie(grain, turn + by, *flipped)
        });
        if let Some((part, ..)) = refuses {
            self.refuse(format!("{} may not lie at that angle", self.part_name(*part)));
            return;
        }
        let sourced = self.open.sourced.clone();
        self.with_selected("Turn", |hand| {
            hand.change(&sourced.job, |pose, about| turned(pose, by, about));
            Ok(())
        });
        let short = self.near.iter().any(|n| n.spare() < -RESOLUTION);
        if self.hand.is_none() && self.refusal.is_none() && short {
            self.notice = Some("Not clear like this: S snugs it".into());
        }
    }

    pub(super) fn mirror(&mut self) {
        let refuses = self.lying().into_iter().find(|l| !self.open.job().wanted[l.0].part.flip);
        if let Some((part, ..)) = refuses {
            self.refuse(format!("{} may not be mirrored; the slip says so", self.part_name(part)));
            return;
        }
        let sourced = self.open.sourced.clone();
        self.with_selected("Mirror", |hand| {
            hand.change(&sourced.job, mirrored);
            Ok(())
        });
    }

    /// To the nearest clear place; where there is none near, to any there is.
    pub(super) fn snug(&mut self) {
        let mut found = false;
        self.with_selected("Snug", |hand| {
            found = hand.snug(10.0 * SNUG_REACH);
            if found { Ok(()) } else { Err("No clear place near here".into()) }
        });
        if !found && self.hand.is_none() {
            self.look_for_any_place();
        }
    }

    /// To the nearest place where it shares a cut with another part.
    pub(super) fn share_cut(&mut self) {
        if self.open.job().clearances.common_cut().is_none() {
            self.refuse("The distances say that no two parts share a cut");
            return;
        }
        self.with_selected("Share a cut of", |hand| {
            let says = "No edge of another part near here that it could share a cut with";
            if hand.share_cut(10.0 * SNUG_REACH) { Ok(()) } else { Err(says.into()) }
        });
    }

    /// Looks for any place at any angle for the one part that is selected.
    fn look_for_any_place(&mut self) {
        let (&[copy], Some(slot)) = (&self.selected[..], self.slot()) else { return };
        if self.open.find(copy).is_some_and(|(_, p)| !p.locked) {
            self.look(slot, copy.part, Some(copy));
        }
    }

    fn look(&mut self, slot: SheetSlot, part: usize, instead_of: Option<Copy>) {
        self.filled = None;
        let open = self.as_it_lies(&self.open);
        let found = AnyPlace::start(&open, slot, part, instead_of, self.wake.clone());
        match found {
            Ok(search) => {
                let name = self.part_name(part);
                self.notice = Some(format!("Looking for a place for {name} at any angle…"));
                self.any_place = Some(search);
            }
            Err(why) => self.refuse(format!("No place is looked for: {why}")),
        }
    }

    /// One more of each of what is selected, at the nearest clear place; more are wanted then, where
    /// all that were wanted are laid.
    pub(super) fn duplicate(&mut self) {
        let Some(slot) = self.slot() else { return };
        let lying: Vec<Placement> =
            self.selected.iter().filter_map(|c| self.open.find(*c).map(|(_, p)| *p)).collect();
        let (mut open, mut laid) = (self.open.clone(), Vec::new());
        for p in &lying {
            let slot = open.slots().into_iter().find(|s| s.layout == slot.layout).unwrap_or(slot);
            let mut hand = Hand::take_lying(&self.as_it_lies(&open), slot, p.part, p.pose);
            if !hand.snug(ANYWHERE) {
                let name = self.part_name(p.part);
                self.refuse(format!("No clear place for another {name} near here"));
                break;
            }
            if !open.wants_more(p.part)
                && let Some(w) = open.job_mut().job.wanted.get_mut(p.part)
                && let Count::Exactly(n) = &mut w.count
            {
                *n += 1;
            }
            let pose = hand.held().next().map_or(p.pose, |(_, pose)| pose);
            laid.push(open.lay(slot, Placement { pose, locked: false, ..*p }));
        }
        if laid.is_empty() {
            return;
        }
        let more = open.totals().1 - self.open.totals().1;
        let name = format!("Duplicate {}", self.names(&self.selected.clone()));
        self.change(name, |now| *now = open);
        if more > 0 && self.refusal.is_none() {
            self.notice = Some(format!("{more} more wanted than before"));
        }
        self.select(laid);
    }

    pub(super) fn lock(&mut self) {
        let copies = self.selected.clone();
        if copies.is_empty() {
            return;
        }
        let lock = !copies.iter().all(|c| self.open.find(*c).is_some_and(|(_, p)| p.locked));
        let verb = if lock { "Lock" } else { "Unlock" };
        self.change(format!("{verb} {}", self.names(&copies)), |open| {
            for copy in copies {
                if let Some(placement) = open.find_mut(copy) {
                    placement.locked = lock;
                }
            }
        });
    }

    pub(super) fn put_back(&mut self) {
        if self.hand.take().is_some_and(|h| h.held().all(|(held, _)| held.copy.is_none())) {
            self.measure();
            return;
        }
        let copies = std::mem::take(&mut self.selected);
        if let Some(locked) = self.first_locked(&copies) {
            self.selected = copies;
            self.refuse(locked);
        } else if !copies.is_empty() {
            self.change(format!("Put back {}", self.names(&copies)), |open| {
                open.take_off(|p| copies.contains(&Copy::of(p)));
            });
        }
    }

    pub(super) fn pick_up(&mut self, copies: Vec<Copy>) {
        self.selected = copies;
        if let Some(locked) = self.first_locked(&self.selected) {
            self.refuse(locked);
        } else if let Some(slot) = self.slot() {
            self.hand = self.hand_of(slot, &self.selected);
        }
        self.measure();
    }

    pub(super) fn take(&mut self, part: usize, at: Point<SheetSpace>) {
        let Some(slot) = self.slot() else { return };
        if !self.open.wants_more(part) {
            self.refuse(format!("All {} are laid", self.part_name(part)));
            return;
        }
        let job = self.open.job();
        let sheet = &job.stock[slot.stock].sheet;
        let unit = self.settings.unit();
        if let Some(refusal) = wrong_metal_words(&job.wanted[part].part, sheet, unit) {
            self.refuse(refusal);
            return;
        }
        self.selected.clear();
        let open = self.as_it_lies(&self.open);
        self.hand = Some(Hand::take(&open, slot, part, self.first_turn(part), at));
        self.measure();
    }

    /// The turn in which a part comes off the slip.
    pub(super) fn first_turn(&self, part: usize) -> f64 {
        match self.turning(part, false) {
            Turning::Free => 0.0,
            Turning::Only(angles) => angles.first().copied().unwrap_or(0.0),
        }
    }

    pub(super) fn put_down(&mut self) {
        let (Some(mut hand), Some(slot)) = (self.hand.take(), self.slot()) else { return };
        if hand.has_moved() {
            if !hand.is_clear() {
                let says = if hand.snug(SNUG_REACH) {
                    "Slid to the nearest clear place"
                } else {
                    "Not clear here; S looks for a place further away"
                };
                self.notice = Some(says.into());
            }
            let copies: Vec<Copy> = hand.held().filter_map(|(h, _)| h.copy).collect();
            let name = match hand.held().next() {
                Some((held, _)) if held.copy.is_none() => {
                    format!("Lay {}", self.part_name(held.part))
                }
                _ => format!("Move {}", self.names(&copies)),
            };
            self.commit(&hand, slot, name);
        }
        self.measure();
    }

    pub(super) fn place_one(&mut self, part: usize) {
        let Some(slot) = self.slot() else { return };
        let middle = self.open.job().stock[slot.stock].sheet.bounds().centre();
        self.take(part, middle);
        let Some(mut hand) = self.hand.take() else { return };
        if hand.snug(ANYWHERE) {
            self.commit(&hand, slot, format!("Place {}", self.part_name(part)));
        } else {
            self.look(slot, part, None);
            self.measure();
        }
    }

    /// Takes in whether there is any place for the part that was to be laid.
    pub(super) fn take_any_place(&mut self) {
        let Some(answer) = self.any_place.as_mut().and_then(AnyPlace::poll) else { return };
        let Some(search) = self.any_place.take() else { return };
        match (answer.verdict, answer.pose) {
            (Verdict::Fits, Some(pose)) => {
                self.lay_found(&search, pose);
                let name = self.part_name(search.part);
                let degrees = pose.turn.to_degrees().rem_euclid(360.0);
                self.notice =
                    Some(format!("{name} lies at a clear place, turned to {degrees:.1}°"));
            }
            (_, pose) => {
                let name = self.part_name(search.part);
                let says = in_words(&name, &answer, self.settings.unit());
                self.notice = Some(match self.filled.take() {
                    Some(filled) => format!("{filled}. {says}"),
                    None => says,
                });
                self.closest = pose.map(|pose| (search.part, pose));
            }
        }
    }

    /// Lays the part that a place was looked for there, as one act.
    pub(super) fn lay_found(&mut self, search: &AnyPlace, pose: Pose<PartSpace, SheetSpace>) {
        let mut laid = search.instead_of;
        let name = self.part_name(search.part);
        self.change(format!("Place {name}"), |open| match search.instead_of {
            Some(copy) => {
                if let Some(placement) = open.find_mut(copy) {
                    placement.pose = pose;
                }
            }
            None => {
                let placement = Placement { part: search.part, copy: 0, pose, locked: false };
                laid = Some(open.lay(search.slot, placement));
            }
        });
        self.select(laid.into_iter().collect());
    }
}

/// The turn (radians) from `turn` to the next of `angles` in the direction of `by`.
fn next_angle(angles: &[f64], turn: f64, by: f64) -> Option<f64> {
    let ahead = |a: &f64| {
        let off = ((a - turn) * by.signum()).rem_euclid(TAU);
        (1e-5..TAU - 1e-5).contains(&off).then_some(off)
    };
    angles.iter().filter_map(ahead).min_by(f64::total_cmp).map(|off| off * by.signum())
}
