//! What kind of value it is: how it is shown, and read back as typed.

use oddment_core::units::{LengthUnit, parse_length};
use serde_json::{Value, json};

/// Millimetres in a metre, and in an inch, for speeds.
const METRE: f64 = 1000.0;

/// The kind of a value. What it is kept as stands in `assets/cut_data.json`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A length, mm.
    Length,
    /// A length, mm, or none.
    LengthOrNone,
    /// Times the thickness.
    PerThickness,
    /// A weight, kg.
    Kilograms,
    /// A density, kg/m³.
    Density,
    /// Seconds.
    Seconds,
    /// Minutes.
    Minutes,
    /// mm/min; shown in m/min or in/min.
    Feed,
    /// mm/s.
    Speed,
    /// mm/s².
    Acceleration,
    /// Money.
    Money,
    /// A share; shown in percent.
    Share,
    /// Degrees.
    Degrees,
    /// Yes or no.
    Flag,
    /// One of several words.
    Choice(&'static [&'static str]),
    /// Sides of sheets, mm: 2000x1000, 2500x1250.
    Sizes,
    /// Words.
    Text,
}

impl Kind {
    /// What numbers of this kind are in.
    pub fn unit(self, unit: LengthUnit) -> String {
        match self {
            Self::Length | Self::LengthOrNone | Self::Sizes => unit.to_string(),
            Self::PerThickness => "× thickness".into(),
            Self::Kilograms => "kg".into(),
            Self::Density => "kg/m³".into(),
            Self::Seconds => "s".into(),
            Self::Minutes => "min".into(),
            Self::Feed => match unit {
                LengthUnit::Mm => "m/min".into(),
                LengthUnit::Inch => "in/min".into(),
            },
            Self::Speed => format!("{unit}/s"),
            Self::Acceleration => format!("{unit}/s²"),
            Self::Share => "%".into(),
            Self::Degrees => "°".into(),
            Self::Money | Self::Flag | Self::Choice(_) | Self::Text => String::new(),
        }
    }

    /// How much of what it is kept in makes one of what it is shown in.
    fn scale(self, unit: LengthUnit) -> f64 {
        match (self, unit) {
            (Self::Feed, LengthUnit::Mm) => METRE,
            (
                Self::Feed | Self::Speed | Self::Acceleration | Self::Length | Self::LengthOrNone,
                unit,
            ) => unit.in_mm(),
            (Self::Share, _) => 0.01,
            _ => 1.0,
        }
    }

    /// A value in words or digits, without its unit.
    pub fn show(self, value: Option<&Value>, unit: LengthUnit) -> String {
        match (self, value) {
            (Self::LengthOrNone, None | Some(Value::Null)) => "none".into(),
            (_, None) => "–".into(),
            (Self::Flag, Some(value)) => {
                if value == &json!(true) {
                    "yes".into()
                } else {
                    "no".into()
                }
            }
            (Self::Choice(_) | Self::Text, Some(value)) => match value.as_str() {
                Some("") | None => "–".into(),
                Some(text) => text.into(),
            },
            (Self::Sizes, Some(value)) => {
                let side = |of: &Value| of.as_f64().map_or("–".into(), |mm| unit.show(mm));
                let size = |of: &Value| format!("{}x{}", side(&of[0]), side(&of[1]));
                let all = value.as_array().map(|all| all.iter().map(size).collect::<Vec<_>>());
                all.unwrap_or_default().join(", ")
            }
            (kind, Some(value)) => match value.as_f64() {
                Some(n) => rounded(n / kind.scale(unit)).to_string(),
                None => "–".into(),
            },
        }
    }

    /// A value with its unit, as it is read: “2.5 mm”, “none”.
    pub fn said(self, value: Option<&Value>, unit: LengthUnit) -> String {
        let is_number = value.is_some_and(Value::is_number) || self == Self::Sizes;
        let of = if is_number { self.unit(unit) } else { String::new() };
        format!("{} {of}", self.show(value, unit)).trim().to_owned()
    }

