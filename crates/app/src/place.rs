//! The places a person chooses to work in, each named for its question.

use serde::{Deserialize, Serialize};

/// A place.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub enum Place {
    /// Will it go in, and where?
    #[default]
    Sheet,
    /// Which sheet should it come from?
    Compare,
    /// The same of bars: which to cut, and what from each?
    Bars,
    /// The same of bars: which should it come from?
    BarWays,
    /// How does it lie on the bed?
    Bed,
    /// How will it be cut?
    Cut,
    /// What have we got?
    Rack,
    /// What is it worked out with?
    Shop,
}

impl Place {
    /// All places, in the order of the top line; the last stands behind the others.
    pub const ALL: [Self; 8] = [
        Self::Sheet,
        Self::Bars,
        Self::Compare,
        Self::BarWays,
        Self::Bed,
        Self::Cut,
        Self::Rack,
        Self::Shop,
    ];

    /// Whether it stands behind the others: one goes there seldom.
    pub fn is_behind(self) -> bool {
        self == Self::Shop
    }

    /// The place under whose name it stands on the top line: of sheets and bars it is one.
    pub fn named(self) -> Self {
        match self {
            Self::Bars => Self::Sheet,
            Self::BarWays => Self::Compare,
            other => other,
        }
    }

    /// The same place for bars, where it has one.
    pub fn for_bars(self) -> Self {
        match self {
            Self::Sheet => Self::Bars,
            Self::Compare => Self::BarWays,
            other => other,
        }
    }

    /// Whether bars are shown there, as the other kind of stock.
    pub fn is_for_bars(self) -> bool {
        self != self.named()
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Sheet => "Sheet",
            Self::Compare => "Compare",
            Self::Bars => "Bars",
            Self::BarWays => "Compare bars",
            Self::Bed => "Bed",
            Self::Cut => "Cut",
            Self::Rack => "Rack",
            Self::Shop => "Shop",
        }
    }

    /// The question it answers.
    pub fn question(self) -> &'static str {
        match self {
            Self::Sheet => "will it go in, and where?",
            Self::Compare => "which sheet should it come from?",
            Self::Bars => "which bars to cut, and what from each?",
            Self::BarWays => "which bars should it come from?",
            Self::Bed => "how does the sheet lie on the bed?",
            Self::Cut => "how will it be cut, and how long does it take?",
            Self::Rack => "what have we got?",
            Self::Shop => "what is it all worked out with?",
        }
    }

    /// The key that goes there.
    pub fn key(self) -> &'static str {
        match self {
            Self::Sheet => "1",
            Self::Compare => "2",
            Self::Bars => "B",
            Self::BarWays => "Shift+B",
            Self::Bed => "Q",
            Self::Cut => "C",
            Self::Rack => "3",
            Self::Shop => "4",
        }
    }
}

impl From<Place> for String {
    fn from(place: Place) -> Self {
        place.name().into()
    }
}

/// A place of another version of the program is the first one.
impl From<String> for Place {
    fn from(name: String) -> Self {
        Self::ALL.into_iter().find(|p| p.name() == name).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_remembered_by_name() {
        for place in Place::ALL {
            let text = serde_json::to_string(&place).unwrap();
            assert_eq!(serde_json::from_str::<Place>(&text).unwrap(), place);
        }
        assert_eq!(serde_json::from_str::<Place>("\"Attic\"").unwrap(), Place::Sheet);
    }
}
