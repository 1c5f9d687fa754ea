//! Profiles as they are typed.

use oddment_core::bars::profile::{Profile, STEEL};
use oddment_core::units::{LengthUnit, parse_length};
use oddment_files::bars::{is_same_name, measures_of, section, starter_profiles};

use crate::session::Session;
use crate::words::capital;

/// The kinds as people begin to write them, and those of the table.
const KINDS: [(&str, &str); 8] = [
    ("round tube", "round tube"),
    ("square tube", "rectangular tube"),
    ("rectangular tube", "rectangular tube"),
    ("tube", "rectangular tube"),
    ("round", "round"),
    ("flat", "flat"),
    ("angle", "angle"),
    ("channel", "channel"),
];

/// All profiles known by name: the shop's own, then those to start from.
pub fn known_profiles(session: &Session) -> Vec<Profile> {
    let own = session.rack().map(|desk| desk.listing().profiles.clone()).unwrap_or_default();
    let mut all = own;
    for profile in starter_profiles() {
        if !all.iter().any(|own| is_same_name(&own.name, &profile.name)) {
            all.push(profile);
        }
    }
    all
}

/// The profile that is meant by what was typed: one known by its name, or a kind with its measures,
/// such as `flat 35 x 6` or `square tube 45x2`.
pub fn find_profile(session: &Session, typed: &str) -> Option<Profile> {
    let known = known_profiles(session).into_iter().find(|p| is_same_name(&p.name, typed));
    known.or_else(|| of_measures(typed, session.settings().unit()))
}

/// A profile of steel by its kind and measures.
fn of_measures(typed: &str, unit: LengthUnit) -> Option<Profile> {
    let typed = typed.trim();
    let lower = typed.to_lowercase();
    let (written, kind) = KINDS.into_iter().find(|(written, _)| lower.starts_with(written))?;
    let numbers = lower[written.len()..].split(['x', '×', '*']);
    let mut mm: Vec<f64> =
        numbers.map(|text| parse_length(text.trim(), unit).ok()).collect::<Option<_>>()?;
    let wanted = measures_of(kind)?.len();
    if written == "square tube" && mm.len() == 2 {
        mm.insert(1, mm[0]);
    }
    if kind == "rectangular tube" && mm.len() == wanted - 1 {
        // Cold-formed tube is about one and a half walls round outside.
        mm.push(1.5 * mm[2]);
    }
    if kind == "angle" && mm.len() == wanted - 1 {
        mm.insert(1, mm[0]);
    }
    let section = section(kind, &mm)?;
    let sound = section.faults().is_empty();
    let name = named(written, &lower[written.len()..], unit);
    sound.then_some(Profile { name, section, density: STEEL, seam: None })
}

/// As the table of starting profiles writes names: `Square tube 45 × 2`, `Flat 1 × 1/4 in`.
fn named(kind: &str, measures: &str, unit: LengthUnit) -> String {
    let measures: Vec<&str> = measures.split(['x', '×', '*']).map(str::trim).collect();
    let says_unit = measures.iter().any(|m| m.contains(|c: char| c.is_alphabetic() || c == '"'));
    let unit = if unit == LengthUnit::Inch && !says_unit { " in" } else { "" };
    format!("{} {}{unit}", capital(kind), measures.join(" × "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn profiles_are_read_as_people_write_them() {
        let area = |typed| of_measures(typed, LengthUnit::Mm).map(|p| p.section.area());
        let near = |typed, mm2: f64| (area(typed).unwrap() - mm2).abs() < 0.02 * mm2;
        assert!(near("flat 35 x 6", 210.0));
        assert!(near("Square tube 45x2", 45.0 * 45.0 - 41.0 * 41.0));
        assert!(near("tube 60 × 30 × 2", 60.0 * 30.0 - 56.0 * 26.0));
        assert!(near("round 10", 78.54));
        assert!(near("angle 30x3", 30.0 * 3.0 + 27.0 * 3.0));
        let inch = of_measures("flat 1 x 1/4", LengthUnit::Inch).unwrap();
        assert!((inch.section.area() - 25.4 * 6.35).abs() < 1e-9);
        assert_eq!(inch.name, "Flat 1 × 1/4 in");
        assert_eq!(
            of_measures("square TUBE 45x2", LengthUnit::Mm).unwrap().name,
            "Square tube 45 × 2"
        );
        for none in ["", "flat", "flat 35", "flat 35x", "tube 40x40x30", "rail 30x30"] {
            assert_eq!(area(none), None, "{none}");
        }
    }
}
