//! Every item of every way as a table for spreadsheets.

use crate::account_words::{formula_words, item_words, way_title};
use oddment_core::compare::{Comparison, Question};

/// Every item of every way as a table for spreadsheets (CSV), each way with its total and with what is missing;
/// amounts are in `currency`.
pub fn comparison_table(question: &Question, found: &Comparison, currency: &str) -> String {
    let mut text = format!("way,kind,sheet,item,how,{},minutes\r\n", quoted(currency));
    for (n, way) in found.ways.iter().enumerate() {
        let title = quoted(&way_title(question, way));
        for item in &way.account.items {
            let sheet = &question.candidates[way.sheets[item.sheet].candidate].sheet.name;
            text += &format!(
                "{},{},{},{},{},{:.4},{:.2}\r\n",
                n + 1,
                title,
                quoted(sheet),
                quoted(item_words(item.kind)),
                quoted(&formula_words(item)),
                item.amount(),
                item.minutes,
            );
        }
        let (amount, minutes) = (way.account.total(), way.account.minutes());
        text += &format!("{},{title},\"\",\"total\",\"\",{amount:.4},{minutes:.2}\r\n", n + 1);
        let missing = question.wanted.iter().zip(&way.missing).filter(|(_, n)| **n > 0);
        for (want, count) in missing {
            let how = quoted(&format!("{count} {}", want.part.name));
            text += &format!("{},{title},\"\",\"missing\",{how},,\r\n", n + 1);
        }
    }
    text
}

/// Quoted, so that commas stay in their column; what a spreadsheet would take for a formula is text.
fn quoted(text: &str) -> String {
    let text = text.replace('"', "\"\"");
    let risky = text.starts_with(['=', '+', '-', '@']);
    if risky { format!("\"'{text}\"") } else { format!("\"{text}\"") }
}
