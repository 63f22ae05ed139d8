use std::collections::HashSet;

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::event::{Event, EventKind, WebhookData};
use plugwell_store::{
    Attempt, Claimed, DeliveryState, Outcome, Session, Store, StoreError, Told, Webhook,
    WebhookSecret,
};
use uuid::Uuid;

use crate::made_up::{Shop, bare_plug, id, moved, moves, read, reservation, write};

/// All events behind a place.
fn told_after(store: &Store, after: i64) -> Vec<Told> {
    while read(store, Session::any_event_to_place) {
        write(store, Session::place_events);
    }
    read(store, |s| s.events_between(after, i64::MAX, &[], 1_000))
}

fn last(store: &Store) -> i64 {
    told_after(store, 0).last().map_or(0, |told| told.sequence)
}

fn kinds(told: &[Told]) -> Vec<EventKind> {
    told.iter().map(|told| told.kind).collect()
}

pub fn what_is_written_is_told_with_it(store: &Store) {
    let start = last(store);
    let mut plug = bare_plug("Ferrowick", "FW-1");
    write(store, |s| s.insert_plug(&plug));
    for retired in [false, true, true, false] {
        plug.version += 1;
        plug.retired = retired;
        write(store, |s| s.update_plug(&plug));
    }
    write(store, |s| s.delete_plug(plug.id));
    let told = told_after(store, start);
    use EventKind::{PlugChanged, PlugCreated, PlugRemoved, PlugRetired};
    assert_eq!(
        kinds(&told),
        [
            PlugCreated,
            PlugChanged,
            PlugRetired,
            PlugChanged,
            PlugChanged,
            PlugRemoved
        ]
    );
    let versions: Vec<i64> = told.iter().map(|told| told.version).collect();
    assert_eq!(versions, [1, 2, 3, 4, 5, 6]);
    for event in &told {
        assert_eq!(event.subject, format!("plugs/{}", plug.id));
        assert_eq!(event.data["part_number"], "FW-1");
    }
    // What was undone is not told of, and leaves no gap that something could appear in.
    let refused: Result<(), StoreError> = store.write(|s| {
        s.insert_plug(&bare_plug("Ferrowick", "FW-2"))?;
        Err(StoreError::Busy)
    });
    assert_eq!(refused, Err(StoreError::Busy));
    let before = last(store);
    assert_eq!(Some(before), told.last().map(|told| told.sequence));
    // Page by page nothing is lost and nothing comes twice.
    let mut paged = Vec::new();
    let mut after = start;
    while let Some(one) = read(store, |s| s.events_between(after, i64::MAX, &[], 1)).pop() {
        after = one.sequence;
        paged.push(one);
    }
    assert_eq!(paged, told);
    let some = read(store, |s| {
        s.events_between(start, i64::MAX, &[PlugRetired, PlugRemoved], 10)
    });
    assert_eq!(kinds(&some), [PlugRetired, PlugRemoved]);
}

pub fn stock_is_told_of_by_movement_and_reservation(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 10);
    let start = last(store);
    let mut kept = reservation(shop.plug.id, "Job 7", 2);
    kept.version = 1;
    let mut plan = moves(vec![moved(&lot, &shop.bin, &shop.quarantine, 3)]);
    plan.reservations = vec![kept.clone()];
    let version = shop.apply(store, &plan).stock_version;
    shop.apply(
        store,
        &moves(vec![moved(&lot, &shop.quarantine, &shop.bin, 3)]),
    );
    let told = told_after(store, start);
    use EventKind::{LotQuarantined, LotReleased, MovementBooked, ReservationMade};
    assert_eq!(
        kinds(&told),
        [
            MovementBooked,
            LotQuarantined,
            ReservationMade,
            MovementBooked,
            LotReleased
        ]
    );
    let subject = format!("plugs/{}/stock", shop.plug.id);
    assert_eq!(told[0].subject, subject);
    assert_eq!((told[0].version, told[1].version), (version, version));
    assert_eq!(told[3].version, version + 1);
    assert_eq!(told[1].data["quantity"], 3);
    assert_eq!(told[2].subject, format!("stock/reservations/{}", kept.id));
    assert_eq!(told[2].data["job"], "Job 7");
}

pub fn old_events_are_forgotten_with_their_deliveries(store: &Store) {
    let hook = webhook(store, None);
    write(store, |s| s.insert_plug(&bare_plug("Ferrowick", "FW-1")));
    let kept = last(store);
    while write(store, |s| s.make_out_deliveries(hook, Utc::now())) {}
    let listed = |state| read(store, |s| s.list_deliveries(hook, state, None, 10));
    assert_eq!(listed(None).len(), 1);
    assert!(!write(store, |s| s.forget_events(Utc::now() - TimeDelta::days(1))));
    assert_eq!(read(store, |s| s.events_forgotten()), 0);
    assert!(!write(store, |s| s
        .forget_events(Utc::now() + TimeDelta::seconds(1))));
    assert_eq!(read(store, |s| s.events_forgotten()), kept);
    assert_eq!(told_after(store, 0), []);
    assert_eq!(listed(None), []);
    write(store, |s| s.insert_plug(&bare_plug("Ferrowick", "FW-2")));
    let places: Vec<i64> = told_after(store, 0).iter().map(|t| t.sequence).collect();
    assert_eq!(places, [kept + 1], "places are never given again");
}

