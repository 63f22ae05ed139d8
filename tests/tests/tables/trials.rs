//! A dry run: record by record what differs from what is stored, and nothing done. And the columns.

use plugwell_tests::bodies::unique;
use plugwell_tests::{Who, shared};
use serde_json::json;

use crate::{attempt, import, numbers, told};

#[test]
fn a_dry_run_shows_old_and_new() {
    for shop in shared() {
        let maker = unique("Tried");
        let csv = format!(
            "maker,part_number,reach_mm,hex_mm,superseded_by\n{maker},T-1,19,16,\n{maker},T-2,19,16,{maker}/T-3\n{maker},T-3,19,,\n"
        );
        import(shop, "plugs", &csv).expect(201);
        let plugs = shop.all(Who::Reader, &format!("/v1/plugs?maker={maker}"));
        assert_eq!(plugs[1]["superseded_by"], plugs[2]["id"]);
        let next = format!(
            "maker,part_number,reach_in,superseded_by,retired\n{maker},t-1,0.75,{maker}/T-2,yes\n{maker},T-2,0.748031,{maker}/T-3,\n{maker},T-4,,,\n"
        );
        let wrong = told(attempt(shop, "plugs", &next));
        assert_eq!(
            wrong,
            ["3 reach_in too_fine"],
            "19 mm are no six places of an inch"
        );
        let next = next.replace("0.748031", "0.75");
        let tried = attempt(shop, "plugs", &next).expect(200);
        assert_eq!(numbers(&tried), [3, 1, 2, 0]);
        assert_eq!(tried.json["more_differences"], 0);
        let wanted = json!([
            { "row": 2, "record": format!("{maker} t-1"), "change": "updated", "members": [
                { "member": "part_number", "old": "T-1", "new": "t-1" },
                { "member": "reach_mm", "old": 19.0, "new": 19.05 },
                { "member": "superseded_by", "old": null, "new": plugs[1]["id"] },
                { "member": "retired", "old": false, "new": true },
            ]},
            { "row": 3, "record": format!("{maker} T-2"), "change": "updated", "members": [
                { "member": "reach_mm", "old": 19.0, "new": 19.05 },
            ]},
            { "row": 4, "record": format!("{maker} T-4"), "change": "created", "members": [] },
        ]);
        assert_eq!(tried.json["differences"], wanted);
        let after = shop.all(Who::Reader, &format!("/v1/plugs?maker={maker}"));
        assert_eq!(after, plugs, "nothing was done");
        assert_eq!(
            numbers(&import(shop, "plugs", &next).expect(201)),
            [3, 1, 2, 0]
        );
        assert_eq!(
            numbers(&import(shop, "plugs", &next).expect(201)),
            [3, 0, 0, 3]
        );
        let kept = shop.get(
            Who::Reader,
            &format!("/v1/plugs/{}", plugs[0]["id"].as_str().unwrap()),
        );
        assert_eq!(kept.expect(200).json["retired"], true);
    }
}

#[test]
fn the_first_thousand_differences_are_listed_and_all_counted() {
    for shop in shared() {
        let maker = unique("Many");
        let rows: String = (0..1_200).map(|n| format!("{maker},M-{n}\n")).collect();
        let tried = attempt(shop, "plugs", &format!("maker,part_number\n{rows}")).expect(200);
        assert_eq!(numbers(&tried), [1_200, 1_200, 0, 0]);
        assert_eq!(
            tried.json["differences"].as_array().map(Vec::len),
            Some(1_000)
        );
        assert_eq!(tried.json["more_differences"], 200);
    }
}

#[test]
fn a_loop_of_successors_is_told_wherever_it_stands() {
    for shop in shared() {
        let maker = unique("Loop");
        let csv = format!(
            "maker,part_number,superseded_by\n{maker},L-1,{maker}/L-2\n{maker},L-2,{maker}/L-3\n{maker},L-3,{maker}/L-1\n"
        );
        assert_eq!(
            told(import(shop, "plugs", &csv)),
            ["4 superseded_by contradiction"]
        );
        let wrong = csv.replace(&format!("{maker}/L-1"), "nobody");
        assert_eq!(
            told(import(shop, "plugs", &wrong)),
            ["4 superseded_by not_found"]
        );
        assert_eq!(
            shop.all(Who::Reader, &format!("/v1/plugs?maker={maker}"))
                .len(),
            0
        );
    }
}

