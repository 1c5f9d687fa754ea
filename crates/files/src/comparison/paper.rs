//! A comparison of ways to print: all of them side by side, then each with its sheets and where every
//! number comes from. In black and white.

use oddment_core::compare::{Comparison, Group, Question, Way};
use oddment_core::shape::Point;
use oddment_core::units::LengthUnit;

use crate::account_words::{formula_words, group_words, item_words, way_title};
use crate::picture::{Frame, Look, NoPdf, Picture, cut_to, draw_layout, pdf};
use crate::setup_sheet::Paper;
use crate::setup_sheet::page::{GAP, Page, Style, numbered};
use crate::words::parts_words;

/// What a comparison does not say of itself.
#[derive(Clone, Debug, Default)]
pub struct Told {
    /// What is cut.
    pub title: String,
    /// Names of the orders, as the question numbers them.
    pub orders: Vec<String>,
    /// “3 mm S235”.
    pub metal: String,
    /// The shop's currency.
    pub currency: String,
    /// Why the best way goes before others.
    pub why: Option<String>,
}

/// Height of a row of a table and of a drawn sheet, points.
const ROW: f64 = 13.0;
const SHEET: f64 = 150.0;
/// Where the columns of the ways end, as shares of the page's width.
const COLUMNS: [(f64, &str); 7] = [
    (0.52, "total"),
    (0.60, "min"),
    (0.68, "metal"),
    (0.77, "handling"),
    (0.85, "cutting"),
    (0.93, "goes back"),
    (1.0, "yield"),
];
/// Ways that are printed with all their items.
const MOST: usize = 6;

const WHO_COMES_FIRST: &str = "This paper only plans. The machine’s manual, local rules and trained \
    people come first.";

/// The comparison as a PDF, lengths in `unit`.
///
/// # Errors
/// [`NoPdf`] says why there is none.
pub fn comparison_pdf(
    question: &Question,
    found: &Comparison,
    told: &Told,
    unit: LengthUnit,
) -> Result<Vec<u8>, NoPdf> {
    pdf("Ways compared", &comparison_pages(question, found, told, unit))
}

/// The pages of it.
pub fn comparison_pages(
    question: &Question,
    found: &Comparison,
    told: &Told,
    unit: LengthUnit,
) -> Vec<Picture> {
    let paper = Printed { question, found, told, unit, pages: Vec::new() };
    numbered(paper.all(), WHO_COMES_FIRST)
}

struct Printed<'a> {
    question: &'a Question,
    found: &'a Comparison,
    told: &'a Told,
    unit: LengthUnit,
    pages: Vec<Page>,
}

