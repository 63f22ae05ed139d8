//! The main job, from the box that comes in to the plug that fell.

use plugwell_client::domain::ledger::ReservationState;
use plugwell_client::{
    Build, Code, Issue, Length, Level, Match, Matched, MovementKind, Receipt, Reserve, Return,
    Returned, Reversal, ScrapReason, Scrapping, StockMode, Subject, Transfer,
};
use plugwell_tests::bodies::{build, unique};
use plugwell_tests::{Shop, Who, shared, wait};
use uuid::Uuid;

use crate::{bin, stored};

/// The build of all tests.
fn engine() -> Build {
    serde_json::from_value(build()).expect("a build")
}

/// What a match says of one part: available, on hand, the gap to set.
fn found(shop: &Shop, plug_id: Uuid) -> (i64, i64, Option<Length>) {
    let question = Match::build(engine()).stock(StockMode::Ignore).limit(200);
    let matched: Matched = wait(shop.typed(Who::Reader).matches(&question)).expect("a match");
    assert_eq!(matched.quantity, 9, "eight and a spare");
    let fit = matched.fits.iter().find(|fit| fit.plug.id == plug_id);
    let fit = fit.expect("the part fits");
    (fit.available, fit.on_hand, fit.set_gap_mm)
}

#[test]
fn the_main_job_is_done_with_types() {
    for shop in shared() {
        let (clerk, tuner) = (shop.typed(Who::Clerk), shop.typed(Who::Tuner));
        let (plug, shelf, job) = (stored(shop).record, bin(shop), unique("J"));

        let received = wait(clerk.receive(&Receipt::of(plug.id, "Quayside Parts", shelf, 20)));
        let lot = received.expect("received").lots[0].id;
        let (available, on_hand, gap_mm) = found(shop, plug.id);
        assert_eq!((available, on_hand), (20, 20));

        let kept = wait(tuner.reserve(&Reserve::of(plug.id, 9, &job))).expect("reserved");
        assert!(
            kept.state == ReservationState::Open && kept.open_quantity == 9,
            "{kept:?}"
        );
        assert_eq!(found(shop, plug.id).0, 11, "what is kept is not available");
        let short = wait(tuner.reserve(&Reserve::of(plug.id, 12, &job))).expect_err("too many");
        assert_eq!(short.code(), Code::NotEnoughStock);
        let there = short
            .problem()
            .map(|problem| (problem.available(), problem.on_hand()));
        assert_eq!(there, Some((Some(11), Some(20))));

        let issue = Issue {
            reservation_id: Some(kept.id),
            gap_mm,
            ..Issue::of(plug.id, 9, &job)
        };
        let issued = wait(tuner.issue(&issue)).expect("issued");
        assert!(issued.movements[0].kind == MovementKind::Issue);
        assert!(issued.reservations[0].state == ReservationState::Issued);
        assert_eq!(issued.movements[0].gap_mm, gap_mm);

        let back = Return {
            place_id: Some(shelf),
            ..Return::of(issued.movements[0].id, 2, Returned::Sealed)
        };
        wait(clerk.give_back(&back)).expect("back");
        let fell = Scrapping::from_job(plug.id, &job, 1, ScrapReason::Dropped);
        let scrapped = wait(tuner.scrap(&fell)).expect("scrapped");
        assert_eq!(scrapped.movements[0].reason.as_deref(), Some("dropped"));
        let reversal = Reversal {
            movement_id: scrapped.movements[0].id,
            reason: "never mind".to_owned(),
        };
        let refused = wait(clerk.reverse(&reversal)).expect_err("scrap is scrap for a clerk");
        assert!(
            matches!(refused.code(), Code::ScrapIsFinal | Code::Forbidden),
            "{refused}"
        );

        let other = bin(shop);
        let moved = Transfer {
            lot_id: lot,
            from_place_id: shelf,
            to_place_id: other,
            quantity: 5,
        };
        wait(clerk.transfer(&moved)).expect("moved");
        let levels = clerk.list::<Level>().filter("plug_id", plug.id);
        let levels = wait(levels.all()).expect("levels");
        let lies = |place: Uuid| -> i64 {
            let there = levels.iter().filter(|level| level.place_id == place);
            there.map(|level| level.quantity).sum()
        };
        assert_eq!((lies(shelf), lies(other)), (8, 5));
        assert_eq!(found(shop, plug.id).1, 13);
    }
}

#[test]
fn a_reservation_is_given_back() {
    for shop in shared() {
        let (plug, shelf) = (stored(shop).record, bin(shop));
        let clerk = shop.typed(Who::Clerk);
        wait(clerk.receive(&Receipt::of(plug.id, "Quayside Parts", shelf, 9))).expect("received");
        let kept = wait(clerk.reserve(&Reserve::of(plug.id, 4, &unique("J")))).expect("reserved");
        let released = wait(clerk.release(kept.id)).expect("given back");
        assert!(released.state == ReservationState::Released, "{released:?}");
        let closed = wait(clerk.release(kept.id)).expect_err("once");
        assert_eq!(closed.code(), Code::ReservationClosed);
    }
}

#[test]
fn a_command_under_a_key_of_ones_own_is_done_once() {
    for shop in shared() {
        let (plug, shelf) = (stored(shop).record, bin(shop));
        let keyed = shop
            .typed(Who::Clerk)
            .under_key(&unique("delivery"))
            .expect("a key");
        let receipt = Receipt::of(plug.id, "Quayside Parts", shelf, 9);
        let first = wait(keyed.receive(&receipt)).expect("received");
        let second = wait(keyed.receive(&receipt)).expect("told again");
        assert_eq!(first, second);
        assert_eq!(found(shop, plug.id).1, 9, "received once");
        let other = Receipt::of(plug.id, "Quayside Parts", shelf, 8);
        let refused = wait(keyed.receive(&other)).expect_err("another request");
        assert_eq!(refused.code(), Code::OnceKeyReused);
    }
}

#[test]
fn a_requirement_is_matched_as_it_came_and_a_part_by_itself() {
    for shop in shared() {
        let reader = shop.typed(Who::Reader);
        let plug = stored(shop).record;
        let requirement = wait(reader.requirement(&engine())).expect("a requirement");
        assert!(requirement.demands.len() > 5 && !requirement.cautions.is_empty());
        let of_build = Match::build(engine()).stock(StockMode::Ignore).limit(200);
        let of_need = Match::of(Subject::Requirement(Box::new(requirement)));
        let of_need = of_need.stock(StockMode::Ignore).limit(200);
        let fits = |question: &Match| -> Vec<Uuid> {
            let matched = wait(reader.matches(question)).expect("a match");
            matched.fits.iter().map(|fit| fit.plug.id).collect()
        };
        let (by_build, by_need) = (fits(&of_build), fits(&of_need));
        assert!(by_build.contains(&plug.id) && by_need.contains(&plug.id));
        let itself = Match::of(Subject::PlugId(plug.id))
            .stock(StockMode::Ignore)
            .limit(200);
        assert!(fits(&itself).contains(&plug.id));
    }
}
