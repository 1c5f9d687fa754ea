//! Bars to scale: what is cut from them, what is lost to grips, and what is left.

use std::f32::consts::PI;
use std::sync::Arc;

use eframe::egui::{
    Align2, Color32, Galley, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, vec2,
};
use oddment_core::bars::{CutBar, CutList, Face, HoleAt, Piece, Stock, Wanted};
use oddment_core::units::LengthUnit;

use crate::sheet::pictures::hatch;
use crate::theme::{self, Colours};

/// Where a bar lies in its row, and how high it is drawn. Lengths are to scale, heights are not.
const TOP: f32 = 28.0;
const HIGH: f32 = 38.0;
/// Height of a bar drawn bare.
pub(super) const BARE: f32 = HIGH + 4.0;
/// How deep holes in the upper and lower face are drawn, and copes.
const DEEP: f32 = 5.0;
const COPE: f32 = 13.0;

/// A bar's row on the screen.
pub(super) struct Scene<'a> {
    c: &'a Colours,
    list: &'a CutList,
    unit: LengthUnit,
    rect: Rect,
    /// Where bars begin below the top of `rect`.
    top: f32,
    /// Pixels to a millimetre.
    scale: f32,
}

/// “R-0201”, or what is bought.
pub(super) fn stock_name(stock: &Stock) -> String {
    match (stock.name.trim(), stock.count) {
        ("", None) => "full length, to buy".to_owned(),
        ("", Some(_)) => "full length".to_owned(),
        (name, _) => name.to_owned(),
    }
}

impl<'a> Scene<'a> {
    /// Bars up to `longest` mm go into the width of `rect`.
    pub(super) fn new(
        c: &'a Colours,
        list: &'a CutList,
        unit: LengthUnit,
        rect: Rect,
        longest: f64,
    ) -> Self {
        let rect = rect.shrink2(vec2(12.0, 0.0));
        Self { c, list, unit, rect, top: TOP, scale: rect.width() / longest.max(1.0) as f32 }
    }

    fn x(&self, mm: f64) -> f32 {
        self.rect.left() + mm as f32 * self.scale
    }

    fn upper(&self) -> f32 {
        self.rect.top() + self.top
    }

    fn lower(&self) -> f32 {
        self.upper() + HIGH
    }

    fn band(&self, from: f64, to: f64) -> Rect {
        Rect::from_min_max(pos2(self.x(from), self.upper()), pos2(self.x(to), self.lower()))
    }

    /// A bar that nothing is planned on yet.
    pub(super) fn stock(&self, painter: &Painter, stock: &Stock) {
        let c = self.c;
        let alike = match stock.count {
            Some(n) if n > 1 => format!("{n} alike"),
            None => "as many as are wanted".to_owned(),
            Some(_) => String::new(),
        };
        self.heading(painter, &stock_name(stock), &facts(stock, self.unit, &alike));
        let bar = self.band(0.0, stock.length);
        painter.rect(bar, 0, c.metal, Stroke::new(1.3, c.metal_edge), StrokeKind::Inside);
        self.grips(painter, stock.length);
        if !self.list.loads(stock) {
            self.inside(painter, bar, "can’t be loaded on this machine", c.short);
        }
    }

    /// A bar of a plan, with what is cut from it.
    pub(super) fn bar(&self, painter: &Painter, bar: &CutBar, number: usize, of: usize) {
        let c = self.c;
        let stock = &self.list.stock[bar.stock];
        let setup = self.list.setup(bar);
        let minutes = format!("{:.0} min", (setup.seconds / 60.0).ceil());
        let careful = match setup.warnings.len() {
            0 => String::new(),
            1 => " · 1 warning".to_owned(),
            n => format!(" · {n} warnings"),
        };
        let title = format!("{} of {of}: {}", number + 1, stock_name(stock));
        self.heading(painter, &title, &facts(stock, self.unit, &(minutes + &careful)));
        self.whole(painter, bar);
        let (from, to) = setup.left;
        if to - from > 1.0 {
            let goes = if setup.kept { "stays" } else { "scrap" };
            let left = self.unit.show(to - from);
            let band = self.band(from, to - self.list.lost()[1]);
            if !self.inside(painter, band, &format!("{left} {goes}"), c.text) {
                self.inside(painter, band, &left, c.text);
            }
        }
        // The cuts by their places, as many as can be read.
        let mut free = f32::NEG_INFINITY;
        for cut in &setup.cuts {
            let x = self.x(cut.at);
            let tick = [pos2(x, self.lower()), pos2(x, self.lower() + 5.0)];
            painter.line_segment(tick, Stroke::new(1.0, c.metal_edge));
            let text = painter.layout_no_wrap(self.unit.show(cut.at), theme::small(), c.quiet);
            let half = text.size().x / 2.0;
            if x - half > free + 6.0 && x + half < self.rect.right() + 12.0 {
                free = x + half;
                painter.galley(pos2(x - half, self.lower() + 7.0), text, c.quiet);
            }
        }
        if let Some(support) = setup.support {
            let at = pos2(self.x(support.at), self.lower() + 1.0);
            let foot = vec![at, at + vec2(7.0, 12.0), at + vec2(-7.0, 12.0)];
            painter.add(Shape::convex_polygon(foot, c.strong, Stroke::new(1.0, c.bed)));
        }
    }

