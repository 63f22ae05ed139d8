//! The fitting card: for the part that is named or the best fit on the shelf, as JSON and on paper, and never
//! for a part that does not fit.

use plugwell_tests::bodies::{bin, build, issue, plug, receive, stored_plug, with, without};
use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::{Value, json};
use uuid::Uuid;

/// A shop with one stored build; the path of its card.
pub(super) fn shop_with_build(engine: plugwell_tests::Engine, body: &Value) -> (Shop, String) {
    let shop = Shop::start(engine);
    let id = shop
        .post(Who::Tuner, "/v1/builds", body)
        .expect(201)
        .text("id");
    (shop, format!("/v1/builds/{id}/fitting-card"))
}

pub(super) fn card(shop: &Shop, path: &str) -> Answer {
    shop.get(Who::Reader, path).expect(200)
}

pub(super) fn page(shop: &Shop, path: &str) -> String {
    let html = shop.send("GET", path, Who::Reader, &[("accept", "text/html")], "");
    let html = html.expect(200);
    assert_eq!(
        html.header("content-type"),
        Some("text/html; charset=utf-8")
    );
    assert_eq!(
        html.header("vary").map(|v| v.contains("accept")),
        Some(true)
    );
    let policy = html.header("content-security-policy").unwrap_or_default();
    assert!(
        policy.contains("style-src 'sha256-") && !policy.contains("unsafe"),
        "{policy}"
    );
    String::from_utf8(html.body).expect("UTF-8")
}

