//! The set-up sheet: what an operator needs at the machine to lay the right sheet, see that it lies
//! where the plan has it, and find every part. In black and white, a page and more for each sheet.

mod of_cut;
pub(crate) mod page;
mod placements;
mod traveller;

use oddment_core::check::{Basis, CheckedPlan, Fault, Measure, Scene};
use oddment_core::cutting::Cut;
use oddment_core::machine::{Lift, Limits};
use oddment_core::plan::{Job, Layout};
use oddment_core::shape::{Point, SheetSpace};
use oddment_core::square_up::{Feature, SquaredUp, pointer_points, tightest_spot};
use oddment_core::units::LengthUnit;

use crate::picture::{
    Frame, Look, NoPdf, PagePath, Picture, Stroke, cut_to, draw_layout, drawable, pdf,
};
use crate::words::{bearing_words, cut_on, fault_words, feature_words, lies_words, measure_words};
use page::{GAP, Page, Style, wrapped};
pub use traveller::{Carried, traveller, traveller_pages};

/// Faults and distances listed at most.
const MOST_LISTED: usize = 5;

/// The picture is at least so high, points.
const LOWEST_PICTURE: f64 = 150.0;
/// Pointer points at most, and the letter of the tightest spot.
const MOST_POINTS: usize = 6;
const TIGHTEST: char = 'T';
const TIGHTEST_SAYS: &str =
    "T is the tightest spot: the dot must be on the edge there, not beside it.";
/// What the picture shows.
const LEGEND: &str = "Hatched: old cut-outs. Cross-hatched: clamps and other no-go zones. Dashed: bend \
    lines. Heavy outline: locked. Letters in rings: pointer points.";

/// What is to be ticked off before anything is cut, but for the pointer points and what the process asks
/// for.
const BEFORE_THE_CUT: [&str; 2] = [
    "It is this sheet: its label, material and thickness are as above, measured, not guessed.",
    "It lies flat, its datum corner and grain as drawn; clamps and slats are where they are drawn or \
     out of the head’s way.",
];

/// Said last, on every sheet.
pub(crate) const WHO_COMES_FIRST: &str = "This sheet only plans. The machine’s manual, local rules and trained \
    people come first.";

/// The paper to print on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm.
    #[default]
    A4,
    /// 8.5 × 11 in.
    Letter,
}

impl Paper {
    /// Width and height, points.
    pub(crate) fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (595.28, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// The set-up sheets of a plan as a PDF, lengths in `unit`; `cuts` are those of its layouts, in their
/// order, or none; `limits` say how weights are lifted.
///
/// # Errors
/// [`NoPdf`] says why there is none.
pub fn setup_sheet(
    job: &Job,
    checked: &CheckedPlan,
    cuts: &[Cut],
    limits: &Limits,
    paper: Paper,
    unit: LengthUnit,
) -> Result<Vec<u8>, NoPdf> {
    pdf("Set-up sheet", &setup_pages(job, checked, cuts, limits, paper, unit))
}

/// The pages of the set-up sheets.
pub fn setup_pages(
    job: &Job,
    checked: &CheckedPlan,
    cuts: &[Cut],
    limits: &Limits,
    paper: Paper,
    unit: LengthUnit,
) -> Vec<Picture> {
    let (plain, job) = (job, &checked.with_bed(job));
    let layouts: Vec<usize> = drawable(job, checked).collect();
    let mut pages: Vec<Page> = Vec::new();
    for (i, layout) in layouts.iter().enumerate() {
        let sheet = format!("sheet {} of {}", i + 1, layouts.len());
        let cut = cuts.get(*layout);
        let layout = *layout;
        let set_up = SetUp { job, plain, checked, layout, cut, limits, sheet, paper, unit };
        set_up.write(&mut pages);
    }
    if pages.is_empty() {
        let mut page = Page::new(paper.size());
        let at = (page.left(), page.y + 20.0);
        page.write(at, "Nothing is placed: there is nothing to set up.", Style::bold(14.0));
        for fault in checked.report().faults.iter().take(MOST_LISTED) {
            page.y += 40.0;
            let said = fault_words(job, checked.plan(), fault, unit);
            page.write((at.0, page.y), &said, Style::plain(10.0));
        }
        pages.push(page);
    }
    page::numbered(pages, WHO_COMES_FIRST)
}

/// The set-up sheet of one layout.
struct SetUp<'a> {
    /// With what stands on the bed.
    job: &'a Job,
    /// Without.
    plain: &'a Job,
    checked: &'a CheckedPlan,
    layout: usize,
    cut: Option<&'a Cut>,
    limits: &'a Limits,
    /// Which sheet of the plan it is, in words.
    sheet: String,
    paper: Paper,
    unit: LengthUnit,
}

impl SetUp<'_> {
    fn laid(&self) -> &Layout {
        &self.checked.plan().layouts[self.layout]
    }

