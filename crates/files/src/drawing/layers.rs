//! What the names of layers say about what lies on them.

use std::collections::BTreeMap;

use super::join::Piece;
use super::{Layer, LayerUse, Problem};
use crate::words::counted;

/// What a layer's name says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    Cut,
    Engrave,
    Bend,
    /// Helps to draw, and is left out.
    Construction,
}

/// The role of the layer called `name`: words that begin like these, whatever else it is called.
pub(super) fn role(name: &str) -> Role {
    let name = name.to_lowercase();
    let begins = |beginnings: &[&str]| {
        name.split(|c: char| !c.is_alphabetic())
            .any(|word| beginnings.iter().any(|b| word.starts_with(b)))
    };
    if begins(&["const", "contruct", "dimension", "donotcut", "nocut", "defpoints", "titleblock"]) {
        Role::Construction
    } else if begins(&["bend", "fold"]) {
        Role::Bend
    } else if begins(&["engrav", "etch", "mark", "scrib", "score", "silk"]) {
        Role::Engrave
    } else {
        Role::Cut
    }
}

/// Pieces by what is to be done with them.
#[derive(Default)]
pub(super) struct Taken {
    pub(super) cut: Vec<Piece>,
    pub(super) marks: Vec<Piece>,
    /// The layers that something lies on.
    pub(super) layers: Vec<Layer>,
    /// What was left out.
    pub(super) problems: Vec<Problem>,
}

impl Taken {
    /// Everything to be cut.
    pub(super) fn all(cut: Vec<Piece>, names: &[String]) -> Self {
        let layers = used(&cut, names, &vec![LayerUse::Cut; names.len()]);
        Self { cut, layers, ..Self::default() }
    }
}

fn used(pieces: &[Piece], names: &[String], uses: &[LayerUse]) -> Vec<Layer> {
    let mut lines = vec![0; names.len()];
    pieces.iter().for_each(|p| lines[p.layer] += 1);
    let layers = names.iter().zip(uses).zip(lines).filter(|(_, lines)| *lines > 0);
    layers.map(|((name, used), lines)| Layer { name: name.clone(), lines, used: *used }).collect()
}

/// Tells cuts from marks and leaves construction out, as a person `said` or by the names of the
/// layers; `None` where nobody and no name says anything.
pub(super) fn split(
    pieces: Vec<Piece>,
    names: &[String],
    said: &BTreeMap<String, LayerUse>,
) -> Option<Taken> {
    let by_name = |name: &String| match role(name) {
        Role::Cut => LayerUse::Cut,
        Role::Engrave | Role::Bend => LayerUse::Mark,
        Role::Construction => LayerUse::LeaveOut,
    };
    let uses: Vec<LayerUse> =
        names.iter().map(|n| said.get(n).copied().unwrap_or_else(|| by_name(n))).collect();
    if said.is_empty() && pieces.iter().all(|p| uses[p.layer] == LayerUse::Cut) {
        return None;
    }
    let mut taken = Taken { layers: used(&pieces, names, &uses), ..Taken::default() };
    let mut left_out = vec![(0_usize, None); names.len()];
    for piece in pieces {
        match uses[piece.layer] {
            LayerUse::Cut => taken.cut.push(piece),
            LayerUse::Mark => taken.marks.push(piece),
            LayerUse::LeaveOut => {
                let (count, first) = &mut left_out[piece.layer];
                *count += 1;
                first.get_or_insert(piece.start());
            }
        }
    }
    for (name, (count, first)) in names.iter().zip(left_out) {
        if first.is_some() {
            let done = match said.get(name) {
                Some(_) => "left out, as you said",
                None => "left out as construction, by the layer's name",
            };
            taken.problems.push(Problem {
                what: format!("{} on the layer “{name}”", lines_words(count)),
                at: first,
                layer: Some(name.clone()),
                done: done.to_owned(),
                must_settle: false,
            });
        }
    }
    Some(taken)
}

/// “1 line or curve”, “2 lines and curves”.
pub(super) fn lines_words(count: usize) -> String {
    counted(count, "line or curve", "lines and curves")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_say_what_a_layer_is_for() {
        assert_eq!(role("0"), Role::Cut);
        assert_eq!(role("outline"), Role::Cut);
        assert_eq!(role("CUT_OUTER"), Role::Cut);
        assert_eq!(role("const_1"), Role::Construction);
        assert_eq!(role("my construction"), Role::Construction);
        assert_eq!(role("Bend lines"), Role::Bend);
        assert_eq!(role("BIEGEN_FOLD"), Role::Bend);
        assert_eq!(role("engraving-2"), Role::Engrave);
        assert_eq!(role("benchmark"), Role::Cut);
    }
}
