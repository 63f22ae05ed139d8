//! Values as people read them: units beside numbers, inches beside millimetres, words for codes.

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::attribute::Attr;
use plugwell_domain::conversion::{kpa_to_psi, mm_to_inch, mm_to_thou, nm_to_lbf_ft};
use plugwell_domain::decimal::Length;
use plugwell_domain::plug::PlugData;
use plugwell_domain::report::calendar::midnight;
use serde_json::Value;

/// The entries of a list; none where it is no list.
pub fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

/// A text; empty where it is none.
pub fn word(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// A value with its unit, and inches beside millimetres.
pub fn measured(attribute: &str, value: &Value) -> String {
    match (value, attribute.ends_with("_mm")) {
        (Value::Null, _) => "unknown".into(),
        (Value::Bool(flag), _) => if *flag { "yes" } else { "no" }.into(),
        (Value::String(text), _) => text.replace('_', " "),
        (other, true) => {
            let mm = other.as_f64().unwrap_or_default();
            format!("{mm} mm ({:.3} in)", mm_to_inch(mm))
        }
        (other, false) => other
            .as_f64()
            .map_or_else(|| other.to_string(), |n| n.to_string()),
    }
}

/// A test of an attribute in words.
pub fn test(attribute: &str, test: &Value) -> String {
    if let Some(values) = test["one_of"].as_array() {
        return values
            .iter()
            .map(|v| measured(attribute, v))
            .collect::<Vec<_>>()
            .join(" or ");
    }
    match (&test["min"], &test["max"]) {
        (Value::Null, max) => format!("at most {}", measured(attribute, max)),
        (min, Value::Null) => format!("at least {}", measured(attribute, min)),
        (min, max) => format!(
            "{} to {}",
            measured(attribute, min),
            measured(attribute, max)
        ),
    }
}

/// What people call an attribute, or the member of a build.
pub fn label(attribute: &str) -> String {
    attribute.parse::<Attr>().map_or_else(
        |_| attribute.to_owned(),
        |attr| attr.declared().label.to_owned(),
    )
}

/// A number with two figures: all that an estimate is worth.
pub fn two_figures(value: f64) -> String {
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
pub fn gap(mm: Length) -> String {
    format!("{mm} mm ({:.0} thou)", mm_to_thou(mm.get()))
}

/// Boost in both units.
pub fn boost(kpa: f64) -> String {
    format!("{} kPa ({} psi)", short(kpa), short(kpa_to_psi(kpa)))
}

/// At most one decimal; never a negative nought.
pub fn short(value: f64) -> String {
    format!("{}", (value * 10.0).round() / 10.0 + 0.0)
}

/// An instant, to the minute.
pub fn instant(at: DateTime<Utc>) -> String {
    at.format("%-d %b %Y %H:%M UTC").to_string()
}

/// A stretch of time as a sentence: its end is the first instant behind it, so that of whole days the
/// last one is named.
pub fn stretch(from: Option<DateTime<Utc>>, to: Option<DateTime<Utc>>) -> String {
    let is_midnight = |at: DateTime<Utc>| at == midnight(at.date_naive());
    let day = |at: DateTime<Utc>| at.format("%-d %b %Y").to_string();
    let exact = |at: DateTime<Utc>| at.format("%-d %b %Y %H:%M").to_string();
    let begins = from.map(|at| if is_midnight(at) { day(at) } else { exact(at) });
    let ends = to.map(|at| match is_midnight(at) {
        true => day(at - TimeDelta::microseconds(1)),
        false => exact(at),
    });
    let begins = begins.map_or_else(|| "the beginning".to_owned(), |at| at);
    let ends = ends.map_or_else(|| "now".to_owned(), |at| at);
    format!("From {begins} to {ends}, UTC.")
}

/// Up to when there are data, where more was asked for; empty otherwise.
pub fn data_end(asked_to: DateTime<Utc>, data_to: DateTime<Utc>) -> String {
    match data_to < asked_to {
        true => format!(" There are data up to {}.", instant(data_to)),
        false => String::new(),
    }
}

/// What a record says of an attribute.
pub fn of_record(data: &PlugData, attr: Attr) -> String {
    measured(
        attr.word(),
        &data
            .facts
            .get(attr)
            .map_or(Value::Null, |raw| attr.to_json(raw)),
    )
}

/// What tells a part from others, in one line.
pub fn in_short(data: &PlugData) -> String {
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

/// A torque in both units with its source; `None` where there is no figure.
pub fn torque(torque: &Value) -> Option<String> {
    let (min, max) = (torque["min"].as_f64()?, torque["max"].as_f64()?);
    Some(format!(
        "{min} to {max} N·m ({:.0} to {:.0} lbf·ft), dry threads, {}",
        nm_to_lbf_ft(min),
        nm_to_lbf_ft(max),
        word(&torque["source"])
    ))
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
    fn whole_days_are_named_and_instants_are_told_to_the_minute() {
        let at = |text: &str| -> Option<DateTime<Utc>> { text.parse().ok() };
        let (first, last) = (at("2026-03-01T00:00:00Z"), at("2026-04-01T00:00:00Z"));
        assert_eq!(stretch(first, last), "From 1 Mar 2026 to 31 Mar 2026, UTC.");
        assert_eq!(
            stretch(None, at("2026-04-01T08:30:15Z")),
            "From the beginning to 1 Apr 2026 08:30, UTC."
        );
        assert_eq!(stretch(None, None), "From the beginning to now, UTC.");
        let (Some(asked), Some(known)) = (last, first) else {
            panic!("instants");
        };
        assert_eq!(
            data_end(asked, known),
            " There are data up to 1 Mar 2026 00:00 UTC."
        );
        assert_eq!(data_end(known, known), "");
    }

    #[test]
    fn both_units_stand_side_by_side() {
        // 1 thou = 0.0254 mm exactly (NIST SP 811), so 0.81 mm is 31.9 of them.
        assert_eq!(gap(Decimal(8_100)), "0.81 mm (32 thou)");
        assert_eq!(boost(55.158), "55.2 kPa (8 psi)");
    }
}
