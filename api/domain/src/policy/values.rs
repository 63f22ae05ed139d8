//! Every value of the policy, declared once: name, type, unit and bounds.
//!
//! The typed fields, the JSON and TOML shapes, the checks and the schema all come from this list.

use chrono_tz::Tz;
use serde_json::{Map, Value};

use super::figure::{ANY, Bounds, Figure, Form, Judged, Reader, within};
use crate::calendar::CalendarPeriod;
use crate::decimal::{HeatIndex, Length};
use crate::forecast::ForecastMethod;
use crate::words::{DecimalMark, Electrode};

/// The declaration of one value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry {
    /// Its name in JSON and TOML; the unit stands in it.
    pub key: &'static str,
    /// How it is written.
    pub form: Form,
    /// Unit, least and greatest value of a number.
    pub bounds: Bounds,
}

macro_rules! values {
    ($($(#[$meta:meta])* $name:ident: $type:ty = $bounds:expr),+ $(,)?) => {
        /// The values of a policy, each with its label and its sentence.
        #[derive(Debug, Clone, PartialEq)]
        pub struct Values { $($(#[$meta])* pub $name: Judged<$type>),+ }

        /// Every value of a policy, in the order in which it is written.
        pub const ENTRIES: &[Entry] =
            &[$(Entry { key: stringify!($name), form: <$type as Figure>::FORM, bounds: $bounds }),+];

        impl Values {
            /// Reads every value; `None` where one of them has a fault.
            pub(super) fn read(reader: &mut Reader<'_>) -> Option<Self> {
                $(let $name = reader.judged::<$type>(stringify!($name), $bounds);)+
                Some(Self { $($name: $name?),+ })
            }

            /// Every value as it stands in JSON.
            pub(super) fn to_map(&self) -> Map<String, Value> {
                let mut map = Map::new();
                $(map.insert(stringify!($name).to_owned(), self.$name.to_json());)+
                map
            }
        }
    };
}

values! {
    /// How far a plug's reach may differ from the head's where the head says nothing.
    reach_tolerance_mm: Length = within("mm", 0.0, 0.5),
    /// How much larger than the well a hexagon may be in name.
    hex_tolerance_mm: Length = within("mm", 0.0, 1.0),
    /// How much hotter than the target an index may be and still count as the same.
    heat_tolerance: HeatIndex = within("", 0.0, 10.0),
    /// Steps colder than the target that still fit.
    heat_slack_steps: u32 = within("", 0.0, 6.0),
    /// What is left of that slack where the cap of the use stands in the way.
    heat_least_slack: HeatIndex = within("", 0.0, 10.0),
    /// How far a statement may miss in a calibration before it counts as one that breaks the rest.
    calibration_tolerance: HeatIndex = within("", 0.1, 50.0),
    /// Reach of an equivalent part, either way.
    equivalent_reach_tolerance_mm: Length = within("mm", 0.0, 0.5),
    /// Projection of an equivalent part, either way.
    equivalent_projection_tolerance_mm: Length = within("mm", 0.0, 2.0),
    /// Steps colder that an equivalent part may be.
    equivalent_slack_steps: u32 = within("", 0.0, 6.0),
    /// Projection from which a tip is flush, below it recessed.
    projection_flush_from_mm: Length = within("mm", -5.0, 15.0),
    /// Projection from which a tip is projected.
    projection_projected_from_mm: Length = within("mm", -5.0, 15.0),
    /// Projection from which a tip is extended.
    projection_extended_from_mm: Length = within("mm", -5.0, 15.0),

    /// Power gained that asks for one step colder.
    heat_kw_per_step: f64 = within("kW", 1.0, 1000.0),
    /// Boost gained that asks for one step colder where power is unknown.
    heat_kpa_per_step: f64 = within("kPa", 1.0, 500.0),
    /// Steps for a boosted engine of which neither power nor boost tells.
    heat_steps_when_unknown: u32 = within("", 0.0, 6.0),
    /// Most steps for the street below the edge of power.
    heat_cap_street: u32 = within("", 0.0, 6.0),
    /// Most steps for the street from that edge on.
    heat_cap_street_high_power: u32 = within("", 0.0, 6.0),
    /// The edge of power of the street's cap.
    heat_cap_high_power_from_kw: f64 = within("kW", 1.0, 3000.0),
    /// Most steps for the track.
    heat_cap_track: u32 = within("", 0.0, 6.0),
    /// Most steps for the strip.
    heat_cap_strip: u32 = within("", 0.0, 6.0),
    /// Least that a step changes the temperature of the tip.
    tip_step_min_k: f64 = within("K", 1.0, 500.0),
    /// Most that a step changes it.
    tip_step_max_k: f64 = within("K", 1.0, 500.0),
    /// Lowest temperature given for a tip that burns itself clean.
    tip_clean_min_c: f64 = within("°C", 0.0, 1500.0),
    /// Highest temperature given for it.
    tip_clean_max_c: f64 = within("°C", 0.0, 1500.0),
    /// Lowest temperature given for a tip that lights the mixture by itself.
    tip_glow_min_c: f64 = within("°C", 0.0, 1500.0),
    /// Highest temperature given for it.
    tip_glow_max_c: f64 = within("°C", 0.0, 1500.0),

    /// Boosted, below the middle band: least gap.
    gap_low_min_mm: Length = within("mm", 0.2, 2.5),
    /// Boosted, below the middle band: greatest gap.
    gap_low_max_mm: Length = within("mm", 0.2, 2.5),
    /// Power from which the middle band holds.
    gap_mid_from_kw: f64 = within("kW", 1.0, 3000.0),
    /// Middle band: least gap.
    gap_mid_min_mm: Length = within("mm", 0.2, 2.5),
    /// Middle band: greatest gap.
    gap_mid_max_mm: Length = within("mm", 0.2, 2.5),
    /// Power from which the bands go over, and from which a tight-gap head has the tight band.
    gap_transition_from_kw: f64 = within("kW", 1.0, 3000.0),
    /// Power from which every engine has the tight band.
    gap_tight_from_kw: f64 = within("kW", 1.0, 3000.0),
    /// Tight band: least gap.
    gap_tight_min_mm: Length = within("mm", 0.2, 2.5),
    /// Tight band: greatest gap.
    gap_tight_max_mm: Length = within("mm", 0.2, 2.5),
    /// Naturally aspirated: least gap.
    gap_na_min_mm: Length = within("mm", 0.2, 2.5),
    /// Naturally aspirated: greatest gap, and the gap of a plug whose own is unknown.
    gap_na_max_mm: Length = within("mm", 0.2, 2.5),
    /// How far the plugs of a set may differ.
    gap_tolerance_mm: Length = within("mm", 0.0, 0.2),
    /// Below this gap the coil is called too weak.
    gap_least_mm: Length = within("mm", 0.2, 2.5),

    /// Share of the coil's voltage that is kept back.
    coil_reserve: f64 = within("", 0.0, 0.9),
    /// Voltage that a plug needs, over that of a uniform field.
    breakdown_factor: f64 = within("", 0.1, 2.0),
    /// The least that real plugs need, over the same.
    breakdown_band_min: f64 = within("", 0.1, 2.0),
    /// The most that they need.
    breakdown_band_max: f64 = within("", 0.1, 2.0),
    /// Exponent of the compression.
    polytropic_n: f64 = within("", 1.0, 1.67),
    /// Voltage of a coil of which nothing is known.
    assumed_coil_kv: f64 = within("kV", 5.0, 120.0),
    /// Intake closing where it is unknown, after bottom dead centre.
    assumed_intake_close_deg_abdc: f64 = within("°", 0.0, 110.0),
    /// Spark where it is unknown, before top dead centre.
    assumed_spark_advance_deg: f64 = within("°", -10.0, 70.0),
    /// Charge temperature of a boosted engine where it is unknown.
    assumed_charge_temp_c: f64 = within("°C", -40.0, 250.0),
    /// Charge temperature of a naturally aspirated engine where it is unknown.
    assumed_charge_temp_na_c: f64 = within("°C", -40.0, 250.0),
    /// Rod length over crank radius where either is unknown.
    assumed_rod_over_crank: f64 = within("", 2.2, 8.0),
    /// Altitude where it is unknown.
    assumed_altitude_m: f64 = within("m", -500.0, 6000.0),
    /// Share by which the picture of the spark varies the boost, either way.
    picture_boost_share: f64 = within("", 0.0, 0.9),
    /// Under this boost a blown engine's figure looks like psi.
    slip_boost_kpa: f64 = within("kPa", 0.0, 600.0),
    /// Above this power per litre a figure looks like horsepower.
    slip_power_kw_per_l: f64 = within("kW/l", 1.0, 3000.0),

    /// Tip metals that are preferred on the street.
    street_metals: Vec<Electrode> = ANY,
    /// Life of a nickel tip in a boosted engine.
    life_nickel_boosted_km: u32 = within("km", 1.0, 1_000_000.0),
    /// Life of a nickel tip in another.
    life_nickel_km: u32 = within("km", 1.0, 1_000_000.0),
    /// Life of a platinum or iridium tip.
    life_precious_km: u32 = within("km", 1.0, 1_000_000.0),
    /// Share of its maker's life, or of a platinum or iridium tip's, that a boosted engine leaves.
    life_boosted_share: f64 = within("", 0.1, 1.0),
    /// Share of its life from which a set is said to near the end of it.
    life_near_share: f64 = within("", 0.1, 1.0),

    /// Points beyond the target from which a plug that is colder than the window is far too cold.
    heat_far_too_cold: HeatIndex = within("", 5.0, 60.0),
    /// How far a measured gap may lie under the one to set before it is called too small.
    gap_small_by_mm: Length = within("mm", 0.0, 1.0),
    /// Plug changes from which leads that were not renewed are looked at before the plugs.
    lead_changes_due: u32 = within("", 1.0, 100.0),

    /// What a caliper may be wrong by where nobody says.
    caliper_uncertainty_mm: Length = within("mm", 0.0, 0.5),
    /// What an ohmmeter may be wrong by, as a share of the reading.
    ohmmeter_uncertainty: f64 = within("", 0.0, 0.5),
    /// What a wire or feeler gauge may be wrong by where nobody says.
    gauge_uncertainty_mm: Length = within("mm", 0.0, 0.5),
    /// How far the gap of a sealed plug may differ from its record.
    incoming_gap_tolerance_mm: Length = within("mm", 0.0, 0.5),
    /// How far crests may be worn below the least of a thread and still name it.
    thread_wear_mm: Length = within("mm", 0.0, 0.3),
    /// How far the projection of a plug may differ from its record.
    unmarked_projection_tolerance_mm: Length = within("mm", 0.0, 2.0),
    /// How far its heights may differ from the record.
    unmarked_height_tolerance_mm: Length = within("mm", 0.0, 2.0),
    /// How far a resistor may differ from the record, as a share of it.
    resistor_spread: f64 = within("", 0.0, 0.9),
    /// Up to this resistance there is no resistor.
    no_resistor_to_ohm: f64 = within("Ω", 0.1, 499.0),
    /// From this resistance on one is fitted.
    resistor_from_ohm: f64 = within("Ω", 500.0, 5000.0),
    /// Above this resistance it is broken.
    resistor_to_ohm: f64 = within("Ω", 5000.0, 50_000.0),
    /// The share of readings that are plain mistakes.
    misread_share: f64 = within("", 1e-6, 3e-4),

    /// What demand is counted by.
    demand_period: CalendarPeriod = ANY,
    /// So many whole periods are looked back at.
    demand_history_periods: u32 = within("", 2.0, 520.0),
    /// Fewer whole periods than this are too little history for a forecast.
    demand_least_periods: u32 = within("", 2.0, 104.0),
    /// Fewer periods with demand than this are forecast by their mean.
    demand_least_sizes: u32 = within("", 1.0, 104.0),
    /// After so many average intervals without demand it counts as silent.
    demand_silent_intervals: f64 = within("", 1.0, 100.0),
    /// Method for smooth demand.
    method_smooth: ForecastMethod = ANY,
    /// Method for erratic demand.
    method_erratic: ForecastMethod = ANY,
    /// Method for intermittent demand.
    method_intermittent: ForecastMethod = ANY,
    /// Method for lumpy demand.
    method_lumpy: ForecastMethod = ANY,
    /// Method for demand of whatever class that has fallen silent.
    method_silent: ForecastMethod = ANY,
    /// Smoothing of sizes and intervals.
    forecast_alpha: f64 = within("", 0.01, 1.0),
    /// Smoothing of the probability of demand.
    forecast_beta: f64 = within("", 0.01, 1.0),
    /// Share of replenishments before which the shelf is not to run empty.
    service_level: f64 = within("", 0.5, 0.9999),
    /// What one order of one part costs in work and carriage, in minor units of the currency.
    order_cost_minor: u32 = within("", 1.0, 10_000_000.0),
    /// What a year on the shelf costs, as a share of the value.
    holding_rate: f64 = within("", 0.01, 5.0),
    /// Cost of a plug where nobody has said it, in minor units of the currency.
    assumed_unit_cost_minor: u32 = within("", 1.0, 10_000_000.0),
    /// Spread of a lead time as a share of it, where past orders do not tell.
    lead_time_spread_share: f64 = within("", 0.0, 3.0),
    /// Sets that a booked build is taken to need in a year, for a part without history.
    booked_sets_per_year: u32 = within("", 1.0, 52.0),

    /// Spare plugs with a set.
    spares_per_set: u32 = within("", 0.0, 100.0),
    /// How long before a tuning day what is short has to be ordered.
    order_lead_days: u32 = within("d", 0.0, 365.0),
    /// How long after a tuning day its plugs are still kept for it.
    tuning_day_kept_days: u32 = within("d", 0.0, 365.0),
    /// How long a reservation keeps plugs where nobody says; 0 keeps them until issued or released.
    reservation_kept_days: u32 = within("d", 0.0, 365.0),
    /// Growth of the gap over a pull, or its closing, that a reading makes something of.
    reading_gap_growth_mm: Length = within("mm", 0.0, 0.5),
    /// How long a slip of the scanner into the scrap drum may be taken back.
    scrap_reversal_hours: u32 = within("h", 0.0, 8760.0),
    /// Up to so many plugs a difference of a count does not ask for a recount by its share.
    count_recount_plugs: u32 = within("", 0.0, 1_000_000.0),
    /// The share of what is expected from which a difference asks for one.
    count_recount_share: f64 = within("", 0.0, 1.0),
    /// The cost of a difference, in minor units of the shop's currency, from which it asks for one.
    count_recount_cost_minor: u32 = within("", 0.0, 1_000_000_000.0),
    /// How long nothing of a part was issued before its stock is called dead, and is used up before an
    /// equivalent is ordered.
    dead_stock_days: u32 = within("d", 1.0, 3650.0),
    /// The one currency of the shop.
    currency: String = ANY,
    /// The time zone in which its pages tell times.
    time_zone: Tz = ANY,
    /// What its pages put between whole and part of a number.
    decimal_mark: DecimalMark = ANY,
}

/// Pairs of values of which the first may not be greater than the second.
pub const NOT_ABOVE: &[(&str, &str)] = &[
    ("tip_step_min_k", "tip_step_max_k"),
    ("tip_clean_min_c", "tip_clean_max_c"),
    ("tip_clean_max_c", "tip_glow_min_c"),
    ("tip_glow_min_c", "tip_glow_max_c"),
    ("gap_low_min_mm", "gap_low_max_mm"),
    ("gap_mid_min_mm", "gap_mid_max_mm"),
    ("gap_tight_min_mm", "gap_tight_max_mm"),
    ("gap_na_min_mm", "gap_na_max_mm"),
    ("gap_least_mm", "gap_low_min_mm"),
    ("gap_least_mm", "gap_mid_min_mm"),
    ("gap_least_mm", "gap_tight_min_mm"),
    ("gap_least_mm", "gap_na_min_mm"),
    ("heat_cap_street", "heat_cap_street_high_power"),
    ("breakdown_band_min", "breakdown_factor"),
    ("breakdown_factor", "breakdown_band_max"),
];

/// Pairs of values of which the first has to be less than the second.
pub const BELOW: &[(&str, &str)] = &[
    ("projection_flush_from_mm", "projection_projected_from_mm"),
    (
        "projection_projected_from_mm",
        "projection_extended_from_mm",
    ),
    ("gap_mid_from_kw", "gap_transition_from_kw"),
    ("gap_transition_from_kw", "gap_tight_from_kw"),
];
