//! Every kind of event with what it is about, what it says, and what its data has.

use serde_json::Value;

use super::EventKind::{self, *};
use super::Member;
use super::members::{
    BARCODE, BUILD, COUNT, CROSSED, HEAD, HEAT_SCALE, INCOMING_CHECK, MOVEMENT, ORDER, PLACE, PLUG,
    POLICY, READING, REORDERING, RESERVATION, STAND_IN, TABLE, TUNING_DAY, WAITING_JOB,
    WAITS_AGAIN,
};

/// What there is to know of a kind of event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Declared {
    /// Which kind.
    pub kind: EventKind,
    /// What it is about: `{id}` stands for the identifier of the entity.
    pub subject: &'static str,
    /// One sentence on when it is told.
    pub says: &'static str,
    /// What its data has.
    pub members: &'static [Member],
}

impl Declared {
    /// Whether data has exactly the declared members, each with a value that it may have.
    pub fn is_met_by(&self, data: &Value) -> bool {
        data.as_object().is_some_and(|map| {
            map.len() == self.members.len()
                && self
                    .members
                    .iter()
                    .all(|m| map.get(m.name).is_some_and(|value| m.takes(value)))
        })
    }

    /// The member that names the entity itself: the first.
    pub fn own_id(&self) -> &'static str {
        self.members[0].name
    }
}

impl EventKind {
    /// What there is to know of it.
    pub fn declared(self) -> &'static Declared {
        &DECLARED[self as usize]
    }
}

const fn row(
    kind: EventKind,
    subject: &'static str,
    members: &'static [Member],
    says: &'static str,
) -> Declared {
    Declared {
        kind,
        subject,
        says,
        members,
    }
}

const PLUGS: &str = "plugs/{id}";
const STOCK: &str = "plugs/{id}/stock";
const RESERVATIONS: &str = "stock/reservations/{id}";
const COUNTS: &str = "stock/counts/{id}";
const ORDERS: &str = "orders/{id}";

/// Every kind, in the order of the list.
#[rustfmt::skip]
pub const DECLARED: &[Declared] = &[
    row(PlugCreated, PLUGS, PLUG, "A record came into the catalogue, by hand or by a table."),
    row(PlugChanged, PLUGS, PLUG, "A record of the catalogue changed, also where its heat scale did or where it came back into use."),
    row(PlugRetired, PLUGS, PLUG, "A record was retired: it is no longer matched or ordered."),
    row(PlugRemoved, PLUGS, PLUG, "A record that nothing had used was removed."),
    row(BarcodeAttached, "barcodes/{id}", BARCODE, "A barcode was attached to a part."),
    row(BarcodeRemoved, "barcodes/{id}", BARCODE, "A barcode was taken off its part."),
    row(StandInStated, "stand-ins/{id}", STAND_IN, "Somebody's statement was recorded that a part stands in for another."),
    row(StandInRemoved, "stand-ins/{id}", STAND_IN, "Such a statement was removed."),
    row(HeatScaleCreated, "heat-scales/{id}", HEAT_SCALE, "A maker's heat scale was stored."),
    row(HeatScaleChanged, "heat-scales/{id}", HEAT_SCALE, "A heat scale changed; the parts that carry its codes are told of one by one."),
    row(HeatScaleRemoved, "heat-scales/{id}", HEAT_SCALE, "A heat scale was removed."),
    row(HeadCreated, "heads/{id}", HEAD, "A cylinder head was stored."),
    row(HeadChanged, "heads/{id}", HEAD, "A cylinder head changed: what was derived for builds over it may no longer hold."),
    row(HeadRemoved, "heads/{id}", HEAD, "A cylinder head was removed."),
    row(BuildCreated, "builds/{id}", BUILD, "A build was stored."),
    row(BuildChanged, "builds/{id}", BUILD, "A build changed: what was derived for it may no longer hold."),
    row(BuildRemoved, "builds/{id}", BUILD, "A build was removed."),
    row(PolicyChanged, "policy", POLICY, "Another version of the policy is in force."),
    row(PlaceCreated, "stock/places/{id}", PLACE, "A place was made; suppliers and jobs also by their first use."),
    row(PlaceChanged, "stock/places/{id}", PLACE, "A place was renamed, retired or taken back into use."),
    row(MovementBooked, STOCK, MOVEMENT, "A movement was booked, of any kind, reversals among them."),
    row(ScrapReversed, STOCK, MOVEMENT, "A reversal took plugs out of the scrap drum; its movement is told of as well."),
    row(LotQuarantined, STOCK, MOVEMENT, "Plugs of a lot were set aside into quarantine; the movement is told of as well."),
    row(LotReleased, STOCK, MOVEMENT, "Plugs of a lot came out of quarantine into a bin; the movement is told of as well."),
    row(ReorderPointCrossed, STOCK, CROSSED, "On hand less reserved plus on order of a part has come to its reorder point or below; once, until it has risen above it again."),
    row(ReservationMade, RESERVATIONS, RESERVATION, "Plugs of a part were reserved for a job."),
    row(ReservationChanged, RESERVATIONS, RESERVATION, "A reservation was drawn down, fell short, or can be met again."),
    row(ReservationIssued, RESERVATIONS, RESERVATION, "A reservation was drawn down to nothing."),
    row(ReservationReleased, RESERVATIONS, RESERVATION, "A reservation was given back."),
    row(ReservationExpired, RESERVATIONS, RESERVATION, "The time of a reservation ran out: its plugs can be had."),
    row(CountBegun, COUNTS, COUNT, "A count of bins was begun."),
    row(CountChanged, COUNTS, COUNT, "Lines of a count were counted, or all of them are."),
    row(CountApproved, COUNTS, COUNT, "A manager approved a count, and its differences were booked."),
    row(CountWithdrawn, COUNTS, COUNT, "A count was called off."),
    row(OrderDrafted, ORDERS, ORDER, "An order was drafted."),
    row(OrderChanged, ORDERS, ORDER, "An order changed otherwise, also where a delivery of it was put right."),
    row(OrderSent, ORDERS, ORDER, "An order went to its supplier."),
    row(OrderReceived, ORDERS, ORDER, "Some or all of an order came in."),
    row(OrderClosed, ORDERS, ORDER, "All of an order has come in, or nobody waits for the rest."),
    row(OrderWithdrawn, ORDERS, ORDER, "An order was called off before anything came in."),
    row(ReorderingChanged, "plugs/{id}/reordering", REORDERING, "What is given by hand for the reordering of a part changed."),
    row(IncomingCheckRecorded, "stock/incoming-checks/{id}", INCOMING_CHECK, "An incoming check was recorded."),
    row(IncomingCheckDecided, "stock/incoming-checks/{id}", INCOMING_CHECK, "A manager decided on what an incoming check had set aside."),
    row(TuningDayPlanned, "tuning-days/{id}", TUNING_DAY, "A tuning day was planned."),
    row(TuningDayChanged, "tuning-days/{id}", TUNING_DAY, "A tuning day changed: its plugs were topped up, or it was called off."),
    row(ReadingRecorded, "readings/{id}", READING, "A reading of a plug was recorded."),
    row(WaitingJobAnswered, "waiting-jobs/{id}", WAITING_JOB, "What a waiting job waits for can be had: the parts that fit with enough of them available, best first, and how many there are of the first."),
    row(WaitingJobWaitsAgain, "waiting-jobs/{id}", WAITS_AGAIN, "A waiting job was told that it can have its plugs, and cannot any more: others took them, or they no longer meet what it needs."),
    row(TableImported, "imports/{id}", TABLE, "A table was imported; what it stored is told of one by one as well."),
];
