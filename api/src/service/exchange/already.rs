//! What tells that a table of stock comes a second time: the same content read before, and lots that are
//! like a row of it. Somebody who sends the same again under another key books it again; here it is said.

use chrono::{DateTime, Utc};
use plugwell_domain::ledger::commands::Receipt;
use plugwell_domain::ledger::{Condition, Lot};
use plugwell_store::{Session, TableRead};
use serde::Serialize;
use sha2::{Digest, Sha256};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::stock::By;
use crate::service::{Refusal, new_id};

/// Earlier reads that are listed.
const READS: i64 = 10;
/// Lots that are listed; the rest is only counted.
const LISTED: usize = 1_000;

/// What tells that a table of stock was received before.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, ToSchema)]
pub struct Already {
    /// When the same content was read, whatever the order of its rows: the last ten times, the newest
    /// first.
    pub reads: Vec<EarlierRead>,
    /// Lots that are like a row, the first thousand: part, supplier, reference, quantity and cost are the
    /// same, and their receipt was not put right.
    pub lots: Vec<LikeLot>,
    /// How many more there are.
    pub more_lots: u64,
}

/// A read of the same content.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct EarlierRead {
    /// When.
    #[serde(serialize_with = "plugwell_domain::instant::serialize")]
    pub read_at: DateTime<Utc>,
    /// Name of the token that brought it.
    pub read_by: String,
}

/// A lot that is like a row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LikeLot {
    /// The row.
    pub row: u64,
    /// The lot.
    pub lot_id: Uuid,
    /// The code on its label.
    pub code: String,
    /// When it came in.
    #[serde(serialize_with = "plugwell_domain::instant::serialize")]
    pub received_at: DateTime<Utc>,
}

/// What the rows of a table book, as they come.
#[derive(Default)]
pub(super) struct Content {
    rows: i64,
    sum: u128,
    already: Already,
}

impl Content {
    /// Takes a row that can be received, before it is.
    pub(super) fn take(
        &mut self,
        session: &mut Session,
        by: &By<'_>,
        row: u64,
        receipt: &Receipt,
    ) -> Result<(), Refusal> {
        self.rows += 1;
        self.sum = self.sum.wrapping_add(printed(receipt));
        for (lot, reference) in session.lots_received(receipt.plug_id, receipt.quantity, by.at)? {
            if !is_like(receipt, &lot, reference.as_deref()) {
                continue;
            }
            if self.already.lots.len() < LISTED {
                self.already.lots.push(LikeLot {
                    row,
                    lot_id: lot.id,
                    code: lot.code,
                    received_at: lot.received_at,
                });
            } else {
                self.already.more_lots += 1;
            }
        }
        Ok(())
    }

    /// Says what is known of the whole, and keeps that it was read.
    pub(super) fn end(mut self, session: &mut Session, by: &By<'_>) -> Result<Already, Refusal> {
        if self.rows == 0 {
            return Ok(self.already);
        }
        let digest = format!("{:032x}", self.sum);
        let earlier = session.table_reads(&digest, READS)?.into_iter();
        let same = earlier.filter(|read| read.rows == self.rows);
        self.already.reads = same
            .map(|read| EarlierRead {
                read_at: read.read_at,
                read_by: read.read_by,
            })
            .collect();
        let read = TableRead {
            rows: self.rows,
            read_by: by.actor.name.clone(),
            read_at: by.at,
        };
        session.insert_table_read(new_id(), &digest, &read)?;
        Ok(self.already)
    }
}

/// A row by what it books. Sums of these are the same in whatever order the rows stand.
fn printed(receipt: &Receipt) -> u128 {
    let cost = receipt.total_cost.as_ref();
    let booked = serde_json::json!([
        receipt.plug_id,
        receipt.place_id,
        receipt.supplier.trim().to_lowercase(),
        receipt.quantity,
        cost.map(|cost| cost.minor),
        cost.map(|cost| &cost.currency),
        receipt.pack_size,
        receipt.condition.unwrap_or(Condition::Sealed),
        receipt.gap_mm.map(|gap| gap.0),
        receipt.reference,
    ]);
    let digest = Sha256::digest(booked.to_string().as_bytes());
    digest
        .iter()
        .take(16)
        .fold(0, |sum, byte| sum << 8 | u128::from(*byte))
}

fn is_like(receipt: &Receipt, lot: &Lot, reference: Option<&str>) -> bool {
    lot.plug_id == receipt.plug_id
        && lot.supplier.to_lowercase() == receipt.supplier.trim().to_lowercase()
        && lot.quantity_received == receipt.quantity
        && lot.total_cost == receipt.total_cost
        && reference == receipt.reference.as_deref()
}