impl Printed<'_> {
    fn all(mut self) -> Vec<Page> {
        self.pages.push(self.first());
        for (n, way) in self.found.ways.iter().take(MOST).enumerate() {
            self.way(n, way);
        }
        self.pages
    }

    fn sheets(&self, way: &Way) -> String {
        let name = |s: &oddment_core::compare::ways::SheetUse| {
            self.question.candidates[s.candidate].sheet.name.clone()
        };
        way.sheets.iter().map(name).collect::<Vec<_>>().join(", ")
    }

    fn first(&self) -> Page {
        let mut page = Page::new(Paper::A4.size());
        let (left, width) = (page.left(), page.width());
        page.write((left, page.y + 8.0), "Ways compared", Style::plain(10.0));
        let title = cut_to(&self.told.title, 24.0, true, width);
        page.write((left, page.y + 33.0), &title, Style::bold(24.0));
        page.y += 44.0;
        let wanted: usize = self.question.wanted.iter().map(|w| w.count).sum();
        let unit = if self.question.is_priced() { &self.told.currency } else { "kg of metal" };
        let wanted = parts_words(wanted);
        let said = format!("{wanted} in {}; amounts in {unit}.", self.told.metal);
        page.y = page.paragraph((left, page.y), width, &said, Style::plain(10.0)) + 4.0;
        if let (Some(why), Some(best)) = (&self.told.why, self.found.best()) {
            let said = format!("The best, {}: {why}.", way_title(self.question, best));
            page.y = page.paragraph((left, page.y), width, &said, Style::bold(10.0)) + 4.0;
        }
        if let Some(gap) = self.found.gap() {
            let said = format!(
                "Proven: no way costs less than {:.2}; the best could be {:.0} % too dear at most.",
                self.found.bound,
                100.0 * gap
            );
            page.y = page.paragraph((left, page.y), width, &said, Style::plain(10.0));
        }
        page.y += GAP;
        let y = page.y + 8.0;
        page.write((left, y), "way", Style::plain(8.0));
        for (share, name) in COLUMNS {
            page.write((left + share * width, y), name, Style::plain(8.0).to_the_right());
        }
        page.y += 11.0;
        page.rule((left, left + width), page.y, 0.8);
        for (n, way) in self.found.ways.iter().enumerate() {
            if page.y + 2.0 * ROW > page.bottom() {
                break;
            }
            self.row(&mut page, n, way);
        }
        page
    }

    fn row(&self, page: &mut Page, n: usize, way: &Way) {
        let (left, width, y) = (page.left(), page.width(), page.y + 10.0);
        let missing: usize = way.missing.iter().sum();
        let missing = if missing > 0 { format!(", {missing} missing") } else { String::new() };
        let words =
            format!("{} {}: {}{missing}", n + 1, way_title(self.question, way), self.sheets(way));
        page.write((left, y), &cut_to(&words, 9.0, false, 0.43 * width), Style::plain(9.0));
        let money = |group: Group| format!("{:.2}", way.account.of(group));
        let cells = [
            format!("{:.2}", way.score),
            format!("{:.0}", way.account.minutes()),
            money(Group::Metal),
            money(Group::Handling),
            money(Group::Cutting),
            money(Group::GoesBack),
            format!("{:.0} %", 100.0 * way.metal_yield(self.question)),
        ];
        for (i, (cell, (share, _))) in cells.iter().zip(COLUMNS).enumerate() {
            let style = if i == 0 { Style::bold(9.5) } else { Style::plain(9.0) };
            page.write((left + share * width, y), cell, style.to_the_right());
        }
        page.y += ROW;
        page.rule((left, left + width), page.y, 0.3);
    }

    /// A page that has room for so much.
    fn page(&mut self, height: f64) -> &mut Page {
        if !self.pages.last().is_some_and(|page| page.y + height <= page.bottom()) {
            self.pages.push(Page::new(Paper::A4.size()));
        }
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    fn way(&mut self, n: usize, way: &Way) {
        self.pages.push(Page::new(Paper::A4.size()));
        let title = format!("{} {}: {}", n + 1, way_title(self.question, way), self.sheets(way));
        let total = format!("{:.2}", way.score);
        let page = self.page(0.0);
        let (left, right, width) = (page.left(), page.right(), page.width());
        let title = cut_to(&title, 14.0, true, width - 90.0);
        page.write((left, page.y + 14.0), &title, Style::bold(14.0));
        page.write((right, page.y + 14.0), &total, Style::bold(14.0).to_the_right());
        page.y += 18.0;
        for line in self.whole_after(way) {
            let page = self.page(ROW);
            page.y = page.paragraph((left, page.y), width, &line, Style::plain(9.0));
        }
        for (index, layout) in way.checked.plan().layouts.iter().enumerate() {
            let unit = self.unit;
            let page = self.page(SHEET + 40.0);
            let min = Point::new(left, page.y + 6.0);
            let max = Point::new(right, page.y + 6.0 + SHEET);
            let frame = Frame { min, max };
            let (job, checked) = (&way.job, &way.checked);
            draw_layout(&mut page.picture, &frame, job, checked, index, unit, &Look::PRINT);
            page.y += SHEET + 12.0;
            let name = &job.stock[layout.stock].sheet.name;
            let said = format!("{name}: {}", parts_words(layout.placements.len()));
            page.write((left, page.y + 10.0), &said, Style::bold(10.0));
            page.y += ROW + 1.0;
            for item in way.account.items.iter().filter(|i| i.sheet == index) {
                let page = self.page(3.0 * ROW);
                let y = page.y + 9.0;
                page.write((left, y), item_words(item.kind), Style::plain(9.0));
                let amount = format!("{:.2}", item.amount());
                page.write((right, y), &amount, Style::bold(9.0).to_the_right());
                let at = (left + 120.0, page.y + 0.5);
                let how = formula_words(item);
                let end = page.paragraph(at, width - 190.0, &how, Style::plain(8.5));
                page.y = end.max(page.y + ROW);
            }
        }
        let page = self.page(ROW * 2.0);
        let groups =
            Group::ALL.map(|g| format!("{} {:.2}", group_words(g), way.account.of(g))).join("   ");
        page.rule((left, right), page.y + 2.0, 0.8);
        page.write((left, page.y + 13.0), &groups, Style::plain(9.5));
        page.write((right, page.y + 13.0), &total, Style::bold(9.5).to_the_right());
        page.y += ROW * 2.0;
    }

    /// When each of several orders is whole.
    fn whole_after(&self, way: &Way) -> Vec<String> {
        if self.told.orders.len() < 2 {
            return Vec::new();
        }
        let line = |(order, name): (usize, &String)| match way.whole_after(self.question, order) {
            Some((sheet, minutes)) => {
                format!("{name}: whole after sheet {}, {minutes:.0} min.", sheet + 1)
            }
            None => format!("{name}: parts are missing."),
        };
        self.told.orders.iter().enumerate().map(line).collect()
    }
}
