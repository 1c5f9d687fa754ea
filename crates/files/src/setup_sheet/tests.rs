use oddment_core::check::{check, check_laid};
use oddment_core::plan::Plan;
use oddment_core::shape::{BedSpace, Loop, Pose, Vector};
use oddment_core::square_up::{Clamp, Measured, fit, pointer_points};

use super::*;
use crate::job_file::SourcedJob;
use crate::picture::{Anchor, Item, Text, text_width};
use crate::test_jobs::{bracket_job, strips, two_brackets};

fn pages(job: &SourcedJob, plan: Plan) -> Vec<Picture> {
    setup_pages(&job.job, &check(&job.job, plan), &[], &Limits::STARTING, Paper::A4, LengthUnit::Mm)
}

fn texts(page: &Picture) -> Vec<&Text> {
    page.items
        .iter()
        .filter_map(|item| match item {
            Item::Text(text) => Some(text),
            Item::Shape { .. } => None,
        })
        .collect()
}

#[track_caller]
fn says(page: &Picture, words: &str) {
    let said: Vec<&str> = texts(page).iter().map(|t| t.text.as_str()).collect();
    assert!(said.iter().any(|s| s.contains(words)), "no “{words}” in {said:#?}");
}

/// Left, right, top and bottom of a text's letters.
fn extent(text: &Text) -> [f64; 4] {
    let width = text_width(&text.text, text.size, text.bold);
    let left = match text.anchor {
        Anchor::Start => text.at.x,
        Anchor::Middle => text.at.x - width / 2.0,
        Anchor::End => text.at.x - width,
    };
    [left, left + width, text.at.y - 0.7 * text.size, text.at.y + 0.2 * text.size]
}

#[test]
fn a_clear_plan_says_so_and_tells_what_to_compare_and_to_beware_of() {
    let (job, plan) = strips(30);
    let pages = pages(&job, plan);
    let first = &pages[0];
    says(first, "CLEAR as recorded");
    says(first, "R-7");
    says(first, "S235");
    says(first, "1000.0 × 1000.0 mm");
    // 1 m² less the cut-outs, 3 mm of steel.
    says(first, "23.4 kg");
    says(first, "two people");
    says(first, "middle of old hole, Ø 30.0");
    says(first, "harmful fumes");
    for page in &pages {
        says(page, "The machine’s manual, local rules and trained people come first.");
        assert!(!texts(page).iter().any(|t| t.text.contains("NOT CLEAR")));
    }
}

#[test]
fn a_plan_that_is_not_clear_says_so_on_every_page_with_its_faults() {
    let (job, mut plan) = strips(100);
    plan.layouts[0].placements[7].pose.shift.x += 9.0;
    let pages = pages(&job, plan);
    assert!(pages.len() > 1);
    for page in &pages {
        says(page, "NOT CLEAR as recorded. Do not cut this plan.");
    }
    says(&pages[0], "strip #8 is 1.0 mm from strip #9, needs 2.6");
}

#[test]
fn each_part_is_found_from_the_datum_corner_and_by_its_pose() {
    let (job, plan) = strips(1);
    let pages = pages(&job, plan);
    let table = pages.last().unwrap();
    // The datum corner is at 5000, 300; the strip's at 5010, 310.
    for number in ["10.0", "5010.0", "310.0"] {
        says(table, number);
    }
    let note: Vec<&str> = texts(table).iter().map(|t| t.text.as_str()).collect();
    assert!(note.join(" ").contains("the datum corner is at X 5000.0, Y 300.0."), "{note:?}");
}

#[test]
fn every_part_has_its_row_however_many_pages_it_takes() {
    let (job, plan) = strips(250);
    let pages = pages(&job, plan);
    let mut numbers: Vec<usize> = pages[1..]
        .iter()
        .flat_map(texts)
        .filter(|t| t.bold && t.at.x < 70.0)
        .filter_map(|t| t.text.parse().ok())
        .collect();
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=250).collect::<Vec<_>>());
}

