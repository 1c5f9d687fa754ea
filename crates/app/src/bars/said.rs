//! What a person says of bars that were cut.

use std::collections::HashMap;

use oddment_core::bars::CutBar;
use oddment_rack::facts::Facts;
use oddment_rack::record::{BarRecording, Keep, Outcome};

use super::PlannedBars;

/// What became of the bars of a plan. The default is: cut as planned.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BarsSaid {
    /// What became of parts, by bar of the plan and place along it; the others are good.
    outcomes: HashMap<(usize, usize), Outcome>,
    /// Minutes it took.
    pub minutes: Option<f64>,
    /// Whether the order asks for a certificate.
    pub certificate: bool,
    /// Heat number of bars that were bought for it.
    pub bought_heat: String,
    /// Certificate of those.
    pub bought_certificate: String,
    /// What is left stays by the machine’s least remnant, always, or never.
    pub keep: Keep,
}

impl BarsSaid {
    /// What became of a part.
    pub fn outcome(&self, bar: usize, piece: usize) -> Outcome {
        self.outcomes.get(&(bar, piece)).cloned().unwrap_or_default()
    }

    /// Says what became of a part. Bars are cut from one end to the other: behind a part that is half cut
    /// or was not begun nothing was begun, and before one that was made everything was.
    pub fn say(&mut self, bar: usize, piece: usize, of: usize, outcome: Outcome) {
        let unfinished = |o: &Outcome| matches!(o, Outcome::HalfCut | Outcome::NeverStarted);
        if unfinished(&outcome) {
            for behind in piece + 1..of {
                self.outcomes.insert((bar, behind), Outcome::NeverStarted);
            }
        }
        for before in 0..piece {
            if outcome != Outcome::NeverStarted && unfinished(&self.outcome(bar, before)) {
                self.outcomes.remove(&(bar, before));
            }
        }
        match outcome {
            Outcome::Good => self.outcomes.remove(&(bar, piece)),
            outcome => self.outcomes.insert((bar, piece), outcome),
        };
    }

    /// Says the same of all parts of a bar.
    pub fn say_all(&mut self, bar: usize, of: usize, outcome: &Outcome) {
        for piece in 0..of {
            self.outcomes.remove(&(bar, piece));
            if *outcome != Outcome::Good {
                self.outcomes.insert((bar, piece), outcome.clone());
            }
        }
    }

    /// The bar with the parts that were begun.
    pub fn begun(&self, planned: &PlannedBars, bar: usize) -> CutBar {
        let CutBar { stock, pieces } = &planned.plan.bars[bar];
        let begun = |piece: &usize| self.outcome(bar, *piece) != Outcome::NeverStarted;
        let begun = (0..pieces.len()).rfind(begun).map_or(0, |last| last + 1);
        CutBar { stock: *stock, pieces: pieces[..begun].to_vec() }
    }

    /// How many good parts were made of each line of the list.
    pub fn made(&self, planned: &PlannedBars) -> Vec<usize> {
        let mut made = vec![0; planned.list.parts.len()];
        for (b, bar) in planned.plan.bars.iter().enumerate() {
            for (p, piece) in bar.pieces.iter().enumerate() {
                made[piece.part] += usize::from(self.outcome(b, p) == Outcome::Good);
            }
        }
        made
    }

    /// As it is recorded, but for the order and the plan’s text.
    pub(crate) fn recording(&self, planned: &PlannedBars) -> BarRecording {
        let mut copies: HashMap<String, usize> = HashMap::new();
        let mut outcomes = HashMap::new();
        for (b, bar) in planned.plan.bars.iter().enumerate() {
            for (p, piece) in bar.pieces.iter().enumerate() {
                let name = planned.list.parts[piece.part].called();
                let copy = copies.entry(name.clone()).or_default();
                *copy += 1;
                let outcome = self.outcome(b, p);
                if outcome != Outcome::Good {
                    outcomes.insert((name, *copy), outcome);
                }
            }
        }
        let heat = self.bought_heat.trim().into();
        let certificate = self.bought_certificate.trim().into();
        BarRecording {
            outcomes,
            minutes: self.minutes,
            certificate: self.certificate,
            bought: Facts { heat, certificate, ..Facts::default() },
            keep: self.keep,
            ..BarRecording::default()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_is_cut_from_one_end_to_the_other() {
        use Outcome::{Good, HalfCut, NeverStarted};
        let scrap = Outcome::Scrap("short".into());
        let mut said = BarsSaid::default();
        let all = |said: &BarsSaid| (0..4).map(|piece| said.outcome(1, piece)).collect::<Vec<_>>();
        said.say(1, 2, 4, HalfCut);
        assert_eq!(all(&said), [Good, Good, HalfCut, NeverStarted]);
        said.say(1, 0, 4, scrap.clone());
        assert_eq!(all(&said), [scrap.clone(), Good, HalfCut, NeverStarted]);
        said.say(1, 3, 4, Good);
        assert_eq!(all(&said), [scrap.clone(), Good, Good, Good]);
        said.say(1, 1, 4, NeverStarted);
        assert_eq!(all(&said), [scrap.clone(), NeverStarted, NeverStarted, NeverStarted]);
        said.say(1, 2, 4, HalfCut);
        assert_eq!(all(&said), [scrap.clone(), Good, HalfCut, NeverStarted]);
        said.say_all(1, 4, &Good);
        assert_eq!(said, BarsSaid::default());
    }
}
