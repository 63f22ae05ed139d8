//! What a job board, the accounts and a web shop ask besides.

use std::time::{Duration, Instant};

use plugwell_client::domain::fitted::SetState;
use plugwell_client::domain::scan::ScanKind;
use plugwell_client::{
    Build, Client, Code, Due, FittedSet, HeatIndex, Issue, Match, NewPlace, NewToken, PlaceKind,
    Plug, PlugData, Receipt, Reserve, Role, Subject, Token, Transfer, Webhook, WebhookData,
};
use plugwell_tests::bodies::{build, unique};
use plugwell_tests::{Engine, Shop, Who, shared, wait};
use serde_json::json;
use uuid::Uuid;

use crate::{bin, part, stored};

#[test]
fn a_batch_answers_each_question_by_itself() {
    for shop in shared() {
        // Of a heat that no other test's part has: what those store in between is no fit of it.
        let plug = PlugData {
            heat_index: HeatIndex::exact(88.0).ok(),
            ..part()
        };
        let plug = wait(shop.typed(Who::Clerk).store(&plug))
            .expect("a part")
            .record;
        let reader = shop.typed(Who::Reader);
        let by_part = |id| Match::of(Subject::PlugId(id)).stock(plugwell_client::StockMode::Ignore);
        let nobody = Uuid::now_v7();
        let questions = [by_part(plug.id), by_part(nobody), by_part(plug.id).limit(1)];
        let answers = wait(reader.match_batch(&questions)).expect("three answers");
        let [first, second, third] = &answers[..] else {
            panic!("{answers:?}")
        };
        let alone = wait(reader.matches(&questions[0])).expect("an answer");
        assert_eq!(first.as_ref().ok(), Some(&alone));
        let refused = second.as_ref().expect_err("no such part");
        let faults: Vec<_> = refused.errors.iter().map(|fault| &*fault.pointer).collect();
        assert_eq!((refused.code(), faults), (Code::Invalid, vec!["#/plug_id"]));
        assert_eq!(third.as_ref().map(|matched| matched.fits.len()), Ok(1));
        let whole = wait(reader.match_batch(&[by_part(plug.id).limit(0)]));
        assert_eq!(whole.expect_err("no such limit").code(), Code::Invalid);
    }
}

#[test]
fn parts_are_read_by_their_ids_and_names() {
    for shop in shared() {
        let reader = shop.typed(Who::Reader);
        let plugs: Vec<Plug> = (0..3).map(|_| stored(shop).record).collect();
        let mut ids: Vec<Uuid> = plugs.iter().rev().map(|plug| plug.id).collect();
        ids.insert(1, Uuid::now_v7());
        let read = wait(reader.plugs_by_id(&ids)).expect("three parts");
        assert_eq!(read, plugs.iter().rev().cloned().collect::<Vec<_>>());
        // More than one question may name.
        ids.splice(1..2, (0..250).map(|_| Uuid::now_v7()));
        assert_eq!(wait(reader.plugs_by_id(&ids)).expect("the same"), read);
        assert_eq!(wait(reader.plugs_by_id(&[])).expect("none"), []);

        let number = &plugs[0].data.part_number;
        let named = wait(reader.equivalents_named("ferrowick", number)).expect("an answer");
        assert_eq!(named.known, Some(plugs[0].id));
        let equivalents = named.equivalents.expect("enough of it is known");
        let own = wait(reader.equivalents(plugs[0].id)).expect("an answer");
        assert_eq!(equivalents.plug_id, own.plug_id);
        let unknown = wait(reader.equivalents_named("Ferrowick", "nothing & none"));
        let unknown = unknown.expect("an answer");
        assert_eq!((unknown.known, unknown.equivalents), (None, None));
        assert_eq!(unknown.name.part_number, "nothing & none");
        assert!(unknown.further.contains_key("near_spellings"));
    }
}

