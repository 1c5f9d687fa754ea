//! Cards and lists by the names of things: the sheet, the slip, how everything looks, the faults.

use eframe::egui::accesskit::Role;
use eframe::egui::{Event, Key, Modifiers, Pos2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use oddment_app::act::Act;
use oddment_app::place::Place;
use oddment_core::part::Priority;

use super::{drag, middle, says, session, window, window_of};
use crate::window::Window;

/// Types into the field of this name in place of what is there.
fn write_into(harness: &mut Harness<'_, Option<Window>>, name: &str, text: &str) {
    harness.get_by_role_and_label(Role::TextInput, name).focus();
    harness.run_steps(1);
    harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    harness.run_steps(1);
    harness.key_press(Key::Backspace);
    harness.run_steps(1);
    harness.get_by_role_and_label(Role::TextInput, name).type_text(text);
    harness.run_steps(1);
}

/// The same, and presses Enter.
fn type_into(harness: &mut Harness<'_, Option<Window>>, name: &str, text: &str) {
    write_into(harness, name, text);
    harness.key_press(Key::Enter);
    harness.run_steps(3);
}

fn press(harness: &mut Harness<'_, Option<Window>>, name: &str) {
    harness.get_by(|n| n.label().is_some_and(|l| l.starts_with(name))).click();
    harness.run_steps(3);
}

#[test]
fn the_wrong_metal_is_refused_in_words() {
    let mut harness = window();
    press(&mut harness, "rack-stay-tab, 0 of 4");
    type_into(&mut harness, "metal of rack-stay-tab", "16 ga stainless");
    let wanted = &session(&harness).view().job().wanted;
    let tab = wanted.iter().position(|w| w.part.name == "rack-stay-tab").unwrap();
    let thickness = wanted[tab].part.made_from.as_ref().unwrap().thickness;
    assert!((thickness - 1.5875).abs() < 1e-6);
    press(&mut harness, "Lay one rack-stay-tab");
    assert_eq!(session(&harness).view().plan.placed(tab), 0);
    assert!(says(&harness, "must be 1.59 mm stainless"));
    type_into(&mut harness, "metal of rack-stay-tab", "");
    press(&mut harness, "Lay one rack-stay-tab");
    assert_eq!(session(&harness).view().plan.placed(tab), 1);
}

#[test]
fn how_a_part_may_lie_is_pressed_on_the_slip() {
    let mut harness = window();
    press(&mut harness, "head-tube-gusset, 0 of 2");
    // The row comes to be seen whole.
    harness.run_steps(40);
    press(&mut harness, "first");
    press(&mut harness, "along the grain");
    press(&mut harness, "quarters");
    let wanted = &session(&harness).view().job().wanted;
    let part = &wanted.iter().find(|w| w.part.name == "head-tube-gusset").unwrap().part;
    assert_eq!((part.priority, part.grain), (Priority::First, Some(0.0)));
    assert!(matches!(&part.turning, oddment_core::part::Turning::Only(a) if a.len() == 4));
}

#[test]
fn a_plain_sheet_is_typed_with_a_gauge() {
    let mut harness = window();
    press(&mut harness, "The sheet:");
    press(&mut harness, "a plain sheet instead");
    for (name, text) in [("along X", "96in"), ("along Y", "1219"), ("material", "DX51")] {
        write_into(&mut harness, name, text);
    }
    type_into(&mut harness, "thickness", "16 ga");
    let sheet = &session(&harness).view().job().stock[0].sheet;
    assert!((sheet.bounds().width() - 96.0 * 25.4).abs() < 1e-9);
    assert!((sheet.made_of.as_ref().unwrap().thickness - 0.0635 * 25.4).abs() < 1e-9);
    // 1.6129 mm, which nobody wants to read in full.
    assert!(says(&harness, "1.61 mm DX51"));
    harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    harness.run_steps(2);
    assert_eq!(session(&harness).view().job().stock[0].sheet.name, "S3-041");
}

#[test]
fn a_part_is_duplicated_and_turned_along_the_edge_by_keys() {
    let mut harness = window();
    let row = middle(&harness, "rack-stay-tab, 0 of 4");
    drag(&mut harness, row, Pos2::new(900.0, 420.0) - row);
    for _ in 0..3 {
        harness.key_press(Key::Comma);
        harness.run_steps(1);
    }
    let turn = |h: &Harness<'_, _>| session(h).view().plan.layouts[0].placements[0].pose.turn;
    assert!((turn(&harness) - 3f64.to_radians()).abs() < 1e-9);
    harness.key_press(Key::E);
    harness.run_steps(2);
    assert!(turn(&harness).rem_euclid(std::f64::consts::FRAC_PI_2) < 1e-9);
    harness.key_press(Key::D);
    harness.run_steps(2);
    assert!(says(&harness, "rack-stay-tab, 2 of 4"));
    assert!(session(&harness).checked().is_clear());
    assert_eq!(session(&harness).selected()[0].number, 2);
    harness.key_press(Key::A);
    harness.run_steps(2);
    assert_eq!(session(&harness).selected().len(), 2);
    harness.key_press(Key::Delete);
    harness.run_steps(2);
    assert_eq!(session(&harness).undoes_and_redoes().0, Some("Put back 2 parts"));
}

#[test]
fn the_keyboard_goes_through_a_parts_numbers_as_they_stand() {
    let mut harness = window();
    let row = middle(&harness, "deck-bracket, 0 of 4");
    drag(&mut harness, row, Pos2::new(900.0, 400.0) - row);
    harness.get_by_role_and_label(Role::TextInput, "X from the datum").focus();
    harness.run_steps(2);
    for next in ["Y from the datum", "angle in degrees", "step of the arrow keys"] {
        harness.key_press(Key::Tab);
        harness.run_steps(2);
        let field = harness.get_by_role_and_label(Role::TextInput, next);
        assert!(field.accesskit_node().is_focused(), "{next}");
    }
}

/// Names of the controls that Tab goes through from this one on, with where they stand.
fn tabbed(
    harness: &mut Harness<'_, Option<Window>>,
    from: &str,
    count: usize,
) -> Vec<(String, Pos2)> {
    harness.get_by(|n| n.label().is_some_and(|l| l.starts_with(from))).focus();
    harness.run_steps(2);
    let mut found = Vec::new();
    for _ in 0..count {
        harness.key_press(Key::Tab);
        harness.run_steps(2);
        let focused = harness.root().children_recursive().find(|n| n.accesskit_node().is_focused());
        let node = focused.expect("something has the keyboard");
        let name = node.accesskit_node().label().unwrap_or_default();
        found.push((name, node.rect().left_center()));
    }
    found
}

#[test]
fn the_keyboard_goes_along_the_top_line_as_it_stands() {
    for wide in [960.0, 1400.0] {
        let mut harness = window_of(vec2(wide, 700.0));
        let along = tabbed(&mut harness, "Sheet", 30);
        let line: Vec<_> = along.iter().take_while(|(_, at)| at.y < 64.0).collect();
        assert!(line.len() > 8, "{line:?}");
        let fill = line.iter().position(|(name, _)| name == "Fill").expect("Fill is reached");
        assert_eq!(fill, line.len() - 1, "{line:?}");
        for pair in line.windows(2) {
            assert!(pair[0].1.x < pair[1].1.x, "at {wide}: {pair:?}");
        }
    }
}

#[test]
fn redo_keeps_its_place_while_there_is_nothing_to_do_again() {
    let mut harness = window();
    let at = |h: &Harness<'_, Option<Window>>, name: &str| {
        h.get_by(|n| n.label().is_some_and(|l| l.starts_with(name))).rect()
    };
    let (undo, redo) = (at(&harness, "Undo"), at(&harness, "Redo"));
    assert!(undo.right() <= redo.left());
    let row = middle(&harness, "rack-stay-tab, 0 of 4");
    drag(&mut harness, row, Pos2::new(900.0, 420.0) - row);
    assert_eq!((undo, redo), (at(&harness, "Undo: Lay"), at(&harness, "Redo")));
    harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    harness.run_steps(2);
    assert_eq!((undo, redo), (at(&harness, "Undo"), at(&harness, "Redo: Lay")));
}

