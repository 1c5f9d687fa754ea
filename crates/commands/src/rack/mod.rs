//! `oddment rack`: the shop file, without a window. Its contract is RACK.md beside this crate.

mod add;
pub(crate) mod args;
mod bars;
mod correct;
mod cut;
mod exchange;
mod filler;
mod find;
mod keep;
mod label;
mod list;
mod order;
mod picture;
mod said;
mod stocktake;

use oddment_app::keep::Keep;
use oddment_app::rack::{NoShop, open_shop};
use oddment_rack::{Shop, ShopFault};

use crate::Outcome;
use crate::console::Console;
use crate::refusal::Refusal;

use args::{RackCommand, ShopArg};

pub(crate) fn run(command: &RackCommand, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    match command {
        RackCommand::New(args) => add::new(args, console),
        RackCommand::Add(args) => add::add(args, console),
        RackCommand::List(args) => list::list(args, console),
        RackCommand::Show(args) => list::show(args, console),
        RackCommand::Find(args) => find::run(args, console),
        RackCommand::Hold(args) => keep::hold(args, console),
        RackCommand::Record(args) => cut::record(args, console),
        RackCommand::Order(args) => order::run(args, console),
        RackCommand::Correct(args) => correct::run(args, console),
        RackCommand::Picture(args) => picture::run(args, console),
        RackCommand::Filler(args) => filler::run(args, console),
        RackCommand::Undo(args) => cut::undo(args, console),
        RackCommand::Profile(args) => bars::profile(args, console),
        RackCommand::Label(args) => label::run(args, console),
        RackCommand::Stocktake(args) => stocktake::run(args, console),
        RackCommand::Export(args) => exchange::export(args, console),
        RackCommand::Import(args) => exchange::import(args, console),
        RackCommand::Check(args) => keep::check(args, console),
        RackCommand::Restore(args) => keep::restore(args, console),
    }
}

/// Opens the shop file meant, and tells what there is to say of it.
pub(crate) fn open(arg: &ShopArg, console: &mut Console<'_>) -> Result<Shop, Refusal> {
    let keep = kept(console)?;
    let shop = open_shop(&keep, arg.shop.as_deref()).map_err(no_shop)?;
    for notice in shop.notices() {
        console.say(notice);
    }
    if let Some(why) = shop.closed() {
        console.say(format_args!("{}: {why}", shop.path().display()));
    }
    Ok(shop)
}

/// That there is no open shop file.
fn no_shop(NoShop { path, fault }: NoShop) -> Refusal {
    Refusal::about(path.display(), fault)
}

fn kept(console: &Console<'_>) -> Result<Keep, Refusal> {
    console.keep.clone().ok_or_else(|| {
        Refusal::about("--shop", "the system has no folder for your files; name a shop file")
    })
}

/// A fault of the open shop.
pub(crate) fn about(shop: &Shop) -> impl Fn(ShopFault) -> Refusal + use<> {
    let name = shop.path().display().to_string();
    move |fault| Refusal::about(&name, fault)
}
