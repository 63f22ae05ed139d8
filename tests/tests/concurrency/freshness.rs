//! What was answered is seen by whatever is asked afterwards.

use std::thread;

use plugwell_tests::bodies::{bin, issue, plug, receive, stock_of, stored_plug, unique};
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
