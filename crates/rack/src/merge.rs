//! What a person changed of what they saw, brought into what others made of it meanwhile.

use std::collections::BTreeSet;

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use crate::fault::ShopFault;

/// Of what a person `saw` and `wants` instead, the facts that differ, put into what is known `now`; all
/// other facts stay as they are now. `of` is named where that can't be.
///
/// # Errors
/// [`ShopFault::Refused`] names each fact that somebody else has changed meanwhile to something else than
/// is wanted, with both values.
pub(crate) fn merged<T: Serialize + DeserializeOwned>(
    of: &str,
    saw: &T,
    wants: &T,
    now: &T,
) -> Result<T, ShopFault> {
    let json = |facts: &T| serde_json::to_value(facts);
    let mut both = Vec::new();
    let merged = merge("", &json(saw)?, &json(wants)?, &json(now)?, &mut both);
    if both.is_empty() {
        return Ok(serde_json::from_value(merged)?);
    }
    Err(ShopFault::refused(format!(
        "{of} was changed by somebody else while it was open here: {}. Nothing was changed; look at it again",
        both.join("; ")
    )))
}

/// A fact that is left out counts as none.
fn merge(name: &str, saw: &Value, wants: &Value, now: &Value, both: &mut Vec<String>) -> Value {
    if wants == saw || wants == now {
        return now.clone();
    }
    if now == saw {
        return wants.clone();
    }
    let nothing = Map::new();
    let known = if saw.is_null() { Some(&nothing) } else { saw.as_object() };
    if let (Some(saw), Value::Object(wants), Value::Object(now)) = (known, wants, now) {
        let of = |facts: &Map<String, Value>, key| facts.get(key).cloned().unwrap_or_default();
        let keys: BTreeSet<&String> = [saw, wants, now].into_iter().flat_map(Map::keys).collect();
        let merged = keys.into_iter().map(|key| {
            let name = format!("{name} {}", in_words(key));
            (key.clone(), merge(&name, &of(saw, key), &of(wants, key), &of(now, key), both))
        });
        return merged.filter(|(_, value)| !value.is_null()).collect();
    }
    both.push(format!("{} is {} now, not {}", name.trim(), said(now), said(wants)));
    now.clone()
}

/// What people call a fact.
fn in_words(key: &str) -> String {
    match key {
        "grain_deg" => "grain".to_owned(),
        "weighed" => "weight".to_owned(),
        "counted" => "in stock".to_owned(),
        key => key.replace('_', " "),
    }
}

fn said(value: &Value) -> String {
    match value {
        Value::Null => "none".to_owned(),
        Value::String(text) if text.is_empty() => "none".to_owned(),
        Value::String(text) => format!("“{text}”"),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::facts::{KeepRule, Material};

    fn steel(price: f64, amount: f64) -> Material {
        let keep = KeepRule { amount, ..KeepRule::default() };
        Material { keep, ..Material::new("S235", 7850.0, price) }
    }

    #[test]
    fn what_lies_deeper_is_merged_too() {
        let (saw, wants, now) = (steel(1.0, 5.0), steel(2.0, 5.0), steel(1.0, 7.0));
        let both = merged("S235", &saw, &Material { scrap: saw.scrap, ..wants }, &now).unwrap();
        assert_eq!((both.price, both.keep.amount), (2.0, 7.0));
        let why = merged("S235", &saw, &steel(1.0, 6.0), &now).unwrap_err().to_string();
        assert!(why.contains("keep amount is 7.0 now, not 6.0"), "{why}");
    }

    proptest! {
        /// Each fact is what the one who changed it made of it; only where both did is it refused.
        #[test]
        fn each_fact_is_as_the_last_who_changed_it_made_it(
            saw in prop::array::uniform4(0..3i32),
            wants in prop::array::uniform4(0..3i32),
            now in prop::array::uniform4(0..3i32),
        ) {
            let facts = |of: [i32; 4]| -> Map<String, Value> {
                // 0 stands for a fact that is left out.
                let all = of.into_iter().enumerate().filter(|(_, n)| *n > 0);
                all.map(|(i, n)| (format!("fact_{i}"), n.into())).collect()
            };
            let done = merged("it", &facts(saw), &facts(wants), &facts(now));
            let mut expected = now;
            let mut refused = Vec::new();
            for i in 0..4 {
                if wants[i] != saw[i] {
                    expected[i] = wants[i];
                    if now[i] != saw[i] && now[i] != wants[i] {
                        refused.push(format!("fact {i} is "));
                    }
                }
            }
            match done {
                Ok(done) => {
                    prop_assert!(refused.is_empty());
                    prop_assert_eq!(done, facts(expected));
                }
                Err(why) => {
                    let why = why.to_string();
                    prop_assert!(!refused.is_empty());
                    for i in 0..4 {
                        let name = format!("fact {i} is ");
                        prop_assert_eq!(why.contains(&name), refused.contains(&name));
                    }
                }
            }
        }
    }
}