#[test]
fn a_part_is_laid_moved_turned_locked_and_put_back_by_keys_alone() {
    let mut harness = window();
    harness.get_by(|n| n.label().is_some_and(|l| l.starts_with("rack-stay-tab, 0 of"))).focus();
    for key in [Key::Enter, Key::Tab, Key::Tab, Key::Tab, Key::Tab] {
        harness.run_steps(2);
        harness.key_press(key);
    }
    harness.run_steps(2);
    let lay = harness.get_by_label("Lay one rack-stay-tab");
    assert!(lay.accesskit_node().is_focused());
    for _ in 0..2 {
        harness.key_press(Key::Enter);
        harness.run_steps(2);
    }
    assert!(says(&harness, "rack-stay-tab, 2 of 4"));
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    harness.key_press(Key::N);
    harness.run_steps(2);
    let one = session(&harness).selected()[0];
    let place = |h: &Harness<'_, Option<Window>>| *session(h).view().find(one).unwrap().1;
    let before = place(&harness);
    harness.key_press(Key::R);
    harness.run_steps(2);
    assert_ne!(place(&harness).pose.turn, before.pose.turn);
    let turned = place(&harness);
    harness.key_press(Key::ArrowUp);
    harness.run_steps(2);
    assert_ne!(place(&harness).pose, turned.pose);
    harness.key_press(Key::L);
    harness.run_steps(2);
    assert!(place(&harness).locked);
    harness.key_press(Key::L);
    harness.run_steps(2);
    harness.key_press(Key::N);
    harness.run_steps(2);
    assert_ne!(session(&harness).selected()[0], one);
    harness.key_press_modifiers(Modifiers::SHIFT, Key::N);
    harness.run_steps(2);
    assert_eq!(session(&harness).selected(), [one]);
    harness.key_press(Key::Delete);
    harness.run_steps(2);
    assert!(session(&harness).view().find(one).is_none());
}

