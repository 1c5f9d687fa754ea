//! The values that are worked with, and acts on them.

use std::sync::Arc;

use oddment_core::distances::{Clearances, StartRule};
use oddment_core::plan::Job;
use oddment_files::values::{Learnt, Values};
use oddment_rack::values::ShopValue;
use serde_json::Value;

use super::Session;
use crate::open_job::OpenJob;
use crate::rack::Desk;
use crate::shop::{MATERIALS, ShopAct, Standing, material_value, material_with};

/// The values of the shop, and those of the open plan.
#[derive(Clone, Debug)]
pub(super) struct InForce {
    /// What the shop keeps: what this was worked out from.
    kept: Vec<ShopValue>,
    learnt: Learnt,
    shop: Arc<Values>,
    plan: Arc<Values>,
}

impl InForce {
    pub(super) fn starting() -> Self {
        let values = Arc::new(Values::starting().clone());
        Self { kept: Vec::new(), learnt: Learnt::new(), shop: values.clone(), plan: values }
    }
}

impl Session {
    /// The values that hold for the open plan.
    pub fn values(&self) -> &Arc<Values> {
        &self.in_force.plan
    }

    /// The values that the shop works with.
    pub fn shop_values(&self) -> &Arc<Values> {
        &self.in_force.shop
    }

    /// A value as it stands.
    pub fn standing(&self, key: &str) -> Standing {
        if key.starts_with(MATERIALS) {
            let materials = self.rack.as_ref().map(|r| r.listing().materials.as_slice());
            let kept = material_value(materials.unwrap_or_default(), key);
            return Standing { kept, ..Standing::default() };
        }
        let kept = self.in_force.kept.iter().find(|v| v.key == key);
        let starting = Values::starting().get(key);
        Standing {
            starting: starting.cloned(),
            // Of a machine of the shop's own each value stands in the whole.
            kept: kept
                .and_then(|k| k.value.clone())
                .or_else(|| self.in_force.shop.get(key).filter(|v| starting != Some(*v)).cloned()),
            by: kept.map(|k| (k.who.clone(), k.at)),
            tried: self.open.sourced.cut.tried.get(key).cloned(),
        }
    }

    pub(super) fn shop_act(&mut self, act: ShopAct) {
        match act {
            ShopAct::Keep(values, said) => self.keep_values(values, said),
            ShopAct::History(key) => {
                if let Some(rack) = &mut self.rack {
                    rack.value_history(key);
                }
            }
            ShopAct::Try(key, value) => {
                if let Some(value) = &value
                    && let Err(why) = self.in_force.shop.with_one(&key, value)
                {
                    self.refuse(why);
                    return;
                }
                let name = match value {
                    Some(_) => "Try a value for this plan",
                    None => "Work with the shop’s value",
                };
                self.change_by_values(name, |open| {
                    let tried = &mut open.job_mut().cut.tried;
                    match value {
                        Some(value) => tried.insert(key, value),
                        None => tried.remove(&key),
                    };
                });
            }
            ShopAct::UseMachine(machine) => {
                let name = format!("Cut on {}", machine.as_deref().unwrap_or("the usual machine"));
                self.change_by_values(name, |open| {
                    open.job_mut().cut.machine = machine;
                    open.job_mut().cut.gas = None;
                });
            }
            ShopAct::UseGas(gas) => {
                let name = format!("Cut with {}", gas.as_deref().unwrap_or("the usual gas"));
                self.change_by_values(name, |open| open.job_mut().cut.gas = gas);
            }
        }
    }

    /// Keeps values of the shop; those of materials stand with the materials.
    fn keep_values(&mut self, values: Vec<(String, Option<Value>)>, said: String) {
        let Some(rack) = &mut self.rack else {
            self.refuse("There is no shop file here to keep it in");
            return;
        };
        let (of_materials, values): (Vec<_>, Vec<_>) =
            values.into_iter().partition(|(key, _)| key.starts_with(MATERIALS));
        for (key, value) in of_materials {
            let known = rack.listing().materials.clone();
            match value.and_then(|value| material_with(&known, &key, &value)) {
                Some(material) => {
                    rack.set_material(
                        known.into_iter().find(|m| m.name == material.name),
                        material,
                    );
                }
                None => self.refusal = Some("A material can’t be so".into()),
            }
        }
        let whole = values.iter().filter_map(|(k, v)| Some((k.as_str(), v.as_ref()?)));
        if let (_, problems) = self.in_force.shop.with(whole)
            && let Some(why) = problems.into_iter().next()
        {
            self.refuse(why);
            return;
        }
        if values.is_empty() {
            return;
        }
        // What the shop keeps is tried no more.
        let tried = |key: &String| self.open.sourced.cut.tried.contains_key(key);
        if values.iter().any(|(key, _)| tried(key)) {
            let keys: Vec<String> = values.iter().map(|(key, _)| key.clone()).collect();
            self.change("Work with the shop’s value", |open| {
                open.job_mut().cut.tried.retain(|key, _| !keys.contains(key));
            });
        }
        if let Some(rack) = &mut self.rack {
            rack.set_values(values, said);
        }
    }

