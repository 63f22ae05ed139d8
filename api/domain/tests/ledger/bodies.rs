//! The bodies of the commands: which faults each is told, all at once, and where they are.

use plugwell_domain::fault::Check;
use plugwell_domain::ledger::commands::{
    Issue, NewPlace, Receipt, Reserve, Return, Reversal, Scrapping, Transfer,
};
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

const ID: &str = "01890000-0000-7000-8000-000000000001";
const OTHER: &str = "01890000-0000-7000-8000-000000000002";

/// Pointer and code of every fault, sorted.
fn faults<T: Check + DeserializeOwned>(body: &Value) -> Vec<(String, &'static str)> {
    let read: T = serde_json::from_value(body.clone()).unwrap_or_else(|e| panic!("{body}: {e}"));
    let mut found: Vec<_> = read
        .faults()
        .into_iter()
        .map(|f| (f.pointer, f.code.word()))
        .collect();
    found.sort_unstable();
    found
}

/// A right body, members to be put over it, and the faults that they make.
type Case<'a> = (Value, &'a [(&'a str, &'a str)]);

fn put_to<T: Check + DeserializeOwned>(right: &Value, cases: &[Case<'_>]) {
    assert_eq!(faults::<T>(right), [], "{right}");
    for (over, want) in cases {
        let mut body = right.clone();
        for (name, value) in over.as_object().expect("members") {
            body[name] = value.clone();
        }
        let found = faults::<T>(&body);
        let found: Vec<_> = found.iter().map(|(p, c)| (p.as_str(), *c)).collect();
        assert_eq!(found, *want, "{over}");
    }
    let mut strange = right.clone();
    strange["qty"] = json!(1);
    assert!(
        serde_json::from_value::<T>(strange).is_err(),
        "an unknown member is refused"
    );
}

fn long(characters: usize) -> String {
    "ö".repeat(characters)
}

/// A right receipt, with everything that one may say but a gap.
fn receipt() -> Value {
    json!({
        "plug_id": ID, "supplier": "Brackwater Supply", "place_id": OTHER, "quantity": 40,
        "total_cost": {"minor": 12_900, "currency": "USD"}, "pack_size": 4,
        "condition": "sealed", "reference": "delivery note 12",
    })
}

#[test]
fn receipt_quantity_pack_and_cost() {
    put_to::<Receipt>(
        &receipt(),
        &[
            (json!({"quantity": 1}), &[]),
            (json!({"quantity": 1_000_000}), &[]),
            (json!({"quantity": 0}), &[("#/quantity", "out_of_range")]),
            (json!({"quantity": -8}), &[("#/quantity", "out_of_range")]),
            (
                json!({"quantity": 1_000_001}),
                &[("#/quantity", "out_of_range")],
            ),
            (json!({"total_cost": {"minor": 0, "currency": "USD"}}), &[]),
            (
                json!({"total_cost": {"minor": -1, "currency": "USD"}}),
                &[("#/total_cost/minor", "out_of_range")],
            ),
            (json!({"pack_size": 0}), &[("#/pack_size", "out_of_range")]),
            (
                json!({"pack_size": 10_001}),
                &[("#/pack_size", "out_of_range")],
            ),
        ],
    );
}

#[test]
fn receipt_gap_goes_with_gapped() {
    put_to::<Receipt>(
        &receipt(),
        &[
            (json!({"condition": null}), &[]),
            (json!({"condition": "gapped", "gap_mm": 0.81}), &[]),
            (json!({"condition": "gapped"}), &[("#/gap_mm", "missing")]),
            (
                json!({"condition": "gapped", "gap_mm": 0.1}),
                &[("#/gap_mm", "out_of_range")],
            ),
            (json!({"gap_mm": 0.81}), &[("#/gap_mm", "not_together")]),
            (
                json!({"condition": null, "gap_mm": 0.81}),
                &[("#/gap_mm", "not_together")],
            ),
        ],
    );
}

#[test]
fn receipt_texts() {
    put_to::<Receipt>(
        &receipt(),
        &[
            (json!({"supplier": "  "}), &[("#/supplier", "out_of_range")]),
            (json!({"supplier": long(80)}), &[]),
            (
                json!({"supplier": long(81)}),
                &[("#/supplier", "out_of_range")],
            ),
            (
                json!({"supplier": "two\nlines"}),
                &[("#/supplier", "wrong_form")],
            ),
            (json!({"reference": "two\nlines"}), &[]),
            (
                json!({"reference": "a\u{7}bell"}),
                &[("#/reference", "wrong_form")],
            ),
            (
                json!({"reference": long(501)}),
                &[("#/reference", "out_of_range")],
            ),
        ],
    );
}

#[test]
fn receipt_faults_all_at_once() {
    put_to::<Receipt>(
        &receipt(),
        &[(
            json!({"quantity": 0, "supplier": "", "pack_size": 0, "gap_mm": 0.8, "total_cost": {"minor": -1, "currency": "USD"}}),
            &[
                ("#/gap_mm", "not_together"),
                ("#/pack_size", "out_of_range"),
                ("#/quantity", "out_of_range"),
                ("#/supplier", "out_of_range"),
                ("#/total_cost/minor", "out_of_range"),
            ],
        )],
    );
}

#[test]
fn issue() {
    let right = json!({"plug_id": ID, "quantity": 8, "job": "J-17"});
    put_to::<Issue>(
        &right,
        &[
            (
                json!({"lot_id": ID, "place_id": OTHER, "build_id": ID, "odometer_km": 120_400, "gap_mm": 0.81}),
                &[],
            ),
            (json!({"job": null, "reservation_id": OTHER}), &[]),
            (json!({"job": null}), &[("#/job", "missing")]),
            (json!({"job": " "}), &[("#/job", "out_of_range")]),
            (json!({"job": "J\t17"}), &[("#/job", "wrong_form")]),
            (
                json!({"odometer_km": 120_400}),
                &[("#/odometer_km", "not_together")],
            ),
            (
                json!({"odometer_km": 120_400, "reservation_id": OTHER}),
                &[],
            ),
            (
                json!({"odometer_km": -1}),
                &[("#/odometer_km", "out_of_range")],
            ),
            (
                json!({"odometer_km": 10_000_001}),
                &[("#/odometer_km", "out_of_range")],
            ),
            (json!({"gap_mm": 2.6}), &[("#/gap_mm", "out_of_range")]),
            (
                json!({"quantity": 0, "job": null, "gap_mm": 0.1999}),
                &[
                    ("#/gap_mm", "out_of_range"),
                    ("#/job", "missing"),
                    ("#/quantity", "out_of_range"),
                ],
            ),
        ],
    );
}

#[test]
fn giving_back() {
    let right = json!({"movement_id": ID, "quantity": 2, "place_id": OTHER, "condition": "sealed"});
    put_to::<Return>(
        &right,
        &[
            (json!({"condition": "gapped", "gap_mm": 0.81}), &[]),
            // That of the lot, or the one that was set at issue.
            (json!({"condition": "gapped"}), &[]),
            (json!({"gap_mm": 0.81}), &[("#/gap_mm", "not_together")]),
            (json!({"place_id": null}), &[("#/place_id", "missing")]),
            (
                json!({"condition": "gapped", "place_id": null}),
                &[("#/place_id", "missing")],
            ),
            (json!({"condition": "fitted", "place_id": null}), &[]),
            (json!({"condition": "handled", "place_id": null}), &[]),
            (json!({"condition": "dropped"}), &[]),
            (
                json!({"condition": "dropped", "gap_mm": 0.81}),
                &[("#/gap_mm", "not_together")],
            ),
            (json!({"quantity": 0}), &[("#/quantity", "out_of_range")]),
        ],
    );
}

#[test]
fn transfer_reversal_and_reservation() {
    let right = json!({"lot_id": ID, "from_place_id": ID, "to_place_id": OTHER, "quantity": 2});
    put_to::<Transfer>(
        &right,
        &[
            (
                json!({"to_place_id": ID}),
                &[("#/to_place_id", "contradiction")],
            ),
            (
                json!({"to_place_id": ID, "quantity": 0}),
                &[
                    ("#/quantity", "out_of_range"),
                    ("#/to_place_id", "contradiction"),
                ],
            ),
        ],
    );
    let right = json!({"movement_id": ID, "reason": "wrong scan"});
    put_to::<Reversal>(
        &right,
        &[
            (json!({"reason": ""}), &[("#/reason", "out_of_range")]),
            (json!({"reason": " \n "}), &[("#/reason", "out_of_range")]),
            (
                json!({"reason": long(501)}),
                &[("#/reason", "out_of_range")],
            ),
        ],
    );
    let right =
        json!({"plug_id": ID, "quantity": 9, "job": "J-17", "expires_at": "2031-05-01T00:00:00Z"});
    put_to::<Reserve>(
        &right,
        &[
            (json!({"expires_at": null}), &[]),
            (
                json!({"job": "", "quantity": 0}),
                &[("#/job", "out_of_range"), ("#/quantity", "out_of_range")],
            ),
        ],
    );
}

#[test]
fn scrapping() {
    let right = json!({"plug_id": ID, "place_id": OTHER, "quantity": 2, "reason": "dropped", "note": "off the bench"});
    put_to::<Scrapping>(
        &right,
        &[
            (json!({"plug_id": null, "lot_id": ID}), &[]),
            (json!({"place_id": null, "job": "J-17"}), &[]),
            (json!({"lot_id": ID}), &[("#/lot_id", "not_together")]),
            (json!({"job": "J-17"}), &[("#/place_id", "not_together")]),
            (
                json!({"plug_id": null, "place_id": null}),
                &[("#/lot_id", "missing"), ("#/place_id", "missing")],
            ),
            (json!({"note": long(501)}), &[("#/note", "out_of_range")]),
            (json!({"dropped_by": "Odile"}), &[]),
            (
                json!({"dropped_by": " "}),
                &[("#/dropped_by", "out_of_range")],
            ),
            (
                json!({"dropped_by": "Odile", "reason": "bent_strap"}),
                &[("#/dropped_by", "not_together")],
            ),
            (
                json!({"place_id": null, "job": ""}),
                &[("#/job", "out_of_range")],
            ),
        ],
    );
}

#[test]
fn a_place() {
    let right = json!({"kind": "bin", "name": "A1"});
    put_to::<NewPlace>(
        &right,
        &[
            (json!({"kind": "quarantine"}), &[]),
            (json!({"kind": "scrap"}), &[("#/kind", "not_in_list")]),
            (
                json!({"kind": "difference", "name": " "}),
                &[("#/kind", "not_in_list"), ("#/name", "out_of_range")],
            ),
            (json!({"name": "A\n1"}), &[("#/name", "wrong_form")]),
        ],
    );
}
