//! Where the plugs of a scanned lot are, and whether it waits for a decision.

use plugwell_domain::ledger::{Lot, PlaceKind};
use plugwell_store::{LevelFilter, Session};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::Scan;
use crate::service::Refusal;
use crate::service::stock::waits_for;

/// Plugs of the lot in one place.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct LotLies {
    /// The place.
    pub place_id: Uuid,
    /// The code on its label.
    pub place_code: String,
    /// What the shop calls it.
    pub place_name: String,
    /// What it is.
    pub place_kind: PlaceKind,
    /// Plugs.
    pub quantity: i64,
}

/// Says where a lot lies; what is in quarantine, or waits for a decision, is proposed no bin.
pub(super) fn look_up(s: &mut Session, scan: &mut Scan, lot: &Lot) -> Result<(), Refusal> {
    let filter = LevelFilter {
        lot_id: Some(lot.id),
        ..LevelFilter::default()
    };
    for level in s.list_levels(&filter, None, i64::MAX)? {
        let place = s
            .place(level.place_id)?
            .ok_or_else(|| Refusal::Fault("a level without its place".into()))?;
        if !matches!(place.kind, PlaceKind::Supplier | PlaceKind::Difference) {
            scan.lies.push(LotLies {
                place_id: place.id,
                place_code: place.code,
                place_name: place.name,
                place_kind: place.kind,
                quantity: level.quantity,
            });
        }
    }
    scan.waiting_check_id = waits_for(s, lot.id)?.map(|check| check.id);
    if scan.is_held() {
        scan.proposed_bin = None;
    }
    Ok(())
}

impl Scan {
    /// Whether the lot lies in quarantine, or waits for a decision wherever it lies.
    pub(super) fn is_held(&self) -> bool {
        let held = |lies: &LotLies| lies.place_kind == PlaceKind::Quarantine;
        self.waiting_check_id.is_some() || self.lies.iter().any(held)
    }

    /// Where a lot lies that is held back, and that it is.
    pub(super) fn held_back(&self) -> Option<String> {
        if !self.is_held() {
            return None;
        }
        let lies = self.lies.iter().map(|lies| {
            let (quantity, kind) = (lies.quantity, lies.place_kind);
            format!(
                "{quantity} of it in {kind} {} ({})",
                lies.place_name, lies.place_code
            )
        });
        let lies: Vec<String> = lies.collect();
        let waits = match self.waiting_check_id {
            Some(_) => "It waits for a manager's decision after an incoming check",
            None => "Only a manager lets it out of quarantine",
        };
        let there = match lies.is_empty() {
            true => "Nothing of it is here".to_owned(),
            false => lies.join(", "),
        };
        Some(format!("{there}. {waits}: put it into no bin."))
    }
}
