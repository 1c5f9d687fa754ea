//! What stands on a sheet's label.

use oddment_files::labels::Label;
use oddment_rack::sheets::RackSheet;
use oddment_rack::when;

/// The label to print for a sheet.
pub fn label_of(sheet: &RackSheet) -> Label {
    let (entry, facts) = (&sheet.entry, &sheet.entry.facts);
    let mut lines = vec![entry.what()];
    if let Some(bar) = &facts.bar {
        lines.push(match bar.give_or_take {
            0.0 => format!("{:.0} mm long", entry.size[0]),
            give => format!("{:.0} mm long, give or take {give}", entry.size[0]),
        });
    }
    let mut line = |name: &str, text: &str| {
        if !text.is_empty() {
            lines.push(format!("{name}{text}"));
        }
    };
    line("", &facts.grade);
    line("heat ", &facts.heat);
    line("certificate ", &facts.certificate);
    line("stands ", &facts.stands);
    line("", &format!("{:.1} kg", entry.weight()));
    line("", &facts.finish);
    line("", &facts.coating);
    line("face up: ", &facts.face_up);
    line("grain ", &facts.grain_deg.map(|g| format!("{g}°")).unwrap_or_default());
    line("from ", facts.parent.as_deref().unwrap_or_default());
    line("since ", &when::day(facts.came));
    Label { name: entry.label.clone(), lines, sheet: sheet.sheet() }
}
