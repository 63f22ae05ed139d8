//! A cylinder head and an engine as built over it: what a tuner tells of a car.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::attribute::{Attr, Kind};
use crate::decimal::{HeatIndex, Length, exact};
use crate::fault::{Check, Fault, FaultCode, name_fault};
use crate::thread::Thread;
use crate::words::{Electrode, Electronics, Fuel, Induction, Material, Seat, Terminal, Use};

/// What a cylinder head takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Head {
    /// What the shop calls it.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub name: Option<String>,
    /// Thread of the plug hole.
    pub thread: Thread,
    /// Depth of the plug hole's thread, from the seat.
    pub reach_mm: Length,
    /// How far a plug's reach may differ, up to 0.5; the policy's figure where null.
    #[serde(default)]
    pub reach_tolerance_mm: Option<Length>,
    /// Seat of the plug hole.
    pub seat: Seat,
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
    pub terminal: Option<Terminal>,
    /// What it is cast of.
    #[serde(default)]
    pub material: Option<Material>,
    /// Whether the chamber asks for the tight gap band.
    #[serde(default)]
    pub tight_gap: Option<bool>,
}

/// The members of a build that describe the engine; the head stands beside them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Engine {
    /// The plug that was in: lends heat and terminal where the head gives none.
    #[serde(default)]
    pub base_plug_id: Option<Uuid>,
    /// Cylinders.
    pub cylinders: u32,
    /// Plugs in each; 1 where null.
    #[serde(default)]
    pub plugs_per_cylinder: Option<u32>,
    /// How it is fed.
    pub induction: Induction,
    /// What the car is driven for.
    #[serde(rename = "use")]
    pub purpose: Use,
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
    /// Fuel; gives cautions only.
    #[serde(default)]
    pub fuel: Option<Fuel>,
    /// What the car carries; `[]` is nothing electronic, null is unknown.
    #[serde(default)]
    pub electronics: Option<Vec<Electronics>>,
    /// Voltage that the coil can give.
    #[serde(default)]
    pub coil_kv: Option<f64>,
    /// Heat steps colder than the base, from the kit's or plug's maker: stands above the rule.
    #[serde(default)]
    pub heat_steps: Option<u32>,
    /// Gap to set, from the kit's or plug's maker: stands above the rule.
    #[serde(default)]
    pub gap_mm: Option<Length>,
    /// Tip metals that the tuner insists on.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_items = 1))]
    pub electrode: Option<Vec<Electrode>>,
    /// Spare plugs per set.
    #[serde(default)]
    pub spares: Option<u32>,
}

impl Engine {
    /// Plugs in the engine.
    pub fn plugs(&self) -> i64 {
        i64::from(self.cylinders) * i64::from(self.plugs_per_cylinder.unwrap_or(1))
    }
}

/// An engine over an inline head: the body of a question that stores nothing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Build {
    /// What the shop calls it.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub name: Option<String>,
    /// The head, in full.
    #[serde(default)]
    pub head: Option<Head>,
    /// A stored head instead.
    #[serde(default)]
    pub head_id: Option<Uuid>,
    /// What the car's odometer reads now: how far the set that is in has run. Changed to another reading,
    /// never to less than what it, or an issue for the build that stands, has told; a wrong one is cleared with
    /// null.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 0, maximum = 10_000_000))]
    pub odometer_km: Option<i64>,
    /// The day on which leads or boots were last renewed: plug changes count from there.
    #[serde(default)]
    pub leads_renewed_on: Option<NaiveDate>,
    /// The engine over it.
    #[serde(flatten)]
    pub engine: Engine,
}

/// Bounds of a quantity that is no attribute of a plug: of a build, a head, what is fitted, or a plug
/// that is read.
#[derive(Debug, Clone, Copy)]
pub struct Quantity {
    /// Its member in JSON.
    pub field: &'static str,
    /// Unit as printed; empty for a pure number.
    pub unit: &'static str,
    /// Least allowed value.
    pub min: f64,
    /// Greatest allowed value.
    pub max: f64,
}

const fn quantity(field: &'static str, unit: &'static str, min: f64, max: f64) -> Quantity {
    Quantity {
        field,
        unit,
        min,
        max,
    }
}