/// What a card of [`build`] tells of gap, torque and turn, and what it warns of.
fn is_told_how(shop: &Shop, told: &Value) {
    // The requirement's own gap; 0.81 mm is 0.0319 in, 1 in = 25.4 mm exactly (NIST SP 811).
    let need = shop
        .post(Who::Reader, "/v1/requirements", &build())
        .expect(200)
        .json;
    assert_eq!(told["gap"]["set_mm"], need["gap"]["set_mm"]);
    assert_eq!(told["gap"]["set_mm"].as_f64(), Some(0.81));
    assert_eq!(told["gap"]["set_in"].as_f64(), Some(0.0319));
    assert_eq!(
        (
            told["gap"]["tolerance_mm"].as_f64(),
            told["gap"]["tolerance_in"].as_f64()
        ),
        (Some(0.025), Some(0.001))
    );
    // From memory: M14 with a gasket in aluminium 20 to 30 N·m.
    assert_eq!(
        told["torque_nm"],
        json!({ "min": 20.0, "max": 30.0, "source": "from memory, check the maker's sheet" })
    );
    // Common practice, no source: a new washer half to two thirds of a turn.
    assert_eq!(told["turns"][0]["turn_deg"], json!([180.0, 240.0]));
    let codes: Vec<&str> = told["cautions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|c| c["code"].as_str().unwrap())
        .collect();
    for code in [
        "lubricated_threads",
        "cold_engine",
        "high_voltage",
        "how_to_gap",
        "licensed_practice",
    ] {
        assert!(codes.contains(&code), "{code} in {codes:?}");
    }
}

#[test]
fn the_best_fit_on_the_shelf_has_its_card() {
    for engine in engines() {
        let (shop, path) = shop_with_build(engine, &build());
        // On target and there; on target and not there; one step colder and there.
        let there = stored_plug(&shop, &with(plug("FW-1"), json!({ "projection_mm": 3.4 })));
        let absent = stored_plug(&shop, &plug("FW-2"));
        let colder = stored_plug(&shop, &with(plug("FW-3"), json!({ "heat_index": 75 })));
        let rack = bin(&shop, "Rack 1");
        receive(&shop, &there, &rack, 20);
        receive(&shop, &colder, &rack, 20);

        let made = card(&shop, &path);
        let told = &made.json;
        assert_eq!(told["plug"]["id"], json!(there));
        assert_eq!(told["build"]["name"], build()["name"]);
        assert_eq!(
            told["quantity"],
            json!({ "fitted": 8, "spares": 1, "total": 9 })
        );
        let pick = &told["picks"][0];
        assert_eq!(
            (&pick["quantity"], &pick["place_name"], &pick["condition"]),
            (&json!(9), &json!("Rack 1"), &json!("sealed"))
        );
        let lot = shop.get(
            Who::Reader,
            &format!("/v1/stock/lots/{}", pick["lot_id"].as_str().unwrap()),
        );
        assert_eq!(lot.expect(200).json["code"], pick["lot_code"]);
        is_told_how(&shop, told);

        assert_eq!(
            (made.header("vary"), &told["reservation"]),
            (Some("accept"), &Value::Null)
        );
        // A part that is named has its card whatever there is of it.
        let named = card(&shop, &format!("{path}?plug_id={absent}"));
        assert_eq!(
            (
                &named.json["plug"]["id"],
                &named.json["picks"],
                &named.json["available"]
            ),
            (&json!(absent), &json!([]), &json!(0))
        );
        let html = page(&shop, &format!("{path}?plug_id={absent}"));
        assert!(html.contains("9 of 9 are not there"), "{html}");
    }
}

#[test]
fn the_printed_form_says_the_same_in_both_units() {
    for engine in engines() {
        let named = with(build(), json!({ "name": "<b>Heron</b> & \"sons\"" }));
        let (shop, path) = shop_with_build(engine, &named);
        let body = with(
            plug("FW-<1>"),
            json!({ "torque_nm": 24.5, "terminal": null, "gap_preset_mm": 0.81 }),
        );
        let id = stored_plug(&shop, &body);
        let rack = bin(&shop, "Rack <2>");
        receive(&shop, &id, &rack, 12);
        for (query, paper) in [
            ("", "a5"),
            ("?paper=a5", "a5"),
            ("?paper=half_letter", "half_letter"),
        ] {
            let html = page(&shop, &format!("{path}{query}"));
            for said in [
                &format!("<body class=\"{paper} "),
                "&#60;b&#62;Heron&#60;/b&#62; &#38; &#34;sons&#34;",
                "FW-&#60;1&#62;",
                "9 from Rack &#60;2&#62;, lot L",
                "8 fitted, 1 spare",
                "0.81 mm (32 thou)",
                "± 0.025 mm (± 1 thou)",
                "It leaves its maker at this gap",
                "24.5 N·m",
                "18 lbf·ft, dry threads; the part&#39;s own: maker sheet",
                "new washer: 1/2 to 2/3 turn (180 to 240°)",
                "Common practice, no source",
                "lubricated",
                "pacemaker",
            ] {
                assert!(html.contains(said), "{said} in {html}");
            }
            assert!(
                !html.contains("<script") && !html.contains("http"),
                "it stands alone"
            );
        }
        // The head asks for no terminal, so an unknown one stays unsaid; the window is whole.
        let told = card(&shop, &path).json;
        assert_eq!(told["unconfirmed"], json!([]));
        // Without Accept, and with the one of most programs, it is JSON.
        for accept in ["*/*", "application/json", "text/html;q=0.3, application/*"] {
            let answer = shop.send("GET", &path, Who::Reader, &[("accept", accept)], "");
            assert!(answer.expect(200).json["gap"].is_object(), "{accept}");
        }
        shop.send("GET", &path, Who::Reader, &[("accept", "image/png")], "")
            .problem(406, "not_acceptable");
    }
}

#[test]
fn a_gapped_lot_is_taken_and_said_to_be_gapped() {
    for engine in engines() {
        let (shop, path) = shop_with_build(engine, &build());
        let id = stored_plug(&shop, &plug("FW-1"));
        let rack = bin(&shop, "Rack 1");
        receive(&shop, &id, &rack, 9);
        let out = with(issue(&id, "J-1", 9), json!({ "gap_mm": 0.81 }));
        let out = shop.once(Who::Tuner, "/v1/stock/issues", &out).expect(201);
        let back = json!({ "movement_id": out.json["movements"][0]["id"], "quantity": 9, "place_id": rack,
            "condition": "gapped", "gap_mm": 0.81 });
        shop.once(Who::Clerk, "/v1/stock/returns", &back)
            .expect(201);
        let told = card(&shop, &path).json;
        let pick = &told["picks"][0];
        assert_eq!(
            (
                &pick["condition"],
                pick["gap_mm"].as_f64(),
                &pick["quantity"]
            ),
            (&json!("gapped"), Some(0.81), &json!(9))
        );
        assert!(page(&shop, &path).contains("gapped to 0.81 mm already: check"));
    }
}

#[test]
fn what_does_not_fit_or_is_not_there_has_no_card() {
    for engine in engines() {
        let (shop, path) = shop_with_build(engine, &build());
        let of = |id: &str| format!("{path}?plug_id={id}");
        let none = shop.get(Who::Reader, &path).problem(409, "does_not_fit");
        assert!(none.text("detail").contains("no part"), "{none:?}");

        let wrong = with(plug("FW-9"), json!({ "hex_mm": 20.8, "heat_index": 50 }));
        let wrong = stored_plug(&shop, &wrong);
        let refused = shop
            .get(Who::Reader, &of(&wrong))
            .problem(409, "does_not_fit");
        let failed: Vec<(&str, &str)> = refused.json["fails"]
            .as_array()
            .expect("what fails")
            .iter()
            .map(|f| {
                (
                    f["attribute"].as_str().unwrap(),
                    f["verdict"].as_str().unwrap(),
                )
            })
            .collect();
        assert_eq!(failed, [("hex_mm", "fails"), ("heat_index", "fails")]);
        assert!(
            refused.text("detail").contains("hex is 20.8 mm"),
            "{refused:?}"
        );
        // Also on paper: never silently.
        let html = shop.send(
            "GET",
            &of(&wrong),
            Who::Reader,
            &[("accept", "text/html")],
            "",
        );
        html.problem(409, "does_not_fit");
        let right = stored_plug(&shop, &plug("FW-1"));
        let rack = bin(&shop, "Rack 1");
        receive(&shop, &right, &rack, 4);
        let few = shop
            .get(Who::Reader, &path)
            .problem(409, "not_enough_stock");
        let detail = "The one part that fits does not have 9 available; name it with ?plug_id= to have its card all the same.";
        assert_eq!(few.text("detail"), detail);
        assert_eq!(
            (
                &few.json["available"],
                &few.json["on_hand"],
                &few.json["plug_id"]
            ),
            (&json!(4), &json!(4), &json!(right))
        );
        assert_eq!(card(&shop, &of(&right)).json["picks"][0]["quantity"], 4);
        stored_plug(&shop, &plug("FW-2"));
        let few = shop
            .get(Who::Reader, &path)
            .problem(409, "not_enough_stock");
        let detail = "None of the 2 parts that fit has 9 available; name one with ?plug_id= to have its card all the same.";
        assert_eq!(few.text("detail"), detail);
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{right}"),
            &json!({ "retired": true }),
        )
        .expect(200);
        shop.get(Who::Reader, &of(&right))
            .problem(409, "plug_retired");
    }
}

