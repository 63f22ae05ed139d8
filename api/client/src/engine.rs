//! Heads and builds.

use chrono::{DateTime, NaiveDate, Utc};
use plugwell_domain::build::{Build, Head};
use plugwell_domain::decimal::{HeatIndex, Length};
use plugwell_domain::thread::Thread;
use plugwell_domain::words::{
    Electrode, Electronics, Fuel, Induction, Material, Seat, Terminal, Use,
};
use serde::Deserialize;
use uuid::Uuid;

use crate::record::records;
use crate::word::Word;

/// What a cylinder head takes, as it is answered; to store one write a [`Head`].
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct HeadFacts {
    /// What the shop calls it.
    #[serde(default)]
    pub name: Option<String>,
    /// Thread of the plug hole.
    pub thread: Word<Thread>,
    /// Depth of the plug hole's thread, from the seat.
    pub reach_mm: Length,
    /// How far a plug's reach may differ.
    #[serde(default)]
    pub reach_tolerance_mm: Option<Length>,
    /// Seat of the plug hole.
    pub seat: Word<Seat>,
    /// The largest hexagon that the plug well takes.
    #[serde(default)]
    pub hex_max_mm: Option<Length>,
    /// Start of the window in which the spark has to stand.
    #[serde(default)]
    pub projection_min_mm: Option<Length>,
    /// End of that window.
    #[serde(default)]
    pub projection_max_mm: Option<Length>,
    /// Heat of the plug that the engine came with.
    #[serde(default)]
    pub heat_index: Option<HeatIndex>,
    /// Connection that lead or coil boot ask for.
    #[serde(default)]
    pub terminal: Option<Word<Terminal>>,
    /// What it is cast of.
    #[serde(default)]
    pub material: Option<Word<Material>>,
    /// Whether the chamber asks for the tight gap band.
    #[serde(default)]
    pub tight_gap: Option<bool>,
}

/// A stored head.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct HeadRecord {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What it takes.
    #[serde(flatten)]
    pub head: HeadFacts,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was first stored.
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    pub updated_at: DateTime<Utc>,
}

/// A stored build; to store one write a [`Build`].
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct BuildRecord {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What the shop calls it.
    #[serde(default)]
    pub name: Option<String>,
    /// The head, in full.
    #[serde(default)]
    pub head: Option<HeadFacts>,
    /// A stored head instead.
    #[serde(default)]
    pub head_id: Option<Uuid>,
    /// What the odometer read last.
    #[serde(default)]
    pub odometer_km: Option<i64>,
    /// When leads or boots were last renewed.
    #[serde(default)]
    pub leads_renewed_on: Option<NaiveDate>,
    /// The plug that was in.
    #[serde(default)]
    pub base_plug_id: Option<Uuid>,
    /// Cylinders.
    pub cylinders: u32,
    /// Plugs in each; 1 where null.
    #[serde(default)]
    pub plugs_per_cylinder: Option<u32>,
    /// How it is fed.
    pub induction: Word<Induction>,
    /// What the car is driven for.
    #[serde(rename = "use")]
    pub purpose: Word<Use>,
    /// Power before the change.
    #[serde(default)]
    pub base_power_kw: Option<f64>,
    /// Power as built.
    #[serde(default)]
    pub power_kw: Option<f64>,
    /// Gauge boost before the change.
    #[serde(default)]
    pub base_boost_kpa: Option<f64>,
    /// Gauge boost as built.
    #[serde(default)]
    pub boost_kpa: Option<f64>,
    /// Swept volume of the engine.
    #[serde(default)]
    pub displacement_cc: Option<f64>,
    /// Geometric compression ratio.
    #[serde(default)]
    pub compression_ratio: Option<f64>,
    /// Stroke.
    #[serde(default)]
    pub stroke_mm: Option<f64>,
    /// Connecting rod between centres.
    #[serde(default)]
    pub rod_mm: Option<f64>,
    /// Intake closing, degrees of crank after bottom dead centre.
    #[serde(default)]
    pub intake_close_deg_abdc: Option<f64>,
    /// Spark, degrees of crank before top dead centre, at full load.
    #[serde(default)]
    pub spark_advance_deg: Option<f64>,
    /// Charge temperature at the intake valve.
    #[serde(default)]
    pub charge_temp_c: Option<f64>,
    /// Height above the sea.
    #[serde(default)]
    pub altitude_m: Option<f64>,
    /// Fuel.
    #[serde(default)]
    pub fuel: Option<Word<Fuel>>,
    /// What the car carries; `[]` is nothing electronic, null is unknown.
    #[serde(default)]
    pub electronics: Option<Vec<Word<Electronics>>>,
    /// Voltage that the coil can give.
    #[serde(default)]
    pub coil_kv: Option<f64>,
    /// Heat steps colder than the base, where the kit's or plug's maker gave them.
    #[serde(default)]
    pub heat_steps: Option<u32>,
    /// Gap to set, where the kit's or plug's maker gave it.
    #[serde(default)]
    pub gap_mm: Option<Length>,
    /// Tip metals that the tuner insists on.
    #[serde(default)]
    pub electrode: Option<Vec<Word<Electrode>>>,
    /// Spare plugs per set.
    #[serde(default)]
    pub spares: Option<u32>,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was first stored.
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    pub updated_at: DateTime<Utc>,
}

records! {
    HeadRecord, "/v1/heads", from Head;
    BuildRecord, "/v1/builds", from Build;
}
