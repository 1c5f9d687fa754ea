use std::collections::HashMap;

use oddment_core::cutting::starts::Start;
use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::shape::{Edge, Point};
use oddment_core::sheet::EdgeKind;
use oddment_core::units::LengthUnit;
use oddment_rack::facts::Whereabouts;
use oddment_rack::outline::{CUT_EARLIER, CUT_IN_THIS_SETUP, Source};
use oddment_rack::record::{Keep, Outcome, Reckoned, Recording};
use oddment_rack::sheets::NewSheet;
use proptest::prelude::*;

use crate::common::{Folder, plan, plan_with, plate, record, rectangle, ring, sound};

#[test]
fn a_cut_takes_the_part_and_its_slot_out_of_the_sheet() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    assert_eq!(label, "R-0001");
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    let recorded = record(&mut shop, &label, &planned, Recording::default()).unwrap();
    assert_eq!((recorded.good, recorded.heat.as_str()), (1, "H 1"));
    let sheet = shop.sheet(&label).unwrap();
    let slot = 100.0 * 50.0 + 2.0 * 150.0 + std::f64::consts::PI;
    assert!((sheet.entry.area - (240_000.0 - slot)).abs() < 1e-6);
    let cutout = &sheet.outline.pieces[0].cutouts[0];
    assert_eq!(cutout.shape().vertices().len(), 8, "corners are round, and stay arcs");
    for note in cutout.notes() {
        assert_eq!((note.facts.kind, note.facts.give_or_take), (EdgeKind::OwnCut, CUT_EARLIER));
        assert!(matches!(note.source, Source::Cut(_)));
    }
    for note in sheet.outline.pieces[0].outer.notes() {
        assert_eq!((note.facts.kind, note.source), (EdgeKind::Mill, Source::Taped));
    }
    sound(&shop);
}

#[test]
fn recording_twice_does_nothing_twice() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    record(&mut shop, &label, &planned, Recording::default()).unwrap();
    let (before, events) = (shop.sheet(&label).unwrap(), shop.newest_event().unwrap());
    let again = record(&mut shop, &label, &planned, Recording::default()).unwrap();
    assert_eq!(again.event, 0);
    assert_eq!(shop.sheet(&label).unwrap(), before);
    assert_eq!(shop.newest_event().unwrap(), events);
    // Undone, it may be recorded again.
    shop.undo(None).unwrap();
    assert!(record(&mut shop, &label, &planned, Recording::default()).unwrap().event > 0);
    assert_eq!(shop.sheet(&label).unwrap().entry.area, before.entry.area);
    sound(&shop);
}

#[test]
fn what_was_not_made_is_told_and_can_be_cut_later() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 900.0, 400.0)).unwrap();
    let part = |n: &str| rectangle(n, 100.0, 50.0);
    let parts = [
        (part("a"), 20.0, 20.0),
        (part("b"), 220.0, 20.0),
        (part("c"), 420.0, 20.0),
        (part("d"), 620.0, 20.0),
    ];
    let planned = plan(&shop, &label, &parts);
    let outcomes = [
        (("b".to_owned(), 1), Outcome::Scrap("burnt".into())),
        (("c".to_owned(), 1), Outcome::HalfCut),
        (("d".to_owned(), 1), Outcome::NeverStarted),
    ];
    let recording = Recording { outcomes: HashMap::from(outcomes), ..Recording::default() };
    let recorded = record(&mut shop, &label, &planned, recording).unwrap();
    assert_eq!((recorded.good, recorded.not_made.len()), (1, 3));
    let outline = shop.sheet(&label).unwrap().outline;
    assert_eq!(outline.pieces[0].cutouts.len(), 2);
    assert_eq!(outline.no_go[0].name, "half cut c");
    // The one that was never started, with the same plan.
    let rest = record(&mut shop, &label, &planned, Recording::default()).unwrap();
    assert_eq!((rest.good, rest.not_made.len()), (1, 0));
    assert_eq!(shop.sheet(&label).unwrap().outline.pieces[0].cutouts.len(), 3);
    assert_eq!(record(&mut shop, &label, &planned, Recording::default()).unwrap().event, 0);
    sound(&shop);
}

