//! What has to be there before something can be asked: made anew for each request, by a manager.

use std::thread;
use std::time::{Duration, Instant};

use plugwell_tests::bodies::{
    bin, build, head, heat_scale, issue, place, plug, receive, stored_plug, unique,
};
use plugwell_tests::{Shop, Who};
use serde_json::{Value, json};

/// A shop in which requests are prepared.
pub struct Floor<'s> {
    pub shop: &'s Shop,
}

/// Plugs of a part in a bin, in a lot of their own.
pub struct Lot {
    pub plug: String,
    pub bin: String,
    pub lot: String,
    /// The movement that brought them.
    pub movement: String,
}

fn text(of: &Value, member: &str) -> String {
    let text = of[member].as_str();
    text.unwrap_or_else(|| panic!("no {member} in {of}"))
        .to_owned()
}

impl<'s> Floor<'s> {
    pub fn of(shop: &'s Shop) -> Self {
        Self { shop }
    }

    /// Stores something; its id.
    #[track_caller]
    pub fn made(&self, path: &str, body: &Value) -> String {
        self.shop
            .post(Who::Manager, path, body)
            .expect(201)
            .text("id")
    }

    /// Gives a command; what came of it.
    #[track_caller]
    pub fn done(&self, path: &str, body: &Value) -> Value {
        self.shop.once(Who::Manager, path, body).expect(201).json
    }

    pub fn plug(&self) -> String {
        stored_plug(self.shop, &plug(&unique("RT")))
    }

    pub fn bin(&self) -> String {
        bin(self.shop, &unique("Bin"))
    }

    pub fn quarantine(&self) -> String {
        place(self.shop, "quarantine", &unique("Aside"))
    }

    pub fn head(&self) -> String {
        self.made("/v1/heads", &head())
    }

    pub fn build(&self) -> String {
        self.made("/v1/builds", &build())
    }

    pub fn scale(&self) -> String {
        self.made("/v1/heat-scales", &heat_scale(&unique("Maker"), "numbers"))
    }

    /// A statement about two parts that nobody has.
    pub fn said() -> Value {
        let part = |stem: &str| json!({ "maker": "Ferrowick", "part_number": unique(stem) });
        json!({ "part": part("RT-A"), "stands_in_for": part("RT-B"), "direction": "one_way", "who": "a test" })
    }

    /// Ten sealed plugs.
    pub fn lot(&self) -> Lot {
        let (plug, bin) = (self.plug(), self.bin());
        let received = receive(self.shop, &plug, &bin, 10);
        Lot {
            lot: text(&received, "lot_id"),
            movement: text(&received, "id"),
            plug,
            bin,
        }
    }

    /// Four of them in an engine: build, lot and the movement that they went out with.
    pub fn fitted(&self) -> (String, Lot, String) {
        let (build, lot) = (self.build(), self.lot());
        let mut body = issue(&lot.plug, &unique("J"), 4);
        body["build_id"] = json!(build);
        let issued = self.done("/v1/stock/issues", &body);
        let movement = text(&issued["movements"][0], "id");
        (build, lot, movement)
    }

    pub fn reservation(&self) -> String {
        let body = json!({ "plug_id": self.lot().plug, "quantity": 2, "job": unique("J") });
        text(&self.done("/v1/stock/reservations", &body), "id")
    }

    /// A count of one bin with one lot in it.
    pub fn count(&self) -> (String, Lot) {
        let lot = self.lot();
        let count = self.made("/v1/stock/counts", &json!({ "places": [lot.bin] }));
        (count, lot)
    }

    /// What is written down of a count.
    pub fn counted(lot: &Lot) -> Value {
        json!({ "state": "counted", "lines": [{ "lot_id": lot.lot, "place_id": lot.bin, "counted": 10 }] })
    }

    /// A check that puts a lot into quarantine.
    pub fn check(&self) -> String {
        let body = json!({
            "lot_id": self.lot().lot, "sample": 2, "reach_mm": [19.0, 12.0], "quarantine_place_id": self.quarantine()
        });
        text(
            &self.done("/v1/stock/incoming-checks", &body)["check"],
            "id",
        )
    }

    /// A part of which there is something to order.
    pub fn wanted(&self) -> String {
        let plug = self.lot().plug;
        let body = json!({ "min_quantity": 20, "max_quantity": 40 });
        let path = format!("/v1/plugs/{plug}/reordering");
        self.shop.patch(Who::Clerk, &path, &body).expect(200);
        plug
    }

    /// What is ordered.
    pub fn ordering(&self) -> Value {
        json!({ "supplier": "Quayside Parts", "lines": [{ "plug_id": self.plug(), "quantity": 8 }] })
    }

    /// A tuning day that plugs are there for.
    pub fn planning(&self) -> Value {
        self.lot();
        json!({
            "name": unique("Day"), "build_id": self.build(), "day": chrono::Utc::now().date_naive(), "pulls": 1,
            "reserve": false
        })
    }

    pub fn day(&self) -> String {
        text(&self.done("/v1/tuning-days", &self.planning()), "id")
    }

    /// A job that waits for more than there is.
    pub fn waits(&self) -> Value {
        json!({ "job": unique("J"), "build_id": self.build(), "quantity": 5000 })
    }

    /// A webhook that is told of lots in quarantine; nobody is there.
    pub fn webhook() -> Value {
        json!({ "url": "https://receiver.example/told", "types": ["plugwell.lot.quarantined.v1"] })
    }

    /// A delivery and its webhook.
    pub fn delivery(&self) -> (String, String) {
        let webhook = self.made("/v1/webhooks", &Self::webhook());
        let (lot, aside) = (self.lot(), self.quarantine());
        let aside = json!({
            "lot_id": lot.lot, "from_place_id": lot.bin, "to_place_id": aside, "quantity": 1
        });
        self.done("/v1/stock/transfers", &aside);
        let path = format!("/v1/webhooks/{webhook}/deliveries");
        let end = Instant::now() + Duration::from_secs(30);
        loop {
            let made = self.shop.get(Who::Manager, &path).expect(200);
            if let Some(delivery) = made.items().first() {
                return (webhook, text(delivery, "id"));
            }
            assert!(Instant::now() < end, "nothing is delivered");
            thread::sleep(Duration::from_millis(20));
        }
    }
}
