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
        Some(Profile { name, section: section(kind, &mm)?, density: STEEL })
    })
    .collect()
}

/// The starting profile of this name, however its letters are written and spaced.
pub fn profile_named(name: &str) -> Option<Profile> {
    let plain = |name: &str| -> String {
        let letters = name.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase);
        letters.map(|c| if c == '×' || c == '*' { 'x' } else { c }).collect()
    };
    starter_profiles().into_iter().find(|profile| plain(&profile.name) == plain(name))
}

/// The section of a kind with its measures in mm, in the order of the table.
pub(super) fn section(kind: &str, mm: &[f64]) -> Option<Section> {
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
