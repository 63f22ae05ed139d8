//! Which lots an issue takes, and how many it may have.

use plugwell_domain::ledger::commands::{Issue, Return};
use plugwell_domain::ledger::rules::{Rejection, pick, pick_leaving};
use plugwell_domain::ledger::{MovementKind, PlaceKind, Plan, ReservationState, Returned};
use uuid::Uuid;

use crate::asking::{issue_of, return_of};
use crate::books::{Books, mm};

/// Lot (by its place in the books) and quantity of every movement.
fn taken(books: &Books, plan: &Plan) -> Vec<(usize, i64)> {
    let lot = |id: Uuid| books.lots.iter().position(|l| l.id == id);
    let movements = plan.movements.iter();
    movements
        .map(|m| (lot(m.lot_id).expect("a known lot"), m.quantity))
        .collect()
}

#[test]
fn one_lot_where_one_is_big_enough_else_the_fewest_oldest_first() {
    type Case = (&'static [i64], i64, &'static [(usize, i64)]);
    let cases: &[Case] = &[
        (&[9, 9], 8, &[(0, 8)]),
        (&[3, 9, 9], 8, &[(1, 8)]),
        (&[3, 8, 9], 8, &[(1, 8)]),
        // Three and nine are twelve: four stay whole.
        (&[3, 4, 9], 12, &[(0, 3), (2, 9)]),
        (&[3, 4, 9], 13, &[(1, 4), (2, 9)]),
        (&[5, 5, 5, 7], 12, &[(0, 5), (3, 7)]),
        (&[2, 6, 6, 6], 12, &[(1, 6), (2, 6)]),
        (&[7, 7], 8, &[(0, 7), (1, 1)]),
        (&[7, 1], 8, &[(0, 7), (1, 1)]),
    ];
    for (sealed, quantity, want) in cases {
        let mut books = Books::with(sealed);
        let plan = books.issue(&issue_of(*quantity)).expect("enough");
        assert_eq!(taken(&books, &plan), *want, "{quantity} of {sealed:?}");
    }
}

#[test]
fn within_a_lot_the_bins_go_by_their_running_number() {
    let mut books = Books::with(&[8]);
    let [first, second] = books.bins.clone();
    books
        .transfer(0, first.id, second.id, 5)
        .expect("five are there");
    let plan = books.issue(&issue_of(6)).expect("one lot has six");
    let from: Vec<_> = plan
        .movements
        .iter()
        .map(|m| (m.from_place_id, m.quantity))
        .collect();
    assert_eq!(from, [(first.id, 3), (second.id, 3)]);
}

#[test]
fn lots_of_one_instant_go_by_their_identifier() {
    let mut books = Books::with(&[4, 4]);
    books.lots[1].received_at = books.lots[0].received_at;
    books.lots.reverse();
    let shelf = books.shelf(&[]);
    let picks = pick(&shelf, |_, _| true, 6);
    let want = [(books.lots[1].id, 4), (books.lots[0].id, 2)];
    assert_eq!(
        picks
            .iter()
            .map(|p| (p.lot_id, p.quantity))
            .collect::<Vec<_>>(),
        want
    );
}

#[test]
fn picks_show_what_there_is_up_to_the_quantity() {
    let books = Books::with(&[3, 2]);
    let shelf = books.shelf(&[]);
    let total = |quantity| -> i64 {
        pick(&shelf, |_, _| true, quantity)
            .iter()
            .map(|p| p.quantity)
            .sum()
    };
    assert_eq!(total(9), 5);
    assert_eq!(total(0), 0);
    assert!(pick(&shelf, |_, h| h.place_kind == PlaceKind::Quarantine, 1).is_empty());
    let left = |reserved| -> i64 {
        pick_leaving(reserved, &shelf, |_, _| true, 9)
            .iter()
            .map(|p| p.quantity)
            .sum()
    };
    assert_eq!((left(0), left(1), left(7)), (5, 4, 0));
}

#[test]
fn a_movement_says_all_that_the_issue_said() {
    let mut books = Books::with(&[8]);
    let build = Uuid::from_u128(77);
    let issue = Issue {
        build_id: Some(build),
        odometer_km: Some(120_400),
        gap_mm: Some(mm(0.81)),
        ..issue_of(8)
    };
    let plan = books.issue(&issue).expect("enough");
    assert!(plan.new_lots.is_empty() && plan.reservations.is_empty());
    let [movement] = &plan.movements[..] else {
        panic!("one movement: {plan:?}")
    };
    assert_eq!(movement.kind, MovementKind::Issue);
    assert_eq!(
        (movement.from_place_id, movement.to_place_id),
        (books.bins[0].id, books.jobs[0].id)
    );
    assert_eq!(
        (movement.job.as_deref(), movement.actor.as_str()),
        (Some("J-17"), "counter")
    );
    assert_eq!(
        (movement.build_id, movement.odometer_km, movement.gap_mm),
        (Some(build), Some(120_400), Some(mm(0.81)))
    );
    assert_eq!((movement.created_at, movement.sequence), (books.now, 0));
    assert_eq!(
        (movement.reverses, movement.answers, movement.pair_id),
        (None, None, None)
    );
}

