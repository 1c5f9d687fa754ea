//! What must not change what a drawing reads as.

use proptest::prelude::*;

use super::*;

/// A part in pieces: lines and arcs as ends and bulge.
type Pieces = Vec<((f64, f64), (f64, f64), f64)>;

/// A plate with corners cut by arcs, a slot and a triangle in it, and one more plate beside.
fn plate(width: f64, height: f64, bulge: f64) -> Pieces {
    let chain = |vertices: &[(f64, f64, f64)]| {
        let next = vertices.iter().cycle().skip(1);
        let pairs = vertices.iter().zip(next);
        pairs.map(|(a, b)| ((a.0, a.1), (b.0, b.1), a.2)).collect::<Vec<_>>()
    };
    let (w, h) = (width, height);
    let mut pieces = chain(&[
        (5.0, 0.0, 0.0),
        (w, 0.0, 0.0),
        (w, h - 5.0, bulge),
        (w - 5.0, h, 0.0),
        (0.0, h, 0.0),
        (0.0, 5.0, -bulge),
    ]);
    pieces.extend(chain(&[
        (10.0, 10.0, 0.0),
        (20.0, 10.0, 1.0),
        (20.0, 16.0, 0.0),
        (10.0, 16.0, 1.0),
    ]));
    pieces.extend(chain(&[(w - 9.0, 10.0, 0.0), (w - 4.0, 10.0, 0.0), (w - 9.0, 14.0, 0.0)]));
    pieces.extend(chain(&[(w + 10.0, 0.0, 0.0), (w + 30.0, 0.0, 0.4), (w + 20.0, 9.0, 0.0)]));
    pieces
}

/// The pieces as entities.
fn strokes(pieces: &Pieces) -> String {
    let one = |((x1, y1), (x2, y2), bulge): &((f64, f64), (f64, f64), f64)| {
        if *bulge == 0.0 {
            line(*x1, *y1, *x2, *y2)
        } else {
            format!(" 0 LWPOLYLINE 70 0 10 {x1} 20 {y1} 42 {bulge} 10 {x2} 20 {y2}")
        }
    };
    pieces.iter().map(one).collect()
}

fn drawn(pieces: &Pieces) -> String {
    entities(&strokes(pieces))
}

/// Halves every piece.
fn halved(pieces: &Pieces) -> Pieces {
    let mut halves = Vec::new();
    for ((x1, y1), (x2, y2), bulge) in pieces {
        let (a, b) = (Point::<PartSpace>::new(*x1, *y1), Point::new(*x2, *y2));
        let edge = Edge::new(a, b, *bulge);
        for half in [edge.between(0.0, 0.5), edge.between(0.5, 1.0)] {
            let (from, to) = (half.from(), half.to());
            halves.push(((from.x, from.y), (to.x, to.y), half.bulge()));
        }
    }
    halves
}

/// Area, holes and all-round length of each region.
fn measures(text: &str) -> Vec<(f64, usize, f64)> {
    let regions = read(text).regions;
    regions
        .iter()
        .map(|f| (f.region.area(), f.region.holes().len(), f.region.perimeter()))
        .collect()
}

fn same(a: &[(f64, usize, f64)], b: &[(f64, usize, f64)]) -> bool {
    a.len() == b.len()
        && a.iter()
            .zip(b)
            .all(|(a, b)| (a.0 - b.0).abs() < 0.01 && a.1 == b.1 && (a.2 - b.2).abs() < 0.01)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn where_which_way_and_in_what_order_does_not_matter(
        (width, height, bulge) in (60.0..200.0, 30.0..90.0, -0.9..0.9_f64),
        turn in 0.0..360.0_f64,
        shift in (-1e4..1e4_f64, -1e4..1e4_f64),
        mirror in any::<bool>(),
        order in Just((0..40_usize).collect::<Vec<_>>()).prop_shuffle(),
        backwards in any::<u64>(),
    ) {
        let pieces = plate(width, height, bulge);
        let expected = measures(&drawn(&pieces));
        prop_assert_eq!(expected.iter().map(|m| m.1).sum::<usize>(), 2);
        prop_assert!(same(&expected, &measures(&drawn(&halved(&pieces)))));

        let (sin, cos) = turn.to_radians().sin_cos();
        let sign = if mirror { -1.0 } else { 1.0 };
        let moved = |(x, y): (f64, f64)| {
            let x = x * sign;
            (x * cos - y * sin + shift.0, x * sin + y * cos + shift.1)
        };
        let mut moved: Pieces = (halved(&pieces).into_iter().enumerate())
            .map(|(i, (a, b, bulge))| {
                let (a, b, bulge) = (moved(a), moved(b), bulge * sign);
                if backwards >> (i % 64) & 1 == 1 { (b, a, -bulge) } else { (a, b, bulge) }
            })
            .collect();
        let mut keys: Vec<_> = order.into_iter().cycle().take(moved.len()).collect();
        keys.iter_mut().enumerate().for_each(|(i, k)| *k += 40 * (i % 3));
        let mut keyed: Vec<_> = keys.into_iter().zip(moved.drain(..)).collect();
        keyed.sort_by_key(|(k, _)| *k);
        let shuffled: Pieces = keyed.into_iter().map(|(_, piece)| piece).collect();
        prop_assert!(same(&expected, &measures(&drawn(&shuffled))));

        let insert = format!(
            "0 INSERT 2 P 10 {} 20 {} 41 {sign} 50 {turn}", shift.0, shift.1
        );
        let body = format!("0 BLOCK 2 P 10 0 20 0 {} 0 ENDBLK", strokes(&pieces));
        prop_assert!(same(&expected, &measures(&file(&[("BLOCKS", &body), ("ENTITIES", &insert)]))));
    }

    #[test]
    fn ellipses_are_followed_within_the_bound(
        (a, ratio) in (1.0..500.0_f64, 0.02..1.0_f64),
        turn in 0.0..360.0_f64,
    ) {
        let (sin, cos) = turn.to_radians().sin_cos();
        let text = format!(" 0 ELLIPSE 10 7 20 -3 11 {} 21 {} 40 {ratio}", a * cos, a * sin)
            + &rectangle(-2000.0, -2000.0, 3000.0, 3000.0);
        let drawing = read(&entities(&text));
        let hole = &drawing.regions[0].region.holes()[0];
        let area = std::f64::consts::PI * a * a * ratio;
        prop_assert!((hole.area() - area).abs() <= 0.005 * hole.perimeter());
        prop_assert!(hole.vertices().len() < 200, "{}", hole.vertices().len());
        for edge in hole.edges() {
            for i in 0..8 {
                let p = edge.at(f64::from(i) / 8.0) - Point::new(7.0, -3.0);
                let (x, y) = (p.x * cos + p.y * sin, p.y * cos - p.x * sin);
                // The parameter of the nearest point lies near that of the same direction.
                let b = a * ratio;
                let off = |t: f64| (x - a * t.cos()).hypot(y - b * t.sin());
                let guess = (y / b).atan2(x / a);
                let (mut low, mut high) = (guess - 0.05, guess + 0.05);
                for _ in 0..60 {
                    let (one, two) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
                    if off(one) < off(two) { high = two } else { low = one }
                }
                prop_assert!(off(low) <= 0.005, "{}", off(low));
            }
        }
    }
}