#[test]
fn a_mirrored_part_lies_at_no_degrees_and_not_at_minus_none() {
    let mut harness = window();
    let row = middle(&harness, "head-tube-gusset, 0 of 2");
    drag(&mut harness, row, Pos2::new(900.0, 420.0) - row);
    harness.key_press(Key::M);
    harness.run_steps(3);
    assert!(session(&harness).view().plan.layouts[0].placements[0].pose.flipped);
    assert_eq!(harness.get_by_label("angle in degrees").value().as_deref(), Some("0"));
}

#[test]
fn numbers_are_typed_and_short_distances_are_said() {
    let mut harness = window();
    let row = middle(&harness, "rack-stay-tab, 0 of 4");
    drag(&mut harness, row, Pos2::new(900.0, 420.0) - row);
    type_into(&mut harness, "X from the datum", "2");
    let corner = session(&harness).selected_corner().unwrap() - session(&harness).datum();
    assert!((corner.x - 2.0).abs() < 1e-9);
    assert!(says(&harness, "check: not clear: 1 fault"));
    press(&mut harness, "check: not clear");
    // The fault is said, and pressing it selects and shows what it is about.
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    assert!(session(&harness).selected().is_empty());
    press(&mut harness, "rack-stay-tab #1 is 2.0 mm from the sheet’s edge");
    assert_eq!(session(&harness).selected().len(), 1);
    harness.key_press(Key::S);
    harness.run_steps(2);
    assert!(says(&harness, "check: clear as recorded, not measured on the bed yet"));
    // What is no number is said to be none, until something else is selected.
    let before = session(&harness).selected_corner();
    type_into(&mut harness, "Y from the datum", "abc");
    assert_eq!(session(&harness).selected_corner(), before);
    assert!(says(&harness, "“abc”"));
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    assert!(!says(&harness, "“abc”"));
}

