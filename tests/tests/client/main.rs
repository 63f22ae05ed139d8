//! The typed client at a running shop: what it sends is understood, what comes back is read.

mod counting;
mod covered;
mod job;
mod lists;
mod ordering;
mod others;
mod questions;
mod records;
mod tables;
mod waiting;

use plugwell_client::{Length, Plug, PlugData, Seat, Thread, Versioned, Word};
use plugwell_tests::bodies::unique;
use plugwell_tests::{Shop, Who, wait};
use uuid::Uuid;

/// A length.
fn mm(value: f64) -> Length {
    Length::exact(value).expect("no finer than is kept")
}

/// What is known of a part that fits [`plugwell_tests::bodies::build`].
fn part() -> PlugData {
    PlugData {
        thread: Some(Word::Known(Thread::M14x125)),
        reach_mm: Some(mm(19.0)),
        seat: Some(Word::Known(Seat::Gasket)),
        hex_mm: Some(mm(16.0)),
        heat_index: plugwell_client::HeatIndex::exact(70.0).ok(),
        projection_mm: Some(mm(3.0)),
        strap_extent_mm: Some(mm(5.5)),
        resistor: Some(true),
        resistance_ohm: Some(5000.0),
        gap_preset_mm: Some(mm(0.8)),
        gap_min_mm: Some(mm(0.6)),
        gap_max_mm: Some(mm(1.1)),
        pack_size: Some(4),
        ..PlugData::named("Ferrowick", &unique("CL"))
    }
}

/// A part of its own in the catalogue.
fn stored(shop: &Shop) -> Versioned<Plug> {
    wait(shop.typed(Who::Clerk).store(&part())).expect("a part")
}

/// A bin of its own.
fn bin(shop: &Shop) -> Uuid {
    let id = plugwell_tests::bodies::bin(shop, &unique("Bin"));
    Uuid::parse_str(&id).expect("an id")
}
