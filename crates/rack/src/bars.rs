//! Bars in the rack: stock of another kind, kept as sheets are. A bar's shape is its side view, as long
//! as the bar and as high as its section, its datum end at the left.

use oddment_core::bars::profile::Profile;
use oddment_core::bars::{CutList, Face, Leftovers, Stock};
use oddment_core::compare::{Policies, Policy, pulled};
use oddment_core::sheet::EdgeKind;
use oddment_files::bars::{
    is_same_name, kind_and_measures, profile_among, section, starter_profiles,
};
use rusqlite::params;
use serde::{Deserialize, Serialize};

use crate::facts::{Facts, Material};
use crate::fault::ShopFault;
use crate::outline::{EdgeNote, Outline, too_long};
use crate::sheets::{Entry, NewSheet};
use crate::shop::{Act, Shop};

/// Lengths within this (mm) are equal.
pub const SAME: f64 = 1e-3;

/// What is known of a bar besides what is known of all stock. Its length is that of its shape.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct BarFacts {
    /// Its profile.
    pub profile: ProfileFacts,
    /// How much shorter it may really be, mm.
    pub give_or_take: f64,
    /// Its length as delivered, mm. What is missing of it was cut off at the datum end.
    pub delivered: f64,
    /// How far its datum end is off square, degrees: as the last cut left it.
    #[serde(default)]
    pub end_deg: f64,
}

/// A profile as it is kept.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ProfileFacts {
    /// As the shop names it.
    pub name: String,
    /// The kind of its section, as in the table of starting profiles.
    pub kind: String,
    /// The section's measures in that table's order, mm.
    pub measures: Vec<f64>,
    /// The face that its weld seam must stay in; empty for none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub seam: String,
}

impl ProfileFacts {
    /// A profile to be kept.
    pub fn of(profile: &Profile) -> Self {
        let (kind, measures) = kind_and_measures(&profile.section);
        let seam = profile.seam.map(Face::name).unwrap_or_default().to_owned();
        Self { name: profile.name.clone(), kind: kind.to_owned(), measures, seam }
    }

    /// The profile in a material of this density (kg/m³); `None` where its measures make no section.
    pub fn profile(&self, density: f64) -> Option<Profile> {
        let section = section(&self.kind, &self.measures)?;
        let sound = section.faults().is_empty();
        let seam = Face::named(&self.seam);
        sound.then(|| Profile { name: self.name.clone(), section, density, seam })
    }

    /// Whether it is this profile, by its name and its measures.
    pub(crate) fn is(&self, profile: &Profile) -> bool {
        let (kind, measures) = kind_and_measures(&profile.section);
        let near = |(a, b): (&f64, &f64)| (a - b).abs() <= SAME;
        is_same_name(&self.name, &profile.name)
            && self.kind == kind
            && self.measures.len() == measures.len()
            && self.measures.iter().zip(&measures).all(near)
    }
}

impl BarFacts {
    /// Weight (kg) of a length (mm) in a material of this density (kg/m³).
    pub fn weight(&self, length: f64, density: f64) -> f64 {
        let profile = self.profile.profile(density);
        profile.map_or(0.0, |profile| profile.mass_per_metre() * length / 1000.0)
    }

    /// Whether nothing was cut off it yet, where it is so long now.
    pub fn is_whole(&self, length: f64) -> bool {
        length >= self.delivered - SAME
    }

    /// What no bar of this shape can be.
    pub(crate) fn faults(&self, outline: &Outline) -> Vec<String> {
        let Some(profile) = self.profile.profile(1.0) else {
            return vec![format!("{} is no profile", self.profile.name)];
        };
        let (bounds, mut faults) = (outline.bounds(), Vec::new());
        let (length, height) = (bounds.width(), profile.section.size().1);
        let plain = outline.pieces.len() == 1 && outline.pieces[0].cutouts.is_empty();
        let full = (outline.area() - length * height).abs() <= SAME * length;
        if !(plain && full && (bounds.height() - height).abs() <= SAME) {
            faults.push(format!("its shape is not the side of a {}", profile.name));
        }
        if !(0.0..length).contains(&self.give_or_take) {
            faults.push(format!(
                "{} mm is no give or take of a bar of {length} mm",
                self.give_or_take
            ));
        }
        if !(self.delivered >= length - SAME && self.delivered <= 1e6) {
            faults.push(format!(
                "it can’t be longer ({length} mm) than it was delivered ({} mm)",
                self.delivered
            ));
        }
        if !(0.0..90.0).contains(&self.end_deg) {
            faults.push(format!("{} is no angle of an end", self.end_deg));
        }
        faults
    }
}

