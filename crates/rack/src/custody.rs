//! Who holds a sheet, where it stands, whether it was seen.

use crate::facts::{Facts, Hold, Material, Whereabouts};
use crate::fault::ShopFault;
use crate::merge::merged;
use crate::sheets::possible;
use crate::shop::Shop;
use crate::when;

/// No order's name and no place is longer.
const LONGEST: usize = 80;

impl Facts {
    /// Whether parts of orders that ask for a certificate may come from it.
    pub fn is_certified(&self) -> bool {
        self.lacks_for_certificate().is_none()
    }

    /// Who holds it now: a hold that has run out counts for nothing.
    pub fn held(&self) -> Option<&Hold> {
        let now = when::now();
        self.hold.as_ref().filter(|h| h.until.is_none_or(|until| until >= now))
    }

    /// Who holds it now for another order than this one, if anybody does.
    pub fn held_for_another(&self, order: Option<&str>) -> Option<&Hold> {
        self.held().filter(|hold| order != Some(hold.order.as_str()))
    }

    /// What it lacks for an order that asks for a certificate.
    pub fn lacks_for_certificate(&self) -> Option<&'static str> {
        match (self.heat.is_empty(), self.certificate.is_empty()) {
            (true, _) => Some("heat number"),
            (false, true) => Some("certificate"),
            (false, false) => None,
        }
    }
}

impl Hold {
    /// As a warning to whoever cuts what is held for somebody else.
    pub(crate) fn warning(&self) -> String {
        format!("It was {}: say so there.", self.words())
    }

    /// “held for order 212 until 2026-03-09 by ann”.
    pub fn words(&self) -> String {
        let until = self.until.map(|u| format!(" until {}", when::day(u))).unwrap_or_default();
        format!("held for {}{until}", self.order)
    }
}

impl Shop {
    /// Holds a sheet for an order, until a time (seconds since 1970) where one is given.
    ///
    /// # Errors
    /// Where somebody else holds it, there is no such sheet, or it can't be written.
    pub fn hold(&mut self, label: &str, order: &str, until: Option<i64>) -> Result<(), ShopFault> {
        let order = short(order, "an order")?;
        self.change_facts("hold", label, |facts, _, who| {
            if let Some(held) = facts.held_for_another(Some(&order)) {
                return Err(ShopFault::refused(format!(
                    "{} is {} by {}; release it first",
                    label.trim(),
                    held.words(),
                    held.who
                )));
            }
            let hold = Hold { order, who: who.to_owned(), until };
            let words = hold.words();
            facts.hold = Some(hold);
            Ok(words)
        })
    }

    /// Lets go of a sheet that is held.
    ///
    /// # Errors
    /// Where there is no such sheet, or it can't be written.
    pub fn release(&mut self, label: &str) -> Result<(), ShopFault> {
        self.change_facts("release", label, |facts, _, _| {
            facts.hold = None;
            Ok("no longer held".to_owned())
        })
    }

    /// Says where a sheet stands now.
    ///
    /// # Errors
    /// Where there is no such sheet, or it can't be written.
    pub fn move_to(&mut self, label: &str, place: &str) -> Result<(), ShopFault> {
        let place = short(place, "a place")?;
        self.change_facts("move", label, |facts, at, _| {
            facts.stands.clone_from(&place);
            facts.seen = at;
            facts.whereabouts = Whereabouts::Here;
            Ok(format!("moved to {place}"))
        })
    }

    /// Says that a sheet that was missing is there again, where it stood.
    ///
    /// # Errors
    /// Where there is no such sheet, it is not missing, or it can't be written.
    pub fn found_again(&mut self, label: &str) -> Result<(), ShopFault> {
        self.change_facts("found", label, |facts, at, _| {
            if facts.whereabouts != Whereabouts::Missing {
                return Err(ShopFault::refused(format!("{} is not missing", label.trim())));
            }
            facts.whereabouts = Whereabouts::Here;
            facts.seen = at;
            Ok("found again".to_owned())
        })
    }

    /// Changes the notes, the heat number, the certificate or whatever else is known of a sheet
    /// besides its shape.
    ///
    /// # Errors
    /// Where there is no such sheet, what is changed can't be, or it can't be written.
    pub fn correct(
        &mut self,
        label: &str,
        change: impl FnOnce(&mut Facts),
    ) -> Result<(), ShopFault> {
        self.correct_with(label, |facts| {
            change(facts);
            Ok(())
        })
    }

