//! Policies and prices from their JSON, and the values the program starts with.

use std::collections::BTreeMap;

use oddment_core::compare::{Policies, Policy};
use oddment_core::cut_data::Family;
use serde::Deserialize;

/// What a shop starts from until it decides itself.
#[derive(Clone, Debug, PartialEq)]
pub struct StartingPolicies {
    /// Minutes, rates, limits.
    pub policies: Policies,
    /// Money for a kilogram of each family of metals: as bought, as scrap.
    pub prices: Vec<(Family, f64, f64)>,
    /// Sides (mm) of the fresh sheets that can be bought.
    pub fresh_sizes: Vec<[f64; 2]>,
}

impl StartingPolicies {
    /// What a kilogram of scrap of a family brings.
    pub fn scrap(&self, family: Family) -> Option<f64> {
        self.prices.iter().find(|p| p.0 == family).map(|p| p.2)
    }
}

/// Why policies can't be used.
#[derive(Debug, thiserror::Error)]
pub enum PoliciesFault {
    /// Not the JSON of policies.
    #[error("these are no policies: {0}")]
    NotPolicies(#[from] serde_json::Error),
    /// Another format or a later version.
    #[error("these are {0} of version {1}; oddment-policies of version 1 in mm are read")]
    OtherFormat(String, u32),
    /// A policy nobody knows.
    #[error("“{0}” is no policy; leave it out")]
    Unknown(String),
    /// One that has no value.
    #[error("{0} has no value; give it one")]
    Missing(&'static str),
    /// A number that can't be.
    #[error("{0} is {1}, which can't be; write a number from 0 up, and shares up to 1")]
    OutOfRange(String, f64),
    /// A family of metals nobody knows.
    #[error("“{0}” is no family of metals; there are steel, stainless, aluminium")]
    UnknownFamily(String),
}

/// The starting points that come with the program.
///
/// # Errors
/// Never for the data the program was tested with.
pub fn starting_policies() -> Result<StartingPolicies, PoliciesFault> {
    read_policies(include_str!("../../../assets/policies.json"))
}

#[derive(Deserialize)]
struct File {
    format: String,
    version: u32,
    units: String,
    policies: BTreeMap<String, f64>,
    #[serde(default)]
    prices: Vec<Price>,
    #[serde(default)]
    fresh_sizes: Vec<[f64; 2]>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Price {
    family: String,
    per_kg: f64,
    scrap: f64,
}

/// Reads policies; lengths are mm.
///
/// # Errors
/// A sentence.
pub fn read_policies(json: &str) -> Result<StartingPolicies, PoliciesFault> {
    let file: File = serde_json::from_str(json)?;
    if (file.format.as_str(), file.version, file.units.as_str()) != ("oddment-policies", 1, "mm") {
        return Err(PoliciesFault::OtherFormat(file.format, file.version));
    }
    if let Some(missing) = Policy::ALL.iter().find(|p| !file.policies.contains_key(p.key())) {
        return Err(PoliciesFault::Missing(missing.key()));
    }
    let mut policies = Policies::of(|_| 0.0);
    for (key, value) in file.policies {
        match Policy::of_key(&key) {
            None => return Err(PoliciesFault::Unknown(key)),
            Some(policy) if !policies.set(policy, value) => {
                return Err(PoliciesFault::OutOfRange(key, value));
            }
            Some(_) => {}
        }
    }
    let price = |p: Price| {
        for (what, value) in [("per_kg", p.per_kg), ("scrap", p.scrap)] {
            if !(0.0..=100_000.0).contains(&value) {
                return Err(PoliciesFault::OutOfRange(format!("{what} of {}", p.family), value));
            }
        }
        match Family::named(&p.family) {
            Some(family) => Ok((family, p.per_kg, p.scrap)),
            None => Err(PoliciesFault::UnknownFamily(p.family)),
        }
    };
    let prices = file.prices.into_iter().map(price).collect::<Result<_, _>>()?;
    for side in file.fresh_sizes.iter().flatten() {
        if !(10.0..=100_000.0).contains(side) {
            return Err(PoliciesFault::OutOfRange("a side of a fresh size".into(), *side));
        }
    }
    Ok(StartingPolicies { policies, prices, fresh_sizes: file.fresh_sizes })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shops_start_within_what_is_usual() {
        let start = starting_policies().unwrap();
        for (policy, least, most) in [
            (Policy::PullByOne, 3.0, 5.0),
            (Policy::PullByTwo, 6.0, 12.0),
            (Policy::PullByLifter, 6.0, 12.0),
            (Policy::Return, 2.0, 4.0),
            (Policy::OneCarries, 20.0, 20.0),
            (Policy::TwoCarry, 45.0, 45.0),
            (Policy::CreditShare, 0.7, 0.7),
        ] {
            let value = start.policies.get(policy);
            assert!((least..=most).contains(&value), "{policy:?} is {value}");
        }
        for (family, bought, scrap) in [
            (Family::Steel, 0.9..=1.5, 0.2),
            (Family::Stainless, 3.0..=4.5, 1.1),
            (Family::Aluminium, 4.0..=6.0, 1.3),
        ] {
            let price = start.prices.iter().find(|p| p.0 == family).unwrap();
            assert!(bought.contains(&price.1) && price.2 == scrap, "{price:?}");
            assert_eq!(start.scrap(family), Some(scrap));
        }
    }

    #[track_caller]
    fn refused(from: &str, to: &str, sentence: &str) {
        let json = include_str!("../../../assets/policies.json").replacen(from, to, 1);
        let fault = read_policies(&json).unwrap_err().to_string();
        assert!(fault.contains(sentence), "{fault}");
    }

    #[test]
    fn what_no_shop_decides_is_refused() {
        refused("\"credit_share\": 0.7", "\"credit_share\": 1.5", "credit_share is 1.5");
        refused("\"credit_share\": 0.7", "\"credit_shear\": 0.7", "credit_share has no value");
        refused("\"labour_per_hour\"", "\"tea_min\": 5, \"labour_per_hour\"", "“tea_min”");
        refused("\"scrap\": 0.2", "\"scrap\": -1", "scrap of steel is -1");
        refused("\"steel\"", "\"cheese\"", "“cheese” is no family");
        refused("[2000, 1000]", "[2000, 0]", "a side of a fresh size is 0");
        refused("\"version\": 1", "\"version\": 2", "of version 2");
        refused("{", "", "no policies");
    }
}
