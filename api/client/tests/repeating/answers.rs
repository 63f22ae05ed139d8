//! What an older client makes of a newer service's answers, and of answers that are none.

use plugwell_client::{Client, Code, Error, Match, Matched, MovementKind, Subject, Test, Word};
use plugwell_client::{Moved, domain::fit::Verdict};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::misbehaving::{Does, Server, ok, problem};

#[test]
fn what_came_later_breaks_nothing_and_passes_nothing() {
    let id = Uuid::from_u128(1);
    let plug = json!({
        "id": id, "maker": "Ferrowick", "part_number": "FW-1", "thread": "M16x1", "electrode": "iridium",
        "shade": "green", "retired": false, "version": 1,
        "created_at": "2026-01-02T03:04:05Z", "updated_at": "2026-01-02T03:04:05Z"
    });
    let demand = |test: Value| {
        json!({ "attribute": "shade", "strength": "must", "test": test, "unknown": "fails", "reason": "",
                "basis": { "kind": "fashion", "source": null } })
    };
    let answer = json!({
        "requirement": {
            "policy_version": 1, "added_later": {},
            "demands": [demand(json!({ "like": "gr*" })), demand(json!({ "min": null, "max": 0.8 })), demand(json!({ "one_of": ["green"] }))]
        },
        "quantity": 4,
        "fits": [{
            "plug": plug, "available": 4, "on_hand": 4, "closeness": 1.0, "set_gap_mm": 0.81,
            "verdicts": [{ "attribute": "shade", "strength": "must", "needed": { "like": "gr*" }, "has": "green", "verdict": "meets_nearly" }],
            "unconfirmed": ["shade"], "picks": [], "cautions": [{ "code": "brand_new", "text": "Look." }]
        }],
        "near_misses": [], "totals": { "fits_in_catalogue": 1, "fits_in_stock": 1 }, "cautions": []
    });
    let matched: Matched = serde_json::from_value(answer).expect("an older client reads it");
    let demands = &matched.requirement.demands;
    assert_eq!(demands[0].test, Test::New(json!({ "like": "gr*" })));
    assert_eq!(
        demands[1].test,
        Test::Range {
            min: None,
            max: Some(0.8)
        }
    );
    assert_eq!(
        demands[2].test,
        Test::OneOf {
            one_of: vec!["green".into()]
        }
    );
    let fit = &matched.fits[0];
    assert_eq!(fit.plug.data.thread, Some(Word::New("M16x1".into())));
    assert_eq!(fit.verdicts[0].verdict.known(), None);
    assert!(
        fit.verdicts[0].verdict != Verdict::Meets,
        "no word is taken for another"
    );
    assert_eq!(fit.cautions[0].code.to_string(), "brand_new");
    assert_eq!(fit.set_gap_mm.map(|gap| gap.0), Some(8100), "exact");
}

#[test]
fn a_movement_of_a_later_kind_is_still_a_movement() {
    let id = Uuid::from_u128(1);
    let moved: Moved = serde_json::from_value(json!({ "movements": [{
        "id": id, "sequence": 1, "kind": "loan", "lot_id": id, "plug_id": id, "from_place_id": id,
        "to_place_id": id, "quantity": 1, "actor": "test", "created_at": "2026-01-02T03:04:05Z"
    }] }))
    .expect("read");
    assert_eq!(moved.movements[0].kind, Word::New("loan".into()));
    assert!(moved.movements[0].kind != MovementKind::Issue);
}

#[tokio::test]
async fn a_question_is_put_again() {
    let answer = json!({
        "requirement": { "demands": [] }, "quantity": 1, "fits": [], "near_misses": [],
        "totals": { "fits_in_catalogue": 0, "fits_in_stock": 0 }, "cautions": []
    });
    let server = Server::that([Does::Drops, ok(answer)]).await;
    let question = Match::of(Subject::PlugId(Uuid::from_u128(7))).limit(3);
    server.client().matches(&question).await.expect("answered");
    let sent = server.sent();
    assert_eq!(sent.len(), 2);
    assert_eq!(
        sent[1].body,
        format!(r#"{{"plug_id":"{}","limit":3}}"#, Uuid::from_u128(7))
    );
    assert_eq!(sent[1].header("idempotency-key"), None);
}

#[tokio::test]
async fn a_later_kind_of_problem_keeps_its_word() {
    let server = Server::that([problem(409, "too_shiny", vec![])]).await;
    let refused = server.client().get::<Value>("/v1/plugs").await;
    let refused = refused.expect_err("refused");
    assert_eq!(refused.code(), Code::Unknown);
    assert_eq!(
        refused.problem().map(|problem| problem.word()),
        Some("too_shiny")
    );
}

#[tokio::test]
async fn what_is_not_plugwells_is_told_apart() {
    let html = |status| Does::Answers(status, vec![], "text/html", "<p>somebody else".into());
    let server = Server::that([html(404), html(200)]).await;
    let client = server.client();
    let foreign = client
        .get::<Value>("/v1/plugs")
        .await
        .expect_err("no problem document");
    assert!(matches!(foreign, Error::Foreign(404)), "{foreign:?}");
    let unread = client.get::<Value>("/v1/plugs").await.expect_err("no JSON");
    assert!(matches!(unread, Error::NotUnderstood(_)), "{unread:?}");
    let nowhere = Client::new("not an address", "a-token").expect("a client");
    let unsent = nowhere
        .get::<Value>("/v1/plugs")
        .await
        .expect_err("no address");
    assert!(matches!(unsent, Error::NotSent(_)), "{unsent:?}");
    assert!(!unsent.is_retryable());
}
