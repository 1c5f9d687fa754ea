//! Profiles: the section of a bar, and what follows from it.

use super::hole::Face;
use crate::shape::{Loop, LoopFault, PartSpace, Point, Region, Side, Vertex, flatten_region};

/// Density of steel, kg/m³.
pub const STEEL: f64 = 7850.0;
/// Young's modulus of steel, N/mm².
const STEEL_STIFFNESS: f64 = 210_000.0;
/// Weight of a kilogram, N.
const GRAVITY: f64 = 9.81;

/// Where a bar's far support stands so that it sags least, as a share of the bar's length from the
/// datum end, where it rests too: the sag between the supports and at the free end are equal there.
const SUPPORT_AT: f64 = 0.673;

/// The shape of a bar's section, mm. Width runs along x, height along y.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Section {
    /// A solid round.
    Round {
        /// Across.
        diameter: f64,
    },
    /// A round tube.
    RoundTube {
        /// Across, outside.
        diameter: f64,
        /// Its wall.
        wall: f64,
    },
    /// A flat or square, solid.
    Flat {
        /// Its width.
        width: f64,
        /// Its height.
        height: f64,
    },
    /// A rectangular or square tube.
    RectangularTube {
        /// Outside.
        width: f64,
        /// Outside.
        height: f64,
        /// Its wall.
        wall: f64,
        /// Radius of its corners, outside.
        corner: f64,
    },
    /// An angle, its legs along the left and the bottom.
    Angle {
        /// The leg along the bottom.
        width: f64,
        /// The leg along the left.
        height: f64,
        /// Of both legs.
        thickness: f64,
    },
    /// A channel, open to the right.
    Channel {
        /// Of the flanges, over the web.
        width: f64,
        /// Over both flanges.
        height: f64,
        /// Thickness of the web.
        web: f64,
        /// Thickness of the flanges.
        flange: f64,
    },
}

/// Why a section is none.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SectionFault {
    /// A measure that is not more than nothing.
    #[error("{0} is {1} mm; give more than 0 and less than two metres")]
    NotALength(&'static str, f64),
    /// Walls, legs or flanges that fill the section.
    #[error(
        "{what} of {given} mm leaves nothing open; give less than {most} mm, or choose a solid"
    )]
    TooThick {
        /// What.
        what: &'static str,
        /// How thick.
        given: f64,
        /// It must be less than this.
        most: f64,
    },
    /// A corner that does not go in.
    #[error("a corner radius of {given} mm does not go into the section; give at most {most} mm")]
    TooRound {
        /// The radius.
        given: f64,
        /// The most there can be.
        most: f64,
    },
}

/// A kind of bar the shop has or can buy.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// As the shop names it.
    pub name: String,
    /// Its shape.
    pub section: Section,
    /// Density of its material, kg/m³.
    pub density: f64,
    /// The face that its weld seam must stay in; `None` where it has none, or none that matters.
    pub seam: Option<Face>,
}

/// How a bar lies on its two rests.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Support {
    /// Where the far support stands, mm from the datum end.
    pub at: f64,
    /// How far the bar sags by its own weight then, mm.
    pub sag: f64,
}

