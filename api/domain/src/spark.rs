//! From the intake valve to the spark, and the voltage that the spark then needs.
//!
//! Two steps, both labelled **physics that can be recomputed**:
//!
//! - *Compression.* The slider-crank gives the volume at intake closing and at the spark; between them the
//!   charge is compressed polytropically from ambient (ISO 2533) plus boost. An exponent of 1.32 lies within
//!   2.5 % of a frozen stoichiometric charge.
//! - *Breakdown.* The uniform-field formula of the high-voltage handbooks, within 6 % of the sphere-gap
//!   voltages of IEC 60052 over the range of engines. A real plug has sharp, hot electrodes and needs less:
//!   the factor that says how much less is an **own estimate**, kept in the policy and handed in here.
//!   Paschen's law is 11 to 16 % high there and serves for comparison only.
//!
//! An estimate in any case: never three digits on a screen. Pressures are absolute kPa unless called boost,
//! temperatures kelvin unless called `_c`, gaps millimetres, voltages kV.

/// One standard atmosphere, kPa (ISO 2533).
pub const STANDARD_ATMOSPHERE_KPA: f64 = 101.325;

/// The least absolute intake pressure that is computed with, kPa: an own figure.
///
/// A boost of −50 kPa at 6000 m would leave less than a vacuum. Such a build contradicts itself; the floor
/// keeps every answer finite and positive.
pub const LEAST_INTAKE_KPA: f64 = 1.0;

const ZERO_CELSIUS_K: f64 = 273.15;

/// Cylinder volume over clearance volume, `degrees` from top dead centre (either side).
///
/// `V/Vc = 1 + (r − 1)/2 · (R + 1 − cos θ − √(R² − sin² θ))`, r = compression ratio, R = rod length over crank
/// radius, at least 1.
pub fn volume_ratio(compression_ratio: f64, rod_over_crank: f64, degrees: f64) -> f64 {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let rod = (rod_over_crank * rod_over_crank - sin * sin).sqrt();
    1.0 + (compression_ratio - 1.0) / 2.0 * (rod_over_crank + 1.0 - cos - rod)
}

/// Pressure of the standard atmosphere, kPa, in the troposphere (up to 11 000 m).
///
/// ISO 2533 in its closed form, `p₀ (1 − βH/T₀)^(g/Rβ)`. The altitude is read as *geopotential*; taken as
/// geometric height the answer would differ by less than 15 Pa up to 3000 m.
pub fn ambient_kpa(altitude_m: f64) -> f64 {
    const SEA_LEVEL_K: f64 = 288.15;
    const LAPSE_K_PER_M: f64 = 0.0065;
    const GRAVITY: f64 = 9.806_65;
    const GAS_CONSTANT: f64 = 287.052_87;
    let exponent = GRAVITY / (GAS_CONSTANT * LAPSE_K_PER_M);
    STANDARD_ATMOSPHERE_KPA * (1.0 - LAPSE_K_PER_M * altitude_m / SEA_LEVEL_K).powf(exponent)
}

/// What decides pressure and temperature in the cylinder when the spark comes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compression {
    /// Geometric compression ratio.
    pub compression_ratio: f64,
    /// Rod length over crank radius (half the stroke).
    pub rod_over_crank: f64,
    /// Intake closing, degrees after bottom dead centre.
    pub intake_close_deg_abdc: f64,
    /// Spark, degrees before top dead centre; negative: after it.
    pub spark_advance_deg: f64,
    /// Charge in the intake, °C.
    pub charge_temp_c: f64,
    /// Altitude, m (geopotential).
    pub altitude_m: f64,
    /// Boost, kPa gauge.
    pub boost_kpa: f64,
    /// Polytropic exponent of the compression.
    pub polytropic_n: f64,
}

/// The charge when the spark comes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtSpark {
    /// Absolute pressure, kPa.
    pub pressure_kpa: f64,
    /// Temperature, K.
    pub temperature_k: f64,
}

impl Compression {
    /// Absolute pressure in the cylinder when the intake valve closes, kPa.
    pub fn intake_kpa(&self) -> f64 {
        (ambient_kpa(self.altitude_m) + self.boost_kpa).max(LEAST_INTAKE_KPA)
    }

    /// Volume at intake closing over volume at the spark; below 1 for a spark before the valve closes.
    pub fn effective_ratio(&self) -> f64 {
        let volume_at =
            |degrees| volume_ratio(self.compression_ratio, self.rod_over_crank, degrees);
        volume_at(180.0 - self.intake_close_deg_abdc) / volume_at(self.spark_advance_deg)
    }

    /// Pressure and temperature at the spark: `p = p₁ rⁿ`, `T = T₁ rⁿ⁻¹`, r from intake closing to the spark.
    pub fn at_spark(&self) -> AtSpark {
        let ratio = self.effective_ratio();
        AtSpark {
            pressure_kpa: self.intake_kpa() * ratio.powf(self.polytropic_n),
            temperature_k: (self.charge_temp_c + ZERO_CELSIUS_K)
                * ratio.powf(self.polytropic_n - 1.0),
        }
    }
}

