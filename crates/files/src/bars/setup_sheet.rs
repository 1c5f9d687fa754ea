//! The set-up sheet of a plan for bars: which bar to pull, and every cut in order. In black and
//! white.

use oddment_core::bars::{ClearBars, CutBar, CutList, Setup};
use oddment_core::shape::{Bounds, Point};
use oddment_core::units::LengthUnit;

use super::picture::{draw_bar, draw_section};
use crate::picture::{NoPdf, Picture, cut_to, pdf};
use crate::setup_sheet::page::{GAP, Page, Style, numbered};
use crate::setup_sheet::{Paper, WHO_COMES_FIRST};
use crate::words::{counted, parts_words};

/// Height of a drawn bar and of a row of its table, points.
const BAR: f64 = 26.0;
const ROW: f64 = 13.0;
/// Where the columns of the table end (numbers) or begin (names), from the left.
const NUMBER: f64 = 24.0;
const AT: f64 = 100.0;
const ANGLE: f64 = 150.0;
const THEN: f64 = 166.0;
const LENGTH: f64 = 360.0;

/// What is to be ticked off before the first cut.
const BEFORE: [&str; 5] = [
    "It is this bar: profile, wall, material, heat number and length are as here, measured, not guessed.",
    "It is straight enough, lies on its supports along its whole length, and is clamped as the \
     machine’s manual says. Two people or a lifter for long or heavy bars.",
    "Blade or beam, kerf and stop are set; a first part is cut and measured before the rest.",
    "Parts and ends can’t drop, spring or roll: supports and tabs are in place. Short ends are never \
     held by hand.",
    "Eye and ear protection; gloves for sharp ends, but not at a running blade. Drops are hot after \
     thermal cutting.",
];

/// The set-up sheet as a PDF, lengths in `unit`.
///
/// # Errors
/// [`NoPdf`] says why there is none.
pub fn bars_sheet(
    checked: &ClearBars<'_>,
    paper: Paper,
    unit: LengthUnit,
) -> Result<Vec<u8>, NoPdf> {
    pdf("Set-up sheet for bars", &bars_pages(checked, paper, unit))
}

/// The pages of the set-up sheet.
pub fn bars_pages(checked: &ClearBars<'_>, paper: Paper, unit: LengthUnit) -> Vec<Picture> {
    let sheet = Sheet { checked, list: checked.list(), paper, unit };
    let mut pages = vec![sheet.first()];
    for (i, bar) in checked.plan().bars.iter().enumerate() {
        sheet.bar(&mut pages, i, bar);
    }
    numbered(pages, WHO_COMES_FIRST)
}

struct Sheet<'a> {
    checked: &'a ClearBars<'a>,
    list: &'a CutList,
    paper: Paper,
    unit: LengthUnit,
}

