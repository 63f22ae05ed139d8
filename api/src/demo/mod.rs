//! The demo shop: invented makers, cars and parts, and a year of movements that leads up to today.
//!
//! The data lies in `fixtures/demo`, which says how it was made; here it is taken through the same
//! use cases as everything else.

mod counts;
mod dock;
mod engines;
pub mod example;
mod tuning;
mod year;

use std::collections::HashMap;
use std::io::Cursor;

use plugwell_domain::build::{Build, Engine, Head};
use plugwell_domain::heat_scale::HeatScaleData;
use plugwell_domain::ledger::commands::NewPlace;
use plugwell_domain::order::SupplierData;
use plugwell_domain::stand_in::StandInData;
use plugwell_domain::words::Role;
use serde::Deserialize;
use uuid::Uuid;

use crate::service::exchange::{Importing, TableKind};
use crate::service::{
    Actor, Refusal, Shop, access, builds, exchange, heads, now, scales, stand_ins, stock,
};

const SCALES: &str = include_str!("../../../fixtures/demo/heat-scales.json");
const PLUGS: &str = include_str!("../../../fixtures/demo/plugs.csv");
const HEADS: &str = include_str!("../../../fixtures/demo/heads.json");
const BUILDS: &str = include_str!("../../../fixtures/demo/builds.json");
const STAND_INS: &str = include_str!("../../../fixtures/demo/stand-ins.json");
const PLACES: &str = include_str!("../../../fixtures/demo/places.json");
const YEAR: &str = include_str!("../../../fixtures/demo/year.csv");
const COUNTS: &str = include_str!("../../../fixtures/demo/counts.json");
const FITTED_SETS: &str = include_str!("../../../fixtures/demo/fitted-sets.json");
const RESERVATIONS: &str = include_str!("../../../fixtures/demo/reservations.json");
const WAITING_JOBS: &str = include_str!("../../../fixtures/demo/waiting-jobs.json");
const TUNING_DAYS: &str = include_str!("../../../fixtures/demo/tuning-days.json");
const SUPPLIERS: &str = include_str!("../../../fixtures/demo/suppliers.json");
const ORDERS: &str = include_str!("../../../fixtures/demo/orders.json");
const READINGS: &str = include_str!("../../../fixtures/demo/readings.json");

/// Key of the note that a database was made by a demo.
const MADE_BY: &str = "made_by";
/// What stands under it while the demo is being filled, and once it is whole.
const FILLING: &str = "demo, unfinished";
const FILLED: &str = "demo";

/// A build of the fixtures: its head stands by name, the plug that was in by maker and number.
#[derive(Debug, Deserialize)]
struct NamedBuild {
    name: String,
    head_name: String,
    base_plug: Option<String>,
    /// As it reads today: told once the year is over, since an odometer never runs backwards.
    odometer_km: Option<i64>,
    #[serde(flatten)]
    engine: Engine,
}

/// Whether a database was made by a demo, whole or not.
///
/// # Errors
/// Where the database fails.
pub fn made_here(store: &plugwell_store::Store) -> Result<bool, Refusal> {
    let note = store.read(|s| s.meta(MADE_BY))?;
    Ok(matches!(note.as_deref(), Some(FILLING | FILLED)))
}

/// Whether a demo is in place whole.
///
/// # Errors
/// Where the database fails.
pub fn is_filled(shop: &Shop) -> Result<bool, Refusal> {
    Ok(shop.store.read(|s| s.meta(MADE_BY))?.as_deref() == Some(FILLED))
}

/// Whether nothing has been stored yet.
///
/// # Errors
/// Where the database fails.
pub fn is_empty(shop: &Shop) -> Result<bool, Refusal> {
    shop.store
        .read(|s| Ok(s.count_plugs()? == 0 && s.meta(MADE_BY)?.is_none()))
}

fn fixture<T: for<'de> Deserialize<'de>>(name: &str, text: &str) -> Result<T, Refusal> {
    serde_json::from_str(text).map_err(|e| Refusal::Fault(format!("fixtures/demo/{name}: {e}")))
}