/// Uniform-field breakdown, kV per cm of gap at standard density.
const KV_PER_CM: f64 = 24.22;
/// Uniform-field breakdown, kV per square root of such a cm.
const KV_PER_SQRT_CM: f64 = 6.08;
/// The temperature of the handbooks' standard density, K.
const UNIFORM_FIELD_K: f64 = 293.0;

/// How many times denser than at 1 atm and 293 K the gas is.
fn relative_density(pressure_kpa: f64, temperature_k: f64) -> f64 {
    pressure_kpa / STANDARD_ATMOSPHERE_KPA * (UNIFORM_FIELD_K / temperature_k)
}

/// Voltage that air of this density holds across a gap between smooth, cold electrodes, kV.
///
/// `U = 24.22 x + 6.08 √x`, x = gap in cm × density relative to 1 atm, 293 K. No gap or no gas: 0.
pub fn uniform_breakdown_kv(gap_mm: f64, pressure_kpa: f64, temperature_k: f64) -> f64 {
    let x = (gap_mm / 10.0 * relative_density(pressure_kpa, temperature_k)).max(0.0);
    KV_PER_CM * x + KV_PER_SQRT_CM * x.sqrt()
}

/// Voltage that a plug is taken to need: `factor` × [`uniform_breakdown_kv`].
pub fn needed_kv(factor: f64, gap_mm: f64, pressure_kpa: f64, temperature_k: f64) -> f64 {
    factor * uniform_breakdown_kv(gap_mm, pressure_kpa, temperature_k)
}

/// The gap whose [`uniform_breakdown_kv`] is just `kv`, mm: the inverse, in closed form.
///
/// For a plug that needs `factor` × U, hand in the voltage that there is, divided by `factor`. Pressure and
/// temperature must be positive; no voltage: 0.
pub fn largest_gap_mm(kv: f64, pressure_kpa: f64, temperature_k: f64) -> f64 {
    let kv = kv.max(0.0);
    // The quadratic in √x, solved in the form that does not subtract nearly equal numbers.
    let root = (KV_PER_SQRT_CM * KV_PER_SQRT_CM + 4.0 * KV_PER_CM * kv).sqrt();
    let sqrt_x = 2.0 * kv / (KV_PER_SQRT_CM + root);
    10.0 * sqrt_x * sqrt_x / relative_density(pressure_kpa, temperature_k)
}

/// Constants of Paschen's law for one gas, with pressure in Torr reduced to 293.15 K.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paschen {
    /// Saturated ionisation, 1/(cm·Torr).
    pub a_per_cm_torr: f64,
    /// Field per ionisation energy, V/(cm·Torr).
    pub b_v_per_cm_torr: f64,
    /// Secondary electrons per ion at the cathode.
    pub gamma: f64,
}

impl Paschen {
    /// Air with the constants that most textbooks print: A 15, B 365, γ 0.01.
    pub const AIR: Self = Self {
        a_per_cm_torr: 15.0,
        b_v_per_cm_torr: 365.0,
        gamma: 0.01,
    };

    /// `ln(1 + 1/γ)`: the ionisation that keeps itself going.
    fn self_sustaining(&self) -> f64 {
        (1.0 / self.gamma).ln_1p()
    }

    /// Pressure × gap at the minimum, Torr·cm.
    pub fn least_torr_cm(&self) -> f64 {
        std::f64::consts::E * self.self_sustaining() / self.a_per_cm_torr
    }

    /// Breakdown voltage, kV: `V = B·pd / (ln(A·pd) − ln ln(1 + 1/γ))`.
    ///
    /// Left of the minimum the spark takes a longer way round, so the minimum is served there.
    pub fn breakdown_kv(&self, gap_mm: f64, pressure_kpa: f64, temperature_k: f64) -> f64 {
        const TORR_PER_KPA: f64 = 760.0 / STANDARD_ATMOSPHERE_KPA;
        const REDUCED_TO_K: f64 = 293.15;
        let torr = pressure_kpa * TORR_PER_KPA * (REDUCED_TO_K / temperature_k);
        let pd = (torr * gap_mm / 10.0).max(self.least_torr_cm());
        let volts = self.b_v_per_cm_torr * pd
            / ((self.a_per_cm_torr * pd).ln() - self.self_sustaining().ln());
        volts / 1000.0
    }
}

/// Paschen's law for air, kV: for comparison with [`uniform_breakdown_kv`] only.
pub fn paschen_kv(gap_mm: f64, pressure_kpa: f64, temperature_k: f64) -> f64 {
    Paschen::AIR.breakdown_kv(gap_mm, pressure_kpa, temperature_k)
}
