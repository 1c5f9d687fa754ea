//! A bar with what is cut from it, and the end view of its profile.

use std::f64::consts::FRAC_PI_4;

use oddment_core::bars::profile::Profile;
use oddment_core::bars::{CutBar, CutList, Face, HoleAt, Piece};
use oddment_core::shape::{Bounds, Loop, Point};

use crate::picture::{
    Anchor, Look, PagePath, PageSpace, Picture, Stroke, Text, cut_to, hatch, text_width,
};

/// Draws a bar into a box as wide as its length at `points_per_mm`: what is lost to grips hatched,
/// each part in its shape with its number and name, holes as dots, cuts with their numbers above.
/// Lengths are to scale, heights are not.
pub(super) fn draw_bar(
    picture: &mut Picture,
    list: &CutList,
    bar: &CutBar,
    (left, top): (f64, f64),
    height: f64,
    points_per_mm: f64,
) {
    let look = &Look::PRINT;
    let edge = Stroke::plain(look.metal_edge, 0.8);
    let fine = Stroke::plain(look.quiet, 0.4);
    let length = list.stock[bar.stock].length;
    let x = |mm: f64| left + mm * points_per_mm;
    let (upper, lower) = (top, top + height);
    let band = |from: f64, to: f64| (Point::new(x(from), upper), Point::new(x(to), lower));
    let (min, max) = band(0.0, length);
    picture.shape(PagePath::rectangle(min, max), Some(look.metal), Some(edge));
    let lost = list.lost();
    for (from, to) in [(0.0, lost[0]), (length - lost[1], length)] {
        let (min, max) = band(from.max(0.0), to.min(length));
        // Where nothing is lost there is no rectangle.
        if let Ok(grip) = Loop::<PageSpace>::rectangle(min, max) {
            picture.shape(hatch(&[&grip], &|p| p, FRAC_PI_4, 3.0), None, Some(fine));
            picture.shape(PagePath::rectangle(min, max), None, Some(fine));
        }
    }
    for (i, piece) in bar.pieces.iter().enumerate() {
        draw_piece(picture, list, piece, i + 1, &x, (upper, lower));
    }
    let setup = list.setup(bar);
    let mut free = f64::NEG_INFINITY;
    for (i, cut) in setup.cuts.iter().enumerate() {
        let at = x(cut.at);
        picture.line(Point::new(at, upper - 4.0), Point::new(at, upper), edge);
        // Numbers that would run into each other are left out; the table has them all.
        let text = (i + 1).to_string();
        let width = text_width(&text, 6.5, false);
        if at - width / 2.0 > free + 2.0 {
            free = at + width / 2.0;
            let at = Point::new(at, upper - 5.5);
            let (anchor, colour) = (Anchor::Middle, look.text);
            picture.text(Text { at, text, size: 6.5, bold: false, anchor, colour });
        }
    }
    if let Some(support) = setup.support {
        let at = Point::new(x(support.at), lower + 1.0);
        let foot = [Point::new(at.x - 4.0, at.y + 7.0), Point::new(at.x + 4.0, at.y + 7.0)];
        picture.shape(PagePath::polyline([at, foot[1], foot[0]], true), Some(look.ink), None);
    }
}

