//! What a calibration is asked with: every fault with its pointer, and codes found by name.

use plugwell_domain::calibration::{CalibrationRequest, Statement};
use plugwell_domain::fault::{Check, Fault};
use plugwell_domain::heat_scale::HeatScale;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{code, steps};

const ANCHOR: Uuid = Uuid::from_u128(1);
const OTHER: Uuid = Uuid::from_u128(2);

fn stored() -> Vec<HeatScale> {
    let at = chrono::DateTime::UNIX_EPOCH;
    let scale = |id, maker: &str| HeatScale {
        id,
        data: steps(maker, 4, true),
        calibrated_at: None,
        version: 1,
        created_at: at,
        updated_at: at,
    };
    vec![scale(ANCHOR, "Ferrowick"), scale(OTHER, "Tarnholt")]
}

fn statement(a: (Uuid, &str), b: (Uuid, &str)) -> Value {
    let side = |(scale, code): (Uuid, &str)| json!({ "scale_id": scale, "code": code });
    json!({ "a": side(a), "b": side(b) })
}

fn request(statements: Vec<Value>) -> CalibrationRequest {
    let body = json!({ "anchor_scale_id": ANCHOR, "statements": statements });
    serde_json::from_value(body).expect("a request")
}

fn told(faults: &[Fault]) -> Vec<(String, &'static str)> {
    let told = faults.iter().map(|f| (f.pointer.clone(), f.code.word()));
    told.collect()
}

#[test]
fn good_statements_pass_and_find_their_codes() {
    let mut asked = request(vec![
        statement((ANCHOR, "2"), (OTHER, "1")),
        statement((OTHER, "0"), (OTHER, "1")),
    ]);
    asked.statements[1].weight = Some(2.5);
    assert_eq!(asked.faults(), []);
    let named = asked.named(&stored()).expect("all codes");
    let expected = [
        Statement {
            a: code(0, 2),
            b: code(1, 1),
            weight: 1.0,
        },
        Statement {
            a: code(1, 0),
            b: code(1, 1),
            weight: 2.5,
        },
    ];
    assert_eq!((named.anchor, named.statements), (0, expected.to_vec()));
}

#[test]
fn every_fault_has_its_pointer() {
    let same = statement((ANCHOR, "2"), (ANCHOR, "2"));
    let first = statement((ANCHOR, "2"), (OTHER, "1"));
    let turned = statement((OTHER, "1"), (ANCHOR, "2"));
    let mut asked = request(vec![same, first, turned]);
    asked.statements[1].weight = Some(0.0);
    asked.statements[2].weight = Some(f64::NAN);
    asked.fingerprint = Some("0".repeat(64));
    let expected = [
        ("#/statements/0/b", "contradiction"),
        ("#/statements/1/weight", "out_of_range"),
        ("#/statements/2/weight", "out_of_range"),
        ("#/statements/2", "duplicate"),
        ("#/fingerprint", "not_together"),
    ];
    let expected: Vec<(String, &str)> = expected.map(|(p, c)| (p.to_owned(), c)).to_vec();
    assert_eq!(told(&asked.faults()), expected);
    let many = (0..5_001).map(|i| statement((ANCHOR, &i.to_string()), (OTHER, "1")));
    for wrong in [request(Vec::new()), request(many.collect())] {
        assert_eq!(
            told(&wrong.faults()),
            [("#/statements".to_owned(), "out_of_range")]
        );
    }
}

#[test]
fn scales_and_codes_that_there_are_not_are_all_named() {
    let nobody = Uuid::from_u128(9);
    let mut asked = request(vec![
        statement((nobody, "2"), (OTHER, "7")),
        statement((ANCHOR, "2"), (OTHER, "1")),
    ]);
    asked.anchor_scale_id = nobody;
    let faults = asked.named(&stored()).expect_err("faults");
    let expected = [
        ("#/anchor_scale_id", "not_found"),
        ("#/statements/0/a/scale_id", "not_found"),
        ("#/statements/0/b/code", "not_in_list"),
    ];
    let expected: Vec<(String, &str)> = expected.map(|(p, c)| (p.to_owned(), c)).to_vec();
    assert_eq!(told(&faults), expected);
}
