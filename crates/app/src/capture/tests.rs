use std::io::Cursor;
use std::sync::Arc;
use std::time::{Duration, Instant};

use image::ImageFormat;
use oddment_core::shape::Point;
use oddment_core::sheet::EdgeKind;
use oddment_core::units::LengthUnit;
use oddment_photo::rendered::{Rendered, Scene, Shot, drilled, render};

use super::*;

/// A photograph of the drilled sheet from the side, as a file, and what it really shows.
fn photographed(name: &str) -> (PathBuf, Rendered) {
    let scene = Scene::plain(drilled().unwrap());
    let shot = Shot {
        size: [1400, 1050],
        tilt: 0.4,
        from: -1.2,
        lens: 0.003,
        blur: 0.7,
        noise: 2.0,
        seed: 3,
    };
    let rendered = render(&scene, &shot);
    let mut bytes = Cursor::new(Vec::new());
    rendered.picture.write_to(&mut bytes, ImageFormat::Jpeg).unwrap();
    let file = std::env::temp_dir().join(format!("oddment-{name}-{}.jpg", std::process::id()));
    std::fs::write(&file, bytes.into_inner()).unwrap();
    (file, rendered)
}

fn until(capture: &mut Capture) {
    let begun = Instant::now();
    while capture.at_work().is_some() {
        capture.poll();
        assert!(begun.elapsed() < Duration::from_secs(120), "nothing comes of it");
        std::thread::sleep(Duration::from_millis(5));
    }
}

#[test]
fn a_photographed_sheet_is_captured_corrected_and_known_edge_by_edge() {
    let (file, rendered) = photographed("captured");
    let mut capture = Capture::open(file.clone(), Arc::new(|| {})).unwrap();
    until(&mut capture);
    assert!(capture.photo().is_some(), "{:?}", capture.problem());
    capture.act(CaptureAct::Look);
    assert_eq!(capture.problem(), Some("Place all four corners"));
    capture.act(CaptureAct::Know(Known::Sheet([1000.0, 700.0])));
    for (n, at) in rendered.placed([1000.0, 700.0], 4.0).into_iter().enumerate() {
        capture.act(CaptureAct::Place(n, at));
    }
    capture.act(CaptureAct::Look);
    until(&mut capture);
    assert!(capture.is_looked_at(), "{:?}", capture.problem());
    let truth = drilled().unwrap();
    let holes = |c: &Capture| c.said().contours.iter().filter(|c| c.kept && !c.outer).count();
    assert_eq!(holes(&capture), truth.holes().len());
    let captured = capture.captured(3.0, LengthUnit::Mm).unwrap();
    let made = Made::of(&captured, LengthUnit::Mm).unwrap();
    // Three millimetres thick, seen 23° from above at the middle and more at the far edge.
    let slanted = capture.at_a_slant(3.0);
    assert!(slanted > 3.0 * 0.4_f64.tan() && slanted < 6.0, "{slanted}");
    assert!(slanted < captured.outer.give_or_take() && capture.at_a_slant(0.0) == 0.0);
    assert!((made.outline.area() - truth.area()).abs() < 0.004 * truth.area());

    // One is none; one is moved; one is traced; some metal is hidden; one edge was sheared and taped.
    let largest = capture.said().contours.iter().position(|c| !c.outer).unwrap();
    capture.act(CaptureAct::Keep(largest, false));
    assert_eq!(holes(&capture), truth.holes().len() - 1);
    capture.act(CaptureAct::Undo);
    assert_eq!(holes(&capture), truth.holes().len());
    capture.act(CaptureAct::Redo);
    let (centre, radius) = (Point::new(820.0, 380.0), 55.0);
    let pressed = (0..4).map(|k| {
        centre + Vector::at_angle(f64::from(k) * std::f64::consts::FRAC_PI_2) * (radius + 1.5)
    });
    capture.act(CaptureAct::Trace(Tracing::CutOut, pressed.collect(), false));
    let (at, r) = capture.said().contours.last().unwrap().circle().unwrap();
    assert!(at.distance(centre) < 1.0 && (r - radius).abs() < 1.0, "{at:?} {r}");
    // Dragged where no edge is, it is as good as a hand is, and no better for having been seen before.
    let last = capture.said().contours.len() - 1;
    assert!(capture.said().contours[last].is_seen());
    capture.act(CaptureAct::Resize(last, r + 9.0));
    let dragged = &capture.said().contours[last];
    assert!(!dragged.is_seen() && dragged.offered.off > 1.0, "{}", dragged.offered.off);
    capture.act(CaptureAct::Undo);
    assert!(capture.said().contours[last].is_seen());
    let hidden = [(500.0, 300.0), (560.0, 300.0), (560.0, 360.0)].map(|p| Point::new(p.0, p.1));
    capture.act(CaptureAct::Trace(Tracing::Unseen, hidden.to_vec(), false));
    let sheared = EdgeSaid { kind: EdgeKind::Sheared, give_or_take: Some(0.4) };
    capture.act(CaptureAct::Edge(0, 1, sheared));
    let captured = capture.captured(3.0, LengthUnit::Mm).unwrap();
    assert_eq!(captured.unknown.len(), 1);
    let known = captured.outer.known();
    assert_eq!((known[1].facts.kind, known[1].facts.give_or_take), (EdgeKind::Sheared, 0.4));
    let seen = capture.seen_rim(capture.seen().unwrap(), &capture.said().contours[0], 3.0).unwrap();
    assert!(seen.known()[1].facts.give_or_take > 0.4);
    assert_eq!(known[0].facts.kind, EdgeKind::Mill);
    assert!(known[0].facts.give_or_take > 0.4);

    // Looked at anew with a bow, what was done by hand is there still, where it was seen.
    capture.act(CaptureAct::Bow(6.0));
    assert!(!capture.is_looked_at());
    capture.act(CaptureAct::Look);
    until(&mut capture);
    let by_hand = capture.said().contours.iter().filter(|c| c.by_hand).count();
    assert_eq!(
        (by_hand, holes(&capture), capture.said().unseen.len()),
        (1, truth.holes().len(), 1)
    );
    // Measured with the pointer its edges are known better.
    let rows = "edge\n100,0\n900,0\n\n1000,100\n1000,600\n\n900,700\n100,700\n\n0,600\n0,100\n";
    capture.act(CaptureAct::Points(rows.to_owned()));
    let captured = capture.captured(3.0, LengthUnit::Mm).unwrap();
    assert!(captured.outer.give_or_take() < 1.0, "{:?}", captured.outer.known());
    assert!((captured.outer.shape().area() - 700_000.0).abs() < 1.0);
    std::fs::remove_file(file).unwrap();
}

#[test]
fn a_photograph_that_is_none_is_refused_in_words() {
    let file = std::env::temp_dir().join(format!("oddment-no-photo-{}.jpg", std::process::id()));
    std::fs::write(&file, b"no picture").unwrap();
    let mut capture = Capture::open(file.clone(), Arc::new(|| {})).unwrap();
    until(&mut capture);
    assert!(capture.problem().is_some_and(|p| p.contains("no JPEG or PNG")));
    std::fs::remove_file(file).unwrap();
}
