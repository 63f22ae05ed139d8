//! Whatever is asked in whatever order: the books of value close to the cent.

use std::collections::{HashMap, VecDeque};

use plugwell_domain::instant::Period;
use plugwell_domain::ledger::{MovementKind, PlaceKind};
use plugwell_domain::valuation::{
    Amount, Books as Value, Border, End, Entry, Flows, LotCost, Method, flows,
};
use proptest::prelude::*;
use proptest::test_runner::Config;
use uuid::Uuid;

use crate::asked::{Asked, ask, sequences};
use crate::books::Books;

const METHODS: [Method; 2] = [Method::Fifo, Method::MovingAverage];

/// What the books of value are told of random commands; every fifth lot has no cost, totals divide
/// by nothing.
struct Told {
    lots: Vec<LotCost>,
    entries: Vec<Entry>,
}

fn told(sequence: &[Asked]) -> Told {
    let mut books = Books::new();
    for asked in sequence {
        let _ = ask(&mut books, asked, |books, issue| books.issue(issue));
    }
    let lots = books.lots.iter().zip(1i64..).map(|(lot, number)| LotCost {
        id: lot.id,
        from_lot_id: lot.from_lot_id,
        quantity_received: lot.quantity_received,
        minor: (lot.from_lot_id.is_none() && number % 5 != 0)
            .then_some(number * 7_919 % 5_003 * i64::from(number % 7 != 0)),
    });
    let end = |id| End {
        id,
        kind: books.place(id).kind,
    };
    let entries = books
        .movements
        .iter()
        .zip(1..)
        .map(|(movement, sequence)| Entry {
            id: movement.id,
            sequence,
            kind: movement.kind,
            lot_id: movement.lot_id,
            from: end(movement.from_place_id),
            to: end(movement.to_place_id),
            quantity: movement.quantity,
            reverses: movement.reverses,
            answers: movement.answers,
            pair_id: movement.pair_id,
            at: movement.created_at,
        });
    Told {
        entries: entries.collect(),
        lots: lots.collect(),
    }
}

impl Told {
    /// Whether anybody knows what plugs of a lot cost.
    fn is_known(&self, id: Uuid) -> bool {
        let lot = self.lots.iter().find(|lot| lot.id == id).expect("a lot");
        match lot.from_lot_id {
            Some(from) => self.is_known(from),
            None => lot.minor.is_some(),
        }
    }

    fn over(&self, method: Method, period: Period) -> Flows {
        flows(Value::of(method, &self.lots), &self.entries, period)
    }
}

/// After every movement: plugs are those of the ledger, those without cost are those of lots without
/// one, nothing is worth less than nothing, and no plugs are worth nothing.
fn stands_hold(told: &Told, method: Method) {
    let mut books = Value::of(method, &told.lots);
    let (mut inside, mut unknown) = (0, 0);
    for entry in &told.entries {
        let crosses = i64::from(entry.to.is_inside()) - i64::from(entry.from.is_inside());
        inside += crosses * entry.quantity;
        unknown += crosses * entry.quantity * i64::from(!told.is_known(entry.lot_id));
        let before = books.stands();
        let booked = books.book(entry);
        let stands = books.stands();
        assert_eq!(
            (stands.quantity, stands.without_cost),
            (inside, unknown),
            "{entry:?}"
        );
        assert!(
            stands.minor >= 0 && booked.amount.minor >= 0,
            "{entry:?}: {stands:?}"
        );
        assert!(
            stands.quantity > stands.without_cost || stands.minor == 0,
            "{stands:?}"
        );
        let changed = match booked.border {
            Border::In => booked.amount,
            Border::Out => -booked.amount,
            Border::Not => Amount::default(),
        };
        assert_eq!(before + changed, stands, "{entry:?}");
    }
}

/// Opening and all that happened is closing, and closing is what stands at that instant.
fn identity_holds(told: &Told, method: Method, [from, to]: [usize; 2]) {
    let at = |place: usize| told.entries.get(place).map(|entry| entry.at);
    let period = Period {
        from: at(from),
        to: at(from + to),
    };
    let over = told.over(method, period);
    assert_eq!(over.comes_to(), over.closing, "{over:?}");
    for (end, amount) in [(period.from, over.opening), (period.to, over.closing)] {
        let until = |entry: &&Entry| end.is_none_or(|end| entry.at < end);
        let mut books = Value::of(method, &told.lots);
        told.entries
            .iter()
            .take_while(until)
            .for_each(|e| _ = books.book(e));
        if end.is_some() {
            assert_eq!(books.stands(), amount);
        }
    }
    // One after the other, periods tell what both together tell.
    let whole = told.over(method, Period::default());
    let mut parts = Flows::default();
    let cuts = [
        None,
        period.from,
        period.to.filter(|_| period.from.is_some()),
        None,
    ];
    for cut in cuts
        .windows(2)
        .filter(|cut| cut[0].is_some() || cut[1].is_some())
    {
        let part = told.over(
            method,
            Period {
                from: cut[0],
                to: cut[1],
            },
        );
        parts += Flows {
            opening: Amount::default(),
            closing: Amount::default(),
            ..part
        };
    }
    if period.from.is_some() && period.to.is_some() {
        let moved = Flows {
            opening: Amount::default(),
            closing: Amount::default(),
            ..whole
        };
        assert_eq!(parts, moved);
    }
}

