//! The window: views over what is open, and what was done in them as acts.
//!
//! A library, so that the benchmarks can draw its frames without a screen.

mod act_list;
mod ask_path;
mod bars;
mod bed;
mod compare;
mod distances_card;
mod export_card;
mod fields;
mod first_screen;
mod keys;
mod line;
mod loads;
mod look;
mod place;
mod rack;
mod record_card;
mod recording;
mod sheet;
mod sheet_card;
mod shop;
mod stock_card;
mod strokes;
#[cfg(test)]
mod tests;
mod theme;
mod told;
mod top_line;
mod walk;
mod window;

use std::sync::Arc;

use eframe::egui::{self, ViewportBuilder};
use eframe::icon_data;
use oddment_app::keep::Keep;
use oddment_app::session::Session;
use oddment_app::start;

pub use window::Window;

/// Opens the window and stays until it is closed.
///
/// # Errors
/// Where the system gives none.
pub fn open() -> Result<(), eframe::Error> {
    let icon = icon_data::from_png_bytes(include_bytes!("../../../assets/icon.png"));
    let options = eframe::NativeOptions {
        renderer: eframe::Renderer::Glow,
        viewport: ViewportBuilder::default()
            .with_title("Oddment")
            .with_app_id("oddment")
            .with_icon(icon.unwrap_or_default())
            .with_inner_size(egui::vec2(1400.0, 900.0))
            .with_min_inner_size(egui::vec2(960.0, 600.0)),
        ..eframe::NativeOptions::default()
    };
    let make = |cc: &eframe::CreationContext<'_>| -> Result<Box<dyn eframe::App>, _> {
        let ctx = cc.egui_ctx.clone();
        let session = Session::new(
            start::first_job()?,
            Keep::of_this_person(),
            Arc::new(move || ctx.request_repaint()),
        );
        Ok(Box::new(Window::new(&cc.egui_ctx, session)))
    };
    eframe::run_native("Oddment", options, Box::new(make))
}