#[test]
fn faults_stand_below_each_other_and_nothing_covers_them() {
    let mut harness = window();
    for (name, x) in [("rack-stay-tab, 0 of 4", 900.0), ("rack-side, 0 of 2", 700.0)] {
        let row = middle(&harness, name);
        drag(&mut harness, row, Pos2::new(x, 420.0) - row);
        type_into(&mut harness, "X from the datum", "-20");
        type_into(&mut harness, "Y from the datum", "-20");
    }
    for _ in 0..4 {
        harness.key_press(Key::Plus);
        harness.run_steps(1);
    }
    assert!(says(&harness, "whole sheet, press to look there"));
    press(&mut harness, "check: not clear");
    assert!(!says(&harness, "whole sheet, press to look there"));
    let rows: Vec<_> = harness
        .query_all_by(|n| {
            n.role() == Role::Button && n.label().is_some_and(|l| l.contains("needs"))
        })
        .map(|n| n.rect())
        .collect();
    assert!(rows.len() >= 3, "{rows:?}");
    for pair in rows.windows(2) {
        assert!(pair[0].bottom() <= pair[1].top() + 0.5, "{pair:?}");
    }
}

#[test]
fn large_text_leaves_the_slip_and_a_parts_line_usable() {
    let mut harness = window();
    let row = middle(&harness, "deck-bracket, 0 of 4");
    drag(&mut harness, row, Pos2::new(900.0, 400.0) - row);
    harness.state_mut().as_mut().unwrap().act(Act::SetSize(150));
    harness.run_steps(4);
    let seen = harness.ctx.content_rect();
    let rows =
        harness.query_all_by(|n| n.label().is_some_and(|l| l.contains(" of ") && l.contains(", ")));
    let rows = rows.filter(|n| n.rect().width() > 150.0 && seen.contains_rect(n.rect())).count();
    assert!(rows >= 4, "{rows} rows are to be seen");
    let names = ["X from the datum", "angle in degrees", "step of the arrow keys"];
    for name in names {
        let field = harness.get_by_role_and_label(Role::TextInput, name).rect();
        assert!(seen.contains_rect(field), "{name}: {field:?} of {seen:?}");
    }
    apart(&harness, seen.right(), &["Turn", "Lock", "Duplicate", "Put back", "check:"]);
}

#[test]
fn what_is_seen_is_chosen_on_the_small_sheet() {
    let mut harness = window();
    let small = "whole sheet, press to look there";
    assert!(!says(&harness, small));
    for _ in 0..6 {
        harness.key_press(Key::Plus);
        harness.run_steps(1);
    }
    assert!(says(&harness, small));
    harness.key_press(Key::Home);
    harness.run_steps(3);
    assert!(!says(&harness, small));
}

#[test]
fn looks_are_chosen_on_one_card() {
    let mut harness = window();
    press(&mut harness, "Look");
    for name in ["dark", "inches", "for gloves", "1 min", "120 %"] {
        press(&mut harness, name);
    }
    let settings = session(&harness).settings();
    assert!(settings.dark && settings.inch && settings.large_targets);
    assert_eq!(settings.size_percent, 120);
    assert_eq!(settings.fill_seconds, 60);
    harness.key_press(Key::Escape);
    harness.run_steps(3);
    // What a glove presses is larger then.
    let fill = harness.get_by_label("Fill").rect();
    assert!(fill.height() >= 60.0 && fill.width() >= 60.0, "{fill:?}");
}

#[test]
fn text_grows_as_far_as_the_window_has_room() {
    let mut harness = window();
    for _ in 0..10 {
        harness.state_mut().as_mut().unwrap().act(Act::Larger);
    }
    harness.run_steps(4);
    assert_eq!(session(&harness).settings().size_percent, 200);
    // 900 high: 560 at 160 %.
    assert!((harness.ctx.zoom_factor() - 1.6).abs() < 1e-3, "{}", harness.ctx.zoom_factor());
    press(&mut harness, "More");
    press(&mut harness, "Look");
    assert!(says(&harness, "160 % fit in this window"));
}