#[test]
fn few_parts_stand_on_the_first_page() {
    let mut plan = two_brackets();
    plan.layouts[0].placements.pop();
    let pages = pages(&bracket_job(), plan);
    assert_eq!(pages.len(), 1);
    says(&pages[0], "Where the parts lie");
}

#[test]
fn nothing_is_written_over_other_text_or_off_the_page() {
    let (job, plan) = strips(130);
    for (paper, unit) in [(Paper::A4, LengthUnit::Mm), (Paper::Letter, LengthUnit::Inch)] {
        let checked = check(&job.job, plan.clone());
        let pages = setup_pages(&job.job, &checked, &[], &Limits::STARTING, paper, unit);
        for (i, page) in pages.iter().enumerate() {
            let extents: Vec<_> = texts(page).into_iter().map(|t| (extent(t), t)).collect();
            for ([left, right, top, bottom], text) in &extents {
                assert!(*left >= 20.0 && *right <= page.width - 20.0, "{text:?}");
                assert!(*top >= 20.0 && *bottom <= page.height - 20.0, "{text:?}");
            }
            // In the picture a pointer's letter may lie over a ruler's number.
            let plain = if i == 0 { &[][..] } else { &extents[..] };
            for (n, ([l, r, t, o], a)) in plain.iter().enumerate() {
                for ([m, s, u, p], b) in &plain[n + 1..] {
                    assert!(r <= m || s <= l || o <= u || p <= t, "{a:?} over {b:?}");
                }
            }
        }
    }
}

#[test]
fn each_sheet_has_its_pages_and_an_empty_plan_one() {
    let mut plan = two_brackets();
    let second = plan.layouts[0].placements.remove(1);
    plan.layouts.push(Layout { stock: 0, placements: vec![second] });
    let both = pages(&bracket_job(), plan);
    says(&both[0], "sheet 1 of 2");
    says(&both[1], "sheet 2 of 2");
    let empty = pages(&bracket_job(), Plan::default());
    assert_eq!(empty.len(), 1);
    says(&empty[0], "Nothing is placed");
}

#[test]
fn the_pdf_is_made_of_the_pages() {
    let (job, plan) = strips(130);
    let checked = check(&job.job, plan);
    let file =
        setup_sheet(&job.job, &checked, &[], &Limits::STARTING, Paper::Letter, LengthUnit::Inch)
            .unwrap();
    assert!(file.starts_with(b"%PDF-"));
}

#[test]
fn a_clamp_that_bears_on_no_sound_metal_is_printed() {
    let (job, plan) = strips(3);
    let lies = Pose::<SheetSpace, BedSpace>::new(Vector::new(-4900.0, -200.0), 0.01, false);
    let measured: Vec<Measured> = pointer_points(&job.job.stock[0].sheet)
        .into_iter()
        .map(|feature| Measured { feature, at: lies.apply(feature.at()), give_or_take: 0.5 })
        .collect();
    let mut squared_up = SquaredUp::new(&fit(&measured).unwrap()).unwrap();
    let clamp = |name: &str, x, y| {
        let middle = lies.apply(Point::new(x, y));
        let half = Vector::new(20.0, 20.0);
        let shape = Loop::rectangle(middle - half, middle + half).unwrap();
        Clamp { name: name.into(), shape, clearance: 5.0 }
    };
    // One over the square cut-out, one on metal, one all but beside the sheet.
    squared_up.clamps =
        vec![clamp("K1", 5730.0, 1130.0), clamp("K2", 5500.0, 1000.0), clamp("K3", 6018.0, 700.0)];
    let checked = check_laid(&job.job, plan, vec![Some(squared_up)]);
    let pages = setup_pages(&job.job, &checked, &[], &Limits::STARTING, Paper::A4, LengthUnit::Mm);
    says(&pages[0], "K1 reaches over an old cut-out");
    says(&pages[0], "K3 hardly holds the sheet");
    assert!(!texts(&pages[0]).iter().any(|t| t.text.starts_with("K2")));
}
