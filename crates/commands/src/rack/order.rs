//! `oddment rack order`: what is wanted, and what of it was made.

use clap::Args;
use oddment_rack::orders::{Order, OrderLine};
use serde::Serialize;

use super::args::ShopArg;
use super::{about, open};
use crate::Outcome;
use crate::args::JsonArg;
use crate::console::Console;
use crate::refusal::Refusal;

/// Keep an order: its parts, and whether it asks for a certificate. Recorded cuts count toward it.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    oddment rack order \"order 212\" --line gusset=4 --line tab=12 --certificate yes\n  \
    oddment rack order \"order 212\"\n  oddment rack order\n\n\
    Exit code 1: there is no such order, or something of those told is still to be made.")]
pub(crate) struct OrderArgs {
    /// Its name; all orders if not given.
    #[arg(value_name = "ORDER")]
    name: Option<String>,
    /// A part and how many are wanted; takes the place of what was wanted of it before, 0 strikes it out.
    #[arg(long, value_name = "PART=COUNT", value_parser = line, requires = "name")]
    line: Vec<(String, usize)>,
    /// Whether its parts may only come from sheets with a certificate and a heat number.
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no, requires = "name")]
    certificate: Option<bool>,
    #[command(flatten)]
    shop: ShopArg,
    #[command(flatten)]
    json: JsonArg,
}

#[derive(Serialize)]
struct OrdersSaid {
    orders: Vec<OrderSaid>,
}

#[derive(Serialize)]
struct OrderSaid {
    order: String,
    certificate: bool,
    lines: Vec<LineSaid>,
}

#[derive(Serialize)]
struct LineSaid {
    part: String,
    wanted: usize,
    made: usize,
    left: usize,
}

pub(super) fn run(args: &OrderArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let mut shop = open(&args.shop, console)?;
    let wrong = about(&shop);
    if let (Some(name), true) = (&args.name, !args.line.is_empty() || args.certificate.is_some()) {
        let change =
            |known: Option<Order>| changed(known.unwrap_or_else(|| Order::named(name)), args);
        shop.change_order(name, change).map_err(&wrong)?;
    }
    let mut orders = shop.orders().map_err(&wrong)?;
    if let Some(name) = &args.name {
        orders.retain(|o| o.name.eq_ignore_ascii_case(name.trim()));
    }
    let mut said = Vec::new();
    for order in orders {
        let lines = shop.order_lines(&order).map_err(&wrong)?;
        let asks = if order.certificate { ", with certificate" } else { "" };
        console.say(format_args!("{}{asks}", order.name));
        for line in &lines {
            console.say(format_args!("  {}: {} of {} made", line.part, line.made, line.wanted));
        }
        let lines = lines.into_iter().map(LineSaid::from).collect();
        said.push(OrderSaid { order: order.name, certificate: order.certificate, lines });
    }
    if said.is_empty() {
        console.say("There is no such order.");
    }
    let done = !said.is_empty() && said.iter().flat_map(|o| &o.lines).all(|line| line.left == 0);
    console.json(args.json.wanted, &OrdersSaid { orders: said })?;
    Ok(Outcome::of(done))
}

fn changed(mut order: Order, args: &OrderArgs) -> Order {
    for (part, wanted) in &args.line {
        match order.lines.iter_mut().find(|(known, _)| known == part) {
            Some(line) => line.1 = *wanted,
            None => order.lines.push((part.clone(), *wanted)),
        }
    }
    order.lines.retain(|(_, wanted)| *wanted > 0);
    order.certificate = args.certificate.unwrap_or(order.certificate);
    order
}

impl From<OrderLine> for LineSaid {
    fn from(line: OrderLine) -> Self {
        let left = line.left();
        Self { part: line.part, wanted: line.wanted, made: line.made, left }
    }
}

fn line(text: &str) -> Result<(String, usize), String> {
    let read = text.rsplit_once('=').and_then(|(part, count)| {
        let count: usize = count.trim().parse().ok().filter(|n| *n <= 1_000_000)?;
        (!part.trim().is_empty()).then(|| (part.trim().to_owned(), count))
    });
    read.ok_or_else(|| format!("“{text}” is no line of an order; write for example gusset=4"))
}

fn yes_or_no(text: &str) -> Result<bool, String> {
    match text {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err(format!("“{text}” is neither yes nor no")),
    }
}
