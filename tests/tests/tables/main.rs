//! What goes in and out of the shop as a table or on a label: imports and exports of every kind, and
//! labels that an independent reader reads back.

mod exports;
mod labels;
mod large;
mod reader;
mod received_before;
mod round_trip;
mod scales;
mod statements;
mod stock;
mod trials;

use plugwell_tests::call::key;
use plugwell_tests::{Answer, Shop, Who};

/// Sends a table.
#[track_caller]
pub fn import(shop: &Shop, kind: &str, csv: &str) -> Answer {
    import_with(shop, kind, &key(), csv)
}

/// Sends a table under a once-only key.
#[track_caller]
pub fn import_with(shop: &Shop, kind: &str, key: &str, csv: &str) -> Answer {
    let headers = [("content-type", "text/csv"), ("idempotency-key", key)];
    shop.send(
        "POST",
        &format!("/v1/imports/{kind}"),
        Who::Clerk,
        &headers,
        csv,
    )
}

/// Asks what a table would do.
#[track_caller]
pub fn attempt(shop: &Shop, kind: &str, csv: &str) -> Answer {
    let path = format!("/v1/imports/{kind}?dry_run=true");
    shop.send(
        "POST",
        &path,
        Who::Clerk,
        &[("content-type", "text/csv")],
        csv,
    )
}

/// A table of the shop.
#[track_caller]
pub fn export(shop: &Shop, kind: &str) -> String {
    let answer = shop
        .get(Who::Reader, &format!("/v1/exports/{kind}"))
        .expect(200);
    String::from_utf8(answer.body).expect("UTF-8")
}

/// The numbers of a report: rows, created, updated, unchanged.
#[track_caller]
pub fn numbers(answer: &Answer) -> [u64; 4] {
    ["rows", "created", "updated", "unchanged"].map(|member| {
        answer.json[member]
            .as_u64()
            .unwrap_or_else(|| panic!("no {member} in {answer:?}"))
    })
}

/// The faults of a table as `row column code`, sorted.
#[track_caller]
pub fn told(answer: Answer) -> Vec<String> {
    let answer = answer.problem(400, "invalid");
    let errors = answer.json["errors"].as_array().expect("faults");
    assert_eq!(
        answer.json["error_count"].as_u64(),
        Some(errors.len() as u64)
    );
    let word = |fault: &serde_json::Value, member: &str| {
        fault[member].as_str().expect("a text").to_owned()
    };
    let mut faults: Vec<String> = errors
        .iter()
        .map(|f| format!("{} {} {}", f["row"], word(f, "column"), word(f, "code")))
        .collect();
    faults.sort();
    faults
}
