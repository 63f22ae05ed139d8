//! Heat scales from a table: whole scales, in the maker's order; parts follow.

use plugwell_tests::bodies::{plug, stored_plug, unique, with};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

use crate::{attempt, import, numbers, told};

#[test]
fn a_scale_is_made_changed_or_left_and_its_parts_follow() {
    for shop in shared() {
        let maker = unique("Scaled");
        let csv = format!(
            "maker;scale;code;heat_index\n{maker};Ladder;9;20\n{maker};Steps;a;30,5\n{maker};Ladder;8;30\n{maker};Steps;b;40\n"
        );
        assert_eq!(
            numbers(&import(shop, "heat-scales", &csv).expect(201)),
            [4, 2, 0, 0]
        );
        let own = |name: &str| -> Value {
            let all = shop.all(Who::Reader, "/v1/heat-scales");
            let own = all
                .into_iter()
                .find(|s| s["maker"] == maker.as_str() && s["name"] == name);
            own.expect("the scale")
        };
        let ladder = own("Ladder");
        assert_eq!(
            ladder["codes"],
            json!([{ "code": "9", "heat_index": 20.0 }, { "code": "8", "heat_index": 30.0 }])
        );
        assert_eq!(own("Steps")["codes"][0]["heat_index"], 30.5);
        let body = json!({ "maker": maker, "heat_index": null, "heat_scale_id": ladder["id"], "heat_code": "8" });
        let part = stored_plug(shop, &with(plug("S-1"), body));
        // The same again leaves it; another index moves the part along.
        let same =
            format!("maker,scale,code,heat_index\n{maker},ladder,9,20\n{maker},LADDER,8,30\n");
        let tried = attempt(shop, "heat-scales", &same).expect(200);
        assert_eq!(
            numbers(&tried),
            [2, 0, 1, 0],
            "its name is written otherwise"
        );
        let changed = format!(
            "maker,scale,code,heat_index\n{maker},Ladder,9,20\n{maker},Ladder,8,35\n{maker},Ladder,7,45\n"
        );
        let tried = attempt(shop, "heat-scales", &changed).expect(200);
        let differences = &tried.json["differences"];
        assert_eq!(
            (&differences[0]["row"], &differences[0]["change"]),
            (&json!(2), &json!("updated"))
        );
        assert_eq!(differences[0]["members"][0]["member"], "codes");
        assert_eq!(
            numbers(&import(shop, "heat-scales", &changed).expect(201)),
            [3, 0, 1, 0]
        );
        let part = shop
            .get(Who::Reader, &format!("/v1/plugs/{part}"))
            .expect(200);
        assert_eq!(part.json["heat_index"], 35.0, "it followed");
        let fits = json!({ "plug_id": part.json["id"], "stock": "ignore" });
        let found = shop.post(Who::Reader, "/v1/matches", &fits).expect(200);
        let heat = found.json["fits"].as_array().expect("fits").iter();
        let mut own = heat.filter(|fit| fit["plug"]["id"] == part.json["id"]);
        assert_eq!(own.next().expect("itself")["plug"]["heat_index"], 35.0);
        assert_eq!(
            numbers(&import(shop, "heat-scales", &changed).expect(201)),
            [3, 0, 0, 1]
        );
        // A code that a part carries cannot go.
        let gone =
            format!("maker,scale,code,heat_index\n{maker},Ladder,9,20\n{maker},Ladder,7,45\n");
        assert_eq!(told(import(shop, "heat-scales", &gone)), ["2 code missing"]);
    }
}

#[test]
fn faults_of_a_scale_stand_in_the_row_of_the_code() {
    for shop in shared() {
        let maker = unique("Faulty");
        let csv = format!(
            "maker,scale,code,heat_index,calibrated_at\n\
             {maker},Up,1,20,\n{maker},Up,2,20,\n{maker},Up,2,30,\n{maker},Up,3,300,\n{maker},Up,4,,\n\
             {maker},Tied,1,20,2026-01-31T12:00:00Z\n{maker},Tied,2,20,2026-01-31T12:00:00Z\n\
             {maker},Odd,1,20,yesterday\n{maker},Odd,,20,today\n"
        );
        let wanted = [
            "10 calibrated_at wrong_form",
            "10 code missing",
            "3 heat_index contradiction",
            "4 code duplicate",
            "5 heat_index out_of_range",
            "6 heat_index missing",
            "9 calibrated_at wrong_form",
        ];
        assert_eq!(told(import(shop, "heat-scales", &csv)), wanted);
        let none = shop.all(Who::Reader, "/v1/heat-scales");
        assert!(
            none.iter().all(|s| s["maker"] != maker.as_str()),
            "nothing was stored"
        );
    }
}
