use std::sync::Arc;
use std::time::{Duration, Instant};

use oddment_core::distances::StartRule;
use oddment_core::part::{Priority, Turning};
use oddment_core::plan::Count;
use oddment_core::shape::{Loop, Point, Region, Vector};
use oddment_core::sheet::{EdgeFacts, Sheet};
use oddment_files::drawing::ReadOptions;

use super::*;
use crate::act::Act;
use crate::exchange::ReadAs;
use crate::rack::RackAct;
use crate::sample_shop::SampleShop;
use crate::start::first_job;
use crate::trial::{open, rectangle, sheet_with_hole};

fn session() -> Session {
    let parts = vec![(rectangle("plate", 100.0, 60.0), 3), (rectangle("tab", 30.0, 20.0), 1)];
    Session::new(open(sheet_with_hole(), parts), None, Arc::new(|| {}))
}

/// One plate laid with its middle here.
fn with_plate(x: f64, y: f64) -> Session {
    let mut session = session();
    session.apply(Act::Take(0, Point::new(x, y)));
    session.apply(Act::PutDown);
    session
}

fn first_pose(
    session: &Session,
) -> oddment_core::shape::Pose<oddment_core::shape::PartSpace, SheetSpace> {
    session.view().plan.layouts[0].placements[0].pose
}

fn wait(session: &mut Session, until: impl Fn(&Session) -> bool) {
    let started = Instant::now();
    while !until(session) && started.elapsed() < Duration::from_secs(60) {
        std::thread::sleep(Duration::from_millis(5));
        session.poll();
    }
    assert!(until(session), "it did not come about");
}

#[test]
fn every_act_has_a_name_to_take_back() {
    let mut session = with_plate(200.0, 200.0);
    session.apply(Act::Turn(0.5));
    session.apply(Act::Lock);
    session.apply(Act::SetCount(0, Count::Exactly(5)));
    let mut names = Vec::new();
    while let (Some(name), _) = session.undoes_and_redoes() {
        names.push(name.to_owned());
        session.apply(Act::Undo);
    }
    assert_eq!(names, ["Want 5 of plate", "Lock plate #1", "Turn plate #1", "Lay plate"]);
    assert!(session.view().plan.layouts.is_empty());
    for _ in 0..4 {
        session.apply(Act::Redo);
    }
    assert!(session.view().plan.layouts[0].placements[0].locked);
}

#[test]
fn a_part_put_down_on_a_hole_goes_beside_it_if_that_is_near() {
    let session = with_plate(500.0, 335.0);
    assert!(session.checked().is_clear());
    assert!(session.notice().is_some_and(|n| n.contains("nearest clear place")));
    // In the middle of it the way is too far to be meant.
    let session = with_plate(500.0, 300.0);
    assert_eq!(session.checked().report().faults.len(), 1);
}

#[test]
fn a_value_tried_for_the_plan_moves_its_distances_and_is_taken_back() {
    use crate::shop::ShopAct;
    use serde_json::json;

    let mut session = session();
    let metal =
        oddment_core::sheet::Metal { material: "S235".into(), thickness: 2.0, density: 7850.0 };
    let facts = crate::sheet_facts::SheetFacts { made_of: Some(metal), ..session.sheet_facts() };
    session.apply(Act::SetClearances(oddment_core::distances::Clearances::STARTING));
    session.apply(Act::SetSheet(facts));
    let key = "rows/fibre laser/2.5/kerf";
    session.apply(Act::Shop(ShopAct::Try(key.into(), Some(json!(0.2)))));
    assert_eq!(session.view().job().clearances.kerf, 0.2);
    assert_eq!(session.standing(key).now(), Some(&json!(0.2)));
    session.apply(Act::Shop(ShopAct::UseMachine(Some("plasma".into()))));
    assert_eq!(session.view().job().clearances.kerf, 1.2);
    session.apply(Act::Undo);
    session.apply(Act::Undo);
    assert_eq!(session.view().job().clearances.kerf, 0.15);
    assert_eq!(session.standing(key).origin(), "to start from");
    // Where a tooth stands nobody has said, and so the shop keeps nothing of it.
    assert_eq!(session.standing("machines/plasma/tooth_x").origin(), "to start from");
    // What can't be is refused, and distances that were typed stay.
    session.apply(Act::Shop(ShopAct::Try(key.into(), Some(json!(-1)))));
    assert!(session.refusal().is_some_and(|n| n.contains("kerf is -1")));
    let typed = oddment_core::distances::Clearances {
        kerf: 0.5,
        ..oddment_core::distances::Clearances::STARTING
    };
    session.apply(Act::SetClearances(typed));
    session.apply(Act::Shop(ShopAct::UseMachine(Some("plasma".into()))));
    assert_eq!(session.view().job().clearances, typed);
}

