//! Invented records for tests.
#![allow(dead_code, reason = "each test binary uses some of it")]

use chrono::{DateTime, Utc};
use plugwell_domain::attribute::{ATTRIBUTES, Attr, Kind};
use plugwell_domain::decimal::{Decimal, exact};
use plugwell_domain::ledger::{
    Condition, Lot, Money, Movement, MovementKind, Place, PlaceKind, Plan, Reservation,
    ReservationState,
};
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_domain::words::{Provenance, Status};
use plugwell_store::{Applied, Session, Store, StoreError};
use uuid::Uuid;

/// A fixed instant with microseconds, moved on by some of them.
pub fn instant(micros: i64) -> DateTime<Utc> {
    DateTime::from_timestamp_micros(1_767_225_600_123_456 + micros).unwrap()
}

pub fn id() -> Uuid {
    Uuid::now_v7()
}

pub fn write<T>(store: &Store, f: impl FnMut(&mut Session) -> Result<T, StoreError>) -> T {
    store.write(f).unwrap()
}

pub fn read<T>(store: &Store, f: impl FnOnce(&mut Session) -> Result<T, StoreError>) -> T {
    store.read(f).unwrap()
}

/// A part of which nothing is known but its name.
pub fn bare_plug(maker: &str, part_number: &str) -> Plug {
    Plug {
        id: id(),
        data: PlugData::named(maker, part_number),
        retired: false,
        version: 1,
        created_at: instant(0),
        updated_at: instant(0),
    }
}

/// A part of which everything is known: every attribute has the greatest value that it may have.
pub fn full_plug(maker: &str, part_number: &str) -> Plug {
    let mut plug = bare_plug(maker, part_number);
    for attribute in ATTRIBUTES {
        let raw = match attribute.kind {
            Kind::Number { decimals, max, .. } => exact(max, decimals).unwrap(),
            Kind::Flag => 1,
            Kind::Choice(words) => words.len() as i64 - 1,
        };
        plug.data.facts.set(attribute.attr, Some(raw));
        plug.data
            .provenance
            .insert(attribute.attr, Provenance::Measured);
    }
    plug.data
        .provenance
        .insert(Attr::Reach, Provenance::Assumed);
    plug.data.gtin = Some("2000000000015".parse().unwrap());
    plug.data.description = Some("long reach, “quoted”, Ω".into());
    plug.data.heat_code = Some("7".into());
    plug.data.status = Status::Discontinued;
    plug.retired = true;
    plug
}

pub fn lot(plug_id: Uuid) -> Lot {
    Lot {
        id: id(),
        code: String::new(),
        plug_id,
        supplier: "Hollis Parts".into(),
        received_at: instant(1),
        quantity_received: 10,
        total_cost: Some(Money {
            minor: 12_950,
            currency: "USD".into(),
        }),
        pack_size: Some(4),
        condition: Condition::Sealed,
        gap_mm: None,
        from_lot_id: None,
    }
}

pub fn gapped_lot(plug_id: Uuid, from: Uuid, gap: i64) -> Lot {
    Lot {
        total_cost: None,
        condition: Condition::Gapped,
        gap_mm: Some(Decimal(gap)),
        from_lot_id: Some(from),
        ..lot(plug_id)
    }
}

pub fn movement(
    kind: MovementKind,
    lot: &Lot,
    from: &Place,
    to: &Place,
    quantity: i64,
) -> Movement {
    Movement {
        id: id(),
        sequence: 0,
        kind,
        lot_id: lot.id,
        plug_id: lot.plug_id,
        from_place_id: from.id,
        to_place_id: to.id,
        quantity,
        reason: None,
        note: None,
        job: None,
        actor: "test clerk".into(),
        reverses: None,
        created_at: instant(2),
        answers: None,
        build_id: None,
        odometer_km: None,
        gap_mm: None,
        dropped_by: None,
        pair_id: None,
    }
}

/// A transfer.
pub fn moved(lot: &Lot, from: &Place, to: &Place, quantity: i64) -> Movement {
    movement(MovementKind::Transfer, lot, from, to, quantity)
}

pub fn reservation(plug_id: Uuid, job: &str, quantity: i64) -> Reservation {
    Reservation {
        id: id(),
        plug_id,
        job: job.into(),
        quantity,
        open_quantity: quantity,
        state: ReservationState::Open,
        expires_at: None,
        version: 1,
        created_at: instant(3),
    }
}

/// A shop with one part and one place of each kind.
#[derive(Clone)]
pub struct Shop {
    pub plug: Plug,
    pub supplier: Place,
    pub bin: Place,
    pub second_bin: Place,
    pub job: Place,
    pub quarantine: Place,
    pub scrap: Place,
    pub difference: Place,
}

impl Shop {
    pub fn set_up(store: &Store) -> Self {
        let plug = bare_plug("Ferrowick", "FW-3207");
        write(store, |s| {
            s.insert_plug(&plug)?;
            Ok(Self {
                plug: plug.clone(),
                supplier: s.place_for(PlaceKind::Supplier, "Hollis Parts", instant(0), id())?,
                bin: s.insert_place(id(), PlaceKind::Bin, "Drawer 1", instant(0))?,
                second_bin: s.insert_place(id(), PlaceKind::Bin, "Drawer 2", instant(0))?,
                job: s.place_for(PlaceKind::Job, "Job 7", instant(0), id())?,
                quarantine: s.insert_place(id(), PlaceKind::Quarantine, "Cage", instant(0))?,
                scrap: s.scrap_place()?,
                difference: s.difference_place()?,
            })
        })
    }

    pub fn receipt(&self, lot: &Lot, quantity: i64) -> Movement {
        movement(
            MovementKind::Receipt,
            lot,
            &self.supplier,
            &self.bin,
            quantity,
        )
    }

    pub fn issue(&self, lot: &Lot, quantity: i64) -> Movement {
        let mut issue = movement(MovementKind::Issue, lot, &self.bin, &self.job, quantity);
        issue.job = Some(self.job.name.clone());
        issue
    }

    pub fn apply(&self, store: &Store, plan: &Plan) -> Applied {
        write(store, |s| {
            s.shelf(self.plug.id, &[])?;
            s.apply(self.plug.id, plan)
        })
    }

    /// A lot of that many plugs in the bin, with its code.
    pub fn stocked(&self, store: &Store, quantity: i64) -> Lot {
        let lot = lot(self.plug.id);
        let movements = vec![self.receipt(&lot, quantity)];
        self.apply(
            store,
            &Plan {
                new_lots: vec![lot],
                movements,
                reservations: vec![],
            },
        )
        .lots
        .remove(0)
    }
}

/// A plan of movements only.
pub fn moves(movements: Vec<Movement>) -> Plan {
    Plan {
        movements,
        ..Plan::default()
    }
}