    fn squared_up(&self) -> Option<&SquaredUp> {
        self.checked.squared_up(self.layout)
    }

    fn write(&self, pages: &mut Vec<Page>) {
        let mut page = Page::new(self.paper.size());
        self.title(&mut page);
        self.verdict(&mut page);
        self.facts(&mut page);
        let sheet = &self.job.stock[self.laid().stock].sheet;
        let (points, datum) = (self.points(), sheet.bounds().min);
        // What stands below the picture, to see how high the picture can be.
        let mut below = Page::new(self.paper.size());
        let top = below.y;
        self.find_and_watch(&mut below, &points, datum);
        self.before_the_cut(&mut below);
        let room = page.bottom() - page.y - (below.y - top);
        let with_table = room - placements::height(self.laid().placements.len());
        self.drawn(
            &mut page,
            &points,
            if with_table >= LOWEST_PICTURE { with_table } else { room },
        );
        self.find_and_watch(&mut page, &points, datum);
        self.before_the_cut(&mut page);
        placements::write(self, page, datum, pages);
    }

    fn title(&self, page: &mut Page) {
        let sheet = &self.job.stock[self.laid().stock].sheet;
        let (left, right) = (page.left(), page.right());
        page.write((left, page.y + 8.0), "Set-up sheet", Style::plain(10.0));
        page.write((right, page.y + 8.0), &self.sheet, Style::plain(10.0).to_the_right());
        let on = self.cut.map_or_else(String::new, |cut| cut_on(&cut.on.machine, &cut.on.gas));
        let name = cut_to(&sheet.name, 24.0, true, 0.6 * page.width());
        page.write((left, page.y + 33.0), &name, Style::bold(24.0));
        let on = cut_to(&on, 12.0, true, 0.4 * page.width() - 60.0);
        page.write((right - 46.0, page.y + 33.0), &on, Style::bold(12.0).to_the_right());
        // A name too long for a code leaves the sheet without one; all else stands on it.
        let _ = of_cut::draw_plan_code(page, self.job, self.checked.plan(), &sheet.name);
        page.y += 50.0;
    }

    /// The pointer list: the tightest spot first, then what is easily seen, six in all at most.
    fn points(&self) -> Vec<Pointed> {
        let sheet = &self.job.stock[self.laid().stock].sheet;
        let spot = tightest_spot(self.job, self.laid()).map(|spot| Pointed {
            letter: TIGHTEST,
            feature: spot.feature,
            beside: Some(spot.placed),
        });
        let seen = ('A'..).zip(pointer_points(sheet));
        let seen = seen.map(|(letter, feature)| Pointed { letter, feature, beside: None });
        spot.into_iter().chain(seen).take(MOST_POINTS).collect()
    }

    /// What the check says, with its faults.
    fn verdict(&self, page: &mut Page) {
        let (left, right, top) = (page.left(), page.right(), page.y);
        let basis = self.checked.basis_of(self.layout);
        if self.checked.is_clear() {
            let frame = PagePath::rectangle(Point::new(left, top), Point::new(right, top + 22.0));
            page.picture.shape(frame, None, Some(Stroke::plain(Look::PRINT.ink, 1.5)));
            let clear = format!("CLEAR {}", basis.words());
            page.write((left + 8.0, top + 15.5), &clear, Style::bold(12.0));
            let said = match basis {
                Basis::Recorded => "Measured on what is recorded of the sheet, not on the bed.",
                Basis::SquaredUp => {
                    "Measured on the bed; its pointer points are not ticked off yet."
                }
                Basis::Laid => "Measured on the bed, pointer points ticked off.",
            };
            page.write((right - 8.0, top + 15.0), said, Style::plain(9.5).to_the_right());
            page.y += 22.0 + GAP;
            return;
        }
        let faults: Vec<&Fault> = self
            .checked
            .report()
            .faults
            .iter()
            .filter(|f| layout_of(f).is_none_or(|l| l == self.layout))
            .collect();
        let mut lines: Vec<String> = faults
            .iter()
            .take(MOST_LISTED)
            .flat_map(|f| {
                let said = fault_words(self.job, self.checked.plan(), f, self.unit);
                wrapped(&said, Style::plain(10.0), right - left - 16.0)
            })
            .collect();
        if faults.is_empty() {
            lines.push("The faults are on other sheets of the plan.".to_owned());
        }
        if faults.len() > MOST_LISTED {
            lines.push(format!("and {} more", faults.len() - MOST_LISTED));
        }
        let height = 24.0 + 13.0 * lines.len() as f64 + 4.0;
        page.fill(Point::new(left, top), Point::new(right, top + height));
        let said = format!("NOT CLEAR {}. Do not cut this plan.", basis.words());
        page.write((left + 8.0, top + 17.0), &said, Style::bold(13.0).white());
        for (i, line) in lines.iter().enumerate() {
            let y = top + 33.0 + 13.0 * i as f64;
            page.write((left + 8.0, y), line, Style::plain(10.0).white());
        }
        page.y += height + GAP;
    }