/// The side view of a bar.
///
/// # Errors
/// Where the length is none.
pub(crate) fn side_view(length: f64, height: f64, give_or_take: f64) -> Result<Outline, ShopFault> {
    let outline = Outline::rectangle([length, height], EdgeKind::OwnCut).map_err(|_| {
        ShopFault::refused(format!("{length} mm is no length of a bar; give 1 to 100000 mm"))
    })?;
    let mut note = EdgeNote::default();
    note.facts.kind = EdgeKind::OwnCut;
    note.facts.give_or_take = give_or_take;
    Ok(Outline::uniform(&outline.regions(), note))
}

/// A bar to be added; what is known of it besides is in `facts`, and its density is the profile's
/// where `facts` has none.
///
/// # Errors
/// Where the length is none.
pub fn new_bar(
    label: Option<String>,
    profile: &Profile,
    length: f64,
    give_or_take: f64,
    facts: Facts,
) -> Result<NewSheet, ShopFault> {
    if let Some(why) = too_long("bar", length) {
        return Err(ShopFault::refused(why));
    }
    let outline = side_view(length, profile.section.size().1, give_or_take)?;
    let bar = BarFacts {
        profile: ProfileFacts::of(profile),
        give_or_take,
        delivered: length,
        end_deg: 0.0,
    };
    let facts = Facts { thickness: profile.section.thinnest(), bar: Some(bar), ..facts };
    Ok(NewSheet { label, facts, outline, drawing: None })
}

/// A bar that may have room for a part.
#[derive(Clone, Debug, PartialEq)]
pub struct FoundBar {
    /// The bar.
    pub entry: Entry,
    /// How much longer than wanted it is for certain, mm; negative where it is too short.
    pub spare: f64,
}

/// Writes a profile of the shop's own; `conflict` says what becomes of the one of its name.
pub(crate) fn put_profile(
    act: &Act<'_>,
    profile: &Profile,
    conflict: &str,
) -> Result<(), ShopFault> {
    let facts = serde_json::to_string(&(ProfileFacts::of(profile), profile.density))?;
    act.transaction.execute(
        &format!("INSERT INTO profiles (name, facts) VALUES (?1, ?2) ON CONFLICT {conflict}"),
        params![profile.name.trim(), facts],
    )?;
    Ok(())
}

impl Shop {
    /// The shop's own profiles.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn own_profiles(&self) -> Result<Vec<Profile>, ShopFault> {
        let mut statement =
            self.connection().prepare("SELECT facts FROM profiles ORDER BY name")?;
        let rows = statement.query_map([], |row| row.get::<_, String>(0))?;
        let mut profiles = Vec::new();
        for row in rows {
            let (facts, density): (ProfileFacts, f64) = serde_json::from_str(&row?)?;
            profiles.extend(facts.profile(density));
        }
        Ok(profiles)
    }

    /// The profile of this name: the shop's own, or one to start from.
    ///
    /// # Errors
    /// Where there is none, or none can be read.
    pub fn profile(&self, name: &str) -> Result<Profile, ShopFault> {
        let mut all = self.own_profiles()?;
        all.extend(starter_profiles());
        profile_among(&all, name).cloned().ok_or_else(|| {
            ShopFault::refused(format!(
                "there is no profile {name}; `oddment rack profile` lists those there are, and \
                 makes new ones"
            ))
        })
    }

    /// Adds a profile of the shop's own, or changes the one of its name. Bars that are there keep
    /// theirs.
    ///
    /// # Errors
    /// Where its measures make no section, or it can't be written.
    pub fn set_profile(&mut self, profile: &Profile) -> Result<(), ShopFault> {
        let faults: Vec<String> =
            profile.section.faults().iter().map(ToString::to_string).collect();
        if profile.name.trim().is_empty() || !faults.is_empty() {
            let why =
                if faults.is_empty() { "a profile needs a name".into() } else { faults.join("; ") };
            return Err(ShopFault::refused(why));
        }
        self.change("profile", |act| {
            put_profile(act, profile, "(name) DO UPDATE SET facts = excluded.facts")?;
            act.say(format!("profile {}", profile.name));
            Ok(())
        })
    }

    /// The bars that a list can be cut from: [`bars_among`] those of this shop.
    ///
    /// # Errors
    /// Where the list names no profile, or the file can't be read.
    pub fn bars_for(&self, list: &CutList, order: Option<&str>) -> Result<Vec<Stock>, ShopFault> {
        bars_among(&self.list()?, &self.materials()?, list, order)
    }

    /// The bars that match all words, those long enough for a part of `length` first, the shortest of
    /// them first of all. Bars that are held for other orders are left out.
    ///
    /// # Errors
    /// Where the file can't be read.
    pub fn find_bars(
        &self,
        typed: &str,
        length: f64,
        order: Option<&str>,
    ) -> Result<Vec<FoundBar>, ShopFault> {
        let mut found: Vec<FoundBar> = self
            .list()?
            .into_iter()
            .filter_map(|entry| {
                let f = &entry.facts;
                let sure = entry.size[0] - f.bar.as_ref()?.give_or_take;
                let held = f.held_for_another(order).is_some();
                let open = f.whereabouts.is_here() && !held && entry.matches(typed);
                open.then_some(FoundBar { spare: sure - length, entry })
            })
            .collect();
        let rank = |found: &FoundBar| (found.spare < -SAME, found.spare.abs());
        found.sort_by(|a, b| rank(a).partial_cmp(&rank(b)).unwrap_or(std::cmp::Ordering::Equal));
        Ok(found)
    }
}

