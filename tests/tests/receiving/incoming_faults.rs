//! What is refused of an incoming check and of a decision, with nothing moved.

use plugwell_tests::bodies::{place, unique};
use plugwell_tests::{Who, shared};
use serde_json::json;
use uuid::Uuid;

use crate::dock::Dock;
use crate::van::{CHECKS, Van};

#[test]
fn every_fault_of_a_check_is_told_and_nothing_is_moved() {
    for shop in shared() {
        let van = Van::unloaded(Dock::new(shop));
        van.check(json!({})).refused_for(&["# missing"]);
        van.check(json!({ "sample": 0, "reach_mm": [19.0, 99.0], "colour": 1 }))
            .refused_for(&["#/colour unknown_member", "#/sample out_of_range"]);
        van.check(
            json!({ "sample": 1, "reach_mm": [19.0, 99.0], "uncertainty": { "gap_mm": 0.1 } }),
        )
        .refused_for(&["#/reach_mm contradiction", "#/reach_mm/1 out_of_range"]);
        let many = van
            .check(json!({ "reach_mm": [17.0], "sample": 13 }))
            .refused_for(&["#/sample contradiction"]);
        let told = "a sample of 13 is more than the 12 plugs that lot";
        assert!(many.json["detail"].to_string().contains(told), "{many:?}");
        van.check(json!({ "reach_mm": [17.0], "lot_id": Uuid::now_v7() }))
            .refused_for(&["#/lot_id not_found"]);
        van.check(json!({ "reach_mm": [17.0], "quarantine_place_id": van.dock.bin }))
            .refused_for(&["#/quarantine_place_id contradiction"]);
        let own = place(shop, "quarantine", &unique("cage"));
        shop.patch(
            Who::Clerk,
            &format!("/v1/stock/places/{own}"),
            &json!({ "retired": true }),
        )
        .expect(200);
        van.check(json!({ "reach_mm": [17.0], "quarantine_place_id": own }))
            .problem(409, "place_retired");
        assert_eq!(van.dock.held(&van.part, "bin"), 12);
        assert!(
            shop.all(Who::Reader, &format!("{CHECKS}?lot_id={}", van.lot))
                .is_empty()
        );
        let id = van.aside();
        van.decide(Who::Manager, &id, json!({ "decision": "release" }))
            .refused_for(&["#/place_id missing"]);
        van.decide(
            Who::Manager,
            &id,
            json!({ "decision": "scrap", "place_id": van.dock.bin }),
        )
        .refused_for(&["#/place_id not_together"]);
        van.decide(Who::Manager, &id, json!({ "decision": "eat" }))
            .refused_for(&["#/decision not_in_list"]);
        let path = format!("{CHECKS}/{id}/decision");
        shop.post(Who::Manager, &path, &json!({ "decision": "scrap" }))
            .problem(400, "once_key_missing");
        van.decide(
            Who::Manager,
            &Uuid::now_v7().to_string(),
            json!({ "decision": "scrap" }),
        )
        .problem(404, "not_found");
    }
}
