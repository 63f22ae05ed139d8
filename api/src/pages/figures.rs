//! Figures and instants as people read them.

use plugwell_domain::conversion::{
    M_PER_FOOT, cc_to_cubic_inch, kpa_to_psi, kw_to_hp, mm_to_inch, nm_to_lbf_ft,
};
use plugwell_domain::event::EventKind;
use plugwell_domain::ledger::{Condition, Lot, Money};
use plugwell_domain::requirement::{HeatNeed, Quantity, Spark, TorqueNeed};

use crate::pages::words::{say, say_with};
use crate::shown::short;
pub(super) use crate::shown::{
    boost, day, gap, in_short, instant, label, marked, measured, money, of_record, two_figures,
};

/// What happened, in words: a later version of an event's data says so.
pub(super) fn happened(kind: EventKind) -> String {
    let parts = kind.word().split('.').skip(1);
    let words: Vec<&str> = parts.filter(|part| *part != "v1").collect();
    words.join(" ").replace('_', " ")
}

/// A sum with its currency.
pub(super) fn cost(of: &Money) -> String {
    money(of.minor, &of.currency)
}

/// How the plugs of a lot are, with the gap that they are set to.
pub(super) fn condition(lot: &Lot) -> String {
    match lot.gap_mm {
        Some(mm) if lot.condition == Condition::Gapped => {
            say_with("pages-gapped-to-gap", &[("gap", &gap(mm))])
        }
        _ => lot.condition.word().to_owned(),
    }
}

/// Power in both units.
pub(super) fn power(kw: f64) -> String {
    format!("{} kW ({:.0} hp)", short(kw), kw_to_hp(kw))
}

/// A measure in its unit and in the other that people use; nothing where they use one only.
pub(super) fn both(value: f64, unit: &str) -> Option<String> {
    let (own_places, other, places, of_it) = match unit {
        "mm" => (4, "in", 4, mm_to_inch(value)),
        "kW" => (1, "hp", 1, kw_to_hp(value)),
        "kPa" => (1, "psi", 1, kpa_to_psi(value)),
        "cc" => (1, "cu in", 1, cc_to_cubic_inch(value)),
        "°C" => (1, "°F", 1, value.mul_add(1.8, 32.0)),
        "m" => (1, "ft", 0, value / M_PER_FOOT),
        "N·m" => (2, "lbf·ft", 1, nm_to_lbf_ft(value)),
        _ => return None,
    };
    // At most so many places; never a negative nought.
    let shown = |number: f64, places: i32| {
        let least = 10f64.powi(places);
        (number * least).round() / least + 0.0
    };
    let (own, of_it) = (shown(value, own_places), shown(of_it, places));
    Some(marked(format!("{own} {unit} · {of_it} {other}")))
}

/// How cold the plug has to be, and against what.
pub(super) fn heat(heat: &HeatNeed) -> (String, String) {
    let Some(target) = heat.target_index else {
        return (say("pages-open").into(), String::new());
    };
    let mut told = Vec::new();
    match heat.steps {
        Some(0) => told.push(say("pages-as-the-engine-came").to_owned()),
        Some(steps) => told.push(say_with(
            "pages-steps-colder-than-it-came",
            &[("steps", &steps)],
        )),
        None => {}
    }
    if let Some(base) = heat.base_index {
        told.push(say_with("pages-with-base", &[("base", &base)]));
    }
    let capped = match heat.steps_asked {
        Some(asked) if heat.capped => {
            say_with("pages-rule-asks-use-caps", &[("steps", &short(asked))])
        }
        _ => String::new(),
    };
    (
        marked(target.to_string()),
        format!("{}{capped}", told.join(" ")),
    )
}

/// How many plugs, and what for.
pub(super) fn quantity(quantity: &Quantity, wanted: i64) -> (String, String) {
    let spares = match quantity.spares {
        Some(0) => say("pages-no-spare").to_owned(),
        Some(spares) => say_with("pages-so-many-spares", &[("spares", &spares)]),
        None => String::new(),
    };
    let of_build = quantity.total.map(i64::from) == Some(wanted);
    match quantity.fitted {
        Some(fitted) if of_build => (
            wanted.to_string(),
            say_with(
                "pages-fitted-fitted-spares",
                &[("fitted", &fitted), ("spares", &spares)],
            ),
        ),
        _ => (wanted.to_string(), say("pages-as-you-asked").into()),
    }
}

/// What happens at the spark; figures of an estimate.
pub(super) fn spark(spark: &Spark) -> (String, String) {
    let state = say_with(
        "pages-at-about-bar-and-celsius",
        &[
            ("bar", &two_figures(spark.pressure_kpa / 100.0)),
            ("celsius", &two_figures(spark.temperature_k - 273.15)),
        ],
    );
    let has = say_with(
        "pages-coil-has-kv-reserve-kept",
        &[("kv", &two_figures(spark.available_kv))],
    );
    match (spark.needed_kv, spark.needed_kv_band) {
        (Some(needed), Some([least, most])) => (
            say_with("pages-about-kv", &[("kv", &two_figures(needed))]),
            say_with(
                "pages-kv-least-to-most",
                &[
                    ("least", &two_figures(least)),
                    ("most", &two_figures(most)),
                    ("state", &state),
                    ("has", &has),
                ],
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
        say_with("pages-min-to-max-n-m", &[("min", &min), ("max", &max)]),
        say_with(
            "pages-min-ft-max-ft-lbf",
            &[
                ("min_ft", &min_ft),
                ("max_ft", &max_ft),
                ("source", &torque.source),
            ],
        ),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::decimal::Decimal;

    #[test]
    fn both_units_stand_side_by_side() {
        assert_eq!(power(522.0), "522 kW (700 hp)");
        // NIST SP 811: 1 in = 25.4 mm exactly, 1 psi = 6.894 757 kPa, 1 ft = 0.3048 m exactly.
        assert_eq!(both(19.05, "mm").as_deref(), Some("19.05 mm · 0.75 in"));
        assert_eq!(both(82.737_1, "kPa").as_deref(), Some("82.7 kPa · 12 psi"));
        assert_eq!(both(-40.0, "°C").as_deref(), Some("-40 °C · -40 °F"));
        assert_eq!(both(304.8, "m").as_deref(), Some("304.8 m · 1000 ft"));
        assert_eq!(both(34.0, "kV"), None);
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
