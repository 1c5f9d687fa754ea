//! A sheet and what lies on it as a picture: paper on metal.

use std::f64::consts::FRAC_PI_4;

use oddment_core::check::{CheckedPlan, Fault};
use oddment_core::leftover::largest_circle;
use oddment_core::part::{MarkKind, Part};
use oddment_core::plan::{Job, Layout, Placement};
use oddment_core::shape::{Bounds, Loop, PartSpace, Point, SheetSpace, Vector};
use oddment_core::sheet::{Body, Sheet};
use oddment_core::units::LengthUnit;

use super::hatch::hatch;
use super::{
    Anchor, Colour, PagePath, PageSpace, Picture, Stroke, Text, cut_to, rulers, text_width,
};

/// Points between the sheets of one picture, and round it.
const MARGIN: f64 = 18.0;
/// Width (points) of a picture of one sheet.
const WIDTH: f64 = 900.0;

/// Places marked as too near, at most: the worst.
const MOST_RINGS: usize = 12;

/// The colours of a picture.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Look {
    pub(crate) bed: Colour,
    pub(crate) metal: Colour,
    pub(crate) metal_edge: Colour,
    pub(crate) paper: Colour,
    pub(crate) ink: Colour,
    pub(crate) short: Colour,
    pub(crate) text: Colour,
    pub(crate) quiet: Colour,
}

impl Look {
    /// The window's light colours.
    pub(crate) const LIGHT: Self = Self {
        bed: Colour(0xE8, 0xE4, 0xDA),
        metal: Colour(0xCB, 0xD1, 0xD6),
        metal_edge: Colour(0x55, 0x60, 0x6A),
        paper: Colour(0xFC, 0xF8, 0xEE),
        ink: Colour(0x20, 0x40, 0x6B),
        short: Colour(0xC2, 0x4A, 0x00),
        text: Colour(0x23, 0x28, 0x2E),
        quiet: Colour(0x6A, 0x73, 0x7C),
    };
    /// For paper and printers without colour.
    pub(crate) const PRINT: Self = Self {
        bed: Colour(0xFF, 0xFF, 0xFF),
        metal: Colour(0xEC, 0xEC, 0xEC),
        metal_edge: Colour(0x40, 0x40, 0x40),
        paper: Colour(0xFF, 0xFF, 0xFF),
        ink: Colour(0x00, 0x00, 0x00),
        short: Colour(0x00, 0x00, 0x00),
        text: Colour(0x00, 0x00, 0x00),
        quiet: Colour(0x50, 0x50, 0x50),
    };
}

/// Where on the page a sheet is drawn, rulers and all.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Frame {
    pub(crate) min: Point<PageSpace>,
    pub(crate) max: Point<PageSpace>,
}

/// How a sheet is seen on a page.
#[derive(Clone, Copy, Debug)]
pub(crate) struct View {
    /// The datum corner: the lower left of the box round the metal.
    pub(crate) datum: Point<SheetSpace>,
    pub(crate) datum_on_page: Point<PageSpace>,
    pub(crate) points_per_mm: f64,
}

impl View {
    /// The view that shows `all`, with `datum` as its datum corner, as large as goes into `frame`
    /// and at its top.
    fn new(all: &Bounds<SheetSpace>, datum: Point<SheetSpace>, frame: &Frame) -> Self {
        let room = frame.max - frame.min - Vector::new(rulers::ROOM, rulers::ROOM);
        let scale = (room.x / all.width()).min(room.y / all.height()).max(1e-9);
        // What lies beyond the metal on the left is drawn over the ruler, if it goes in there.
        let left = (datum.x - all.min.x) * scale;
        let spare = (room.x - all.width() * scale) / 2.0;
        let x = frame.min.x + rulers::ROOM.max(left) + spare.max(0.0);
        let y = frame.min.y + (all.max.y - datum.y) * scale;
        Self { datum, datum_on_page: Point::new(x, y), points_per_mm: scale }
    }

    /// Where a point of the sheet is on the page.
    pub(crate) fn to_page(self, p: Point<SheetSpace>) -> Point<PageSpace> {
        let from_datum = p - self.datum;
        Point::new(
            self.datum_on_page.x + from_datum.x * self.points_per_mm,
            self.datum_on_page.y - from_datum.y * self.points_per_mm,
        )
    }
}

