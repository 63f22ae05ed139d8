//! A day as it is kept, and where it stands by what its reservations say now.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{DayPlan, TuningDay};
use crate::fault::{Fault, FaultCode};
use crate::ledger::{Reservation, ReservationState};
use crate::reading::Reading;
use crate::words::closed_list;

closed_list! {
    /// Where a tuning day stands; all but the first and the last come from its reservations.
    DayState, "state of a tuning day" {
        /// Planned without reserving.
        Planned = "planned",
        /// All its plugs are kept for it.
        Reserved = "reserved",
        /// Fewer are kept for it than it takes, or the shelf can no longer meet what is.
        Short = "short",
        /// All that was kept has gone out.
        Issued = "issued",
        /// Its reservations were given back without it.
        Released = "released",
        /// The time of its reservations ran out.
        Expired = "expired",
        /// Called off.
        Withdrawn = "withdrawn",
    }
}

/// A tuning day as it is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlannedDay {
    /// What was asked for.
    #[serde(flatten)]
    pub asked: TuningDay,
    /// The plan as it was made.
    pub plan: DayPlan,
    /// The first reservation that keeps its plugs; null where nothing has been reserved.
    pub reservation_id: Option<Uuid>,
    /// Those that topped it up, in the order that they were made.
    #[serde(default)]
    pub further_reservation_ids: Vec<Uuid>,
    /// When it was called off.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub withdrawn_at: Option<DateTime<Utc>>,
}

impl PlannedDay {
    /// All its reservations, in the order that they were made.
    pub fn reservation_ids(&self) -> impl Iterator<Item = Uuid> + '_ {
        let further = self.further_reservation_ids.iter().copied();
        self.reservation_id.into_iter().chain(further)
    }

    /// Takes in one reservation more.
    pub fn add_reservation(&mut self, id: Uuid) {
        match self.reservation_id {
            None => self.reservation_id = Some(id),
            Some(_) => self.further_reservation_ids.push(id),
        }
    }

    /// Plugs that the day takes beyond what its reservations keep for it or have let out. What was
    /// given back or ran out keeps nothing, but what had gone out on it before counts.
    pub fn missing(&self, reservations: &[Reservation]) -> i64 {
        let had = reservations
            .iter()
            .map(|r| r.open_quantity + r.issued_quantity);
        (self.plan.quantity.total - had.sum::<i64>()).max(0)
    }

    /// The faults of a reading against the day that it names, the part being that of its issue or
    /// lot. What may fill up a short day counts as its part.
    pub fn faults_of(&self, reading: &Reading, part: Option<Uuid>) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut wrong = |field: &str, detail: String| {
            faults.push(Fault::at(field, FaultCode::Contradiction, detail));
        };
        let planned_for = self.asked.build_id;
        if self.withdrawn_at.is_some() {
            wrong("tuning_day_id", "that tuning day was called off".into());
        } else if planned_for.is_some_and(|build| build != reading.build_id) {
            let detail = "that tuning day was planned for another build";
            wrong("tuning_day_id", detail.into());
        }
        let pulls = self.plan.quantity.pulls;
        if reading.run > pulls {
            wrong("run", format!("that tuning day has {pulls} pulls"));
        }
        let short = self.plan.short.iter();
        let fillings = short.flat_map(|short| short.fill_with.iter().map(|filling| &filling.plug));
        let own = self.plan.proposed.as_ref().map(|offer| &offer.plug);
        let mut parts = own.into_iter().chain(fillings);
        if let (Some(part), Some(own)) = (part, own)
            && !parts.any(|plug| plug.id == part)
        {
            let field = match reading.lot_id {
                Some(_) => "lot_id",
                None => "movement_id",
            };
            let name = format!("{} {}", own.maker, own.part_number);
            wrong(
                field,
                format!("that is another part than the day's, {name}"),
            );
        }
        faults
    }

    /// Where the day stands, by what all its reservations say now.
    pub fn state(&self, reservations: &[Reservation]) -> DayState {
        if self.withdrawn_at.is_some() {
            return DayState::Withdrawn;
        }
        let any = |state| reservations.iter().any(|r| r.state == state);
        if any(ReservationState::Short) {
            return DayState::Short;
        }
        if any(ReservationState::Open) {
            return match self.missing(reservations) {
                0 => DayState::Reserved,
                _ => DayState::Short,
            };
        }
        // What ended last says how the day ended.
        match reservations.last().map(|last| last.state) {
            Some(ReservationState::Released) => DayState::Released,
            Some(ReservationState::Expired) => DayState::Expired,
            Some(_) => DayState::Issued,
            None if self.asked.reserve == Some(false) => DayState::Planned,
            None => DayState::Short,
        }
    }
}

/// A tuning day with where it stands now.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct StandingDay {
    /// The day.
    #[serde(flatten)]
    pub planned: PlannedDay,
    /// Where it stands.
    pub state: DayState,
    /// Its first reservation as it is now.
    pub reservation: Option<Reservation>,
    /// Those that topped it up, as they are now.
    pub further_reservations: Vec<Reservation>,
}
