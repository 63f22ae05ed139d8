//! A reservation that runs out while it is issued: it is drawn on or it ends, never both and never
//! neither.

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_tests::bodies::{bin, issue, plug, receive, stock_of, stored_plug, unique};
use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::{Value, json};

use crate::{at_once, nothing_below_zero};

/// Times that it is tried on each engine.
const ROUNDS: usize = 24;
/// Callers who draw on the reservation, and as many who want what it kept.
const EACH: usize = 4;

#[test]
fn it_is_issued_or_it_ends_and_whoever_comes_then_gets_it() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let bin_id = bin(&shop, "A1");
        let (mut drawn, mut ended) = (0, 0);
        for round in 0..ROUNDS {
            let plug_id = stored_plug(&shop, &plug(&unique("RACE")));
            receive(&shop, &plug_id, &bin_id, 8);
            // So that the service's own round, the draws and the others meet at every distance.
            let apart = 3 * i64::try_from(round).expect("few");
            let until = Utc::now() + TimeDelta::milliseconds(150 + 2 * apart);
            let kept = json!({
                "plug_id": plug_id, "quantity": 8, "job": "Last minute",
                "expires_at": until.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string()
            });
            let kept = shop.once(Who::Tuner, "/v1/stock/reservations", &kept);
            if kept.status == 400 {
                continue;
            }
            let kept = kept.expect(201).json;
            let draw = json!({ "plug_id": plug_id, "quantity": 8, "reservation_id": kept["id"] });
            let answers = at_once(2 * EACH, |caller| {
                wait_for(until, apart, caller);
                let body = match caller % 2 {
                    0 => draw.clone(),
                    _ => issue(&plug_id, "Walk in", 8),
                };
                shop.once(Who::Tuner, "/v1/stock/issues", &body)
            });
            match settled(&shop, &kept, &answers) {
                true => drawn += 1,
                false => ended += 1,
            }
            assert_eq!(
                stock_of(&shop, &plug_id),
                (0, 0),
                "{engine}: nobody lost and nobody doubled"
            );
            nothing_below_zero(&shop, &plug_id);
        }
        println!("{engine}: {drawn} drawn on, {ended} ended");
        assert!(
            drawn > 0 && ended > 0,
            "{engine}: {drawn} drawn on, {ended} ended: both ways are seen"
        );
        shop.stop();
        let audit = shop.run("audit", &[]);
        assert!(audit.status.success(), "{engine}: {audit:?}");
    }
}

/// Half of the callers come before the last instant, the others after it.
fn wait_for(until: DateTime<Utc>, apart: i64, caller: usize) {
    let place = i64::try_from(caller).expect("few");
    let early = TimeDelta::milliseconds(apart - 2 * apart * place / 7);
    while Utc::now() < until - early {
        std::thread::sleep(std::time::Duration::from_millis(1));
    }
}

/// Exactly one issue went through, and the reservation agrees with it; whether it was drawn on.
fn settled(shop: &Shop, kept: &Value, answers: &[Answer]) -> bool {
    let done: Vec<usize> = (0..answers.len())
        .filter(|caller| answers[*caller].status == 201)
        .collect();
    assert_eq!(done.len(), 1, "exactly one gets the eight: {answers:?}");
    let path = format!(
        "/v1/stock/reservations/{}",
        kept["id"].as_str().expect("an id")
    );
    let now = shop.get(Who::Reader, &path).expect(200).json;
    let by_draw = done[0].is_multiple_of(2);
    let state = if by_draw { "issued" } else { "expired" };
    assert_eq!(now["state"], state, "{now}");
    assert_eq!(now["open_quantity"], 0);
    assert_eq!(now["issued_quantity"], if by_draw { 8 } else { 0 });
    for (caller, answer) in answers.iter().enumerate().filter(|(_, a)| a.status != 201) {
        let code = answer.json["type"].as_str().unwrap_or_default();
        let code = code.rsplit(':').next().unwrap_or_default();
        let allowed: &[&str] = match caller % 2 {
            0 => &["reservation_closed"],
            _ => &["not_enough_stock"],
        };
        assert!(allowed.contains(&code), "{caller}: {answer:?}");
    }
    by_draw
}
