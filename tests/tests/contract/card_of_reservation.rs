//! The fitting card of a reservation: it names the part, its own plugs are there and those of others are not.

use plugwell_tests::bodies::{bin, build, issue, plug, receive, stored_plug, with};
use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::json;
use uuid::Uuid;

/// Reserves plugs for a job.
fn reserve(shop: &Shop, part: &str, job: &str, quantity: i64) -> Answer {
    let body = json!({ "plug_id": part, "job": job, "quantity": quantity });
    shop.once(Who::Tuner, "/v1/stock/reservations", &body)
        .expect(201)
}

/// A shop with a build, the path of its card, and its best fit of which there are 25.
fn shop_with_set(engine: plugwell_tests::Engine) -> (Shop, String, String) {
    let shop = Shop::start(engine);
    let made = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    let part = stored_plug(&shop, &plug("FW-1"));
    receive(&shop, &part, &bin(&shop, "Rack 1"), 25);
    let path = format!("/v1/builds/{}/fitting-card", made.text("id"));
    (shop, path, part)
}

#[test]
fn plugs_kept_for_the_cars_own_job_are_there() {
    for engine in engines() {
        let (shop, path, part) = shop_with_set(engine);
        let second = stored_plug(&shop, &with(plug("FW-2"), json!({ "heat_index": 75 })));
        receive(&shop, &second, &bin(&shop, "Rack 2"), 20);
        let kept = reserve(&shop, &part, "<J> & 1", 25);
        let card = |query: &str| {
            shop.get(Who::Reader, &format!("{path}?{query}"))
                .expect(200)
                .json
        };
        let id = kept.text("id");

        let blind = shop.get(Who::Reader, &path).expect(200).json;
        assert_eq!(blind["plug"]["id"], json!(second), "it is all reserved");
        assert_eq!(card(&format!("plug_id={part}"))["picks"], json!([]));

        for query in [
            format!("reservation_id={id}"),
            format!("reservation_id={id}&plug_id={part}"),
        ] {
            let told = card(&query);
            assert_eq!(told["plug"]["id"], json!(part));
            assert_eq!(
                told["reservation"],
                json!({ "id": id, "job": "<J> & 1", "open_quantity": 25 })
            );
            assert_eq!(
                (&told["available"], &told["picks"][0]["quantity"]),
                (&json!(25), &json!(9))
            );
        }
        let html = shop.send(
            "GET",
            &format!("{path}?reservation_id={id}"),
            Who::Reader,
            &[("accept", "text/html")],
            "",
        );
        let html = String::from_utf8(html.expect(200).body).expect("UTF-8");
        assert!(
            html.contains("Take, reserved for &#60;J&#62; &#38; 1")
                && !html.contains("are not there"),
            "{html}"
        );
    }
}

/// The card promises no more than an issue that names the same reservation gives.
#[test]
fn what_others_have_reserved_is_not_there() {
    for engine in engines() {
        let (shop, path, part) = shop_with_set(engine);
        let own = reserve(&shop, &part, "J-1", 5).text("id");
        reserve(&shop, &part, "J-2", 18);
        let told = shop
            .get(Who::Reader, &format!("{path}?reservation_id={own}"))
            .expect(200)
            .json;
        assert_eq!(
            (&told["available"], &told["picks"][0]["quantity"]),
            (&json!(7), &json!(7))
        );
        let draw = |quantity: i64| {
            with(
                issue(&part, "J-1", quantity),
                json!({ "reservation_id": own }),
            )
        };
        let refused = shop
            .once(Who::Tuner, "/v1/stock/issues", &draw(8))
            .problem(409, "not_enough_stock");
        assert_eq!(refused.json["available"], told["available"]);
        shop.once(Who::Tuner, "/v1/stock/issues", &draw(7))
            .expect(201);
        // Drawn upon, it is finished.
        let closed = shop.get(Who::Reader, &format!("{path}?reservation_id={own}"));
        closed.problem(409, "reservation_closed");
    }
}

#[test]
fn a_reservation_of_something_else_is_refused() {
    for engine in engines() {
        let (shop, path, part) = shop_with_set(engine);
        let wrong = stored_plug(&shop, &with(plug("FW-9"), json!({ "heat_index": 50 })));
        receive(&shop, &wrong, &bin(&shop, "Rack 9"), 9);
        let kept = reserve(&shop, &wrong, "J-9", 9).text("id");
        let get = |query: String| shop.get(Who::Reader, &format!("{path}?{query}"));
        get(format!("reservation_id={kept}&plug_id={part}"))
            .refused_for(&["?reservation_id contradiction"]);
        get(format!("reservation_id={kept}")).problem(409, "does_not_fit");
        get(format!("reservation_id={}", Uuid::now_v7()))
            .refused_for(&["?reservation_id not_found"]);
        get("reservation_id=7".into()).refused_for(&["?reservation_id wrong_form"]);
    }
}