#[test]
fn a_plan_for_a_sheet_that_has_changed_is_refused_with_what_changed() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let first = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    let second = plan(&shop, &label, &[(rectangle("bar", 100.0, 50.0), 220.0, 20.0)]);
    record(&mut shop, &label, &first, Recording::default()).unwrap();
    let events = shop.newest_event().unwrap();
    let said = record(&mut shop, &label, &second, Recording::default()).unwrap_err().to_string();
    assert!(
        said.contains("has changed since the plan was made: 1 part good from R-0001"),
        "{said}"
    );
    assert_eq!(shop.newest_event().unwrap(), events);
    // Another sheet altogether.
    let other = shop.add(plate(None, 500.0, 400.0)).unwrap();
    let said = record(&mut shop, &other, &second, Recording::default()).unwrap_err().to_string();
    assert!(said.contains("600.0 × 400.0 mm") && said.contains("500.0 × 400.0 mm"), "{said}");
}

#[test]
fn metal_that_a_cut_parts_becomes_sheets_of_its_own() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(Some("B 7"), 1000.0, 400.0)).unwrap();
    let to_the_edge = Clearances { edge: EdgeDistance::all(0.0), ..crate::common::CLEARANCES };
    let mut new = shop.sheet(&label).unwrap();
    // Edges known exactly, so that a part may reach from edge to edge.
    new.outline = oddment_rack::outline::Outline::uniform(
        &new.outline.regions(),
        oddment_rack::outline::EdgeNote::default(),
    );
    let facts = oddment_rack::facts::Facts { heat_mark: Some([10.0, 10.0]), ..new.entry.facts };
    let exact = NewSheet { label: None, facts, outline: new.outline, drawing: None };
    let label = shop.add(exact).unwrap();
    let planned =
        plan_with(&shop, &label, &[(rectangle("bar", 100.0, 398.0), 400.0, 1.0)], to_the_edge);
    let recorded = record(&mut shop, &label, &planned, Recording::default()).unwrap();
    let labels: Vec<&str> = recorded.kept.iter().map(|k| k.label.as_str()).collect();
    assert_eq!(labels, ["R-0002", "R-0003"]);
    assert_eq!(shop.sheet(&label).unwrap().entry.facts.whereabouts, Whereabouts::Parted);
    let right = shop.sheet("R-0002").unwrap();
    assert_eq!(right.entry.facts.parent.as_deref(), Some(label.as_str()));
    assert_eq!(right.outline.bounds().min, oddment_core::shape::Point::origin());
    let [w, h] = right.entry.size;
    // The slot's corners are round, so that two tips reach into it.
    assert!((499.0..500.0).contains(&w) && (h - 400.0).abs() < 1e-9, "{w} × {h}");
    let left = shop.sheet("R-0003").unwrap();
    assert_eq!(left.entry.facts.heat_mark, Some([10.0, 10.0]));
    assert_eq!(right.entry.facts.heat_mark, None);
    assert!(recorded.warnings[0].contains("mark it there"), "{:?}", recorded.warnings);
    sound(&shop);
    // Taken back, the parent is there again and its children are not.
    shop.undo(None).unwrap();
    assert_eq!(shop.sheet(&label).unwrap().entry.facts.whereabouts, Whereabouts::Here);
    assert_eq!(shop.sheet("R-0003").unwrap().entry.facts.whereabouts, Whereabouts::Undone);
    assert_eq!(shop.list().unwrap().len(), 2);
    sound(&shop);
}

#[test]
fn a_large_slug_is_kept_and_a_small_one_is_scrap() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 900.0, 900.0)).unwrap();
    let planned = plan(&shop, &label, &[(ring("guard", 300.0, 200.0), 450.0, 450.0)]);
    let recorded = record(&mut shop, &label, &planned, Recording::default()).unwrap();
    assert_eq!(recorded.kept.len(), 2);
    sound(&shop);
    let label = shop.add(plate(None, 900.0, 900.0)).unwrap();
    let planned = plan(&shop, &label, &[(ring("washer", 60.0, 40.0), 450.0, 450.0)]);
    let recorded = record(&mut shop, &label, &planned, Recording::default()).unwrap();
    assert_eq!(recorded.kept[0].label, label);
    let slug = std::f64::consts::PI * 39.0 * 39.0 * 3.0 * 7850.0 * 1e-9;
    assert!((recorded.scrap.0 - slug).abs() < 1e-6, "{:?}", recorded.scrap);
    sound(&shop);
}

