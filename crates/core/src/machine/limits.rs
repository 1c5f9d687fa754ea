//! What people lift.

/// Up to which weight (kg) a sheet is lifted how.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// By one person.
    pub one_person: f64,
    /// By two.
    pub two_people: f64,
}

/// How something is lifted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lift {
    /// By one person.
    OnePerson,
    /// By two people.
    TwoPeople,
    /// With a lifter.
    Lifter,
}

impl Limits {
    /// What holds where a shop has not said otherwise.
    pub const STARTING: Self = Self { one_person: 20.0, two_people: 45.0 };

    /// How `kilograms` are lifted.
    pub fn lift(&self, kilograms: f64) -> Lift {
        if kilograms <= self.one_person {
            Lift::OnePerson
        } else if kilograms <= self.two_people {
            Lift::TwoPeople
        } else {
            Lift::Lifter
        }
    }
}

impl Default for Limits {
    fn default() -> Self {
        Self::STARTING
    }
}