impl Sheet<'_> {
    fn length(&self, mm: f64) -> String {
        format!("{} {}", self.unit.show(mm), self.unit)
    }

    /// The first page: what it is all about.
    fn first(&self) -> Page {
        let mut page = Page::new(self.paper.size());
        let plan = self.checked.plan();
        let left = page.left();
        page.write((left, page.y + 8.0), "Set-up sheet for bars", Style::plain(10.0));
        let profile = self.list.profile.as_ref();
        let name = profile.map_or("profile not recorded", |profile| profile.name.as_str());
        let title = cut_to(name, 24.0, true, page.width() - 100.0);
        page.write((left, page.y + 33.0), &title, Style::bold(24.0));
        if let Some(profile) = profile {
            let corner = Point::new(page.right() - 62.0, page.y);
            let frame = Bounds { min: corner, max: Point::new(page.right(), page.y + 62.0) };
            draw_section(&mut page.picture, profile, &frame);
        }
        page.y += 46.0;
        let [near, far] = self.list.lost();
        let mass = profile.map_or(String::new(), |profile| {
            let seam = profile.seam.map_or(String::new(), |face| {
                format!(
                    "Seam at the {} (dot in the end view, seen from the datum end). ",
                    face.name()
                )
            });
            format!("{:.2} kg per metre. {seam}", profile.mass_per_metre())
        });
        let parts = parts_words(plan.bars.iter().map(|bar| bar.pieces.len()).sum());
        let minutes = (self.list.seconds(plan) / 60.0).ceil();
        let bars = counted(plan.bars.len(), "bar", "bars");
        let said = format!(
            "{mass}{parts} from {bars}, about {minutes:.0} minutes. Kerf {}; lost at the datum end {}, \
             at the far end {}. Positions are from the datum end, the one that is cut first, to the near side \
             of each cut. Hatched: grips. Triangle: far support. The front is drawn; what is dashed is at the back.",
            self.length(self.list.kerf),
            self.length(near),
            self.length(far),
        );
        let width = page.width() - 80.0;
        page.y = page.paragraph((left, page.y), width, &said, Style::plain(9.5)) + GAP;
        let missing: usize = plan.missing.iter().sum();
        if missing > 0 {
            let are = if missing == 1 { "is" } else { "are" };
            let said = format!("{} {are} not cut: the bars do not suffice.", parts_words(missing));
            page.write((left, page.y + 10.0), &said, Style::bold(11.0));
            page.y += 14.0 + GAP;
        }
        page.write((left, page.y + 10.0), "Before the first cut", Style::bold(11.0));
        page.y += 16.0;
        for text in BEFORE {
            page.y = page.tick_off((left, page.y), page.width(), text, 8.5) + 2.5;
        }
        page.y += GAP;
        page
    }

    /// Adds a bar below what is there, on a new page where it does not go in.
    fn bar(&self, pages: &mut Vec<Page>, index: usize, bar: &CutBar) {
        let setup = self.list.setup(bar);
        let rows = (setup.cuts.len().max(1) + setup.holes.len()) as f64;
        let height = 70.0 + BAR + ROW * rows + 11.0 * setup.warnings.len() as f64 + GAP;
        let fits = |page: &Page| page.y + height.min(560.0) <= page.bottom();
        if !pages.last().is_some_and(fits) {
            pages.push(Page::new(self.paper.size()));
        }
        let Some(page) = pages.last_mut() else { return };
        self.bar_head(page, index, bar, &setup);
        let longest = self.checked.plan().bars.iter().map(|bar| self.list.stock[bar.stock].length);
        let scale = page.width() / longest.fold(1.0, f64::max);
        let corner = (page.left(), page.y + 10.0);
        draw_bar(&mut page.picture, self.list, bar, corner, BAR, scale);
        page.y += BAR + 22.0;
        self.table_head(page);
        for (i, cut) in setup.cuts.iter().enumerate() {
            if pages.last().is_some_and(|page| page.y + ROW > page.bottom()) {
                let mut page = Page::new(self.paper.size());
                self.table_head(&mut page);
                pages.push(page);
            }
            let Some(page) = pages.last_mut() else { return };
            let (left, y) = (page.left(), page.y + 10.0);
            let right = |size: f64| Style::bold(size).to_the_right();
            page.write((left + NUMBER, y), &(i + 1).to_string(), right(9.0));
            page.write((left + AT, y), &self.unit.show(cut.at), right(10.5));
            let angle = match cut.angle {
                0.0 => "square".to_owned(),
                angle => format!("{:.1}°", angle.to_degrees()),
            };
            page.write((left + ANGLE, y), &angle, Style::plain(9.0).to_the_right());
            let behind =
                |piece: &&oddment_core::bars::Piece| (piece.end(self.list) - cut.at).abs() < 0.01;
            if let Some((n, piece)) = bar.pieces.iter().enumerate().find(|(_, piece)| behind(piece))
            {
                let part = &self.list.parts[piece.part];
                let turned = match (piece.reversed, piece.turned_over) {
                    (false, false) => "",
                    (true, false) => ", end for end",
                    (false, true) => ", turned over",
                    (true, true) => ", end for end and turned over",
                };
                let name = format!("{} {}{turned}", n + 1, part.name);
                let name = cut_to(&name, 9.0, false, LENGTH - THEN - 50.0);
                page.write((left + THEN, y), &name, Style::plain(9.0));
                page.write((left + LENGTH, y), &self.unit.show(part.length), right(10.5));
                page.tick_box((left + LENGTH + 12.0, page.y + 2.5), 8.0);
            }
            page.y += ROW;
            page.rule((left, page.left() + LENGTH + 24.0), page.y, 0.3);
        }
        self.holes(pages, bar, &setup);
        let Some(page) = pages.last_mut() else { return };
        for warning in &setup.warnings {
            let said = format!("Careful: {warning}.");
            let (corner, width) = ((page.left(), page.y), page.width());
            page.y = page.paragraph(corner, width, &said, Style::bold(8.5));
        }
        page.y += GAP;
    }

    /// The holes and copes of a bar, in order along it.
    fn holes(&self, pages: &mut Vec<Page>, bar: &CutBar, setup: &Setup) {
        for (i, hole) in setup.holes.iter().enumerate() {
            let full = pages.last().is_some_and(|page| page.y + ROW + 16.0 > page.bottom());
            if full {
                pages.push(Page::new(self.paper.size()));
            }
            let Some(page) = pages.last_mut() else { return };
            let left = page.left();
            if i == 0 || full {
                page.y += 4.0;
                let (y, small) = (page.y + 8.0, Style::plain(8.0));
                page.write((left + NUMBER, y), "hole", small.to_the_right());
                page.write((left + AT, y), &format!("middle, {}", self.unit), small.to_the_right());
                page.write((left + ANGLE, y), "size", small.to_the_right());
                page.write((left + THEN, y), "face, and the part that it is in", small);
                page.y += 11.0;
                page.rule((left, left + LENGTH + 24.0), page.y, 0.8);
            }
            let y = page.y + 10.0;
            let letter = char::from_u32('a' as u32 + i as u32 % 26).unwrap_or('a');
            page.write((left + NUMBER, y), &letter.to_string(), Style::bold(9.0).to_the_right());
            let at = self.unit.show(hole.at);
            page.write((left + AT, y), &at, Style::bold(10.5).to_the_right());
            let size = self.unit.show(hole.size);
            page.write((left + ANGLE, y), &size, Style::plain(9.0).to_the_right());
            let part = &self.list.parts[bar.pieces[hole.piece].part];
            let face = if hole.face_words.is_empty() { "any face" } else { &hole.face_words };
            let cope = if hole.cope { "cope, " } else { "" };
            let words = format!("{cope}{face}: {} {}", hole.piece + 1, part.name);
            let words = cut_to(&words, 9.0, false, LENGTH - THEN);
            page.write((left + THEN, y), &words, Style::plain(9.0));
            page.tick_box((left + LENGTH + 12.0, page.y + 2.5), 8.0);
            page.y += ROW;
            page.rule((left, left + LENGTH + 24.0), page.y, 0.3);
        }
    }

    fn bar_head(&self, page: &mut Page, index: usize, bar: &CutBar, setup: &Setup) {
        let stock = &self.list.stock[bar.stock];
        let (left, right) = (page.left(), page.right());
        page.rule((left, right), page.y, 1.0);
        let count = self.checked.plan().bars.len();
        let name = if stock.name.is_empty() { "full length" } else { &stock.name };
        let title = format!("Bar {} of {count}: {name}, {}", index + 1, self.length(stock.length));
        let title = cut_to(&title, 12.0, true, page.width() * 0.55);
        page.write((left, page.y + 14.0), &title, Style::bold(12.0));
        let mut facts = Vec::new();
        for (label, value) in [("heat", &stock.heat), ("at", &stock.place)] {
            if !value.is_empty() {
                facts.push(format!("{label} {value}"));
            }
        }
        if stock.cut_before > 0.0 {
            facts.push(format!("{} cut off before", self.length(stock.cut_before)));
        }
        facts.extend(setup.mass.map(|kg| format!("{kg:.1} kg")));
        facts.push(format!("about {:.0} min", (setup.seconds / 60.0).ceil()));
        let facts = cut_to(&facts.join(", "), 9.5, false, page.width() * 0.43);
        page.write((right, page.y + 14.0), &facts, Style::plain(9.5).to_the_right());
        let left_over = self.length(setup.left.1 - setup.left.0);
        let goes = if setup.kept { "back to the rack: label it" } else { "scrap" };
        let support = setup.support.map_or(String::new(), |support| {
            format!("Far support at {}, sag {:.1} mm. ", self.length(support.at), support.sag)
        });
        let tabs = match self.list.machine.tabs {
            0 => String::new(),
            1 => " Leave 1 tab at each part, so that none drops; part them off the machine."
                .to_owned(),
            n => format!(
                " Leave {n} tabs at each part, so that none drops; part them off the machine."
            ),
        };
        let said = format!("{support}Left: {left_over}, {goes}.{tabs}");
        page.write((left, page.y + 27.0), &said, Style::plain(9.0));
        page.y += 32.0;
    }

    fn table_head(&self, page: &mut Page) {
        let (left, y) = (page.left(), page.y + 8.0);
        let small = Style::plain(8.0);
        page.write((left + NUMBER, y), "cut", small.to_the_right());
        page.write((left + AT, y), &format!("at, {}", self.unit), small.to_the_right());
        page.write((left + ANGLE, y), "angle", small.to_the_right());
        page.write((left + THEN, y), "then take off part", small);
        let head = format!("length, {}", self.unit);
        page.write((left + LENGTH, y), &head, small.to_the_right());
        page.y += 11.0;
        page.rule((left, left + LENGTH + 24.0), page.y, 0.8);
    }
}

