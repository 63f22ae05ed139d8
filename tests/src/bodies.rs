//! Bodies of requests: invented parts, heads, builds, scales, places and movements. Each is whole
//! and right; a test changes what it is about.

use std::sync::atomic::{AtomicU64, Ordering};

use plugwell_client::NewPlace;
use serde_json::{Value, json};

use crate::call::Who;
use crate::shop::Shop;
use crate::typed::wait;

/// A name that no other test of this process uses.
pub fn unique(stem: &str) -> String {
    static NUMBER: AtomicU64 = AtomicU64::new(1);
    format!("{stem}-{}", NUMBER.fetch_add(1, Ordering::Relaxed))
}

/// A GTIN-13 of the range that GS1 keeps for use inside a shop (it begins with 2), with its check
/// digit: weights 3 and 1 in turn from the right (GS1 General Specifications, check digit calculation).
///
/// # Panics
/// Where the number has more than eleven digits.
pub fn gtin(number: u64) -> String {
    let digits = format!("2{number:011}");
    assert_eq!(digits.len(), 12, "{number} is too long");
    let weighed = digits.bytes().rev().enumerate().map(|(place, digit)| {
        let weight = if place % 2 == 0 { 3 } else { 1 };
        u32::from(digit - b'0') * weight
    });
    format!("{digits}{}", (10 - weighed.sum::<u32>() % 10) % 10)
}

/// The body with these members put over it; `null` stays as `null`.
///
/// # Panics
/// Where either is no object.
pub fn with(mut body: Value, over: Value) -> Value {
    let (Some(own), Value::Object(over)) = (body.as_object_mut(), over) else {
        panic!("two objects")
    };
    own.extend(over);
    body
}

/// The body without these members.
///
/// # Panics
/// Where it is no object.
pub fn without(mut body: Value, members: &[&str]) -> Value {
    let own = body.as_object_mut().expect("an object");
    own.retain(|name, _| !members.contains(&name.as_str()));
    body
}

/// A plug of which everything that a fit asks for is known. It fits [`build`].
pub fn plug(part_number: &str) -> Value {
    json!({
        "maker": "Ferrowick", "part_number": part_number, "description": "invented for a test",
        "thread": "M14x1.25", "reach_mm": 19.0, "seat": "gasket", "hex_mm": 16.0, "hex_kind": "hex",
        "heat_index": 70, "projection_mm": 3.0, "strap_extent_mm": 5.5, "resistor": true,
        "resistance_ohm": 5000, "electrode": "iridium", "ground": "single_strap",
        "gap_preset_mm": 0.8, "gap_min_mm": 0.6, "gap_max_mm": 1.1, "terminal": "solid_nut",
        "service_life_km": 100_000, "pack_size": 4
    })
}

/// A cylinder head.
pub fn head() -> Value {
    json!({
        "name": "Cormorant 54", "thread": "M14x1.25", "reach_mm": 19.0, "reach_tolerance_mm": 0.3,
        "seat": "gasket", "hex_max_mm": 16.0, "projection_min_mm": 2.0, "projection_max_mm": 4.0,
        "heat_index": 50, "material": "aluminium", "tight_gap": false
    })
}

/// A supercharged street engine over [`head`], everything about it known.
pub fn build() -> Value {
    json!({
        "name": "Heron, blown", "head": head(), "cylinders": 8, "plugs_per_cylinder": 1,
        "induction": "supercharged", "use": "street", "base_power_kw": 320, "power_kw": 500,
        "base_boost_kpa": 0, "boost_kpa": 62, "displacement_cc": 5400, "compression_ratio": 9.5,
        "stroke_mm": 92, "rod_mm": 150, "intake_close_deg_abdc": 50, "spark_advance_deg": 20,
        "charge_temp_c": 55, "altitude_m": 0, "fuel": "pump_petrol",
        "electronics": ["fuel_injection", "radio", "data_logger"], "coil_kv": 34
    })
}

/// A maker's heat numbers, the cold end first, one step of the heat index to the number.
pub fn heat_scale(maker: &str, name: &str) -> Value {
    let codes: Vec<Value> = (0..6)
        .map(|step| json!({ "code": (9 - step).to_string(), "heat_index": 90 - 10 * step }))
        .collect();
    json!({ "maker": maker, "name": name, "codes": codes })
}

/// Stores a plug; its id.
///
/// # Panics
/// Where it is refused.
#[track_caller]
pub fn stored_plug(shop: &Shop, body: &Value) -> String {
    shop.post(Who::Clerk, "/v1/plugs", body)
        .expect(201)
        .text("id")
}

/// Makes a bin; its id.
///
/// # Panics
/// Where it is refused.
#[track_caller]
pub fn bin(shop: &Shop, name: &str) -> String {
    place(shop, "bin", name)
}

/// Makes a place of a kind; its id.
///
/// # Panics
/// Where it is refused.
#[track_caller]
pub fn place(shop: &Shop, kind: &str, name: &str) -> String {
    let kind = kind.parse().expect("a kind of place");
    let name = name.to_owned();
    let made = wait(shop.typed(Who::Clerk).store(&NewPlace { kind, name }));
    made.expect("a place").record.id.to_string()
}

/// A receipt of sealed plugs.
pub fn receipt(plug_id: &str, place_id: &str, quantity: i64) -> Value {
    json!({
        "plug_id": plug_id, "supplier": "Quayside Parts", "place_id": place_id, "quantity": quantity,
        "total_cost": { "minor": 900 * quantity, "currency": "USD" }, "pack_size": 4,
        "condition": "sealed", "reference": "note 17"
    })
}

/// An issue to a job.
pub fn issue(plug_id: &str, job: &str, quantity: i64) -> Value {
    json!({ "plug_id": plug_id, "job": job, "quantity": quantity })
}

/// Receives sealed plugs into a bin; the movement.
///
/// # Panics
/// Where it is refused.
#[track_caller]
pub fn receive(shop: &Shop, plug_id: &str, place_id: &str, quantity: i64) -> Value {
    let answer = shop
        .once(
            Who::Clerk,
            "/v1/stock/receipts",
            &receipt(plug_id, place_id, quantity),
        )
        .expect(201);
    answer.json["movements"][0].clone()
}

/// What a match of one part says of its stock: `(available, on_hand)`.
///
/// # Panics
/// Where the part is not among its own fits.
#[track_caller]
pub fn stock_of(shop: &Shop, plug_id: &str) -> (i64, i64) {
    let body = json!({ "plug_id": plug_id, "stock": "ignore", "limit": 200 });
    let answer = shop.post(Who::Reader, "/v1/matches", &body).expect(200);
    let fits = answer.json["fits"].as_array().into_iter().flatten();
    let own = fits
        .into_iter()
        .find(|fit| fit["plug"]["id"] == plug_id)
        .unwrap_or_else(|| panic!("no fit in {answer:?}"));
    let number = |member: &str| {
        own[member]
            .as_i64()
            .unwrap_or_else(|| panic!("no {member} in {own}"))
    };
    (number("available"), number("on_hand"))
}
