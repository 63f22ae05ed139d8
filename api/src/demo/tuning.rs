//! A tuning day ahead, and what was read last month.

use chrono::{DateTime, Days, Utc};
use plugwell_domain::reading::Reading;
use plugwell_domain::tuning_day::TuningDay;
use plugwell_domain::words::Role;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value, json};
use uuid::Uuid;

use crate::demo::year::back;
use crate::service::stock::{By, Outcome};
use crate::service::{Actor, Refusal, Shop, builds, readings, tuning_days};

/// A day of the fixtures: its build stands by name.
#[derive(Debug, Deserialize)]
pub(super) struct Ahead {
    build_name: String,
    in_days: u64,
    #[serde(flatten)]
    asked: Map<String, Value>,
}

/// A reading of the fixtures: its build stands by name, its issue by the line of the year.
#[derive(Debug, Deserialize)]
pub(super) struct Read {
    build_name: String,
    of_line: usize,
    days_ago: u64,
    minute: i64,
    #[serde(flatten)]
    seen: Map<String, Value>,
}

pub(super) fn wrong(what: impl std::fmt::Display) -> Refusal {
    Refusal::Fault(format!("fixtures/demo: {what}"))
}

pub(super) fn tuner() -> Actor {
    Actor {
        token_id: Uuid::nil(),
        name: Role::Tuner.word().to_owned(),
        role: Role::Tuner,
    }
}

/// The build of that name.
pub(super) fn build_id(shop: &Shop, name: &str) -> Result<Uuid, Refusal> {
    let all = builds::list(shop, None, i64::MAX)?;
    let found = all
        .into_iter()
        .find(|b| b.data.name.as_deref() == Some(name));
    Ok(found.ok_or_else(|| wrong(format!("no build {name:?}")))?.id)
}

fn body<T: DeserializeOwned>(mut own: Map<String, Value>, more: Value) -> Result<T, Refusal> {
    if let Value::Object(more) = more {
        own.extend(more);
    }
    serde_json::from_value(own.into()).map_err(wrong)
}

/// Plans a day, so many days from today.
///
/// # Errors
/// Where the fixture or the database fails.
pub(super) fn plan(shop: &Shop, ahead: Ahead, today: DateTime<Utc>) -> Result<(), Refusal> {
    let build_id = build_id(shop, &ahead.build_name)?;
    let day = today.date_naive() + Days::new(ahead.in_days);
    let asked: TuningDay = body(ahead.asked, json!({ "build_id": build_id, "day": day }))?;
    let (actor, policy) = (tuner(), shop.policy());
    let by = By {
        actor: &actor,
        at: today,
    };
    let (_, touched) = shop
        .store
        .write(|s| tuning_days::plan(shop, s, &by, &policy, &asked))?;
    touched.iter().for_each(|changed| shop.show(changed));
    Ok(())
}

/// Records a reading at the instant it was made.
///
/// # Errors
/// Where the fixture or the database fails.
pub(super) fn record(
    shop: &Shop,
    read: Read,
    year: &[Outcome],
    today: DateTime<Utc>,
) -> Result<(), Refusal> {
    let issue = year
        .get(read.of_line.wrapping_sub(1))
        .and_then(|outcome| outcome.movements.first())
        .ok_or_else(|| wrong(format!("no issue in line {}", read.of_line)))?;
    let named = json!({ "build_id": build_id(shop, &read.build_name)?, "movement_id": issue.id });
    let reading: Reading = body(read.seen, named)?;
    let (actor, policy) = (tuner(), shop.policy());
    let by = By {
        actor: &actor,
        at: back(today, read.days_ago, read.minute),
    };
    shop.store
        .write(|s| readings::record(s, &by, &policy, &reading))?;
    Ok(())
}
