//! Where a day stands, by its reservations.

use chrono::DateTime;
use plugwell_domain::ledger::{Reservation, ReservationState as R};
use plugwell_domain::policy::Policy;
use plugwell_domain::reading::Reading;
use plugwell_domain::tuning_day::{DayState, Filling, PlannedDay};
use serde_json::json;
use uuid::Uuid;

use crate::plans::{asked, plan, today};
use crate::shelf::{offer, part, sealed};

/// State and quantity of a reservation.
type Made = (R, i64);

fn reservation(state: R, quantity: i64) -> Reservation {
    let open = matches!(state, R::Open | R::Short);
    Reservation {
        id: Uuid::from_u128(9),
        plug_id: Uuid::from_u128(1),
        job: "Heron at the hill".into(),
        quantity,
        open_quantity: if open { quantity } else { 0 },
        issued_quantity: if state == R::Issued { quantity } else { 0 },
        build_id: None,
        state,
        expires_at: None,
        version: 1,
        created_at: DateTime::UNIX_EPOCH,
    }
}

/// A day of 25 plugs.
fn day() -> PlannedDay {
    let offers = vec![offer(1, &sealed(&[(30, Some(9_000))]), 25)];
    let asked_for = asked(json!({}));
    PlannedDay {
        plan: plan(&asked_for, offers, vec![], today()),
        asked: asked_for,
        reservation_id: None,
        further_reservation_ids: vec![],
        withdrawn_at: None,
    }
}

#[test]
fn where_a_day_stands_comes_from_its_reservations() {
    let mut day = day();
    let cases: [(&[Made], DayState, i64); 13] = [
        (&[(R::Open, 25)], DayState::Reserved, 0),
        (&[(R::Open, 24)], DayState::Short, 1),
        (&[(R::Short, 25)], DayState::Short, 0),
        (&[(R::Issued, 25)], DayState::Issued, 0),
        (&[(R::Released, 25)], DayState::Released, 25),
        (&[(R::Expired, 25)], DayState::Expired, 25),
        // Topped up: all of them together.
        (&[(R::Open, 20), (R::Open, 4)], DayState::Short, 1),
        (
            &[(R::Open, 20), (R::Open, 4), (R::Open, 1)],
            DayState::Reserved,
            0,
        ),
        (&[(R::Issued, 20), (R::Open, 5)], DayState::Reserved, 0),
        (&[(R::Open, 20), (R::Short, 5)], DayState::Short, 0),
        (&[(R::Issued, 20), (R::Issued, 5)], DayState::Issued, 0),
        (&[(R::Released, 25), (R::Open, 25)], DayState::Reserved, 0),
        (&[(R::Issued, 20), (R::Released, 5)], DayState::Released, 5),
    ];
    for (made, stands, missing) in cases {
        let all: Vec<Reservation> = made.iter().map(|(s, n)| reservation(*s, *n)).collect();
        assert_eq!(day.state(&all), stands, "{made:?}");
        assert_eq!(day.missing(&all), missing, "{made:?}");
    }
    // What had gone out of a reservation before it was given back, or ran out, has gone out.
    for ended in [R::Released, R::Expired] {
        let drawn = Reservation {
            issued_quantity: 7,
            ..reservation(ended, 25)
        };
        assert_eq!(day.missing(std::slice::from_ref(&drawn)), 18, "{ended}");
        assert_eq!(
            day.missing(&[drawn, reservation(R::Open, 18)]),
            0,
            "{ended}"
        );
    }
    assert_eq!(day.state(&[]), DayState::Short, "nothing could be kept");
    day.asked.reserve = Some(false);
    assert_eq!(day.state(&[]), DayState::Planned);
    day.withdrawn_at = Some(DateTime::UNIX_EPOCH);
    assert_eq!(day.state(&[]), DayState::Withdrawn);
}

#[test]
fn a_day_is_read_back_with_all_its_reservations() {
    let mut day = day();
    let ids: Vec<Uuid> = [1, 2, 3].map(Uuid::from_u128).to_vec();
    ids.iter().for_each(|id| day.add_reservation(*id));
    assert_eq!(day.reservation_id, Some(ids[0]));
    assert_eq!(day.reservation_ids().collect::<Vec<_>>(), ids);
    let text = serde_json::to_string(&day).unwrap();
    assert_eq!(serde_json::from_str::<PlannedDay>(&text).unwrap(), day);
}

#[test]
fn faults_of_a_reading_against_its_day() {
    let mut day = day();
    let own = day.plan.proposed.as_ref().unwrap().plug.id;
    let faults = |day: &PlannedDay, over: serde_json::Value, part: Option<Uuid>| -> Vec<String> {
        let mut body =
            json!({ "build_id": Uuid::nil(), "run": 3, "cylinder": 1, "movement_id": own });
        let members = body.as_object_mut().unwrap();
        members.extend(over.as_object().unwrap().clone());
        let reading: Reading = serde_json::from_value(body).unwrap();
        let found = day.faults_of(&reading, part);
        found.into_iter().map(|f| f.pointer).collect()
    };
    let right = json!({});
    assert_eq!(faults(&day, right.clone(), Some(own)), [""; 0]);
    assert_eq!(faults(&day, right.clone(), None), [""; 0]);
    assert_eq!(
        faults(&day, json!({ "run": 4 }), Some(own)),
        ["#/run"],
        "three pulls"
    );
    let other = part(7, json!({}));
    assert_eq!(
        faults(&day, right.clone(), Some(other.id)),
        ["#/movement_id"]
    );
    let of_lot = json!({ "movement_id": null, "lot_id": own });
    assert_eq!(faults(&day, of_lot, Some(other.id)), ["#/lot_id"]);
    let elsewhere = json!({ "build_id": other.id, "run": 9 });
    let all = ["#/tuning_day_id", "#/run", "#/movement_id"];
    assert_eq!(faults(&day, elsewhere, Some(other.id)), all);
    // What may fill up a short day is as good as its own part.
    let few = vec![offer(1, &sealed(&[(20, Some(9_000))]), 25)];
    let filling = Filling {
        plug: (&other).into(),
        available: 9,
    };
    day.plan = plan(&day.asked, few, vec![filling], today());
    assert_eq!(faults(&day, right.clone(), Some(other.id)), [""; 0]);
    day.withdrawn_at = Some(DateTime::UNIX_EPOCH);
    assert_eq!(faults(&day, right, Some(own)), ["#/tuning_day_id"]);
}

#[test]
fn plugs_are_kept_to_the_end_of_the_day_and_two_days_more() {
    let values = Policy::default().values;
    let until = asked(json!({ "day": "2030-05-31" })).kept_until(&values);
    // The 31st ends where the 1st begins; two days more by the policy (own).
    assert_eq!(until.to_rfc3339(), "2030-06-03T00:00:00+00:00");
}