/// Of these bars those that a list can be cut from, as lines of its stock named by their labels: those
/// of its profile and material that are here and not held for another order.
///
/// A bar costs what is typed as its value, or else its weight at the material's price, as sheets do. Where
/// a line of the list costs its length, so do these, and what is left of one less, in the proportion of
/// the prices of scrap and metal.
///
/// # Errors
/// Where the list names no profile.
pub fn bars_among(
    entries: &[Entry],
    materials: &[Material],
    list: &CutList,
    order: Option<&str>,
) -> Result<Vec<Stock>, ShopFault> {
    let Some(profile) = &list.profile else {
        return Err(ShopFault::refused(
            "the list names no profile, so that no bar of the rack can be chosen for it; add \
             “profile”",
        ));
    };
    let in_money = list.stock.iter().all(|bar| bar.cost.is_some());
    let suits = |entry: &&Entry| {
        let f = &entry.facts;
        let bar = f.bar.as_ref().filter(|bar| bar.profile.is(profile));
        let held = f.held_for_another(order);
        let material = list.material.trim();
        bar.is_some()
            && f.whereabouts.is_here()
            && held.is_none()
            && (material.is_empty() || material.eq_ignore_ascii_case(&f.material))
    };
    let bars = entries.iter().filter(suits);
    Ok(bars.map(|entry| stock(entry, materials, in_money)).collect())
}

/// A bar as a line of a list's stock.
fn stock(entry: &Entry, materials: &[Material], in_money: bool) -> Stock {
    let (f, length) = (&entry.facts, entry.size[0]);
    let whole = f.bar.as_ref().is_some_and(|bar| bar.is_whole(length));
    let material = materials.iter().find(|m| m.name.eq_ignore_ascii_case(&f.material));
    let cost = match material.filter(|m| m.price > 0.0) {
        Some(material) if in_money => Some(f.value.unwrap_or(entry.weight() * material.price)),
        Some(material) if !whole => Some(length * material.scrap / material.price),
        _ => f.value.filter(|_| in_money),
    };
    Stock {
        name: entry.label.clone(),
        heat: f.heat.clone(),
        place: f.stands.clone(),
        length,
        give_or_take: f.bar.as_ref().map_or(0.0, |bar| bar.give_or_take),
        count: Some(1),
        cost,
        handling: 0.0,
        cut_before: f.bar.as_ref().map_or(0.0, |bar| (bar.delivered - length).max(0.0)),
        end: f.bar.as_ref().map_or(0.0, |bar| bar.end_deg.to_radians()),
    }
}

/// Charges every bar of a list in money by the policies that sheets are compared with: to bring one to the
/// machine, by its weight, and to load it; and by the price of its material what is left of one is
/// credited with, brings as scrap, and costs to bring back. A list whose bars cost their length is left as
/// it is.
pub fn charge_by_policies(list: &mut CutList, materials: &[Material], policies: &Policies) {
    if list.stock.iter().any(|bar| bar.cost.is_none()) {
        return;
    }
    let kg_per_metre = list.profile.as_ref().map_or(0.0, Profile::mass_per_metre);
    let labour = policies.get(Policy::Labour) / 60.0;
    for bar in &mut list.stock {
        // Bars are long as they come: how many carry one goes by its weight.
        let (pull, people) = pulled(kg_per_metre * bar.length / 1000.0, false, policies);
        let minutes = policies.get(pull) * people + list.machine.seconds[0] / 60.0;
        bar.handling = minutes * labour;
    }
    let material = Material::named(materials, list.material.trim()).filter(|m| m.price > 0.0);
    list.leftovers = material.map(|material| Leftovers {
        credit: policies.get(Policy::CreditShare) * material.price * kg_per_metre,
        scrap: material.scrap * kg_per_metre,
        bring_back: policies.get(Policy::ReturnBar) * labour,
    });
}
