//! The stock over HTTP: every command's answer, every list, every rejection in its order.

mod counter;
mod gapped;
mod issues;
mod lists;
mod places;
mod receipts;
mod rejections;
mod reservations;
mod returns;
mod reversals;
mod scrap;
mod transfers;
mod value;