    /// Two rows of what a person compares with the sheet before them.
    fn facts(&self, page: &mut Page) {
        let layout = self.laid();
        let sheet = &self.job.stock[layout.stock].sheet;
        let bounds = sheet.bounds();
        let unit = self.unit;
        let length = |mm: f64| format!("{} {unit}", unit.show(mm));
        let unknown = || "not recorded".to_owned();
        let made_of = sheet.made_of.as_ref();
        let parts: f64 =
            layout.placements.iter().map(|p| self.job.wanted[p.part].part.region.area()).sum();
        let weight = |area| made_of.map_or_else(unknown, |m| format!("{:.1} kg", m.weight(area)));
        let size = format!("{} × {} {unit}", unit.show(bounds.width()), unit.show(bounds.height()));
        let grain = match sheet.grain {
            Some(angle) => format!("{:.0}° from X", angle.to_degrees()),
            None => "none".to_owned(),
        };
        let mut facts = vec![
            ("Material", made_of.map_or_else(unknown, |m| m.material.clone())),
            ("Thickness", made_of.map_or_else(unknown, |m| length(m.thickness))),
            ("Size over all", size),
            ("Sheet weighs", weight(sheet.area())),
            ("Parts", layout.placements.len().to_string()),
            ("Parts weigh", weight(parts)),
            ("Sheet used", format!("{:.1} %", 100.0 * layout.yield_of(self.job))),
            ("Grain", grain),
        ];
        facts.extend(self.cut.into_iter().flat_map(|cut| of_cut::facts(cut, unit)));
        let shares = [0.0, 0.24, 0.46, 0.78, 1.0];
        for (i, (label, value)) in facts.iter().enumerate() {
            let x = page.left() + page.width() * shares[i % 4];
            let column = page.width() * (shares[i % 4 + 1] - shares[i % 4]);
            let y = page.y + 30.0 * (i / 4) as f64;
            page.write((x, y + 8.0), label, Style::plain(8.5));
            let value = cut_to(value, 13.0, true, column - 6.0);
            page.write((x, y + 22.0), &value, Style::bold(13.0));
        }
        page.y += 30.0 * (facts.len() / 4) as f64 + GAP;
    }

    /// The picture, at most as high as `room`, with the pointer points marked by letters.
    fn drawn(&self, page: &mut Page, points: &[Pointed], room: f64) {
        let sheet = &self.job.stock[self.laid().stock].sheet;
        let bounds = sheet.bounds();
        let natural = page.width() * bounds.height() / bounds.width() + 26.0;
        let height = natural.min(room - 12.0 - GAP).max(LOWEST_PICTURE);
        let frame = Frame {
            min: Point::new(page.left(), page.y),
            max: Point::new(page.right(), page.y + height),
        };
        let look = &Look::PRINT;
        let view = draw_layout(
            &mut page.picture,
            &frame,
            self.job,
            self.checked,
            self.layout,
            self.unit,
            look,
        );
        let middle = view.to_page(bounds.centre());
        for Pointed { letter, feature, .. } in points {
            let at = view.to_page(feature.at());
            let pen = Stroke::plain(look.ink, 1.0);
            page.picture.shape(PagePath::circle(at, 3.5), None, Some(pen));
            for (dx, dy) in [(6.0, 0.0), (0.0, 6.0)] {
                let (from, to) =
                    (Point::new(at.x - dx, at.y - dy), Point::new(at.x + dx, at.y + dy));
                page.picture.line(from, to, pen);
            }
            // The letter stands on the side of the sheet's middle, over whatever is there.
            let side = |from: f64, to: f64| if to > from { 10.0 } else { -10.0 };
            let spot = Point::new(at.x + side(at.x, middle.x), at.y + side(at.y, middle.y));
            page.picture.shape(PagePath::circle(spot, 6.0), Some(look.paper), Some(pen));
            page.write((spot.x, spot.y + 3.2), &letter.to_string(), Style::bold(9.0).centred());
        }
        page.y += height + 12.0;
        page.write((page.left(), page.y), LEGEND, Style::plain(8.0));
        page.y += GAP;
    }

