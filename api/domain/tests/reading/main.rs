//! Readings: what counts as evidence, what each sign suggests, what signs do against each other.
//! Every expectation is common practice, no source.

#[path = "../engine/mod.rs"]
mod engine;

mod bodies;
mod evidence;
mod heat;
mod property;
mod signs;

use plugwell_domain::decimal::Decimal;
use plugwell_domain::ledger::Condition;
use plugwell_domain::policy::Policy;
use plugwell_domain::reading::{History, Judgement, Reading, judge};
use serde_json::{Value, json};
use uuid::Uuid;

/// A fresh plug out of a sealed lot, two steps colder than the hottest that the build takes.
const FRESH: History = History {
    issued: true,
    condition: Some(Condition::Sealed),
    all_read: false,
    unfit: Vec::new(),
    heat: Some(Decimal(900)),
    heat_min: Some(Decimal(700)),
};

/// A right reading with these members; without any, nothing was seen.
fn reading(members: Value) -> Reading {
    let mut body = json!({
        "build_id": Uuid::nil(), "movement_id": Uuid::nil(), "run": 1, "cylinder": 1,
        "full_load": true, "clean_shut_off": true
    });
    body.as_object_mut()
        .unwrap()
        .extend(members.as_object().unwrap().clone());
    serde_json::from_value(body).unwrap()
}

fn judged(reading: &Reading, history: History) -> Judgement {
    judge(reading, &history, &Policy::default().values)
}

fn codes(judgement: &Judgement) -> Vec<&str> {
    judgement
        .suggestions
        .iter()
        .map(|s| s.code.word())
        .collect()
}
