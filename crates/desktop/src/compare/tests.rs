//! The planner's task at the window.

use eframe::egui::Key;
use egui_kittest::kittest::Queryable;
use oddment_app::act::Act;
use oddment_app::compare::CompareAct;
use oddment_app::place::Place;
use oddment_app::session::Session;
use oddment_core::compare::Group;

use crate::tests::bench::{Bench, bench};

/// A window at the place Compare, with ways for the sample shop's first order.
fn compared(name: &str) -> Bench {
    let mut bench = bench(name);
    bench.press("Compare");
    bench.until(|s| s.settings().place == Place::Compare);
    bench.press("Compare the ways");
    bench.until(has_ways);
    bench
}

fn has_ways(session: &Session) -> bool {
    let found = session.compare().running().and_then(|r| r.found());
    found.is_some_and(|f| f.best().is_some() && f.ways.len() > 1)
}

/// Ends the search, so that the list stands still.
fn stop(bench: &mut Bench) {
    bench.harness.key_press_modifiers(eframe::egui::Modifiers::COMMAND, Key::Period);
    bench.until(|s| s.compare().running().is_some_and(|r| !r.is_running()));
}

#[test]
fn the_order_is_compared_and_a_way_is_taken_to_the_sheet() {
    let mut bench = compared("compare-take");
    stop(&mut bench);
    assert!(bench.says("Way 1: ") && bench.says("saves "));
    let running = bench.session().compare().running().unwrap();
    let labels = running.posed().unwrap().labels.clone();
    let sheets_of = |way: &oddment_core::compare::Way| -> Vec<String> {
        way.sheets.iter().filter_map(|s| labels[s.candidate].clone()).collect()
    };
    let takes = |w: &&oddment_core::compare::Way| w.is_complete() && !sheets_of(w).is_empty();
    let way = running.found().unwrap().ways.iter().find(takes).unwrap().clone();
    assert!(way.checked.is_clear());
    bench.act(Act::Compare(CompareAct::Choose(way.key())));
    // Its sheets of the rack are held for the order then.
    let of_rack = sheets_of(&way);
    bench.press("Take it");
    bench.until(|s| s.settings().place == Place::Sheet);
    bench.until(move |s| {
        let sheets = &s.rack().unwrap().listing().sheets;
        let held = |label: &String| {
            let entry = sheets.iter().find(|e| e.label == *label);
            entry.and_then(|e| e.facts.held()).is_some_and(|h| h.order == "Front racks")
        };
        of_rack.iter().all(held)
    });
    let session = bench.session();
    assert!(session.checked().is_clear());
    assert_eq!(session.view().plan.placements().count(), way.placed());
    let names: Vec<&str> =
        session.view().job().stock.iter().map(|s| s.sheet.name.as_str()).collect();
    assert_eq!(names, way.job.stock.iter().map(|s| s.sheet.name.as_str()).collect::<Vec<_>>());
    assert!(session.undoes_and_redoes().0.unwrap().starts_with("Take the way"));
}

#[test]
fn every_amount_opens_to_its_figures() {
    let mut bench = compared("compare-bill");
    stop(&mut bench);
    let session = bench.session();
    let account = session.compare().chosen().unwrap().account.clone();
    let sum: f64 = Group::ALL.iter().map(|g| account.of(*g)).sum();
    assert!((sum - account.total()).abs() < 1e-9);
    assert!(!bench.says("an hour by hand"));
    bench.press("pull the sheet");
    assert!(bench.says(" × 40.00 an hour = ") && bench.says("40.00 an hour: an hour by hand"));
    assert!(bench.says("a policy of the shop"));
}

