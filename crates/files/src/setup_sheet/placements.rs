//! The table of placements: on the first page where it goes in, on pages of its own where not.

use oddment_core::plan::Placement;
use oddment_core::shape::{Point, Pose, SheetSpace};

use super::SetUp;
use super::page::{Page, Style};
use crate::picture::cut_to;

const ROW: f64 = 16.0;
const HEAD: f64 = 50.0;
/// Height of the note below the table.
const FOOT: f64 = 54.0;
const NOTE: &str = "Left and bottom: from the datum corner to the leftmost and to the lowest point of \
    the part as it lies; find it with a tape. X, Y and angle, as in the plan file: where the zero point \
    of the part’s own drawing comes to lie in the sheet’s drawing, and how far the part is turned \
    counter-clockwise; a flipped part is first mirrored left to right.";
const NOTE_LAID: &str = "All on the bed, as the sheet was squared up. Left and bottom: the leftmost and \
    the lowest point of the part as it lies. X, Y and angle: where the zero point of the part’s own \
    drawing comes to lie on the bed, and how far the part is turned counter-clockwise; a flipped part is \
    first mirrored left to right.";

/// Where columns end (numbers) or begin (texts), from the left.
const NUMBER: f64 = 24.0;
const PART: f64 = 34.0;
const COPY: f64 = 198.0;
const LEFT: f64 = 258.0;
const BOTTOM: f64 = 316.0;
const X: f64 = 376.0;
const Y: f64 = 432.0;
const ANGLE: f64 = 482.0;

/// The height of a table of so many rows with its note, points.
pub(super) fn height(rows: usize) -> f64 {
    HEAD + ROW * rows as f64 + FOOT
}

/// Writes the table and adds `page` and further pages to `pages`.
pub(super) fn write(
    set_up: &SetUp<'_>,
    mut page: Page,
    datum: Point<SheetSpace>,
    pages: &mut Vec<Page>,
) {
    let placements = &set_up.laid().placements;
    let mut next = 0;
    if page.y + height(placements.len()) > page.bottom() + 0.5 {
        pages.push(page);
        page = continued(set_up);
    }
    loop {
        head(set_up, &mut page);
        while next < placements.len() && page.y + ROW < page.bottom() {
            row(set_up, &mut page, datum, next, &placements[next]);
            next += 1;
        }
        page.rule((page.left(), page.right()), page.y, 1.0);
        if next == placements.len() {
            break;
        }
        pages.push(page);
        page = continued(set_up);
    }
    if page.y + FOOT > page.bottom() {
        pages.push(page);
        page = continued(set_up);
    }
    let laid = set_up.squared_up().is_some();
    let mut note = if laid { NOTE_LAID } else { NOTE }.to_owned();
    if !laid && datum.to_vector().length() >= 0.05 {
        let (x, y) = (set_up.unit.show(datum.x), set_up.unit.show(datum.y));
        note += &format!(" In the sheet’s drawing the datum corner is at X {x}, Y {y}.");
    }
    page.paragraph((page.left(), page.y + 4.0), page.width(), &note, Style::plain(8.5));
    pages.push(page);
}

/// A further page of the same sheet.
fn continued(set_up: &SetUp<'_>) -> Page {
    let mut page = Page::new(set_up.paper.size());
    let basis = set_up.checked.basis_of(set_up.layout).words();
    let verdict = if set_up.checked.is_clear() {
        format!("CLEAR {basis}")
    } else {
        format!("NOT CLEAR {basis}. Do not cut this plan.")
    };
    let sheet = &set_up.job.stock[set_up.laid().stock].sheet;
    let name = cut_to(&sheet.name, 14.0, true, page.width() * 0.5);
    page.write((page.left(), page.y + 12.0), &name, Style::bold(14.0));
    page.write((page.right(), page.y + 12.0), &verdict, Style::bold(11.0).to_the_right());
    page.y += 24.0;
    page
}

fn head(set_up: &SetUp<'_>, page: &mut Page) {
    let (left, top) = (page.left(), page.y);
    let unit = set_up.unit;
    page.write((left, top + 12.0), "Where the parts lie", Style::bold(11.0));
    let small = Style::plain(8.5);
    let laid = set_up.squared_up().is_some();
    let group =
        if laid { format!("on the bed, {unit}") } else { format!("from the datum corner, {unit}") };
    page.write((left + BOTTOM, top + 26.0), &group, small.to_the_right());
    let group = if laid {
        format!("zero on the bed, {unit}")
    } else {
        format!("as in the plan file, {unit}")
    };
    page.write((left + X - 40.0, top + 26.0), &group, small);
    let y = top + 38.0;
    for (x, text, right) in [
        (NUMBER, "No.", true),
        (PART, "part", false),
        (COPY, "copy", true),
        (LEFT, "left", true),
        (BOTTOM, "bottom", true),
        (X, "X", true),
        (Y, "Y", true),
        (ANGLE, "angle", true),
        (page.width(), "flipped", true),
    ] {
        let style = Style::bold(9.0);
        page.write((left + x, y), text, if right { style.to_the_right() } else { style });
    }
    page.y += HEAD - 7.0;
    page.rule((left, page.right()), page.y, 1.0);
}

fn row(
    set_up: &SetUp<'_>,
    page: &mut Page,
    datum: Point<SheetSpace>,
    index: usize,
    placement: &Placement,
) {
    let unit = set_up.unit;
    let part = &set_up.job.wanted[placement.part].part;
    // On the bed where the sheet was squared up, on the sheet where it was not.
    let pose = &set_up.squared_up().map_or(placement.pose, |s| {
        let lies = s.pose();
        Pose::<SheetSpace, SheetSpace>::new(lies.shift, lies.turn, false).after(&placement.pose)
    });
    let datum = if set_up.squared_up().is_some() { Point::origin() } else { datum };
    let corner = part.region.outer().placed(pose).bounds().min - datum;
    let (left, y) = (page.left(), page.y + 11.5);
    if index > 0 {
        page.rule((left, page.right()), page.y, 0.3);
    }
    let numbers = Style::plain(11.0).to_the_right();
    let name = cut_to(&part.name, 10.0, false, COPY - PART - 30.0);
    page.write((left + PART, y), &name, Style::plain(10.0));
    page.write((left + NUMBER, y), &(index + 1).to_string(), Style::bold(11.0).to_the_right());
    for (x, text, style) in [
        (COPY, placement.copy.to_string(), numbers),
        (LEFT, unit.show(corner.x), Style::bold(11.0).to_the_right()),
        (BOTTOM, unit.show(corner.y), Style::bold(11.0).to_the_right()),
        (X, unit.show(pose.shift.x), numbers),
        (Y, unit.show(pose.shift.y), numbers),
        (ANGLE, format!("{:.2}°", turn_degrees(pose.turn)), numbers),
        (page.width(), if pose.flipped { "flipped" } else { "–" }.to_owned(), numbers),
    ] {
        page.write((left + x, y), &text, style);
    }
    page.y += ROW;
}

/// Degrees from 0 up to, but not at, 360, to hundredths.
fn turn_degrees(radians: f64) -> f64 {
    ((radians.to_degrees() * 100.0).round() / 100.0).rem_euclid(360.0)
}