    /// Beside each other: the pointer points to tick off, and what to watch.
    fn find_and_watch(&self, page: &mut Page, points: &[Pointed], datum: Point<SheetSpace>) {
        let half = page.width() / 2.0 - GAP / 2.0;
        let (left, middle, top) = (page.left(), page.left() + half + GAP, page.y);
        let mut y = top;
        let title = format!("Pointer points, {} off", self.tool());
        page.write((left, y + 10.0), &title, Style::bold(11.0));
        let unit = self.unit;
        page.write(
            (left + half - 62.0, y + 10.0),
            &format!("X {unit}"),
            Style::plain(8.5).to_the_right(),
        );
        page.write((left + half, y + 10.0), &format!("Y {unit}"), Style::plain(8.5).to_the_right());
        y += 16.0;
        for Pointed { letter, feature: point, beside } in points {
            page.rule((left, left + half), y, 0.4);
            let from_datum = match self.squared_up() {
                Some(s) => s.pose().apply(point.at()).to_vector(),
                None => point.at() - datum,
            };
            page.tick_box((left, y + 4.0), 9.0);
            page.write((left + 15.0, y + 12.5), &letter.to_string(), Style::bold(11.0));
            let hits = match beside {
                Some(placed) => format!("{} by No. {}", feature_words(point, unit), placed + 1),
                None => feature_words(point, unit),
            };
            let hits = cut_to(&hits, 8.5, false, half - 30.0 - 108.0);
            page.write((left + 30.0, y + 12.0), &hits, Style::plain(8.5));
            let number = Style::bold(11.5).to_the_right();
            page.write((left + half - 62.0, y + 12.5), &unit.show(from_datum.x), number);
            page.write((left + half, y + 12.5), &unit.show(from_datum.y), number);
            y += 17.0;
        }
        if points.iter().any(|p| p.beside.is_some()) {
            y = page.paragraph((left, y + 2.0), half, TIGHTEST_SAYS, Style::plain(8.5));
        }
        if points.len() < 4 {
            let said = "This sheet has few corners or small holes to point at: lay it against stops, and \
                        measure to its edges as well.";
            y = page.paragraph((left, y + 2.0), half, said, Style::plain(9.0));
        }
        let said = match self.squared_up() {
            Some(s) => lies_words(s, datum, unit),
            None => "X and Y are measured from the datum corner, where the rulers meet.".to_owned(),
        };
        y = page.paragraph((left, y + 2.0), half, &said, Style::plain(8.5));
        let mut other = top;
        page.write((middle, other + 10.0), "Tightest distances", Style::bold(11.0));
        other += 16.0;
        for measure in self.tightest() {
            let said = measure_words(self.job, self.checked.plan(), &measure, unit);
            other = page.paragraph((middle, other), half, &said, Style::plain(9.0)) + 2.0;
        }
        other += 4.0;
        page.write((middle, other + 10.0), "Lifting", Style::bold(11.0));
        let mut end =
            page.paragraph((middle, other + 15.0), half, &self.lifting(), Style::plain(9.0));
        let watch = self.cut.map(of_cut::watch).unwrap_or_default();
        for (title, lines) in [("Clamps", &self.clamps()[..]), ("Watch in this cut", &watch[..])] {
            if lines.is_empty() {
                continue;
            }
            page.write((middle, end + 14.0), title, Style::bold(11.0));
            end += 19.0;
            for line in lines {
                end = page.paragraph((middle, end), half, line, Style::plain(9.0)) + 2.0;
            }
        }
        page.y = y.max(end) + GAP;
    }

