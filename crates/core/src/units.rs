//! Lengths as people type and read them. Inside the program everything is millimetres.

use std::fmt;

/// Millimetres in an inch.
pub const MM_PER_INCH: f64 = 25.4;

/// What people read and type lengths in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LengthUnit {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
}

impl LengthUnit {
    /// Millimetres in one of it.
    pub const fn in_mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Inch => MM_PER_INCH,
        }
    }

    /// A length for reading: tenths of a millimetre or thousandths of an inch, without the unit.
    pub fn show(self, mm: f64) -> String {
        // Adding zero turns −0 into 0.
        match self {
            Self::Mm => format!("{:.1}", (mm * 10.0).round() / 10.0 + 0.0),
            Self::Inch => format!("{:.3}", (mm / MM_PER_INCH * 1000.0).round() / 1000.0 + 0.0),
        }
    }
}

impl fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Mm => "mm",
            Self::Inch => "in",
        })
    }
}

/// Why a typed length can't be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LengthFault {
    /// No number in it.
    #[error("“{0}” is not a length; write for example 1.5 mm, 1/8in or 0.06\"")]
    NotALength(String),
    /// A gauge number that the metal's table does not have.
    #[error(
        "“{0}” is no gauge number of this metal; write for example 16 ga, or the thickness itself"
    )]
    NoGauge(String),
    /// A number that is none, or beyond a kilometre.
    #[error("“{0}” is not a length a shop could have")]
    OutOfRange(String),
}

/// Reads a length such as `0.3mm`, `1.5 mm`, `1/8in`, `1 1/2"` or `0.06"` and returns millimetres;
/// a bare number is in `bare` units.
///
/// # Errors
/// [`LengthFault`] with the text as typed.
pub fn parse_length(text: &str, bare: LengthUnit) -> Result<f64, LengthFault> {
    let trimmed = text.trim();
    let (number, unit) = split_unit(trimmed, bare);
    let value =
        parse_number(number.trim()).ok_or_else(|| LengthFault::NotALength(trimmed.to_owned()))?;
    let mm = value * unit.in_mm();
    if mm.is_finite() && mm.abs() <= 1e6 {
        Ok(mm)
    } else {
        Err(LengthFault::OutOfRange(trimmed.to_owned()))
    }
}

/// Reads a sum of lengths, such as `120 + 5`, `600-150 mm` or `48in - 12`, and returns millimetres. Between
/// two numbers of one fraction, as in `1-1/2`, a dash is none that takes away.
///
/// # Errors
/// [`LengthFault`] with the text as typed.
pub fn parse_sum(text: &str, bare: LengthUnit) -> Result<f64, LengthFault> {
    if let Ok(length) = parse_length(text, bare) {
        return Ok(length);
    }
    let fault = || LengthFault::NotALength(text.trim().to_owned());
    let mut sum = 0.0;
    let mut rest = text.trim();
    if rest.is_empty() {
        return Err(fault());
    }
    while !rest.is_empty() {
        let (sign, term) = match rest.strip_prefix('+') {
            Some(term) => (1.0, term),
            None => rest.strip_prefix('-').map_or((1.0, rest), |term| (-1.0, term)),
        };
        let end = term.find(['+', '-']).unwrap_or(term.len());
        let length = parse_length(&term[..end], bare).map_err(|_| fault())?;
        sum += sign * length;
        rest = term[end..].trim_start();
        if rest.len() == 1 {
            return Err(fault());
        }
    }
    Ok(sum)
}

fn split_unit(text: &str, bare: LengthUnit) -> (&str, LengthUnit) {
    let suffixes = [
        ("mm", LengthUnit::Mm),
        ("inch", LengthUnit::Inch),
        ("in", LengthUnit::Inch),
        ("\"", LengthUnit::Inch),
        ("″", LengthUnit::Inch),
    ];
    for (suffix, unit) in suffixes {
        if let Some(number) = text.strip_suffix(suffix) {
            return (number, unit);
        }
    }
    (text, bare)
}

/// A decimal number (point or comma), a fraction, or a whole number and a fraction.
fn parse_number(text: &str) -> Option<f64> {
    let (sign, text) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text),
    };
    if !text.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',') {
        return None;
    }
    let Some((left, below)) = text.split_once('/') else {
        return text.replace(',', ".").parse::<f64>().ok().map(|v| sign * v);
    };
    let below: u32 = below.trim().parse().ok().filter(|b| *b > 0)?;
    let (whole, above) = match left.trim().rsplit_once([' ', '-']) {
        Some((whole, above)) => (whole.trim().parse::<u32>().ok()?, above),
        None => (0, left.trim()),
    };
    let above: u32 = above.parse().ok()?;
    Some(sign * (f64::from(whole) + f64::from(above) / f64::from(below)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, mm: f64) {
        let read = parse_length(text, LengthUnit::Mm).unwrap();
        assert!((read - mm).abs() < 1e-9, "{text} read as {read}");
    }

    #[test]
    fn lengths_as_typed_in_a_shop() {
        check("0.3mm", 0.3);
        check("1.5 mm", 1.5);
        check("2,5", 2.5);
        check("1/8in", 3.175);
        check("0.06\"", 1.524);
        check("1 1/2\"", 38.1);
        check("-1/4 in", -6.35);
        assert_eq!(parse_length("2", LengthUnit::Inch).unwrap(), 50.8);
    }

    #[test]
    fn sums_as_typed() {
        for (text, mm) in [
            ("120+5", 125.0),
            ("600 - 150", 450.0),
            ("1in + 2 mm - 0,4", 27.0),
            ("-5", -5.0),
            ("-5+7.5", 2.5),
            ("1-1/2in", 38.1),
            ("10-1/2", 10.5),
        ] {
            let read = parse_sum(text, LengthUnit::Mm).unwrap();
            assert!((read - mm).abs() < 1e-9, "{text} read as {read}");
        }
        for text in ["", "5+", "-", "+", "5++5", "5--5", "5+x", "nan+1", "1e9+1"] {
            assert!(parse_sum(text, LengthUnit::Mm).is_err(), "{text}");
        }
    }

    #[test]
    fn what_is_no_length_is_refused() {
        for text in ["", "mm", "abc", "1/0in", "nan", "inf", "1e400", "--1", "1/2/3"] {
            assert!(parse_length(text, LengthUnit::Mm).is_err(), "{text}");
        }
    }
}
