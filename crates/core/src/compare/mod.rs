//! Which sheet should this come from? Ways of cutting an order side by side, in money, minutes and
//! metal.
//!
//! A [`Question`] holds the order, the sheets that come into question and what the shop has decided
//! ([`policies`]). [`compare`] fills sheets, works out what each costs ([`account`]) and puts them
//! together to ways ([`ways`]), better and better ones; [`reason`] says how two of them differ.

pub mod account;
mod bound;
mod load;
pub mod policies;
mod question;
mod reasons;
mod search;
mod sequence;
#[cfg(test)]
mod tests;
pub mod ways;

pub use account::{Account, Group, Item, ItemKind, Quantity, pulled};
pub use policies::{Policies, Policy};
pub use question::{Candidate, Question, Source, Want};
pub use reasons::{Reason, reason};
pub use search::{Comparer, compare};
pub use ways::{Comparison, Way, WayKind};