#[test]
fn without_a_reservation_it_goes_as_far_as_available_allows() {
    let mut books = Books::with(&[8]);
    books.reserve(5).expect("eight are there");
    let refused = books.issue(&issue_of(4)).unwrap_err();
    assert_eq!(refused.rule, Rejection::NotEnoughStock);
    assert_eq!((refused.available, refused.on_hand), (Some(3), Some(8)));
    books.issue(&issue_of(3)).expect("three are nobody's");
    let refused = books.issue(&issue_of(1)).unwrap_err();
    assert_eq!((refused.available, refused.on_hand), (Some(0), Some(5)));
    assert_eq!(books.states(), [ReservationState::Open]);
}

#[test]
fn with_a_reservation_it_goes_as_far_as_the_others_allow() {
    let mut books = Books::with(&[8]);
    let own = books.reserve(5).expect("eight are there");
    books.reserve(2).expect("three are left");
    let drawn = |books: &Books, quantity| Issue {
        reservation_id: Some(books.reservations[own].id),
        ..issue_of(quantity)
    };
    let refused = books.issue(&drawn(&books, 7)).unwrap_err();
    assert_eq!((refused.available, refused.on_hand), (Some(6), Some(8)));

    books.issue(&drawn(&books, 2)).expect("reserved");
    let kept = &books.reservations[own];
    assert_eq!(
        (kept.open_quantity, kept.quantity, kept.state),
        (3, 5, ReservationState::Open)
    );
    // One more than is kept: three from the reservation, one that nobody has reserved.
    books
        .issue(&drawn(&books, 4))
        .expect("the others want two of six");
    let kept = &books.reservations[own];
    assert_eq!(
        (kept.open_quantity, kept.state),
        (0, ReservationState::Issued)
    );
    assert_eq!(books.states()[1], ReservationState::Open);
}

#[test]
fn gapped_lots_count_only_where_their_gap_is_wanted() {
    // The gap of the lot, the gap that is wanted, whether the lot counts: within 0.025 mm, the
    // ends included.
    let cases = [
        (0.81, None, false),
        (0.81, Some(0.81), true),
        (0.81, Some(0.835), true),
        (0.81, Some(0.785), true),
        (0.81, Some(0.8351), false),
        (0.81, Some(0.7849), false),
    ];
    for (set, wanted, counts) in cases {
        let mut books = Books::with(&[2]);
        books.receive(0, 6, Some(set));
        let issue = Issue {
            gap_mm: wanted.map(mm),
            ..issue_of(8)
        };
        let got = books.issue(&issue);
        match counts {
            true => assert_eq!(
                taken(&books, &got.unwrap()),
                [(0, 2), (1, 6)],
                "{set} {wanted:?}"
            ),
            false => {
                let refused = got.unwrap_err();
                assert_eq!(
                    (refused.available, refused.on_hand),
                    (Some(2), Some(8)),
                    "{set} {wanted:?}"
                );
            }
        }
    }
}

#[test]
fn what_others_have_reserved_is_left_where_a_gapped_lot_serves() {
    let mut books = Books::with(&[8]);
    books.receive(0, 4, Some(0.81));
    books.reserve(6).expect("eight are sealed");
    let wanted = |quantity| Issue {
        gap_mm: Some(mm(0.81)),
        ..issue_of(quantity)
    };
    // Eight sealed and four gapped less six: six to be had, of them two sealed.
    assert_eq!(books.issue(&wanted(7)).unwrap_err().available, Some(6));
    let plan = books.issue(&wanted(5)).expect("six are available");
    assert_eq!(taken(&books, &plan), [(0, 2), (1, 3)]);
    assert_eq!(books.states(), [ReservationState::Open]);
    let plan = books.issue(&wanted(1)).expect("one is left");
    assert_eq!(taken(&books, &plan), [(1, 1)]);
    assert_eq!(books.states(), [ReservationState::Open]);
}

