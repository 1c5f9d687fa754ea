//! Which kinds of piece may not come from the same bar.

/// Pairs of kinds that exclude each other.
#[derive(Clone, Debug)]
pub(super) struct Rivals {
    words: usize,
    bits: Vec<u64>,
    any: bool,
}

impl Rivals {
    /// No pair among so many kinds.
    pub(super) fn none(kinds: usize) -> Self {
        let words = kinds.div_ceil(64);
        Self { words, bits: vec![0; words * kinds], any: false }
    }

    /// These two exclude each other.
    pub(super) fn add(&mut self, a: usize, b: usize) {
        self.any = true;
        self.bits[a * self.words + b / 64] |= 1 << (b % 64);
        self.bits[b * self.words + a / 64] |= 1 << (a % 64);
    }

    /// Whether `kind` is excluded by one of those picked.
    pub(super) fn meets(&self, kind: usize, picked: &[(usize, usize)]) -> bool {
        let excluded =
            |other: usize| self.bits[kind * self.words + other / 64] >> (other % 64) & 1 == 1;
        self.any && picked.iter().any(|(other, _)| excluded(*other))
    }
}