impl Section {
    /// All that is wrong with its measures.
    pub fn faults(&self) -> Vec<SectionFault> {
        let sides: &[(&'static str, f64)] = match self {
            Self::Round { diameter } => &[("diameter", *diameter)],
            Self::RoundTube { diameter, wall } => &[("diameter", *diameter), ("wall", *wall)],
            Self::Flat { width, height } => &[("width", *width), ("height", *height)],
            Self::RectangularTube { width, height, wall, .. } => {
                &[("width", *width), ("height", *height), ("wall", *wall)]
            }
            Self::Angle { width, height, thickness } => {
                &[("width", *width), ("height", *height), ("thickness", *thickness)]
            }
            Self::Channel { width, height, web, flange } => {
                &[("width", *width), ("height", *height), ("web", *web), ("flange", *flange)]
            }
        };
        let mut faults = Vec::new();
        for (what, mm) in sides {
            if !(*mm > 0.0 && *mm < 2000.0) {
                faults.push(SectionFault::NotALength(what, *mm));
            }
        }
        if !faults.is_empty() {
            return faults;
        }
        let mut thick = |what, given: f64, most: f64| {
            if given >= most {
                faults.push(SectionFault::TooThick { what, given, most });
            }
        };
        match *self {
            Self::RoundTube { diameter, wall } => thick("a wall", wall, diameter / 2.0),
            Self::RectangularTube { width, height, wall, corner } => {
                thick("a wall", wall, width.min(height) / 2.0);
                let most = width.min(height) / 2.0;
                if !(0.0..=most).contains(&corner) {
                    faults.push(SectionFault::TooRound { given: corner, most });
                }
            }
            Self::Angle { width, height, thickness } => {
                thick("a leg", thickness, width.min(height));
            }
            Self::Channel { width, height, web, flange } => {
                thick("a web", web, width);
                thick("a flange", flange, height / 2.0);
            }
            Self::Round { .. } | Self::Flat { .. } => {}
        }
        faults
    }

    /// Width and height of the box around it, mm.
    pub fn size(&self) -> (f64, f64) {
        match *self {
            Self::Round { diameter } | Self::RoundTube { diameter, .. } => (diameter, diameter),
            Self::Flat { width, height }
            | Self::RectangularTube { width, height, .. }
            | Self::Angle { width, height, .. }
            | Self::Channel { width, height, .. } => (width, height),
        }
    }

    /// The thinnest of its walls, legs or sides, mm; of a solid round its diameter.
    pub fn thinnest(&self) -> f64 {
        match *self {
            Self::Round { diameter } => diameter,
            Self::RoundTube { wall, .. } | Self::RectangularTube { wall, .. } => wall,
            Self::Flat { width, height } => width.min(height),
            Self::Angle { thickness, .. } => thickness,
            Self::Channel { web, flange, .. } => web.min(flange),
        }
    }

    /// Whether half a turn about the bar's axis leaves the section as it was, so that mitred parts
    /// may lie either way up.
    pub fn same_turned_over(&self) -> bool {
        !matches!(self, Self::Angle { .. } | Self::Channel { .. })
    }

    /// The end view: the section's metal, from the lower left corner of its box.
    ///
    /// # Errors
    /// Where its measures make no outline; [`Section::faults`] says why.
    pub fn outline(&self) -> Result<Region<PartSpace>, LoopFault> {
        let at = Point::new;
        let polygon = |points: &[(f64, f64)]| {
            Ok(Region::new(Loop::polygon(points.iter().map(|(x, y)| at(*x, *y)))?, vec![]))
        };
        match *self {
            Self::Round { diameter } => {
                let r = diameter / 2.0;
                Ok(Region::new(Loop::circle(at(r, r), r)?, vec![]))
            }
            Self::RoundTube { diameter, wall } => {
                let r = diameter / 2.0;
                let hole = Loop::circle(at(r, r), r - wall)?;
                Ok(Region::new(Loop::circle(at(r, r), r)?, vec![hole]))
            }
            Self::Flat { width, height } => {
                Ok(Region::new(Loop::rectangle(at(0.0, 0.0), at(width, height))?, vec![]))
            }
            Self::RectangularTube { width, height, wall, corner } => {
                let inside = (corner - wall).max(0.0);
                let hole = rounded(wall, wall, width - wall, height - wall, inside)?;
                Ok(Region::new(rounded(0.0, 0.0, width, height, corner)?, vec![hole]))
            }
            Self::Angle { width: w, height: h, thickness: t } => {
                polygon(&[(0.0, 0.0), (w, 0.0), (w, t), (t, t), (t, h), (0.0, h)])
            }
            Self::Channel { width: w, height: h, web, flange: f } => polygon(&[
                (0.0, 0.0),
                (w, 0.0),
                (w, f),
                (web, f),
                (web, h - f),
                (w, h - f),
                (w, h),
                (0.0, h),
            ]),
        }
    }

    /// Area of metal, mm²; 0 where its measures make no outline.
    pub fn area(&self) -> f64 {
        self.outline().map_or(0.0, |region| region.area())
    }

    /// The lesser of the second moments of area about the horizontal and the upright axis through
    /// the middle of its metal, mm⁴.
    pub fn least_moment(&self) -> f64 {
        let Ok(region) = self.outline() else { return 0.0 };
        let middle = region.centroid();
        let (mut about_x, mut about_y) = (0.0, 0.0);
        for points in flatten_region(&region, 0.01, Side::Inward) {
            for (a, b) in points.iter().zip(points.iter().cycle().skip(1)) {
                let ((ax, ay), (bx, by)) =
                    ((a.x - middle.x, a.y - middle.y), (b.x - middle.x, b.y - middle.y));
                let cross = ax * by - bx * ay;
                about_x += cross * (ay * ay + ay * by + by * by) / 12.0;
                about_y += cross * (ax * ax + ax * bx + bx * bx) / 12.0;
            }
        }
        about_x.abs().min(about_y.abs())
    }
}

/// A rectangle with round corners.
fn rounded(
    left: f64,
    bottom: f64,
    right: f64,
    top: f64,
    radius: f64,
) -> Result<Loop<PartSpace>, LoopFault> {
    if radius <= 0.0 {
        return Loop::rectangle(Point::new(left, bottom), Point::new(right, top));
    }
    // The bulge of a quarter turn: tan(90° / 4).
    let quarter = std::f64::consts::FRAC_PI_8.tan();
    let r = radius;
    let corners = [
        ((right - r, bottom), (right, bottom + r)),
        ((right, top - r), (right - r, top)),
        ((left + r, top), (left, top - r)),
        ((left, bottom + r), (left + r, bottom)),
    ];
    let vertices = corners.into_iter().flat_map(|(from, to)| {
        let vertex = |(x, y), bulge| Vertex { point: Point::new(x, y), bulge };
        [vertex(from, quarter), vertex(to, 0.0)]
    });
    // Where the radius takes up a whole side, two corners meet in one point.
    let mut kept: Vec<Vertex<PartSpace>> = Vec::new();
    for vertex in vertices {
        match kept.last_mut() {
            Some(last) if last.point == vertex.point => *last = vertex,
            _ => kept.push(vertex),
        }
    }
    if kept.len() > 1 && kept[0].point == kept[kept.len() - 1].point {
        kept.pop();
    }
    Loop::new(kept)
}

impl Profile {
    /// Mass of a metre, kg.
    pub fn mass_per_metre(&self) -> f64 {
        self.section.area() * 1e-6 * self.density
    }

