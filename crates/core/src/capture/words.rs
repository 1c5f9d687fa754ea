//! What is missing from a sheet and what is cut out of it, in a few words each:
//!
//! ```text
//! upper right 400x300                     missing at a corner
//! top 100x30 at 250                       a notch, from so far along the side
//! circle 20 at 100,50                     its middle
//! slot 60x12 at 200,80 turn 30            its middle
//! rectangle 40x30 at 10,10                its lower left corner
//! polygon 0,0 40,0 20,30
//! circle 9 at 100,50 row 5 step 40,0      five of them
//! circle 9 at 300,200 bolt 6 on 120       six on a circle of 120; `from 30`: the first at 30°
//! ```
//!
//! `mill`, `sheared` or `own-cut` says how the edges were made, `give 0.5` how far they may be off.

use super::typed::{Corner, Cutout, EdgeSaid, Missing, MissingAt, Pattern, Shape, Side};
use crate::shape::{Point, Vector};
use crate::sheet::EdgeKind;
use crate::units::{LengthUnit, parse_length};

/// Reads what is missing from the outline, bare numbers in `unit`.
///
/// # Errors
/// A sentence.
pub fn read_missing(text: &str, unit: LengthUnit) -> Result<Missing, String> {
    let mut words = Words::of(text, unit);
    let corner = Corner::ALL.into_iter().find(|c| words.take_phrase(c.name()));
    let side = Side::ALL.into_iter().find(|s| corner.is_none() && words.take_phrase(s.name()));
    let mut edges = EdgeSaid { kind: EdgeKind::OwnCut, give_or_take: None };
    let [width, depth] = words.size()?;
    let mut at = None;
    while let Some(word) = words.next() {
        match word {
            "at" => at = Some(words.length()?),
            _ => words.edge_word(word, &mut edges)?,
        }
    }
    let at = match (corner, side, at) {
        (Some(corner), _, None) => MissingAt::Corner(corner),
        (_, Some(side), Some(at)) => MissingAt::Side(side, at),
        (_, Some(_), None) => return Err(words.fault("say how far along, as in top 100x30 at 250")),
        _ => return Err(words.fault("write for example upper right 400x300, or top 100x30 at 250")),
    };
    Ok(Missing { at, width, depth, edges })
}

/// Reads what is cut out, bare numbers in `unit`.
///
/// # Errors
/// A sentence.
pub fn read_cutout(text: &str, unit: LengthUnit) -> Result<Cutout, String> {
    let mut words = Words::of(text, unit);
    let (shape, placed) = match words.next() {
        Some("circle") => (Shape::Circle(words.length()?), false),
        Some("slot") => (Shape::Slot(words.size()?), false),
        Some("rectangle") => (Shape::Rectangle(words.size()?), false),
        Some("polygon") => (Shape::Polygon(words.corners()?), true),
        _ => return Err(words.fault("write for example circle 20 at 100,50")),
    };
    let mut at = placed.then(Vector::default);
    let (mut turn, mut pattern) = (0.0, Pattern::One);
    let mut edges = EdgeSaid { kind: EdgeKind::OwnCut, give_or_take: None };
    while let Some(word) = words.next() {
        match (word, &mut pattern) {
            ("at", _) => at = Some(words.pair()?),
            ("turn", _) => turn = words.degrees()?,
            ("row", _) => pattern = Pattern::Row(words.count()?, Vector::default()),
            ("step", Pattern::Row(_, step)) => *step = words.pair()?,
            ("bolt", _) => pattern = Pattern::BoltCircle(words.count()?, 0.0, 0.0),
            ("on", Pattern::BoltCircle(_, diameter, _)) => *diameter = words.length()?,
            ("from", Pattern::BoltCircle(_, _, first)) => *first = words.degrees()?,
            _ => words.edge_word(word, &mut edges)?,
        }
    }
    let Some(at) = at else { return Err(words.fault("say where it is, as in at 100,50")) };
    match pattern {
        Pattern::Row(_, step) if step == Vector::default() => {
            Err(words.fault("say how far apart they are, as in row 5 step 40,0"))
        }
        Pattern::BoltCircle(_, diameter, _) if diameter <= 0.0 => {
            Err(words.fault("say on which circle, as in bolt 6 on 120"))
        }
        _ => Ok(Cutout { shape, at, turn, pattern, edges }),
    }
}

struct Words<'a> {
    text: &'a str,
    rest: std::collections::VecDeque<&'a str>,
    unit: LengthUnit,
}

impl<'a> Words<'a> {
    fn of(text: &'a str, unit: LengthUnit) -> Self {
        Self { text, rest: text.split_whitespace().collect(), unit }
    }

    fn fault(&self, what: &str) -> String {
        let text: String = self.text.chars().take(60).collect();
        format!("“{text}”: {what}")
    }

