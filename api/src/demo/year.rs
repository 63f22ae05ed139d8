//! A year of stock commands, each taken through its use case at the instant it happened.

use std::collections::HashMap;

use chrono::{DateTime, Days, TimeDelta, Utc};
use plugwell_domain::decimal::Length;
use plugwell_domain::ledger::commands::{Issue, Receipt, Reserve, Return, Scrapping, Transfer};
use plugwell_domain::ledger::{Condition, Money, PlaceKind};
use plugwell_domain::policy::Policy;
use plugwell_domain::words::Role;
use plugwell_store::Session;
use serde::Deserialize;
use uuid::Uuid;

use crate::service::stock::{self, By, Outcome};
use crate::service::{Actor, Refusal};

/// A row of `year.csv`; `fixtures/demo/README.md` explains the columns.
#[derive(Debug, Deserialize)]
struct Row {
    days_ago: u64,
    minute: i64,
    kind: String,
    maker: String,
    part_number: String,
    quantity: i64,
    place: Option<String>,
    to_place: Option<String>,
    supplier: Option<String>,
    total_cost_minor: Option<i64>,
    pack_size: Option<i64>,
    job: Option<String>,
    condition: Option<String>,
    gap_mm: Option<f64>,
    reason: Option<String>,
    note: Option<String>,
    dropped_by: Option<String>,
    actor: Role,
    of_line: Option<usize>,
}

fn wrong(line: usize, what: impl std::fmt::Display) -> Refusal {
    Refusal::Fault(format!("fixtures/demo/year.csv, line {line}: {what}"))
}

/// Lives the year through, ending yesterday; what each line did.
///
/// # Errors
/// A row that the rules reject, with its line.
pub(super) fn live(
    session: &mut Session,
    text: &str,
    today: DateTime<Utc>,
) -> Result<Vec<Outcome>, Refusal> {
    let mut year = Year {
        policy: Policy::default(),
        today,
        places: HashMap::new(),
        done: Vec::new(),
    };
    for place in session.list_places(None, None, None, i64::MAX)? {
        if matches!(place.kind, PlaceKind::Bin | PlaceKind::Quarantine) {
            year.places.insert(place.name, place.id);
        }
    }
    for (place, row) in csv::Reader::from_reader(text.as_bytes())
        .deserialize()
        .enumerate()
    {
        let line = place + 1;
        let row: Row = row.map_err(|e| wrong(line, e))?;
        let outcome = year
            .step(session, &row, line)
            .map_err(|refusal| wrong(line, format!("{refusal:?}")))?;
        year.done.push(outcome);
    }
    Ok(year.done)
}

/// So many minutes into the day that lies so many days before today, both in UTC.
pub(super) fn back(today: DateTime<Utc>, days_ago: u64, minute: i64) -> DateTime<Utc> {
    let midnight = today
        .date_naive()
        .and_time(chrono::NaiveTime::MIN)
        .and_utc();
    midnight
        .checked_sub_days(Days::new(days_ago))
        .unwrap_or(midnight)
        + TimeDelta::minutes(minute)
}

struct Year {
    policy: Policy,
    today: DateTime<Utc>,
    places: HashMap<String, Uuid>,
    done: Vec<Outcome>,
}

impl Year {
    fn step(&self, session: &mut Session, row: &Row, line: usize) -> Result<Outcome, Refusal> {
        let actor = Actor {
            token_id: Uuid::nil(),
            name: row.actor.word().to_owned(),
            role: row.actor,
        };
        let by = By {
            actor: &actor,
            at: back(self.today, row.days_ago, row.minute),
        };
        let plug_id = session
            .plug_named(&row.maker, &row.part_number)?
            .ok_or_else(|| wrong(line, "no such part"))?
            .id;
        let moved = match row.kind.as_str() {
            "receipt" => stock::receive(
                session,
                &by,
                &self.policy,
                &self.receipt(row, plug_id, line)?,
            ),
            "issue" => stock::issue(session, &by, &self.policy, &self.issue(row, plug_id, line)?),
            "return" => stock::give_back(session, &by, &self.give_back(row, line)?),
            "transfer" => stock::transfer(session, &by, &self.transfer(row, line)?),
            "scrapping" => stock::discard(session, &by, &self.scrapping(row, plug_id, line)?),
            "reservation" => {
                let job = row.job.clone().unwrap_or_default();
                stock::reserve(
                    session,
                    &by,
                    &Reserve {
                        plug_id,
                        quantity: row.quantity,
                        job,
                        expires_at: None,
                    },
                )
            }
            other => return Err(wrong(line, format!("no kind {other:?}"))),
        };
        Ok(moved?.0)
    }