/// The plan as a picture, its sheets beside and below each other, each with its name, how full it
/// is and what the check says.
pub fn sheet_picture(job: &Job, checked: &CheckedPlan) -> Picture {
    let layouts: Vec<usize> = drawable(job, checked).collect();
    let columns = (layouts.len() as f64).sqrt().ceil().max(1.0);
    let cell = (WIDTH * columns.min(2.0) - MARGIN) / columns;
    let mut picture = Picture::new(cell * columns + MARGIN, MARGIN + 40.0);
    let ground = picture.items.len();
    let (mut top, mut bottom) = (MARGIN, MARGIN);
    for (i, layout) in layouts.iter().enumerate() {
        let column = i % columns as usize;
        if column == 0 {
            top = bottom;
        }
        let left = MARGIN + column as f64 * cell;
        let height = draw_cell(&mut picture, job, checked, *layout, left, top, cell - MARGIN);
        bottom = bottom.max(top + height + MARGIN);
    }
    if layouts.is_empty() {
        let at = Point::new(MARGIN, MARGIN + 16.0);
        let text = "Nothing is placed.".to_owned();
        let (size, anchor, colour) = (14.0, Anchor::Start, Look::LIGHT.text);
        picture.text(Text { at, text, size, bold: false, anchor, colour });
        bottom += 24.0;
    }
    picture.height = bottom;
    let page = PagePath::rectangle(Point::origin(), Point::new(picture.width, picture.height));
    let bed = super::Item::Shape { path: page, fill: Some(Look::LIGHT.bed), stroke: None };
    picture.items.insert(ground, bed);
    picture
}

/// Draws one sheet with its title; returns the height it takes.
fn draw_cell(
    picture: &mut Picture,
    job: &Job,
    checked: &CheckedPlan,
    layout: usize,
    left: f64,
    top: f64,
    width: f64,
) -> f64 {
    let look = &Look::LIGHT;
    let l = &checked.plan().layouts[layout];
    let sheet = &job.stock[l.stock].sheet;
    let bounds = sheet.bounds();
    let size = (width / 45.0).clamp(7.0, 15.0);
    let title = format!(
        "{}  {} × {} mm, {} parts, {:.1} % used",
        cut_to(&sheet.name, size, true, width * 0.3),
        LengthUnit::Mm.show(bounds.width()),
        LengthUnit::Mm.show(bounds.height()),
        l.placements.len(),
        100.0 * l.yield_of(job)
    );
    let basis = checked.basis_of(layout).words();
    let (said, colour) = if checked.is_clear() {
        (format!("clear {basis}"), look.text)
    } else {
        (format!("NOT CLEAR {basis}"), look.short)
    };
    let at = Point::new(left, top + size);
    let (bold, anchor) = (true, Anchor::Start);
    picture.text(Text { at, text: title, size, bold, anchor, colour: look.text });
    let at = Point::new(left + width, top + size);
    let (text, anchor) = (said, Anchor::End);
    picture.text(Text { at, text, size, bold, anchor, colour });
    let below = top + size * 2.0;
    let all = shown(job, l);
    // A tall sheet is drawn no higher than the picture is wide.
    let height = ((width - rulers::ROOM) * all.height() / all.width()).min(width) + rulers::ROOM;
    let frame =
        Frame { min: Point::new(left, below), max: Point::new(left + width, below + height) };
    draw_layout(picture, &frame, job, checked, layout, LengthUnit::Mm, look);
    below + height - top
}

/// The layouts that carry something and are of the job.
pub(crate) fn drawable(job: &Job, checked: &CheckedPlan) -> impl Iterator<Item = usize> {
    let layouts = checked.plan().layouts.iter().enumerate();
    layouts.filter(|(_, l)| l.is_known(job) && !l.placements.is_empty()).map(|(i, _)| i)
}

/// Draws the sheet of a layout, its rulers, its parts with their numbers (their places in the
/// layout's list, from 1), and where the check finds them too near. The layout must be of the job.
pub(crate) fn draw_layout(
    picture: &mut Picture,
    frame: &Frame,
    job: &Job,
    checked: &CheckedPlan,
    layout: usize,
    unit: LengthUnit,
    look: &Look,
) -> View {
    let l = &checked.plan().layouts[layout];
    let sheet = &job.stock[l.stock].sheet;
    let bounds = sheet.bounds();
    let all = shown(job, l);
    let view = View::new(&all, bounds.min, frame);
    rulers::draw(picture, &view, bounds.width(), bounds.height(), unit, look);
    draw_sheet(picture, sheet, &view, look);
    let visible = |p: &Placement| all.contains_bounds(&box_of(job, p));
    for placement in l.placements.iter().filter(|p| visible(p)) {
        draw_part(picture, job, placement, &view, look);
    }
    // Numbers last, so that no part covers one.
    let mut rooms: Vec<Option<Room>> = vec![None; job.wanted.len()];
    for (i, placement) in l.placements.iter().enumerate().filter(|(_, p)| visible(p)) {
        let part = &job.wanted[placement.part].part;
        let room = *rooms[placement.part].get_or_insert_with(|| roomiest(part));
        draw_number(picture, part, placement, room, i + 1, &view, look);
    }
    let short = checked.report().faults.iter().filter_map(|fault| match fault {
        Fault::Short(measure) if measure.layout == layout => Some(measure.gap),
        _ => None,
    });
    for gap in short.take(MOST_RINGS).filter(|g| all.contains(g.from)) {
        let middle = view.to_page(gap.from.midpoint(gap.to));
        picture.shape(PagePath::circle(middle, 7.0), None, Some(Stroke::plain(look.short, 1.8)));
        let at = Point::new(middle.x + 8.0, middle.y - 4.0);
        let text = "too near".to_owned();
        let (size, bold, anchor, colour) = (7.0, true, Anchor::Start, look.short);
        picture.text(Text { at, text, size, bold, anchor, colour });
    }
    view
}

