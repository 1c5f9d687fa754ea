//! Photographs at 12 megapixels of a sheet of a metre, rendered with known truth: how far what is found
//! lies from it, what is missed and what is offered that is none, and whether the give or take holds.

use std::time::Instant;

use oddment_core::job::Stop;
use oddment_core::shape::LoopFault;
use oddment_photo::rendered::{Bed, Scene, Shot, drilled, judged, notched, render};
use oddment_photo::{NoCamera, Paper, Photograph, Reference, Stated, Target, calibrate, find};

use crate::report::Table;

/// What is off at most on a flat sheet, mm.
const WANTED: f64 = 2.0;
/// How far a hand places corners from where they are, pixels.
const HAND: f64 = 8.0;

pub(crate) fn run() -> Table {
    let mut table = Table::new();
    let cases = match cases() {
        Ok(cases) => cases,
        Err(fault) => {
            eprintln!("error: {fault}");
            return table;
        }
    };
    for (name, scene, shot) in cases {
        if let Err(fault) = measure(&mut table, name, &scene, &shot) {
            eprintln!("error: {name}: {fault}");
            table.add(format!("{name}: failed"), 1.0, "", Some(0.0));
        }
    }
    table
}

fn cases() -> Result<Vec<(&'static str, Scene, Shot)>, LoopFault> {
    let degrees = |d: f64| d.to_radians();
    let flat = Shot {
        size: [4000, 3000],
        tilt: 0.0,
        from: degrees(-70.0),
        lens: 0.003,
        blur: 1.0,
        noise: 3.0,
        seed: 5,
    };
    let tilted = |tilt: f64| Shot { tilt: degrees(tilt), ..flat };
    let target = Target { paper: Paper::A4, printed: None };
    let plain = Scene { target: Some(target), ..Scene::plain(notched(&target)?) };
    let (rust, glare) = (0.5, 110.0);
    let on_floor = Scene { bed: Bed::Floor, ..plain.clone() };
    let sides = Scene::plain(drilled()?);
    let hard = Shot { blur: 2.0, noise: 8.0, lens: 0.01, ..tilted(30.0) };
    Ok(vec![
        ("from above", plain.clone(), flat),
        ("20°", plain.clone(), tilted(20.0)),
        ("40°", plain.clone(), tilted(40.0)),
        ("40° from the side", plain.clone(), Shot { from: degrees(10.0), ..tilted(40.0) }),
        ("20°, lens 2 %", plain.clone(), Shot { lens: 0.02, ..tilted(20.0) }),
        ("30°, blur, noise, lens 1 %", plain.clone(), hard),
        ("20°, rust", Scene { rust, ..plain.clone() }, tilted(20.0)),
        ("20°, glare", Scene { glare, ..plain.clone() }, tilted(20.0)),
        ("25°, rust and glare", Scene { rust, glare, ..plain.clone() }, tilted(25.0)),
        ("20°, light floor", on_floor.clone(), tilted(20.0)),
        ("20°, light floor, rust and glare", Scene { rust, glare, ..on_floor }, tilted(20.0)),
        ("20°, bow 10 mm", Scene { bow: 10.0, ..plain.clone() }, tilted(20.0)),
        ("40°, bow 10 mm", Scene { bow: 10.0, ..plain }, tilted(40.0)),
        ("sheet's corners, 30°", sides.clone(), tilted(30.0)),
        ("sheet's corners, 40°, rust and glare", Scene { rust, glare, ..sides }, tilted(40.0)),
    ])
}

fn measure(table: &mut Table, name: &str, scene: &Scene, shot: &Shot) -> Result<(), NoCamera> {
    let rendered = render(scene, shot);
    let reference = match scene.target {
        Some(target) => Reference::Target(target),
        None => Reference::Rectangle { size: [1000.0, 700.0], give_or_take: 1.0 },
    };
    let placed = rendered.placed(reference.size(), HAND);
    let Ok(photo) = Photograph::of(rendered.picture) else { return Err(NoCamera::NoSize) };
    let begun = Instant::now();
    let seen = calibrate(&photo, reference, placed)?;
    let found = find(&photo, &seen, scene.bow == 0.0, &Stop::default(), &mut |_| {});
    let seconds = begun.elapsed().as_secs_f64();
    let stated = Stated { bow: scene.bow, ..Stated::default() };
    let j = judged(scene, &found, &stated);
    let wanted = (scene.bow == 0.0).then_some(WANTED);
    table.add(format!("{name}: outline off at most"), j.outline, "mm", wanted);
    table.add(format!("{name}: holes off at most"), j.hole, "mm", wanted);
    table.add(format!("{name}: holes missed, of {}", j.holes), j.missed as f64, "", Some(0.0));
    table.add(format!("{name}: false ones"), j.wrong as f64, "", Some(3.0));
    table.reach(format!("{name}: edges within give or take"), 100.0 * j.held, "%", 95.0);
    table.add(format!("{name}: give or take at most"), j.said, "mm", None);
    table.add(format!("{name}: time"), seconds, "s", None);
    Ok(())
}
