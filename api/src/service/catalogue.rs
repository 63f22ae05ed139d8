//! The catalogue: plug records, made, changed, looked up, retired.

use plugwell_domain::attribute::Attr;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::heat_scale::HeatScale;
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_store::{PlugFilter, Session, StoreError};
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::service::barcodes::Attached;
use crate::service::conflict::Conflict;
use crate::service::{Refusal, Shop, new_id, now, supersession};

/// How many hits of a free text search are looked at, whatever else a list asks for.
const HITS: usize = 1_000;

/// What a list of plugs asks for.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Words in maker, part number, description or barcode.
    pub text: Option<String>,
    /// Everything else.
    pub filter: PlugFilter,
}

/// One record.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Plug, Refusal> {
    shop.store
        .read(|s| s.plug(id)?.ok_or(Refusal::NotFound("plug")))
}

/// Records in the order they were stored, after one of them.
///
/// # Errors
/// Where database or index fail.
pub fn list(
    shop: &Shop,
    wanted: &Wanted,
    after: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Plug>, Refusal> {
    let mut filter = wanted.filter.clone();
    if let Some(text) = &wanted.text {
        let mut hits = shop.index.words(text, HITS)?;
        if !filter.ids.is_empty() {
            hits.retain(|hit| filter.ids.contains(hit));
        }
        if hits.is_empty() {
            return Ok(Vec::new());
        }
        filter.ids = hits;
    }
    shop.store
        .read(|s| Ok(s.list_plugs(&filter, after, limit)?))
}

/// Records by their ids, each once and in this order, as far as there are such and the rest of the
/// question lets them through.
///
/// # Errors
/// Where database or index fail.
pub fn named(shop: &Shop, wanted: &Wanted) -> Result<Vec<Plug>, Refusal> {
    let mut found = list(
        shop,
        wanted,
        None,
        i64::try_from(wanted.filter.ids.len()).unwrap_or(i64::MAX),
    )?;
    let place = |plug: &Plug| wanted.filter.ids.iter().position(|id| *id == plug.id);
    found.sort_by_key(place);
    Ok(found)
}

/// Plugs in bins of each of some parts, in their order.
///
/// # Errors
/// Where the database fails.
pub fn on_hand(shop: &Shop, ids: &[Uuid]) -> Result<Vec<i64>, Refusal> {
    let ordinals = shop.store.read(|s| {
        let ordinals = ids.iter().map(|id| s.ordinal_of(*id));
        Ok::<_, Refusal>(ordinals.collect::<Result<Vec<_>, _>>()?)
    })?;
    let shelves = shop.shelves.read();
    let of = |ordinal: Option<u32>| ordinal.map_or(0, |ordinal| shelves.get(ordinal).on_hand());
    Ok(ordinals.into_iter().map(of).collect())
}

/// Records in use that words lead to, best first.
///
/// # Errors
/// Where database or index fail.
pub fn find(shop: &Shop, text: &str, limit: usize) -> Result<Vec<Plug>, Refusal> {
    let hits = shop.index.words(text, limit)?;
    let mut found = shop
        .store
        .read(|s| Ok::<_, Refusal>(s.plugs_by_id(&hits)?))?;
    found.retain(|plug| !plug.retired);
    Ok(found)
}

/// Completes a record from its heat scale and looks up what it points to; `old` is what it changes.
///
/// # Errors
/// Every pointer that leads nowhere, and every code that its scale lacks or contradicts.
pub(super) fn settle(
    session: &mut Session,
    data: &mut PlugData,
    old: Option<&Plug>,
) -> Result<(), Refusal> {
    let mut faults = Vec::new();
    if let Some(id) = data.heat_scale_id {
        let scale = session.scale_to_rely_on(id)?;
        faults.extend(heat_fault(data, scale.as_ref()));
    }
    // One that stays as it is closes no loop.
    let before = old.and_then(|plug| plug.data.superseded_by);
    if let Some(next) = data.superseded_by.filter(|next| before != Some(*next)) {
        faults.extend(supersession::fault(session, next, old.map(|plug| plug.id))?);
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(Refusal::Faults(faults))
    }
}

/// Completes the heat index of a record from the scale that it names; what is wrong with that.
pub(super) fn heat_fault(data: &mut PlugData, scale: Option<&HeatScale>) -> Option<Fault> {
    let Some(HeatScale { data: scale, .. }) = scale else {
        let detail = "there is no such heat scale";
        return Some(Fault::at("heat_scale_id", FaultCode::NotFound, detail));
    };
    let code = data.heat_code.as_deref()?;
    let Some(index) = scale.index_of(code) else {
        let detail = format!("{} {} has no code {code:?}", scale.maker, scale.name);
        return Some(Fault::at("heat_code", FaultCode::NotInList, detail));
    };
    match data.facts.get(Attr::Heat) {
        None => data.facts.set(Attr::Heat, Some(index.0)),
        Some(given) if given == index.0 => {}
        Some(given) => {
            let detail = format!(
                "the scale puts code {code:?} at {index}, not at {}",
                plugwell_domain::decimal::as_f64(given, Attr::Heat.decimals())
            );
            return Some(Fault::at("heat_index", FaultCode::Contradiction, detail));
        }
    }
    None
}

/// What it means that a part, `called` so, stands already.
pub(super) fn duplicate(error: StoreError, called: &str) -> Refusal {
    match error {
        StoreError::Duplicate { .. } => Refusal::conflict(
            Conflict::DuplicatePart,
            format!("{called} stands in the catalogue already"),
        ),
        other => other.into(),
    }
}

/// Refuses a number that is another part's barcode.
fn not_attached(session: &mut Session, data: &PlugData, old: Option<&Plug>) -> Result<(), Refusal> {
    let attached = Attached::of(session, data, old)?;
    match attached.taken(session, data, old)?.into_iter().next() {
        Some((_, detail)) => Err(Refusal::conflict(Conflict::DuplicateRecord, detail)),
        None => Ok(()),
    }
}

/// Stores a new record inside a transaction; the caller lets the index know after the commit.
///
/// # Errors
/// Faults of what it points to; `duplicate_part`; `duplicate_record` where another part has its number
/// as a barcode.
pub(super) fn insert(session: &mut Session, mut data: PlugData) -> Result<Plug, Refusal> {
    settle(session, &mut data, None)?;
    not_attached(session, &data, None)?;
    let at = now();
    let plug = Plug {
        id: new_id(),
        data,
        retired: false,
        version: 1,
        created_at: at,
        updated_at: at,
    };
    session
        .insert_plug(&plug)
        .map_err(|e| duplicate(e, &called(&plug.data)))?;
    Ok(plug)
}

/// A record by maker and part number.
pub(super) fn called(data: &PlugData) -> String {
    format!("{} {}", data.maker, data.part_number)
}

/// Stores a changed record inside a transaction; the caller lets the index know after the commit.
///
/// # Errors
/// Faults of what it points to; `duplicate_part`; `duplicate_record` where another part has its number
/// as a barcode.
pub(super) fn update(
    session: &mut Session,
    old: &Plug,
    mut data: PlugData,
    retired: bool,
) -> Result<Plug, Refusal> {
    settle(session, &mut data, Some(old))?;
    not_attached(session, &data, Some(old))?;
    let plug = Plug {
        data,
        retired,
        version: old.version + 1,
        updated_at: now(),
        ..old.clone()
    };
    session
        .update_plug(&plug)
        .map_err(|e| duplicate(e, &called(&plug.data)))?;
    Ok(plug)
}

/// Stores a new record.
///
/// # Errors
/// Faults of what it points to; `duplicate_part`; `duplicate_record` where another part has its number
/// as a barcode.
pub fn create(shop: &Shop, data: &PlugData) -> Result<Plug, Refusal> {
    let plug = shop.write(|s| insert(s, data.clone()))?;
    shop.written([plug.id])?;
    Ok(plug)
}

/// Changes a record by a JSON merge patch (RFC 7396); `expected` is asked whether the caller knows the version.
/// A patch that makes no other record of it changes nothing.
///
/// # Errors
/// `NotFound`, `Stale`, every fault of the record as it would become, `duplicate_part`,
/// `duplicate_record` where another part has its number as a barcode.
pub fn patch(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    patch: &Map<String, Value>,
) -> Result<Plug, Refusal> {
    let plug = shop.write(|s| {
        let old = s.plug(id)?.ok_or(Refusal::NotFound("plug"))?;
        let (data, retired) = patched(&old, patch)?;
        expected(old.version)?;
        if (&data, retired) == (&old.data, old.retired) {
            return Ok(old);
        }
        update(s, &old, data, retired)
    })?;
    shop.written([plug.id])?;
    Ok(plug)
}

/// The record as a patch makes it.
///
/// # Errors
/// Every fault of the record as it would become.
pub fn patched(old: &Plug, patch: &Map<String, Value>) -> Result<(PlugData, bool), Refusal> {
    let mut patch = patch.clone();
    let retired = match patch.remove("retired") {
        None => old.retired,
        Some(Value::Bool(retired)) => retired,
        Some(other) => {
            let detail = format!("retired is true or false, not {other}");
            return Err(Refusal::fault(Fault::at(
                "retired",
                FaultCode::WrongType,
                detail,
            )));
        }
    };
    let mut whole = Value::Object(old.data.to_map());
    merge(&mut whole, &Value::Object(patch.clone()));
    let mut map = whole.as_object().cloned().unwrap_or_default();
    ask_scale_again(&old.data, |member| patch.contains_key(member), &mut map);
    PlugData::from_map(&map)
        .map(|data| (data, retired))
        .map_err(Refusal::Faults)
}

/// A new code without a new index asks the scale again; one that is taken away leaves the index.
pub(super) fn ask_scale_again(
    old: &PlugData,
    is_given: impl Fn(&str) -> bool,
    whole: &mut Map<String, Value>,
) {
    let link = ["heat_code", "heat_scale_id"];
    let renamed = link.iter().any(|member| is_given(member));
    let asks = renamed && !is_given("heat_index") && old.heat_scale_id.is_some();
    let linked = |member: &&str| whole.get(*member).is_some_and(|value| !value.is_null());
    if asks && link.iter().all(linked) {
        whole.insert("heat_index".into(), Value::Null);
    }
}

/// A JSON merge patch, RFC 7396.
pub fn merge(target: &mut Value, patch: &Value) {
    let Value::Object(patch) = patch else {
        *target = patch.clone();
        return;
    };
    if !target.is_object() {
        *target = Value::Object(Map::new());
    }
    if let Value::Object(target) = target {
        for (name, value) in patch {
            if value.is_null() {
                target.remove(name);
            } else {
                merge(target.entry(name.clone()).or_insert(Value::Null), value);
            }
        }
    }
}

/// Removes a record that nothing has used.
///
/// # Errors
/// `NotFound`, `Stale`, `has_history`.
pub fn remove(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
) -> Result<(), Refusal> {
    shop.write(|s| {
        let plug = s.plug(id)?.ok_or(Refusal::NotFound("plug"))?;
        expected(plug.version)?;
        if s.plug_has_history(id)? {
            let detail =
                "the part has stock or history, or other records point to it; retire it instead";
            return Err(Refusal::conflict(Conflict::HasHistory, detail));
        }
        s.delete_plug(id)?;
        Ok(())
    })?;
    shop.written([id])
}
