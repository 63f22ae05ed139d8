//! What a record says, field by field, in both units.

use plugwell_domain::conversion::{CC_PER_CUBIC_INCH, M_PER_FOOT};
use serde_json::Value;

use crate::pages::figures::{boost, power};
use crate::pages::form::{Declared, Form};
use crate::pages::words::say;
use crate::shown::{measured, short};

/// What stands in a record of fields, by their labels; what was left open is left out.
pub(super) fn facts(declared: &[Declared], record: &Value) -> Vec<(&'static str, String)> {
    let told = declared.iter().filter(|one| !is_of_another(one.form));
    let told = told.map(|one| (one.label.say(), in_words(one.form, &record[one.name])));
    told.filter(|(_, words)| !words.is_empty()).collect()
}

/// Whether a field names another record, which the page does itself.
fn is_of_another(form: Form) -> bool {
    matches!(form, Form::Part | Form::Stored(_) | Form::Place(_))
}

/// A value in words; empty where there is none.
fn in_words(form: Form, value: &Value) -> String {
    let number = value.as_f64().unwrap_or_default();
    match (form, value) {
        (_, Value::Null) => String::new(),
        (_, Value::Array(some)) if some.is_empty() => say("workshop-none-at-all").into(),
        (_, Value::Array(some)) => {
            let words = some.iter().map(|one| measured("", one));
            words.collect::<Vec<_>>().join(", ")
        }
        (Form::Measured("mm"), _) => measured("_mm", value),
        (Form::Measured("kW"), _) => power(number),
        (Form::Measured("kPa"), _) => boost(number),
        (Form::Measured("cc"), _) => {
            format!(
                "{} cc ({} cu in)",
                short(number),
                short(number / CC_PER_CUBIC_INCH)
            )
        }
        (Form::Measured("m"), _) => {
            format!("{} m ({:.0} ft)", short(number), number / M_PER_FOOT)
        }
        (Form::Measured("°C"), _) => {
            format!("{} °C ({} °F)", short(number), short(number * 1.8 + 32.0))
        }
        (Form::Measured("°"), _) => format!("{}°", measured("", value)),
        (Form::Measured(unit) | Form::Counted(unit), _) => {
            format!("{} {unit}", measured("", value))
                .trim_end()
                .to_owned()
        }
        _ => measured("", value),
    }
}

#[cfg(test)]
mod tests {
    use super::facts;
    use crate::pages::form::{Form, field};
    use serde_json::json;

    #[test]
    fn a_record_is_told_in_both_units() {
        let declared = [
            field("power_kw", "Power", Form::Measured("kW"), ""),
            field("reach_mm", "Reach", Form::Measured("mm"), ""),
            field("charge_temp_c", "Charge", Form::Measured("°C"), ""),
            field("altitude_m", "Altitude", Form::Measured("m"), ""),
            field("displacement_cc", "Displacement", Form::Measured("cc"), ""),
            field("electronics", "Electronics", Form::Several(&[]), ""),
            field("coil_kv", "Coil", Form::Measured("kV"), ""),
            field("base_plug", "Plug that was in", Form::Part, ""),
        ];
        let record = json!({
            "power_kw": 522.0, "reach_mm": 19.05, "charge_temp_c": 55, "altitude_m": 0, "displacement_cc": 5400,
            "electronics": [], "base_plug": "FW-1",
        });
        let told = facts(&declared, &record);
        let told: Vec<_> = told
            .iter()
            .map(|(label, words)| (*label, words.as_str()))
            .collect();
        assert_eq!(
            told,
            [
                ("Power", "522 kW (700 hp)"),
                ("Reach", "19.05 mm (0.750 in)"),
                ("Charge", "55 °C (131 °F)"),
                ("Altitude", "0 m (0 ft)"),
                ("Displacement", "5400 cc (329.5 cu in)"),
                ("Electronics", "none at all"),
            ],
            "what nobody knows is left out, and so is what another record says"
        );
    }
}
