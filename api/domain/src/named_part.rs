//! A part as it is named beside something else: enough to know it by, and its heat.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::attribute::Attr;
use crate::decimal::{Decimal, HeatIndex};
use crate::plug::{Plug, Shows};
use crate::words::Electrode;

/// A part by its names, with its heat and metal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NamedPart {
    /// The record.
    pub id: Uuid,
    /// Maker's name.
    pub maker: String,
    /// The maker's part number as printed.
    pub part_number: String,
    /// Its heat; null where nobody has established it, or only assumed it.
    pub heat_index: Option<HeatIndex>,
    /// Metal of its tip.
    pub electrode: Option<Electrode>,
}

impl From<&Plug> for NamedPart {
    fn from(plug: &Plug) -> Self {
        Self {
            id: plug.id,
            maker: plug.data.maker.clone(),
            part_number: plug.data.part_number.clone(),
            heat_index: plug.shown(Attr::Heat).map(Decimal),
            electrode: plug.shown(Attr::Electrode).and_then(Electrode::at),
        }
    }
}
