//! The traveller: a page for each part of an order, that goes with its pieces through the shop.

use std::collections::HashMap;

use oddment_core::check::CheckedPlan;
use oddment_core::cutting::Cut;
use oddment_core::part::MarkKind;
use oddment_core::plan::{Count, Job};
use oddment_core::shape::{PartSpace, Point};
use oddment_core::units::LengthUnit;

use super::Paper;
use super::page::{GAP, Page, Style};
use crate::picture::{Look, NoPdf, PagePath, Picture, Stroke, cut_to, pdf};

/// The part is drawn at most so high, points.
const HIGHEST: f64 = 320.0;
/// What is ticked off on the way, each with room for initials; what is bent only where there is such.
const BENT: &str = "bent";
const ON_THE_WAY: [&str; 5] =
    ["cut", "tabs broken off, edges deburred", BENT, "checked", "counted"];
const CAUTION: &str =
    "Edges are sharp and pieces may be hot. Wear gloves; lift heavy pieces in twos.";

/// What the shop says of a plan, to be carried with its parts.
#[derive(Clone, Debug, Default)]
pub struct Carried {
    /// What the order is called.
    pub order: String,
    /// Heat numbers by the sheets' labels.
    pub heats: HashMap<String, String>,
}

/// A page for each part that is placed, as a PDF.
///
/// # Errors
/// [`NoPdf`] says why there is none.
pub fn traveller(
    job: &Job,
    checked: &CheckedPlan,
    cuts: &[Cut],
    carried: &Carried,
    paper: Paper,
    unit: LengthUnit,
) -> Result<Vec<u8>, NoPdf> {
    pdf("Traveller", &traveller_pages(job, checked, cuts, carried, paper, unit))
}

/// The same as pictures.
pub fn traveller_pages(
    job: &Job,
    checked: &CheckedPlan,
    cuts: &[Cut],
    carried: &Carried,
    paper: Paper,
    unit: LengthUnit,
) -> Vec<Picture> {
    let plan = checked.plan();
    let placed = (0..job.wanted.len()).filter(|p| plan.placed(*p) > 0);
    let pages = placed.map(|part| {
        let mut page = Page::new(paper.size());
        write(&mut page, job, checked, cuts, carried, part, unit);
        page.picture
    });
    pages.collect()
}

fn write(
    page: &mut Page,
    job: &Job,
    checked: &CheckedPlan,
    cuts: &[Cut],
    carried: &Carried,
    part: usize,
    unit: LengthUnit,
) {
    let (left, right, width) = (page.left(), page.right(), page.width());
    let plan = checked.plan();
    let wanted = &job.wanted[part];
    page.write((left, page.y + 8.0), "Traveller", Style::plain(10.0));
    page.write((right, page.y + 8.0), &carried.order, Style::plain(10.0).to_the_right());
    let name = cut_to(&wanted.part.name, 24.0, true, width);
    page.write((left, page.y + 33.0), &name, Style::bold(24.0));
    page.y += 50.0;
    if !checked.is_clear() {
        page.fill(Point::new(left, page.y), Point::new(right, page.y + 22.0));
        let said = format!("The plan is NOT CLEAR {}. Do not cut it.", checked.basis().words());
        page.write((left + 8.0, page.y + 15.5), &said, Style::bold(12.0).white());
        page.y += 22.0 + GAP;
    }
    drawn(page, job, part);
    let region = &wanted.part.region;
    let bounds = region.bounds();
    let count = match wanted.count {
        Count::Exactly(n) => format!("{} of {n}", plan.placed(part)),
        Count::Max => plan.placed(part).to_string(),
    };
    row(page, "Pieces in this plan", &count);
    let size = format!("{} × {} {unit}", unit.show(bounds.width()), unit.show(bounds.height()));
    row(page, "Size of the drawing", &size);
    let marks = |kind| wanted.part.marks.iter().filter(|m| m.kind == kind).count();
    let holes = region.holes().len();
    let (bends, engraved) = (marks(MarkKind::Bend), marks(MarkKind::Engrave));
    row(page, "Holes, bend lines, marks", &format!("{holes}, {bends}, {engraved}"));
    let (mut least, mut most, mut heats) = (0.0, 0.0, Vec::new());
    for (l, layout) in plan.layouts.iter().enumerate().filter(|(_, l)| l.is_known(job)) {
        let here: Vec<usize> = layout
            .placements
            .iter()
            .enumerate()
            .filter(|(_, p)| p.part == part)
            .map(|(i, _)| i)
            .collect();
        if here.is_empty() {
            continue;
        }
        let sheet = &job.stock[layout.stock].sheet;
        let made_of = sheet.made_of.as_ref().map_or_else(
            || "material and thickness not recorded".to_owned(),
            |m| {
                let each = m.weight(region.area());
                let thickness = unit.show(m.thickness);
                format!("{}, {thickness} {unit}, {each:.2} kg each", m.material)
            },
        );
        row(page, &format!("From sheet {}", sheet.name), &made_of);
        row(page, "its numbers on the set-up sheet", &numbers(&here));
        let heat = carried.heats.get(&sheet.name).filter(|heat| !heat.is_empty());
        if let Some(heat) = heat.filter(|heat| !heats.contains(heat)) {
            heats.push(heat);
        }
        if let Some(cut) = cuts.get(l) {
            let seconds = here.iter().map(|i| cut.likely_seconds_of_part(*i)).sum();
            let [from, to] = cut.within(seconds);
            least += from;
            most += to;
        }
    }
    if most > 0.0 {
        let minutes = format!("{:.1} to {:.1}", least / 60.0, most / 60.0);
        row(page, "Minutes of cutting, about", &minutes);
    }
    let heats: Vec<&str> = heats.into_iter().map(String::as_str).collect();
    row(page, "Heat number, from the sheet", &heats.join(", "));
    page.y += GAP;
    for step in ON_THE_WAY.into_iter().filter(|step| *step != BENT || bends > 0) {
        page.tick_box((left, page.y + 2.0), 12.0);
        page.write((left + 20.0, page.y + 12.0), step, Style::plain(11.0));
        page.rule((right - 160.0, right), page.y + 13.0, 0.5);
        page.write((right - 166.0, page.y + 12.0), "by", Style::plain(9.0).to_the_right());
        page.y += 22.0;
    }
    page.y = page.paragraph((left, page.y + 4.0), width, CAUTION, Style::plain(9.5));
}

