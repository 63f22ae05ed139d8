//! Barcodes that the shop attaches to parts.

use plugwell_domain::gtin::Gtin;
use plugwell_domain::scan::barcode::{Barcode, BarcodeData};
use plugwell_store::{Session, StoreError};
use uuid::Uuid;

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
            return Err(taken(&data.code, &other));
        }
        if let Some(standing) = s.barcode_read(&data.code)? {
            let of = s.plug(standing.plug_id)?;
            return Err(taken(
                &data.code,
                &of.map(|p| p.data.part_number).unwrap_or_default(),
            ));
        }
        s.insert_barcode(&barcode).map_err(|error| match error {
            StoreError::Duplicate { .. } => taken(&data.code, "another part"),
            other => other.into(),
        })
    })?;
    Ok(barcode)
}

/// The part number of another part whose own GTIN this is.
fn others_own(session: &mut Session, code: &str, plug_id: Uuid) -> Result<Option<String>, Refusal> {
    let Ok(gtin) = code.parse::<Gtin>() else {
        return Ok(None);
    };
    for form in gtin.forms() {
        let parts = session.plug_with_gtin(form.as_str())?;
        if let Some(other) = parts.into_iter().find(|plug| plug.id != plug_id) {
            return Ok(Some(other.data.part_number));
        }
    }
    Ok(None)
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
