//! The profiles a shop starts with.

use oddment_core::bars::profile::{Profile, STEEL, Section};
use oddment_core::units::{LengthUnit, parse_length};

const TABLE: &str = include_str!("../../../../assets/profiles.csv");

/// Standard sizes in mm and inches, in steel. Which of them a shop really has it says itself.
pub fn starter_profiles() -> Vec<Profile> {
    let rows = TABLE.lines().filter(|line| !line.starts_with('#')).skip(1);
    rows.filter_map(|line| {
        let mut cells = line.split(',').map(str::trim);
        let name = cells.next()?.to_owned();
        let kind = cells.next()?;
        let mm: Vec<f64> =
            cells.map(|cell| parse_length(cell, LengthUnit::Mm).ok()).collect::<Option<_>>()?;
        Some(Profile { name, section: section(kind, &mm)?, density: STEEL, seam: None })
    })
    .collect()
}

/// The starting profile of this name, however its letters are written and spaced.
pub fn profile_named(name: &str) -> Option<Profile> {
    profile_among(&starter_profiles(), name).cloned()
}

/// The kind of a section as the table names it, and its measures in mm in the table's order.
pub fn kind_and_measures(section: &Section) -> (&'static str, Vec<f64>) {
    match *section {
        Section::Round { diameter } => ("round", vec![diameter]),
        Section::RoundTube { diameter, wall } => ("round tube", vec![diameter, wall]),
        Section::Flat { width, height } => ("flat", vec![width, height]),
        Section::RectangularTube { width, height, wall, corner } => {
            ("rectangular tube", vec![width, height, wall, corner])
        }
        Section::Angle { width, height, thickness } => ("angle", vec![width, height, thickness]),
        Section::Channel { width, height, web, flange } => {
            ("channel", vec![width, height, web, flange])
        }
    }
}

/// What the measures of a kind are called, in the table's order; `None` for what is no kind.
pub fn measures_of(kind: &str) -> Option<&'static [&'static str]> {
    Some(match kind {
        "round" => &["diameter"],
        "round tube" => &["diameter", "wall"],
        "flat" => &["width", "height"],
        "rectangular tube" => &["width", "height", "wall", "corner"],
        "angle" => &["width", "height", "thickness"],
        "channel" => &["width", "height", "web", "flange"],
        _ => return None,
    })
}

/// Of these profiles the one of this name, however its letters are written and spaced.
pub fn profile_among<'a>(profiles: &'a [Profile], name: &str) -> Option<&'a Profile> {
    profiles.iter().find(|profile| is_same_name(&profile.name, name))
}

/// Whether two names are of one profile, however their letters are written and spaced.
pub fn is_same_name(a: &str, b: &str) -> bool {
    let plain = |name: &str| -> String {
        let letters = name.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase);
        letters.map(|c| if c == '×' || c == '*' { 'x' } else { c }).collect()
    };
    plain(a) == plain(b)
}

/// The section of a kind with its measures in mm, in the order of the table.
pub fn section(kind: &str, mm: &[f64]) -> Option<Section> {
    Some(match (kind, mm) {
        ("round", [diameter]) => Section::Round { diameter: *diameter },
        ("round tube", [diameter, wall]) => Section::RoundTube { diameter: *diameter, wall: *wall },
        ("flat", [width, height]) => Section::Flat { width: *width, height: *height },
        ("rectangular tube", [width, height, wall, corner]) => Section::RectangularTube {
            width: *width,
            height: *height,
            wall: *wall,
            corner: *corner,
        },
        ("angle", [width, height, thickness]) => {
            Section::Angle { width: *width, height: *height, thickness: *thickness }
        }
        ("channel", [width, height, web, flange]) => {
            Section::Channel { width: *width, height: *height, web: *web, flange: *flange }
        }
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_a_profile_of_its_own() {
        let rows = TABLE.lines().filter(|line| !line.starts_with('#')).count() - 1;
        let profiles = starter_profiles();
        assert_eq!(profiles.len(), rows);
        for (i, profile) in profiles.iter().enumerate() {
            assert_eq!(profile.section.faults(), [], "{}", profile.name);
            assert!(profile.mass_per_metre() > 0.1, "{}", profile.name);
            assert!(!profiles[..i].iter().any(|p| p.name == profile.name), "{}", profile.name);
        }
    }

    #[test]
    fn names_are_found_as_people_write_them() {
        assert!(profile_named("square TUBE 40x3").is_some());
        assert!(profile_named("square tube 41x3").is_none());
    }
}