    /// A bar with its parts and nothing written beside it, at the top of its row.
    pub(super) fn bare(mut self, painter: &Painter, bar: &CutBar) {
        self.top = 2.0;
        self.whole(painter, bar);
    }

    /// A bar with its grips and parts.
    fn whole(&self, painter: &Painter, bar: &CutBar) {
        let (c, length) = (self.c, self.list.stock[bar.stock].length);
        let whole = self.band(0.0, length);
        painter.rect(whole, 0, c.metal, Stroke::new(1.3, c.metal_edge), StrokeKind::Inside);
        self.grips(painter, length);
        for piece in &bar.pieces {
            self.piece(painter, piece);
        }
    }

    /// A hole or a cope, where its face is to be seen: from the front, and dashed from behind.
    fn hole(&self, painter: &Painter, hole: &HoleAt) {
        let c = self.c;
        let wide = (hole.size as f32 * self.scale).max(3.0);
        let (x, edge) = (self.x(hole.at), Stroke::new(1.2, c.ink));
        let depth = if hole.cope { COPE } else { DEEP };
        let (upper, lower) = (self.upper(), self.lower());
        let from = |y: f32| Rect::from_min_size(pos2(x - wide / 2.0, y), vec2(wide, depth));
        let middle = pos2(x, (upper + lower) / 2.0);
        let square = Rect::from_center_size(middle, vec2(wide, COPE));
        let radius = (wide / 2.0).min(HIGH / 3.0);
        match (hole.face, hole.cope) {
            (Some(Face::Top), _) => {
                painter.rect(from(upper), 0, c.bed, edge, StrokeKind::Inside);
            }
            (Some(Face::Bottom), _) => {
                painter.rect(from(lower - depth), 0, c.bed, edge, StrokeKind::Inside);
            }
            (Some(Face::Back), cope) => {
                let round: Vec<Pos2> = if cope {
                    let s = square;
                    let corners = [s.left_top(), s.right_top(), s.right_bottom(), s.left_bottom()];
                    [corners.as_slice(), &[s.left_top()]].concat()
                } else {
                    let at = |n: i32| middle + radius * Vec2::angled(n as f32 * PI / 12.0);
                    (0..=24).map(at).collect()
                };
                painter.extend(Shape::dashed_line(&round, edge, 2.5, 2.0));
            }
            (Some(Face::Front) | None, true) => {
                painter.rect(square, 0, c.bed, edge, StrokeKind::Inside);
            }
            (Some(Face::Front) | None, false) => {
                painter.circle(middle, radius, c.bed, edge);
            }
        }
    }

    fn heading(&self, painter: &Painter, title: &str, facts: &str) {
        let c = self.c;
        let at = pos2(self.rect.left(), self.rect.top() + 14.0);
        let title = painter.text(at, Align2::LEFT_CENTER, title, theme::strong(), c.text);
        let at = pos2(title.right() + 12.0, at.y);
        painter.text(at, Align2::LEFT_CENTER, facts, theme::small(), c.quiet);
    }

    /// What is lost at both ends, cross-hatched.
    fn grips(&self, painter: &Painter, length: f64) {
        let lost = self.list.lost();
        for (from, to) in [(0.0, lost[0]), (length - lost[1], length)] {
            if to - from <= 0.0 {
                continue;
            }
            let band = self.band(from.max(0.0), to.min(length));
            let corners =
                [band.left_top(), band.right_top(), band.right_bottom(), band.left_bottom()];
            for falling in [false, true] {
                for line in hatch(&[corners.to_vec()], 6.0, falling) {
                    painter.line_segment(line, Stroke::new(0.8, self.c.metal_edge));
                }
            }
            painter.rect_stroke(band, 0, Stroke::new(0.8, self.c.metal_edge), StrokeKind::Inside);
        }
    }