    fn next(&mut self) -> Option<&'a str> {
        self.rest.pop_front()
    }

    /// Takes these words, if they come next.
    fn take_phrase(&mut self, phrase: &str) -> bool {
        let n = phrase.split(' ').count();
        let here = self.rest.len() >= n && phrase.split(' ').eq(self.rest.iter().take(n).copied());
        if here {
            self.rest.drain(..n);
        }
        here
    }

    fn length_of(&self, text: &str) -> Result<f64, String> {
        parse_length(text, self.unit).map_err(|why| self.fault(&why.to_string()))
    }

    fn length(&mut self) -> Result<f64, String> {
        let word = self.next().unwrap_or_default();
        self.length_of(word)
    }

    fn size(&mut self) -> Result<[f64; 2], String> {
        let word = self.next().unwrap_or_default();
        let sides = word.split_once(['x', 'X', '×', '*']);
        let (w, h) = sides.ok_or_else(|| self.fault("a size is two lengths, as in 60x12"))?;
        Ok([self.length_of(w)?, self.length_of(h)?])
    }

    fn pair_of(&self, word: &str) -> Result<Vector, String> {
        let parts = word.split_once(',');
        let (x, y) = parts.ok_or_else(|| self.fault("a place is X,Y, as in 100,50"))?;
        Ok(Vector::new(self.length_of(x)?, self.length_of(y)?))
    }

    fn pair(&mut self) -> Result<Vector, String> {
        let word = self.next().unwrap_or_default();
        self.pair_of(word)
    }

    fn corners(&mut self) -> Result<Vec<Point<crate::shape::SheetSpace>>, String> {
        let mut corners = Vec::new();
        while self.rest.front().is_some_and(|w| w.contains(',')) {
            corners.push(Point::origin() + self.pair()?);
        }
        Ok(corners)
    }

    fn count(&mut self) -> Result<usize, String> {
        let count = self.next().and_then(|w| w.parse().ok());
        count.ok_or_else(|| self.fault("say how many, as in row 5 step 40,0"))
    }

    fn degrees(&mut self) -> Result<f64, String> {
        let word = self.next().unwrap_or_default();
        let degrees = word.trim_end_matches('°').parse().ok().filter(|d: &f64| d.abs() <= 360.0);
        let degrees = degrees.ok_or_else(|| self.fault("an angle is in degrees, as in turn 30"))?;
        Ok(degrees.to_radians())
    }

    fn edge_word(&mut self, word: &str, edges: &mut EdgeSaid) -> Result<(), String> {
        match word {
            "mill" => edges.kind = EdgeKind::Mill,
            "sheared" => edges.kind = EdgeKind::Sheared,
            "own-cut" => edges.kind = EdgeKind::OwnCut,
            "give" => {
                let length = self.length()?;
                if !(0.0..=1000.0).contains(&length) {
                    return Err(self.fault("give or take is a length from 0 to 1000 mm"));
                }
                edges.give_or_take = Some(length);
            }
            _ => return Err(self.fault(&format!("“{word}” is not understood here"))),
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cut_outs_are_read() {
        let read = |text: &str| read_cutout(text, LengthUnit::Mm).unwrap();
        let hole = read("circle 9 at 300,200 bolt 6 on 120 from 90 mill give 0.5");
        assert_eq!((hole.shape, hole.at), (Shape::Circle(9.0), Vector::new(300.0, 200.0)));
        assert_eq!(hole.pattern, Pattern::BoltCircle(6, 120.0, std::f64::consts::FRAC_PI_2));
        assert_eq!(hole.edges, EdgeSaid { kind: EdgeKind::Mill, give_or_take: Some(0.5) });
        let row = read("slot 60x12 at 10,20 turn 90 row 5 step 40,0");
        assert_eq!(row.pattern, Pattern::Row(5, Vector::new(40.0, 0.0)));
        assert_eq!(read("polygon 0,0 40,0 20,30").at, Vector::default());
        let inches = read_cutout("circle 1/2 at 1,2", LengthUnit::Inch).unwrap();
        assert_eq!((inches.shape, inches.at.x), (Shape::Circle(12.7), 25.4));
    }

    #[test]
    fn what_is_missing_is_read() {
        let read = |text: &str| read_missing(text, LengthUnit::Mm).unwrap();
        let corner = read("upper right 400x300");
        assert_eq!((corner.at, corner.width), (MissingAt::Corner(Corner::UpperRight), 400.0));
        assert_eq!(read("top 100x30 at 250 sheared").at, MissingAt::Side(Side::Top, 250.0));
    }

    #[test]
    fn what_is_not_understood_is_said() {
        for text in [
            "",
            "circle",
            "circle 9",
            "circle x at 1,2",
            "slot 9 at 1,2",
            "circle 9 at 1",
            "hexagon 9",
            "circle 9 at 1,2 row 5",
            "circle 9 at 1,2 bolt 6",
            "circle 9 at 1,2 row x",
            "circle 9 at 1,2 on 5",
            "circle 9 at 1,2 turn nan",
            "circle 9 at 1,2 give -1",
        ] {
            assert!(read_cutout(text, LengthUnit::Mm).is_err(), "{text}");
        }
        for text in ["", "upper 4x3", "top 100x30", "upper right 4x3 at 5", "upper right 400"] {
            assert!(read_missing(text, LengthUnit::Mm).is_err(), "{text}");
        }
    }
}
