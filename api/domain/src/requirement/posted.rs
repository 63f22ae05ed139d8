//! Reads a requirement that another program posts.

use serde_json::{Map, Value};

use super::{
    Basis, BasisKind, Context, Demand, GapNeed, HeatNeed, Quantity, Requirement, Strength, Test,
    WhenUnknown, member,
};
use crate::attribute::Attr;
use crate::build::{bound_fault, bounds};
use crate::decimal::{Decimal, HeatIndex, Length, exact};
use crate::fault::{Fault, FaultCode};

/// Reads it; see [`Requirement::from_json`].
pub(super) fn read(value: &Value) -> Result<Requirement, Vec<Fault>> {
    let Some(map) = value.as_object() else {
        return Err(vec![Fault::at(
            "",
            FaultCode::WrongType,
            "a requirement is an object",
        )]);
    };
    let mut faults = Vec::new();
    let mut demands = Vec::new();
    match map.get("demands").and_then(Value::as_array) {
        None => faults.push(Fault::at(
            "demands",
            FaultCode::Missing,
            "demands has to be given, as a list",
        )),
        Some(list) => {
            for (place, value) in list.iter().enumerate() {
                match demand(value) {
                    Ok(demand) => demands.push(demand),
                    Err(found) => faults.extend(
                        found
                            .into_iter()
                            .map(|f| f.under(&format!("demands/{place}"))),
                    ),
                }
            }
        }
    }
    let number = |part: &str, name: &str, fault_of: fn(f64) -> Option<Fault>| {
        let path = format!("{part}/{name}");
        let Some(value) = member(map, part)
            .and_then(|v| v.get(name))
            .filter(|v| !v.is_null())
        else {
            return Ok(None);
        };
        let number = value.as_f64().ok_or_else(|| {
            Fault::at(
                &path,
                FaultCode::WrongType,
                format!("{name} is a number, not {value}"),
            )
        })?;
        match fault_of(number) {
            Some(fault) => Err(Fault::at(&path, fault.code, fault.detail)),
            None => Ok(Some(number)),
        }
    };
    let mut keep =
        |read: Result<Option<f64>, Fault>| read.map_err(|f| faults.push(f)).ok().flatten();
    let target = keep(number("heat", "target_index", target_fault));
    let set = keep(number("gap", "set_mm", |gap| bound_fault("gap_mm", gap)));
    let total = total(map).map_err(|f| faults.push(f)).ok().flatten();
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(assembled(demands, target, set, total))
}

/// The plugs of a set.
fn total(map: &Map<String, Value>) -> Result<Option<u32>, Fault> {
    let given = member(map, "quantity").and_then(|v| v.get("total"));
    let Some(value) = given.filter(|v| !v.is_null()) else {
        return Ok(None);
    };
    let whole = value.as_u64().and_then(|n| u32::try_from(n).ok());
    match whole.filter(|n| (1..=1_000_000).contains(n)) {
        Some(total) => Ok(Some(total)),
        None => {
            let detail = format!("total is a whole number from 1 to 1000000, not {value}");
            Err(Fault::at("quantity/total", FaultCode::OutOfRange, detail))
        }
    }
}

/// The fault of a target: it may lie beyond the coldest plug by all the steps that there can be.
fn target_fault(index: f64) -> Option<Fault> {
    const STEPS: f64 = 6.0;
    let (min, max, places) = bounds("heat_index")?;
    let max = max + STEPS * 10.0;
    if !(min..=max).contains(&index) {
        return Some(Fault::at(
            "",
            FaultCode::OutOfRange,
            format!("{index} is outside {min} to {max}"),
        ));
    }
    let too_fine = exact(index, places?).err()?;
    Some(Fault::at("", FaultCode::TooFine, too_fine.to_string()))
}

fn assembled(
    demands: Vec<Demand>,
    target: Option<f64>,
    set: Option<f64>,
    total: Option<u32>,
) -> Requirement {
    // Both were found exact above.
    let target = target.and_then(|t| HeatIndex::exact(t).ok());
    let set_mm = set.and_then(|s| Length::exact(s).ok());
    let projection = demands
        .iter()
        .find(|d| d.attribute == Attr::Projection && d.strength == Strength::Must);
    let projection_twice = projection.and_then(|d| d.test.middle_twice());
    let open = !projection.is_some_and(|d| d.test.is_whole());
    let unconfirmed = if open {
        vec![Attr::Projection]
    } else {
        Vec::new()
    };
    Requirement {
        policy_version: None,
        heat: HeatNeed {
            base_index: None,
            steps_asked: None,
            steps: None,
            target_index: target,
            capped: false,
        },
        gap: GapNeed {
            set_mm,
            tolerance_mm: Decimal(0),
            practice_min_mm: None,
            practice_max_mm: None,
            physical_max_mm: None,
            spark: None,
        },
        quantity: Quantity {
            fitted: None,
            spares: None,
            total,
        },
        torque_nm: None,
        cautions: Vec::new(),
        unanswered: Vec::new(),
        context: Context {
            projection_twice,
            unconfirmed,
            ..Context::default()
        },
        demands,
    }
}

/// One demand.
pub(super) fn demand(value: &Value) -> Result<Demand, Vec<Fault>> {
    let Some(map) = value.as_object() else {
        return Err(vec![Fault::at(
            "",
            FaultCode::WrongType,
            "a demand is an object",
        )]);
    };
    let mut faults = Vec::new();
    let attribute = word::<Attr>(map.get("attribute"), "attribute", &mut faults);
    let strength = word::<Strength>(map.get("strength"), "strength", &mut faults);
    let unknown = match map.get("unknown").filter(|v| !v.is_null()) {
        None if strength == Some(Strength::Must) => {
            faults.push(Fault::at(
                "unknown",
                FaultCode::Missing,
                "a must says what an unknown value does",
            ));
            None
        }
        None => None,
        given => word::<WhenUnknown>(given, "unknown", &mut faults),
    };
    let test = match (attribute, map.get("test")) {
        (_, None) => {
            faults.push(Fault::at(
                "test",
                FaultCode::Missing,
                "test has to be given",
            ));
            None
        }
        (None, Some(_)) => None,
        (Some(attr), Some(value)) => Test::from_json(attr, value)
            .map_err(|f| faults.push(f.under("test")))
            .ok(),
    };
    match (attribute, strength, test) {
        (Some(attribute), Some(strength), Some(test)) if faults.is_empty() => Ok(Demand {
            attribute,
            strength,
            test,
            unknown: if strength == Strength::Must {
                unknown
            } else {
                None
            },
            reason: map
                .get("reason")
                .and_then(Value::as_str)
                .unwrap_or_default()
                .to_owned(),
            basis: map
                .get("basis")
                .and_then(|b| serde_json::from_value(b.clone()).ok())
                .unwrap_or(Basis {
                    kind: BasisKind::Caller,
                    source: None,
                }),
        }),
        _ => Err(faults),
    }
}

fn word<T: std::str::FromStr<Err = crate::words::NotInList>>(
    value: Option<&Value>,
    name: &str,
    faults: &mut Vec<Fault>,
) -> Option<T> {
    let Some(value) = value else {
        faults.push(Fault::at(
            name,
            FaultCode::Missing,
            format!("{name} has to be given"),
        ));
        return None;
    };
    let Some(text) = value.as_str() else {
        faults.push(Fault::at(
            name,
            FaultCode::WrongType,
            format!("{name} is a word, not {value}"),
        ));
        return None;
    };
    text.parse()
        .map_err(|e: crate::words::NotInList| {
            faults.push(Fault::at(name, FaultCode::NotInList, e.to_string()))
        })
        .ok()
}
