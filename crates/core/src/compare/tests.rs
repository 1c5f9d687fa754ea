//! Cases worked out by hand, and every small one tried.

use std::sync::atomic::{AtomicU64, Ordering};

use super::*;
use crate::distances::{Clearances, EdgeDistance};
use crate::job::{Budget, Stop};
use crate::leftover::Keeping;
use crate::part::{Part, Turning};
use crate::shape::{Loop, Point, Region, Space};
use crate::sheet::{EdgeFacts, Metal, Sheet};

const KERF: f64 = 1.0;
const WEB: f64 = 2.0;
const EDGE: f64 = 4.0;
/// kg of a square millimetre.
const KG: f64 = 3.0 * 7850.0 * 1e-9;
const PRICE: f64 = 1.2;
const SCRAP: f64 = 0.2;
const SHARE: f64 = 0.7;
/// Money for a minute by hand.
const MINUTE: f64 = 40.0 / 60.0;

fn policies() -> Policies {
    Policies::of(|policy| match policy {
        Policy::Labour => 40.0,
        Policy::PullByOne => 4.0,
        Policy::PullByTwo => 6.0,
        Policy::PullByLifter => 9.0,
        Policy::OneCarries => 20.0,
        Policy::TwoCarry => 45.0,
        Policy::OneReaches => 1500.0,
        Policy::AgainstStops => 1.0,
        Policy::SquareUp | Policy::Return | Policy::ReturnBar | Policy::Skeleton => 3.0,
        Policy::SetUp => 4.0,
        Policy::TabCleanUp => 0.5,
        Policy::CreditShare => SHARE,
    })
}

fn rectangle<S: Space>(w: f64, h: f64) -> Region<S> {
    Region::new(Loop::rectangle(Point::origin(), Point::new(w, h)).unwrap(), Vec::new())
}

fn candidate(name: &str, w: f64, h: f64, source: Source) -> Candidate {
    let made_of = Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 };
    let sheet = Sheet::new(name, &[rectangle(w, h)], EdgeFacts::default());
    Candidate {
        sheet: Sheet { made_of: Some(made_of), ..sheet },
        count: if source == Source::Remnant { 1 } else { 9 },
        source,
        weight: w * h * KG,
        value: None,
        keeping: Keeping { amount: 1.2, least: [150.0, 100.0], price: PRICE, scrap: SCRAP },
        days: Some(400.0),
    }
}

fn want(name: &str, w: f64, h: f64, count: usize) -> Want {
    let part = Part { turning: Turning::none(), ..Part::new(name, rectangle(w, h)) };
    Want { part, count, order: 0, due: None }
}

fn question(wanted: Vec<Want>, candidates: Vec<Candidate>) -> Question {
    let edge = EdgeDistance::all(EDGE);
    Question {
        wanted,
        candidates,
        clearances: Clearances {
            kerf: KERF,
            web: WEB,
            edge,
            sensing: WEB,
            lay: 0.0,
            common: false,
        },
        starts: None,
        cut: None,
        policies: policies(),
    }
}

fn settle(question: &Question) -> Comparison {
    let budget = Budget { steps: None, time_up: &|| false, stop: Stop::default() };
    compare(question, 1, &budget, &mut |_| {})
}

/// Area (mm²) that a rectangle takes with its slot, whose outer corners are round.
fn with_slot(w: f64, h: f64) -> f64 {
    w * h + 2.0 * KERF * (w + h) + std::f64::consts::PI * KERF * KERF
}

