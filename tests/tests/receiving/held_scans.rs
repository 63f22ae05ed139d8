//! The label of a lot that is held back: where it lies, that it waits, and no bin for it.

use plugwell_tests::bodies::unique;
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

use crate::dock::{Dock, text};
use crate::van::Van;

fn steps(scan: &Value) -> Vec<&Value> {
    let next = scan["next"].as_array().expect("steps");
    next.iter().map(|step| &step["step"]).collect()
}

#[test]
fn a_lot_that_failed_its_check_is_said_to_wait_and_is_proposed_no_bin() {
    for shop in shared() {
        let van = Van::unloaded(Dock::new(shop));
        // Another lot of the part stays in the bin: the part has a bin, this lot has none.
        plugwell_tests::bodies::receive(shop, &van.part, &van.dock.bin, 4);
        van.issue(&unique("Kestrel"), 2).expect(201);
        let path = format!("/v1/stock/lots/{}", van.lot);
        let code = text(&shop.get(Who::Reader, &path).expect(200).json, "code");
        let before = van.dock.scan(&code).expect(200).json;
        assert_eq!(before["proposed_bin"]["place_id"], *van.dock.bin);
        assert_eq!(steps(&before), ["look", "check"]);
        assert_eq!(before["waiting_check_id"], Value::Null);
        assert_eq!(before["lies"].as_array().map(Vec::len), Some(2));
        let id = van.aside();
        let scan = van.dock.scan(&code).expect(200).json;
        assert_eq!(scan["proposed_bin"], Value::Null);
        assert_eq!(scan["waiting_check_id"], *id);
        assert_eq!(steps(&scan), ["look", "decide"]);
        assert_eq!(
            scan["next"][1]["path"],
            format!("/v1/stock/incoming-checks/{id}/decision")
        );
        let said = text(&scan, "said");
        assert!(said.contains("10 of it in quarantine"), "{said}");
        assert!(said.contains("waits for a manager's decision"), "{said}");
        van.decide(
            Who::Manager,
            &id,
            json!({ "decision": "release", "place_id": van.dock.bin }),
        )
        .expect(200);
        let after = van.dock.scan(&code).expect(200).json;
        assert_eq!(after["proposed_bin"]["place_id"], *van.dock.bin);
    }
}

#[test]
fn a_lot_that_a_clerk_put_into_quarantine_is_held_back_too() {
    for shop in shared() {
        let van = Van::unloaded(Dock::new(shop));
        let cage = plugwell_tests::bodies::place(shop, "quarantine", &unique("cage"));
        let aside = json!({ "lot_id": van.lot, "from_place_id": van.dock.bin, "to_place_id": cage, "quantity": 3 });
        shop.once(Who::Clerk, "/v1/stock/transfers", &aside)
            .expect(201);
        let path = format!("/v1/stock/lots/{}", van.lot);
        let code = text(&shop.get(Who::Reader, &path).expect(200).json, "code");
        let scan = van.dock.scan(&code).expect(200).json;
        assert_eq!(
            (&scan["proposed_bin"], &scan["waiting_check_id"]),
            (&Value::Null, &Value::Null)
        );
        assert_eq!(steps(&scan), ["look", "check"]);
        assert!(
            text(&scan, "said").contains("Only a manager lets it out"),
            "{scan}"
        );
    }
}
