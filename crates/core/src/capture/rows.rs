//! Points as typed or pasted: rows of X and Y under a word that says what they lie on.
//!
//! ```text
//! edge            two points or more on a straight edge; edges in order, once round
//! 0.4, 0.2
//! 1199, 0.1
//! free            points in order along an edge of any shape
//! corners         corners in order
//! circle          three points or more on the rim of a round cut-out
//! cutout          what follows goes round a cut-out
//! ```
//!
//! A blank line begins a further group of the same sort. Rows alone, under no word, are corners.

use crate::shape::{Point, SheetSpace};
use crate::units::{LengthUnit, parse_length};

/// More rows than anybody measures.
const MOST_ROWS: usize = 50_000;

/// What points lie on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feature {
    /// A straight edge.
    Edge,
    /// An edge of any shape, in order.
    Free,
    /// Corners, in order.
    Corners,
    /// The rim of a circle.
    Circle,
}

impl Feature {
    /// Its word.
    pub fn name(self) -> &'static str {
        match self {
            Self::Edge => "edge",
            Self::Free => "free",
            Self::Corners => "corners",
            Self::Circle => "circle",
        }
    }
}

/// Points that lie on one thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// What it is.
    pub feature: Feature,
    /// In the order they were measured.
    pub points: Vec<Point<SheetSpace>>,
}

/// Groups that go round one closed edge.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ring {
    /// Whether it is a cut-out rather than the outer edge.
    pub is_cutout: bool,
    /// In order.
    pub groups: Vec<Group>,
}

/// A row that can't be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("row {row}: {what}")]
pub struct RowFault {
    /// From 1.
    pub row: usize,
    /// What is wrong, and what to write.
    pub what: String,
}

/// The rings in `text`, bare numbers in `unit`. Circles are rings of their own and cut-outs, but for one
/// that is all there is.
///
/// # Errors
/// Every row that can't be read.
pub fn read_rows(text: &str, unit: LengthUnit) -> Result<Vec<Ring>, Vec<RowFault>> {
    let mut rings: Vec<Ring> = Vec::new();
    let mut faults = Vec::new();
    let mut feature = Feature::Corners;
    let (mut is_cutout, mut fresh_ring, mut fresh_group) = (false, true, true);
    for (i, line) in text.lines().enumerate() {
        let row = line.split('#').next().unwrap_or_default().trim();
        let lower = row.to_lowercase();
        let word = lower.trim_end_matches(':').trim();
        let word = word.split_whitespace().next().unwrap_or_default();
        let named = [Feature::Edge, Feature::Free, Feature::Corners, Feature::Circle];
        let named =
            named.into_iter().find(|f| f.name() == word || f.name() == word.to_owned() + "s");
        if i >= MOST_ROWS {
            let what = format!("there are more than {MOST_ROWS} rows; give fewer points");
            faults.push(RowFault { row: i + 1, what });
            break;
        } else if row.is_empty() {
            fresh_group = true;
        } else if let Some(named) = named {
            feature = named;
            fresh_group = true;
        } else if matches!(word, "outer" | "cutout" | "cut-out" | "hole") {
            (is_cutout, fresh_ring, fresh_group) = (word != "outer", true, true);
            if feature == Feature::Circle {
                feature = Feature::Corners;
            }
        } else if matches!(word, "x" | "x,y" | "x;y" | "x,") {
            // The heading of a table.
        } else {
            let point = match numbers(row, unit) {
                Ok(point) => point,
                Err(what) => {
                    faults.push(RowFault { row: i + 1, what });
                    continue;
                }
            };
            let circle = feature == Feature::Circle;
            let alone = circle && fresh_group;
            if fresh_ring && !circle || alone || rings.is_empty() {
                rings.push(Ring { is_cutout: is_cutout || circle, groups: Vec::new() });
                fresh_ring &= circle;
            } else if fresh_group {
                // Back on the ring that was being gone round before a circle was measured.
                let back = rings
                    .iter()
                    .rposition(|r| r.groups.first().is_some_and(|g| g.feature != Feature::Circle));
                if let Some(back) = back {
                    let ring = rings.remove(back);
                    rings.push(ring);
                }
            }
            if let Some(ring) = rings.last_mut() {
                if fresh_group || ring.groups.is_empty() {
                    ring.groups.push(Group { feature, points: Vec::new() });
                }
                if let Some(group) = ring.groups.last_mut() {
                    group.points.push(point);
                }
            }
            fresh_group = false;
        }
    }
    if let [only] = &mut rings[..]
        && !is_cutout
    {
        only.is_cutout = false;
    }
    if faults.is_empty() { Ok(rings) } else { Err(faults) }
}

