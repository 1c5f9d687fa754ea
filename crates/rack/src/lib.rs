//! The rack: a shop file that remembers every sheet, what was cut from it and what is left.
//!
//! [`Shop`] is the open file. Read [`facts`] and [`outline`] (what is known of a sheet), then
//! `schema.rs` (how it is kept: history only grows), `shop.rs` (the one way to change it),
//! [`sheets`], [`history`], [`record`] (a cut, and what is left), [`bars`] (another kind of stock) and [`verify`] (the whole file,
//! looked through).

pub mod backup;
pub mod bars;
pub mod crop;
mod custody;
pub mod drawings;
pub mod exchange;
pub mod facts;
mod fault;
pub mod fillers;
pub mod find;
pub mod history;
mod label;
mod learnt;
mod merge;
pub mod orders;
pub mod outline;
pub mod pictures;
pub mod record;
mod schema;
pub mod sheets;
mod shop;
pub mod stock_take;
pub mod values;
pub mod verify;
pub mod when;

pub use fault::ShopFault;
pub use shop::{NewShop, Shop};
