//! Bodies of requests with the least that has to be told; all else is unknown until somebody sets it.

use uuid::Uuid;

use crate::build::{Build, Engine, Head};
use crate::decimal::Length;
use crate::ledger::commands::{Issue, Receipt, Reserve, Return, Scrapping};
use crate::ledger::{Returned, ScrapReason};
use crate::thread::Thread;
use crate::words::{Induction, Seat, Use};

impl Head {
    /// A head of which thread, reach and seat are known.
    pub fn of(thread: Thread, reach_mm: Length, seat: Seat) -> Self {
        Self {
            name: None,
            thread,
            reach_mm,
            reach_tolerance_mm: None,
            seat,
            hex_max_mm: None,
            projection_min_mm: None,
            projection_max_mm: None,
            heat_index: None,
            terminal: None,
            material: None,
            tight_gap: None,
        }
    }
}

impl Engine {
    /// An engine of so many cylinders, how it is fed and what it is driven for.
    pub fn of(cylinders: u32, induction: Induction, purpose: Use) -> Self {
        Self {
            base_plug_id: None,
            cylinders,
            plugs_per_cylinder: None,
            induction,
            purpose,
            base_power_kw: None,
            power_kw: None,
            base_boost_kpa: None,
            boost_kpa: None,
            displacement_cc: None,
            compression_ratio: None,
            stroke_mm: None,
            rod_mm: None,
            intake_close_deg_abdc: None,
            spark_advance_deg: None,
            charge_temp_c: None,
            altitude_m: None,
            fuel: None,
            electronics: None,
            coil_kv: None,
            heat_steps: None,
            gap_mm: None,
            electrode: None,
            spares: None,
        }
    }
}

impl Build {
    /// An engine over a head.
    pub fn of(head: Head, engine: Engine) -> Self {
        Self {
            name: None,
            head: Some(head),
            head_id: None,
            odometer_km: None,
            leads_renewed_on: None,
            engine,
        }
    }
}

impl Receipt {
    /// Sealed plugs that come in.
    pub fn of(plug_id: Uuid, supplier: &str, place_id: Uuid, quantity: i64) -> Self {
        Self {
            plug_id,
            supplier: supplier.to_owned(),
            place_id,
            quantity,
            total_cost: None,
            pack_size: None,
            condition: None,
            gap_mm: None,
            order_line_id: None,
            reference: None,
        }
    }
}

impl Issue {
    /// Plugs for a job, from wherever they lie.
    pub fn of(plug_id: Uuid, quantity: i64, job: &str) -> Self {
        Self {
            plug_id,
            quantity,
            job: Some(job.to_owned()),
            reservation_id: None,
            lot_id: None,
            place_id: None,
            build_id: None,
            odometer_km: None,
            gap_mm: None,
        }
    }
}

impl Return {
    /// Plugs that went out with an issue.
    pub fn of(movement_id: Uuid, quantity: i64, condition: Returned) -> Self {
        Self {
            movement_id,
            quantity,
            place_id: None,
            condition,
            gap_mm: None,
            dropped_by: None,
        }
    }
}

impl Scrapping {
    /// Plugs that a job has.
    pub fn from_job(plug_id: Uuid, job: &str, quantity: i64, reason: ScrapReason) -> Self {
        Self {
            plug_id: Some(plug_id),
            lot_id: None,
            place_id: None,
            job: Some(job.to_owned()),
            quantity,
            reason,
            note: None,
            dropped_by: None,
        }
    }

    /// Plugs of a lot that lie in a bin or in quarantine.
    pub fn from_place(lot_id: Uuid, place_id: Uuid, quantity: i64, reason: ScrapReason) -> Self {
        Self {
            plug_id: None,
            lot_id: Some(lot_id),
            place_id: Some(place_id),
            job: None,
            quantity,
            reason,
            note: None,
            dropped_by: None,
        }
    }
}

impl Reserve {
    /// Plugs of a part for a job.
    pub fn of(plug_id: Uuid, quantity: i64, job: &str) -> Self {
        Self {
            plug_id,
            quantity,
            job: job.to_owned(),
            expires_at: None,
            build_id: None,
        }
    }
}
