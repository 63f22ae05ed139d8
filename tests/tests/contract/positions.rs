//! `Plugwell-Position` with a read: one that no answer gave, and one that does not come.

use std::time::{Duration, Instant};

use plugwell_tests::bodies::{plug, unique};
use plugwell_tests::{Answer, Engine, Shop, Who, shared};

const FAR: &str = "9000000000";

fn at(shop: &Shop, position: &str) -> Answer {
    let header = [("plugwell-position", position)];
    shop.send("GET", "/v1/policy", Who::Reader, &header, "")
}

#[test]
fn a_position_that_is_none_is_refused() {
    for shop in shared() {
        for none in ["-1", "soon", "1.5", "99999999999999999999", ""] {
            let refused = at(shop, none).refused_for(&["Plugwell-Position: wrong_form"]);
            let detail = refused.text("detail");
            assert!(detail.starts_with("Plugwell-Position: send"), "{detail}");
        }
        at(shop, "0").expect(200);
        let made = shop
            .post(Who::Clerk, "/v1/plugs", &plug(&unique("PLACE")))
            .expect(201);
        let given = made.header("plugwell-position").expect("a position");
        at(shop, given).expect(200);
    }
}

#[test]
fn a_position_that_nobody_gave_is_told_as_what_it_is() {
    for shop in shared() {
        let start = Instant::now();
        let answer = at(shop, FAR);
        match shop.engine() {
            // Nobody else writes: it will never come.
            Engine::Sqlite => {
                answer.refused_for(&["Plugwell-Position: out_of_range"]);
                assert!(start.elapsed() < Duration::from_secs(4));
            }
            Engine::Postgres => {
                let late = answer.problem(503, "unavailable");
                let detail = late.text("detail");
                assert!(
                    detail.contains(&format!("{FAR} has not been reached within 5 seconds")),
                    "{detail}"
                );
                assert_eq!(late.header("retry-after"), Some("1"));
                let id = late.text("instance");
                let id = id.trim_start_matches("urn:uuid:");
                let log = shop.log();
                let mut own = log.lines().filter(|line| line.contains(id));
                assert!(
                    own.all(|line| !line.contains("ERROR")),
                    "nothing is wrong with the shop"
                );
            }
        }
    }
}