#[test]
fn a_gapped_lot_alone_is_taken_before_a_set_is_torn_over_two() {
    let mut books = Books::with(&[8]);
    books.receive(0, 5, Some(0.81));
    books.reserve(6).expect("eight are sealed");
    let plan = books
        .issue(&Issue {
            gap_mm: Some(mm(0.81)),
            ..issue_of(4)
        })
        .expect("six are available");
    assert_eq!(taken(&books, &plan), [(1, 4)]);
}

#[test]
fn a_lot_that_is_named_serves_whatever_its_gap() {
    let mut books = Books::with(&[2]);
    let gapped = books.receive(0, 6, Some(0.81));
    let named = |books: &Books, gap| Issue {
        lot_id: Some(books.lots[gapped].id),
        gap_mm: gap,
        ..issue_of(4)
    };
    let plan = books
        .issue(&named(&books, None))
        .expect("the clerk says which");
    assert_eq!(taken(&books, &plan), [(gapped, 4)]);
    let refused = books.issue(&named(&books, Some(mm(0.9)))).unwrap_err();
    assert_eq!(
        (refused.rule, refused.available),
        (Rejection::WrongGap, None)
    );
    let refused = books.issue(&named(&books, Some(mm(0.82)))).unwrap_err();
    assert_eq!(
        (refused.rule, refused.available),
        (Rejection::NotEnoughStock, Some(2)),
        "only of that lot"
    );
}

#[test]
fn a_named_lot_that_others_have_reserved_is_refused() {
    let mut books = Books::with(&[4]);
    books.receive(0, 4, Some(0.81));
    books.reserve(4).expect("four are sealed");
    let sealed = Issue {
        lot_id: Some(books.lots[0].id),
        gap_mm: Some(mm(0.81)),
        ..issue_of(4)
    };
    assert_eq!(books.issue(&sealed).unwrap_err().available, Some(0));
    let gapped = Issue {
        lot_id: Some(books.lots[1].id),
        ..sealed
    };
    books
        .issue(&gapped)
        .expect("nobody can reserve gapped plugs");
    assert_eq!(books.states(), [ReservationState::Open]);
}

#[test]
fn a_bin_that_is_named_is_the_only_one() {
    let mut books = Books::with(&[5]);
    books.receive(1, 3, None);
    let only = Issue {
        place_id: Some(books.bins[1].id),
        ..issue_of(4)
    };
    let refused = books.issue(&only).unwrap_err();
    assert_eq!((refused.available, refused.on_hand), (Some(3), Some(8)));
    let plan = books
        .issue(&Issue {
            quantity: 3,
            ..only
        })
        .expect("three lie there");
    assert_eq!(taken(&books, &plan), [(1, 3)]);
}

#[test]
fn quarantine_is_neither_available_nor_on_hand() {
    let mut books = Books::with(&[8]);
    let (bin, cage) = (books.bins[0].id, books.quarantine.id);
    books.transfer(0, bin, cage, 6).expect("eight are there");
    let refused = books.issue(&issue_of(3)).unwrap_err();
    assert_eq!((refused.available, refused.on_hand), (Some(2), Some(2)));
    let named = Issue {
        lot_id: Some(books.lots[0].id),
        ..issue_of(3)
    };
    assert_eq!(books.issue(&named).unwrap_err().available, Some(2));
    books.transfer(0, cage, bin, 6).expect("six come back");
    books.issue(&issue_of(8)).expect("all are there again");
}

#[test]
fn a_gapped_lot_in_quarantine_serves_nobody_who_names_it() {
    let mut books = Books::new();
    let lot = books.receive(0, 4, Some(0.81));
    let (bin, cage) = (books.bins[0].id, books.quarantine.id);
    books.transfer(lot, bin, cage, 3).expect("four are there");
    let named = Issue {
        lot_id: Some(books.lots[lot].id),
        ..issue_of(2)
    };
    let refused = books.issue(&named).unwrap_err();
    assert_eq!((refused.available, refused.on_hand), (Some(1), Some(1)));
}

#[test]
fn a_descended_lot_is_as_old_as_the_lot_it_comes_from() {
    let mut books = Books::with(&[4, 8]);
    let issue = books.issued(4)[0].id;
    let back = Return {
        gap_mm: Some(mm(0.81)),
        ..return_of(issue, 4, Returned::Gapped, &books.bins[0])
    };
    books.give_back(&back).expect("four are out");
    // Its identifier is the newest, its day is the first.
    let plan = books
        .issue(&Issue {
            gap_mm: Some(mm(0.81)),
            ..issue_of(4)
        })
        .expect("twelve are there");
    assert_eq!(taken(&books, &plan), [(2, 4)]);
}