#[test]
fn a_token_opens_what_its_role_may_until_it_is_removed() {
    for shop in shared() {
        let manager = shop.typed(Who::Manager);
        let asked = NewToken {
            name: unique("Job board"),
            role: Role::Reader,
        };
        let made = wait(manager.add_token(&asked)).expect("a token");
        assert!(made.token.role == Role::Reader && made.token.name == asked.name);
        let guest = Client::new(shop.url(), &made.secret).expect("a client");
        wait(guest.list::<Plug>().limit(1).page(None)).expect("a reader may look");
        let refused = wait(guest.add_token(&asked)).expect_err("and no more");
        assert_eq!(refused.code(), Code::Forbidden);
        let tokens = wait(manager.list::<Token>().all()).expect("a list");
        assert!(tokens.contains(&made.token));
        let read = wait(manager.read::<Token>(made.token.id)).expect("read");
        wait(manager.remove(&read)).expect("removed");
        let refused = wait(guest.list::<Plug>().page(None)).expect_err("no token any more");
        assert_eq!(refused.code(), Code::Unauthorized);
    }
}

#[test]
fn the_policy_is_replaced_under_its_version() {
    // A shop of its own: what others are answered names the policy.
    let shop = Shop::start(Engine::Sqlite);
    let manager = shop.typed(Who::Manager);
    let before = wait(manager.policy()).expect("the policy");
    let mut changed = before.clone();
    let value = changed.record.values.get_mut("dead_stock_days");
    let value = value.expect("a judgement");
    value.value = json!(value.value.as_i64().expect("days") + 1);
    let after = wait(manager.put_policy(&changed)).expect("replaced");
    assert_eq!(after.record.values, changed.record.values);
    assert_eq!(after.record.version, before.record.version + 1);
    let stale = wait(manager.put_policy(&changed)).expect_err("somebody was quicker");
    assert_eq!(stale.code(), Code::Stale);
    let mut back = after.clone();
    back.record.values = before.record.values.clone();
    back.record
        .values
        .get_mut("spares_per_set")
        .expect("a judgement")
        .value = json!(-1);
    let refused = wait(manager.put_policy(&back)).expect_err("fewer than none");
    assert_eq!(refused.code(), Code::Invalid);
    assert_eq!(wait(manager.policy()).expect("the policy"), after);
}

#[test]
fn a_scan_names_a_lot_and_a_pick_list_leads_to_it() {
    for shop in shared() {
        let clerk = shop.typed(Who::Clerk);
        let (plug, shelf, job) = (stored(shop).record, bin(shop), unique("Heron & son"));
        let receipt = Receipt::of(plug.id, "Quayside Parts", shelf, 8);
        let lot = wait(clerk.receive(&receipt)).expect("received").lots[0].clone();
        let scan = wait(clerk.scan(&lot.code)).expect("a scan");
        assert!(scan.kind == ScanKind::LotCode && scan.order_id.is_none());
        assert_eq!(scan.lot, Some(lot.clone()));
        assert_eq!(scan.part, Some(plug.clone()));
        assert!(!scan.said.is_empty() && scan.further.contains_key("lies"));
        let kept = wait(clerk.reserve(&Reserve::of(plug.id, 5, &job))).expect("kept");
        let list = wait(clerk.pick_list(&job, None)).expect("a list");
        let [line] = &list.lines[..] else {
            panic!("{list:?}")
        };
        assert_eq!(
            (line.lot_id, line.place_id, line.quantity),
            (lot.id, shelf, 5)
        );
        assert_eq!(line.reservation_id, Some(kept.id));
        let part = &list.parts[0];
        assert_eq!((part.picked, part.missing, part.fits), (5, 0, None));
    }
}