#[test]
fn starts_and_tabs_moved_by_hand_are_kept_with_the_plan_and_taken_back() {
    use oddment_core::cutting::ByHand;
    use oddment_core::cutting::starts::Start;
    use oddment_core::shape::Edge;

    let mut session = with_plate(200.0, 200.0);
    let (pierce, joins) = (Point::new(-3.0, -3.0), Point::new(-0.075, -0.075));
    let start = Start { pierce, lead: vec![Edge::new(pierce, joins, 0.0)], from_edge: false };
    let mut by_hand = ByHand::default();
    by_hand.starts.insert((0, 1, 0), start);
    by_hand.tabs.insert((0, 1, 0), vec![Point::new(50.0, 0.0)]);
    session.apply(Act::CutByHand(Box::new(by_hand.clone())));
    let text = crate::exchange::work_as_text(session.view(), session.checked());
    let back = crate::exchange::work_from_text("t".into(), &text).unwrap();
    assert_eq!(back.sourced.cut.by_hand, by_hand);
    session.apply(Act::Undo);
    assert_eq!(session.view().sourced.cut.by_hand, ByHand::default());
    session.apply(Act::Redo);
    session.apply(Act::RemovePart(0));
    assert_eq!(session.view().sourced.cut.by_hand, ByHand::default());
}

#[test]
fn what_is_locked_stays() {
    let mut session = with_plate(200.0, 200.0);
    session.apply(Act::Lock);
    let before = first_pose(&session);
    for act in [
        Act::Turn(0.5),
        Act::Nudge(Vector::new(1.0, 0.0)),
        Act::MoveTo(Vector::new(50.0, 50.0)),
        Act::PutBack,
        Act::ClearSheet,
    ] {
        session.apply(act);
        assert_eq!(first_pose(&session), before);
    }
    session.apply(Act::Lock);
    session.apply(Act::PutBack);
    assert!(session.view().plan.layouts.is_empty());
}

#[test]
fn typed_places_are_kept_exactly() {
    let mut session = with_plate(200.0, 200.0);
    session.apply(Act::MoveTo(Vector::new(123.4, 56.7)));
    let corner = session.selected_corner().unwrap();
    assert!((corner - Point::new(123.4, 56.7)).length() < 1e-9);
    session.apply(Act::TurnTo(30f64.to_radians()));
    assert!((first_pose(&session).turn.to_degrees() - 30.0).abs() < 1e-9);
}

#[test]
fn parts_turn_and_flip_only_as_they_may() {
    let mut session = with_plate(200.0, 200.0);
    session.apply(Act::SetTurning(0, Turning::steps(std::f64::consts::FRAC_PI_2)));
    session.apply(Act::Turn(1f64.to_radians()));
    assert!((first_pose(&session).turn.to_degrees() - 90.0).abs() < 1e-9);
    session.apply(Act::TurnTo(200f64.to_radians()));
    assert!((first_pose(&session).turn.to_degrees() - 180.0).abs() < 1e-9);
    session.apply(Act::Mirror);
    assert!(!first_pose(&session).flipped && session.refusal().is_some());
    session.apply(Act::SetFlip(0, true));
    session.apply(Act::Mirror);
    assert!(first_pose(&session).flipped);
    session.apply(Act::SetTurning(0, Turning::none()));
    assert!(!session.checked().is_clear());
}

#[test]
fn nothing_more_is_taken_than_is_wanted() {
    let mut session = session();
    session.apply(Act::PlaceOne(1));
    session.apply(Act::PlaceOne(1));
    assert_eq!(session.view().plan.placed(1), 1);
    assert!(session.refusal().is_some_and(|n| n.contains("All tab")));
    assert!(session.checked().is_clear());
}

