//! A list of plugs is narrowed by any attribute: by value, by bounds, by being unknown.

use plugwell_tests::bodies::{gtin, heat_scale, plug, stored_plug, unique, with};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

/// An attribute with two values that lie apart, the smaller first.
const NUMBERS: &[(&str, f64, f64)] = &[
    ("reach_mm", 12.7, 19.05),
    ("hex_mm", 14.0, 15.875),
    ("heat_index", 49.9, 50.1),
    ("projection_mm", -1.5, 3.0),
    ("strap_extent_mm", -1.0, 5.5),
    ("resistance_ohm", 3.3, 450.0),
    ("gap_preset_mm", 0.6999, 0.7),
    ("gap_min_mm", 0.4, 0.6),
    ("gap_max_mm", 0.9, 1.1),
    ("overall_mm", 50.0, 90.5),
    ("insulator_mm", 30.0, 40.0),
    ("service_life_km", 16_000.0, 160_000.0),
    ("torque_nm", 17.25, 30.0),
    ("pack_size", 1.0, 4.0),
];

const WORDS: &[(&str, &str, &str)] = &[
    ("thread", "M10x1", "7/8-18 UNS"),
    ("seat", "gasket", "conical"),
    ("hex_kind", "hex", "bi_hex"),
    ("electrode", "iridium", "nickel"),
    ("ground", "single_strap", "surface_gap"),
    ("terminal", "solid_nut", "stud_m4"),
];

/// A plug of this maker of which only one attribute is known.
fn only(shop: &Shop, maker: &str, attribute: &str, value: Value) -> String {
    stored_plug(
        shop,
        &json!({ "maker": maker, "part_number": unique("N"), attribute: value }),
    )
}

