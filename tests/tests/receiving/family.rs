//! A lot that failed its check takes along what descends from it: into quarantine, there later, and out
//! by a manager's decision.

use plugwell_tests::bodies::{issue, stock_of, unique, with};
use plugwell_tests::{Answer, Shop, Who, engines, shared};
use serde_json::{Value, json};

use crate::dock::{Dock, text};
use crate::van::{CHECKS, Van};

/// Twelve of a lot, of which three came back set to 0.8 mm, two of those set to 0.7 mm afterwards.
struct Family<'a> {
    van: Van<'a>,
    job: String,
    /// The lot that was set to 0.8 mm, and the one that was set to 0.7 mm from that.
    gapped: [String; 2],
}

impl<'a> Family<'a> {
    fn of(shop: &'a Shop) -> Self {
        let van = Van::unloaded(Dock::new(shop));
        let job = unique("Kestrel");
        let out = van.issue(&job, 3).expect(201).json["movements"][0].clone();
        let first = back(&van, &out, 3, 0.8).expect(201).json["lots"][0].clone();
        let over = json!({ "lot_id": first["id"], "gap_mm": 0.8 });
        let body = with(issue(&van.part, &job, 2), over);
        let again = shop.once(Who::Clerk, "/v1/stock/issues", &body).expect(201);
        let second = back(&van, &again.json["movements"][0], 2, 0.7)
            .expect(201)
            .json["lots"][0]
            .clone();
        assert_eq!(second["from_lot_id"], first["id"]);
        Self {
            van,
            job,
            gapped: [text(&first, "id"), text(&second, "id")],
        }
    }

    fn issue(&self, over: Value) -> Answer {
        let body = with(issue(&self.van.part, &self.job, 1), over);
        self.van
            .dock
            .shop
            .once(Who::Clerk, "/v1/stock/issues", &body)
    }

    /// Nothing of it is matched or issued, by whatever gap or lot.
    fn is_not_to_be_had(&self) {
        assert_eq!(stock_of(self.van.dock.shop, &self.van.part), (0, 0));
        for gap in [None, Some(0.8), Some(0.7)] {
            self.issue(json!({ "gap_mm": gap }))
                .problem(409, "not_enough_stock");
        }
        for lot in [&self.van.lot, &self.gapped[0], &self.gapped[1]] {
            self.issue(json!({ "lot_id": lot }))
                .problem(409, "not_enough_stock");
        }
    }
}

/// Takes plugs back set to a gap.
fn back(van: &Van<'_>, issued: &Value, quantity: i64, gap_mm: f64) -> Answer {
    let body = json!({ "movement_id": issued["id"], "quantity": quantity, "condition": "gapped",
        "gap_mm": gap_mm, "place_id": van.dock.bin });
    van.dock.shop.once(Who::Clerk, "/v1/stock/returns", &body)
}

fn kinds(answer: &Value) -> Vec<String> {
    let movements = answer["movements"].as_array().expect("movements");
    movements.iter().map(|m| text(m, "kind")).collect()
}

fn codes(answer: &Value) -> Vec<String> {
    let cautions = answer["cautions"].as_array().expect("cautions");
    cautions.iter().map(|c| text(c, "code")).collect()
}

#[test]
fn what_was_set_to_a_gap_is_put_aside_with_its_lot() {
    for shop in shared() {
        let family = Family::of(shop);
        assert_eq!(family.van.bin_and_quarantine(), (12, 0));
        let answer = family
            .van
            .check(json!({ "reach_mm": [17.5] }))
            .expect(201)
            .json;
        let check = &answer["check"];
        assert_eq!(check["set_aside"], 12);
        assert_eq!(family.van.bin_and_quarantine(), (0, 12));
        let descended: Vec<(&Value, &Value)> = check["descended"]
            .as_array()
            .expect("a list")
            .iter()
            .map(|lot| (&lot["lot_id"], &lot["quantity"]))
            .collect();
        assert_eq!(
            descended,
            [
                (&json!(family.gapped[0]), &json!(1)),
                (&json!(family.gapped[1]), &json!(2))
            ]
        );
        assert!(
            text(check, "text").contains("what descends from it"),
            "{check}"
        );
        family.is_not_to_be_had();
        // The movements of the family stand: to put one right there is nothing in the bin.
        let moved = &answer["movements"][1];
        family
            .van
            .dock
            .reverse(Who::Clerk, moved)
            .problem(403, "forbidden");
    }
}

#[test]
fn what_comes_back_to_any_lot_of_the_family_goes_on_to_quarantine_and_is_said_to() {
    for shop in shared() {
        let family = Family::of(shop);
        let van = &family.van;
        let named = json!({ "lot_id": family.gapped[1], "gap_mm": 0.7 });
        let out = family.issue(named).expect(201).json["movements"][0].clone();
        let sealed = van.issue(&family.job, 4).expect(201).json["movements"][0].clone();
        van.aside();
        assert_eq!(van.bin_and_quarantine(), (0, 7));
        // Back into its own lot, then into one that nobody knew of before, then by a reversal.
        let own = back(van, &out, 1, 0.7).expect(201).json;
        assert_eq!(kinds(&own), ["return", "transfer"]);
        assert_eq!(codes(&own), ["waits_in_quarantine"]);
        let new = back(van, &sealed, 2, 0.9).expect(201).json;
        assert_eq!(kinds(&new), ["return", "return", "transfer"]);
        assert_eq!(codes(&new), ["waits_in_quarantine"]);
        let code = text(&new["lots"][0], "code");
        assert!(text(&new["cautions"][0], "text").contains(&code), "{new}");
        assert_eq!(van.bin_and_quarantine(), (0, 10));
        family.is_not_to_be_had();
        // What lies in quarantine is not taken out of the bin once more.
        van.dock
            .reverse(Who::Clerk, &own["movements"][0])
            .problem(409, "not_enough_stock");
    }
}