    /// Where the far support stands for a bar of `length` so that it sags least, within where it can
    /// stand, and how far the bar sags then; `None` where it can't stand under the bar. The stiffness is
    /// taken in proportion to the density, as steel and aluminium have it.
    pub fn support(&self, length: f64, range: Option<[f64; 2]>) -> Option<Support> {
        let [from, to] = range.unwrap_or([0.0, length]);
        if from > length {
            return None;
        }
        let at = (SUPPORT_AT * length).max(from).min(to);
        let load = self.mass_per_metre() * GRAVITY / 1000.0;
        let stiffness = STEEL_STIFFNESS * self.density / STEEL * self.section.least_moment();
        let share = sag_share(at / length);
        let sag = if stiffness > 0.0 { share * load * length.powi(4) / stiffness } else { 0.0 };
        Some(Support { at, sag })
    }
}

/// How far a bar sags that rests on its end and at this share of its length, as a share of w L⁴ / E I: by
/// the formulas of a beam on two supports with one end free, half way between the supports or at the
/// free end, whichever is more.
fn sag_share(at: f64) -> f64 {
    let (s, c) = (at, 1.0 - at);
    let between = s * s * (5.0 * s * s - 12.0 * c * c) / 384.0;
    let end = c * (3.0 * c.powi(3) + 4.0 * c * c * s - s.powi(3)) / 24.0;
    between.abs().max(end.abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(a: f64, b: f64, within: f64) {
        assert!((a - b).abs() <= within * b.abs(), "{a} is not {b}");
    }

    #[test]
    fn areas_and_masses_are_those_of_the_tables() {
        let mass = |section| {
            Profile { name: String::new(), section, density: STEEL, seam: None }.mass_per_metre()
        };
        let square = Section::RectangularTube { width: 40.0, height: 40.0, wall: 3.0, corner: 4.5 };
        // EN 10219: 40 × 40 × 3 weighs 3.30 kg/m with corners of 2 t; 1.5 t a little more.
        near(mass(square), 3.36, 0.01);
        let sharp = Section::RectangularTube { width: 40.0, height: 40.0, wall: 3.0, corner: 0.0 };
        near(sharp.area(), 40.0 * 40.0 - 34.0 * 34.0, 1e-9);
        near(mass(Section::RoundTube { diameter: 33.7, wall: 2.6 }), 1.99, 0.01);
        near(mass(Section::Flat { width: 50.0, height: 10.0 }), 3.925, 1e-9);
        near(mass(Section::Round { diameter: 20.0 }), 2.466, 0.001);
        let angle = Section::Angle { width: 50.0, height: 50.0, thickness: 5.0 };
        near(angle.area(), 475.0, 1e-9);
        let channel = Section::Channel { width: 50.0, height: 100.0, web: 6.0, flange: 8.5 };
        near(channel.area(), 2.0 * 50.0 * 8.5 + 83.0 * 6.0, 1e-9);
    }

    #[test]
    fn second_moments_are_those_of_the_formulas() {
        near(
            Section::Flat { width: 30.0, height: 10.0 }.least_moment(),
            30.0 * 1000.0 / 12.0,
            1e-9,
        );
        let tube = Section::RoundTube { diameter: 40.0, wall: 2.0 };
        let circle = |d: f64| std::f64::consts::PI * d.powi(4) / 64.0;
        near(tube.least_moment(), circle(40.0) - circle(36.0), 0.01);
    }

    #[test]
    fn the_far_support_makes_the_sag_least() {
        // On both ends it is 5/384; nowhere else is it less than at the share that is taken.
        near(sag_share(1.0), 5.0 / 384.0, 1e-9);
        let least = (1..1000).map(|n| sag_share(f64::from(n) / 1000.0)).fold(1.0, f64::min);
        near(sag_share(SUPPORT_AT), least, 0.05);
        let section = Section::Flat { width: 30.0, height: 30.0 };
        let bar = Profile { name: String::new(), section, density: STEEL, seam: None };
        let at = |range| bar.support(6000.0, range).map(|support| support.at);
        near(at(None).unwrap(), 0.673 * 6000.0, 1e-9);
        assert_eq!(at(Some([1000.0, 3500.0])), Some(3500.0));
        assert_eq!(at(Some([7000.0, 9000.0])), None);
        assert!(
            bar.support(6000.0, Some([0.0, 3500.0])).unwrap().sag
                > bar.support(6000.0, None).unwrap().sag
        );
    }

    #[test]
    fn sections_that_are_none_are_refused() {
        let said =
            |section: Section| section.faults().iter().map(ToString::to_string).collect::<Vec<_>>();
        assert_eq!(said(Section::Flat { width: 40.0, height: 8.0 }).len(), 0);
        assert_eq!(said(Section::Flat { width: -1.0, height: f64::NAN }).len(), 2);
        let solid = Section::RoundTube { diameter: 20.0, wall: 10.0 };
        assert!(said(solid)[0].contains("leaves nothing open"));
        let round = Section::RectangularTube { width: 40.0, height: 20.0, wall: 2.0, corner: 11.0 };
        assert!(said(round)[0].contains("at most 10 mm"));
        let stadium =
            Section::RectangularTube { width: 40.0, height: 20.0, wall: 2.0, corner: 10.0 };
        assert_eq!(stadium.faults(), []);
        let area = 20.0 * 20.0 + std::f64::consts::PI * 100.0;
        let hole = 20.0 * 16.0 + std::f64::consts::PI * 64.0;
        near(stadium.area(), area - hole, 1e-9);
    }
}