fn draw_piece(
    picture: &mut Picture,
    list: &CutList,
    piece: &Piece,
    number: usize,
    x: &impl Fn(f64) -> f64,
    (upper, lower): (f64, f64),
) {
    let look = &Look::PRINT;
    let [near, far] = piece.ends(list);
    let (from, to) = (piece.at, piece.end(list));
    let corners = [
        Point::new(x(from + near.back[0]), upper),
        Point::new(x(to - far.back[0]), upper),
        Point::new(x(to - far.back[1]), lower),
        Point::new(x(from + near.back[1]), lower),
    ];
    let pen = Stroke::plain(look.ink, 1.1);
    picture.shape(PagePath::polyline(corners, true), Some(look.paper), Some(pen));
    let part = &list.parts[piece.part];
    let middle = (upper + lower) / 2.0;
    for hole in &part.holes {
        draw_hole(picture, &hole.laid(part, piece, 0), x, (upper, lower));
    }
    let room = x(to) - x(from) - 4.0;
    let named = if part.name.is_empty() { String::new() } else { format!(" {}", part.name) };
    let text = cut_to(&format!("{number}{named}"), 8.0, true, room);
    if text_width(&text, 8.0, true) <= room {
        let at = Point::new((x(from) + x(to)) / 2.0, middle + 1.0);
        let (bold, anchor, colour) = (true, Anchor::Middle, look.ink);
        picture.text(Text { at, text, size: 8.0, bold, anchor, colour });
    }
}

/// Draws a hole or a cope where its face is to be seen: from the front, and dashed from behind. Below the
/// names of parts.
fn draw_hole(
    picture: &mut Picture,
    hole: &HoleAt,
    x: &impl Fn(f64) -> f64,
    (upper, lower): (f64, f64),
) {
    let look = &Look::PRINT;
    let half = ((x(hole.size) - x(0.0)) / 2.0).max(1.2);
    let depth = if hole.cope { 7.0 } else { 3.0 };
    let below = (upper + lower) / 2.0 + 6.5;
    let at = x(hole.at);
    let rectangle = |top: f64| {
        PagePath::rectangle(Point::new(at - half, top), Point::new(at + half, top + depth))
    };
    let (shape, pen) = match (hole.face, hole.cope) {
        (Some(Face::Top), _) => (rectangle(upper), Stroke::plain(look.ink, 0.7)),
        (Some(Face::Bottom), _) => (rectangle(lower - depth), Stroke::plain(look.ink, 0.7)),
        (face, cope) => {
            let round = || PagePath::circle(Point::new(at, below), half.min(4.0));
            let shape = if cope { rectangle(below - depth / 2.0) } else { round() };
            let behind = face == Some(Face::Back);
            let dashed = Stroke::dashed(look.ink, 0.7, 1.2, 0.9);
            (shape, if behind { dashed } else { Stroke::plain(look.ink, 0.7) })
        }
    };
    picture.shape(shape, Some(look.paper), Some(pen));
}

/// Draws the end view of a profile as large as goes into a box.
pub(super) fn draw_section(picture: &mut Picture, profile: &Profile, frame: &Bounds<PageSpace>) {
    let Ok(region) = profile.section.outline() else { return };
    let bounds = region.bounds();
    let scale = (frame.width() / bounds.width()).min(frame.height() / bounds.height());
    let centre = frame.centre();
    let to_page = |p: Point<_>| {
        let from_middle = p - bounds.centre();
        Point::new(centre.x + from_middle.x * scale, centre.y - from_middle.y * scale)
    };
    let mut path = PagePath::default();
    for outline in region.loops() {
        path.add_loop(outline, &to_page);
    }
    let look = &Look::PRINT;
    picture.shape(path, Some(look.metal), Some(Stroke::plain(look.ink, 0.9)));
    let loops: Vec<_> = region.loops().collect();
    let fine = Stroke::plain(look.quiet, 0.4);
    picture.shape(hatch(&loops, &to_page, -FRAC_PI_4, 3.0), None, Some(fine));
    if let Some(seam) = profile.seam {
        let half = (bounds.width() * scale / 2.0, bounds.height() * scale / 2.0);
        let at = match seam {
            Face::Top => Point::new(centre.x, centre.y - half.1),
            Face::Bottom => Point::new(centre.x, centre.y + half.1),
            Face::Front => Point::new(centre.x + half.0, centre.y),
            Face::Back => Point::new(centre.x - half.0, centre.y),
        };
        picture.shape(PagePath::circle(at, 2.6), Some(look.ink), None);
    }
}