#[cfg(test)]
mod tests {
    use oddment_core::bars::{clear, profile::STEEL};
    use oddment_core::job::{Budget, Stop};

    use super::*;
    use crate::bars::{Beside, read_cut_list};
    use crate::picture::Item;

    #[test]
    fn every_cut_and_bar_is_on_the_sheet() {
        let text = r#"{"kerf": 2, "grips": [60, 100], "profile": "Square tube 40 × 2",
            "machine": {"tabs": 2}, "stock": [{"length": 6000}, {"length": 2000, "count": 1, "cost": 0, "name": "B-7",
                       "heat": "4711", "place": "bay 2", "give_or_take": 2}],
            "parts": [{"name": "rail", "length": 1200, "count": 5, "ends": [45, 45]},
                      {"name": "post", "length": 333.5, "count": 30,
                       "holes": [{"at": 30, "size": 9, "face": "top"}]}]}"#;
        let list = read_cut_list(text, Beside::default()).unwrap().list;
        let budget = Budget { steps: Some(200), time_up: &|| false, stop: Stop::default() };
        let plan = list.plan(&budget, &mut |_| {}).unwrap();
        let checked = clear(&list, &plan).unwrap();
        let pages = bars_pages(&checked, Paper::A4, LengthUnit::Mm);
        let mut said = String::new();
        for page in &pages {
            for item in &page.items {
                if let Item::Text(text) = item {
                    assert!(text.at.y > 0.0 && text.at.y < page.height, "{}", text.text);
                    said += &text.text;
                    said.push('\n');
                }
            }
        }
        for bar in &plan.bars {
            for cut in list.setup(bar).cuts {
                assert!(said.contains(&LengthUnit::Mm.show(cut.at)), "{}", cut.at);
            }
        }
        for hole in plan.bars.iter().flat_map(|bar| list.setup(bar).holes) {
            assert!(said.contains(&LengthUnit::Mm.show(hole.at)), "{}", hole.at);
        }
        assert_eq!(said.matches("top: ").count(), 30);
        assert_eq!(said.matches("Leave 2 tabs").count(), plan.bars.len());
        assert!(said.contains("heat 4711") && said.contains("bay 2") && said.contains("B-7"));
        assert!(said.matches("then take off part").count() >= plan.bars.len());
        let mass = list.profile.as_ref().unwrap();
        assert_eq!(mass.density, STEEL);
        let bytes = bars_sheet(&checked, Paper::Letter, LengthUnit::Inch).unwrap();
        assert!(bytes.starts_with(b"%PDF"));
    }
}
