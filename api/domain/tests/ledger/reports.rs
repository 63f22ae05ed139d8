//! Reports over random ledgers, each against the same worked out another way.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use plugwell_domain::calendar::{CalendarPeriod, Span, midnight};
use plugwell_domain::ledger::{Level, Lot, Money, Movement, MovementKind, PlaceKind};
use plugwell_domain::report::life::{LifeBooks, LotLife};
use plugwell_domain::report::stock_outs::{InBins, StockOuts};
use plugwell_domain::report::usage::{Flow, Used, by_period};
use proptest::prelude::*;
use proptest::test_runner::Config;
use uuid::Uuid;

use crate::asked::{Asked, ask, sequences};
use crate::books::{Books, PART};

/// Books after some commands, each lot that was received at a cost of its own.
fn lived(sequence: &[Asked]) -> Books {
    let mut books = Books::new();
    for asked in sequence {
        let _ = ask(&mut books, asked, Books::issue);
    }
    for (number, lot) in (0..).zip(&mut books.lots) {
        lot.total_cost = lot.from_lot_id.is_none().then(|| Money {
            minor: 1_001 + 37 * number,
            currency: "USD".to_owned(),
        });
    }
    for (sequence, movement) in (1..).zip(&mut books.movements) {
        movement.sequence = sequence;
    }
    books
}

fn flow(books: &Books, movement: &Movement) -> Flow {
    let original = movement.reverses.map(|id| books.movement(id).kind);
    Flow {
        kind: original.unwrap_or(movement.kind),
        reversal: movement.reverses.is_some(),
        from: books.place(movement.from_place_id).kind,
        to: books.place(movement.to_place_id).kind,
        quantity: movement.quantity,
    }
}

fn used(books: &Books, movements: &[Movement]) -> Used {
    let mut used = Used::default();
    for movement in movements {
        used.count(flow(books, movement));
    }
    used
}

/// Plugs in bins after all movements up to an instant.
fn in_bins(books: &Books, until: DateTime<Utc>) -> i64 {
    let bin = |id: Uuid| i64::from(books.place(id).kind == PlaceKind::Bin);
    let done = books.movements.iter().filter(|m| m.created_at <= until);
    done.map(|m| m.quantity * (bin(m.to_place_id) - bin(m.from_place_id)))
        .sum()
}

/// What movements that nobody put right did: the quantities of those of a kind between two kinds
/// of places.
fn standing(
    books: &Books,
    kind: MovementKind,
    from: Option<PlaceKind>,
    to: Option<PlaceKind>,
) -> i64 {
    let stands = |m: &&Movement| {
        let put_right = books.movements.iter().any(|r| r.reverses == Some(m.id));
        let end = |wanted: Option<PlaceKind>, id: Uuid| {
            wanted.is_none_or(|kind| books.place(id).kind == kind)
        };
        m.kind == kind && !put_right && end(from, m.from_place_id) && end(to, m.to_place_id)
    };
    let own = books.movements.iter().filter(stands);
    own.map(|m| m.quantity).sum()
}

fn usage_is_what_stands(books: &Books) {
    let got = used(books, &books.movements);
    let bin = Some(PlaceKind::Bin);
    let issued = standing(books, MovementKind::Issue, bin, None);
    let returned = standing(books, MovementKind::Return, None, bin);
    let scrapped = standing(books, MovementKind::Scrapping, bin, None);
    assert_eq!(
        (got.issued, got.returned, got.scrapped, got.used),
        (issued, returned, scrapped, issued - returned + scrapped)
    );
    // Whatever came and neither was used nor lies aside is in the bins.
    let came = standing(books, MovementKind::Receipt, None, bin);
    let aside: i64 = books
        .levels()
        .iter()
        .filter(|((_, place), _)| *place == books.quarantine.id)
        .map(|(_, quantity)| quantity)
        .sum();
    let out_of_cage = standing(
        books,
        MovementKind::Scrapping,
        Some(PlaceKind::Quarantine),
        None,
    );
    assert_eq!(
        in_bins(books, books.now),
        came - got.used - aside - out_of_cage
    );
}

