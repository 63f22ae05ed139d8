//! A delivery for a test: a lot of twelve, measured and decided about.

use plugwell_tests::bodies::{issue, receive, with};
use plugwell_tests::{Answer, Who};
use serde_json::{Value, json};

use crate::dock::{Dock, text};

/// The list of incoming checks.
pub const CHECKS: &str = "/v1/stock/incoming-checks";

/// Twelve sealed plugs of a part (reach 19, gap 0.8 mm, 5000 Ω) in a bin, in a lot of their own.
pub struct Van<'a> {
    /// Where it was unloaded.
    pub dock: Dock<'a>,
    /// The part.
    pub part: String,
    /// The lot.
    pub lot: String,
    /// The movement that brought it.
    pub receipt: Value,
}

impl<'a> Van<'a> {
    /// Receives them.
    pub fn unloaded(dock: Dock<'a>) -> Self {
        let part = dock.part(json!({}));
        let receipt = receive(dock.shop, &part, &dock.bin, 12);
        let lot = text(&receipt, "lot_id");
        Self {
            dock,
            part,
            lot,
            receipt,
        }
    }

    /// Records what was measured of four.
    pub fn check(&self, over: Value) -> Answer {
        let body = with(json!({ "lot_id": self.lot, "sample": 4 }), over);
        self.dock.shop.once(Who::Clerk, CHECKS, &body)
    }

    /// A check that puts all of it aside; its id.
    pub fn aside(&self) -> String {
        let answer = self.check(json!({ "reach_mm": [19.0, 17.5] })).expect(201);
        text(&answer.json["check"], "id")
    }

    /// Issues some to a job.
    pub fn issue(&self, job: &str, quantity: i64) -> Answer {
        let body = issue(&self.part, job, quantity);
        self.dock.shop.once(Who::Clerk, "/v1/stock/issues", &body)
    }

    /// What of the part lies in bins, and in quarantine.
    pub fn bin_and_quarantine(&self) -> (i64, i64) {
        let held = |kind| self.dock.held(&self.part, kind);
        (held("bin"), held("quarantine"))
    }

    /// Decides what becomes of it.
    pub fn decide(&self, who: Who, id: &str, body: Value) -> Answer {
        self.dock
            .shop
            .once(who, &format!("{CHECKS}/{id}/decision"), &body)
    }
}