/// X and Y of a row, however they are parted, with or without their letters.
fn numbers(row: &str, unit: LengthUnit) -> Result<Point<SheetSpace>, String> {
    let fault = || format!("“{}” is no point; write for example 120.5, 80", shortened(row));
    let parts: Vec<&str> = if row.contains([';', '\t']) {
        row.split([';', '\t']).collect()
    } else if row.matches(',').count() == 1 && !row.contains(char::is_whitespace) {
        row.split(',').collect()
    } else if let Some((x, y)) = row.split_once(", ") {
        vec![x, y]
    } else {
        row.split_whitespace().collect()
    };
    let parts: Vec<&str> =
        parts.iter().map(|p| p.trim().trim_end_matches(',')).filter(|p| !p.is_empty()).collect();
    let [x, y] = parts[..] else { return Err(fault()) };
    let length = |text: &str, letters: [char; 2]| {
        let number = text.trim_start_matches(letters).trim_start_matches(['=', ':', ' ']);
        parse_length(number.trim_start_matches('+'), unit).map_err(|_| fault())
    };
    Ok(Point::new(length(x, ['X', 'x'])?, length(y, ['Y', 'y'])?))
}

fn shortened(text: &str) -> String {
    text.chars().take(40).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_read_however_they_are_written() {
        for row in [
            "120.5, 80",
            "120.5,80",
            "120.5;80",
            "120,5;80",
            "120.5\t80",
            "120,5 80",
            "120.5 80",
            "X120.5 Y80",
            "x=120.5, y=80",
            " 120.5mm , 80 mm ",
            "+120.5 +80 # a note",
        ] {
            let rings = read_rows(row, LengthUnit::Mm).unwrap_or_else(|f| panic!("{row}: {f:?}"));
            assert_eq!(rings[0].groups[0].points, [Point::new(120.5, 80.0)], "{row}");
        }
        let inches = read_rows("1, 1/2\n2, 25.4mm", LengthUnit::Inch).unwrap();
        assert_eq!(inches[0].groups[0].points[0], Point::new(25.4, 12.7));
        assert_eq!(inches[0].groups[0].points[1].y, 25.4);
    }

    #[test]
    fn words_say_what_points_lie_on() {
        let text = "edge\n0,0\n9,0\n\n10,1\n10,9\ncircle\n3,3\n4,4\n5,3\n\n7,7\n8,8\n9,7\nfree\n9,10\n\
                    5,11\n0,10\ncutout\nedge\n1,1\n2,1\n";
        let rings = read_rows(text, LengthUnit::Mm).unwrap();
        let said: Vec<(bool, Vec<(Feature, usize)>)> = rings
            .iter()
            .map(|r| (r.is_cutout, r.groups.iter().map(|g| (g.feature, g.points.len())).collect()))
            .collect();
        assert_eq!(
            said,
            [
                (true, vec![(Feature::Circle, 3)]),
                (true, vec![(Feature::Circle, 3)]),
                (false, vec![(Feature::Edge, 2), (Feature::Edge, 2), (Feature::Free, 3)]),
                (true, vec![(Feature::Edge, 2)]),
            ]
        );
    }

    #[test]
    fn every_wrong_row_is_said() {
        let faults = read_rows("0,0\nabc\n1,2,3\n4", LengthUnit::Mm).unwrap_err();
        assert_eq!(faults.iter().map(|f| f.row).collect::<Vec<_>>(), [2, 3, 4]);
        assert!(read_rows("", LengthUnit::Mm).unwrap().is_empty());
    }
}