/// What a picture of a layout shows: the sheet, what lies round it, and parts that lie over its
/// edge, unless they lie so far away that nothing else could be seen.
fn shown(job: &Job, layout: &Layout) -> Bounds<SheetSpace> {
    let sheet = &job.stock[layout.stock].sheet;
    let metal = sheet.bounds();
    let all = sheet.no_go.iter().map(|z| z.shape.bounds()).fold(metal, Bounds::union);
    let farthest = all.grown(0.5 * all.width().max(all.height()));
    let parts = layout.placements.iter().map(|p| box_of(job, p));
    parts.filter(|b| farthest.contains_bounds(b)).fold(all, Bounds::union)
}

fn box_of(job: &Job, placement: &Placement) -> Bounds<SheetSpace> {
    job.wanted[placement.part].part.region.outer().placed(&placement.pose).bounds()
}

/// Draws a sheet alone: its metal, cut-outs hatched, no-go zones cross-hatched.
pub(crate) fn draw_sheet(picture: &mut Picture, sheet: &Sheet, view: &View, look: &Look) {
    let to_page = |p: Point<SheetSpace>| view.to_page(p);
    let outline = |l: &Loop<SheetSpace>| {
        let mut path = PagePath::default();
        path.add_loop(l, &to_page);
        path
    };
    let edge = Stroke::plain(look.metal_edge, 0.9);
    let fine = Stroke::plain(look.quiet, 0.4);
    // Larger pieces first: a smaller one may lie as an island in a cut-out.
    let mut bodies: Vec<&Body> = sheet.bodies.iter().collect();
    bodies.sort_by(|a, b| b.outer.shape().area().total_cmp(&a.outer.shape().area()));
    for body in bodies {
        picture.shape(outline(body.outer.shape()), Some(look.metal), Some(edge));
        for cutout in &body.cutouts {
            picture.shape(outline(cutout.shape()), Some(look.bed), None);
            picture.shape(hatch(&[cutout.shape()], &to_page, -FRAC_PI_4, 4.0), None, Some(fine));
            picture.shape(outline(cutout.shape()), None, Some(edge));
        }
    }
    for zone in &sheet.no_go {
        for angle in [FRAC_PI_4, -FRAC_PI_4] {
            picture.shape(hatch(&[&zone.shape], &to_page, angle, 3.0), None, Some(fine));
        }
        picture.shape(outline(&zone.shape), None, Some(edge));
    }
}

fn draw_part(picture: &mut Picture, job: &Job, placement: &Placement, view: &View, look: &Look) {
    let part = &job.wanted[placement.part].part;
    let to_page = |p: Point<SheetSpace>| view.to_page(p);
    let region = part.region.placed(&placement.pose);
    let mut path = PagePath::default();
    for l in region.loops() {
        path.add_loop(l, &to_page);
    }
    let width = if placement.locked { 2.2 } else { 1.1 };
    picture.shape(path, Some(look.paper), Some(Stroke::plain(look.ink, width)));
    for mark in &part.marks {
        let pen = match mark.kind {
            MarkKind::Engrave => Stroke::plain(look.quiet, 0.5),
            MarkKind::Bend => Stroke::dashed(look.ink, 0.6, 4.0, 2.0),
        };
        let mut path = PagePath::default();
        for edge in &mark.edges {
            path.add_edge(&edge.placed(&placement.pose), &to_page);
        }
        picture.shape(path, None, Some(pen));
    }
}

/// Where there is most room on a part, and how far (mm) its edges are there.
type Room = (Point<PartSpace>, f64);

fn roomiest(part: &Part) -> Room {
    let found = largest_circle(&part.region, 0.5);
    found.map_or_else(|| (part.region.bounds().centre(), 0.0), |c| (c.centre, c.radius))
}

/// Writes a part's number where there is most room on it, or right of it where there is none.
fn draw_number(
    picture: &mut Picture,
    part: &Part,
    placement: &Placement,
    (spot, room): Room,
    number: usize,
    view: &View,
    look: &Look,
) {
    let text = number.to_string();
    let placed = part.region.outer().placed(&placement.pose);
    let room = room * view.points_per_mm;
    let middle = view.to_page(placement.pose.apply(spot));
    // Half the text's height and width must keep within the room round the spot.
    let size = (1.5 * room / (0.5 * text.len() as f64).max(1.0)).min(13.0);
    let (at, size) = if size >= 5.5 {
        (middle, size)
    } else {
        let size = 6.0;
        let half = Vector::new(0.5 * text_width(&text, size, true) + 1.0, 0.5 * size);
        let bounds = placed.bounds();
        let right = view.to_page(Point::new(bounds.max.x, bounds.centre().y));
        let at = Point::new(right.x + half.x + 1.0, right.y);
        picture.shape(PagePath::rectangle(at - half, at + half), Some(look.paper), None);
        (at, size)
    };
    let at = Point::new(at.x, at.y + size * 0.35);
    let anchor = Anchor::Middle;
    picture.text(Text { at, text, size, bold: true, anchor, colour: look.ink });
}
