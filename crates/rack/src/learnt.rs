//! What the shop has learnt from minutes that were recorded: by what factor cuts of a material take longer
//! than reckoned.

use std::collections::BTreeMap;

use oddment_files::values::Learnt;

use crate::fault::ShopFault;
use crate::record::CutFacts;
use crate::shop::Shop;

/// Cuts looked at, the newest.
const MOST: i64 = 400;
/// So many of a material are needed, and so many count, the newest.
const LEAST: usize = 3;
const COUNT: usize = 15;
/// A cut that took so many times as long, or as short, was not cut as reckoned.
const BEYOND: f64 = 5.0;

impl Shop {
    /// By what factor cuts have taken longer than reckoned, by process and material: the middle one of
    /// the newest cuts of each, where there are three or more.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn learnt(&self) -> Result<Learnt, ShopFault> {
        let mut statement = self.connection().prepare(
            "SELECT c.facts FROM cuts c WHERE NOT EXISTS \
             (SELECT 1 FROM events u WHERE u.undoes = c.event) ORDER BY c.event DESC LIMIT ?1",
        )?;
        let rows = statement.query_map([MOST], |row| row.get::<_, String>(0))?;
        let mut found: BTreeMap<(String, String), Vec<f64>> = BTreeMap::new();
        for row in rows {
            let facts: CutFacts = serde_json::from_str(&row?)?;
            let (Some(took), Some(reckoned)) = (facts.minutes, facts.reckoned) else { continue };
            let factor = took / reckoned.minutes;
            let of = found.entry((reckoned.process, reckoned.material)).or_default();
            if (1.0 / BEYOND..=BEYOND).contains(&factor) && of.len() < COUNT {
                of.push(factor);
            }
        }
        let middle = |mut factors: Vec<f64>| {
            factors.sort_by(f64::total_cmp);
            let n = factors.len();
            0.5 * (factors[(n - 1) / 2] + factors[n / 2])
        };
        let enough = found.into_iter().filter(|(_, f)| f.len() >= LEAST);
        Ok(enough.map(|(of, factors)| (of, middle(factors))).collect())
    }
}
