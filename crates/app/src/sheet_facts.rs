//! What is known of a sheet, as it is typed.

use oddment_core::gauge::{GaugeTable, parse_thickness};
use oddment_core::part::MadeFrom;
use oddment_core::plan::Stock;
use oddment_core::sheet::Metal;
use oddment_core::units::LengthUnit;
use oddment_files::job_file::{Origin, sheet_rectangle};
use oddment_rack::outline::LONGEST;

/// What is known of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetFacts {
    /// Label or name.
    pub name: String,
    /// Millimetres along x and y of a plain sheet; `None` where its shape comes from a drawing.
    pub size: Option<(f64, f64)>,
    /// What it is made of.
    pub made_of: Option<Metal>,
    /// Direction of the grain, radians.
    pub grain: Option<f64>,
    /// How many alike.
    pub count: usize,
}

impl SheetFacts {
    /// What is known of a sheet of the open job.
    pub fn of(stock: &Stock, origin: &Origin) -> Self {
        let size = match origin {
            Origin::Rectangle { width, height } => Some((*width, *height)),
            Origin::Drawing { .. } | Origin::Outline => None,
        };
        let Stock { sheet, count } = stock;
        Self {
            name: sheet.name.clone(),
            size,
            made_of: sheet.made_of.clone(),
            grain: sheet.grain,
            count: *count,
        }
    }

    /// The plain sheet that these facts make.
    ///
    /// # Errors
    /// A sentence where there is no such sheet.
    pub fn plain(&self) -> Result<(Stock, Origin), String> {
        let fault = || "A sheet has two sides of up to 20 m".to_owned();
        let side = |mm: f64| mm > 0.0 && mm <= LONGEST;
        let (width, height) = self.size.filter(|s| side(s.0) && side(s.1)).ok_or_else(fault)?;
        let (mut sheet, origin) =
            sheet_rectangle(self.name.clone(), width, height).map_err(|_| fault())?;
        (sheet.made_of, sheet.grain) = (self.made_of.clone(), self.grain);
        Ok((Stock { sheet, count: self.count }, origin))
    }
}

/// What a part must be made of, as typed: “3 mm S235”, “S235 1/8in”, “16 ga stainless”; nothing typed
/// says nothing.
///
/// # Errors
/// A sentence where it is neither.
pub fn typed_metal(text: &str, unit: LengthUnit) -> Result<Option<MadeFrom>, String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    if words.is_empty() {
        return Ok(None);
    }
    for at in (1..words.len()).rev() {
        let (left, right) = (words[..at].join(" "), words[at..].join(" "));
        for (thickness, material) in [(&left, &right), (&right, &left)] {
            if is_name(material)
                && let Ok(thickness) = parse_thickness(thickness, unit, material)
            {
                return Ok(Some(MadeFrom { material: material.clone(), thickness }));
            }
        }
    }
    Err(format!("“{text}” names no metal; write for example 3 mm S235, or 16 ga stainless"))
}

/// Whether words name a metal: there are letters, and they neither begin nor end as a length does.
fn is_name(words: &str) -> bool {
    let unit = |word: Option<&str>| {
        matches!(word, Some("mm" | "in" | "inch" | "ga" | "ga." | "gauge" | "\"" | "#"))
    };
    let ends = [words.split_whitespace().next(), words.split_whitespace().next_back()];
    words.chars().any(char::is_alphabetic) && !ends.into_iter().any(unit)
}

/// Kilograms per cubic metre that a metal of this name usually has.
pub fn usual_density(material: &str) -> f64 {
    let name = material.to_lowercase();
    match GaugeTable::of(material) {
        GaugeTable::Steel | GaugeTable::Galvanised => 7850.0,
        GaugeTable::Stainless => 7900.0,
        GaugeTable::Wire if name.contains("copper") => 8940.0,
        GaugeTable::Wire if name.contains("brass") => 8470.0,
        GaugeTable::Wire => 2700.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn metal_as_typed() {
        let check = |text: &str, material: &str, thickness: f64| {
            let metal = typed_metal(text, LengthUnit::Mm).unwrap().unwrap();
            assert_eq!(metal.material, material, "{text}");
            assert!((metal.thickness - thickness).abs() < 1e-3, "{text}: {metal:?}");
        };
        check("3 mm S235", "S235", 3.0);
        check("3 S235", "S235", 3.0);
        check("S235 1/8in", "S235", 3.175);
        check("16 ga stainless", "stainless", 0.0625 * 25.4);
        check("EN AW-5754 2", "EN AW-5754", 2.0);
        check("mild steel 11 ga", "mild steel", 0.1196 * 25.4);
        assert_eq!(typed_metal("  ", LengthUnit::Mm), Ok(None));
        for text in ["S235", "3", "3 mm", "99 ga steel"] {
            assert!(typed_metal(text, LengthUnit::Mm).is_err(), "{text}");
        }
    }

    #[test]
    fn a_plain_sheet_has_the_facts_that_were_typed() {
        let facts = SheetFacts {
            name: "P-1".into(),
            size: Some((2500.0, 1250.0)),
            made_of: Some(Metal { material: "DC01".into(), thickness: 1.5, density: 7850.0 }),
            grain: Some(0.0),
            count: 3,
        };
        let (stock, origin) = facts.plain().unwrap();
        assert_eq!(SheetFacts::of(&stock, &origin), facts);
        assert_eq!(stock.sheet.area(), 2500.0 * 1250.0);
        for size in [None, Some((0.0, 10.0)), Some((10.0, 1e9)), Some((f64::NAN, 1.0))] {
            assert!(SheetFacts { size, ..facts.clone() }.plain().is_err(), "{size:?}");
        }
    }
}
