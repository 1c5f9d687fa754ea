//! Undo and redo: named snapshots, as many as there are acts.

/// What was, and what was undone, newest last.
#[derive(Debug)]
pub struct History<S> {
    past: Vec<(String, S)>,
    future: Vec<(String, S)>,
}

impl<S> Default for History<S> {
    fn default() -> Self {
        Self { past: Vec::new(), future: Vec::new() }
    }
}

impl<S> History<S> {
    /// Remembers `before`, the state that the act called `name` is about to change. What had been
    /// undone is forgotten.
    pub fn record(&mut self, name: impl Into<String>, before: S) {
        self.past.push((name.into(), before));
        self.future.clear();
    }

    /// Takes back the last act: puts the state before it into `now`. Returns the act's name.
    pub fn undo(&mut self, now: &mut S) -> Option<String> {
        step(&mut self.past, &mut self.future, now)
    }

    /// What was undone can't be done again from here on.
    pub fn forget_undone(&mut self) {
        self.future.clear();
    }

    /// Does again what was undone last. Returns the act's name.
    pub fn redo(&mut self, now: &mut S) -> Option<String> {
        step(&mut self.future, &mut self.past, now)
    }

    /// Name of the act that undo would take back.
    pub fn undoes(&self) -> Option<&str> {
        self.past.last().map(|(name, _)| name.as_str())
    }

    /// Name of the act that redo would do again.
    pub fn redoes(&self) -> Option<&str> {
        self.future.last().map(|(name, _)| name.as_str())
    }
}

fn step<S>(from: &mut Vec<(String, S)>, to: &mut Vec<(String, S)>, now: &mut S) -> Option<String> {
    let (name, state) = from.pop()?;
    to.push((name.clone(), std::mem::replace(now, state)));
    Some(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn undo_and_redo_walk_the_same_states() {
        let (mut history, mut now) = (History::default(), 0);
        for next in 1..4 {
            history.record(format!("to {next}"), now);
            now = next;
        }
        assert_eq!(history.undo(&mut now).as_deref(), Some("to 3"));
        assert_eq!(history.undo(&mut now).as_deref(), Some("to 2"));
        assert_eq!((now, history.undoes(), history.redoes()), (1, Some("to 1"), Some("to 2")));
        assert_eq!(history.redo(&mut now).as_deref(), Some("to 2"));
        assert_eq!(now, 2);
    }

    #[test]
    fn a_new_act_forgets_what_was_undone() {
        let (mut history, mut now) = (History::default(), 0);
        history.record("a", now);
        now = 1;
        history.undo(&mut now);
        history.record("b", now);
        assert_eq!(history.redoes(), None);
        assert!(history.redo(&mut now).is_none());
    }
}
