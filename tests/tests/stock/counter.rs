//! What a clerk does all day: commands and looks at the shelf, each in one line.

use plugwell_tests::bodies::{bin, plug, receive, stored_plug, unique};
use plugwell_tests::{Answer, Shop, Who};
use serde_json::{Value, json};

/// A part of its own in a bin of its own.
pub struct Shelf<'s> {
    pub shop: &'s Shop,
    pub plug_id: String,
    pub bin_id: String,
    /// The lot of the first receipt, where there was one.
    pub lot_id: String,
}

impl<'s> Shelf<'s> {
    /// A part that nothing was received of.
    pub fn empty(shop: &'s Shop) -> Self {
        let plug_id = stored_plug(shop, &plug(&unique("ST")));
        Self {
            shop,
            plug_id,
            bin_id: bin(shop, &unique("Bin")),
            lot_id: String::new(),
        }
    }

    /// A part of which so many sealed plugs lie in the bin, in one lot.
    pub fn with(shop: &'s Shop, quantity: i64) -> Self {
        let mut shelf = Self::empty(shop);
        shelf.lot_id = word(
            &receive(shop, &shelf.plug_id, &shelf.bin_id, quantity),
            "lot_id",
        );
        shelf
    }

    /// Receives more; the movement.
    pub fn receive(&self, quantity: i64) -> Value {
        receive(self.shop, &self.plug_id, &self.bin_id, quantity)
    }

    /// Gives a command as a manager.
    pub fn command(&self, kind: &str, body: Value) -> Answer {
        self.command_by(Who::Manager, kind, body)
    }

    pub fn command_by(&self, who: Who, kind: &str, body: Value) -> Answer {
        self.shop.once(who, &format!("/v1/stock/{kind}"), &body)
    }

    /// Issues to a job; the first movement.
    pub fn issue(&self, quantity: i64, job: &str) -> Value {
        let body = json!({ "plug_id": self.plug_id, "quantity": quantity, "job": job });
        self.command("issues", body).expect(201).json["movements"][0].clone()
    }

    /// Reserves for a job; the reservation.
    pub fn reserve(&self, quantity: i64, job: &str) -> Value {
        let body = json!({ "plug_id": self.plug_id, "quantity": quantity, "job": job });
        self.command("reservations", body).expect(201).json
    }

    /// Scraps out of the bin; the first movement.
    pub fn scrap(&self, quantity: i64) -> Value {
        let body = json!({ "plug_id": self.plug_id, "place_id": self.bin_id, "quantity": quantity, "reason": "dropped" });
        self.command("scrappings", body).expect(201).json["movements"][0].clone()
    }

    /// What lies in all places of a kind, of any lot of the part.
    pub fn held(&self, kind: &str) -> i64 {
        let places = self.shop.all(
            Who::Reader,
            &format!("/v1/stock/places?kind={kind}&limit=200"),
        );
        let levels = self.shop.all(
            Who::Reader,
            &format!("/v1/stock/levels?plug_id={}&limit=200", self.plug_id),
        );
        let here = |level: &&Value| places.iter().any(|place| place["id"] == level["place_id"]);
        levels
            .iter()
            .filter(here)
            .map(|level| level["quantity"].as_i64().expect("a quantity"))
            .sum()
    }

    /// The reservation as it stands now: state and what is open of it.
    pub fn reservation(&self, id: &Value) -> (String, i64) {
        let path = format!("/v1/stock/reservations/{}", id.as_str().expect("an id"));
        let now = self.shop.get(Who::Reader, &path).expect(200).json;
        (
            word(&now, "state"),
            now["open_quantity"].as_i64().expect("a quantity"),
        )
    }
}

/// A member that is text.
#[track_caller]
pub fn word(value: &Value, member: &str) -> String {
    value[member]
        .as_str()
        .unwrap_or_else(|| panic!("no {member} in {value}"))
        .to_owned()
}

/// The one place of a kind of which there is one.
pub fn only(shop: &Shop, kind: &str) -> String {
    let places = shop.all(Who::Reader, &format!("/v1/stock/places?kind={kind}"));
    assert_eq!(places.len(), 1, "exactly one {kind}");
    word(&places[0], "id")
}

/// A supplier's or job's place, by its name.
pub fn named(shop: &Shop, kind: &str, name: &str) -> String {
    let places = shop.all(
        Who::Reader,
        &format!("/v1/stock/places?kind={kind}&limit=200"),
    );
    let place = places
        .iter()
        .find(|place| place["name"] == name)
        .unwrap_or_else(|| panic!("no {kind} {name}"));
    word(place, "id")
}

/// Checks a movement: exactly the contract's members and those that were added, with these values.
#[track_caller]
pub fn is_movement(movement: &Value, wanted: Value) {
    const MEMBERS: [&str; 19] = [
        "actor",
        "answers",
        "build_id",
        "created_at",
        "dropped_by",
        "from_place_id",
        "gap_mm",
        "id",
        "job",
        "kind",
        "lot_id",
        "note",
        "odometer_km",
        "plug_id",
        "quantity",
        "reason",
        "reverses",
        "sequence",
        "to_place_id",
    ];
    let mut members: Vec<&str> = movement
        .as_object()
        .expect("an object")
        .keys()
        .map(String::as_str)
        .collect();
    members.sort_unstable();
    assert_eq!(members, MEMBERS);
    for (member, value) in wanted.as_object().expect("an object") {
        assert_eq!(&movement[member], value, "{member} of {movement}");
    }
    assert!(is_uuid_v7(&movement["id"]), "{movement}");
    assert!(
        movement["sequence"].as_i64().is_some_and(|n| n > 0),
        "{movement}"
    );
    is_instant(&movement["created_at"]);
}

pub fn is_uuid_v7(value: &Value) -> bool {
    value
        .as_str()
        .and_then(|text| text.parse::<uuid::Uuid>().ok())
        .is_some_and(|id| id.get_version_num() == 7)
}

/// RFC 3339 in UTC with `Z` and microseconds.
#[track_caller]
pub fn is_instant(value: &Value) {
    let text = value
        .as_str()
        .unwrap_or_else(|| panic!("{value} is no instant"));
    let read = chrono::DateTime::parse_from_rfc3339(text).unwrap_or_else(|e| panic!("{text}: {e}"));
    assert_eq!(
        text,
        read.to_utc().format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string()
    );
}
