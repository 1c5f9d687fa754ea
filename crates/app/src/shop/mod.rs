//! The place *Shop*: the values that everything is worked out with, and what can be said of them.

mod fields;
mod kind;

use oddment_files::values::Values;
use oddment_rack::facts::Material;
use serde_json::{Value, json};

pub use fields::{
    Field, cut_fields, feed_fields, limit_fields, machine_fields, material_fields, order_fields,
    policy_fields, process_fields,
};
pub use kind::Kind;

/// What can be done about values.
#[derive(Clone, Debug, PartialEq)]
pub enum ShopAct {
    /// Keep these values for the shop, or put their starting values back; in words.
    Keep(Vec<(String, Option<Value>)>, String),
    /// Work with this value for the open plan only, or with the shop's again.
    Try(String, Option<Value>),
    /// Cut the open plan on this machine, or on the shop's usual one.
    UseMachine(Option<String>),
    /// Cut the open plan with this gas, or with the usual one.
    UseGas(Option<String>),
    /// Have what was ever said of a value told.
    History(String),
}

/// Keys of materials begin so; they are the shop's own and have no starting values.
pub const MATERIALS: &str = "materials/";

/// A value as it stands: what the program starts with, what the shop keeps, what the plan tries.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Standing {
    /// What the program starts with; none for what is the shop's own.
    pub starting: Option<Value>,
    /// What the shop keeps in its place.
    pub kept: Option<Value>,
    /// Who said so, and when (seconds since 1970).
    pub by: Option<(String, i64)>,
    /// What is tried for the open plan.
    pub tried: Option<Value>,
}

impl Standing {
    /// What holds.
    pub fn now(&self) -> Option<&Value> {
        self.tried.as_ref().or(self.kept.as_ref()).or(self.starting.as_ref())
    }

    /// Where what holds comes from, in words.
    pub fn origin(&self) -> &'static str {
        match (&self.tried, &self.kept) {
            (Some(_), _) => "for this plan",
            (None, Some(_)) => "the shop’s own",
            (None, None) => "to start from",
        }
    }
}

/// A machine of the shop's own to start from: as the one of `like`, under a name that no other has.
/// Returns its key, what is said of it, and its name.
pub fn new_machine(values: &Values, like: &str, name: &str) -> Option<(String, Value, String)> {
    // Keys are put together with strokes.
    let name = name.trim().replace('/', "-");
    let taken = |name: &str| values.table().machine(Some(name)).is_some();
    let free = (1..100)
        .map(|n| if n == 1 { name.clone() } else { format!("{name} {n}") })
        .find(|n| !name.is_empty() && !taken(n))?;
    let mut machine = values.get(&format!("machines/{like}"))?.clone();
    machine["name"] = json!(free);
    Some((format!("machines/{free}"), machine, free))
}

/// A material's value by its key.
pub fn material_value(materials: &[Material], key: &str) -> Option<Value> {
    let (name, field) = key.strip_prefix(MATERIALS)?.rsplit_once('/')?;
    let material = materials.iter().find(|m| m.name == name)?;
    Some(match field {
        "density" => json!(material.density),
        "price" => json!(material.price),
        "scrap" => json!(material.scrap),
        "stand_ins" => json!(material.stand_ins.join(", ")),
        "keep_amount" => json!(material.keep.amount),
        "keep_x" => json!(material.keep.least[0]),
        "keep_y" => json!(material.keep.least[1]),
        _ => return None,
    })
}

/// Density of steel, kg/m³.
const STEEL: f64 = 7850.0;

