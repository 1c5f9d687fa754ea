//! Writes a photograph of a sheet that never was, for trying the window: `photograph FILE.jpg [target|sheet]`.
//! Tells where a hand would place the corners.

use std::path::PathBuf;

use oddment_photo::rendered::{Scene, Shot, drilled, notched, render};
use oddment_photo::{Paper, Target};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let file = PathBuf::from(args.next().ok_or("name a file to write")?);
    let on_target = args.next().as_deref() != Some("sheet");
    let target = on_target.then_some(Target { paper: Paper::A4, printed: None });
    let metal = match &target {
        Some(target) => notched(target)?,
        None => drilled()?,
    };
    let size = target.as_ref().map_or([1000.0, 700.0], Target::size);
    let scene = Scene { target, rust: 0.35, glare: 50.0, ..Scene::plain(metal) };
    let shot = Shot {
        size: [4000, 3000],
        tilt: 0.4,
        from: -1.2,
        lens: 0.004,
        blur: 1.0,
        noise: 3.0,
        seed: 5,
    };
    let rendered = render(&scene, &shot);
    rendered.picture.save(&file)?;
    for (n, at) in rendered.placed(size, 0.0).iter().enumerate() {
        println!("corner {} at {:.0}, {:.0}", n + 1, at.x, at.y);
    }
    Ok(())
}
