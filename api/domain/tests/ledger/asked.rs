//! Commands at random, asked for in books of any state.

use chrono::TimeDelta;
use plugwell_domain::ledger::commands::{Issue, Return};
use plugwell_domain::ledger::rules::Rejected;
use plugwell_domain::ledger::{MovementKind, Plan, Returned};
use proptest::prelude::*;

use crate::asking::{issue_of, return_of};
use crate::books::{Books, SLIP, mm};
use crate::expiring::expire;

/// Gaps that lots are set to; the first two lie within the tolerance of each other.
pub const GAPS: [f64; 3] = [0.71, 0.73, 0.81];

/// A command; numbers choose among what there is at the time, modulo their count.
#[derive(Debug, Clone)]
pub enum Asked {
    Receive {
        bin: usize,
        quantity: i64,
        gap: Option<usize>,
    },
    Issue {
        quantity: i64,
        job: usize,
        reservation: Option<usize>,
        lot: Option<usize>,
        bin: Option<usize>,
        gap: Option<usize>,
    },
    GiveBack {
        issue: usize,
        quantity: i64,
        condition: usize,
        bin: usize,
        gap: usize,
    },
    Transfer {
        lot: usize,
        from: usize,
        to: usize,
        quantity: i64,
    },
    Discard {
        lot: Option<usize>,
        from: usize,
        quantity: i64,
    },
    Reverse {
        movement: usize,
        manager: bool,
        late: bool,
    },
    Reserve {
        quantity: i64,
        /// How long it keeps them.
        hours: Option<i64>,
    },
    Expire,
    Release {
        reservation: usize,
    },
}

fn one_in(often: u8) -> impl Strategy<Value = Option<usize>> {
    (0..often, 0..100usize).prop_map(|(n, which)| (n == 0).then_some(which))
}

pub fn asked() -> impl Strategy<Value = Asked> {
    let gap = || proptest::option::of(0..GAPS.len());
    let issue = (1..10i64, 0..2usize, one_in(3), one_in(5), one_in(6), gap());
    let back = (
        0..100usize,
        1..5i64,
        0..Returned::ALL.len(),
        0..2usize,
        0..GAPS.len(),
    );
    prop_oneof![
        3 => (0..2usize, 1..13i64, one_in(3)).prop_map(|(bin, quantity, gap)| Asked::Receive { bin, quantity, gap }),
        4 => issue.prop_map(|(quantity, job, reservation, lot, bin, gap)| Asked::Issue { quantity, job, reservation, lot, bin, gap }),
        5 => back.prop_map(|(issue, quantity, condition, bin, gap)| Asked::GiveBack { issue, quantity, condition, bin, gap }),
        2 => (0..100usize, 0..3usize, 0..3usize, 1..7i64).prop_map(|(lot, from, to, quantity)| Asked::Transfer { lot, from, to, quantity }),
        2 => (one_in(2), 0..6usize, 1..5i64).prop_map(|(lot, from, quantity)| Asked::Discard { lot, from, quantity }),
        3 => (0..100usize, any::<bool>(), any::<bool>()).prop_map(|(movement, manager, late)| Asked::Reverse { movement, manager, late }),
        2 => (1..9i64, proptest::option::of(1..6i64)).prop_map(|(quantity, hours)| Asked::Reserve { quantity, hours }),
        1 => Just(Asked::Expire),
        1 => (0..100usize).prop_map(|reservation| Asked::Release { reservation }),
    ]
}

/// Sequences of commands.
pub fn sequences() -> impl Strategy<Value = Vec<Asked>> {
    proptest::collection::vec(asked(), 1..50)
}

/// One of those that there are.
fn choose<T: Clone>(among: impl IntoIterator<Item = T>, which: usize) -> Option<T> {
    let among: Vec<T> = among.into_iter().collect();
    among.get(which % among.len().max(1)).cloned()
}

fn lot_of(books: &Books, which: Option<usize>) -> Option<usize> {
    which.and_then(|w| choose(0..books.lots.len(), w))
}

fn issue_asked(books: &Books, asked: &Asked) -> Option<Issue> {
    let Asked::Issue {
        quantity,
        job,
        reservation,
        lot,
        bin,
        gap,
    } = *asked
    else {
        return None;
    };
    let reservations = books.reservations.iter().map(|r| r.id);
    let reservation_id = reservation.and_then(|w| choose(reservations, w));
    let job = if reservation_id.is_some() { 0 } else { job };
    Some(Issue {
        job: Some(books.jobs[job].name.clone()),
        reservation_id,
        lot_id: lot_of(books, lot).map(|place| books.lots[place].id),
        place_id: bin.map(|b| books.bins[b % 2].id),
        gap_mm: gap.map(|g| mm(GAPS[g])),
        ..issue_of(quantity)
    })
}

fn return_asked(books: &Books, asked: &Asked) -> Option<Return> {
    let Asked::GiveBack {
        issue,
        quantity,
        condition,
        bin,
        gap,
    } = *asked
    else {
        return None;
    };
    let issues = books
        .movements
        .iter()
        .filter(|m| m.kind == MovementKind::Issue);
    let issue = choose(issues.map(|m| m.id), issue)?;
    let condition = Returned::ALL[condition];
    let gap_mm = (condition == Returned::Gapped).then(|| mm(GAPS[gap]));
    Some(Return {
        gap_mm,
        ..return_of(issue, quantity, condition, &books.bins[bin])
    })
}

/// What a command came to.
pub type Answer = Result<Plan, Rejected>;

/// Asks for it; `None` where there is nothing yet that it could be about. Issues are asked for by
/// way of `judged`.
pub fn ask(
    books: &mut Books,
    asked: &Asked,
    judged: fn(&mut Books, &Issue) -> Answer,
) -> Option<Answer> {
    let [first, second] = &books.bins;
    let [one, other] = &books.jobs;
    let places = [first, second, &books.quarantine, one, other, &books.scrap].map(|p| p.id);
    match *asked {
        Asked::Receive { bin, quantity, gap } => {
            books.receive(bin, quantity, gap.map(|g| GAPS[g % GAPS.len()]));
            Some(Ok(Plan::default()))
        }
        Asked::Issue { .. } => issue_asked(books, asked).map(|issue| judged(books, &issue)),
        Asked::GiveBack { .. } => return_asked(books, asked).map(|back| books.give_back(&back)),
        Asked::Transfer {
            lot,
            from,
            to,
            quantity,
        } => {
            let lot = lot_of(books, Some(lot))?;
            (from != to).then(|| books.transfer(lot, places[from], places[to], quantity))
        }
        Asked::Discard {
            lot,
            from,
            quantity,
        } => {
            let lot = lot_of(books, lot);
            Some(books.discard(lot, places[from], quantity))
        }
        Asked::Reverse {
            movement,
            manager,
            late,
        } => {
            let id = choose(books.movements.iter().map(|m| m.id), movement)?;
            books.now += if late { SLIP } else { TimeDelta::zero() };
            Some(books.reverse(id, manager))
        }
        Asked::Reserve { quantity, hours } => Some(books.reserve(quantity).map(|place| {
            books.reservations[place].expires_at = hours.map(|h| books.now + TimeDelta::hours(h));
            Plan::default()
        })),
        Asked::Expire => Some(Ok(expire(books))),
        Asked::Release { reservation } => {
            let place = choose(0..books.reservations.len(), reservation)?;
            Some(books.release(place))
        }
    }
}
