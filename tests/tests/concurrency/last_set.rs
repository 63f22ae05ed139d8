//! The last set, wanted by 64 callers at once.

use plugwell_tests::bodies::{
    bin, issue, plug, receipt, receive, stock_of, stored_plug, unique, with,
};
use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::json;

use crate::{CALLERS, at_once, nothing_below_zero};

#[test]
fn the_last_set_goes_to_exactly_one_of_64_callers() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let bin_id = bin(&shop, "A1");
        for set in [8, 1] {
            let plug_id = stored_plug(&shop, &plug(&unique("LAST")));
            receive(&shop, &plug_id, &bin_id, set);
            let answers = at_once(CALLERS, |caller| {
                shop.once(
                    Who::Tuner,
                    "/v1/stock/issues",
                    &issue(&plug_id, &format!("Job {caller}"), set),
                )
            });
            assert_eq!(done(&answers), 1, "{engine}");
            for answer in refused(answers) {
                let lost = answer.problem(409, "not_enough_stock");
                assert_eq!(
                    (&lost.json["available"], &lost.json["on_hand"]),
                    (&json!(0), &json!(0)),
                    "{engine}"
                );
            }
            nothing_below_zero(&shop, &plug_id);
            assert_eq!(stock_of(&shop, &plug_id), (0, 0));
        }
    }
}

#[test]
fn the_last_set_is_reserved_by_exactly_one_of_64_callers() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let plug_id = stored_plug(&shop, &plug(&unique("LAST")));
        receive(&shop, &plug_id, &bin(&shop, "A1"), 12);
        let body = json!({ "plug_id": plug_id, "quantity": 7, "job": "Wanted" });
        let answers = at_once(CALLERS, |_| {
            shop.once(Who::Tuner, "/v1/stock/reservations", &body)
        });
        let won: Vec<&Answer> = answers
            .iter()
            .filter(|answer| answer.status == 201)
            .collect();
        assert_eq!(won.len(), 1, "{engine}");
        // And drawn on by exactly one.
        let draw =
            json!({ "plug_id": plug_id, "quantity": 7, "reservation_id": won[0].json["id"] });
        let drawn = at_once(CALLERS, |_| {
            shop.once(Who::Tuner, "/v1/stock/issues", &draw)
        });
        assert_eq!(done(&drawn), 1, "{engine}");
        for answer in refused(drawn) {
            answer.problem(409, "reservation_closed");
        }
        assert_eq!(stock_of(&shop, &plug_id), (5, 5));
    }
}

#[test]
fn no_more_comes_back_than_went_out_however_many_return_it() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let (plug_id, bin_id) = (stored_plug(&shop, &plug(&unique("BACK"))), bin(&shop, "A1"));
        receive(&shop, &plug_id, &bin_id, 16);
        let out = || {
            let body = issue(&plug_id, "Back", 8);
            let answer = shop.once(Who::Tuner, "/v1/stock/issues", &body);
            answer.expect(201).json["movements"][0]["id"].clone()
        };
        let (first, second) = (out(), out());
        let back = json!({ "movement_id": first, "quantity": 3, "place_id": bin_id, "condition": "sealed" });
        let answers = at_once(CALLERS, |_| {
            shop.once(Who::Clerk, "/v1/stock/returns", &back)
        });
        assert_eq!(done(&answers), 2, "{engine}: six of eight");
        for answer in refused(answers) {
            answer.problem(409, "more_than_issued");
        }
        let slip = json!({ "movement_id": second, "reason": "slip" });
        let answers = at_once(CALLERS, |_| {
            shop.once(Who::Clerk, "/v1/stock/reversals", &slip)
        });
        assert_eq!(done(&answers), 1, "{engine}");
        for answer in refused(answers) {
            answer.problem(409, "already_reversed");
        }
        assert_eq!(stock_of(&shop, &plug_id), (14, 14));
        nothing_below_zero(&shop, &plug_id);
    }
}

#[test]
fn an_issue_is_returned_or_reversed_never_both() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let bin_id = bin(&shop, "A1");
        for _ in 0..4 {
            let plug_id = stored_plug(&shop, &plug(&unique("EITHER")));
            receive(&shop, &plug_id, &bin_id, 8);
            let body = issue(&plug_id, "Either", 8);
            let issued = shop.once(Who::Tuner, "/v1/stock/issues", &body);
            let id = issued.expect(201).json["movements"][0]["id"].clone();
            // More lies in the job, so that the books alone would let both pass.
            receive(&shop, &plug_id, &bin_id, 8);
            shop.once(Who::Tuner, "/v1/stock/issues", &body).expect(201);
            let back = json!({ "movement_id": id, "quantity": 8, "condition": "fitted" });
            let slip = json!({ "movement_id": id, "reason": "slip" });
            let answers = at_once(16, |caller| match caller % 2 {
                0 => shop.once(Who::Manager, "/v1/stock/returns", &back),
                _ => shop.once(Who::Manager, "/v1/stock/reversals", &slip),
            });
            assert_eq!(done(&answers), 1, "{engine}");
            nothing_below_zero(&shop, &plug_id);
        }
    }
}

fn done(answers: &[Answer]) -> usize {
    answers.iter().filter(|answer| answer.status == 201).count()
}

fn refused(answers: Vec<Answer>) -> impl Iterator<Item = Answer> {
    answers.into_iter().filter(|answer| answer.status != 201)
}

#[test]
fn a_supplier_and_a_job_that_all_name_at_once_are_made_once() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let (plug_id, bin_id) = (stored_plug(&shop, &plug(&unique("BUSY"))), bin(&shop, "A1"));
        let body = with(
            receipt(&plug_id, &bin_id, 2),
            json!({ "supplier": "New to all" }),
        );
        let answers = at_once(CALLERS, |_| {
            shop.once(Who::Clerk, "/v1/stock/receipts", &body)
        });
        assert!(
            answers.iter().all(|answer| answer.status == 201),
            "{engine}"
        );
        let answers = at_once(CALLERS, |_| {
            shop.once(
                Who::Tuner,
                "/v1/stock/issues",
                &issue(&plug_id, "New to all", 1),
            )
        });
        assert!(
            answers.iter().all(|answer| answer.status == 201),
            "{engine}"
        );
        assert_eq!(stock_of(&shop, &plug_id), (64, 64));
        for kind in ["supplier", "job"] {
            let names = shop
                .get(Who::Reader, &format!("/v1/stock/places?kind={kind}"))
                .expect(200)
                .column("name");
            assert_eq!(
                names.iter().filter(|name| *name == "New to all").count(),
                1,
                "{engine}: {kind}"
            );
        }
    }
}