/// Every bounded quantity, declared once.
pub const QUANTITIES: &[Quantity] = &[
    quantity("reach_tolerance_mm", "mm", 0.0, 0.5),
    quantity("hex_max_mm", "mm", 8.0, 30.0),
    quantity("projection_min_mm", "mm", -5.0, 15.0),
    quantity("projection_max_mm", "mm", -5.0, 15.0),
    quantity("cylinders", "", 1.0, 16.0),
    quantity("plugs_per_cylinder", "", 1.0, 3.0),
    quantity("base_power_kw", "kW", 1.0, 3000.0),
    quantity("power_kw", "kW", 1.0, 3000.0),
    quantity("base_boost_kpa", "kPa", -50.0, 600.0),
    quantity("boost_kpa", "kPa", -50.0, 600.0),
    quantity("displacement_cc", "cc", 50.0, 20_000.0),
    quantity("compression_ratio", "", 4.0, 25.0),
    quantity("stroke_mm", "mm", 20.0, 250.0),
    quantity("rod_mm", "mm", 40.0, 500.0),
    quantity("intake_close_deg_abdc", "°", 0.0, 110.0),
    quantity("spark_advance_deg", "°", -10.0, 70.0),
    quantity("charge_temp_c", "°C", -40.0, 250.0),
    quantity("altitude_m", "m", -500.0, 6000.0),
    quantity("coil_kv", "kV", 5.0, 120.0),
    quantity("heat_steps", "", 0.0, 6.0),
    quantity("gap_mm", "mm", 0.2, 2.5),
    quantity("spares", "", 0.0, 100.0),
    quantity("distance_km", "km", 0.0, 1_000_000.0),
    quantity("dropped", "", 0.0, 48.0),
    quantity("lead_changes", "", 0.0, 1000.0),
    quantity("gap_before_mm", "mm", 0.2, 2.5),
    // A gap that was hammered shut is 0.
    quantity("gap_after_mm", "mm", 0.0, 2.5),
    quantity("major_diameter_mm", "mm", 3.0, 40.0),
    quantity("pitch_mm", "mm", 0.2, 5.0),
];

/// Rod length over crank radius that an engine can have.
pub const ROD_OVER_CRANK: std::ops::RangeInclusive<f64> = 2.2..=8.0;

/// Least, greatest value and decimal places of a member by its name, for attributes of a plug and
/// quantities of a build alike; places are `None` where a number may be as fine as it likes.
pub fn bounds(field: &str) -> Option<(f64, f64, Option<u32>)> {
    if let Ok(attr) = field.parse::<Attr>() {
        return match attr.declared().kind {
            Kind::Number {
                decimals, min, max, ..
            } => Some((min, max, Some(decimals))),
            Kind::Flag | Kind::Choice(_) => None,
        };
    }
    let declared = QUANTITIES.iter().find(|q| q.field == field)?;
    let length_of_a_part = matches!(
        field,
        "reach_tolerance_mm"
            | "hex_max_mm"
            | "projection_min_mm"
            | "projection_max_mm"
            | "gap_mm"
            | "gap_before_mm"
            | "gap_after_mm"
            | "major_diameter_mm"
            | "pitch_mm"
    );
    Some((
        declared.min,
        declared.max,
        length_of_a_part.then_some(Length::PLACES),
    ))
}

/// The fault of a number that lies outside the bounds of its member or is too fine.
pub fn bound_fault(field: &str, value: f64) -> Option<Fault> {
    let (min, max, places) = bounds(field)?;
    if !(min..=max).contains(&value) {
        return Some(Fault::at(
            field,
            FaultCode::OutOfRange,
            format!("{value} is outside {min} to {max}"),
        ));
    }
    let too_fine = exact(value, places?).err()?;
    Some(Fault::at(field, FaultCode::TooFine, too_fine.to_string()))
}

/// The fault of an odometer that no car has.
pub fn odometer_fault(km: Option<i64>) -> Option<Fault> {
    let km = km.filter(|km| !(0..=10_000_000).contains(km))?;
    let detail = format!("{km} is outside 0 to 10000000");
    Some(Fault::at("odometer_km", FaultCode::OutOfRange, detail))
}