#[test]
fn nothing_worth_keeping_is_used_up() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 140.0, 90.0)).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 60.0, 50.0), 20.0, 20.0)]);
    let recorded = record(&mut shop, &label, &planned, Recording::default()).unwrap();
    assert!(recorded.kept.is_empty() && recorded.scrap.0 > 0.0);
    assert!(shop.list().unwrap().is_empty());
    sound(&shop);
    shop.undo(None).unwrap();
    let recording = Recording { keep: Keep::All, ..Recording::default() };
    assert_eq!(record(&mut shop, &label, &planned, recording).unwrap().kept.len(), 1);
    sound(&shop);
}

#[test]
fn edges_are_known_better_until_the_sheet_is_lifted() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    let on_bed = Recording { on_bed: true, ..Recording::default() };
    record(&mut shop, &label, &planned, on_bed.clone()).unwrap();
    let of_cutouts = |shop: &oddment_rack::Shop| -> Vec<f64> {
        let outline = shop.sheet(&label).unwrap().outline;
        let cutouts = &outline.pieces[0].cutouts;
        cutouts.iter().map(|c| c.notes()[0].facts.give_or_take).collect()
    };
    assert_eq!(of_cutouts(&shop), [CUT_IN_THIS_SETUP]);
    // Another part without squaring up again, nearer than a lifted sheet would let it.
    let near = 20.0 + 100.0 + 1.0 + 1.0 + 2.0 + CUT_IN_THIS_SETUP + 0.01;
    let more = plan(&shop, &label, &[(rectangle("bar", 100.0, 50.0), near, 20.0)]);
    record(&mut shop, &label, &more, on_bed).unwrap();
    assert_eq!(of_cutouts(&shop), [CUT_IN_THIS_SETUP; 2]);
    shop.lift(&label).unwrap();
    assert_eq!(of_cutouts(&shop), [CUT_EARLIER; 2]);
    sound(&shop);
}

#[test]
fn minutes_are_learnt_from_three_cuts_or_more_and_forgotten_with_an_undo() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let of = ("fibre laser".to_owned(), "S235".to_owned());
    // Factors of 1.1, 1.5, 1.2 and one that was no cut as reckoned.
    for (minutes, learnt) in [(11.0, None), (15.0, None), (12.0, Some(1.2)), (900.0, Some(1.2))] {
        let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
        let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
        let (process, material) = of.clone();
        let reckoned = Some(Reckoned { process, material, minutes: 10.0 });
        let recording = Recording { minutes: Some(minutes), reckoned, ..Recording::default() };
        record(&mut shop, &label, &planned, recording).unwrap();
        assert_eq!(shop.learnt().unwrap().get(&of).copied(), learnt);
    }
    shop.undo(None).unwrap();
    shop.undo(None).unwrap();
    shop.undo(None).unwrap();
    assert_eq!(shop.learnt().unwrap().get(&of), None);
}

#[test]
fn what_was_measured_on_the_bed_makes_edges_surer_and_is_taken_back() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let edges = |shop: &oddment_rack::Shop| -> Vec<f64> {
        let outline = shop.sheet(&label).unwrap().outline;
        outline.pieces[0].outer.notes().iter().map(|n| n.facts.give_or_take).collect()
    };
    let before = edges(&shop);
    shop.measure(&label, &[(0, 1, 0.6), (0, 3, 0.7), (5, 0, 0.1), (0, 99, 0.1)]).unwrap();
    assert_eq!(edges(&shop), [before[0], 0.6, before[2], 0.7]);
    assert!(shop.measure(&label, &[(0, 0, f64::NAN)]).is_err());
    assert!(shop.measure("R-9999", &[(0, 0, 0.5)]).is_err());
    sound(&shop);
    shop.undo(None).unwrap();
    assert_eq!(edges(&shop), before);
}

#[test]
fn orders_with_certificates_are_cut_from_sheets_that_have_one() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    let recording = Recording { certificate: true, ..Recording::default() };
    let said = record(&mut shop, &label, &planned, recording).unwrap_err().to_string();
    assert!(said.contains("no certificate"), "{said}");
}

