//! What is equal to a part: by its attributes and by what statements say; parts that the catalogue
//! lacks; statements; what took the place of what.

mod by_attributes;
mod by_statements;
mod names;
mod shapes;
mod stand_ins;
mod supersession;

use plugwell_tests::bodies::{plug, stored_plug, with};
use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::{Value, json};

/// A new shop on each engine.
fn shops() -> impl Iterator<Item = Shop> {
    engines().into_iter().map(Shop::start)
}

/// Stores a Ferrowick part with some members changed; its id.
#[track_caller]
fn part(shop: &Shop, number: &str, changes: Value) -> String {
    stored_plug(shop, &with(plug(number), changes))
}

/// Asks for the equivalents of a part; `query` begins with `?`, or is empty.
#[track_caller]
fn ask(shop: &Shop, id: &str, query: &str) -> Answer {
    shop.get(Who::Reader, &format!("/v1/plugs/{id}/equivalents{query}"))
}

#[track_caller]
fn equivalents(shop: &Shop, id: &str, query: &str) -> Value {
    ask(shop, id, query).expect(200).json
}

/// The part numbers in a list of parts.
#[track_caller]
fn numbers(list: &Value) -> Vec<&str> {
    let items = list.as_array().unwrap_or_else(|| panic!("no list: {list}"));
    let number = |item| Value::pointer(item, "/plug/part_number").and_then(Value::as_str);
    let numbers: Vec<&str> = items.iter().filter_map(number).collect();
    assert_eq!(numbers.len(), items.len(), "{list}");
    numbers
}

/// The part of this number in a list.
#[track_caller]
fn item<'a>(list: &'a Value, number: &str) -> &'a Value {
    let mut items = list.as_array().unwrap().iter();
    items
        .find(|item| item["plug"]["part_number"] == number)
        .unwrap_or_else(|| panic!("no {number} in {list}"))
}

/// A part by its name.
fn name(number: &str) -> Value {
    json!({ "maker": "Ferrowick", "part_number": number })
}

/// Somebody's statement that one Ferrowick part stands in for another.
fn statement(part: &str, other: &str, direction: &str, who: &str) -> Value {
    json!({
        "part": name(part), "stands_in_for": name(other), "direction": direction, "who": who,
        "source": "bench notes", "note": null
    })
}

/// Stores it; its id.
#[track_caller]
fn state(shop: &Shop, body: &Value) -> String {
    shop.post(Who::Clerk, "/v1/stand-ins", body)
        .expect(201)
        .text("id")
}
