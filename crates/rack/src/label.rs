//! Labels: short, read aloud without mistakes, never used twice.

use crate::fault::ShopFault;

/// No label is longer: it must fit on tape, and in a sentence.
const LONGEST: usize = 24;

/// The shop's own label of this number, such as R-0147.
pub(crate) fn numbered(number: i64) -> String {
    format!("R-{number:04}")
}

/// A label as somebody chose it.
pub(crate) fn checked(text: &str) -> Result<String, ShopFault> {
    let label = text.trim();
    let fits = (1..=LONGEST).contains(&label.chars().count());
    let readable =
        label.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/' | ' '));
    if fits && readable && label.chars().any(char::is_alphanumeric) {
        Ok(label.to_owned())
    } else {
        Err(ShopFault::refused(format!(
            "“{}” is no label; use up to {LONGEST} letters and digits, as in R-0147",
            label.chars().take(40).filter(|c| !c.is_control()).collect::<String>()
        )))
    }
}