#[test]
fn sheets_are_held_and_a_change_in_the_rack_is_said() {
    let mut bench = compared("compare-hold");
    stop(&mut bench);
    let of_rack = |s: &Session| {
        let running = s.compare().running().unwrap();
        let labels = running.posed().unwrap().labels.clone();
        let found = running.found().unwrap().clone();
        let from_rack = |w: &&oddment_core::compare::Way| {
            w.sheets.iter().all(|s| labels[s.candidate].is_some())
        };
        let way = found.ways.iter().find(from_rack)?;
        Some((way.key(), labels[way.sheets[0].candidate].clone().unwrap()))
    };
    let (key, label) = of_rack(bench.session()).unwrap();
    bench.act(Act::Compare(CompareAct::Choose(key)));
    bench.press("Hold its sheets");
    let held = label.clone();
    bench.until(move |s| {
        let sheets = &s.rack().unwrap().listing().sheets;
        sheets.iter().any(|e| e.label == held && e.facts.held().is_some())
    });
    assert!(bench.says("its sheets are held"));
    // Held for somebody else: it is compared without it, and said.
    let rack = |act| Act::Rack(act);
    bench.act(rack(oddment_app::rack::RackAct::Release(label.clone())));
    bench.act(rack(oddment_app::rack::RackAct::Hold(label.clone(), "212".into(), None)));
    let gone = label.clone();
    bench.until(move |s| {
        let running = s.compare().running().unwrap();
        running.found().is_some_and(|f| f.best().is_some())
            && running.posed().is_some_and(|p| !p.labels.contains(&Some(gone.clone())))
    });
    assert!(bench.says(&format!("{label} changed meanwhile: compared again.")));
}

#[test]
fn ways_are_written_as_a_table_and_to_print() {
    let mut bench = compared("compare-write");
    stop(&mut bench);
    let folder = bench.folder.join("out");
    bench.act(Act::Compare(CompareAct::ExportTo(folder.clone())));
    bench.until(|s| s.notice().is_some_and(|n| n.contains("written")));
    let table = std::fs::read_to_string(folder.join("Front racks ways.csv")).unwrap();
    assert!(table.contains("\"pull the sheet\""));
    // A total for each way, which is the sum of its rows.
    let rows: Vec<Vec<&str>> = table.lines().skip(1).map(|l| l.split(',').collect()).collect();
    let ways = bench.session().compare().running().unwrap().found().unwrap().ways.len();
    let money = |row: &[&str]| row[row.len() - 2].parse::<f64>().unwrap_or(0.0);
    for way in 1..=ways {
        let of_way = rows.iter().filter(|r| r[0] == way.to_string());
        let (total, items): (Vec<_>, Vec<_>) = of_way.partition(|r| r[3] == "\"total\"");
        let sum: f64 = items.iter().map(|r| money(r)).sum();
        assert!(total.len() == 1 && (money(total[0]) - sum).abs() < 0.01, "{total:?} {sum}");
    }
    assert!(std::fs::read(folder.join("Front racks ways.pdf")).unwrap().starts_with(b"%PDF"));
}

#[test]
fn an_empty_slip_and_no_sheet_are_said() {
    let mut bench = bench("compare-empty");
    while !bench.session().view().job().wanted.is_empty() {
        bench.act(Act::RemovePart(0));
    }
    bench.act(Act::Go(Place::Compare));
    assert!(bench.says("The slip is empty"));
    bench.act(Act::Undo);
    bench.act(Act::Go(Place::Compare));
    assert!(bench.says("The rack has ") && bench.says("can be bought"));
    assert!(bench.harness.query_by_label("Go to the Sheet").is_none());
}

#[test]
fn what_the_machine_can_not_load_is_left_out_and_it_is_compared_again() {
    let mut bench = compared("compare-loads");
    stop(&mut bench);
    bench.type_into("what the machine loads", "40kg");
    bench.harness.key_press(Key::Enter);
    bench.until(|s| s.settings().loadable.weight == Some(40.0));
    // The fresh sizes weigh 47 kg and more.
    bench.until(|s| {
        let running = s.compare().running();
        let posed = running.and_then(|r| r.posed());
        posed.is_some_and(|p| p.question.candidates.iter().all(|c| c.weight <= 40.0))
            && running.and_then(|r| r.found()).is_some_and(|f| !f.ways.is_empty())
    });
    assert!(bench.says("What the machine loads was changed: compared again."));
}

#[test]
fn a_way_of_fresh_sheets_alone_says_that_there_is_nothing_to_hold() {
    let mut bench = compared("compare-hold-nothing");
    stop(&mut bench);
    let running = bench.session().compare().running().unwrap();
    let labels = running.posed().unwrap().labels.clone();
    let ways = &running.found().unwrap().ways;
    let fresh = ways.iter().find(|w| w.sheets.iter().all(|s| labels[s.candidate].is_none()));
    let key = fresh.unwrap().key();
    bench.act(Act::Compare(CompareAct::Choose(key)));
    bench.press("Hold its sheets");
    bench.until(|s| s.rack().unwrap().said().is_some_and(|said| said.contains("nothing to hold")));
}