    /// The same by a person who `saw` this of it and `wants` that instead: what somebody else has changed
    /// meanwhile stays.
    ///
    /// # Errors
    /// As [`Self::correct`]; where both changed the same to something else.
    pub fn put_right(&mut self, label: &str, saw: &Facts, wants: &Facts) -> Result<(), ShopFault> {
        self.correct_with(label, |facts| {
            *facts = merged(label.trim(), saw, wants, facts)?;
            Ok(())
        })
    }

    fn correct_with(
        &mut self,
        label: &str,
        change: impl FnOnce(&mut Facts) -> Result<(), ShopFault>,
    ) -> Result<(), ShopFault> {
        let materials = self.materials()?;
        self.change_facts("correct", label, |facts, _, _| {
            let before = facts.clone();
            change(facts)?;
            // Not by this way: they belong to cuts, and to acts of their own.
            facts.setup = before.setup;
            facts.whereabouts = before.whereabouts;
            facts.parent = before.parent.clone();
            facts.hold = before.hold.clone();
            facts.bar.clone_from(&before.bar);
            facts.pictures.clone_from(&before.pictures);
            facts.drawing.clone_from(&before.drawing);
            if facts.material != before.material {
                match Material::named(&materials, &facts.material) {
                    Some(material) => {
                        facts.material.clone_from(&material.name);
                        facts.density = material.density;
                    }
                    // Its weight and value would be those of another.
                    None if facts.density == before.density => {
                        let known: Vec<&str> = materials.iter().map(|m| m.name.as_str()).collect();
                        return Err(ShopFault::refused(format!(
                            "the shop has no material “{}”: add it to the shop's materials first; \
                             it has {}",
                            facts.material,
                            known.join(", ")
                        )));
                    }
                    None => {}
                }
            }
            possible(facts)?;
            Ok(format!("corrected: {}", changed_words(&before, facts)))
        })
    }

    /// All places where sheets stand, in order; to complete what is typed.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn places(&self) -> Result<Vec<String>, ShopFault> {
        let mut places: Vec<String> =
            self.list()?.into_iter().map(|e| e.facts.stands).filter(|p| !p.is_empty()).collect();
        places.sort();
        places.dedup();
        Ok(places)
    }
}

/// What of the facts differs, in words: “heat H 1 → H 2, notes”.
fn changed_words(before: &Facts, now: &Facts) -> String {
    let short = |name: &str, before: &str, now: &str| {
        (before != now).then(|| format!("{name} {} → {}", or_none(before), or_none(now)))
    };
    let number = |n: Option<f64>| n.map(|n| n.to_string()).unwrap_or_default();
    let thick = |f: &Facts| format!("{} mm", f.thickness);
    let changed = [
        short("material", &before.material, &now.material),
        short("thickness", &thick(before), &thick(now)),
        short("grade", &before.grade, &now.grade),
        short("finish", &before.finish, &now.finish),
        short("coating", &before.coating, &now.coating),
        short("face up", &before.face_up, &now.face_up),
        short("heat", &before.heat, &now.heat),
        short("certificate", &before.certificate, &now.certificate),
        short("grain", &number(before.grain_deg), &number(now.grain_deg)),
        short("bow", &number(before.bow), &number(now.bow)),
        short("weight", &number(before.weighed), &number(now.weighed)),
        short("value", &number(before.value), &number(now.value)),
        short("stands", &before.stands, &now.stands),
        (before.notes != now.notes).then(|| "notes".to_owned()),
        (before.heat_mark != now.heat_mark).then(|| "where the heat number is marked".to_owned()),
    ];
    changed.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn or_none(text: &str) -> &str {
    if text.is_empty() { "none" } else { text }
}

fn short(text: &str, what: &str) -> Result<String, ShopFault> {
    let text = text.trim();
    let fits = (1..=LONGEST).contains(&text.chars().count()) && !text.chars().any(char::is_control);
    if fits {
        Ok(text.to_owned())
    } else {
        Err(ShopFault::refused(format!("{what} is named with 1 to {LONGEST} letters")))
    }
}
