//! What was answered is seen by whatever is asked afterwards.

use std::thread;

use plugwell_tests::bodies::{
    bin, build, issue, plug, receive, stock_of, stored_plug, unique, with,
};
use plugwell_tests::{Shop, Who, engines};
use serde_json::json;

#[test]
fn a_match_shows_every_movement_that_was_answered_before() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let bin_id = bin(&shop, "A1");
        thread::scope(|scope| {
            for caller in 0..6 {
                let (shop, bin_id) = (&shop, &bin_id);
                scope.spawn(move || {
                    let plug_id = stored_plug(shop, &plug(&unique("FRESH")));
                    let (mut on_hand, mut kept) = (0, 0);
                    for step in 0..12 {
                        match (caller + step) % 4 {
                            0 | 1 => {
                                receive(shop, &plug_id, bin_id, 5);
                                on_hand += 5;
                            }
                            2 if on_hand - kept >= 2 => {
                                shop.once(
                                    Who::Tuner,
                                    "/v1/stock/issues",
                                    &issue(&plug_id, "Fresh", 2),
                                )
                                .expect(201);
                                on_hand -= 2;
                            }
                            _ if on_hand - kept >= 1 => {
                                let body =
                                    json!({ "plug_id": plug_id, "quantity": 1, "job": "Fresh" });
                                shop.once(Who::Tuner, "/v1/stock/reservations", &body)
                                    .expect(201);
                                kept += 1;
                            }
                            _ => {}
                        }
                        assert_eq!(
                            stock_of(shop, &plug_id),
                            (on_hand - kept, on_hand),
                            "{engine}, step {step}"
                        );
                    }
                });
            }
        });
    }
}

/// Records of six callers at once, each of a thread that no other caller asks for.
#[test]
fn a_match_shows_every_record_as_it_was_answered_before() {
    const THREADS: [&str; 6] = [
        "M8x1",
        "M10x1",
        "M12x1.25",
        "M14x1.25",
        "M18x1.5",
        "7/8-18 UNS",
    ];
    for engine in engines() {
        let shop = Shop::start(engine);
        thread::scope(|scope| {
            for own in THREADS {
                let shop = &shop;
                scope.spawn(move || {
                    let mut build = build();
                    build["head"]["thread"] = json!(own);
                    let body = json!({ "build": build, "stock": "ignore" });
                    let found = || {
                        let answer = shop.post(Who::Reader, "/v1/matches", &body).expect(200);
                        let fits = answer.json["fits"].as_array().expect("fits").len();
                        (
                            fits,
                            answer.json["near_misses"].as_array().map_or(0, Vec::len),
                        )
                    };
                    for step in 0..6 {
                        let plug = with(plug(&unique("RECORD")), json!({ "thread": own }));
                        let path = format!("/v1/plugs/{}", stored_plug(shop, &plug));
                        assert_eq!(found(), (1, 0), "{engine}, {own}, step {step}: made");
                        let patch = json!({ "projection_mm": 1.0 });
                        shop.patch(Who::Clerk, &path, &patch).expect(200);
                        assert_eq!(found(), (0, 1), "{engine}, {own}, step {step}: changed");
                        shop.delete(Who::Clerk, &path).expect(204);
                        assert_eq!(found(), (0, 0), "{engine}, {own}, step {step}: gone");
                    }
                });
            }
        });
    }
}