/// The material with a value said otherwise; a new one where none has the name.
pub fn material_with(materials: &[Material], key: &str, value: &Value) -> Option<Material> {
    let (name, field) = key.strip_prefix(MATERIALS)?.rsplit_once('/')?;
    let number = value.as_f64().filter(|n| (0.0..=1e6).contains(n));
    // What a new one costs, and what of it is kept, goes by what it weighs.
    let weighs = number.filter(|n| field == "density" && *n > 0.0).unwrap_or(STEEL);
    let known = materials.iter().find(|m| m.name == name).cloned();
    let mut material = known.unwrap_or_else(|| Material::starting(name, weighs));
    match field {
        "density" => material.density = number.filter(|n| *n > 0.0)?,
        "price" => material.price = number?,
        "scrap" => material.scrap = number?,
        "stand_ins" => {
            let names = value.as_str()?.split(',').map(|n| n.trim().to_owned());
            material.stand_ins = names.filter(|n| !n.is_empty()).collect();
        }
        "keep_amount" => material.keep.amount = number?,
        "keep_x" => material.keep.least[0] = number?,
        "keep_y" => material.keep.least[1] = number?,
        _ => return None,
    }
    Some(material)
}

/// A material of the shop's own to start from: weighs as the one of `like`, under a name that no other
/// has. Returns its key, what is kept under it, and its name.
pub fn new_material(
    materials: &[Material],
    like: Option<&str>,
    name: &str,
) -> Option<(String, Value, String)> {
    // Keys are put together with strokes.
    let name = name.trim().replace('/', "-");
    let taken = materials.iter().any(|m| m.name.eq_ignore_ascii_case(&name));
    if name.is_empty() || taken {
        return None;
    }
    let density = materials.iter().find(|m| Some(m.name.as_str()) == like).map(|m| m.density);
    let key = format!("{MATERIALS}{name}/density");
    Some((key, json!(density.unwrap_or(STEEL)), name))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_new_material_weighs_as_the_one_it_is_like_and_has_a_name_of_its_own() {
        let known = vec![Material::new("5754", 2670.0, 4.0)];
        let (key, density, name) = new_material(&known, Some("5754"), " Al Mg3/H22 ").unwrap();
        assert_eq!((key.as_str(), name.as_str()), ("materials/Al Mg3-H22/density", "Al Mg3-H22"));
        let made = material_with(&known, &key, &density).unwrap();
        assert_eq!(made, Material::starting("Al Mg3-H22", 2670.0));
        assert!(made.keep != Material::starting("Brass", 8500.0).keep);
        assert_eq!(new_material(&[], None, "Brass").unwrap().1, json!(7850.0));
        assert!(
            new_material(&known, None, "5754").is_none()
                && new_material(&known, None, " ").is_none()
        );
    }

    #[test]
    fn a_machine_of_ones_own_starts_as_another_and_has_a_name_of_its_own() {
        let values = Values::starting();
        let (key, machine, name) = new_machine(values, "plasma", " plasma ").unwrap();
        assert_eq!((key.as_str(), name.as_str()), ("machines/plasma 2", "plasma 2"));
        let with = values.with_one(&key, &machine).unwrap();
        let own = with.machine(Some("plasma 2")).unwrap();
        assert_eq!(own.process, oddment_core::cut_data::Process::Plasma);
        assert_eq!(new_machine(values, "plasma", "a/b").unwrap().2, "a-b");
        assert!(new_machine(values, "plasma", "  ").is_none());
        assert!(new_machine(values, "scissors", "mine").is_none());
    }

    #[test]
    fn every_value_of_a_material_reads_back_as_it_was_said() {
        let materials = vec![Material::new("S235", 7850.0, 1.15)];
        for field in material_fields("S235") {
            let value = match field.kind {
                Kind::Text => json!("S355, S275"),
                _ => json!(12.5),
            };
            let with = material_with(&materials, &field.key, &value).unwrap();
            assert_eq!(material_value(&[with], &field.key), Some(value), "{}", field.key);
            assert!(material_value(&materials, &field.key).is_some());
        }
        assert!(material_with(&materials, "materials/S235/density", &json!(0)).is_none());
        assert_eq!(material_with(&[], "materials/Brass/price", &json!(7)).unwrap().name, "Brass");
    }
}