#[test]
fn a_remnant_that_is_used_up_beats_a_fresh_sheet_of_which_most_goes_back() {
    let remnant = candidate("R-1", 450.0, 350.0, Source::Remnant);
    let fresh = candidate("2000x1000", 2000.0, 1000.0, Source::ToBuy);
    let q = question(vec![want("plate", 400.0, 300.0, 1)], vec![remnant, fresh]);
    let found = settle(&q);
    assert!(found.settled);
    let best = found.best().unwrap();
    assert_eq!(best.kind, WayKind::OneRemnant);
    // Its metal, less the frame that goes to scrap; pulled by one, squared up, the skeleton cleared.
    let frame = (450.0 * 350.0 - with_slot(400.0, 300.0)) * KG;
    let expected = 450.0 * 350.0 * KG * PRICE - frame * SCRAP + (4.0 + 3.0 + 3.0) * MINUTE;
    assert!((best.account.total() - expected).abs() < 1e-6, "{} {expected}", best.account.total());
    assert_eq!(best.minutes(), (10.0, 0.0));
    assert!(best.checked.is_clear() && best.is_complete());
    // The fresh sheet takes a lifter; it is charged whole, and little more than half is credited.
    let other = found.ways.iter().find(|w| w.kind == WayKind::FreshOnly).unwrap();
    assert!((other.account.of(Group::Metal) - 2e6 * KG * PRICE).abs() < 1e-6);
    assert!((other.account.of(Group::Handling) - (9.0 + 1.0 + 3.0) * MINUTE).abs() < 1e-9);
    let back = other.account.of(Group::GoesBack);
    assert!(back < 0.0 && -back < SHARE * (2e6 - 400.0 * 300.0) * KG * PRICE);
    let why = reason(&q, best, other);
    assert_eq!((why.uses_up, why.old), (1, 1));
    assert!((why.by_hand + 3.0).abs() < 1e-9);
    // Only the remnant's pull grows with the minutes of pulling.
    let even = 4.0 + (other.score - best.score) / MINUTE;
    assert!((why.break_even.unwrap() - even).abs() < 1e-6);
    assert!(found.bound <= best.score && found.bound > 0.0);
}

#[test]
fn a_leftover_is_never_credited_with_more_than_the_share_of_what_it_would_be_charged() {
    let fresh = candidate("1200x600", 1200.0, 600.0, Source::InStock);
    let mut cheap = candidate("R-1", 1200.0, 600.0, Source::Remnant);
    cheap.value = Some(3.0);
    let q = question(vec![want("plate", 200.0, 150.0, 2)], vec![cheap, fresh]);
    for way in &settle(&q).ways {
        for (i, sheet) in way.sheets.iter().enumerate() {
            let charged: f64 = way
                .account
                .items
                .iter()
                .filter(|item| item.sheet == i && item.kind == ItemKind::Metal)
                .map(Item::amount)
                .sum();
            let credits = way
                .account
                .items
                .iter()
                .filter(|item| item.sheet == i && item.kind.group() == Group::GoesBack);
            let credits: f64 = -credits.map(Item::amount).sum::<f64>();
            let again: f64 = sheet
                .rest
                .kept
                .iter()
                .map(|l| {
                    let clear = l.clear.width() * l.clear.height() * KG;
                    clear * PRICE + (l.weight - clear) * SCRAP
                })
                .sum();
            assert!(credits > 0.0 && credits <= SHARE * again + 1e-9);
            assert!(credits <= SHARE * charged + 1e-9);
        }
    }
}

/// A way of strips on sheets of one height, worked out without any geometry of the program: `n` strips
/// of each width on a sheet `width` wide, from the left.
fn strips_cost(sheet: &Candidate, widths: &[f64], n: &[usize], height: f64) -> Option<f64> {
    let bounds = sheet.sheet.bounds();
    let (w, h) = (bounds.width(), bounds.height());
    let count: usize = n.iter().sum();
    let strips: f64 = widths.iter().zip(n).map(|(w, n)| w * *n as f64).sum();
    let reach = KERF + EDGE + strips + (count as f64 - 1.0) * (2.0 * KERF + WEB);
    if reach + KERF + EDGE > w + 1e-9 {
        return None;
    }
    let gone: f64 = widths.iter().zip(n).map(|(w, n)| with_slot(*w, height) * *n as f64).sum();
    let left = (w * h - gone) * KG;
    let clear = (w - reach - KERF) * h;
    let kept = left * (PRICE - SCRAP) >= 1.2 && w - reach - KERF >= 150.0;
    let hands = if sheet.source == Source::Remnant { 4.0 + 3.0 } else { 4.0 + 1.0 };
    let worth = clear * KG * PRICE + (left - clear * KG) * SCRAP;
    let ends = if kept { 3.0 * MINUTE - SHARE * worth } else { 3.0 * MINUTE - left * SCRAP };
    Some(w * h * KG * PRICE + hands * MINUTE + ends)
}

