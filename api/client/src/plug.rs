//! Parts of the catalogue.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use plugwell_domain::decimal::{HeatIndex, Length};
use plugwell_domain::thread::Thread;
use plugwell_domain::words::{
    Electrode, Ground, HexKind, ProjectionClass, Provenance, Seat, Status, Terminal,
};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::client::Client;
use crate::error::Error;
use crate::record::records;
use crate::word::Word;

/// Ids that one question may name.
const IDS: usize = 200;

/// What somebody has established about a part; `None` where nobody knows.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct PlugData {
    /// Maker's name; together with the part number unique, case-blind.
    pub maker: String,
    /// The maker's part number as printed.
    pub part_number: String,
    /// Barcode on the pack.
    pub gtin: Option<String>,
    /// Free text.
    pub description: Option<String>,
    /// Thread.
    pub thread: Option<Word<Thread>>,
    /// From the seat to the end of the thread.
    pub reach_mm: Option<Length>,
    /// A washer or a cone.
    pub seat: Option<Word<Seat>>,
    /// Across flats.
    pub hex_mm: Option<Length>,
    /// Six faces or twelve points.
    pub hex_kind: Option<Word<HexKind>>,
    /// Place on the neutral heat index: more is colder.
    pub heat_index: Option<HeatIndex>,
    /// From the shell's end to the firing tip.
    pub projection_mm: Option<Length>,
    /// From the shell's end to the outermost of the ground electrode.
    pub strap_extent_mm: Option<Length>,
    /// Whether it has a resistor.
    pub resistor: Option<bool>,
    /// Its resistance.
    pub resistance_ohm: Option<f64>,
    /// Tip metal.
    pub electrode: Option<Word<Electrode>>,
    /// Form of the ground electrode.
    pub ground: Option<Word<Ground>>,
    /// The gap that it comes with.
    pub gap_preset_mm: Option<Length>,
    /// The least gap that it may be set to.
    pub gap_min_mm: Option<Length>,
    /// The greatest.
    pub gap_max_mm: Option<Length>,
    /// Connection.
    pub terminal: Option<Word<Terminal>>,
    /// From the seat to the top of the terminal.
    pub overall_mm: Option<Length>,
    /// From the top of the shell to the top of the insulator.
    pub insulator_mm: Option<Length>,
    /// How far it is said to last.
    pub service_life_km: Option<i64>,
    /// The maker's own tightening torque.
    pub torque_nm: Option<f64>,
    /// Plugs in a box.
    pub pack_size: Option<i64>,
    /// The scale that `heat_code` belongs to.
    pub heat_scale_id: Option<Uuid>,
    /// The maker's own heat code as printed.
    pub heat_code: Option<String>,
    /// Whether the maker still supplies it.
    pub status: Option<Word<Status>>,
    /// The part that took its place.
    pub superseded_by: Option<Uuid>,
    /// Where values come from, by member; one without an entry counts as the maker's sheet.
    pub provenance: BTreeMap<String, Word<Provenance>>,
}

impl PlugData {
    /// A part of which nothing is known but its name.
    pub fn named(maker: &str, part_number: &str) -> Self {
        Self {
            maker: maker.to_owned(),
            part_number: part_number.to_owned(),
            ..Self::default()
        }
    }
}

/// A record of the catalogue.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Plug {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What is established about it.
    #[serde(flatten)]
    pub data: PlugData,
    /// How far out the tip stands, in a word.
    #[serde(default)]
    pub projection_class: Option<Word<ProjectionClass>>,
    /// Left out of lists and matches, kept for its history.
    pub retired: bool,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was first stored.
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    pub updated_at: DateTime<Utc>,
}

impl Plug {
    /// Maker and part number.
    pub fn name(&self) -> String {
        format!("{} {}", self.data.maker, self.data.part_number)
    }
}

records! {
    Plug, "/v1/plugs", from PlugData;
}

impl Client {
    /// Parts by their ids, in this order, however many there are; those that there are not are left out, and
    /// retired ones.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn plugs_by_id(&self, ids: &[Uuid]) -> Result<Vec<Plug>, Error> {
        let mut plugs = Vec::with_capacity(ids.len());
        for some in ids.chunks(IDS) {
            let list = some
                .iter()
                .fold(self.list::<Plug>(), |list, id| list.filter("id", id));
            plugs.extend(list.page(None).await?.items);
        }
        Ok(plugs)
    }
}
