//! From issues to sets.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use plugwell_domain::decimal::Length;
use plugwell_domain::fitted::{FittedSet, IssueForBuild, SetState, lead_changes, sets};
use uuid::Uuid;

fn day(number: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::days(number)
}

/// An issue of so many plugs on a day, all of which are still at the job.
fn issue(number: u128, on: i64, quantity: i64) -> IssueForBuild {
    IssueForBuild {
        movement_id: Uuid::from_u128(number),
        sequence: i64::try_from(number).expect("a small number"),
        created_at: day(on),
        build_id: Uuid::from_u128(99),
        job: "J-17".into(),
        plug_id: Uuid::from_u128(1),
        lot_id: Uuid::from_u128(0x100 + number),
        place_id: Uuid::from_u128(17),
        quantity,
        unused: 0,
        scrapped: 0,
        at_job: quantity,
        odometer_km: Some(on * 1_000),
        gap_mm: None,
    }
}

/// An issue with which an odometer was told, or none.
pub fn issue_at(odometer_km: Option<i64>) -> IssueForBuild {
    IssueForBuild {
        odometer_km,
        ..issue(1, 10, 8)
    }
}

fn of_part(part: u128, issue: IssueForBuild) -> IssueForBuild {
    IssueForBuild {
        plug_id: Uuid::from_u128(part),
        ..issue
    }
}

/// First issue, plugs left and state of each.
fn told(sets: &[FittedSet]) -> Vec<(u128, i64, SetState)> {
    let one = |set: &FittedSet| (set.movement_id.as_u128(), set.quantity, set.state);
    sets.iter().map(one).collect()
}

use SetState::{Fitted, Replaced, TakenOut};

#[test]
fn a_newer_whole_set_closes_the_older_one() {
    // Eight plugs in the engine, a spare with each set; the same part and job, a year apart.
    let made = sets(&[issue(1, 10, 9), issue(2, 375, 9)], 8);
    assert_eq!(told(&made), [(1, 9, Replaced), (2, 9, Fitted)]);
    assert_eq!(made[0].replaced_at, Some(day(375)));
    assert_eq!(made[0].replaced_at_km, Some(375_000));
    assert_eq!((made[0].ran_km(), made[1].ran_km()), (Some(365_000), None));
    // An odometer that ran backwards tells nothing.
    let mut back = issue(2, 375, 9);
    back.odometer_km = Some(9_000);
    let untold = sets(&[issue(1, 10, 9), back], 8);
    assert_eq!(
        (untold[0].replaced_at_km, untold[0].ran_km()),
        (Some(9_000), None)
    );
    assert_eq!((made[1].fitted_at, made[1].replaced_at), (day(375), None));
    assert_eq!(made[1].odometer_km, Some(375_000));
    // Another part, too.
    let made = sets(&[issue(1, 10, 8), of_part(2, issue(2, 11, 8))], 8);
    assert_eq!(told(&made), [(1, 8, Replaced), (2, 8, Fitted)]);
}

#[test]
fn lots_of_one_act_are_one_set() {
    let first = issue(1, 10, 3);
    let second = IssueForBuild {
        gap_mm: Some(Length::exact(0.8).expect("a gap")),
        odometer_km: None,
        ..issue(2, 10, 5)
    };
    let made = sets(&[first, second], 8);
    assert_eq!(told(&made), [(1, 8, Fitted)]);
    assert_eq!(made[0].movement_ids, [1, 2].map(Uuid::from_u128));
    assert_eq!(made[0].odometer_km, Some(10_000));
    assert_eq!(made[0].gap_mm, Some(Length::exact(0.8).expect("a gap")));
}

#[test]
fn what_is_less_than_the_engine_takes_fills_up_the_set_that_is_in() {
    // One fell, one goes after it: the set is still the first one.
    let dropped = IssueForBuild {
        scrapped: 1,
        at_job: 7,
        ..issue(1, 10, 8)
    };
    let made = sets(&[dropped, issue(2, 12, 1)], 8);
    assert_eq!(told(&made), [(1, 8, Fitted)]);
    assert_eq!(made[0].fitted_at, day(10));
    // Two halves are a whole one, and close what was in.
    let halves = [
        issue(1, 10, 8),
        of_part(2, issue(2, 20, 4)),
        of_part(2, issue(3, 21, 4)),
    ];
    let made = sets(&halves, 8);
    assert_eq!(told(&made), [(1, 8, Replaced), (2, 8, Fitted)]);
    assert_eq!(
        made[0].replaced_at,
        Some(day(21)),
        "when the second half went in"
    );
    // A single plug of another part is in beside the rest, and closes nothing.
    let made = sets(
        &[
            issue(1, 10, 8),
            of_part(2, issue(2, 20, 1)),
            issue(3, 21, 1),
        ],
        8,
    );
    assert_eq!(told(&made), [(1, 9, Fitted), (2, 1, Fitted)]);
}

#[test]
fn what_came_back_unused_was_never_in() {
    let back = IssueForBuild {
        unused: 8,
        at_job: 0,
        ..issue(2, 20, 8)
    };
    let made = sets(&[issue(1, 10, 8), back], 8);
    assert_eq!(told(&made), [(1, 8, Fitted)], "the older one is still in");
    let one_back = IssueForBuild {
        unused: 1,
        at_job: 8,
        ..issue(1, 10, 9)
    };
    assert_eq!(told(&sets(&[one_back], 8)), [(1, 8, Fitted)]);
}

#[test]
fn a_set_of_which_nothing_is_left_came_out() {
    let out = IssueForBuild {
        scrapped: 8,
        at_job: 0,
        ..issue(1, 10, 8)
    };
    assert_eq!(told(&sets(&[out], 8)), [(1, 0, TakenOut)]);
}

#[test]
fn what_the_job_no_longer_has_of_a_lot_is_taken_off_the_oldest() {
    // Two issues of one lot; nine of sixteen were scrapped from the job, whichever they were.
    let lot = Uuid::from_u128(7);
    let shared = |number, on, plug| IssueForBuild {
        lot_id: lot,
        at_job: 7,
        ..of_part(plug, issue(number, on, 8))
    };
    let made = sets(&[shared(1, 10, 1), shared(2, 20, 1)], 8);
    assert_eq!(told(&made), [(1, 0, Replaced), (2, 7, Fitted)]);
}

#[test]
fn leads_have_seen_the_sets_that_went_in_after_they_were_renewed() {
    let made = sets(&[issue(1, 10, 8), issue(2, 20, 8), issue(3, 30, 8)], 8);
    assert_eq!(
        lead_changes(&made, None),
        3,
        "nobody says that they were renewed"
    );
    let on = |number: i64| Some(day(number).date_naive());
    let renewed: [(Option<NaiveDate>, u32); 4] =
        [(on(9), 3), (on(20), 1), (on(19), 2), (on(31), 0)];
    for (renewed, seen) in renewed {
        assert_eq!(lead_changes(&made, renewed), seen, "{renewed:?}");
    }
}

#[test]
fn no_issues_make_no_set() {
    assert_eq!(sets(&[], 8), []);
}
