//! What the shop tells others of: every kind of event, declared once, and how one comes about.
//!
//! An event says that something happened to one entity, which version the entity has since, and
//! enough of it to act on; never a secret. The store gives it id, time and place in the feed.

mod declared;
mod members;
mod raised;
mod webhook;

use serde::Serialize;
use serde_json::{Map, Value};
use uuid::Uuid;

pub use declared::{DECLARED, Declared};
pub use members::{Member, MemberKind};
pub use raised::besides;
pub use webhook::WebhookData;

use crate::words::closed_list;

closed_list! {
    /// What happened. The last part of the word is the version of its data: members are added, never
    /// renamed or taken away; where that is not enough, another kind with a higher number comes beside it.
    EventKind, "type of event" {
        /// A record came into the catalogue.
        PlugCreated = "plugwell.plug.created.v1",
        /// A record of the catalogue changed.
        PlugChanged = "plugwell.plug.changed.v1",
        /// A record was retired.
        PlugRetired = "plugwell.plug.retired.v1",
        /// A record was removed.
        PlugRemoved = "plugwell.plug.removed.v1",
        /// A barcode was attached to a part.
        BarcodeAttached = "plugwell.barcode.attached.v1",
        /// A barcode was taken off.
        BarcodeRemoved = "plugwell.barcode.removed.v1",
        /// A statement was recorded that a part stands in for another.
        StandInStated = "plugwell.stand_in.stated.v1",
        /// Such a statement was removed.
        StandInRemoved = "plugwell.stand_in.removed.v1",
        /// A heat scale was stored.
        HeatScaleCreated = "plugwell.heat_scale.created.v1",
        /// A heat scale changed.
        HeatScaleChanged = "plugwell.heat_scale.changed.v1",
        /// A heat scale was removed.
        HeatScaleRemoved = "plugwell.heat_scale.removed.v1",
        /// A head was stored.
        HeadCreated = "plugwell.head.created.v1",
        /// A head changed.
        HeadChanged = "plugwell.head.changed.v1",
        /// A head was removed.
        HeadRemoved = "plugwell.head.removed.v1",
        /// A build was stored.
        BuildCreated = "plugwell.build.created.v1",
        /// A build changed.
        BuildChanged = "plugwell.build.changed.v1",
        /// A build was removed.
        BuildRemoved = "plugwell.build.removed.v1",
        /// Another policy is in force.
        PolicyChanged = "plugwell.policy.changed.v1",
        /// A place was made.
        PlaceCreated = "plugwell.place.created.v1",
        /// A place changed.
        PlaceChanged = "plugwell.place.changed.v1",
        /// A movement was booked.
        MovementBooked = "plugwell.movement.booked.v1",
        /// Plugs came out of the scrap drum again.
        ScrapReversed = "plugwell.scrap.reversed.v1",
        /// Plugs of a lot went into quarantine.
        LotQuarantined = "plugwell.lot.quarantined.v1",
        /// Plugs of a lot came out of quarantine into a bin.
        LotReleased = "plugwell.lot.released.v1",
        /// The stock of a part fell to its reorder point.
        ReorderPointCrossed = "plugwell.reorder_point.crossed.v1",
        /// Plugs were reserved.
        ReservationMade = "plugwell.reservation.made.v1",
        /// A reservation changed.
        ReservationChanged = "plugwell.reservation.changed.v1",
        /// A reservation was issued in full.
        ReservationIssued = "plugwell.reservation.issued.v1",
        /// A reservation was given back.
        ReservationReleased = "plugwell.reservation.released.v1",
        /// The time of a reservation ran out.
        ReservationExpired = "plugwell.reservation.expired.v1",
        /// A count was begun.
        CountBegun = "plugwell.count.begun.v1",
        /// A count changed.
        CountChanged = "plugwell.count.changed.v1",
        /// A count was approved.
        CountApproved = "plugwell.count.approved.v1",
        /// A count was called off.
        CountWithdrawn = "plugwell.count.withdrawn.v1",
        /// An order was drafted.
        OrderDrafted = "plugwell.order.drafted.v1",
        /// An order changed.
        OrderChanged = "plugwell.order.changed.v1",
        /// An order went to its supplier.
        OrderSent = "plugwell.order.sent.v1",
        /// Some of an order came in.
        OrderReceived = "plugwell.order.received.v1",
        /// An order was closed.
        OrderClosed = "plugwell.order.closed.v1",
        /// An order was called off.
        OrderWithdrawn = "plugwell.order.withdrawn.v1",
        /// What is given by hand for the reordering of a part changed.
        ReorderingChanged = "plugwell.reordering.changed.v1",
        /// An incoming check was recorded.
        IncomingCheckRecorded = "plugwell.incoming_check.recorded.v1",
        /// An incoming check was decided.
        IncomingCheckDecided = "plugwell.incoming_check.decided.v1",
        /// A tuning day was planned.
        TuningDayPlanned = "plugwell.tuning_day.planned.v1",
        /// A tuning day changed.
        TuningDayChanged = "plugwell.tuning_day.changed.v1",
        /// A reading was recorded.
        ReadingRecorded = "plugwell.reading.recorded.v1",
        /// A match for a waiting job became possible.
        WaitingJobAnswered = "plugwell.waiting_job.answered.v1",
        /// What a waiting job could have had is gone.
        WaitingJobWaitsAgain = "plugwell.waiting_job.waits_again.v1",
        /// A table was imported.
        TableImported = "plugwell.table.imported.v1",
    }
}

/// Something that happened, as it is told to the store.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// What happened.
    pub kind: EventKind,
    /// What it happened to: the path of the entity under `/v1/`, or of the stock of a part.
    pub subject: String,
    /// Which version the subject has since.
    pub version: i64,
    /// Enough of it to act on: the members that its kind declares.
    pub data: Value,
}

impl Event {
    /// An event of a kind about an entity; `data` has the members that the kind declares.
    pub fn new(kind: EventKind, id: Uuid, version: i64, data: Value) -> Self {
        let declared = kind.declared();
        debug_assert!(
            declared.is_met_by(&data),
            "{kind} with other members than it declares: {data}"
        );
        Self {
            kind,
            subject: declared.subject.replace("{id}", &id.to_string()),
            version,
            data,
        }
    }

    /// Of an entity of which no more than its identifier is told.
    pub fn bare(kind: EventKind, id: Uuid, version: i64) -> Self {
        Self::of(kind, id, version, &Value::Null)
    }

    /// The same, with those members of something that its kind declares.
    pub fn of(kind: EventKind, id: Uuid, version: i64, whole: &impl Serialize) -> Self {
        let whole = serde_json::to_value(whole).unwrap_or(Value::Null);
        let member = |m: &Member| {
            let value = match whole.get(m.name) {
                // The entity's own id goes by the name of what it is.
                None if m.name == kind.declared().own_id() => Value::String(id.to_string()),
                found => found.cloned().unwrap_or(Value::Null),
            };
            (m.name.to_owned(), value)
        };
        let data: Map<String, Value> = kind.declared().members.iter().map(member).collect();
        Self::new(kind, id, version, Value::Object(data))
    }
}
