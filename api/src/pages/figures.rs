//! Figures and instants as people read them.

use chrono::{DateTime, Utc};
use plugwell_domain::attribute::Attr;
use plugwell_domain::conversion::{kpa_to_psi, kw_to_hp, mm_to_thou, nm_to_lbf_ft};
use plugwell_domain::decimal::Length;
use plugwell_domain::plug::PlugData;
use plugwell_domain::requirement::{HeatNeed, Quantity, Spark, TorqueNeed};
use serde_json::Value;

use crate::shown::measured;

/// A number with two figures: all that an estimate is worth.
pub(super) fn two_figures(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".into();
    }
    let places = 1 - value.abs().log10().floor() as i32;
    let scale = 10f64.powi(places);
    let rounded = (value * scale).round() / scale;
    // Rounding up may have added a figure: 9.96 is 10, not 10.0.
    let places = 1 - rounded.abs().log10().floor() as i32;
    format!("{rounded:.*}", usize::try_from(places).unwrap_or(0))
}

/// A gap in millimetres and in thousandths of an inch.
pub(super) fn gap(mm: Length) -> String {
    format!("{mm} mm ({:.0} thou)", mm_to_thou(mm.get()))
}

/// Power in both units.
pub(super) fn power(kw: f64) -> String {
    format!("{} kW ({:.0} hp)", short(kw), kw_to_hp(kw))
}

/// Boost in both units.
pub(super) fn boost(kpa: f64) -> String {
    format!("{} kPa ({} psi)", short(kpa), short(kpa_to_psi(kpa)))
}

/// At most one decimal; never a negative nought.
fn short(value: f64) -> String {
    format!("{}", (value * 10.0).round() / 10.0 + 0.0)
}

/// How cold the plug has to be, and against what.
pub(super) fn heat(heat: &HeatNeed) -> (String, String) {
    let Some(target) = heat.target_index else {
        return ("open".into(), String::new());
    };
    let mut told = Vec::new();
    match heat.steps {
        Some(0) => told.push("as the engine came".to_owned()),
        Some(1) => told.push("1 step colder than it came".to_owned()),
        Some(steps) => told.push(format!("{steps} steps colder than it came")),
        None => {}
    }
    if let Some(base) = heat.base_index {
        told.push(format!("with {base}"));
    }
    let capped = match heat.steps_asked {
        Some(asked) if heat.capped => {
            format!("; the rule asks for {}, the use caps it", short(asked))
        }
        _ => String::new(),
    };
    (target.to_string(), format!("{}{capped}", told.join(" ")))
}

/// How many plugs, and what for.
pub(super) fn quantity(quantity: &Quantity, wanted: i64) -> (String, String) {
    let spares = match quantity.spares {
        Some(0) => "no spare".to_owned(),
        Some(1) => "1 spare".to_owned(),
        Some(spares) => format!("{spares} spares"),
        None => String::new(),
    };
    let of_build = quantity.total.map(i64::from) == Some(wanted);
    match quantity.fitted {
        Some(fitted) if of_build => (wanted.to_string(), format!("{fitted} fitted, {spares}")),
        _ => (wanted.to_string(), "as you asked".into()),
    }
}

/// What happens at the spark; figures of an estimate.
pub(super) fn spark(spark: &Spark) -> (String, String) {
    let state = format!(
        "at about {} bar and {} °C",
        two_figures(spark.pressure_kpa / 100.0),
        two_figures(spark.temperature_k - 273.15)
    );
    let has = format!(
        "the coil has {} kV with its reserve kept",
        two_figures(spark.available_kv)
    );
    match (spark.needed_kv, spark.needed_kv_band) {
        (Some(needed), Some([least, most])) => (
            format!("about {} kV", two_figures(needed)),
            format!(
                "{} to {} kV {state}; {has}",
                two_figures(least),
                two_figures(most)
            ),
        ),
        _ => (
            format!("{} kV", two_figures(spark.available_kv)),
            format!("{has}, {state}"),
        ),
    }
}

/// Torque in both units, and how far it can be relied on.
pub(super) fn torque(torque: &TorqueNeed) -> (String, String) {
    let both = |nm: f64| (short(nm), format!("{:.0}", nm_to_lbf_ft(nm)));
    let ((min, min_ft), (max, max_ft)) = (both(torque.min), both(torque.max));
    (
        format!("{min} to {max} N·m"),
        format!(
            "{min_ft} to {max_ft} lbf·ft, dry threads; {}",
            torque.source
        ),
    )
}

/// What a record says of an attribute.
pub(super) fn of_record(data: &PlugData, attr: Attr) -> String {
    measured(
        attr.word(),
        &data
            .facts
            .get(attr)
            .map_or(Value::Null, |raw| attr.to_json(raw)),
    )
}

/// What tells a part from others, in one line.
pub(super) fn in_short(data: &PlugData) -> String {
    let shown = [Attr::Thread, Attr::Reach, Attr::Seat, Attr::Hex]
        .iter()
        .filter(|a| data.facts.get(**a).is_some());
    let mut told: Vec<String> = shown
        .map(|attr| match attr {
            Attr::Reach => format!("reach {}", of_record(data, *attr)),
            Attr::Seat => format!("{} seat", of_record(data, *attr)),
            Attr::Hex => format!("hex {}", of_record(data, *attr)),
            other => of_record(data, *other),
        })
        .collect();
    told.extend(
        data.facts
            .get(Attr::Heat)
            .map(|_| format!("heat {}", of_record(data, Attr::Heat))),
    );
    told.extend(
        data.facts
            .get(Attr::Electrode)
            .map(|_| of_record(data, Attr::Electrode)),
    );
    told.join(" · ")
}

/// An instant, to the minute.
pub(super) fn instant(at: DateTime<Utc>) -> String {
    at.format("%-d %b %Y %H:%M UTC").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::decimal::Decimal;

    #[test]
    fn an_estimate_has_two_figures() {
        for (value, shown) in [
            (1847.0, "1800"),
            (591.0, "590"),
            (19.5, "20"),
            (18.47, "18"),
            (5.43, "5.4"),
            (9.96, "10"),
            (0.694, "0.69"),
            (-3.26, "-3.3"),
            (0.0, "0"),
            (99.6, "100"),
        ] {
            assert_eq!(two_figures(value), shown, "{value}");
        }
    }

    #[test]
    fn both_units_stand_side_by_side() {
        // 1 thou = 0.0254 mm exactly (NIST SP 811), so 0.81 mm is 31.9 of them.
        assert_eq!(gap(Decimal(8_100)), "0.81 mm (32 thou)");
        assert_eq!(power(522.0), "522 kW (700 hp)");
        assert_eq!(boost(55.158), "55.2 kPa (8 psi)");
    }

    #[test]
    fn what_the_use_cut_off_is_said() {
        let need = HeatNeed {
            base_index: Some(Decimal(500)),
            steps_asked: Some(4.31),
            steps: Some(2),
            target_index: Some(Decimal(700)),
            capped: true,
        };
        let (target, against) = heat(&need);
        assert_eq!(target, "70");
        assert_eq!(
            against,
            "2 steps colder than it came with 50; the rule asks for 4.3, the use caps it"
        );
        assert_eq!(
            heat(&HeatNeed {
                steps: Some(0),
                capped: false,
                ..need
            })
            .1,
            "as the engine came with 50"
        );
    }
}