#[test]
fn a_heat_mark_that_is_cut_away_is_warned_of() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let mut new = plate(None, 600.0, 400.0);
    new.facts.heat_mark = Some([60.0, 40.0]);
    let label = shop.add(new).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    let recorded = record(&mut shop, &label, &planned, Recording::default()).unwrap();
    assert!(recorded.warnings[0].contains("H 1"), "{:?}", recorded.warnings);
    shop.undo(None).unwrap();
    let marked = Recording { heat_marked_at: Some([500.0, 300.0]), ..Recording::default() };
    assert!(record(&mut shop, &label, &planned, marked).unwrap().warnings.is_empty());
    assert_eq!(shop.sheet(&label).unwrap().entry.facts.heat_mark, Some([500.0, 300.0]));
}

#[test]
fn a_plan_that_is_not_clear_is_recorded_only_on_insisting() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 1.5, 20.0)]);
    let said = record(&mut shop, &label, &planned, Recording::default()).unwrap_err().to_string();
    assert!(said.contains("1.5 mm from the sheet’s edge"), "{said}");
    let anyway = Recording { anyway: true, ..Recording::default() };
    record(&mut shop, &label, &planned, anyway).unwrap();
    sound(&shop);
}

#[test]
fn lead_ins_are_gone_too_and_a_preview_says_so_without_doing_it() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    let lead = Edge::Line { from: Point::new(60.0, 80.0), to: Point::new(60.0, 70.5) };
    let start = Start { pierce: lead.from(), lead: vec![lead], from_edge: false };
    let starts = HashMap::from([(("tab".to_owned(), 1), vec![start])]);
    let recording = Recording { starts, ..Recording::default() };
    let (before, events) = (shop.sheet(&label).unwrap(), shop.newest_event().unwrap());
    let cuts = [(0, label.clone(), recording.clone())];
    let preview = shop.preview(&planned.0, &planned.1, &cuts).unwrap().remove(0);
    assert_eq!((shop.sheet(&label).unwrap(), shop.newest_event().unwrap()), (before, events));
    let recorded = record(&mut shop, &label, &planned, recording).unwrap();
    assert_eq!((&preview.recorded.kept, preview.recorded.scrap), (&recorded.kept, recorded.scrap));
    let sheet = shop.sheet(&label).unwrap();
    assert!((preview.stays[0].area() - sheet.entry.area).abs() < 1e-9);
    assert_eq!(sheet.outline.pieces[0].cutouts.len(), 1, "it opens into the cut-out");
    assert!(!sheet.outline.regions()[0].contains(Point::new(60.0, 76.0)));
    assert!(!sheet.outline.regions()[0].contains(Point::new(60.9, 80.0)), "the pierce is wider");
    // Slot of the part, 9 mm of lead-in 1 mm wide outside it, and the pierce's hole of 2 mm.
    let slot = 100.0 * 50.0 + 2.0 * 150.0 + std::f64::consts::PI;
    let gone = 240_000.0 - sheet.entry.area - slot;
    assert!((9.0..9.0 + std::f64::consts::PI).contains(&gone), "{gone}");
    sound(&shop);
}

#[test]
fn what_is_known_is_put_right_and_told() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    shop.correct(&label, |f| (f.heat, f.notes) = ("H 2".into(), "scratched".into())).unwrap();
    let said = &shop.history(&label).unwrap()[0].said;
    assert!(said.contains("heat H 1 → H 2") && said.contains("notes"), "{said}");
    let refused = shop.correct(&label, |f| f.thickness = -1.0).unwrap_err().to_string();
    assert!(refused.contains("no thickness"), "{refused}");
    assert_eq!(shop.sheet(&label).unwrap().entry.facts.thickness, 3.0);
    shop.undo(None).unwrap();
    assert_eq!(shop.sheet(&label).unwrap().entry.facts.heat, "H 1");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn areas_add_up_whatever_is_cut(seed in any::<u64>()) {
        let mut random = fastrand::Rng::with_seed(seed);
        let folder = Folder::new();
        let mut shop = folder.shop();
        let label = shop.add(plate(None, 800.0, 600.0)).unwrap();
        let mut parts = Vec::new();
        for (i, j) in (0..4).flat_map(|i| (0..3).map(move |j| (i, j))) {
            let name = format!("p{i}{j}");
            let (x, y) = (20.0 + 195.0 * f64::from(i), 20.0 + 195.0 * f64::from(j));
            let size = 40.0 + 130.0 * random.f64();
            if random.bool() {
                parts.push((rectangle(&name, size, 40.0 + 130.0 * random.f64()), x, y));
            } else {
                let r = size / 2.0;
                parts.push((ring(&name, r, r * (0.2 + 0.7 * random.f64())), x + r, y + r));
            }
        }
        let planned = plan(&shop, &label, &parts);
        prop_assert!(planned.1.is_clear());
        let mut outcomes = HashMap::new();
        for (part, _, _) in &parts {
            let outcome = match random.u32(0..5) {
                0 => Outcome::Scrap("torn".into()),
                1 => Outcome::HalfCut,
                2 => Outcome::NeverStarted,
                _ => Outcome::Good,
            };
            outcomes.insert((part.name.clone(), 1), outcome);
        }
        let before = shop.sheet(&label).unwrap();
        let recording = Recording { outcomes, ..Recording::default() };
        if record(&mut shop, &label, &planned, recording).is_ok() {
            sound(&shop);
            shop.undo(None).unwrap();
            let after = shop.sheet(&label).unwrap();
            prop_assert_eq!((after.outline, after.entry.facts), (before.outline, before.entry.facts));
            sound(&shop);
        }
    }
}