#[test]
fn what_is_fitted_and_due_is_listed() {
    for shop in shared() {
        let tuner = shop.typed(Who::Tuner);
        let plug = PlugData {
            service_life_km: Some(50_000),
            ..part()
        };
        let plug = wait(shop.typed(Who::Clerk).store(&plug))
            .expect("a part")
            .record;
        let receipt = Receipt::of(plug.id, "Quayside Parts", bin(shop), 8);
        wait(shop.typed(Who::Clerk).receive(&receipt)).expect("received");
        let build: Build = serde_json::from_value(build()).expect("a build");
        let build = wait(tuner.store(&build)).expect("a build");
        let issue = Issue {
            build_id: Some(build.record.id),
            odometer_km: Some(10_000),
            ..Issue::of(plug.id, 8, &unique("Fitted"))
        };
        let issued = wait(tuner.issue(&issue)).expect("issued");
        let of_build = || build.record.id;
        let sets = tuner.list::<FittedSet>().filter("build_id", of_build());
        let sets = wait(sets.all()).expect("a list");
        let [set] = &sets[..] else { panic!("{sets:?}") };
        assert!(set.state == SetState::Fitted && set.odometer_km == Some(10_000));
        assert_eq!((set.id, set.quantity), (issued.movements[0].id, 8));
        let read = wait(tuner.read::<FittedSet>(set.id)).expect("read");
        assert_eq!(&read.record, set);
        let far = json!({ "odometer_km": 90_000 });
        wait(tuner.change(&build, &far)).expect("it has run");
        let due = tuner.list::<Due>().filter("build_id", of_build());
        let due = wait(due.all()).expect("a list");
        let [due] = &due[..] else { panic!("{due:?}") };
        assert_eq!(
            (due.set.movement_id, due.distance_km),
            (set.id, Some(80_000))
        );
        assert!(due.left_km.is_some_and(|left| left < 0) && !due.text.is_empty());
    }
}

#[test]
fn deliveries_are_looked_at_and_sent_again() {
    for shop in shared() {
        let (manager, clerk) = (shop.typed(Who::Manager), shop.typed(Who::Clerk));
        let told = WebhookData {
            // Nobody is there.
            url: "https://receiver.example/plugwell".to_owned(),
            types: Some(vec![
                plugwell_client::domain::event::EventKind::LotQuarantined,
            ]),
            description: None,
        };
        let made = wait(manager.add_webhook(&told)).expect("a webhook").webhook;
        let (plug, shelf) = (stored(shop).record, bin(shop));
        let receipt = Receipt::of(plug.id, "Quayside Parts", shelf, 2);
        let lot = wait(clerk.receive(&receipt)).expect("received").lots[0].id;
        let aside = NewPlace {
            kind: PlaceKind::Quarantine,
            name: unique("Aside"),
        };
        let transfer = Transfer {
            lot_id: lot,
            from_place_id: shelf,
            to_place_id: wait(clerk.store(&aside)).expect("a place").record.id,
            quantity: 2,
        };
        wait(clerk.transfer(&transfer)).expect("set aside");
        let end = Instant::now() + Duration::from_secs(30);
        let delivery = loop {
            let found = wait(manager.deliveries(made.id).all()).expect("a list");
            if let Some(delivery) = found.into_iter().find(|own| !own.attempts.is_empty()) {
                break delivery;
            }
            assert!(Instant::now() < end, "nothing was tried");
            std::thread::sleep(Duration::from_millis(50));
        };
        assert_eq!(delivery.subject, format!("plugs/{}/stock", plug.id));
        assert!(delivery.attempts[0].failure.is_some() && delivery.attempts[0].status.is_none());
        let again = wait(manager.resend(made.id, delivery.id)).expect("sent again");
        assert_eq!(
            (again.event_id, &*again.state),
            (delivery.event_id, "waiting")
        );

        let second = wait(manager.add_secret(made.id)).expect("another secret");
        assert!(second.secret.starts_with("whsec_"));
        let known = wait(manager.read::<Webhook>(made.id)).expect("read");
        wait(manager.remove_secret(&known, second.id)).expect("removed");
        let known = wait(manager.read::<Webhook>(made.id)).expect("read");
        let gone = wait(manager.remove_secret(&known, second.id)).expect_err("it is gone");
        assert_eq!(gone.code(), Code::NotFound);
        wait(manager.remove(&known)).expect("removed");
    }
}