#[test]
fn a_new_code_asks_the_scale_again() {
    for shop in shared() {
        let maker = unique("Recoded");
        let scale = format!("maker,scale,code,heat_index\n{maker},S,7,70\n{maker},S,5,50\n");
        import(shop, "heat-scales", &scale).expect(201);
        let csv = |code: &str| {
            format!("maker,part_number,heat_scale,heat_code\n{maker},R-1,{maker}/S,{code}\n")
        };
        import(shop, "plugs", &csv("7")).expect(201);
        assert_eq!(
            numbers(&import(shop, "plugs", &csv("5")).expect(201)),
            [1, 0, 1, 0]
        );
        let part = &shop.all(Who::Reader, &format!("/v1/plugs?maker={maker}"))[0];
        assert_eq!(part["heat_index"], 50.0);
        assert_eq!(
            told(import(shop, "plugs", &csv("6"))),
            ["2 heat_code not_in_list"]
        );
    }
}

#[test]
fn the_columns_are_listed_with_their_units() {
    for shop in shared() {
        let columns = shop
            .get(Who::Reader, "/v1/imports/columns")
            .expect(200)
            .json;
        let of = |kind: &str, name: &str| {
            let all = columns[kind].as_array().expect("columns");
            all.iter()
                .find(|c| c["name"] == name)
                .cloned()
                .unwrap_or_else(|| panic!("{kind} {name}"))
        };
        let reach = of("plugs", "reach_mm");
        assert_eq!(reach["other_names"], json!(["reach_in", "reach_thou"]));
        assert_eq!(
            (
                &reach["unit"],
                &reach["min"],
                &reach["max"],
                &reach["decimals"]
            ),
            (&json!("mm"), &json!(5.0), &json!(60.0), &json!(4))
        );
        assert_eq!(of("plugs", "seat")["words"], json!(["gasket", "conical"]));
        for (kind, needed) in [
            ("plugs", "part_number"),
            ("stock", "quantity"),
            ("heat-scales", "code"),
            ("stand-ins", "who"),
        ] {
            assert_eq!(of(kind, needed)["needed"], true, "{kind}");
        }
        // What is told is what an export begins with.
        for kind in ["plugs", "stock", "heat-scales", "stand-ins"] {
            let header = crate::export(shop, kind);
            let names: Vec<&str> = columns[kind]
                .as_array()
                .unwrap()
                .iter()
                .map(|c| c["name"].as_str().unwrap())
                .collect();
            assert_eq!(header.lines().next(), Some(&*names.join(",")), "{kind}");
        }
    }
}

#[test]
fn rows_without_anything_are_passed_over_and_a_wide_encoding_is_named() {
    for shop in shared() {
        let maker = unique("Blank");
        let csv =
            format!("maker;part_number;reach_mm\n;;\n{maker};B-1;19\n ; ;\n{maker};B-2;300\n");
        assert_eq!(
            told(import(shop, "plugs", &csv)),
            ["5 reach_mm out_of_range"]
        );
        let wide: Vec<u8> = [0xff, 0xfe]
            .into_iter()
            .chain(
                "maker,part_number\n"
                    .encode_utf16()
                    .flat_map(u16::to_le_bytes),
            )
            .collect();
        let answer = shop.send(
            "POST",
            "/v1/imports/plugs?dry_run=true",
            Who::Clerk,
            &[("content-type", "text/csv")],
            wide,
        );
        assert!(
            answer.json["errors"][0]["detail"]
                .as_str()
                .unwrap_or_default()
                .contains("UTF-16"),
            "{answer:?}"
        );
    }
}
