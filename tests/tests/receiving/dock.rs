//! A loading dock for a test: parts, a bin and orders of its own.

use plugwell_tests::bodies::{bin, plug, receipt, stored_plug, unique, with};
use plugwell_tests::{Answer, Shop, Who};
use serde_json::{Value, json};

/// A shop's dock.
pub struct Dock<'a> {
    /// The shop.
    pub shop: &'a Shop,
    /// A supplier that nobody else uses.
    pub supplier: String,
    /// A bin.
    pub bin: String,
}

impl<'a> Dock<'a> {
    /// A dock with a bin and a supplier.
    pub fn new(shop: &'a Shop) -> Self {
        Self {
            shop,
            supplier: unique("Quayside"),
            bin: bin(shop, &unique("dock")),
        }
    }

    /// A part, known in full but for what is said here.
    pub fn part(&self, over: Value) -> String {
        stored_plug(self.shop, &with(plug(&unique("FW")), over))
    }

    /// The body of an order to the dock's supplier: so many of each part.
    pub fn asked(&self, lines: &[(&str, i64)]) -> Value {
        let line = |(plug_id, quantity): &(&str, i64)| {
            json!({ "plug_id": plug_id, "quantity": quantity, "pack_size": 4,
                    "total_cost": { "minor": 1_000 * quantity + 1, "currency": "USD" } })
        };
        json!({ "supplier": self.supplier, "expected_on": "2030-05-01",
                "lines": lines.iter().map(line).collect::<Vec<_>>() })
    }

    /// Sends an order for so many of each part; the order.
    pub fn order(&self, lines: &[(&str, i64)]) -> Value {
        let body = with(self.asked(lines), json!({ "state": "sent" }));
        self.shop
            .post(Who::Clerk, "/v1/orders", &body)
            .expect(201)
            .json
    }

    /// The order as it is now.
    pub fn now(&self, order: &Value) -> Value {
        self.shop
            .get(Who::Reader, &format!("/v1/orders/{}", text(order, "id")))
            .expect(200)
            .json
    }

    /// Changes an order as it is now.
    pub fn patch(&self, order: &Value, patch: Value) -> Answer {
        self.shop.patch(
            Who::Clerk,
            &format!("/v1/orders/{}", text(order, "id")),
            &patch,
        )
    }

    /// The body of a receipt for the line of an order.
    pub fn delivery(&self, line: &Value, quantity: i64) -> Value {
        with(
            receipt(&text(line, "plug_id"), &self.bin, quantity),
            json!({ "supplier": self.supplier, "order_line_id": line["id"], "total_cost": null, "pack_size": null }),
        )
    }

    /// Receives for the line of an order.
    pub fn receive(&self, line: &Value, quantity: i64) -> Answer {
        self.shop.once(
            Who::Clerk,
            "/v1/stock/receipts",
            &self.delivery(line, quantity),
        )
    }

    /// Puts a movement right.
    pub fn reverse(&self, who: Who, movement: &Value) -> Answer {
        let body = json!({ "movement_id": movement["id"], "reason": "a slip" });
        self.shop.once(who, "/v1/stock/reversals", &body)
    }

    /// What the part has in the places of a kind.
    pub fn held(&self, plug_id: &str, kind: &str) -> i64 {
        let path = format!("/v1/stock/levels?plug_id={plug_id}&kind={kind}");
        let levels = self.shop.all(Who::Reader, &path);
        levels.iter().filter_map(|l| l["quantity"].as_i64()).sum()
    }

    /// What a scan is taken for.
    pub fn scan(&self, text: &str) -> Answer {
        let encoded: String = text
            .bytes()
            .map(|b| match b {
                b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' => char::from(b).to_string(),
                other => format!("%{other:02X}"),
            })
            .collect();
        self.shop
            .get(Who::Reader, &format!("/v1/scans?text={encoded}"))
    }
}

/// A member that is text.
#[track_caller]
pub fn text(value: &Value, member: &str) -> String {
    value[member]
        .as_str()
        .unwrap_or_else(|| panic!("no {member} in {value}"))
        .to_owned()
}