impl Check for Head {
    fn faults(&self) -> Vec<Fault> {
        let lengths = [
            ("reach_mm", Some(self.reach_mm)),
            ("reach_tolerance_mm", self.reach_tolerance_mm),
            ("hex_max_mm", self.hex_max_mm),
            ("projection_min_mm", self.projection_min_mm),
            ("projection_max_mm", self.projection_max_mm),
        ];
        let mut faults: Vec<Fault> = name_fault("name", self.name.as_deref())
            .into_iter()
            .chain(
                lengths
                    .iter()
                    .filter_map(|(field, value)| bound_fault(field, (*value)?.get())),
            )
            .collect();
        faults.extend(
            self.heat_index
                .and_then(|h| bound_fault("heat_index", h.get())),
        );
        if let (Some(min), Some(max)) = (self.projection_min_mm, self.projection_max_mm)
            && min > max
        {
            faults.push(Fault::at(
                "projection_min_mm",
                FaultCode::Contradiction,
                "the projection window starts behind its end",
            ));
        }
        faults
    }
}

impl Check for Engine {
    fn faults(&self) -> Vec<Fault> {
        let whole = |n: Option<u32>| n.map(f64::from);
        let numbers = [
            ("cylinders", Some(f64::from(self.cylinders))),
            ("plugs_per_cylinder", whole(self.plugs_per_cylinder)),
            ("base_power_kw", self.base_power_kw),
            ("power_kw", self.power_kw),
            ("base_boost_kpa", self.base_boost_kpa),
            ("boost_kpa", self.boost_kpa),
            ("displacement_cc", self.displacement_cc),
            ("compression_ratio", self.compression_ratio),
            ("stroke_mm", self.stroke_mm),
            ("rod_mm", self.rod_mm),
            ("intake_close_deg_abdc", self.intake_close_deg_abdc),
            ("spark_advance_deg", self.spark_advance_deg),
            ("charge_temp_c", self.charge_temp_c),
            ("altitude_m", self.altitude_m),
            ("coil_kv", self.coil_kv),
            ("heat_steps", whole(self.heat_steps)),
            ("gap_mm", self.gap_mm.map(Length::get)),
            ("spares", whole(self.spares)),
        ];
        let mut faults: Vec<Fault> = numbers
            .iter()
            .filter_map(|(field, value)| bound_fault(field, (*value)?))
            .collect();
        if let (Some(stroke), Some(rod)) = (self.stroke_mm, self.rod_mm) {
            let ratio = rod / (stroke / 2.0);
            if !ROD_OVER_CRANK.contains(&ratio) {
                let detail = format!(
                    "rod over crank radius is {ratio:.2}, outside {} to {}: one of rod_mm and stroke_mm is mistyped",
                    ROD_OVER_CRANK.start(),
                    ROD_OVER_CRANK.end()
                );
                faults.push(Fault::at("rod_mm", FaultCode::Contradiction, detail));
            }
        }
        if self.electrode.as_ref().is_some_and(Vec::is_empty) {
            let detail = "an empty list rules out every metal; leave it null to accept any";
            faults.push(Fault::at("electrode", FaultCode::OutOfRange, detail));
        }
        faults
    }
}

impl Check for Build {
    fn faults(&self) -> Vec<Fault> {
        let mut faults: Vec<Fault> = name_fault("name", self.name.as_deref())
            .into_iter()
            .collect();
        faults.extend(self.engine.faults());
        faults.extend(odometer_fault(self.odometer_km));
        match (&self.head, self.head_id) {
            (None, None) => faults.push(Fault::at(
                "head",
                FaultCode::Missing,
                "give head or head_id",
            )),
            (Some(_), Some(_)) => {
                faults.push(Fault::at(
                    "head_id",
                    FaultCode::NotTogether,
                    "give either head or head_id, not both",
                ));
            }
            (Some(_), None) | (None, Some(_)) => {}
        }
        let head = self.head.iter().flat_map(Check::faults);
        faults.extend(head.map(|f| f.under("head")));
        let heat = self.head.as_ref().is_none_or(|h| h.heat_index.is_some());
        if !heat && self.engine.base_plug_id.is_none() {
            let detail = "give the head's heat_index, or base_plug_id: the plug that was in";
            faults.push(Fault::at("head/heat_index", FaultCode::Missing, detail));
        }
        faults
    }
}
