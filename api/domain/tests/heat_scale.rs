//! A maker's heat codes: strictly along the index in one direction, each code once.

use plugwell_domain::decimal::HeatIndex;
use plugwell_domain::fault::Check;
use plugwell_domain::heat_scale::{CODES_MAX, HeatCode, HeatScaleData};
use serde_json::json;

fn scale(codes: &[(&str, f64)]) -> HeatScaleData {
    let code = |(code, index): &(&str, f64)| HeatCode {
        code: (*code).to_owned(),
        heat_index: HeatIndex::exact(*index).expect("an index of one place"),
    };
    HeatScaleData {
        maker: "Ferrowick".to_owned(),
        name: "street".to_owned(),
        codes: codes.iter().map(code).collect(),
    }
}

fn faults(scale: &HeatScaleData) -> Vec<(String, &'static str)> {
    scale
        .faults()
        .into_iter()
        .map(|f| (f.pointer, f.code.word()))
        .collect()
}

/// The faults that are found in codes with these indices.
#[track_caller]
fn assert_faults(codes: &[(&str, f64)], want: &[(&str, &str)]) {
    let found = faults(&scale(codes));
    let found: Vec<_> = found.iter().map(|(p, c)| (p.as_str(), *c)).collect();
    assert_eq!(found, want, "{codes:?}");
}

#[test]
fn the_index_rises_or_falls_strictly_along_the_codes() {
    assert_faults(&[("5", 40.0), ("6", 50.0), ("7", 60.0)], &[]);
    assert_faults(&[("20", 60.0), ("17", 50.0), ("14", 40.0)], &[]);
    assert_faults(&[("A", 49.9), ("B", 50.0)], &[]);
    assert_faults(&[("only", 50.0)], &[]);
    let [second, third]: [&[_]; 2] = [
        &[("#/codes/1/heat_index", "contradiction")],
        &[("#/codes/2/heat_index", "contradiction")],
    ];
    // A tie, at the start, in the middle, all along.
    assert_faults(&[("5", 50.0), ("6", 50.0)], second);
    assert_faults(&[("5", 40.0), ("6", 50.0), ("7", 50.0)], third);
    assert_faults(&[("5", 60.0), ("6", 60.0), ("7", 50.0)], second);
    // A turn.
    assert_faults(&[("5", 40.0), ("6", 60.0), ("7", 50.0), ("8", 70.0)], third);
    assert_faults(&[("5", 70.0), ("6", 50.0), ("7", 60.0), ("8", 40.0)], third);
    assert_faults(&[("5", 50.0), ("6", 60.0), ("7", 50.0)], second);
}

#[test]
fn an_index_lies_in_its_bounds() {
    assert_faults(&[("5", 0.0), ("6", 200.0)], &[]);
    assert_faults(
        &[("5", -0.1), ("6", 50.0)],
        &[("#/codes/0/heat_index", "out_of_range")],
    );
    assert_faults(
        &[("5", 50.0), ("6", 200.1)],
        &[("#/codes/1/heat_index", "out_of_range")],
    );
}

#[test]
fn a_code_stands_once_and_is_compared_as_printed() {
    assert_faults(
        &[("5", 40.0), ("6", 50.0), ("5", 60.0)],
        &[("#/codes/2/code", "duplicate")],
    );
    assert_faults(
        &[("6", 40.0), ("06", 50.0), ("6a", 60.0), ("6A", 70.0)],
        &[],
    );
}

#[test]
fn a_scale_has_codes_and_each_a_form() {
    assert_faults(
        &[("5 ", 40.0), (" 6", 50.0)],
        &[
            ("#/codes/0/code", "wrong_form"),
            ("#/codes/1/code", "wrong_form"),
        ],
    );
    assert_faults(
        &[("", 40.0), ("6\n", 50.0)],
        &[
            ("#/codes/0/code", "out_of_range"),
            ("#/codes/1/code", "wrong_form"),
        ],
    );
    assert_faults(&[], &[("#/codes", "out_of_range")]);
}

#[test]
fn all_faults_are_told_at_once() {
    let mut data = scale(&[("5", 40.0), ("5", 201.0), ("7", 60.0), ("8", 70.0)]);
    data.maker = " ".to_owned();
    data.name = "x".repeat(81);
    let mut found = faults(&data);
    found.sort_unstable();
    let want = [
        ("#/codes/1/code", "duplicate"),
        ("#/codes/1/heat_index", "out_of_range"),
        ("#/codes/2/heat_index", "contradiction"),
        ("#/maker", "out_of_range"),
        ("#/name", "out_of_range"),
    ];
    assert_eq!(
        found
            .iter()
            .map(|(p, c)| (p.as_str(), *c))
            .collect::<Vec<_>>(),
        want
    );
}

#[test]
fn a_scale_has_no_more_than_two_hundred_codes() {
    let codes: Vec<(String, f64)> = (0..=CODES_MAX)
        .map(|n| (n.to_string(), n as f64 / 2.0))
        .collect();
    let codes: Vec<(&str, f64)> = codes
        .iter()
        .map(|(code, index)| (code.as_str(), *index))
        .collect();
    assert_eq!(CODES_MAX, 200);
    assert_eq!(faults(&scale(&codes[..CODES_MAX])), []);
    assert_eq!(
        faults(&scale(&codes)),
        [("#/codes".to_owned(), "out_of_range")]
    );
}

#[test]
fn a_code_is_looked_up_as_printed() {
    let scale = scale(&[("20", 60.0), ("17", 50.5)]);
    assert_eq!(scale.index_of("17"), HeatIndex::exact(50.5).ok());
    for missing in ["17 ", "1", "", "20a"] {
        assert_eq!(scale.index_of(missing), None, "{missing:?}");
    }
}

#[test]
fn the_wire_keeps_the_makers_order_and_refuses_the_strange() {
    let body = json!({"maker": "Ferrowick", "name": "street", "codes": [
        {"code": "20", "heat_index": 60.0}, {"code": "17", "heat_index": 50.5},
    ]});
    let read: HeatScaleData = serde_json::from_value(body.clone()).expect("a right scale");
    assert_eq!(read, scale(&[("20", 60.0), ("17", 50.5)]));
    assert_eq!(serde_json::to_value(&read).expect("JSON"), body);
    for (name, value) in [
        ("codes", json!([{"code": "20", "heat_index": 60.05}])),
        ("colour", json!("red")),
    ] {
        let mut strange = body.clone();
        strange[name] = value;
        assert!(
            serde_json::from_value::<HeatScaleData>(strange).is_err(),
            "{name}"
        );
    }
}
