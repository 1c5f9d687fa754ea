//! The stock-take.

use eframe::egui::Event;
use oddment_app::act::Act;
use oddment_app::place::Place;
use oddment_app::rack::RackAct;
use oddment_app::session::Session;
use oddment_rack::Shop;
use oddment_rack::facts::Whereabouts;
use oddment_rack::stock_take::Mark;

use crate::tests::bench::bench;

#[test]
fn a_missing_sheet_is_not_taken_until_it_is_found_again() {
    let mut bench = bench("found-again");
    bench.press("Rack");
    bench.act(Act::Rack(RackAct::BeginWalk("S3-041".into())));
    bench.act(Act::Rack(RackAct::Mark("S3-041".into(), Mark::Missing)));
    bench.act(Act::Rack(RackAct::EndWalk(false)));
    let missing = |is: bool| {
        move |s: &Session| {
            let sheets = &s.rack().unwrap().listing().sheets;
            let at = sheets.iter().find(|e| e.label == "S3-041").unwrap().facts.whereabouts;
            (at == Whereabouts::Missing) == is
        }
    };
    bench.until(missing(true));
    let stood = bench.sheet("S3-041").facts.stands;
    bench.act(Act::Rack(RackAct::Take("S3-041".into())));
    bench.until(|s| s.rack().unwrap().refused().is_some());
    assert!(bench.says("Not done: S3-041 is missing since the stock-take"));
    bench.press("S3-041,");
    assert!(!bench.says("Take it"));
    bench.press("Found again");
    bench.until(missing(false));
    assert_eq!(bench.sheet("S3-041").facts.stands, stood);
    bench.harness.run_steps(4);
    bench.press("Take it");
    bench.until(|s| s.settings().place == Place::Sheet);
}

#[test]
fn a_stock_take_of_nothing_is_refused() {
    let mut bench = bench("walk-of-nothing");
    bench.press("Rack");
    bench.type_into("filter the rack", "no such sheet");
    bench.press("Stock-take");
    bench.until(|s| s.rack().unwrap().refused().is_some());
    assert!(bench.says("Not done: No sheet matches “no such sheet”"));
    assert!(bench.session().rack().unwrap().listing().walk.is_none());
}

#[test]
fn a_stock_take_leads_from_sheet_to_sheet() {
    let mut bench = bench("walk");
    bench.press("Rack");
    bench.press("Stock-take");
    bench.until(|s| s.rack().unwrap().listing().walk.is_some());
    let counted = bench.session().rack().unwrap().listing().walk.as_ref().unwrap().left.len();
    bench.press("It is there");
    let marked = |n: usize| {
        move |s: &Session| {
            s.rack().unwrap().listing().walk.as_ref().is_some_and(|w| w.marks.len() == n)
        }
    };
    bench.until(marked(1));
    // The next one has come by itself.
    bench.press("Missing");
    bench.until(marked(2));
    bench.press("Damaged");
    // What is typed goes there at once.
    bench.harness.event(Event::Text("bent".into()));
    bench.harness.run_steps(2);
    bench.press("Damaged so");
    bench.until(marked(3));
    bench.press("End the stock-take");
    assert!(bench.says("is missing from") && bench.says("is damaged: bent"));
    bench.press("End it, the rest stays");
    bench.until(|s| s.rack().unwrap().told().is_some());
    let told = bench.session().rack().unwrap().told().unwrap();
    assert_eq!((told.there, told.missing.len(), told.damaged.len()), (1, 1, 1));
    assert_eq!(told.not_seen.len() + 3, counted);
}

#[test]
fn marks_of_a_stock_take_that_another_window_makes_are_seen_here() {
    let mut bench = bench("walk-shared");
    bench.act(Act::Rack(RackAct::BeginWalk(String::new())));
    bench.until(|s| s.rack().unwrap().listing().walk.is_some());
    let left = |s: &Session| s.rack().unwrap().listing().walk.as_ref().map(|w| w.left.len());
    let before = left(bench.session()).unwrap();
    let path = bench.session().rack().unwrap().shop().1.unwrap().to_path_buf();
    let mut other = Shop::open(&path).unwrap();
    other.mark("S3-044", &Mark::There).unwrap();
    bench.until(move |s| left(s) == Some(before - 1));
}