fn usage_adds_up_over_leaves(books: &Books) {
    let (Some(first), Some(last)) = (books.movements.first(), books.movements.last()) else {
        return;
    };
    let span = Span {
        from: first.created_at,
        to: last.created_at + TimeDelta::microseconds(1),
    };
    for period in [CalendarPeriod::Week, CalendarPeriod::Month] {
        let flows = books
            .movements
            .iter()
            .map(|m| (m.created_at.date_naive(), flow(books, m)));
        let periods = by_period(period, span, flows);
        let mut total = Used::default();
        for (first, own) in &periods {
            let span = period.span(*first);
            let within: Vec<Movement> = books
                .movements
                .iter()
                .filter(|m| span.has(m.created_at))
                .cloned()
                .collect();
            assert_eq!(*own, used(books, &within), "{first}");
            total.add(*own);
        }
        assert_eq!(total, used(books, &books.movements));
        assert_eq!(
            periods.len(),
            period.touched(span).count(),
            "no period is left out"
        );
    }
}

/// Times out of stock hour by hour: nothing happens between the hours.
fn hours_out(books: &Books, span: Span) -> (i64, usize) {
    let (mut hours, mut times, mut had, mut was_out) = (0, 0, false, false);
    let mut at = books.movements.first().map_or(span.to, |m| m.created_at);
    while at < span.to {
        let there = in_bins(books, at);
        had |= there > 0;
        let out = had && there == 0;
        if out && at >= span.from {
            hours += 1;
            times += usize::from(!was_out || at == span.from);
        }
        was_out = out;
        at += TimeDelta::hours(1);
    }
    (hours, times)
}

fn stock_outs_are_the_hours_without(books: &Books, from: i64, length: i64) {
    let Some(first) = books.movements.first() else {
        return;
    };
    let from = first.created_at + TimeDelta::hours(from);
    let span = Span {
        from,
        to: from + TimeDelta::hours(length),
    };
    let mut outs = StockOuts::within(span);
    // Another part before and behind is another matter.
    let other = |plug_id| InBins {
        plug_id,
        at: first.created_at,
        change: 1,
    };
    outs.read(other(Uuid::nil()));
    let bin = |id: Uuid| i64::from(books.place(id).kind == PlaceKind::Bin);
    for movement in &books.movements {
        let change = bin(movement.to_place_id) - bin(movement.from_place_id);
        if change != 0 && movement.created_at < span.to {
            outs.read(InBins {
                plug_id: PART,
                at: movement.created_at,
                change: change * movement.quantity,
            });
        }
    }
    outs.read(other(Uuid::max()));
    let found = outs.finish();
    let (hours, times) = hours_out(books, span);
    let micros: i64 = found.iter().map(|out| out.micros).sum();
    assert_eq!(micros, hours * 3_600_000_000, "{found:?}");
    assert_eq!(found.len(), times, "{found:?}");
    for out in &found {
        assert_eq!(out.plug_id, PART);
        assert_eq!(in_bins(books, out.since), 0);
        assert!(in_bins(books, out.since - TimeDelta::microseconds(1)) > 0);
        let until = out.until.filter(|until| *until < span.to);
        assert!(until.is_none_or(|until| in_bins(books, until) > 0));
    }
}

/// A lot with all that descends from it.
fn family(books: &Books, root: &Lot) -> Vec<Lot> {
    let mut ids = vec![root.id];
    // Lots stand in the order in which they were made: children behind their parents.
    for lot in &books.lots {
        if lot.from_lot_id.is_some_and(|id| ids.contains(&id)) {
            ids.push(lot.id);
        }
    }
    let own = books.lots.iter().filter(|lot| ids.contains(&lot.id));
    own.cloned().collect()
}

