//! A stored build as it would be typed, so that the form can begin with it; and in a line.

use plugwell_domain::build::Build;

use crate::pages::figures::{boost, power};
use crate::pages::find::engine_fields::{NOTHING_ELECTRONIC, declared, is_of_head};
use crate::pages::form;
use crate::pages::typed::Typed;
use crate::pages::words::say_with;

/// A build as it would be typed; `base_plug` names the plug that was in.
pub(in crate::pages) fn typed(build: &Build, base_plug: Option<&str>) -> Typed {
    let whole = serde_json::to_value(build).unwrap_or_default();
    let mut typed = Typed::default();
    for field in declared() {
        let record = if is_of_head(field) {
            &whole["head"]
        } else {
            &whole
        };
        if record[field.name].as_array().is_some_and(Vec::is_empty) {
            typed.put(field.name, NOTHING_ELECTRONIC);
        }
        typed.extend(form::as_typed(std::slice::from_ref(field), record));
    }
    base_plug
        .into_iter()
        .for_each(|name| typed.put("base_plug", name));
    typed
}

/// A build in a line.
pub(in crate::pages) fn in_short(build: &Build) -> String {
    let engine = &build.engine;
    let mut told = vec![
        say_with(
            "find-so-many-cylinders",
            &[("cylinders", &engine.cylinders)],
        ),
        engine.induction.word().replace('_', " "),
        engine.purpose.word().to_owned(),
    ];
    told.extend(engine.power_kw.map(power));
    told.extend(
        engine
            .boost_kpa
            .map(|kpa| say_with("find-boost-boost", &[("boost", &boost(kpa))])),
    );
    told.extend(
        engine
            .compression_ratio
            .map(|ratio| say_with("find-ratio-to-1", &[("ratio", &ratio)])),
    );
    told.join(" · ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::find::engine_form::build;
    use crate::pages::form::OnePart;
    use serde_json::json;

    #[test]
    fn a_build_survives_the_way_through_the_form() {
        let whole = json!({
            "head": { "thread": "M14x1.25", "reach_mm": 19.05, "seat": "gasket", "heat_index": 50.0, "hex_max_mm": 16.0,
                      "projection_min_mm": -0.5, "terminal": "solid_nut", "material": "iron", "tight_gap": true },
            "cylinders": 8, "plugs_per_cylinder": 2, "induction": "turbocharged", "use": "track", "base_power_kw": 320.5,
            "power_kw": 522.0, "boost_kpa": 55.158, "compression_ratio": 9.5, "fuel": "e85", "electronics": [],
            "coil_kv": 34.0, "heat_steps": 2, "gap_mm": 0.6096, "electrode": ["nickel", "silver"], "spares": 0,
        });
        let stored: Build = serde_json::from_value(whole.clone()).unwrap();
        let (again, wrong) = build(&OnePart, &typed(&stored, None)).unwrap();
        assert_eq!(wrong, []);
        assert_eq!(serde_json::from_value::<Build>(again).unwrap(), stored);
        assert_eq!(
            in_short(&stored),
            "8 cylinders · turbocharged · track · 522 kW (700 hp) · 55.2 kPa (8 psi) boost · 9.5 to 1"
        );
    }
}