fn webhook(store: &Store, types: Option<Vec<EventKind>>) -> Uuid {
    let at = Utc::now();
    let hook = Webhook {
        id: id(),
        data: WebhookData {
            url: "https://receiver.example/".into(),
            types,
            description: None,
        },
        enabled: true,
        disabled_because: None,
        reached: last(store),
        made_by: "Ann".into(),
        version: 1,
        created_at: at,
        updated_at: at,
    };
    let secret = WebhookSecret {
        id: id(),
        webhook_id: hook.id,
        secret: "whsec_AAAA".into(),
        created_at: at,
    };
    write(store, |s| {
        s.insert_webhook(&hook)?;
        s.insert_webhook_secret(&secret)
    });
    hook.id
}

fn attempt(claimed: &Claimed) -> Attempt {
    Attempt {
        delivery_id: claimed.delivery.id,
        number: 0,
        at: Utc::now(),
        status: Some(500),
        failure: Some("the answer was 500".into()),
        took_ms: 12,
        next_at: None,
    }
}

pub fn deliveries_of_one_subject_go_one_after_the_other(store: &Store) {
    let hook = webhook(
        store,
        Some(vec![EventKind::HeadCreated, EventKind::HeadChanged]),
    );
    let (one, other) = (id(), id());
    write(store, |s| {
        for (head, version) in [(one, 1), (one, 2), (other, 1)] {
            s.tell(&Event::bare(EventKind::HeadCreated, head, version))?;
        }
        s.tell(&Event::bare(EventKind::BuildCreated, one, 1))
    });
    last(store);
    assert!(!write(store, |s| s.make_out_deliveries(hook, Utc::now())));
    let (now, until) = (Utc::now(), Utc::now() + TimeDelta::seconds(60));
    let claim = || write(store, |s| s.claim_deliveries(hook, now, until, 10));
    let claimed = claim();
    let what: Vec<_> = claimed
        .iter()
        .map(|c| (c.event.subject.clone(), c.event.version))
        .collect();
    assert_eq!(
        what,
        [(format!("heads/{one}"), 1), (format!("heads/{other}"), 1)]
    );
    assert_eq!(claim(), [], "nobody else gets what somebody is at");
    // Nobody ended it in time: it is taken over, and who had it is too late.
    let later = until + TimeDelta::seconds(1);
    let taken = write(store, |s| {
        s.claim_deliveries(hook, later, later + TimeDelta::seconds(60), 1)
    });
    assert_eq!(taken[0].delivery.id, claimed[0].delivery.id);
    let end = |c: &Claimed, outcome| write(store, |s| s.end_attempt(c, &attempt(c), outcome));
    assert!(!end(&claimed[0], Outcome::Delivered));
    assert!(end(&taken[0], Outcome::Again(later + TimeDelta::hours(1))));
    assert_eq!(
        claim(),
        [],
        "the second waits for the first, which waits for its time"
    );
    let again = later + TimeDelta::hours(2);
    let claim = |at: DateTime<Utc>| {
        let until = at + TimeDelta::seconds(60);
        write(store, |s| s.claim_deliveries(hook, at, until, 10))
    };
    let both = claim(again);
    let what: Vec<_> = both.iter().map(|c| &c.event.subject).collect();
    assert_eq!(what, [&format!("heads/{other}"), &format!("heads/{one}")]);
    assert!(end(&both[0], Outcome::Delivered));
    assert_eq!(claim(again), []);
    assert!(end(&both[1], Outcome::Dead));
    let second = claim(again);
    let what: Vec<_> = second.iter().map(|c| c.event.version).collect();
    assert_eq!(what, [2], "once the first is dead");
    let count = |state| read(store, |s| s.count_deliveries(hook, state));
    let counts = DeliveryState::ALL.iter().map(|state| count(*state));
    assert_eq!(counts.collect::<Vec<_>>(), [1, 1, 1]);
    let log = read(store, |s| s.attempts_of(&[both[1].delivery.id]));
    assert_eq!(log.iter().map(|a| a.number).collect::<Vec<_>>(), [1, 2]);
    assert!(write(store, |s| s.delete_webhook(hook)));
    assert_eq!(read(store, |s| s.list_deliveries(hook, None, None, 10)), []);
}

/// As several nodes do it, each with threads of its own.
pub fn nobody_else_gets_what_somebody_claims(store: &Store) {
    const SUBJECTS: usize = 40;
    let hook = webhook(store, None);
    write(store, |s| {
        (0..SUBJECTS).try_for_each(|_| s.tell(&Event::bare(EventKind::HeadCreated, id(), 1)))
    });
    last(store);
    while write(store, |s| s.make_out_deliveries(hook, Utc::now())) {}
    let now = Utc::now();
    let until = now + TimeDelta::seconds(60);
    let claimed: Vec<Uuid> = std::thread::scope(|scope| {
        let claim = || {
            let mut own = Vec::new();
            loop {
                let some = write(store, |s| s.claim_deliveries(hook, now, until, 3));
                if some.is_empty() {
                    return own;
                }
                own.extend(some.iter().map(|claimed| claimed.delivery.id));
            }
        };
        let claiming: Vec<_> = (0..4).map(|_| scope.spawn(claim)).collect();
        let each = claiming.into_iter().map(|thread| thread.join().unwrap());
        each.flatten().collect()
    });
    let different: HashSet<&Uuid> = claimed.iter().collect();
    assert_eq!(different.len(), claimed.len(), "nothing goes to two");
    // What others had locked for the moment they passed over: it is there for the next look.
    let left = write(store, |s| s.claim_deliveries(hook, now, until, 100));
    assert_eq!(claimed.len() + left.len(), SUBJECTS);
}