#[test]
fn a_drawing_read_in_another_way_is_saved_with_its_shape() {
    let folder = std::env::temp_dir().join(format!("oddment-choices-{}", std::process::id()));
    SampleShop::write_drawings(&folder).unwrap();
    let mut session = session();
    let file = folder.join("parts/deck-bracket.dxf");
    session.apply(Act::TakeFiles(vec![file.clone()], Some(Point::new(500.0, 100.0))));
    wait(&mut session, |s| !s.report().is_empty());
    // From a dropped drawing to a first position in one gesture, and back in one.
    let dropped = session.view().plan.placements().count();
    assert!(dropped == 1 && session.checked().is_clear());
    let holes = |s: &Session| s.view().job().wanted[2].part.region.holes().len();
    let drawn = holes(&session);
    let options = ReadOptions { centre_marks_under: 12.0, ..ReadOptions::default() };
    session.apply(Act::ReadAgain(file, ReadAs::Parts, options));
    wait(&mut session, |s| !s.is_busy());
    assert!(holes(&session) < drawn && session.view().job().wanted.len() == 3);
    let plan = folder.join("work.json");
    session.apply(Act::SaveFile(plan.clone()));
    wait(&mut session, |s| !s.is_busy());
    let saved = session.view().job().clone();
    session.apply(Act::OpenFile(plan));
    wait(&mut session, |s| !s.is_busy());
    assert_eq!(session.view().job().wanted[2].part.region, saved.wanted[2].part.region);
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn drawings_are_added_and_one_becomes_the_sheet() {
    let folder = std::env::temp_dir().join(format!("oddment-session-{}", std::process::id()));
    SampleShop::write_drawings(&folder).unwrap();
    let mut session = session();
    let file = folder.join("parts/hinge-strap.dxf");
    session.apply(Act::TakeFiles(vec![file.clone()], None));
    wait(&mut session, |s| !s.report().is_empty());
    assert_eq!(session.view().job().wanted.len(), 3);
    assert_eq!(session.view().job().wanted[2].part.name, "hinge-strap");
    let units = Some(oddment_core::units::LengthUnit::Inch);
    let options = ReadOptions { units, ..ReadOptions::default() };
    session.apply(Act::ReadAgain(file, ReadAs::Parts, options));
    wait(&mut session, |s| !s.is_busy());
    assert_eq!(session.view().job().wanted.len(), 3);
    let width = session.view().job().wanted[2].part.region.bounds().width();
    assert!(width > 1000.0, "{width}");
    let sheet = folder.join("sheets/S3-041.dxf");
    session.apply(Act::Read(vec![sheet], ReadAs::Sheet));
    wait(&mut session, |s| !s.is_busy());
    assert_eq!(session.view().job().stock[0].sheet.name, "S3-041");
    let plan = folder.join("work.json");
    session.apply(Act::SaveFile(plan.clone()));
    wait(&mut session, |s| !s.is_busy());
    let saved = session.view().job().clone();
    session.apply(Act::OpenSample(0));
    assert_ne!(*session.view().job(), saved);
    session.apply(Act::TakeFiles(vec![plan.clone()], None));
    wait(&mut session, |s| !s.is_busy());
    assert_eq!(*session.view().job(), saved);
    // Where a sheet is asked for, a plan brings its own.
    session.apply(Act::OpenSample(0));
    session.apply(Act::Read(vec![plan], ReadAs::Sheet));
    wait(&mut session, |s| !s.is_busy());
    assert_eq!(*session.view().job(), saved);
    session.apply(Act::OpenFile(folder.join("none.json")));
    wait(&mut session, |s| !s.is_busy());
    assert!(session.problems()[0].contains("none.json"));
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_drawing_that_can_not_be_read_stays_told_when_others_are_added() {
    let folder = std::env::temp_dir().join(format!("oddment-told-{}", std::process::id()));
    SampleShop::write_drawings(&folder).unwrap();
    let mut session = session();
    let bad = folder.join("parts/empty.dxf");
    std::fs::write(&bad, "0\nEOF\n").unwrap();
    for file in [bad.clone(), folder.join("parts/hinge-strap.dxf")] {
        session.apply(Act::TakeFiles(vec![file.clone()], None));
        wait(&mut session, |s| s.report().iter().any(|r| r.path == file));
    }
    assert!(session.report().iter().any(|r| r.path == bad && r.must_settle()));
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_part_that_no_cut_can_start_in_is_said_to_be_so() {
    let mut plate = rectangle("plate", 100.0, 60.0);
    let hole = Loop::circle(Point::new(50.0, 30.0), 0.4).unwrap();
    plate.region = Region::new(plate.region.outer().clone(), vec![hole]);
    let mut job = open(sheet_with_hole(), vec![(plate, 1)]);
    job.job_mut().job.starts = Some(StartRule::STARTING);
    let mut session = Session::new(job, None, Arc::new(|| {}));
    session.apply(Act::SetFillSeconds(1));
    session.apply(Act::Fill);
    wait(&mut session, |s| s.at_work().is_none());
    let said = session.notice().unwrap();
    assert!(said.contains("no cut can start in its hole of 0.8 mm"), "{said}");
    // Nor is it laid where all but that would be right.
    assert!(session.view().plan.layouts.is_empty());
}

#[test]
fn a_fill_is_kept_or_stopped() {
    let mut session = Session::new(first_job().unwrap(), None, Arc::new(|| {}));
    session.apply(Act::Fill);
    wait(&mut session, |s| !s.view().plan.layouts.is_empty());
    session.apply(Act::StopFill);
    assert!(session.view().plan.layouts.is_empty() && session.at_work().is_none());
    session.apply(Act::Fill);
    wait(&mut session, |s| !s.view().plan.layouts.is_empty());
    session.apply(Act::KeepBest);
    assert!(session.checked().is_clear() && session.view().plan.placements().count() > 0);
    session.apply(Act::Undo);
    assert!(session.view().plan.layouts.is_empty());
}

#[test]
fn a_fill_that_is_ended_early_takes_nothing_off_that_was_laid_clear() {
    let mut session = Session::new(first_job().unwrap(), None, Arc::new(|| {}));
    session.apply(Act::Fill);
    wait(&mut session, |s| s.at_work().is_none());
    let laid = session.view().plan.placements().count();
    assert_eq!(session.view().missing_in_words(), "");
    session.apply(Act::Fill);
    // Before anything, or only some, was found.
    session.apply(Act::KeepBest);
    assert_eq!(session.view().plan.placements().count(), laid);
    session.apply(Act::Fill);
    session.apply(Act::SelectNext(true));
    session.apply(Act::PutBack);
    assert_eq!(session.view().plan.placements().count(), laid - 1);
}

#[test]
fn a_fill_takes_loose_parts_off_for_one_that_goes_first() {
    let parts = vec![(rectangle("large", 900.0, 200.0), 1), (rectangle("small", 100.0, 500.0), 2)];
    let mut session = Session::new(open(sheet_with_hole(), parts), None, Arc::new(|| {}));
    // Upright beside the hole they leave no room for the large one.
    for x in [250.0, 750.0] {
        session.apply(Act::Take(1, Point::new(x, 300.0)));
        session.apply(Act::PutDown);
    }
    session.apply(Act::SetTurning(1, Turning::none()));
    session.apply(Act::SetPriority(0, Priority::First));
    assert_eq!(session.view().plan.placements().count(), 2);
    session.apply(Act::Fill);
    wait(&mut session, |s| s.at_work().is_none());
    assert_eq!((session.view().plan.placed(0), session.view().plan.placed(1)), (1, 0));
}

#[test]
fn where_there_is_no_place_it_is_proven_and_the_closest_is_shown() {
    // 995 long on a sheet of 1000 that asks for 5.5 on either side.
    let parts = vec![(rectangle("strip", 995.0, 20.0), 1)];
    let mut session = Session::new(open(sheet_with_hole(), parts), None, Arc::new(|| {}));
    session.apply(Act::SetTurning(0, Turning::none()));
    session.apply(Act::PlaceOne(0));
    wait(&mut session, |s| s.at_work().is_none());
    assert!(session.closest().is_some());
    let notice = session.notice().unwrap().to_owned();
    assert!(notice.contains("3.0 mm short"), "{notice}");
    assert!(session.view().plan.layouts.is_empty());
    session.apply(Act::SelectNone);
    assert!(session.closest().is_none());
}

#[test]
fn the_closest_place_is_taken_only_where_a_person_says_so() {
    let parts = vec![(rectangle("strip", 995.0, 20.0), 1)];
    let mut session = Session::new(open(sheet_with_hole(), parts), None, Arc::new(|| {}));
    session.apply(Act::SetTurning(0, Turning::none()));
    let slot = session.slot().unwrap();
    let mut search = AnyPlace::start(&session.open, slot, 0, None, Arc::new(|| {})).unwrap();
    let begun = Instant::now();
    while search.poll().is_none() && begun.elapsed() < Duration::from_secs(60) {
        std::thread::sleep(Duration::from_millis(5));
    }
    let (short, _) = search.closest().unwrap();
    assert!((short - 3.0).abs() < 0.01, "{short}");
    session.any_place = Some(search);
    let work = session.at_work().unwrap();
    assert_eq!(
        (work.says.as_str(), work.keep),
        ("strip: closest so far 3.0 mm short", Some("Keep the closest"))
    );
    session.apply(Act::KeepBest);
    assert_eq!(session.view().plan.placements().count(), 1);
    assert!(!session.checked().is_clear() && session.at_work().is_none());
    assert_eq!(session.undoes_and_redoes().0, Some("Place strip"));
}

#[test]
fn a_mistyped_folder_is_not_remembered() {
    let folder = std::env::temp_dir().join(format!("oddment-folders-{}", std::process::id()));
    SampleShop::write_drawings(&folder).unwrap();
    let mut session = session();
    let nowhere = folder.join("mistyped");
    for act in [
        Act::Read(vec![nowhere.join("part.dxf")], ReadAs::Parts),
        Act::OpenFile(nowhere.join("plan.json")),
        Act::ExportTo(folder.join("sheets/S3-041.dxf/mistyped")),
    ] {
        session.apply(act);
        wait(&mut session, |s| !s.is_busy());
        assert_eq!(session.settings().folder, None);
    }
    session.apply(Act::Read(vec![folder.join("parts/hinge-strap.dxf")], ReadAs::Parts));
    wait(&mut session, |s| !s.is_busy());
    assert_eq!(session.settings().folder, Some(folder.join("parts")));
    session.apply(Act::ExportTo(folder.join("out")));
    wait(&mut session, |s| !s.is_busy());
    assert_eq!(session.settings().folder, Some(folder.join("out")));
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_part_that_is_found_a_place_is_said_to_lie_there() {
    // Longer than the sheet, it has a place from corner to corner.
    let outer = Loop::rectangle(Point::origin(), Point::new(1000.0, 600.0)).unwrap();
    let sheet = Sheet::new("R-1", &[Region::new(outer, Vec::new())], EdgeFacts::default());
    let parts = vec![(rectangle("strip", 1080.0, 10.0), 1)];
    let mut session = Session::new(open(sheet, parts), None, Arc::new(|| {}));
    session.apply(Act::PlaceOne(0));
    assert!(session.notice().unwrap().starts_with("Looking for a place"));
    wait(&mut session, |s| s.at_work().is_none());
    assert_eq!(session.view().plan.placed(0), 1);
    let says = session.notice().unwrap();
    assert!(says.starts_with("strip lies at a clear place, turned to "), "{says}");
}

#[test]
fn laid_parts_are_selected_one_after_the_other() {
    let mut session = session();
    for x in [700.0, 200.0] {
        session.apply(Act::Take(0, Point::new(x, 150.0)));
        session.apply(Act::PutDown);
    }
    session.apply(Act::SelectNone);
    let number = |s: &Session| s.selected().iter().map(|c| c.number).collect::<Vec<_>>();
    // From left to right, and from the last to the first again.
    for expected in [2, 1, 2] {
        session.apply(Act::SelectNext(true));
        assert_eq!(number(&session), [expected]);
    }
    session.apply(Act::SelectNext(false));
    assert_eq!(number(&session), [1]);
    session.apply(Act::ClearSheet);
    session.apply(Act::SelectNext(true));
    assert!(session.selected().is_empty());
    assert_eq!(session.refusal(), Some("Nothing lies on this sheet"));
}

#[test]
fn an_act_without_a_part_to_do_it_to_says_so() {
    let mut session = with_plate(200.0, 200.0);
    session.apply(Act::SelectNone);
    let before = first_pose(&session);
    for act in [Act::Snug, Act::Turn(0.5), Act::Lock, Act::PutBack, Act::SelectAlike] {
        session.apply(act);
        assert!(session.refusal().unwrap().starts_with("Nothing is selected"));
    }
    assert_eq!(first_pose(&session), before);
}

#[test]
fn a_new_sheet_is_the_one_that_is_shown() {
    let mut open = open(sheet_with_hole(), vec![(rectangle("plate", 100.0, 60.0), 3)]);
    open.job_mut().job.stock[0].count = 2;
    let slot = open.slots()[0];
    open.lay(slot, crate::trial::placement(0, 100.0, 100.0));
    let mut session = Session::new(open, None, Arc::new(|| {}));
    session.apply(Act::NextSheet);
    assert_eq!(session.shown(), (1, 2));
    session.apply(Act::PlainSheet(crate::sheet_facts::SheetFacts {
        name: "plain".into(),
        size: Some((800.0, 500.0)),
        made_of: None,
        grain: None,
        count: 3,
    }));
    assert_eq!(session.shown().0, 0);
}

#[test]
fn what_lies_in_an_open_outline_is_no_part_before_that_is_closed() {
    let folder = std::env::temp_dir().join(format!("oddment-open-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("plate.svg");
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='80mm' height='60mm' viewBox='0 0 80 60'>\
               <g fill='none' stroke='black'><path d='M2 0H80V60H0V0'/>\
               <circle cx='30' cy='30' r='8'/></g></svg>";
    std::fs::write(&file, svg).unwrap();
    let mut session = session();
    session.apply(Act::Read(vec![file.clone(), folder.clone()], ReadAs::Parts));
    wait(&mut session, |s| !s.report().is_empty());
    assert_eq!(session.view().job().wanted.len(), 2);
    assert_eq!(session.undoes_and_redoes().0, None);
    let told = |s: &Session| {
        let told = s.report().iter().flat_map(|r| r.problems_in_words());
        told.map(|(text, _)| text).collect::<Vec<_>>().join("\n")
    };
    let says = told(&session);
    for words in ["within an open outline", "2 mm wide", "this is a folder"] {
        assert!(says.contains(words), "{words}: {says}");
    }
    let options = ReadOptions { bridge: 3.0, ..ReadOptions::default() };
    session.apply(Act::ReadAgain(file, ReadAs::Parts, options));
    wait(&mut session, |s| !s.is_busy());
    assert_eq!(session.view().job().wanted[2].part.region.holes().len(), 1);
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn of_two_windows_the_first_keeps_the_open_work() {
    let folder = tempfile::tempdir().unwrap();
    let keep = Keep::in_folder(folder.path());
    let window = || {
        let first = open(sheet_with_hole(), vec![(rectangle("plate", 100.0, 60.0), 3)]);
        Session::new(first, Some(keep.clone()), Arc::new(|| {}))
    };
    let mut one = window();
    one.apply(Act::PlaceOne(0));
    let mut other = window();
    assert!(other.notice().unwrap().starts_with("Another window keeps the open work"));
    other.apply(Act::PlaceOne(0));
    other.apply(Act::PlaceOne(0));
    drop(other);
    drop(one);
    let again = window();
    assert_eq!(again.notice(), Some("The work from before is open again"));
    assert_eq!(again.view().plan.placed(0), 1);
}

#[test]
fn work_that_was_open_with_another_shop_file_is_put_away_at_the_next_start() {
    let folder = tempfile::tempdir().unwrap();
    let keep = Keep::in_folder(folder.path());
    let first = first_job().unwrap();
    let start = || Session::new(first.clone(), Some(keep.clone()), Arc::new(|| {}));
    let listed = |s: &Session| s.rack().is_some_and(Desk::is_listed);
    let mut session = start();
    wait(&mut session, listed);
    session.apply(Act::PlaceOne(0));
    let laid = session.view().plan.placements().count();
    assert!(laid > 0);
    drop(session);
    // The same shop file: all is as it was.
    let mut session = start();
    wait(&mut session, listed);
    session.poll();
    assert_eq!(session.view().plan.placements().count(), laid);
    drop(session);
    // Meanwhile another window has opened another one, which is the last used then.
    let in_office = Keep {
        work: folder.path().join("office.json"),
        bars: folder.path().join("office-bars.json"),
        ..keep.clone()
    };
    let mut office = Session::new(first.clone(), Some(in_office), Arc::new(|| {}));
    office.apply(Act::Rack(RackAct::NewShop(folder.path().join("other.oddment"))));
    wait(&mut office, |s| s.rack().is_some_and(|rack| rack.shop().0 == "other"));
    drop(office);
    let mut session = start();
    wait(&mut session, |s| s.view().job().stock.is_empty());
    assert!(session.notice().unwrap().contains("is put away from the Sheet"));
    session.apply(Act::Undo);
    assert_eq!(session.view().plan.placements().count(), laid);
}
