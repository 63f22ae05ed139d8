//! The policy `token`.

use plugwell_tests::Who;
use plugwell_tests::bodies::{head, unique, with};
use serde_json::json;

use crate::{limited, parameter, until_refused, wait_as_told};

#[test]
fn a_token_has_its_burst_then_its_rate_and_another_has_its_own() {
    let shop = limited(&["--token-rate", "30", "--token-burst", "6"]);
    let first = shop.get(Who::Reader, "/v1/heads").expect(200);
    assert_eq!(parameter(&first, "ratelimit", "token", "r"), Some(5));
    assert_eq!(parameter(&first, "ratelimit", "token", "t"), Some(2));
    let policy = |name| parameter(&first, "ratelimit-policy", "token", name);
    assert_eq!((policy("q"), policy("w")), (Some(6), Some(12)));
    // Faults count as well, and say what is left.
    let nowhere = shop
        .get(Who::Reader, "/v1/nowhere")
        .problem(404, "not_found");
    assert!(parameter(&nowhere, "ratelimit", "token", "r") < Some(5));
    let (answered, refusal) = until_refused(|| shop.get(Who::Reader, "/v1/heads"));
    assert!(answered >= 4, "{answered}");
    assert_eq!(refusal.json["policy"], "token");
    assert_eq!(parameter(&refusal, "ratelimit", "token", "r"), Some(0));
    assert!(
        refusal.text("detail").contains("30 a minute"),
        "{refusal:?}"
    );
    shop.get(Who::Tuner, "/v1/heads").expect(200);
    wait_as_told(&refusal);
    shop.get(Who::Reader, "/v1/heads").expect(200);
}

#[test]
fn what_is_refused_is_not_done() {
    let shop = limited(&["--token-rate", "4", "--token-burst", "6"]);
    let (stored, _) = until_refused(|| {
        let body = with(head(), json!({ "name": unique("Cormorant") }));
        shop.post(Who::Tuner, "/v1/heads", &body)
    });
    assert!(stored >= 6, "{stored}");
    let heads = shop.get(Who::Reader, "/v1/heads?limit=200").expect(200);
    assert_eq!(heads.items().len(), stored);
}

#[test]
fn what_takes_longer_counts_for_more_and_what_supervisors_ask_for_nothing() {
    let shop = limited(&["--token-rate", "1", "--token-burst", "30"]);
    let batch = json!({ "requests": [{ "plug_id": "00000000-0000-7000-8000-000000000000" }] });
    let answer = shop
        .post(Who::Reader, "/v1/match-batches", &batch)
        .expect(200);
    assert_eq!(parameter(&answer, "ratelimit", "token", "r"), Some(10));
    // More than is left; a usual request still passes.
    shop.post(Who::Reader, "/v1/match-batches", &batch)
        .problem(429, "rate_limited");
    shop.get(Who::Reader, "/v1/heads").expect(200);
    let lives = shop.get(Who::Reader, "/livez").expect(200);
    assert_eq!(lives.header("ratelimit"), None);
}

#[test]
fn wrong_tokens_are_held_back_and_right_ones_are_not() {
    let shop = limited(&["--wrong-token-rate", "5"]);
    let guess = || {
        let wrong = [("authorization", "Bearer 0123456789abcdef")];
        let answer = shop.send("GET", "/v1/heads", Who::Nobody, &wrong, "");
        if answer.status == 429 {
            answer
        } else {
            answer.problem(401, "unauthorized")
        }
    };
    let (guesses, refusal) = until_refused(guess);
    assert!(guesses >= 5, "{guesses}");
    assert_eq!(refusal.json["policy"], "wrong_token");
    assert_eq!(
        parameter(&refusal, "ratelimit-policy", "wrong_token", "q"),
        Some(5)
    );
    shop.get(Who::Reader, "/v1/heads").expect(200);
    // Without any token nothing is guessed.
    shop.get(Who::Nobody, "/v1/heads")
        .problem(401, "unauthorized");
}
