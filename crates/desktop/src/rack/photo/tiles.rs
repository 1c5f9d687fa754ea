//! Large pictures on the screen: as textures that any graphics card takes.

use eframe::egui::{
    Color32, ColorImage, Context, Painter, Pos2, Rect, TextureHandle, TextureOptions, pos2,
};
use image::RgbImage;

/// Pixels to a side of a tile.
const TILE: u32 = 1024;

/// A picture cut into tiles, some of them loaded.
#[derive(Default)]
pub(super) struct Tiles {
    loaded: Vec<(Rect, TextureHandle)>,
}

impl Tiles {
    /// Loads one more tile, so that no frame waits for all of them.
    pub(super) fn load(&mut self, ctx: &Context, picture: &RgbImage) {
        let (w, h) = picture.dimensions();
        let across = w.div_ceil(TILE);
        let next = self.loaded.len() as u32;
        if next >= across * h.div_ceil(TILE) {
            return;
        }
        let (x, y) = (next % across * TILE, next / across * TILE);
        let (wide, high) = (TILE.min(w - x), TILE.min(h - y));
        let row = |y: u32| {
            let from = 3 * (y as usize * w as usize + x as usize);
            &picture.as_raw()[from..from + 3 * wide as usize]
        };
        let pixels = (y..y + high).flat_map(|y| row(y).as_chunks::<3>().0);
        let pixels = pixels.map(|[r, g, b]| Color32::from_rgb(*r, *g, *b)).collect();
        let tile = ColorImage::new([wide as usize, high as usize], pixels);
        // Single pixels are to be told apart when looked at closely.
        let options = TextureOptions {
            magnification: eframe::egui::TextureFilter::Nearest,
            ..TextureOptions::LINEAR
        };
        let texture = ctx.load_texture(format!("tile {next}"), tile, options);
        let place = Rect::from_min_max(
            pos2(x as f32, y as f32),
            pos2((x + wide) as f32, (y + high) as f32),
        );
        self.loaded.push((place, texture));
        ctx.request_repaint();
    }

    /// Draws what is loaded; `to_screen` says where a pixel's upper left corner goes.
    pub(super) fn draw(&self, painter: &Painter, to_screen: impl Fn(Pos2) -> Pos2) {
        let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
        for (place, texture) in &self.loaded {
            let at = Rect::from_two_pos(to_screen(place.min), to_screen(place.max));
            if at.intersects(painter.clip_rect()) {
                painter.image(texture.id(), at, whole, Color32::WHITE);
            }
        }
    }
}
