//! Thickness as shops type it: a length, or a gauge number, which means something else for each kind
//! of metal.
//!
//! Carbon steel goes by the manufacturers' standard gauge (41.82 lb a square foot and inch),
//! galvanised sheet by the same with its coating, stainless by the United States standard gauge, and
//! aluminium by the Brown & Sharpe wire gauge.

use crate::units::{LengthFault, LengthUnit, MM_PER_INCH, parse_length};

/// Which table of gauge numbers a metal goes by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GaugeTable {
    /// Carbon steel.
    Steel,
    /// Steel coated with zinc.
    Galvanised,
    /// Stainless steel.
    Stainless,
    /// Aluminium, and copper alloys.
    Wire,
}

/// Inches for the gauge numbers from 7 on.
const STEEL: [f64; 22] = [
    0.1793, 0.1644, 0.1495, 0.1345, 0.1196, 0.1046, 0.0897, 0.0747, 0.0673, 0.0598, 0.0538, 0.0478,
    0.0418, 0.0359, 0.0329, 0.0299, 0.0269, 0.0239, 0.0209, 0.0179, 0.0164, 0.0149,
];

/// Inches for the gauge numbers from 8 on.
const GALVANISED: [f64; 21] = [
    0.1681, 0.1532, 0.1382, 0.1233, 0.1084, 0.0934, 0.0785, 0.0710, 0.0635, 0.0575, 0.0516, 0.0456,
    0.0396, 0.0366, 0.0336, 0.0306, 0.0276, 0.0247, 0.0217, 0.0202, 0.0187,
];

/// Inches for the gauge numbers from 7 on.
const STAINLESS: [f64; 22] = [
    0.1875, 0.1719, 0.1563, 0.1406, 0.1250, 0.1094, 0.0938, 0.0781, 0.0703, 0.0625, 0.0563, 0.0500,
    0.0438, 0.0375, 0.0344, 0.0313, 0.0281, 0.0250, 0.0219, 0.0188, 0.0172, 0.0156,
];

impl GaugeTable {
    /// The table for what people call a metal; carbon steel's where the name says nothing else.
    pub fn of(material: &str) -> Self {
        let name = material.to_lowercase();
        let has = |words: &[&str]| words.iter().any(|w| name.contains(w));
        if has(&["galv", "zinc", "dx51", "dx53", "z275", "+z"]) {
            Self::Galvanised
        } else if has(&["stainless", "inox", "1.43", "1.44", "1.45", "304", "316", "430"]) {
            Self::Stainless
        } else if has(&[
            "alu", "almg", "aw", "5052", "5083", "5754", "6061", "6082", "3003", "1050", "copper",
            "brass",
        ]) {
            Self::Wire
        } else {
            Self::Steel
        }
    }

    /// Thickness (mm) of a gauge number, where the table has it.
    pub fn thickness(self, number: u32) -> Option<f64> {
        let from = |table: &[f64], first: u32| {
            table.get(number.checked_sub(first)? as usize).map(|inch| inch * MM_PER_INCH)
        };
        match self {
            Self::Steel => from(&STEEL, 7),
            Self::Galvanised => from(&GALVANISED, 8),
            Self::Stainless => from(&STAINLESS, 7),
            // Forty sizes in geometric steps, No. 36 being 0.005 inch and No. 0000 0.46 inch.
            Self::Wire => (3..=30)
                .contains(&number)
                .then(|| 0.005 * 92f64.powf((36.0 - f64::from(number)) / 39.0) * MM_PER_INCH),
        }
    }
}

/// Reads a thickness such as `3`, `1/8in`, `16 ga` or `gauge 11` of a material and returns
/// millimetres; a bare number is in `bare` units.
///
/// # Errors
/// [`LengthFault`] with the text as typed.
pub fn parse_thickness(text: &str, bare: LengthUnit, material: &str) -> Result<f64, LengthFault> {
    let typed = text.trim();
    let lower = typed.to_lowercase();
    let number = ["gauge", "ga.", "ga", "#"]
        .iter()
        .find_map(|word| lower.strip_suffix(word).or_else(|| lower.strip_prefix(word)));
    let mm = match number {
        Some(number) => number
            .trim()
            .parse()
            .ok()
            .and_then(|n| GaugeTable::of(material).thickness(n))
            .ok_or_else(|| LengthFault::NoGauge(typed.to_owned()))?,
        None => parse_length(typed, bare)?,
    };
    if mm > 0.0 && mm <= 1000.0 { Ok(mm) } else { Err(LengthFault::OutOfRange(typed.to_owned())) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, material: &str, mm: f64) {
        let read = parse_thickness(text, LengthUnit::Mm, material).unwrap();
        assert!((read - mm).abs() < 0.0051, "{text} of {material} is {read}");
    }

    /// To the hundredth of a millimetre, from printed tables in millimetres.
    #[test]
    fn a_gauge_number_depends_on_the_metal() {
        check("16 ga", "S235", 1.52);
        check("16 ga", "DX51D+Z275", 1.61);
        check("16ga", "stainless 304", 1.59);
        check("gauge 16", "AlMg3", 1.29);
        check("#11", "mild steel", 3.04);
        check("10 gauge", "EN AW-5754", 2.59);
    }

    #[test]
    fn lengths_and_fractions_are_thicknesses_too() {
        check("3", "S235", 3.0);
        check("1/8in", "S235", 3.175);
        check("1/8\"", "S235", 3.175);
        let inches = parse_thickness("1/4", LengthUnit::Inch, "S235").unwrap();
        assert!((inches - 6.35).abs() < 1e-9);
    }

    #[test]
    fn what_is_no_thickness_is_refused() {
        for text in ["99 ga", "ga", "x ga", "-3", "0", "", "1e9"] {
            assert!(parse_thickness(text, LengthUnit::Mm, "S235").is_err(), "{text}");
        }
    }

    #[test]
    fn higher_numbers_are_thinner_in_every_table() {
        for table in
            [GaugeTable::Steel, GaugeTable::Galvanised, GaugeTable::Stainless, GaugeTable::Wire]
        {
            let all: Vec<f64> = (0..40).filter_map(|n| table.thickness(n)).collect();
            assert!(all.len() >= 20 && all.windows(2).all(|w| w[1] < w[0]), "{table:?}");
        }
    }
}