/// Places in a list as numbers from 1, in order, with those that follow each other as “3–7”.
fn numbers(places: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for n in places.iter().map(|i| i + 1) {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == n => *last = n,
            _ => runs.push((n, n)),
        }
    }
    let words = runs.iter().map(|(first, last)| match last - first {
        0 => first.to_string(),
        1 => format!("{first}, {last}"),
        _ => format!("{first}–{last}"),
    });
    words.collect::<Vec<_>>().join(", ")
}

/// A fact on a line of its own; an empty one leaves room to write.
fn row(page: &mut Page, label: &str, value: &str) {
    let (left, right) = (page.left(), page.right());
    page.write((left, page.y + 13.0), label, Style::plain(10.0));
    let value = cut_to(value, 13.0, true, page.width() - 190.0);
    page.write((left + 190.0, page.y + 13.0), &value, Style::bold(13.0));
    page.rule((left, right), page.y + 18.0, 0.3);
    page.y += 22.0;
}

/// The part as drawn, as large as goes in.
fn drawn(page: &mut Page, job: &Job, part: usize) {
    let part = &job.wanted[part].part;
    let bounds = part.region.bounds();
    let scale = (page.width() / bounds.width()).min(HIGHEST / bounds.height()).min(6.0);
    let (left, top) = (page.left(), page.y);
    let middle = left + 0.5 * page.width();
    let to_page = |p: Point<PartSpace>| {
        let off = p - bounds.centre();
        Point::new(middle + off.x * scale, top + (bounds.max.y - p.y) * scale)
    };
    let mut path = PagePath::default();
    for l in part.region.loops() {
        path.add_loop(l, &to_page);
    }
    let look = &Look::PRINT;
    page.picture.shape(path, Some(look.metal), Some(Stroke::plain(look.ink, 1.2)));
    for mark in &part.marks {
        let pen = match mark.kind {
            MarkKind::Engrave => Stroke::plain(look.quiet, 0.6),
            MarkKind::Bend => Stroke::dashed(look.ink, 0.7, 4.0, 2.0),
        };
        let mut path = PagePath::default();
        for edge in &mark.edges {
            path.add_edge(edge, &to_page);
        }
        page.picture.shape(path, None, Some(pen));
    }
    page.y += bounds.height() * scale + 2.0 * GAP;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_that_follow_each_other_are_one_run() {
        assert_eq!(numbers(&[0, 1, 2, 3, 8, 10, 11]), "1–4, 9, 11, 12");
        assert_eq!(numbers(&[]), "");
    }
}