/// The cheapest way, by trying all.
fn cheapest(sheets: &[Candidate], widths: &[f64], left: &[usize], height: f64) -> f64 {
    if left.iter().all(|n| *n == 0) {
        return 0.0;
    }
    let Some((first, others)) = sheets.split_first() else { return f64::INFINITY };
    let mut best = cheapest(others, widths, left, height);
    for a in 0..=left[0] {
        for b in 0..=left[1] {
            if a + b > 0
                && let Some(cost) = strips_cost(first, widths, &[a, b], height)
            {
                let rest = cheapest(others, widths, &[left[0] - a, left[1] - b], height);
                best = best.min(cost + rest);
            }
        }
    }
    best
}

#[test]
fn small_orders_come_as_cheap_as_by_trying_every_way() {
    let height = 290.0;
    let widths = [100.0, 160.0];
    for (counts, remnants) in [
        ([4, 3], vec![420.0, 300.0, 560.0]),
        ([2, 0], vec![900.0, 240.0, 130.0]),
        ([3, 2], vec![350.0, 180.0, 180.0]),
        ([1, 5], vec![700.0, 340.0, 120.0]),
    ] {
        let mut sheets: Vec<Candidate> = remnants
            .iter()
            .enumerate()
            .map(|(i, w)| candidate(&format!("R-{i}"), *w, 300.0, Source::Remnant))
            .collect();
        let fresh = candidate("1200x300", 1200.0, 300.0, Source::ToBuy);
        let mut each = sheets.clone();
        each.extend([fresh.clone(), fresh.clone()]);
        sheets.push(fresh);
        let wanted = widths.iter().zip(counts);
        let wanted = wanted.map(|(w, n)| want(&format!("strip {w}"), *w, height, n)).collect();
        let found = settle(&question(wanted, sheets));
        let best = found.best().unwrap();
        let least = cheapest(&each, &widths, &counts, height);
        assert!((best.score - least).abs() < 0.02, "{counts:?}: {} {least}", best.score);
        assert!(found.bound <= least, "{counts:?}: {} {least}", found.bound);
    }
}

#[test]
fn without_prices_ways_are_ranked_by_metal() {
    let unpriced = |c: Candidate| Candidate { keeping: Keeping { price: 0.0, ..c.keeping }, ..c };
    let large = unpriced(candidate("R-1", 1000.0, 600.0, Source::Remnant));
    let small = unpriced(candidate("R-2", 320.0, 220.0, Source::Remnant));
    let q = question(vec![want("plate", 300.0, 200.0, 1)], vec![large, small]);
    assert!(!q.is_priced());
    let found = settle(&q);
    let best = found.best().unwrap();
    assert_eq!(q.candidates[best.sheets[0].candidate].sheet.name, "R-2");
    assert!((best.score - 320.0 * 220.0 * KG).abs() < 1e-9);
    assert_eq!(best.account.of(Group::Metal), 0.0);
    assert!(found.bound <= best.score);
}

#[test]
fn what_goes_nowhere_is_missing_and_what_is_due_first_is_cut_first() {
    let sheets = vec![
        candidate("R-1", 260.0, 200.0, Source::Remnant),
        candidate("R-2", 400.0, 300.0, Source::Remnant),
    ];
    let mut wanted = vec![
        want("small", 240.0, 180.0, 1),
        want("wide", 380.0, 280.0, 1),
        want("huge", 900.0, 10.0, 1),
    ];
    (wanted[1].due, wanted[1].order) = (Some(3), 1);
    (wanted[0].due, wanted[0].order) = (Some(9), 0);
    let q = question(wanted, sheets);
    let found = settle(&q);
    assert!(found.best().is_none());
    let way = &found.ways[0];
    assert_eq!(way.missing, [0, 0, 1]);
    assert_eq!(way.sheets[0].due, Some(3));
    let (sheet, minutes) = way.whole_after(&q, 1).unwrap();
    assert_eq!((sheet, minutes), (0, 10.0));
    assert!(way.whole_after(&q, 0).is_none(), "the huge one belongs to it too");
}