/// Everything that takes a press or a text has a name for those who do not see it.
#[test]
fn every_control_has_a_name() {
    let mut harness = window();
    let row = middle(&harness, "deck-bracket, 0 of 4");
    drag(&mut harness, row, Pos2::new(900.0, 400.0) - row);
    press(&mut harness, "deck-bracket, 1 of 4");
    named(&harness, "the sheet");
    press(&mut harness, "The sheet:");
    named(&harness, "the sheet's card");
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    press(&mut harness, "Distances");
    named(&harness, "the distances");
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    press(&mut harness, "Look");
    named(&harness, "looks");
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    harness.key_press(Key::Slash);
    harness.run_steps(3);
    named(&harness, "all acts");
}

#[test]
fn every_place_names_its_controls() {
    let mut bench = super::bench::bench("names");
    bench.press("Fill");
    bench.until(|s| !s.view().plan.layouts.is_empty());
    bench.press("Keep this");
    for place in Place::ALL {
        bench.act(Act::Go(place));
        bench.harness.run_steps(4);
        named(&bench.harness, place.name());
    }
}

#[test]
fn every_card_names_its_controls() {
    let mut bench = super::bench::bench("card-names");
    let look = |bench: &mut super::bench::Bench, what: &str| {
        bench.harness.run_steps(4);
        named(&bench.harness, what);
        bench.harness.key_press(Key::Escape);
        bench.harness.run_steps(4);
    };
    bench.press("Rack");
    bench.press("Add a sheet");
    for kind in ["a rectangle", "an L", "one clean rectangle"] {
        bench.press(kind);
        named(&bench.harness, kind);
    }
    look(&mut bench, "add a sheet");
    for card in ["Add bars", "Fillers", "In and out"] {
        bench.press(card);
        look(&mut bench, card);
    }
    bench.press("S3-044,");
    named(&bench.harness, "a sheet of the rack");
    for card in ["Facts", "Label"] {
        bench.press(card);
        look(&mut bench, card);
    }
    bench.press("Sheet");
    bench.press("Fill");
    bench.until(|s| !s.view().plan.layouts.is_empty());
    bench.press("Keep this");
    for card in ["Export", "Part by part", "Open"] {
        bench.press(card);
        look(&mut bench, card);
    }
}

#[track_caller]
fn named(harness: &Harness<'_, Option<Window>>, place: &str) {
    let mut controls = 0;
    for node in harness.root().children_recursive() {
        let node = node.accesskit_node();
        let acts = matches!(
            node.role(),
            Role::Button | Role::TextInput | Role::CheckBox | Role::Slider | Role::ComboBox
        );
        if acts {
            controls += 1;
            let label = node.label();
            assert!(label.is_some_and(|l| !l.trim().is_empty()), "{place}: {:?}", node.role());
        }
    }
    assert!(controls > 5, "{place} has {controls} controls");
}

#[test]
fn a_narrow_window_keeps_its_controls_apart() {
    let mut harness = super::window_of(vec2(960.0, 600.0));
    let row = middle(&harness, "deck-bracket, 0 of 4");
    drag(&mut harness, row, Pos2::new(700.0, 300.0) - row);
    apart(&harness, 960.0, &["Fill", "More", "Turn", "Lock", "Put back"]);
}

#[track_caller]
fn apart(harness: &Harness<'_, Option<Window>>, wide: f32, names: &[&str]) {
    let rect =
        |n: &str| harness.get_by(|node| node.label().is_some_and(|l| l.starts_with(n))).rect();
    let rects: Vec<_> = names.iter().map(|n| (*n, rect(n))).collect();
    for (i, (name, rect)) in rects.iter().enumerate() {
        assert!(rect.left() >= 0.0 && rect.right() <= wide, "{name} at {rect:?} of {wide}");
        for (other, at) in &rects[i + 1..] {
            assert!(!rect.shrink(1.0).intersects(at.shrink(1.0)), "{name} lies on {other}");
        }
    }
}