fn found(shop: &Shop, maker: &str, query: &str) -> Vec<String> {
    let answer = shop
        .get(
            Who::Reader,
            &format!("/v1/plugs?maker={maker}&limit=200&{query}"),
        )
        .expect(200);
    answer
        .column("id")
        .iter()
        .map(|id| id.as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn every_number_is_found_by_value_by_bounds_and_by_being_unknown() {
    for shop in shared() {
        for &(attribute, low, high) in NUMBERS {
            let maker = unique("Numbers");
            let small = only(shop, &maker, attribute, json!(low));
            let large = only(shop, &maker, attribute, json!(high));
            let unknown = stored_plug(shop, &json!({ "maker": maker, "part_number": unique("N") }));
            let all = |query: String| found(shop, &maker, &query);
            assert_eq!(
                all(format!("{attribute}={low}")),
                [small.as_str()],
                "{attribute}"
            );
            assert_eq!(
                all(format!("{attribute}={high}")),
                [large.as_str()],
                "{attribute}"
            );
            assert_eq!(
                all(format!("{attribute}={low}&{attribute}={high}")),
                [small.as_str(), large.as_str()],
                "{attribute}"
            );
            assert_eq!(
                all(format!("{attribute}=null")),
                [unknown.as_str()],
                "{attribute}"
            );
            assert_eq!(
                all(format!("{attribute}_min={low}")),
                [small.as_str(), large.as_str()],
                "ends included: {attribute}"
            );
            assert_eq!(
                all(format!("{attribute}_max={high}")),
                [small.as_str(), large.as_str()],
                "ends included: {attribute}"
            );
            assert_eq!(
                all(format!("{attribute}_max={low}")),
                [small.as_str()],
                "{attribute}"
            );
            assert_eq!(
                all(format!("{attribute}_min={high}")),
                [large.as_str()],
                "{attribute}"
            );
            assert_eq!(
                all(format!("{attribute}_min={high}&{attribute}_max={low}")),
                [""; 0],
                "{attribute}"
            );
        }
    }
}

#[test]
fn every_word_is_found_by_value_and_by_being_unknown() {
    for shop in shared() {
        for &(attribute, one, other) in WORDS {
            let maker = unique("Words");
            let first = only(shop, &maker, attribute, json!(one));
            let second = only(shop, &maker, attribute, json!(other));
            let unknown = stored_plug(shop, &json!({ "maker": maker, "part_number": unique("W") }));
            let coded = |word: &str| word.replace(' ', "%20").replace('/', "%2F");
            let all = |query: String| found(shop, &maker, &query);
            assert_eq!(all(format!("{attribute}={}", coded(one))), [first.as_str()]);
            assert_eq!(
                all(format!("{attribute}={}", coded(other))),
                [second.as_str()]
            );
            assert_eq!(
                all(format!(
                    "{attribute}={}&{attribute}={}",
                    coded(other),
                    coded(one)
                )),
                [first.as_str(), second.as_str()]
            );
            assert_eq!(all(format!("{attribute}=null")), [unknown.as_str()]);
            shop.get(Who::Reader, &format!("/v1/plugs?{attribute}=nonsense"))
                .refused_for(&[&format!("?{attribute} not_in_list")]);
            shop.get(Who::Reader, &format!("/v1/plugs?{attribute}_min=1"))
                .refused_for(&[&format!("?{attribute}_min unknown_member")]);
        }
        let maker = unique("Flags");
        let fitted = only(shop, &maker, "resistor", json!(true));
        let plain = only(shop, &maker, "resistor", json!(false));
        let unknown = stored_plug(shop, &json!({ "maker": maker, "part_number": unique("F") }));
        for (value, id) in [("true", fitted), ("false", plain), ("null", unknown)] {
            assert_eq!(
                found(shop, &maker, &format!("resistor={value}")),
                [id],
                "resistor {value}"
            );
        }
    }
}

#[test]
fn a_record_is_found_by_what_it_is() {
    for shop in shared() {
        let maker = unique("Ident");
        let scale = shop
            .post(
                Who::Clerk,
                "/v1/heat-scales",
                &heat_scale(&maker, "numbers"),
            )
            .expect(201)
            .text("id");
        let code = gtin(31);
        let plain = stored_plug(
            shop,
            &with(plug("Plain 1"), json!({ "maker": maker, "gtin": code })),
        );
        let old = with(
            plug("Old-1"),
            json!({ "maker": maker, "status": "discontinued", "superseded_by": plain,
            "heat_scale_id": scale, "heat_code": "7" }),
        );
        let old = stored_plug(shop, &old);
        let all = |query: &str| found(shop, &maker, query);
        assert_eq!(all("part_number=pLAIN%201"), [plain.as_str()], "case-blind");
        assert_eq!(all("part_number=Plain"), [""; 0], "whole");
        assert_eq!(all(&format!("gtin={code}")), [plain.as_str()]);
        assert_eq!(all("status=discontinued"), [old.as_str()]);
        assert_eq!(all("status=active"), [plain.as_str()]);
        assert_eq!(all(&format!("superseded_by={plain}")), [old.as_str()]);
        assert_eq!(all(&format!("heat_scale_id={scale}")), [old.as_str()]);
        assert_eq!(
            all(&format!("id={old}&id={plain}")),
            [old.as_str(), plain.as_str()],
            "in the order that was asked for"
        );
        let upper = maker.to_uppercase();
        assert_eq!(
            shop.get(Who::Reader, &format!("/v1/plugs?maker={upper}"))
                .expect(200)
                .items()
                .len(),
            2,
            "case-blind"
        );
        assert_eq!(
            all("status=active&seat=gasket&reach_mm=19&resistor=true&heat_index_max=70"),
            [plain.as_str()],
            "all together"
        );
        assert_eq!(all("status=active&seat=conical"), [""; 0]);
    }
}

#[test]
fn faults_of_filters_are_told_all_at_once() {
    for shop in shared() {
        let query = "thread=M15x1&reach_mm=300&hex_mm_min=x&gap_preset_mm=0.80001&resistor=maybe&status=gone&retired=yes\
                     &gtin=2000000000016&id=7&superseded_by=x&colour=red&limit=0";
        shop.get(Who::Reader, &format!("/v1/plugs?{query}"))
            .refused_for(&[
                "?thread not_in_list",
                "?reach_mm out_of_range",
                "?hex_mm_min wrong_form",
                "?gap_preset_mm too_fine",
                "?resistor wrong_type",
                "?status not_in_list",
                "?retired wrong_form",
                "?gtin wrong_form",
                "?id wrong_form",
                "?superseded_by wrong_form",
                "?colour unknown_member",
                "?limit out_of_range",
            ]);
    }
}

#[test]
fn records_are_had_by_their_ids_in_one_answer_and_in_that_order() {
    for shop in shared() {
        let maker = unique("Named");
        // More than a page has where nobody says.
        let stored = |n: usize| {
            let body = with(plug(&format!("N-{n}")), json!({ "maker": maker }));
            stored_plug(shop, &body)
        };
        let mut ids: Vec<String> = (0..60).map(stored).collect();
        ids.reverse();
        let retired = ids[7].clone();
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{retired}"),
            &json!({ "retired": true }),
        )
        .expect(200);
        let ask = |ids: &[String], more: &str| {
            let query: Vec<String> = ids.iter().map(|id| format!("id={id}")).collect();
            shop.get(Who::Reader, &format!("/v1/plugs?{}{more}", query.join("&")))
        };
        let unknown = uuid::Uuid::now_v7().to_string();
        let mut asked = ids.clone();
        asked.insert(3, unknown);
        asked.push(ids[0].clone());
        let all = ask(&asked, "&retired=true").expect(200);
        assert_eq!(
            all.column("id"),
            ids,
            "the unknown one is left out, each comes once"
        );
        assert_eq!(all.json["next_cursor"], Value::Null);
        assert_eq!(all.header("link"), None);
        let living = ask(&asked, "").expect(200);
        assert!(!living.column("id").contains(&retired.clone().into()));
        assert_eq!(living.items().len(), 59);
        let narrowed = ask(&ids[..4], "&heat_index_min=71").expect(200);
        assert_eq!(
            narrowed.items().len(),
            0,
            "the rest of the question holds, too"
        );
        ask(&vec![ids[0].clone(); 200], "").expect(200);
        ask(&vec![ids[0].clone(); 201], "").refused_for(&["?id out_of_range"]);
        ask(&ids[..2], "&id=7").refused_for(&["?id wrong_form"]);
        ask(&ids[..2], "&cursor=x").refused_for(&["?cursor wrong_form", "?cursor not_together"]);
        let all = ask(&ids[..2], "&retired=true&limit=1").expect(200);
        assert_eq!(all.items().len(), 2, "a page is for lists without an end");
    }
}

#[test]
fn an_end_of_a_range_that_is_no_number_is_told_as_that() {
    for shop in shared() {
        for none in ["NaN", "inf", "-inf"] {
            let refused = shop
                .get(Who::Reader, &format!("/v1/plugs?reach_mm_min={none}"))
                .refused_for(&["?reach_mm_min wrong_form"]);
            let wanted = format!("?reach_mm_min: {none} is no number");
            assert_eq!(refused.text("detail"), wanted);
        }
    }
}
