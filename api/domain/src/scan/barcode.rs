//! Barcodes that the shop has attached to a part besides the part's own number: those of cartons, and
//! of suppliers.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{Scanned, own_code, read};
use crate::fault::{Check, Fault, FaultCode};
use crate::gtin::{Gtin, GtinError};

/// The most characters of a barcode: what a symbol of Code 128 holds in a GS1 label.
const LONGEST: usize = 48;

/// A barcode as it is attached.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct BarcodeData {
    /// What the scanner reads: a GTIN, or a supplier's own code of up to 48 visible ASCII characters.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 48))]
    pub code: String,
    /// Plugs in the box or carton that bears it; where null, the pack size of the part's record counts.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 10_000))]
    pub plugs: Option<i64>,
}

/// A barcode that is attached to a part. It never changes: remove it and attach another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Barcode {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// The part.
    pub plug_id: Uuid,
    /// What was attached.
    #[serde(flatten)]
    pub data: BarcodeData,
    /// Name of the token that attached it.
    pub recorded_by: String,
    /// Always 1.
    pub version: i64,
    /// When it was attached.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub created_at: DateTime<Utc>,
}

impl Barcode {
    /// The version of every barcode.
    pub const VERSION: i64 = 1;
}

/// What a barcode is compared by: a GTIN as the number that it is, of 14 digits with noughts in front,
/// so that the same number read from another symbol is the same; anything else as it stands.
pub fn key(code: &str) -> String {
    match code.parse::<Gtin>() {
        Ok(gtin) => gtin.padded(),
        Err(_) => code.to_owned(),
    }
}

impl Check for BarcodeData {
    fn faults(&self) -> Vec<Fault> {
        let plugs = self.plugs.filter(|p| !(1..=10_000).contains(p)).map(|p| {
            let detail = format!("a box holds 1 to 10000 plugs, not {p}");
            Fault::at("plugs", FaultCode::OutOfRange, detail)
        });
        code_fault(&self.code).into_iter().chain(plugs).collect()
    }
}

fn code_fault(code: &str) -> Option<Fault> {
    let fault = |rule, detail: String| Some(Fault::at("code", rule, detail));
    if code.is_empty() || code.len() > LONGEST {
        let detail = format!("a barcode has 1 to {LONGEST} characters");
        return fault(FaultCode::OutOfRange, detail);
    }
    if !code.bytes().all(|b| b.is_ascii_graphic()) {
        let detail = "a barcode has visible ASCII characters only";
        return fault(FaultCode::WrongForm, detail.into());
    }
    if own_code(code).is_some() {
        let detail = "a letter L, P or O and a number is a label of the shop's own";
        return fault(FaultCode::Contradiction, detail.into());
    }
    match read(code) {
        Ok(Scanned::Elements(elements)) => {
            let detail = match elements.gtin() {
                Some(gtin) => format!("these are element strings: attach the GTIN in them, {gtin}"),
                None => "these are element strings without a GTIN".to_owned(),
            };
            fault(FaultCode::Contradiction, detail)
        }
        Err(faults) => {
            let told: Vec<String> = faults.into_iter().map(|fault| fault.detail).collect();
            fault(FaultCode::WrongForm, told.join("; "))
        }
        Ok(Scanned::Name(_, Some(error @ GtinError::WrongCheckDigit { .. }))) => {
            fault(FaultCode::WrongCheckDigit, error.to_string())
        }
        Ok(_) => None,
    }
}