#[test]
fn what_a_count_finds_of_the_family_goes_on_to_quarantine() {
    for shop in shared() {
        let family = Family::of(shop);
        let van = &family.van;
        let counts = "/v1/stock/counts";
        let body = json!({ "places": [van.dock.bin] });
        let count = shop.post(Who::Clerk, counts, &body).expect(201).json;
        van.aside();
        let path = format!("{counts}/{}", text(&count, "id"));
        let lines = [&van.lot, &family.gapped[0], &family.gapped[1]];
        let lines: Vec<Value> = lines
            .iter()
            .zip([0, 1, 0])
            .map(|(lot, counted)| json!({ "lot_id": lot, "place_id": van.dock.bin, "counted": counted }))
            .collect();
        shop.patch(
            Who::Clerk,
            &path,
            &json!({ "lines": lines, "state": "counted" }),
        )
        .expect(200);
        let approval = json!({ "reason": "it had been overlooked" });
        shop.once(Who::Manager, &format!("{path}/approval"), &approval)
            .expect(200);
        assert_eq!(van.bin_and_quarantine(), (0, 13));
        family.is_not_to_be_had();
    }
}

#[test]
fn a_decision_reaches_the_whole_family() {
    for shop in shared() {
        let family = Family::of(shop);
        let van = &family.van;
        let id = van.aside();
        let release = json!({ "decision": "release", "place_id": van.dock.bin });
        let done = van.decide(Who::Manager, &id, release).expect(200).json;
        assert_eq!(done["movements"].as_array().map(Vec::len), Some(3));
        assert_eq!(van.bin_and_quarantine(), (12, 0));
        family
            .issue(json!({ "lot_id": family.gapped[1] }))
            .expect(201);

        let family = Family::of(shop);
        let van = &family.van;
        let id = van.aside();
        van.decide(Who::Manager, &id, json!({ "decision": "scrap" }))
            .expect(200);
        assert_eq!(
            (van.bin_and_quarantine(), van.dock.held(&van.part, "scrap")),
            ((0, 0), 12)
        );

        let family = Family::of(shop);
        let van = &family.van;
        let id = van.aside();
        let done = van
            .decide(Who::Manager, &id, json!({ "decision": "send_back" }))
            .expect(200)
            .json;
        assert_eq!(done["check"]["decided"]["not_reached"], json!([]));
        let last = done["movements"]
            .as_array()
            .expect("movements")
            .last()
            .cloned();
        let last = last.expect("a movement");
        assert_eq!(
            (&last["kind"], &last["quantity"], &last["reverses"]),
            (&json!("reversal"), &json!(12), &van.receipt["id"])
        );
        for kind in ["bin", "quarantine", "scrap", "supplier", "difference"] {
            assert_eq!(van.dock.held(&van.part, kind), 0, "{kind}");
        }
    }
}

#[test]
fn a_descendant_with_a_check_of_its_own_waits_for_that() {
    for shop in shared() {
        let family = Family::of(shop);
        let van = &family.van;
        let own = json!({ "lot_id": family.gapped[0], "sample": 1, "reach_mm": [17.5] });
        let own = shop.once(Who::Clerk, CHECKS, &own).expect(201).json["check"].clone();
        assert_eq!(own["set_aside"], 3, "with what descends from it in turn");
        let id = van.aside();
        let release = json!({ "decision": "release", "place_id": van.dock.bin });
        let own_id = text(&own, "id");
        van.decide(Who::Manager, &own_id, release.clone())
            .problem(409, "forebear_waits");
        let done = van
            .decide(Who::Manager, &id, release.clone())
            .expect(200)
            .json;
        let decided = &done["check"]["decided"];
        assert_eq!(van.bin_and_quarantine(), (9, 3));
        assert_eq!(
            decided["not_reached"].as_array().map(Vec::len),
            Some(2),
            "{decided}"
        );
        van.decide(Who::Manager, &own_id, release).expect(200);
        assert_eq!(van.bin_and_quarantine(), (12, 0));
    }
}

#[test]
fn the_books_hold_after_all_of_it() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        {
            for decision in ["release", "scrap", "send_back"] {
                let family = Family::of(&shop);
                let van = &family.van;
                let out = van.issue(&family.job, 2).expect(201).json["movements"][0].clone();
                let id = van.aside();
                back(van, &out, 1, 0.75).expect(201);
                let mut body = json!({ "decision": decision });
                if decision == "release" {
                    body["place_id"] = json!(van.dock.bin);
                }
                van.decide(Who::Manager, &id, body).expect(200);
            }
            let value = shop.get(Who::Manager, "/v1/reports/value").expect(200);
            assert_eq!(value.status, 200);
        }
        shop.stop();
        let audit = shop.run("audit", &[]);
        assert!(audit.status.success(), "{engine}: {audit:?}");
    }
}
