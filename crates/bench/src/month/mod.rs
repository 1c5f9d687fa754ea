//! A month in the shop: a stream of orders cut by three policies, each with a rack of its own. The
//! program's end-to-end benchmark of comparing.

mod shop;

use std::path::Path;
use std::time::Instant;

use oddment_core::shape::Point;
use oddment_files::picture::{Anchor, Colour, PagePath, Picture, Stroke, Text, svg};
use rayon::prelude::*;

use crate::report::Table;
use shop::{By, MOST, Month, STEPS, Stream};

/// How many orders and seeds are run where nothing else is asked for.
const ORDERS: usize = 250;
const SEEDS: u64 = 5;

/// Figures for every policy, over all seeds; the plot of the rack lies beside them.
pub(crate) fn run() -> Table {
    let orders = asked("ODDMENT_ORDERS").unwrap_or(ORDERS);
    let seeds = asked("ODDMENT_SEEDS").unwrap_or(SEEDS as usize) as u64;
    let mut table = Table::new();
    let mut lines = Vec::new();
    table.add("orders", orders as f64, "", None);
    table.add("seeds", seeds as f64, "", None);
    let streams: Result<Vec<Stream>, _> = (1..=seeds).map(|seed| Stream::new(seed, MOST)).collect();
    let streams = match streams {
        Ok(streams) => streams,
        Err(fault) => {
            eprintln!("error: {fault}");
            return table;
        }
    };
    let begun = Instant::now();
    // Side by side: most of a month is one thing after the other.
    let of_policies = By::ALL.map(|by| {
        let month = |stream: &Stream| {
            let month = Month::run(stream, by, orders, STEPS);
            let (spent, minutes) = (month.spent, begun.elapsed().as_secs_f64() / 60.0);
            eprintln!("{}: {spent:.0} EUR, after {minutes:.1} min", by.words());
            month
        };
        streams.par_iter().map(month).collect::<Vec<_>>()
    });
    for (by, months) in By::ALL.into_iter().zip(of_policies) {
        let sum = |of: &dyn Fn(&Month) -> f64| months.iter().map(of).sum::<f64>();
        let worst = months.iter().map(Month::imbalance).fold(0.0, f64::max);
        let mut add = |what: &str, figure: f64, unit: &'static str, most: Option<f64>| {
            table.add(format!("{}: {what}", by.words()), figure, unit, most);
        };
        add("fresh sheets", sum(&|m| m.fresh as f64), "", None);
        add("bought", sum(&|m| m.bought), "kg", None);
        add("scrap", sum(&|m| m.scrap), "kg", None);
        add("by hand", sum(&|m| m.by_hand / 60.0), "h", None);
        add("at the machine", sum(&|m| m.machine / 60.0), "h", None);
        add("spent", sum(&|m| m.spent), "EUR", None);
        add("worth of the rack in the end", sum(&|m| m.worth), "EUR", None);
        add("sheets in the rack in the end", sum(&|m| m.rack() as f64), "", None);
        add("parts missing", sum(&|m| m.missing as f64), "", Some(0.0));
        add("metal unaccounted for, at worst", 100.0 * worst, "%", Some(0.1));
        lines.push((by.words(), months.into_iter().map(|m| m.racks).collect::<Vec<_>>()));
    }
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("results").join("month.svg");
    if let Err(fault) = std::fs::write(&file, svg(&plot(&lines, orders))) {
        eprintln!("error: {}: {fault}", file.display());
    }
    table
}

fn asked(name: &str) -> Option<usize> {
    std::env::var(name).ok()?.parse().ok()
}

/// Sheets in the rack over the orders, a line for each policy and seed.
fn plot(lines: &[(&str, Vec<Vec<usize>>)], orders: usize) -> Picture {
    const SIZE: (f64, f64) = (640.0, 320.0);
    const LEFT: f64 = 50.0;
    const BOTTOM: f64 = 40.0;
    const COLOURS: [Colour; 3] =
        [Colour(0x6A, 0x73, 0x7C), Colour(0xC2, 0x4A, 0x00), Colour(0x20, 0x40, 0x6B)];
    let mut picture = Picture::new(SIZE.0, SIZE.1);
    let most = lines.iter().flat_map(|l| l.1.iter().flatten()).copied().max().unwrap_or(1).max(1);
    let at = |order: usize, sheets: usize| {
        Point::new(
            LEFT + (SIZE.0 - LEFT - 20.0) * order as f64 / orders.max(1) as f64,
            SIZE.1 - BOTTOM - (SIZE.1 - BOTTOM - 50.0) * sheets as f64 / most as f64,
        )
    };
    let ink = Stroke::plain(Colour(0x23, 0x28, 0x2E), 1.0);
    picture.line(at(0, 0), at(orders, 0), ink);
    picture.line(at(0, 0), at(0, most), ink);
    let mut write = |at: Point<_>, text: String, anchor: Anchor, colour: Colour| {
        picture.text(Text { at, text, size: 11.0, bold: false, anchor, colour });
    };
    let grey = Colour(0x23, 0x28, 0x2E);
    let low = |p: Point<_>| Point::new(p.x, SIZE.1 - BOTTOM + 16.0);
    write(low(at(orders, 0)), format!("{orders} orders"), Anchor::End, grey);
    write(Point::new(8.0, at(0, most).y), format!("{most}"), Anchor::Start, grey);
    write(Point::new(8.0, 18.0), "sheets in the rack".into(), Anchor::Start, grey);
    for (n, (name, _)) in lines.iter().enumerate() {
        let at = Point::new(160.0 + 170.0 * n as f64, 18.0);
        write(at, (*name).to_owned(), Anchor::Start, COLOURS[n % COLOURS.len()]);
    }
    for (n, (_, seeds)) in lines.iter().enumerate() {
        for racks in seeds {
            let points = racks.iter().enumerate().map(|(i, sheets)| at(i + 1, *sheets));
            let pen = Stroke::plain(COLOURS[n % COLOURS.len()], 1.2);
            picture.shape(PagePath::polyline(points, false), None, Some(pen));
        }
    }
    picture
}
