//! Several sheets, each filled with what the ones before have left.

use std::sync::Arc;

use rayon::prelude::*;

use super::load::{Load, Loader};

impl Loader<'_> {
    /// The cheapest way for what is left from fresh sheets alone.
    pub(super) fn fresh(&self, left: &[usize], effort: usize) -> Vec<Arc<Load>> {
        let cost = |loads: &Vec<Arc<Load>>| {
            let placed: usize = loads.iter().flat_map(|l| &l.placed).sum();
            (std::cmp::Reverse(placed), loads.iter().map(|l| l.score).sum::<f64>())
        };
        let ways = self.fresh_by_size(left, effort).into_iter().map(|loads| (cost(&loads), loads));
        let best = ways.min_by(|(a, _), (b, _)| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        best.map(|b| b.1).unwrap_or_default()
    }

    /// Ways for what is left from each size of fresh sheets alone, and with the last sheet of another size
    /// where that is cheaper.
    pub(super) fn fresh_by_size(&self, left: &[usize], effort: usize) -> Vec<Vec<Arc<Load>>> {
        let candidates = &self.question.candidates;
        let sizes: Vec<usize> =
            (0..candidates.len()).filter(|c| candidates[*c].source.is_fresh()).collect();
        let of_size = |size: &usize| {
            let mut left = left.to_vec();
            let mut loads: Vec<Arc<Load>> = Vec::new();
            while left.iter().any(|n| *n > 0) && loads.len() < candidates[*size].count {
                let Some(load) = self.fill(*size, &left, effort) else { break };
                take_off(&mut left, &load.placed);
                loads.push(load);
            }
            let mut ways = vec![loads.clone()];
            if let Some(last) = loads.pop() {
                let used = |c: usize| loads.iter().filter(|l| l.candidate == c).count();
                let others = sizes.iter().filter(|c| used(**c) < candidates[**c].count);
                let others = others
                    .filter_map(|c| self.fill(*c, &last.placed, effort))
                    .filter(|l| l.placed == last.placed);
                let cheapest = others.min_by(|a, b| a.score.total_cmp(&b.score));
                if let Some(cheaper) = cheapest.filter(|c| c.score < last.score) {
                    loads.push(cheaper);
                    ways.push(loads);
                }
            }
            ways
        };
        sizes.par_iter().flat_map_iter(of_size).collect()
    }

    /// A sequence of sheets, each filled with what is left, and fresh sheets for the rest.
    pub(super) fn sequence(
        &self,
        whole: &[usize],
        sheets: &[usize],
        effort: usize,
    ) -> Vec<Arc<Load>> {
        let mut left = whole.to_vec();
        let mut loads = Vec::with_capacity(sheets.len());
        for c in sheets {
            if left.iter().all(|n| *n == 0) || self.stopped() {
                break;
            }
            if let Some(load) = self.fill(*c, &left, effort) {
                take_off(&mut left, &load.placed);
                loads.push(load);
            }
        }
        if left.iter().any(|n| *n > 0) {
            loads.extend(self.fresh(&left, effort));
        }
        loads
    }
}

/// Takes off what is left what is placed.
pub(super) fn take_off(left: &mut [usize], placed: &[usize]) {
    for (l, p) in left.iter_mut().zip(placed) {
        *l = l.saturating_sub(*p);
    }
}