#[test]
fn an_unknown_value_is_never_taken_for_fit() {
    for engine in engines() {
        let (shop, path) = shop_with_build(engine, &build());
        let of = |id: &str| format!("{path}?plug_id={id}");
        let unknown = stored_plug(&shop, &without(plug("FW-8"), &["projection_mm"]));
        let refused = shop
            .get(Who::Reader, &of(&unknown))
            .problem(409, "does_not_fit");
        assert_eq!(
            refused.json["fails"][0]["verdict"], "unknown",
            "unknown is never taken for fit"
        );
    }
}

#[test]
fn the_card_refuses_what_it_cannot_read() {
    for engine in engines() {
        let (shop, path) = shop_with_build(engine, &build());
        let get = |query: &str| shop.get(Who::Reader, &format!("{path}{query}"));
        get("?plug_id=7&paper=a4&size=1").refused_for(&[
            "?plug_id wrong_form",
            "?paper not_in_list",
            "?size unknown_member",
        ]);
        get(&format!("?plug_id={}", Uuid::now_v7())).refused_for(&["?plug_id not_found"]);
        // 404 stands before the faults of the query.
        let nobody = format!("/v1/builds/{}/fitting-card?plug_id=7", Uuid::now_v7());
        shop.get(Who::Reader, &nobody).problem(404, "not_found");
        shop.get(Who::Reader, "/v1/builds/seven/fitting-card")
            .refused_for(&["/id wrong_form"]);
    }
}