/// Fills an empty shop; `progress` gets the step that begins.
///
/// # Errors
/// Where a fixture or the database fails.
pub fn fill(shop: &Shop, progress: &dyn Fn(&str)) -> Result<(), Refusal> {
    shop.store
        .write(|s| Ok::<_, Refusal>(s.set_meta(MADE_BY, FILLING)?))?;
    fill_catalogue(shop, progress)?;
    progress("a year of movements");
    let today = now();
    let fitted = engines::fitted(
        shop,
        &fixture::<Vec<engines::Set>>("fitted-sets.json", FITTED_SETS)?,
    )?;
    let year = shop
        .store
        .write(|s| year::live(s, YEAR, today, fitted.clone()))?;
    for named in fixture::<Vec<NamedBuild>>("builds.json", BUILDS)? {
        if let Some(km) = named.odometer_km {
            engines::read_odometer(shop, &named.name, km)?;
        }
    }
    progress("last night's count, and one that is open");
    for counted in fixture::<Vec<counts::Counted>>("counts.json", COUNTS)? {
        counts::count(shop, &counted, today)?;
    }
    progress("suppliers, orders, and what came in today");
    for known in fixture::<Vec<SupplierData>>("suppliers.json", SUPPLIERS)? {
        dock::describe(shop, &known)?;
    }
    let ordered = fixture::<Vec<dock::Ordered>>("orders.json", ORDERS)?;
    shop.store.write(|s| {
        ordered
            .iter()
            .try_for_each(|order| dock::place(s, order, today))
    })?;
    shop.fill_shelves()?;
    for kept in fixture::<Vec<engines::Kept>>("reservations.json", RESERVATIONS)? {
        engines::keep(shop, &kept, today)?;
    }
    for asked in fixture::<Vec<engines::Waits>>("waiting-jobs.json", WAITING_JOBS)? {
        engines::wait(shop, &asked)?;
    }
    progress("readings of last month and a tuning day ahead");
    for read in fixture::<Vec<tuning::Read>>("readings.json", READINGS)? {
        tuning::record(shop, read, &year, today)?;
    }
    for ahead in fixture::<Vec<tuning::Ahead>>("tuning-days.json", TUNING_DAYS)? {
        tuning::plan(shop, ahead, today)?;
    }
    shop.store
        .write(|s| Ok::<_, Refusal>(s.set_meta(MADE_BY, FILLED)?))
}
/// Scales, records, statements, heads, builds and places.
fn fill_catalogue(shop: &Shop, progress: &dyn Fn(&str)) -> Result<(), Refusal> {
    progress("heat scales of four makers");
    for scale in fixture::<Vec<HeatScaleData>>("heat-scales.json", SCALES)? {
        scales::create(shop, &scale)?;
    }
    progress("the catalogue");
    let clerk = Actor {
        token_id: Uuid::nil(),
        name: Role::Clerk.word().to_owned(),
        role: Role::Clerk,
    };
    let importing = Importing {
        kind: TableKind::Plugs,
        actor: &clerk,
        progress: &|_, _| {},
    };
    exchange::import(shop, &importing, &mut Cursor::new(PLUGS))?;
    for stand_in in fixture::<Vec<StandInData>>("stand-ins.json", STAND_INS)? {
        stand_ins::create(shop, &stand_in, Role::Clerk.word())?;
    }
    progress("heads and builds");
    let mut head_ids: HashMap<String, Uuid> = HashMap::new();
    for head in fixture::<Vec<Head>>("heads.json", HEADS)? {
        let stored = heads::create(shop, &head)?;
        head_ids.insert(stored.data.name.clone().unwrap_or_default(), stored.id);
    }
    for named in fixture::<Vec<NamedBuild>>("builds.json", BUILDS)? {
        fill_build(shop, named, &head_ids)?;
    }
    let places = fixture::<Vec<NewPlace>>("places.json", PLACES)?;
    shop.store.write(|s| {
        for place in &places {
            stock::create_place(s, place, now())?;
        }
        Ok::<_, Refusal>(())
    })
}

fn fill_build(
    shop: &Shop,
    named: NamedBuild,
    head_ids: &HashMap<String, Uuid>,
) -> Result<(), Refusal> {
    let head_id = *head_ids.get(&named.head_name).ok_or_else(|| {
        Refusal::Fault(format!(
            "fixtures/demo/builds.json: no head {:?}",
            named.head_name
        ))
    })?;
    let mut engine = named.engine;
    if let Some((maker, part)) = named
        .base_plug
        .as_deref()
        .and_then(|name| name.split_once('/'))
    {
        engine.base_plug_id = shop
            .store
            .read(|s| s.plug_named(maker, part))?
            .map(|plug| plug.id);
    }
    let build = Build {
        name: Some(named.name),
        head: None,
        head_id: Some(head_id),
        odometer_km: None,
        leads_renewed_on: None,
        engine,
    };
    builds::create(shop, &build)?;
    Ok(())
}

/// Makes a token for each role, new at each start; those of earlier starts are revoked.
///
/// # Errors
/// Where the database fails.
pub fn tokens(shop: &Shop) -> Result<Vec<(Role, access::Shown)>, Refusal> {
    let name = |role: Role| format!("demo {role}");
    let ours: Vec<String> = Role::ALL.iter().copied().map(name).collect();
    let old = access::list(shop, None, i64::MAX)?;
    shop.store.write(|s| {
        for token in old.iter().filter(|t| ours.contains(&t.name)) {
            s.revoke_token(token.id, now())?;
        }
        Ok::<_, Refusal>(())
    })?;
    Role::ALL
        .iter()
        .map(|role| Ok((*role, access::create(shop, &name(*role), *role)?)))
        .collect()
}