/// FIFO against single plugs: each is given its share when it comes, and the first in goes first.
/// Only as long as nothing comes back.
fn single_plugs_agree(told: &Told) {
    let mut queue: VecDeque<i64> = VecDeque::new();
    let mut books = Value::of(Method::Fifo, &told.lots);
    for entry in &told.entries {
        let simple = matches!(
            entry.kind,
            MovementKind::Receipt | MovementKind::Issue | MovementKind::Transfer
        ) || (entry.kind == MovementKind::Scrapping
            && entry.from.kind != PlaceKind::Job);
        if !simple {
            return;
        }
        let booked = books.book(entry);
        let lot = told.lots.iter().find(|lot| lot.id == entry.lot_id);
        let Some(total) = lot.and_then(|lot| lot.minor) else {
            continue;
        };
        if booked.border == Border::In {
            // The dearer shares first.
            let (each, rest) = (total / entry.quantity, total % entry.quantity);
            queue.extend((0..entry.quantity).map(|n| each + i64::from(n < rest)));
        }
        if booked.border == Border::Out {
            let gone: i64 = queue.drain(..entry.quantity as usize).sum();
            assert_eq!(booked.amount.minor, gone, "{entry:?}");
        }
        assert_eq!(books.stands().minor, queue.iter().sum::<i64>());
    }
}

/// An issue that is put right at once leaves nothing behind, whatever lies there; by FIFO one of which
/// some come back at once is the smaller issue.
fn taking_back_holds(told: &Told, quantity: i64) {
    let last = told.entries.last().map_or(0, |entry| entry.sequence);
    let mut holds: HashMap<(Uuid, End), i64> = HashMap::new();
    for entry in &told.entries {
        *holds.entry((entry.lot_id, entry.from)).or_default() -= entry.quantity;
        *holds.entry((entry.lot_id, entry.to)).or_default() += entry.quantity;
    }
    let full = holds
        .into_iter()
        .filter(|((_, end), q)| end.kind == PlaceKind::Bin && *q > quantity);
    let Some(((lot_id, bin), _)) = full.min_by_key(|((lot, end), _)| (*lot, end.id)) else {
        return;
    };
    let [from, to] = [
        (bin.id, PlaceKind::Bin),
        (Uuid::from_u128(0xabc), PlaceKind::Job),
    ]
    .map(|(id, kind)| End { id, kind });
    let entry = |step: i64, kind, from, to, quantity, of: Option<Uuid>| Entry {
        id: Uuid::from_u128(0xffff_0000 + step as u128),
        sequence: last + step,
        kind,
        lot_id,
        from,
        to,
        quantity,
        reverses: of.filter(|_| kind == MovementKind::Reversal),
        answers: of.filter(|_| kind == MovementKind::Return),
        pair_id: None,
        at: told.entries[0].at,
    };
    let stands = |more: &[Entry], method| {
        let mut books = Value::of(method, &told.lots);
        told.entries
            .iter()
            .chain(more)
            .for_each(|e| _ = books.book(e));
        books.stands()
    };
    let issue = entry(1, MovementKind::Issue, from, to, quantity + 1, None);
    let undone = entry(
        2,
        MovementKind::Reversal,
        to,
        from,
        quantity + 1,
        Some(issue.id),
    );
    let some = entry(2, MovementKind::Return, to, from, 1, Some(issue.id));
    let smaller = entry(1, MovementKind::Issue, from, to, quantity, None);
    for method in METHODS {
        assert_eq!(stands(&[issue, undone], method), stands(&[], method));
    }
    let [back, less] = [&[issue, some][..], &[smaller]].map(|m| stands(m, Method::Fifo));
    assert_eq!(back, less);
}

proptest! {
    #![proptest_config(Config { cases: 300, failure_persistence: None, ..Config::default() })]

    #[test]
    fn the_value_closes_whatever_is_asked(
        sequence in sequences(), ends in [0..60usize, 1..60usize], quantity in 1..6i64,
    ) {
        let told = told(&sequence);
        for method in METHODS {
            stands_hold(&told, method);
            identity_holds(&told, method, ends);
        }
        single_plugs_agree(&told);
        taking_back_holds(&told, quantity);
    }
}
