//! Looking for sheets with room, on a thread of its own.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, channel};
use std::time::Instant;

use oddment_core::distances::Clearances;
use oddment_core::fit::RESOLUTION;
use oddment_core::job::{Budget, Stop};
use oddment_rack::find::{Found, Room, Wish};
use oddment_rack::{Shop, ShopFault};

use super::Sought;
use crate::background::background;
use crate::session::Wake;

/// Seconds that a search may take.
const SECONDS: f64 = 10.0;

/// A search, under way or done.
pub struct Finding {
    /// What is looked for.
    sought: Sought,
    progress: Arc<(AtomicUsize, AtomicUsize)>,
    answer: Receiver<Result<Vec<Found>, String>>,
    found: Option<Vec<Found>>,
    problem: Option<String>,
    began: Instant,
    seconds: f64,
    stop: Stop,
}

impl Finding {
    /// Begins.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub(super) fn start(shop: PathBuf, sought: Sought, wake: Wake) -> std::io::Result<Self> {
        let progress = Arc::new((AtomicUsize::new(0), AtomicUsize::new(0)));
        let (tell, answer) = channel();
        let (stop, began) = (Stop::default(), Instant::now());
        let (telling, stopped, wanted) = (progress.clone(), stop.clone(), sought.clone());
        background("find room", move || {
            let time_up = || began.elapsed().as_secs_f64() > SECONDS;
            let budget = Budget { steps: None, time_up: &time_up, stop: stopped };
            // The window has it open already.
            let found = Shop::look_at(&shop).and_then(|shop| {
                shop.find(&wish(&wanted, &shop)?, &budget, &mut |done, of| {
                    telling.0.store(done, Ordering::Relaxed);
                    telling.1.store(of, Ordering::Relaxed);
                    wake();
                })
            });
            // Nobody may be listening any more.
            let _ = tell.send(found.map_err(|why| why.to_string()));
            wake();
        })?;
        let (found, problem, seconds) = (None, None, 0.0);
        Ok(Self { sought, progress, answer, found, problem, began, seconds, stop })
    }

    /// Takes in the answer; whether it has come.
    pub(super) fn poll(&mut self) -> bool {
        match self.answer.try_recv() {
            Ok(Ok(found)) => self.found = Some(found),
            Ok(Err(why)) => self.problem = Some(why),
            Err(_) => return false,
        }
        self.seconds = self.began.elapsed().as_secs_f64();
        true
    }

    /// What is looked for.
    pub fn sought(&self) -> &Sought {
        &self.sought
    }

    /// What was found, once it is.
    pub fn found(&self) -> Option<&[Found]> {
        self.found.as_deref()
    }

    /// “7 of 12 have room · 0.4 s”, or how far it has got.
    pub fn words(&self) -> String {
        if let Some(why) = &self.problem {
            return why.clone();
        }
        let Some(found) = &self.found else {
            let count = |n: &AtomicUsize| n.load(Ordering::Relaxed);
            return format!("{} of {} looked at", count(&self.progress.0), count(&self.progress.1));
        };
        let have = found.iter().filter(|f| matches!(f.room, Room::Has { .. })).count();
        let open = found.iter().filter(|f| f.room == Room::NotDecided).count();
        let open = if open > 0 { format!(", {open} not decided") } else { String::new() };
        format!("{have} of {} have room{open} · {:.1} s", found.len(), self.seconds)
    }
}

impl Drop for Finding {
    fn drop(&mut self) {
        self.stop.raise();
    }
}

fn wish(sought: &Sought, shop: &Shop) -> Result<Wish, ShopFault> {
    let values = shop.working_values()?;
    let thickness = sought.metal.as_ref().map(|(_, thickness)| *thickness);
    let clearances =
        thickness.and_then(|t| values.clearances(None, t)).unwrap_or(Clearances::STARTING);
    let by_thickness = if thickness.is_some() { Vec::new() } else { shop.thicknesses()? };
    let own = |t: f64| Some((t, values.clearances(None, t)?));
    let by_thickness = by_thickness.into_iter().filter_map(own).collect();
    Ok(Wish {
        typed: sought.typed.clone(),
        material: sought.metal.as_ref().map(|(material, _)| material.clone()),
        thickness,
        loadable: sought.loadable,
        certificate: shop.order(&sought.order)?.is_some_and(|order| order.certificate),
        order: Some(sought.order.clone()),
        part: sought.part.clone(),
        clearances,
        by_thickness,
        resolution: RESOLUTION,
    })
}