    fn place(&self, name: Option<&String>, line: usize) -> Result<Uuid, Refusal> {
        let name = name.map_or("", String::as_str);
        self.places
            .get(name)
            .copied()
            .ok_or_else(|| wrong(line, format!("no place {name:?}")))
    }

    /// What an earlier line did.
    fn earlier(&self, row: &Row, line: usize) -> Result<Option<&Outcome>, Refusal> {
        let Some(of) = row.of_line else {
            return Ok(None);
        };
        self.done
            .get(of.wrapping_sub(1))
            .map(Some)
            .ok_or_else(|| wrong(line, format!("no earlier line {of}")))
    }

    /// The lot that an earlier line brought to where it lies.
    fn lot(&self, row: &Row, line: usize) -> Result<Option<Uuid>, Refusal> {
        Ok(self
            .earlier(row, line)?
            .and_then(|outcome| outcome.movements.last())
            .map(|movement| movement.lot_id))
    }

    fn gap(row: &Row, line: usize) -> Result<Option<Length>, Refusal> {
        row.gap_mm
            .map(Length::exact)
            .transpose()
            .map_err(|e| wrong(line, e))
    }

    fn receipt(&self, row: &Row, plug_id: Uuid, line: usize) -> Result<Receipt, Refusal> {
        Ok(Receipt {
            plug_id,
            supplier: row.supplier.clone().unwrap_or_default(),
            place_id: self.place(row.place.as_ref(), line)?,
            quantity: row.quantity,
            total_cost: row.total_cost_minor.map(|minor| Money {
                minor,
                currency: self.policy.values.currency.value.clone(),
            }),
            pack_size: row.pack_size,
            condition: Some(Condition::Sealed),
            gap_mm: None,
            reference: row.note.clone(),
        })
    }

    fn issue(&self, row: &Row, plug_id: Uuid, line: usize) -> Result<Issue, Refusal> {
        let earlier = self.earlier(row, line)?;
        let reservation = earlier
            .filter(|o| o.movements.is_empty())
            .and_then(|o| o.reservations.first());
        let lot_id = if reservation.is_some() {
            None
        } else {
            self.lot(row, line)?
        };
        Ok(Issue {
            plug_id,
            quantity: row.quantity,
            job: row.job.clone(),
            reservation_id: reservation.map(|r| r.id),
            lot_id,
            place_id: None,
            build_id: None,
            odometer_km: None,
            gap_mm: Self::gap(row, line)?,
        })
    }

    fn give_back(&self, row: &Row, line: usize) -> Result<Return, Refusal> {
        let issue = self
            .earlier(row, line)?
            .and_then(|outcome| outcome.movements.first());
        let condition = row.condition.as_deref().unwrap_or_default();
        Ok(Return {
            movement_id: issue.ok_or_else(|| wrong(line, "names no issue"))?.id,
            quantity: row.quantity,
            place_id: row
                .place
                .as_ref()
                .map(|name| self.place(Some(name), line))
                .transpose()?,
            condition: condition.parse().map_err(|e| wrong(line, e))?,
            gap_mm: Self::gap(row, line)?,
            dropped_by: row.dropped_by.clone(),
        })
    }

    fn transfer(&self, row: &Row, line: usize) -> Result<Transfer, Refusal> {
        Ok(Transfer {
            lot_id: self
                .lot(row, line)?
                .ok_or_else(|| wrong(line, "names no lot"))?,
            from_place_id: self.place(row.place.as_ref(), line)?,
            to_place_id: self.place(row.to_place.as_ref(), line)?,
            quantity: row.quantity,
        })
    }

    fn scrapping(&self, row: &Row, plug_id: Uuid, line: usize) -> Result<Scrapping, Refusal> {
        let lot_id = self.lot(row, line)?;
        let from_job = row.place.is_none();
        Ok(Scrapping {
            plug_id: lot_id.is_none().then_some(plug_id),
            lot_id,
            place_id: if from_job {
                None
            } else {
                Some(self.place(row.place.as_ref(), line)?)
            },
            job: if from_job { row.job.clone() } else { None },
            quantity: row.quantity,
            reason: row
                .reason
                .as_deref()
                .unwrap_or_default()
                .parse()
                .map_err(|e| wrong(line, e))?,
            note: row.note.clone(),
            dropped_by: row.dropped_by.clone(),
        })
    }
}
