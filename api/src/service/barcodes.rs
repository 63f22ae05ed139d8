//! Barcodes that the shop attaches to parts.

use std::collections::HashMap;

use plugwell_domain::gtin::Gtin;
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_domain::scan::barcode::{Barcode, BarcodeData, key};
use plugwell_store::{Session, StoreError};
use uuid::Uuid;

use crate::service::catalogue::called;
use crate::service::conflict::Conflict;
use crate::service::{Refusal, Shop, new_id, now};

/// One barcode.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Barcode, Refusal> {
    shop.store
        .read(|s| s.barcode(id)?.ok_or(Refusal::NotFound("barcode")))
}

/// The barcodes of a part in the order that they were attached in.
///
/// # Errors
/// `NotFound` where there is no such part.
pub fn list(
    shop: &Shop,
    plug_id: Uuid,
    after: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Barcode>, Refusal> {
    shop.store.read(|s| {
        s.plug(plug_id)?.ok_or(Refusal::NotFound("plug"))?;
        Ok(s.list_barcodes(plug_id, after, limit)?)
    })
}

/// Attaches a barcode to a part.
///
/// # Errors
/// `NotFound` where there is no such part; `duplicate_record` where another part, or this one, has it.
pub fn attach(
    shop: &Shop,
    plug_id: Uuid,
    data: &BarcodeData,
    recorded_by: &str,
) -> Result<Barcode, Refusal> {
    let barcode = Barcode {
        id: new_id(),
        plug_id,
        data: data.clone(),
        recorded_by: recorded_by.to_owned(),
        version: Barcode::VERSION,
        created_at: now(),
    };
    shop.write(|s| {
        s.plug(plug_id)?.ok_or(Refusal::NotFound("plug"))?;
        if let Some(other) = others_own(s, &data.code, plug_id)? {
            let detail = format!(
                "{} is the number that {other} bears itself; a scan of it could mean either",
                data.code
            );
            return Err(Refusal::conflict(Conflict::DuplicateRecord, detail));
        }
        if let Some(standing) = s.barcode_read(&data.code)? {
            let of = s.plug(standing.plug_id)?;
            let of = of.map_or_else(String::new, |plug| called(&plug.data));
            return Err(taken(&data.code, &of));
        }
        s.insert_barcode(&barcode).map_err(|error| match error {
            StoreError::Duplicate { .. } => taken(&data.code, "another part"),
            other => other.into(),
        })
    })?;
    Ok(barcode)
}

/// What another part bears itself, its GTIN or its part number, where that is this barcode.
fn others_own(session: &mut Session, code: &str, plug_id: Uuid) -> Result<Option<String>, Refusal> {
    let mut parts = Vec::new();
    if let Ok(gtin) = code.parse::<Gtin>() {
        parts = with_gtin(session, &gtin)?;
    }
    parts.extend(session.plugs_numbered(code, i64::MAX)?);
    let other = parts.into_iter().find(|plug| plug.id != plug_id);
    Ok(other.map(|plug| called(&plug.data)))
}

/// Every part whose own GTIN this is, in whatever length it is printed.
pub(super) fn with_gtin(session: &mut Session, gtin: &Gtin) -> Result<Vec<Plug>, Refusal> {
    let mut parts = Vec::new();
    for form in gtin.forms() {
        parts.extend(session.plug_with_gtin(form.as_str())?);
    }
    Ok(parts)
}

/// The numbers of records that are barcodes of other parts: nobody could tell by a scan which is meant.
#[derive(Default)]
pub(super) struct Attached(HashMap<String, Vec<Barcode>>);

impl Attached {
    /// What is attached of the numbers that some records bear.
    pub(super) fn among(session: &mut Session, numbers: &[&str]) -> Result<Self, Refusal> {
        let mut attached: HashMap<String, Vec<Barcode>> = HashMap::new();
        for barcode in session.barcodes_like(numbers)? {
            let spelled = spelled(&barcode.data.code);
            attached.entry(spelled).or_default().push(barcode);
        }
        Ok(Self(attached))
    }

    /// The same of one record; what it was called before stays its own.
    pub(super) fn of(
        session: &mut Session,
        data: &PlugData,
        old: Option<&Plug>,
    ) -> Result<Self, Refusal> {
        let numbers: Vec<&str> = new_numbers(data, old).map(|(_, number)| number).collect();
        if numbers.is_empty() {
            return Ok(Self::default());
        }
        Self::among(session, &numbers)
    }

    /// What a record may not be called: the member, and a sentence that names the part.
    pub(super) fn taken(
        &self,
        session: &mut Session,
        data: &PlugData,
        old: Option<&Plug>,
    ) -> Result<Vec<(&'static str, String)>, Refusal> {
        let mut taken = Vec::new();
        for (member, number) in new_numbers(data, old) {
            let mut all = self.0.get(&spelled(number)).into_iter().flatten();
            let own = |barcode: &&Barcode| old.is_some_and(|old| old.id == barcode.plug_id);
            let Some(barcode) = all.find(|barcode| !own(barcode)) else {
                continue;
            };
            let of = session.plug(barcode.plug_id)?;
            let of = of.map_or_else(String::new, |plug| called(&plug.data));
            let detail = format!(
                "{number} is attached to {of} as its barcode; take it off there first, so that a scan \
                 of it means one part"
            );
            taken.push((member, detail));
        }
        Ok(taken)
    }
}

/// What a record is found by when it is scanned, by the members that say so.
fn numbers(data: &PlugData) -> impl Iterator<Item = (&'static str, &str)> {
    let gtin = data.gtin.as_ref().map(|gtin| ("gtin", gtin.as_str()));
    [("part_number", data.part_number.as_str())]
        .into_iter()
        .chain(gtin)
}

/// Those that it did not have before.
fn new_numbers<'a>(
    data: &'a PlugData,
    old: Option<&'a Plug>,
) -> impl Iterator<Item = (&'static str, &'a str)> {
    numbers(data)
        .filter(move |new| old.is_none_or(|old| !numbers(&old.data).any(|own| own == *new)))
}

fn spelled(number: &str) -> String {
    key(number).to_lowercase()
}

fn taken(code: &str, of: &str) -> Refusal {
    let detail = format!("{code} is the barcode of {of} already; take it off there first");
    Refusal::conflict(Conflict::DuplicateRecord, detail)
}

/// Takes a barcode off its part.
///
/// # Errors
/// `NotFound`, `Stale`.
pub fn remove(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
) -> Result<(), Refusal> {
    shop.write(|s| {
        let barcode = s.barcode(id)?.ok_or(Refusal::NotFound("barcode"))?;
        expected(barcode.version)?;
        s.delete_barcode(id)?;
        Ok(())
    })
}
