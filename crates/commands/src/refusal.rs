//! Why input can't be used: whole sentences, each beginning with the file or flag it is about.

use std::fmt::Display;

/// All that is wrong with the input, one line each.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Refusal(Vec<String>);

impl Refusal {
    /// One thing wrong with `subject`: a file or a flag.
    pub(crate) fn about(subject: impl Display, sentence: impl Display) -> Self {
        Self(vec![one_line(&format!("{subject}: {sentence}"))])
    }

    /// Each of these is wrong with `subject`.
    pub(crate) fn each<T: Display>(subject: impl Display, faults: &[T]) -> Self {
        Self(faults.iter().map(|fault| one_line(&format!("{subject}: {fault}"))).collect())
    }

    /// Takes over what is wrong elsewhere too.
    pub(crate) fn add(&mut self, other: Self) {
        self.0.extend(other.0);
    }

    /// What was read, unless something is wrong.
    pub(crate) fn or<T>(self, read: T) -> Result<T, Self> {
        if self.0.is_empty() { Ok(read) } else { Err(self) }
    }

    pub(crate) fn lines(&self) -> &[String] {
        &self.0
    }
}

/// The text on one line, so that each fault is a line of its own.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