    /// A part as it lies on its bar, with its name and length where they have room.
    fn piece(&self, painter: &Painter, piece: &Piece) {
        let c = self.c;
        let [near, far] = piece.ends(self.list);
        let (from, to) = (piece.at, piece.end(self.list));
        let corners = vec![
            pos2(self.x(from + near.back[0]), self.upper()),
            pos2(self.x(to - far.back[0]), self.upper()),
            pos2(self.x(to - far.back[1]), self.lower()),
            pos2(self.x(from + near.back[1]), self.lower()),
        ];
        painter.add(Shape::convex_polygon(corners, c.paper, Stroke::new(1.6, c.ink)));
        let part = &self.list.parts[piece.part];
        for hole in &part.holes {
            self.hole(painter, &hole.laid(part, piece, 0));
        }
        let length = self.unit.show(part.length);
        let slopes = near.back[0].max(near.back[1]) + far.back[0].max(far.back[1]);
        let mut room = self.band(from, to);
        room = room.shrink2(vec2(3.0 + slopes as f32 * self.scale / 4.0, 0.0));
        let name = painter.layout_no_wrap(part.name.clone(), theme::small_strong(), c.ink);
        let number = painter.layout_no_wrap(length, theme::small(), c.ink);
        let middle = room.center();
        let put = |galley: Arc<Galley>, y: f32| {
            let size = galley.size();
            painter.galley(pos2(middle.x - size.x / 2.0, y - size.y / 2.0), galley, c.ink);
        };
        if name.size().x > 0.0 && name.size().x <= room.width() && number.size().x <= room.width() {
            put(name, middle.y - 8.0);
            put(number, middle.y + 8.0);
        } else if number.size().x <= room.width() {
            put(number, middle.y);
        }
    }

    /// Words in the middle of a band, where they have room; whether they have.
    fn inside(&self, painter: &Painter, band: Rect, text: &str, ink: Color32) -> bool {
        let galley = painter.layout_no_wrap(text.to_owned(), theme::small(), ink);
        let fits = galley.size().x + 6.0 <= band.width();
        if fits {
            painter.galley(band.center() - galley.size() / 2.0, galley, ink);
        }
        fits
    }
}

/// “2310.0 mm, give or take 1.0 · heat H 48217 · rack T”.
fn facts(stock: &Stock, unit: LengthUnit, more: &str) -> String {
    let mut text = format!("{} {unit}", unit.show(stock.length));
    if stock.give_or_take > 0.0 {
        text += &format!(", up to {} less", unit.show(stock.give_or_take));
    }
    if !stock.heat.is_empty() {
        text += &format!(" · heat {}", stock.heat);
    }
    if !stock.place.is_empty() {
        text += &format!(" · {}", stock.place);
    }
    if !more.is_empty() {
        text += &format!(" · {more}");
    }
    text
}

/// A part alone, as a strip with its ends, into a box.
pub(super) fn strip(painter: &Painter, c: &Colours, list: &CutList, part: &Wanted, frame: Rect) {
    let scale = frame.width() / part.length.max(1.0) as f32;
    // Slopes are made plain rather than true: a mitre on a long part would not be seen.
    let back = |end: usize| {
        let slope = part.slopes(list.height().max(1.0))[end] as f32 * scale;
        if part.ends[end] > 0.0 { slope.clamp(5.0, frame.width() / 3.0) } else { 0.0 }
    };
    let alike = (part.ends_turn.to_degrees().rem_euclid(360.0) - 180.0).abs() < 90.0;
    let (near, far) = (back(0), back(1));
    let (far_up, far_down) = if alike { (far, 0.0) } else { (0.0, far) };
    let corners: Vec<Pos2> = vec![
        frame.left_top(),
        frame.right_top() - vec2(far_up, 0.0),
        frame.right_bottom() - vec2(far_down, 0.0),
        frame.left_bottom() + vec2(near, 0.0),
    ];
    painter.add(Shape::convex_polygon(corners, c.paper, Stroke::new(1.4, c.ink)));
    for hole in &part.holes {
        let y = match Face::named(&hole.face) {
            Some(Face::Top) => frame.top() + 2.0,
            Some(Face::Bottom) => frame.bottom() - 2.0,
            Some(Face::Front | Face::Back) | None => frame.center().y,
        };
        let at = pos2(frame.left() + hole.at as f32 * scale, y);
        painter.circle(at, 2.0, c.bed, Stroke::new(1.0, c.ink));
    }
}