#[test]
fn of_parted_metal_only_what_reaches_the_old_outline_is_still_on_the_bed() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 900.0, 600.0)).unwrap();
    // The slug within the ring is 300 mm across: worth keeping, but nothing holds it where it lay.
    let planned = plan(&shop, &label, &[(ring("collar", 200.0, 150.0), 300.0, 300.0)]);
    let recording = Recording { on_bed: true, keep: Keep::All, ..Recording::default() };
    let recorded = record(&mut shop, &label, &planned, recording).unwrap();
    assert_eq!(recorded.kept.len(), 2);
    let sheets: Vec<_> = recorded.kept.iter().map(|k| shop.sheet(&k.label).unwrap()).collect();
    let (slug, rest) = if sheets[0].entry.area < sheets[1].entry.area { (0, 1) } else { (1, 0) };
    assert_eq!(recorded.kept[slug].on_bed, None);
    assert_eq!(sheets[slug].entry.facts.setup, None);
    assert!(
        sheets[slug].outline.pieces[0]
            .outer
            .notes()
            .iter()
            .all(|n| n.facts.give_or_take == CUT_EARLIER)
    );
    assert_eq!(recorded.kept[rest].on_bed, Some([0.0, 0.0]));
    assert!(sheets[rest].entry.facts.setup.is_some());
    assert_eq!(
        sheets[rest].outline.pieces[0].cutouts[0].notes()[0].facts.give_or_take,
        CUT_IN_THIS_SETUP
    );
    assert_eq!(recorded.left_on_bed().unwrap().label, recorded.kept[rest].label);
    let said = recorded.words(LengthUnit::Mm);
    assert_eq!(said.matches("still on the bed").count(), 1, "{said}");
    sound(&shop);
}

#[test]
fn why_a_cut_is_not_recorded_is_told_in_the_unit_of_whoever_records_it() {
    let folder = Folder::new();
    let mut shop = folder.shop();
    let label = shop.add(plate(None, 600.0, 400.0)).unwrap();
    let other = shop.add(plate(None, 500.0, 400.0)).unwrap();
    let inch = || Recording { unit: LengthUnit::Inch, ..Recording::default() };
    // Half off the sheet.
    let off = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), -50.0, 20.0)]);
    let said = record(&mut shop, &label, &off, inch()).unwrap_err().to_string();
    assert!(said.contains(" in") && !said.contains("mm"), "{said}");
    // 600 mm are 23.622 in, 500 are 19.685.
    let planned = plan(&shop, &label, &[(rectangle("tab", 100.0, 50.0), 20.0, 20.0)]);
    let said = record(&mut shop, &other, &planned, inch()).unwrap_err().to_string();
    assert!(said.contains("23.622 × 15.748 in") && said.contains("19.685 × 15.748 in"), "{said}");
    shop.correct(&label, |f| f.thickness = 25.4).unwrap();
    let said = record(&mut shop, &label, &planned, inch()).unwrap_err().to_string();
    assert!(said.contains("is 1.000 in S235"), "{said}");
}