fn lives_add_up(books: &Books) {
    let mut steps = 0;
    for root in books.lots.iter().filter(|lot| lot.from_lot_id.is_none()) {
        let family = family(books, root);
        let of_family = |lot: Uuid| family.iter().any(|own| own.id == lot);
        let movements: Vec<Movement> = books
            .movements
            .iter()
            .filter(|m| of_family(m.lot_id))
            .cloned()
            .collect();
        let levels = books.levels().into_iter();
        let levels = levels.filter(|((lot, _), _)| of_family(*lot));
        let told = LifeBooks {
            family: family.clone(),
            movements,
            levels: levels
                .map(|((lot_id, place_id), quantity)| Level {
                    plug_id: PART,
                    lot_id,
                    place_id,
                    quantity,
                })
                .collect(),
            places: books.places().into_iter().cloned().collect(),
            ..LifeBooks::default()
        };
        let life = LotLife::tell(root.id, "Quillmark", "Q-1", &told).expect("a life");
        steps += life.steps.len();
        assert_eq!(life.balance.sum, 0);
        assert!(life.balance.agrees_with_levels);
        balances_run(&life);
        let there: i64 = life.now.iter().map(|end| end.quantity).sum();
        let receipt = life.steps.first().expect("a receipt").movement_id;
        let put_right = books.movements.iter().any(|m| m.reverses == Some(receipt));
        let left = if put_right { 0 } else { root.quantity_received };
        assert_eq!(there, left);
        let cost: i64 = life
            .now
            .iter()
            .filter_map(|end| Some(end.cost.as_ref()?.minor))
            .sum();
        let total = root.total_cost.as_ref().map_or(0, |cost| cost.minor);
        assert_eq!(cost, if there == 0 { 0 } else { total });
        spoilt_levels_show(root.id, told);
    }
    assert_eq!(
        steps,
        books.movements.len(),
        "every movement is in one life"
    );
}

/// Each balance is the one before and the step; nothing but suppliers and differences go below
/// zero.
fn balances_run(life: &LotLife) {
    let mut balances: BTreeMap<(Uuid, Uuid), i64> = BTreeMap::new();
    for step in &life.steps {
        for (end, change) in [(&step.from, -step.quantity), (&step.to, step.quantity)] {
            let balance = balances.entry((step.lot_id, end.place_id)).or_default();
            *balance += change;
            assert_eq!(end.balance, *balance);
            let may = matches!(end.kind, PlaceKind::Supplier | PlaceKind::Difference);
            assert!(may || end.balance >= 0, "{step:?}");
        }
    }
}

fn spoilt_levels_show(lot_id: Uuid, mut told: LifeBooks) {
    if let Some(level) = told.levels.first_mut() {
        level.quantity += 1;
        let life = LotLife::tell(lot_id, "", "", &told).expect("a life");
        assert_eq!(life.balance.sum, 1);
        assert!(!life.balance.agrees_with_levels);
    }
    told.places.clear();
    assert!(told.movements.is_empty() || LotLife::tell(lot_id, "", "", &told).is_none());
}

proptest! {
    #![proptest_config(Config { cases: 200, failure_persistence: None, ..Config::default() })]

    #[test]
    fn reports_are_what_a_second_look_finds(
        sequence in sequences(), from in -5..60i64, length in 0..90i64
    ) {
        let books = lived(&sequence);
        usage_is_what_stands(&books);
        usage_adds_up_over_leaves(&books);
        stock_outs_are_the_hours_without(&books, from, length);
        lives_add_up(&books);
    }

    #[test]
    fn periods_of_the_calendar_have_no_gaps(day in 0..60_000u32, days in 1..900i64) {
        let from = DateTime::UNIX_EPOCH + TimeDelta::days(day.into());
        let span = Span { from, to: from + TimeDelta::days(days) };
        for period in [CalendarPeriod::Week, CalendarPeriod::Month] {
            let periods = period.touched(span).collect::<Vec<_>>();
            prop_assert!(period.span(periods[0]).has(span.from));
            let last = periods[periods.len() - 1];
            prop_assert!(period.span(last).has(span.to - TimeDelta::microseconds(1)));
            for pair in periods.windows(2) {
                prop_assert_eq!(period.span(pair[0]).to, period.span(pair[1]).from);
                prop_assert!(period.name(pair[0]) < period.name(pair[1]));
            }
        }
    }
}

/// Weeks run from Monday to Sunday, and the first one of a year has its first Thursday (ISO 8601).
#[test]
fn weeks_are_those_of_the_standard() {
    for (day, first, week) in [
        ("2026-01-01", "2025-12-29", "2026-W01"),
        ("2027-01-01", "2026-12-28", "2026-W53"),
        ("2024-12-30", "2024-12-30", "2025-W01"),
        ("2026-03-01", "2026-02-23", "2026-W09"),
    ] {
        let [day, first] = [day, first].map(|text| text.parse::<NaiveDate>().expect("a day"));
        let number = CalendarPeriod::Week.number(midnight(day));
        assert_eq!(CalendarPeriod::Week.first_day(number), first);
        assert_eq!(CalendarPeriod::Week.name(number), week);
    }
}
