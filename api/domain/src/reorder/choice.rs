//! Which lines of the proposal become orders, and which do not.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::fault::{Check, Fault, FaultCode, name_fault};
use crate::ledger::commands::quantity_fault;
use crate::words::closed_list;

/// Most suppliers and parts that one call names.
const MOST: usize = 1_000;

/// What becomes orders: all of the proposal where both are null.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct OrderChoice {
    /// Only lines of these suppliers, by name, case-blind.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_items = 1, max_items = 1000))]
    pub suppliers: Option<Vec<String>>,
    /// Only lines of these parts; a part that is named is ordered also where an equivalent of it
    /// lies unsold.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_items = 1, max_items = 1000))]
    pub plug_ids: Option<Vec<Uuid>>,
    /// How many plugs of a part to order where that is not what is proposed; each of a part that
    /// `plug_ids` names.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_items = 1, max_items = 1000))]
    pub quantities: Option<Vec<ChosenQuantity>>,
}

/// So many plugs of a part, whatever is proposed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ChosenQuantity {
    /// The part.
    pub plug_id: Uuid,
    /// Plugs, not packs.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 1_000_000))]
    pub quantity: i64,
}

impl OrderChoice {
    /// Whether a supplier's lines are asked for.
    pub fn takes_supplier(&self, supplier: Option<&str>) -> bool {
        let Some(asked) = &self.suppliers else {
            return true;
        };
        let named = supplier.map(|name| name.trim().to_lowercase());
        named.is_some_and(|name| {
            asked
                .iter()
                .any(|other| other.trim().to_lowercase() == name)
        })
    }

    /// Whether a part's line is asked for.
    pub fn takes_part(&self, plug_id: Uuid) -> bool {
        self.plug_ids
            .as_ref()
            .is_none_or(|asked| asked.contains(&plug_id))
    }

    /// Whether the part is named.
    pub fn names_part(&self, plug_id: Uuid) -> bool {
        self.plug_ids
            .as_ref()
            .is_some_and(|asked| asked.contains(&plug_id))
    }

    /// How many plugs of the part somebody wants instead of what is proposed.
    pub fn quantity_of(&self, plug_id: Uuid) -> Option<i64> {
        let mut given = self.quantities.iter().flatten();
        given
            .find(|chosen| chosen.plug_id == plug_id)
            .map(|chosen| chosen.quantity)
    }

    /// What is wrong with the quantities.
    fn quantity_faults(&self) -> Vec<Fault> {
        let given = self.quantities.as_deref().unwrap_or_default();
        let mut faults = Vec::new();
        for (place, chosen) in given.iter().enumerate() {
            let at = format!("quantities/{place}");
            faults.extend(quantity_fault(chosen.quantity).map(|fault| fault.under(&at)));
            let at = format!("{at}/plug_id");
            if !self.names_part(chosen.plug_id) {
                let detail = "name the part in plug_ids as well";
                faults.push(Fault::at(&at, FaultCode::NotTogether, detail));
            }
            if given[..place].iter().any(|o| o.plug_id == chosen.plug_id) {
                let detail = "the part stands further up already";
                faults.push(Fault::at(&at, FaultCode::Duplicate, detail));
            }
        }
        faults
    }
}

impl Check for OrderChoice {
    fn faults(&self) -> Vec<Fault> {
        let count = |field: &str, given: Option<usize>| {
            given.filter(|n| !(1..=MOST).contains(n)).map(|n| {
                let detail = format!("name 1 to {MOST}, not {n}; null takes all");
                Fault::at(field, FaultCode::OutOfRange, detail)
            })
        };
        let mut faults: Vec<Fault> = [
            count("suppliers", self.suppliers.as_ref().map(Vec::len)),
            count("plug_ids", self.plug_ids.as_ref().map(Vec::len)),
            count("quantities", self.quantities.as_ref().map(Vec::len)),
        ]
        .into_iter()
        .flatten()
        .collect();
        for (place, name) in self.suppliers.iter().flatten().enumerate() {
            faults.extend(name_fault(&format!("suppliers/{place}"), Some(name)));
        }
        faults.extend(self.quantity_faults());
        faults
    }
}

closed_list! {
    /// Why a part is not ordered.
    LeftOutCode, "reason for leaving a part out" {
        /// Its maker no longer supplies it.
        Discontinued = "discontinued",
        /// Another part took its place.
        Superseded = "superseded",
        /// An equivalent lies unsold in the quantity that would be ordered, and no line before counts on it.
        UseEquivalentFirst = "use_equivalent_first",
        /// Nobody knows who supplies it.
        SupplierUnknown = "supplier_unknown",
        /// Nothing more is ordered from its supplier.
        SupplierRetired = "supplier_retired",
        /// Its record was retired; said where the part was named.
        Retired = "retired",
        /// It is above its reorder point; said where the part was named.
        NotDue = "not_due",
    }
}

/// A part that is not ordered though it is due, or though it was named.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LeftOut {
    /// The part.
    pub plug_id: Uuid,
    /// Maker's name.
    pub maker: String,
    /// The maker's part number.
    pub part_number: String,
    /// Why.
    pub code: LeftOutCode,
    /// Why, and what to do, in a sentence.
    pub text: String,
}
