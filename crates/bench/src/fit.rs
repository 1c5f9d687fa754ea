//! Where a part fits: puzzles with a known answer, the region at one turn, a rack of remnants.
//!
//! The puzzles are those of the corpus (folder `bench/pocket` and `bench/plug` of the one that
//! ODDMENT_CORPUS names); without it only the other figures are measured.

use std::error::Error;
use std::f64::consts::TAU;
use std::fs;
use std::path::Path;
use std::time::Instant;

use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::fit::{Answer, RESOLUTION, Verdict, fit, fit_region, room_on};
use oddment_core::job::{Budget, Stop};
use oddment_core::part::Part;
use oddment_core::shape::{Loop, LoopFault, PartSpace, Point, Region, SheetSpace, Vector};
use oddment_core::sheet::{EdgeFacts, Sheet};

use crate::puzzle::Puzzle;
use crate::report::Table;

/// Figures for the fit test and the fit region.
pub(crate) fn run() -> Table {
    let mut table = Table::new();
    if let Some(corpus) = std::env::var_os("ODDMENT_CORPUS")
        && let Err(fault) = puzzles(&mut table, Path::new(&corpus))
    {
        eprintln!("error: {fault}");
    }
    if let Err(fault) = region(&mut table).and_then(|()| remnants(&mut table)) {
        eprintln!("error: {fault}");
    }
    table
}

fn ask(sheet: &Sheet, part: &Part, clearances: &Clearances) -> Answer {
    let budget = Budget { steps: Some(2_000_000), time_up: &|| false, stop: Stop::default() };
    fit(sheet, part, clearances, RESOLUTION, &budget)
}

/// Right answers, and the time for each.
fn puzzles(table: &mut Table, corpus: &Path) -> Result<(), Box<dyn Error>> {
    for (kind, expected) in [("pocket", Verdict::Fits), ("plug", Verdict::CannotFit)] {
        let (mut wrong, mut count, mut total, mut longest) = (0_i32, 0_i32, 0.0, 0.0_f64);
        for entry in fs::read_dir(corpus.join("bench").join(kind))? {
            let folder = entry?.path();
            let Puzzle { sheet, parts, clearances } = Puzzle::load(&folder)?;
            let part = parts.first().ok_or("a puzzle without a part")?;
            let start = Instant::now();
            let verdict = ask(&sheet, part, &clearances).verdict;
            let seconds = start.elapsed().as_secs_f64();
            (total, longest) = (total + seconds, longest.max(seconds));
            count += 1;
            wrong += i32::from(verdict != expected);
        }
        table.add(format!("{kind}: puzzles"), f64::from(count), "", None);
        table.add(format!("{kind}: wrong answers"), f64::from(wrong), "", Some(0.0));
        table.add(format!("{kind}: mean time"), total / f64::from(count) * 1e3, "ms", Some(300.0));
        table.add(format!("{kind}: longest time"), longest * 1e3, "ms", Some(2000.0));
    }
    Ok(())
}

/// A part of 40 corners among 200 round cut-outs, one turn.
fn region(table: &mut Table) -> Result<(), LoopFault> {
    let mut random = fastrand::Rng::with_seed(7);
    let middle =
        |n: usize| Point::new((n % 20) as f64 * 120.0 + 110.0, (n / 20) as f64 * 120.0 + 85.0);
    let holes: Result<Vec<Loop<SheetSpace>>, _> =
        (0..200).map(|n| Loop::circle(middle(n), 10.0 + 25.0 * random.f64())).collect();
    let sheet = sheet(2500.0, 1250.0, holes?)?;
    for (size, across) in [("60 mm", 30.0), ("180 mm", 90.0)] {
        let part = Part::new("star", Region::new(star(across)?, Vec::new()));
        let mut turn = 0.0;
        table.time(format!("fit region, a part {size} across"), Some(30.0), || {
            turn += 0.1;
            fit_region(&sheet, &part, (turn, false), &CLEARANCES, 0.2, &Stop::default())
        });
    }
    Ok(())
}

/// A bracket on 2,000 remnants with 5 to 60 cut-outs.
fn remnants(table: &mut Table) -> Result<(), LoopFault> {
    let mut random = fastrand::Rng::with_seed(3);
    let sheets: Result<Vec<Sheet>, LoopFault> = (0..2000).map(|_| remnant(&mut random)).collect();
    let sheets = sheets?;
    let sheets: Vec<&Sheet> = sheets.iter().collect();
    let corners =
        [(0.0, 0.0), (120.0, 0.0), (120.0, 40.0), (40.0, 40.0), (40.0, 90.0), (0.0, 90.0)];
    let outline = Loop::polygon(corners.map(|(x, y)| Point::new(x, y)))?;
    let part = Part::new("bracket", Region::new(outline, Vec::new()));
    let budget = Budget { steps: Some(20_000), time_up: &|| false, stop: Stop::default() };
    let start = Instant::now();
    let answers = room_on(&sheets, &part, &CLEARANCES, RESOLUTION, &budget);
    let seconds = start.elapsed().as_secs_f64();
    let count = |verdict| answers.iter().filter(|a| a.verdict == verdict).count() as f64;
    table.add("2,000 remnants: with room", count(Verdict::Fits), "", None);
    table.add("2,000 remnants: undecided", count(Verdict::Undecided), "", Some(0.0));
    table.add("2,000 remnants: time", seconds * 1e3, "ms", Some(2000.0));
    Ok(())
}

const CLEARANCES: Clearances = Clearances {
    kerf: 0.3,
    web: 2.0,
    edge: EdgeDistance::all(2.0),
    sensing: 2.0,
    lay: 0.0,
    common: false,
};

fn remnant(random: &mut fastrand::Rng) -> Result<Sheet, LoopFault> {
    let (width, height) = (200.0 + random.f64() * 1200.0, 150.0 + random.f64() * 800.0);
    let wanted = random.usize(5..65);
    let mut taken: Vec<(Point<SheetSpace>, f64)> = Vec::new();
    let mut holes = Vec::new();
    for _ in 0..3 * wanted {
        let radius = 8.0 + random.f64() * 60.0;
        if holes.len() == wanted || 2.0 * radius + 20.0 > height {
            continue;
        }
        let along = |random: &mut fastrand::Rng, length: f64| {
            radius + 5.0 + random.f64() * (length - 2.0 * radius - 10.0)
        };
        let middle = Point::new(along(random, width), along(random, height));
        if taken.iter().any(|(q, r)| middle.distance(*q) < radius + r + 4.0) {
            continue;
        }
        taken.push((middle, radius));
        let half = Vector::new(0.7 * radius, 0.7 * radius);
        holes.push(if random.bool() {
            Loop::circle(middle, radius)?
        } else {
            Loop::rectangle(middle - half, middle + half)?
        });
    }
    sheet(width, height, holes)
}

fn sheet(width: f64, height: f64, holes: Vec<Loop<SheetSpace>>) -> Result<Sheet, LoopFault> {
    let outline = Loop::rectangle(Point::origin(), Point::new(width, height))?;
    Ok(Sheet::new("sheet", &[Region::new(outline, holes)], EdgeFacts::default()))
}

/// A star of 10 blunt points and 40 corners.
fn star(across: f64) -> Result<Loop<PartSpace>, LoopFault> {
    Loop::polygon((0..40).map(|i| {
        let far = if i % 4 < 2 { across } else { 0.67 * across };
        Point::origin() + Vector::at_angle(f64::from(i) / 40.0 * TAU) * far
    }))
}
