//! Records: stored, read, changed under their version, removed.

use plugwell_client::domain::words::Induction;
use plugwell_client::{
    Build, BuildRecord, Code, Direction, Head, HeadRecord, HeatCode, HeatIndex, HeatScaleData,
    NewPlace, PartName, Place, PlaceKind, Plug, PlugData, StandInData, SupplierData, Thread,
    Webhook, WebhookData,
};
use plugwell_tests::bodies::{build, head, unique, with, without};
use plugwell_tests::{Who, shared, wait};
use serde_json::json;

use crate::{mm, part, stored};

#[test]
fn a_part_comes_back_as_it_was_written() {
    for shop in shared() {
        let clerk = shop.typed(Who::Clerk);
        let body = part();
        let made = wait(clerk.store(&body)).expect("stored");
        let read = wait(clerk.read::<Plug>(made.record.id)).expect("read");
        assert_eq!(made, read);
        let PlugData { status, .. } = &read.record.data;
        assert_eq!(
            status.as_ref().map(ToString::to_string).as_deref(),
            Some("active")
        );
        let as_written = PlugData {
            status: None,
            ..read.record.data.clone()
        };
        assert_eq!(as_written, body);

        let twice = wait(clerk.store(&body)).expect_err("the same part");
        assert_eq!(twice.code(), Code::DuplicatePart);
        let faulty = PlugData {
            reach_mm: Some(mm(900.0)),
            hex_mm: Some(mm(1.0)),
            ..part()
        };
        let refused = wait(clerk.store(&faulty)).expect_err("two faults");
        let problem = refused.problem().expect("a problem");
        let mut pointers: Vec<_> = problem
            .errors
            .iter()
            .map(|fault| fault.pointer.as_str())
            .collect();
        pointers.sort_unstable();
        assert_eq!(
            (problem.code(), pointers),
            (Code::Invalid, vec!["#/hex_mm", "#/reach_mm"])
        );
    }
}

#[test]
fn a_change_is_meant_for_one_version() {
    for shop in shared() {
        let clerk = shop.typed(Who::Clerk);
        let first = stored(shop);
        let patch = json!({ "description": "new box", "hex_mm": null });
        let second = wait(clerk.change(&first, &patch)).expect("changed");
        assert_eq!(second.record.data.description.as_deref(), Some("new box"));
        assert_eq!(second.record.data.hex_mm, None, "cleared");
        assert_eq!(second.record.data.reach_mm, Some(mm(19.0)), "left");
        let stale = wait(clerk.change(&first, &patch)).expect_err("somebody was quicker");
        assert_eq!(stale.code(), Code::Stale);
        assert_eq!(stale.problem().map(|problem| problem.sent), Some(1));
        assert_eq!(
            wait(clerk.remove(&first)).expect_err("stale").code(),
            Code::Stale
        );
        wait(clerk.remove(&second)).expect("removed");
        let gone = wait(clerk.read::<Plug>(first.record.id)).expect_err("gone");
        assert_eq!(gone.code(), Code::NotFound);
        let reader = shop.typed(Who::Reader);
        assert_eq!(
            wait(reader.store(&part())).expect_err("a reader").code(),
            Code::Forbidden
        );
    }
}

#[test]
fn heads_builds_and_places_are_records_too() {
    for shop in shared() {
        let tuner = shop.typed(Who::Tuner);
        let body: Head = serde_json::from_value(with(head(), json!({ "name": unique("Head") })))
            .expect("a head");
        let made = wait(tuner.store(&body)).expect("a head");
        assert!(made.record.head.thread == Thread::M14x125);
        let over = with(
            without(build(), &["head"]),
            json!({ "name": unique("Build"), "head_id": made.record.id }),
        );
        let body: Build = serde_json::from_value(over).expect("a build");
        let build = wait(tuner.store(&body)).expect("a build");
        assert_eq!(build.record.head_id, Some(made.record.id));
        assert!(build.record.induction == Induction::Supercharged);
        let changed =
            wait(tuner.change(&build, &json!({ "odometer_km": 41_200 }))).expect("changed");
        assert_eq!(changed.record.odometer_km, Some(41_200));
        let used = wait(tuner.remove(&made)).expect_err("a build stands on it");
        assert_eq!(used.code(), Code::InUse);
        let again = wait(tuner.read::<BuildRecord>(build.record.id)).expect("read");
        assert_eq!(again, changed);
        wait(tuner.remove(&again)).expect("removed");
        let head = wait(tuner.read::<HeadRecord>(made.record.id)).expect("read");
        wait(tuner.remove(&head)).expect("removed");

        let clerk = shop.typed(Who::Clerk);
        let name = unique("Drawer");
        let place = wait(clerk.store(&NewPlace {
            kind: PlaceKind::Bin,
            name: name.clone(),
        }));
        let place = wait(clerk.read::<Place>(place.expect("a place").record.id)).expect("read");
        let called =
            wait(clerk.change(&place, &json!({ "name": format!("{name} b") }))).expect("changed");
        assert!(called.record.kind == PlaceKind::Bin && called.record.name == format!("{name} b"));
    }
}

#[test]
fn scales_statements_suppliers_and_webhooks_are_read() {
    for shop in shared() {
        let clerk = shop.typed(Who::Clerk);
        let maker = unique("Maker");
        let codes = [("9", 50.0), ("8", 60.0)].map(|(code, index)| HeatCode {
            code: code.to_owned(),
            heat_index: HeatIndex::exact(index).expect("a whole number"),
        });
        let scale = HeatScaleData {
            maker: maker.clone(),
            name: "numbers".to_owned(),
            codes: codes.to_vec(),
        };
        let scale = wait(clerk.store(&scale)).expect("a scale");
        assert_eq!(scale.record.codes[1].heat_index.get(), 60.0);
        let part = |number: &str| PartName {
            maker: maker.clone(),
            part_number: number.to_owned(),
        };
        let said = StandInData {
            part: part("1"),
            stands_in_for: part("2"),
            direction: Direction::Both,
            who: "a colleague".to_owned(),
            source: None,
            note: None,
        };
        let said = wait(clerk.store(&said)).expect("a statement");
        assert!(said.record.direction == Direction::Both && said.record.part.part_number == "1");
        wait(clerk.remove(&said)).expect("removed");
        let supplier = SupplierData::named(&unique("Supplier"));
        let supplier = wait(clerk.store(&supplier)).expect("a supplier");
        let changed = wait(clerk.change(&supplier, &json!({ "lead_time_days": 7 })));
        assert_eq!(changed.expect("changed").record.lead_time_days, Some(7));

        let manager = shop.typed(Who::Manager);
        let told = WebhookData {
            url: "https://receiver.example/plugwell".to_owned(),
            types: None,
            description: None,
        };
        let made = wait(manager.add_webhook(&told)).expect("a webhook");
        assert!(made.secret.starts_with("whsec_") && made.webhook.enabled);
        let read = wait(manager.read::<Webhook>(made.webhook.id)).expect("read");
        wait(manager.remove(&read)).expect("removed");
    }
}