fn strips() -> Question {
    let sheets = (0..6)
        .map(|i| candidate(&format!("R-{i}"), 200.0 + 70.0 * f64::from(i), 300.0, Source::Remnant));
    let fresh = candidate("1200x300", 1200.0, 300.0, Source::ToBuy);
    question(
        vec![want("a", 100.0, 290.0, 5), want("b", 60.0, 140.0, 7)],
        sheets.chain([fresh]).collect(),
    )
}

#[test]
fn the_same_steps_find_the_same_on_any_number_of_threads() {
    let q = strips();
    let run = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| {
            let budget = Budget { steps: Some(3_000), time_up: &|| false, stop: Stop::default() };
            let found = compare(&q, 7, &budget, &mut |_| {});
            let ways = found.ways.iter().map(|w| (w.key(), w.checked.plan().clone(), w.score));
            (ways.collect::<Vec<_>>(), found.steps)
        })
    };
    assert!(run(1) == run(3));
}

#[test]
fn what_was_found_before_a_stop_is_kept_and_only_gets_better() {
    let q = strips();
    let stop = Stop::default();
    let heard = AtomicU64::new(0);
    let budget = Budget { steps: None, time_up: &|| false, stop: stop.clone() };
    let mut last = f64::INFINITY;
    let found = compare(&q, 1, &budget, &mut |now| {
        let best = now.best().map_or(f64::INFINITY, |w| w.score);
        assert!(best <= last);
        last = best;
        if heard.fetch_add(1, Ordering::Relaxed) == 1 {
            stop.raise();
        }
    });
    assert!(!found.settled && found.best().is_some());
}

#[test]
fn what_ran_out_of_time_has_a_way_and_is_searched_on() {
    let q = strips();
    let mut comparer = Comparer::new(&q, 1);
    let late = Budget { steps: None, time_up: &|| true, stop: Stop::default() };
    let first = comparer.search(&late, &mut |_| {}).clone();
    assert!(!first.settled && first.best().is_some_and(|w| w.kind == WayKind::FreshOnly));
    let budget = Budget { steps: None, time_up: &|| false, stop: Stop::default() };
    let last = comparer.search(&budget, &mut |_| {}).clone();
    assert!(last.settled && last.steps > first.steps);
    assert!(last.best().unwrap().score < first.best().unwrap().score);
    let glance = Comparer::new(&q, 1).at_a_glance().search(&budget, &mut |_| {}).clone();
    assert!(glance.settled && glance.steps < last.steps && glance.best().is_some());
}

#[test]
fn nothing_wanted_or_no_sheet_is_settled_at_once() {
    let none = settle(&question(vec![want("a", 10.0, 10.0, 1)], Vec::new()));
    assert!(none.settled && none.ways.is_empty() && none.gap().is_none());
}

#[test]
fn every_size_of_fresh_sheets_is_a_way_of_its_own() {
    let sheets = vec![
        candidate("R-1", 1200.0, 600.0, Source::Remnant),
        candidate("S-1", 2000.0, 1000.0, Source::InStock),
        candidate("2000x1000", 2000.0, 1000.0, Source::ToBuy),
        candidate("3000x1500", 3000.0, 1500.0, Source::ToBuy),
    ];
    let found = settle(&question(vec![want("plate", 400.0, 300.0, 2)], sheets));
    for candidate in 0..4 {
        assert!(
            found.ways.iter().any(|w| w.is_complete() && w.key() == [candidate]),
            "{candidate}"
        );
    }
}
