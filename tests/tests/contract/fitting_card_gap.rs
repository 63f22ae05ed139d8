//! The gap on the fitting card: one that is not known is never mistaken for one that is left as it came.

use plugwell_tests::bodies::{build, plug, stored_plug, with};
use plugwell_tests::{Who, engines};
use serde_json::{Value, json};

use crate::fitting_card::{card, page, shop_with_build};

#[test]
fn without_a_gap_to_set_the_card_says_why() {
    for engine in engines() {
        let weak = with(build(), json!({ "coil_kv": 8 }));
        let (shop, path) = shop_with_build(engine, &weak);
        let id = stored_plug(&shop, &plug("FW-1"));
        let told = card(&shop, &format!("{path}?plug_id={id}")).json;
        assert_eq!(told["gap"]["set_mm"], Value::Null);
        assert_eq!(told["gap"]["advice"], "coil_too_weak");
        let how = told["gap"]["how"].as_str().unwrap();
        assert!(how.contains("do not fit it"), "{how}");
        assert!(told["cautions"].to_string().contains("coil_too_weak"));
        let html = page(&shop, &format!("{path}?plug_id={id}"));
        gap_is_not_to_be_mistaken(
            &html,
            "COIL TOO WEAK",
            "The coil is too weak for this build",
        );
        shop.patch(
            Who::Tuner,
            path.trim_end_matches("/fitting-card"),
            &json!({ "coil_kv": 34, "power_kw": null, "boost_kpa": 62, "heat_steps": 2 }),
        )
        .expect(200);
        let told = card(&shop, &format!("{path}?plug_id={id}")).json;
        assert_eq!(told["gap"]["advice"], "unknown");
        let html = page(&shop, &format!("{path}?plug_id={id}"));
        gap_is_not_to_be_mistaken(&html, "NOT KNOWN", "No gap can be told for this build yet");

        let calm = json!({ "induction": "naturally_aspirated", "boost_kpa": null, "base_boost_kpa": null, "power_kw": 320 });
        let build = shop
            .post(Who::Tuner, "/v1/builds", &with(build(), calm))
            .expect(201);
        let own = stored_plug(
            &shop,
            &with(
                plug("FW-2"),
                json!({ "heat_index": 50, "gap_preset_mm": 0.95 }),
            ),
        );
        let path = format!("/v1/builds/{}/fitting-card?plug_id={own}", build.text("id"));
        let told = card(&shop, &path).json;
        assert_eq!(
            told["gap"]["set_mm"].as_f64(),
            Some(0.95),
            "the plug keeps its own"
        );
        assert_eq!(told["gap"]["advice"], "set");
        assert!(
            told["gap"]["how"]
                .as_str()
                .unwrap()
                .starts_with("It leaves its maker at this gap")
        );
        // A plug that cannot be bent to the gap of practice, and fires as it comes.
        let narrow = json!({ "heat_index": 50, "gap_min_mm": 0.5, "gap_max_mm": 0.7, "gap_preset_mm": null });
        let kept = stored_plug(&shop, &with(plug("FW-3"), narrow));
        let path = format!(
            "/v1/builds/{}/fitting-card?plug_id={kept}",
            build.text("id")
        );
        assert_eq!(card(&shop, &path).json["gap"]["advice"], "keep");
        let html = page(&shop, &path);
        assert!(
            html.contains("<dd>leave as it came</dd>") && html.contains("all alike within"),
            "{html}"
        );
        assert!(!html.contains("class=\"beware first\""), "{html}");
    }
}

/// In large letters, with nothing beside that lets one take it for a gap, and the reason above all else.
fn gap_is_not_to_be_mistaken(html: &str, told: &str, why: &str) {
    assert!(html.contains(&format!("<dd>{told}</dd>")), "{html}");
    assert!(
        !html.contains("all alike within") && !html.contains("none to set"),
        "{html}"
    );
    let (reason, part) = (html.find(why), html.find("<section class=\"part\">"));
    assert!(reason.is_some() && reason < part, "{html}");
    assert_eq!(html.matches(why).count(), 1, "{html}");
}
