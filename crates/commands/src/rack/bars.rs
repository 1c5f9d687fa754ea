//! Bars in `oddment rack`: profiles, bars added, plans for bars recorded.

use std::collections::HashMap;

use oddment_core::bars::clear;
use oddment_core::bars::profile::Profile;
use oddment_core::units::{LengthUnit, parse_length};
use oddment_files::bars::{
    kind_and_measures, measures_of, read_bar_plan, section, starter_profiles,
};
use oddment_rack::ShopFault;
use oddment_rack::bars::new_bar;
use oddment_rack::facts::Facts;
use oddment_rack::record::BarRecording;
use serde::Serialize;

use super::args::{AddArgs, ProfileArgs, RecordArgs};
use super::{about, cut, open};
use crate::Outcome;
use crate::console::Console;
use crate::refusal::Refusal;

#[derive(Serialize)]
struct AddSaid<'a> {
    label: &'a str,
    labels: &'a [String],
    profile: &'a str,
    length_mm: f64,
    weight_kg: f64,
}

/// Adds bars that are alike.
pub(super) fn add(
    args: &AddArgs,
    profile: &str,
    facts: Facts,
    console: &mut Console<'_>,
) -> Result<Outcome, Refusal> {
    let typed = args.sheet.to_string_lossy();
    let wrong = |fault: ShopFault| Refusal::about(&typed, fault);
    let length = parse_length(&typed, LengthUnit::Mm).map_err(|why| Refusal::about(&typed, why))?;
    if args.label.is_some() && args.count > 1 {
        let why = "one label is for one bar; leave it out, and each gets the next free one";
        return Err(Refusal::about("--label", why));
    }
    let mut shop = open(&args.shop, console)?;
    let profile = shop.profile(profile).map_err(|why| Refusal::about("--profile", why))?;
    let known = args.known.map_or(0.0, |source| source.give_or_take(length));
    let give_or_take = args.give_or_take.unwrap_or(known);
    let bar = new_bar(args.label.clone(), &profile, length, give_or_take, facts).map_err(wrong)?;
    let labels = shop.add_all(vec![bar; usize::from(args.count)]).map_err(about(&shop))?;
    let label = labels.first().map_or("", String::as_str);
    let entry = shop.sheet(label).map_err(about(&shop))?.entry;
    let weight_kg = entry.weight();
    let named = if let [one] = &labels[..] {
        format!("{one} is")
    } else {
        format!("{label} to {} are", labels.last().map_or("", String::as_str))
    };
    console.say(format_args!(
        "{named} in the rack: {}, {length} mm, {weight_kg:.1} kg. Write the label on it.",
        profile.name
    ));
    let said =
        AddSaid { label, labels: &labels, profile: &profile.name, length_mm: length, weight_kg };
    console.json(args.json.wanted, &said)?;
    Ok(Outcome::Yes)
}

#[derive(Serialize)]
struct ProfilesSaid {
    profiles: Vec<ProfileSaid>,
}

#[derive(Serialize)]
struct ProfileSaid {
    name: String,
    kind: &'static str,
    measures_mm: Vec<f64>,
    kg_per_m: f64,
    own: bool,
}

/// `oddment rack profile`.
pub(super) fn profile(args: &ProfileArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let mut shop = open(&args.shop, console)?;
    if let (Some(name), Some(kind)) = (&args.add, &args.kind) {
        let Some(section) = section(kind, &args.measures) else {
            let why = match measures_of(kind) {
                Some(names) => format!("a {kind} has the measures {}", names.join(", ")),
                None => format!(
                    "“{kind}” is no kind; write round, round tube, flat, rectangular tube, angle or \
                     channel"
                ),
            };
            return Err(Refusal::about("--measures", why));
        };
        let profile = Profile {
            name: name.trim().to_owned(),
            section,
            density: args.density,
            seam: args.seam,
        };
        shop.set_profile(&profile).map_err(|why| Refusal::about("--add", why))?;
    }
    let own = shop.own_profiles().map_err(about(&shop))?;
    let words = args.add.clone().unwrap_or_else(|| args.words.join(" ")).to_lowercase();
    let matches = |profile: &Profile| {
        let name = profile.name.to_lowercase();
        words.split_whitespace().all(|word| name.contains(word))
    };
    let said = |profile: Profile, own: bool| {
        let (kind, measures_mm) = kind_and_measures(&profile.section);
        let kg_per_m = profile.mass_per_metre();
        ProfileSaid { name: profile.name, kind, measures_mm, kg_per_m, own }
    };
    let all = own.into_iter().map(|p| (p, true));
    let all = all.chain(starter_profiles().into_iter().map(|p| (p, false)));
    let profiles: Vec<ProfileSaid> =
        all.filter(|(profile, _)| matches(profile)).map(|(p, own)| said(p, own)).collect();
    for ProfileSaid { name, kg_per_m, own, .. } in &profiles {
        let own = if *own { "  the shop’s own" } else { "" };
        console.say(format_args!("{name:<28} {kg_per_m:>7.3} kg/m{own}"));
    }
    let any = !profiles.is_empty();
    console.json(args.json.wanted, &ProfilesSaid { profiles })?;
    Ok(Outcome::of(any))
}

/// Records a plan for bars.
pub(super) fn record(
    args: &RecordArgs,
    text: &str,
    console: &mut Console<'_>,
) -> Result<Outcome, Refusal> {
    let name = args.plan.display().to_string();
    let read = read_bar_plan(text).map_err(|faults| Refusal::each(&name, &faults))?;
    let (list, plan) = (read.list, read.plan);
    let faults = list.faults();
    if !faults.is_empty() {
        return Err(Refusal::each(&name, &faults));
    }
    let checked = clear(&list, &plan).map_err(|faults| Refusal::each(&name, &faults))?;
    let mut labels = HashMap::new();
    for (number, label) in &args.bar {
        let number: Option<usize> = number.trim().parse().ok();
        match number.filter(|n| (1..=plan.bars.len()).contains(n)) {
            Some(number) => labels.insert(number - 1, label.clone()),
            None => {
                let why = format!("the plan has bars 1 to {}, as in 1=R-0147", plan.bars.len());
                return Err(Refusal::about("--bar", why));
            }
        };
    }
    let names: Vec<String> = list.parts.iter().map(|part| part.called()).collect();
    let mut counted: HashMap<&str, usize> = HashMap::new();
    let mut copies: Vec<(&str, usize)> = Vec::new();
    for piece in plan.bars.iter().flat_map(|bar| &bar.pieces) {
        let name = names[piece.part].as_str();
        let copy = counted.entry(name).or_default();
        *copy += 1;
        copies.push((name, *copy));
    }
    let recording = BarRecording {
        outcomes: cut::outcomes(args, &copies)?,
        labels,
        minutes: args.minutes,
        order: args.order.clone(),
        certificate: args.certificate,
        bought: Facts { heat: args.bought_heat.clone(), ..Facts::default() },
        keep: cut::keep(args),
        again: args.again,
        plan: text.to_owned(),
    };
    let mut shop = open(&args.shop, console)?;
    let recorded = if args.preview {
        console.say(cut::PREVIEW);
        shop.preview_bars(&checked, &recording)
    } else {
        shop.record_bars(&checked, &recording)
    };
    let recorded = recorded.map_err(|fault| Refusal::about(&name, fault))?;
    cut::tell(recorded, args, console)
}
