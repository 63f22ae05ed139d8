//! Working out only whom a change concerns comes to the same as working out everybody's turn.

use std::cmp::Reverse;
use std::collections::{HashMap, HashSet};

use chrono::DateTime;
use plugwell_domain::fit::Standing;
use plugwell_domain::requirement::Requirement;
use plugwell_domain::waiting::{Offered, WaitingFit, WaitingJob, WaitingState, in_turn};
use plugwell_store::{InLine, Stored};
use proptest::prelude::*;
use serde_json::json;
use uuid::Uuid;

use super::{Read, Remembered};

fn id(number: u8) -> Uuid {
    Uuid::from_u128(u128::from(number))
}

/// What needs a thread and nothing else.
fn needs() -> Requirement {
    let thread = json!({
        "attribute": "thread", "strength": "must", "unknown": "fails", "test": { "one_of": ["M14x1.25"] }
    });
    Requirement::from_json(&json!({ "demands": [thread] })).expect("a requirement")
}

fn offers(parts: &[(u8, i64)]) -> Vec<Offered> {
    let of = |(place, (part, available)): (usize, &(u8, i64))| Offered {
        standing: Standing {
            heat_distance: place as i64,
            projection_distance: 0,
            preferences_missed: 0,
            several_lots: false,
            available: Reverse(*available),
        },
        part_number: part.to_string(),
        plug_id: id(*part),
        available: *available,
    };
    parts.iter().enumerate().map(of).collect()
}

fn place(number: u8, quantity: i64) -> InLine {
    InLine {
        job: Stored {
            id: id(number),
            version: 1,
            created_at: DateTime::UNIX_EPOCH,
            updated_at: DateTime::UNIX_EPOCH,
            data: WaitingJob {
                job: number.to_string(),
                place_id: Uuid::nil(),
                build_id: None,
                quantity,
                open_quantity: quantity,
                state: WaitingState::Waiting,
                fits: Vec::new(),
                possible_since: None,
                closed_at: None,
                asked_by: "a test".into(),
            },
        },
        offers: Vec::new(),
    }
}

/// What happens to the line.
#[derive(Debug, Clone)]
enum Happens {
    /// A job asks, or what it still waits for changes.
    Asks(u8, i64),
    /// A job goes, or gets its plugs.
    Goes(u8),
    /// Parts are offered to a job, best first.
    Offers(u8, Vec<(u8, i64)>),
    /// The line is read anew, as it is stored.
    ReadAnew,
}

fn happens() -> impl Strategy<Value = Vec<Happens>> {
    let job = 1..12u8;
    let offered = prop::collection::btree_map(100..106u8, 1..20i64, 0..4);
    let offered = offered.prop_map(|parts| parts.into_iter().collect::<Vec<_>>());
    let one = prop_oneof![
        3 => (job.clone(), 1..9i64).prop_map(|(job, quantity)| Happens::Asks(job, quantity)),
        1 => job.clone().prop_map(Happens::Goes),
        5 => (job, offered.prop_shuffle()).prop_map(|(job, parts)| Happens::Offers(job, parts)),
        1 => Just(Happens::ReadAnew),
    ];
    prop::collection::vec(one, 1..40)
}

/// The line as it is stored, what is written of it after each happening.
#[derive(Default)]
struct Database(HashMap<Uuid, InLine>);

impl Database {
    fn line(&self) -> Vec<InLine> {
        let mut line: Vec<InLine> = self.0.values().cloned().collect();
        line.sort_unstable_by_key(|place| place.job.id);
        line
    }

    /// What `happened` makes of the line, told to what is remembered of it.
    fn after(&mut self, happened: Happens, line: &mut Remembered) {
        let read = match &happened {
            Happens::Asks(job, quantity) => {
                let stored = self.0.entry(id(*job));
                let stored = stored.or_insert_with(|| place(*job, *quantity));
                stored.job.data.open_quantity = *quantity;
                Read::Named(HashSet::from([id(*job)]), vec![stored.clone()])
            }
            Happens::Goes(job) => {
                self.0.remove(&id(*job));
                Read::Named(HashSet::from([id(*job)]), Vec::new())
            }
            Happens::Offers(..) => Read::Named(HashSet::new(), Vec::new()),
            Happens::ReadAnew => Read::Whole(self.line()),
        };
        let waiting = read.waiting().iter();
        let needs = waiting.map(|place| (place.job.id, needs())).collect();
        let mut concerned = line.take(read, needs);
        if let Happens::Offers(job, parts) = &happened {
            line.offer(id(*job), offers(parts), &mut concerned);
        }
        for mut turn in line.turns(concerned) {
            turn.place.job.data.fits = turn.fits;
            self.0.insert(turn.place.job.id, turn.place.clone());
            line.written(turn.place);
        }
    }

    /// Everybody's turn, worked out from the first to the last.
    fn turns(&self) -> Vec<Vec<WaitingFit>> {
        let line = self.line();
        let asked = line
            .iter()
            .map(|place| (place.job.data.open_quantity, &*place.offers));
        in_turn(asked)
    }
}

proptest! {
    #[test]
    fn nobodys_turn_is_missed(all in happens()) {
        let (mut database, mut line) = (Database::default(), Remembered::default());
        for happened in all {
            database.after(happened, &mut line);
            let stored = database.line();
            let remembered: Vec<&InLine> = line.waits.values().map(|waits| &waits.place).collect();
            prop_assert_eq!(remembered, stored.iter().collect::<Vec<_>>());
            let fits: Vec<_> = stored.iter().map(|place| place.job.data.fits.clone()).collect();
            prop_assert_eq!(fits, database.turns());
        }
    }
}

#[test]
fn a_line_is_true_of_one_state_and_only_until_it_changes() {
    let mut line = Remembered::default();
    assert!(!line.is_of(None), "nothing has been read");
    assert!(!line.is_of(Some("7 first")));
    line.be_of("7 first".into());
    assert!(line.is_of(Some("7 first")));
    assert!(!line.is_of(Some("7 another")) && !line.is_of(None));
    line.take(Read::Named(HashSet::new(), Vec::new()), HashMap::new());
    assert!(!line.is_of(Some("7 first")), "what comes next may fail");
}