    /// Takes in what the shop keeps. A plan with nothing laid follows, one that was begun keeps its
    /// distances.
    pub(super) fn take_values(&mut self) {
        let Some(listing) = self.rack.as_ref().map(Desk::listing).cloned() else { return };
        if listing.values == self.in_force.kept && listing.learnt == self.in_force.learnt {
            return;
        }
        let said = listing.values.iter().filter_map(|v| Some((v.key.as_str(), v.value.as_ref()?)));
        let (shop, problems) = Values::starting().with(said);
        let shop = shop.with_learnt(listing.learnt.clone());
        self.notice = problems.into_iter().next().or(self.notice.take());
        let before = self.in_force.plan.clone();
        self.in_force = InForce {
            kept: listing.values.clone(),
            learnt: listing.learnt.clone(),
            plan: Arc::new(of_plan(&shop, &self.open)),
            shop: Arc::new(shop),
        };
        let from = distances(&before, self.open.job(), &self.open);
        if self.open.plan.layouts.is_empty() && follow(&mut self.open, from, &self.in_force.plan) {
            self.changed();
        } else {
            self.checked = self.check_open();
            self.revision += 1;
        }
    }

    /// Brings the values of the open plan up to date with what it tries.
    pub(super) fn renew_values(&mut self) {
        let plan = of_plan(&self.in_force.shop, &self.open);
        if plan != *self.in_force.plan {
            self.in_force.plan = Arc::new(plan);
        }
    }

    /// Changes something that distances and starts depend on: they follow, unless somebody has typed
    /// others.
    pub(super) fn change_by_values(
        &mut self,
        name: impl Into<String>,
        change: impl FnOnce(&mut OpenJob),
    ) {
        let from = distances(&self.in_force.plan, self.open.job(), &self.open);
        let shop = self.in_force.shop.clone();
        self.change(name, |open| {
            change(open);
            let values = of_plan(&shop, open);
            follow(open, from, &values);
        });
    }

    /// Gives a job that was just opened from the sample shop the distances of this shop.
    pub(super) fn by_this_shop(&self, mut open: OpenJob) -> OpenJob {
        let from = distances(Values::starting(), open.job(), &open);
        follow(&mut open, from, &self.in_force.shop);
        open
    }
}

fn of_plan(shop: &Values, open: &OpenJob) -> Values {
    let tried = open.sourced.cut.tried.iter();
    shop.with(tried.map(|(key, value)| (key.as_str(), value))).0
}

/// The distances and starts that values give for a job's metal.
fn distances(values: &Values, job: &Job, open: &OpenJob) -> Option<(Clearances, StartRule)> {
    let metal = job.stock.iter().find_map(|s| s.sheet.made_of.as_ref())?;
    let machine = open.sourced.cut.machine.as_deref();
    Some((values.clearances(machine, metal.thickness)?, values.starts(machine, metal.thickness)?))
}

/// Where a job's distances are those of `from`, or of no metal in particular, they become those of the
/// values. Whether they changed.
fn follow(open: &mut OpenJob, from: Option<(Clearances, StartRule)>, values: &Values) -> bool {
    let Some((to, starts)) = distances(values, open.job(), open) else { return false };
    let job = open.job();
    let Clearances { lay, common, .. } = job.clearances;
    let of_plan = |clearances: Clearances| Clearances { lay, common, ..clearances };
    let known = |clearances: Clearances| of_plan(clearances) == job.clearances;
    let from_clearances = from.map_or(Clearances::STARTING, |f| f.0);
    let new_clearances = of_plan(to);
    let moves = known(from_clearances) && new_clearances != job.clearances;
    let restarts = job.starts.is_some_and(|s| from.is_some_and(|f| f.1 == s) && s != starts);
    if moves {
        open.job_mut().job.clearances = new_clearances;
    }
    if restarts {
        open.job_mut().job.starts = Some(starts);
    }
    moves || restarts
}