    /// A value as it was typed.
    ///
    /// # Errors
    /// A sentence where it is none.
    pub fn read(self, typed: &str, unit: LengthUnit) -> Result<Value, String> {
        let typed = typed.trim();
        match self {
            Self::Length => {
                parse_length(typed, unit).map(|mm| json!(mm)).map_err(|w| w.to_string())
            }
            Self::LengthOrNone if ["", "none", "-", "–"].contains(&typed) => Ok(Value::Null),
            Self::LengthOrNone => Self::Length.read(typed, unit),
            Self::Flag => match typed {
                "yes" => Ok(json!(true)),
                "no" => Ok(json!(false)),
                _ => Err("yes or no".into()),
            },
            Self::Choice(words) => {
                let word = words.iter().find(|w| **w == typed);
                word.map(|w| json!(w)).ok_or_else(|| format!("one of {}", words.join(", ")))
            }
            Self::Text => Ok(json!(typed)),
            Self::Sizes => {
                let size = |text: &str| {
                    let sides = text.split_once(['x', '×']).ok_or("write a size as 2000x1000")?;
                    let side = |text: &str| parse_length(text.trim(), unit);
                    let sides = side(sides.0).and_then(|w| Ok([w, side(sides.1)?]));
                    sides.map_err(|w| w.to_string())
                };
                let sizes = typed.split(',').map(str::trim).filter(|text| !text.is_empty());
                let sizes: Result<Vec<[f64; 2]>, String> = sizes.map(size).collect();
                sizes.map(|sizes| json!(sizes))
            }
            _ => {
                let number = typed.trim_end_matches(&self.unit(unit)).trim().replace(',', ".");
                let number: f64 =
                    number.parse().map_err(|_| format!("“{typed}” is not a number"))?;
                if number.is_finite() {
                    Ok(json!(number * self.scale(unit)))
                } else {
                    Err(format!("“{typed}” is not a number"))
                }
            }
        }
    }
}

/// To six digits, of which four at most are decimals.
fn rounded(n: f64) -> f64 {
    let before = n.abs().log10().floor().clamp(1.0, 5.0) as i32;
    let tens = 10f64.powi(5 - before);
    (n * tens).round() / tens
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(kind: Kind, kept: Value, mm: &str, inch: &str) {
        for (unit, shown) in [(LengthUnit::Mm, mm), (LengthUnit::Inch, inch)] {
            assert_eq!(kind.show(Some(&kept), unit), shown);
            let back = kind.read(shown, unit).unwrap();
            match kept.as_f64() {
                Some(n) => assert!((back.as_f64().unwrap() - n).abs() < 1e-2 * n.max(0.1)),
                None => assert_eq!(back, kept),
            }
        }
    }

    #[test]
    fn values_read_back_as_they_are_shown() {
        check(Kind::Length, json!(25.4), "25.4", "1");
        check(Kind::LengthOrNone, Value::Null, "none", "none");
        check(Kind::Feed, json!(6096.0), "6.096", "240");
        check(Kind::Share, json!(0.6), "60", "60");
        check(Kind::Flag, json!(true), "yes", "yes");
        check(Kind::Seconds, json!(0.25), "0.25", "0.25");
        check(Kind::Choice(&["a", "b"]), json!("b"), "b", "b");
        check(Kind::Acceleration, json!(2540.0), "2540", "100");
    }

    #[test]
    fn values_are_said_with_their_units_and_no_more_digits_than_help() {
        let said = |kind: Kind, value: Value, mm: &str, inch: &str| {
            assert_eq!(kind.said(Some(&value), LengthUnit::Mm), mm);
            assert_eq!(kind.said(Some(&value), LengthUnit::Inch), inch);
        };
        said(Kind::LengthOrNone, Value::Null, "none", "none");
        said(Kind::LengthOrNone, json!(5.0), "5 mm", "0.1969 in");
        said(Kind::Acceleration, json!(10_000.0), "10000 mm/s²", "393.701 in/s²");
        said(Kind::Acceleration, json!(1e6), "1000000 mm/s²", "39370.1 in/s²");
        said(Kind::Money, json!(1234.56), "1234.56", "1234.56");
        said(Kind::Flag, json!(true), "yes", "yes");
        assert_eq!(Kind::LengthOrNone.said(None, LengthUnit::Inch), "none");
    }

    #[test]
    fn what_is_no_value_is_said() {
        let check = |kind: Kind, typed: &str| {
            assert!(kind.read(typed, LengthUnit::Mm).is_err(), "{typed}");
        };
        check(Kind::Length, "wide");
        check(Kind::Seconds, "soon");
        check(Kind::Seconds, "inf");
        check(Kind::Flag, "maybe");
        check(Kind::Choice(&["a"]), "b");
        assert_eq!(Kind::Length.read("1/8in", LengthUnit::Mm), Ok(json!(3.175)));
        assert_eq!(Kind::Feed.read("6 m/min", LengthUnit::Mm), Ok(json!(6000.0)));
    }
}
