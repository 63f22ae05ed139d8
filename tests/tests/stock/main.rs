//! The stock over HTTP: every command's answer, every list, every rejection in its order.

mod beware;
mod count_faults;
mod count_outcomes;
mod count_reports;
mod counter;
mod counts;
mod counts_at_once;
mod due;
mod expiring;
mod fitted;
mod gapped;
mod issues;
mod lists;
mod picking;
mod places;
mod receipts;
mod rejections;
mod reservations;
mod returns;
mod reversals;
mod scrap;
mod short;
mod transfers;
mod value;