    /// The clamps that bear on no sound metal, in words.
    fn clamps(&self) -> Vec<String> {
        let Some(s) = self.squared_up() else { return Vec::new() };
        let bearings = s.bearings(self.plain, self.laid().stock);
        let wrong = s.clamps.iter().zip(bearings);
        wrong
            .filter_map(|(clamp, held)| Some(format!("{} {}", clamp.name, bearing_words(held)?)))
            .collect()
    }

    /// For each part what it has least to spare to, the tightest first, each pair once.
    fn tightest(&self) -> Vec<Measure> {
        // As laid: what stands on the bed is among the zones, in the same order.
        let laid = self.squared_up().map(|s| s.as_laid(self.plain, self.laid().stock));
        let scene = Scene::new(laid.as_ref().unwrap_or(self.job), self.laid());
        let mut found: Vec<Measure> = scene
            .laid()
            .iter()
            .enumerate()
            .filter_map(|(placed, shape)| {
                let near = scene.tightest(shape, |other| other > placed)?;
                let (gap, required) = (near.gap, near.required);
                Some(Measure { layout: self.layout, placed, other: near.other, gap, required })
            })
            .collect();
        found.sort_by(|a, b| a.spare().total_cmp(&b.spare()));
        found.truncate(3);
        found
    }

    fn lifting(&self) -> String {
        let sheet = &self.job.stock[self.laid().stock].sheet;
        let Limits { one_person, two_people } = self.limits;
        let limits =
            format!("(One person up to {one_person} kg, two up to {two_people} kg, by the shop.)");
        let Some(metal) = &sheet.made_of else {
            return format!("Weight unknown: reckon it before lifting. {limits}");
        };
        let by = |kg: f64| match self.limits.lift(kg) {
            Lift::OnePerson => "one person",
            Lift::TwoPeople => "two people",
            Lift::Lifter => "a lifter",
        };
        let whole = metal.weight(sheet.area());
        let heaviest = self
            .laid()
            .placements
            .iter()
            .map(|p| &self.job.wanted[p.part].part)
            .map(|part| (metal.weight(part.region.area()), part.name.as_str()))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let part = heaviest.map_or_else(String::new, |(kg, name)| {
            format!(" Heaviest part: {name}, {kg:.1} kg: {}.", by(kg))
        });
        format!("Sheet, {whole:.1} kg: {}.{part} {limits}", by(whole))
    }

    /// What does the cutting.
    fn tool(&self) -> &'static str {
        self.cut.map(|cut| cut.on.process).unwrap_or_default().tool()
    }

    fn before_the_cut(&self, page: &mut Page) {
        let half = page.width() / 2.0 - GAP / 2.0;
        page.rule((page.left(), page.right()), page.y, 1.0);
        let tool = self.tool();
        let title = format!("Before the {tool} is on");
        page.write((page.left(), page.y + 14.0), &title, Style::bold(11.0));
        let top = page.y + 20.0;
        let own = self.cut.map_or(of_cut::ANY_PROCESS, |cut| of_cut::cautions(cut.on.process));
        let pointer = format!(
            "Every pointer point above was hit with the {tool} off. If one was not, do not cut: square \
             up again."
        );
        let all = [&BEFORE_THE_CUT[..], &[pointer.as_str()], own].concat();
        let (left, right) = all.split_at(all.len().div_ceil(2));
        let mut lowest = top;
        for (x, points) in [(page.left(), left), (page.left() + half + GAP, right)] {
            let mut y = top;
            for text in points {
                y = page.tick_off((x, y), half, text, 8.5) + 2.5;
            }
            lowest = lowest.max(y);
        }
        page.y = lowest + GAP / 2.0;
    }
}

/// The layout that a fault is of, where it is of one.
fn layout_of(fault: &Fault) -> Option<usize> {
    match fault {
        Fault::Short(measure) => Some(measure.layout),
        Fault::Turned { layout, .. }
        | Fault::WrongMetal { layout, .. }
        | Fault::Unknown { layout }
        | Fault::NoStart { layout, .. } => Some(*layout),
        Fault::TooMany { .. } | Fault::TooFewSheets { .. } | Fault::SameCopy { .. } => None,
    }
}

/// A place of the pointer list.
struct Pointed {
    letter: char,
    feature: Feature,
    /// The part beside the tightest spot, by its place in the layout's list.
    beside: Option<usize>,
}

#[cfg(test)]
mod tests;
