//! Policies, fresh sizes and prices from their JSON.

use oddment_core::compare::{Policies, Policy};
use oddment_core::cut_data::Family;
use oddment_core::machine::Limits;
use serde::Deserialize;
use serde_json::Value;

/// What a shop starts from until it decides itself; lengths are mm.
pub const STARTING_POLICIES: &str = include_str!("../../../assets/policies.json");

/// Why policies can't be used.
#[derive(Debug, thiserror::Error)]
pub enum PoliciesFault {
    /// Not the JSON of prices.
    #[error("these are no prices: {0}")]
    NotPrices(#[from] serde_json::Error),
    /// One that has no value.
    #[error("{0} has no value; give it one")]
    Missing(&'static str),
    /// What can't be.
    #[error("{0} is {1}, which can't be; write a number from 0 up, and shares up to 100 %")]
    OutOfRange(String, Value),
    /// A family of metals nobody knows.
    #[error("“{0}” is no family of metals; there are steel, stainless, aluminium")]
    UnknownFamily(String),
}

/// Key of a policy among the shop's values. What people carry is a limit of weight for everything.
pub fn policy_key(policy: Policy) -> String {
    match policy {
        Policy::OneCarries => "limits/one_person_kg".to_owned(),
        Policy::TwoCarry => "limits/two_people_kg".to_owned(),
        _ => format!("policies/{}", policy.key()),
    }
}

/// The policies of a section of values; what people carry stands with the limits.
///
/// # Errors
/// A sentence.
pub(crate) fn read_policies(section: &Value, limits: Limits) -> Result<Policies, PoliciesFault> {
    let mut policies = Policies::of(|_| 0.0);
    for policy in Policy::ALL {
        let key = policy.key();
        let said = match policy {
            Policy::OneCarries => &Value::from(limits.one_person),
            Policy::TwoCarry => &Value::from(limits.two_people),
            _ => section.get(key).ok_or(PoliciesFault::Missing(key))?,
        };
        if !said.as_f64().is_some_and(|value| policies.set(policy, value)) {
            return Err(PoliciesFault::OutOfRange(key.to_owned(), said.clone()));
        }
    }
    Ok(policies)
}

/// Sides (mm) of the fresh sheets that can be bought.
///
/// # Errors
/// A sentence.
pub(crate) fn read_sizes(sizes: &Value) -> Result<Vec<[f64; 2]>, PoliciesFault> {
    let side = |of: &Value| of.as_f64().filter(|side| (10.0..=100_000.0).contains(side));
    let size = |of: &Value| match of.as_array().map(Vec::as_slice) {
        Some([w, h]) => side(w).zip(side(h)).map(|(w, h)| [w, h]),
        _ => None,
    };
    let all = sizes.as_array().and_then(|all| all.iter().map(size).collect());
    all.ok_or_else(|| PoliciesFault::OutOfRange("a fresh size".into(), sizes.clone()))
}

/// Money for a kilogram of a family of metals, and what of it is kept, to start from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Price {
    /// The family.
    pub family: Family,
    /// As bought.
    pub per_kg: f64,
    /// As scrap.
    pub scrap: f64,
    /// What is left of a sheet is kept where it is worth so much more than scrap,
    pub keep_amount: f64,
    /// and has room for a rectangle of these sides, mm.
    pub keep_least: [f64; 2],
}

/// The prices to start from.
///
/// # Errors
/// Never for the data the program was tested with.
pub fn starting_prices() -> Result<Vec<Price>, PoliciesFault> {
    read_prices(STARTING_POLICIES)
}

fn read_prices(json: &str) -> Result<Vec<Price>, PoliciesFault> {
    #[derive(Deserialize)]
    struct File {
        prices: Vec<Row>,
    }
    #[derive(Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Row {
        family: String,
        per_kg: f64,
        scrap: f64,
        keep: Keep,
    }
    #[derive(Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Keep {
        amount: f64,
        least: [f64; 2],
    }
    let file: File = serde_json::from_str(json)?;
    let price = |row: Row| {
        let Keep { amount, least } = row.keep;
        for (what, value) in [
            ("per_kg", row.per_kg),
            ("scrap", row.scrap),
            ("keep, amount,", amount),
            ("keep, least,", least[0]),
            ("keep, least,", least[1]),
        ] {
            if !(0.0..=100_000.0).contains(&value) {
                let what = format!("{what} of {}", row.family);
                return Err(PoliciesFault::OutOfRange(what, value.into()));
            }
        }
        match Family::named(&row.family) {
            Some(family) => Ok(Price {
                family,
                per_kg: row.per_kg,
                scrap: row.scrap,
                keep_amount: amount,
                keep_least: least,
            }),
            None => Err(PoliciesFault::UnknownFamily(row.family)),
        }
    };
    file.prices.into_iter().map(price).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::values::Values;
    use serde_json::json;

    #[test]
    fn shops_start_within_what_is_usual() {
        let start = Values::starting().policies();
        for (policy, least, most) in [
            (Policy::PullByOne, 3.0, 5.0),
            (Policy::PullByTwo, 6.0, 12.0),
            (Policy::PullByLifter, 6.0, 12.0),
            (Policy::Return, 2.0, 4.0),
            (Policy::ReturnBar, 0.5, 1.5),
            (Policy::OneCarries, 20.0, 20.0),
            (Policy::TwoCarry, 45.0, 45.0),
            (Policy::CreditShare, 0.7, 0.7),
        ] {
            let value = start.get(policy);
            assert!((least..=most).contains(&value), "{policy:?} is {value}");
        }
        let prices = starting_prices().unwrap();
        for (family, bought, scrap) in [
            (Family::Steel, 0.9..=1.5, 0.2),
            (Family::Stainless, 3.0..=4.5, 1.1),
            (Family::Aluminium, 4.0..=6.0, 1.3),
        ] {
            let price = prices.iter().find(|p| p.family == family).unwrap();
            assert!(bought.contains(&price.per_kg) && price.scrap == scrap, "{price:?}");
        }
        assert_eq!(Values::starting().fresh_sizes().len(), 3);
    }

    #[test]
    fn every_policy_is_a_value_that_the_shop_can_say_otherwise() {
        for policy in Policy::ALL {
            let key = policy_key(policy);
            let now = Values::starting().number(&key).unwrap();
            assert_eq!(now, Values::starting().policies().get(policy), "{key}");
            let less = Values::starting().with_one(&key, &json!(now / 2.0)).unwrap();
            assert_eq!(less.policies().get(policy), now / 2.0, "{key}");
            assert!(Values::starting().with_one(&key, &json!(-1)).is_err(), "{key}");
        }
        let fresh = Values::starting().with_one("fresh/sizes", &json!([[2000, 1500]])).unwrap();
        assert_eq!(fresh.fresh_sizes(), [[2000.0, 1500.0]]);
    }

    #[track_caller]
    fn refused(key: &str, value: Value, sentence: &str) {
        let fault = Values::starting().with_one(key, &value).unwrap_err();
        assert!(fault.contains(sentence), "{fault}");
    }

    #[test]
    fn what_no_shop_decides_is_refused() {
        refused("policies/credit_share", json!(1.5), "credit_share is 1.5");
        refused("policies/return_min", json!("tea"), "return_min is \"tea\"");
        refused("policies/tea_min", json!(5), "no such value");
        refused("fresh/sizes", json!([[2000, 0]]), "a fresh size is [[2000,0]]");
        refused("fresh/sizes", json!([[2000]]), "a fresh size");
        let json = STARTING_POLICIES.replacen("\"scrap\": 0.2", "\"scrap\": -1", 1);
        assert!(read_prices(&json).unwrap_err().to_string().contains("scrap of steel is -1"));
        let json = STARTING_POLICIES.replacen("\"steel\"", "\"cheese\"", 1);
        assert!(read_prices(&json).unwrap_err().to_string().contains("“cheese” is no family"));
    }
}
