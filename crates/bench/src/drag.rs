//! A part dragged over a full sheet in the window: what one frame costs us, without the screen.

use std::sync::Arc;
use std::time::{Duration, Instant};

use egui::{
    Context, CursorIcon, Event, Modifiers, PointerButton, Pos2, RawInput, Rect, Vec2, pos2, vec2,
};
use oddment_app::act::Act;
use oddment_app::open_job::OpenJob;
use oddment_app::session::Session;
use oddment_files::job_file::{Origin, SourcedJob};
use oddment_window::Window;

use crate::check::scene;
use crate::report::Table;

const SIZE: Vec2 = vec2(1400.0, 900.0);
const FRAMES: usize = 300;

/// Figures for dragging one of 300 parts among 200 cut-outs.
pub(crate) fn run() -> Table {
    let mut table = Table::new();
    match scene() {
        Ok((job, plan)) => {
            let mut sourced = SourcedJob::new(job.clearances);
            job.stock.into_iter().for_each(|s| sourced.add_sheet(s, Origin::Outline));
            job.wanted.into_iter().for_each(|w| sourced.add_part(w, Origin::Outline));
            measure(&mut table, OpenJob { title: "full".into(), sourced: Arc::new(sourced), plan });
        }
        Err(fault) => eprintln!("error: {fault}"),
    }
    table
}

fn measure(table: &mut Table, open: OpenJob) {
    let ctx = Context::default();
    let mut session = Session::new(open, None, Arc::new(|| {}));
    session.apply(Act::HideHint);
    let mut window = Window::new(&ctx, session);
    let mut ours = |events: Vec<Event>| -> (Duration, Duration, CursorIcon) {
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, SIZE)),
            events,
            ..RawInput::default()
        };
        let begun = Instant::now();
        let mut out = ctx.run_ui(input, |ui| window.main_ui(ui));
        let drawn = begun.elapsed();
        // There is no screen to give them to.
        out.textures_delta.clear();
        let shapes = std::mem::take(&mut out.shapes);
        std::hint::black_box(ctx.tessellate(shapes, out.pixels_per_point));
        (drawn, begun.elapsed(), out.platform_output.cursor_icon)
    };
    for _ in 0..5 {
        ours(Vec::new());
    }
    // Whatever part lies under one of these points of the canvas.
    let Some(at) = (0..60).map(|i| pos2(760.0 + 3.0 * i as f32, 450.0)).find(|at| {
        // Twice: what lies under the pointer is known from the frame before.
        ours(vec![Event::PointerMoved(*at)]);
        ours(Vec::new()).2 == CursorIcon::Grab
    }) else {
        eprintln!("error: no part is on the screen");
        return;
    };
    let press = |pressed| Event::PointerButton {
        pos: at,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    };
    ours(vec![Event::PointerMoved(at)]);
    ours(vec![press(true)]);
    let mut times: Vec<(Duration, Duration, CursorIcon)> = (1..=FRAMES)
        .map(|i| {
            // Round and round, outward, through whatever is in the way.
            let turn = i as f32 * 0.07;
            let to = at + vec2(turn.cos(), turn.sin()) * i as f32;
            ours(vec![Event::PointerMoved(to)])
        })
        .collect();
    if window.session().hand().is_none() {
        eprintln!("error: no part was picked up");
        return;
    }
    for (what, pick) in
        [("drag one of 300 parts: our own computation", 0), ("the same with tessellation", 1)]
    {
        let of = |t: &(Duration, Duration, CursorIcon)| if pick == 0 { t.0 } else { t.1 };
        times.sort_by_key(of);
        let ms = |share: f64| {
            let i = ((times.len() as f64 * share) as usize).min(times.len() - 1);
            of(&times[i]).as_secs_f64() * 1e3
        };
        let wanted = (pick == 0).then_some(4.0);
        table.add(format!("{what}, median"), ms(0.5), "ms", wanted);
        table.add(format!("{what}, 95 of 100"), ms(0.95), "ms", wanted);
    }
}