#[test]
fn the_top_line_has_room_for_all_of_it_or_says_that_there_is_more() {
    let words = ["Export", "Save", "Open", "All acts", "Shop", "Look"];
    for wide in [640.0, 800.0, 960.0, 1100.0, 1280.0, 1400.0, 1920.0] {
        let mut harness = super::window_of(vec2(wide, 700.0));
        let row = middle(&harness, "deck-bracket, 0 of 4");
        let by = Pos2::new(wide - 100.0, 300.0) - row;
        drag(&mut harness, row, by);
        let shown = |harness: &Harness<'_, Option<Window>>| -> Vec<&str> {
            let is_there = |n: &&str| harness.query_by_label(n).is_some();
            words.iter().copied().filter(is_there).collect()
        };
        let mut on_line = shown(&harness);
        let more = on_line.len() < words.len();
        on_line.extend(["Cut", "Rack", "plan on sheets", "plan on bars", "Fill", "The sheet:"]);
        on_line.extend(more.then_some("More"));
        apart(&harness, wide, &on_line);
        if more {
            press(&mut harness, "More");
            assert_eq!(shown(&harness), words, "at {wide}");
            press(&mut harness, "Look");
            assert!(says(&harness, "for gloves"));
        }
    }
}

#[test]
fn the_first_start_says_what_to_do_in_a_window_of_any_size() {
    for size in [vec2(1400.0, 900.0), vec2(1366.0, 768.0), vec2(960.0, 640.0)] {
        let mut harness = window_of(size);
        let hint = harness.get_by_label("Got it").rect();
        assert!(hint.max.x <= size.x && hint.max.y <= size.y, "{size:?}: {hint:?}");
        press(&mut harness, "Got it");
        assert!(!says(&harness, "Got it"), "{size:?}");
    }
}

#[test]
fn what_is_refused_stays_in_its_field_and_a_sum_is_reckoned() {
    let mut harness = window();
    let row = middle(&harness, "deck-bracket, 0 of 4");
    drag(&mut harness, row, Pos2::new(900.0, 400.0) - row);
    let x = |harness: &Harness<'_, Option<Window>>| {
        let session = session(harness);
        session.selected_corner().unwrap().x - session.datum().x
    };
    type_into(&mut harness, "X from the datum", "120 by 5");
    let field = harness.get_by_role_and_label(Role::TextInput, "X from the datum");
    assert!(field.accesskit_node().is_focused());
    assert_eq!(field.value().as_deref(), Some("120 by 5"));
    assert!(says(&harness, "is not a length"));
    // What is typed now takes its place.
    harness.event(Event::Text("120+5".into()));
    harness.run_steps(2);
    harness.key_press(Key::Enter);
    harness.run_steps(3);
    assert!((x(&harness) - 125.0).abs() < 1e-6);
    assert!(!says(&harness, "is not a length"));
    for nonsense in ["nan", "1e30", "-"] {
        type_into(&mut harness, "angle in degrees", nonsense);
        assert!(says(&harness, "is no angle in degrees"), "{nonsense}");
    }
}

#[test]
fn a_field_that_is_reached_with_tab_is_typed_over() {
    let mut harness = window();
    press(&mut harness, "Distances");
    let kerf = harness.get_by_role_and_label(Role::TextInput, "kerf").value();
    harness.get_by_role_and_label(Role::TextInput, "kerf").focus();
    harness.run_steps(2);
    harness.key_press(Key::Tab);
    harness.run_steps(3);
    harness.event(Event::Text("4.5".into()));
    harness.run_steps(2);
    harness.key_press_modifiers(Modifiers::SHIFT, Key::Tab);
    harness.run_steps(3);
    harness.event(Event::Text("0.7".into()));
    harness.run_steps(2);
    let value = |name| harness.get_by_role_and_label(Role::TextInput, name).value();
    assert_ne!(kerf.as_deref(), Some("0.7"));
    assert_eq!(value("kerf").as_deref(), Some("0.7"));
    assert_eq!(value("web").as_deref(), Some("4.5"));
}
