//! Holes and copes, and the faces that they are in.

use super::arrange::{Piece, long_side_up};
use super::cut_list::Wanted;

/// A side of a bar as it lies, seen from its front with its datum end at the left.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// The upper face.
    Top,
    /// The lower face.
    Bottom,
    /// The face towards whoever looks at the drawing.
    Front,
    /// The face behind it.
    Back,
}

impl Face {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Top, Self::Bottom, Self::Front, Self::Back];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Top => "top",
            Self::Bottom => "bottom",
            Self::Front => "front",
            Self::Back => "back",
        }
    }

    /// The face of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|face| face.name().eq_ignore_ascii_case(name.trim()))
    }

    /// The face across the bar.
    pub fn opposite(self) -> Self {
        match self {
            Self::Top => Self::Bottom,
            Self::Bottom => Self::Top,
            Self::Front => Self::Back,
            Self::Back => Self::Front,
        }
    }

    /// Where this face of a part lies once the part is laid end for end, or turned over, or both. End for
    /// end it is turned about what stands upright, so that its top stays its top.
    pub fn laid(self, reversed: bool, turned_over: bool) -> Self {
        let upright = matches!(self, Self::Top | Self::Bottom);
        if turned_over != (reversed && !upright) { self.opposite() } else { self }
    }
}

/// A hole or a cope.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hole {
    /// Where its middle is, from the part's first end.
    pub at: f64,
    /// Its size along the bar.
    pub size: f64,
    /// The face it is in: one of [`Face`], or as the shop calls it; may be empty.
    pub face: String,
    /// A cope: cut out of the face from its edge, square.
    pub cope: bool,
}

/// A hole or a cope on its bar.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleAt {
    /// Where its middle is, mm from the bar's datum end.
    pub at: f64,
    /// Its size along the bar.
    pub size: f64,
    /// Whether it is a cope.
    pub cope: bool,
    /// The face of the bar that it is in, where that is one of [`Face`].
    pub face: Option<Face>,
    /// The face in words; may be empty.
    pub face_words: String,
    /// Which part of the bar, from 0.
    pub piece: usize,
}

impl Hole {
    /// How far its middle is at least from an end of its part, in a section of `height`: the end may
    /// slope towards it on its face.
    pub fn least_from_end(&self, part: &Wanted, end: usize, height: f64) -> f64 {
        let (half, slope) = (self.size / 2.0, part.slopes(height)[end]);
        match (Face::named(&self.face), long_side_up(part, end)) {
            (Some(Face::Top), Some(up)) => half + if up { 0.0 } else { slope },
            (Some(Face::Bottom), Some(up)) => half + if up { slope } else { 0.0 },
            // Half way up the slope has run half of its way, and leans towards the hole.
            (Some(Face::Front | Face::Back), Some(_)) => slope / 2.0 + half / part.ends[end].cos(),
            _ => half + slope,
        }
    }

    /// It on the bar, where its part is the so manieth piece.
    pub fn laid(&self, part: &Wanted, piece: &Piece, number: usize) -> HoleAt {
        let along = if piece.reversed { part.length - self.at } else { self.at };
        let face = Face::named(&self.face);
        let face = face.map(|face| face.laid(piece.reversed, piece.turned_over));
        HoleAt {
            at: piece.at + along,
            size: self.size,
            cope: self.cope,
            face,
            face_words: face.map_or_else(|| self.face.clone(), |face| face.name().to_owned()),
            piece: number,
        }
    }
}

impl HoleAt {
    /// “hole” or “cope”.
    pub fn kind(&self) -> &'static str {
        if self.cope { "cope" } else { "hole" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faces_follow_the_part_as_it_is_laid() {
        use Face::{Back, Bottom, Front, Top};
        let all = |reversed, over| Face::ALL.map(|face| face.laid(reversed, over));
        assert_eq!(all(false, false), [Top, Bottom, Front, Back]);
        assert_eq!(all(true, false), [Top, Bottom, Back, Front]);
        assert_eq!(all(false, true), [Bottom, Top, Back, Front]);
        assert_eq!(all(true, true), [Bottom, Top, Front, Back]);
        assert_eq!((Face::named(" Front"), Face::named("lid")), (Some(Front), None));
    }

    #[test]
    fn a_hole_is_clear_of_an_end_that_slopes_on_its_face() {
        let part =
            Wanted { length: 500.0, ends: [std::f64::consts::FRAC_PI_4, 0.0], ..Wanted::default() };
        let least = |face: &str| {
            let hole = Hole { size: 10.0, face: face.into(), ..Hole::default() };
            hole.least_from_end(&part, 0, 40.0)
        };
        assert_eq!(least("top"), 5.0);
        assert!((least("bottom") - 45.0).abs() < 1e-9);
        // Half way up, 20 mm in, the line at 45° is 5 mm away from the middle at 20 + 5 √2.
        assert!((least("front") - (20.0 + 5.0 * 2.0_f64.sqrt())).abs() < 1e-9);
        assert!((least("lid") - 45.0).abs() < 1e-9);
    }
}
