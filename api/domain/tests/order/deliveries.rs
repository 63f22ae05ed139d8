//! What comes in, and what is taken back.

use plugwell_domain::caution::CautionCode;
use plugwell_domain::ledger::Money;
use plugwell_domain::ledger::cost::share;
use plugwell_domain::order::{Order, OrderRejection, OrderState, take_back, take_in};
use uuid::Uuid;

use crate::{at, ordered};

fn came(order: &Order, line: usize, quantity: i64) -> Order {
    let taken = take_in(order, order.lines[line].id, quantity, at(3)).expect("allowed");
    taken.expect("its line").0
}

fn went(order: &Order, line: usize, quantity: i64) -> Order {
    take_back(order, order.lines[line].id, quantity, at(4))
        .expect("its line")
        .0
}

#[test]
fn an_order_closes_itself_with_the_last_line_and_opens_again() {
    let order = ordered(&[8, 4], OrderState::Sent);
    let partly = came(&order, 0, 8);
    assert_eq!(
        (partly.state, partly.closed_at),
        (OrderState::PartlyIn, None)
    );
    let full = came(&partly, 1, 4);
    assert_eq!(
        (full.state, full.closed_at),
        (OrderState::Closed, Some(at(3)))
    );
    let late = came(&full, 1, 4);
    assert_eq!(
        (late.state, late.lines[1].too_many),
        (OrderState::Closed, 4)
    );
    // What was too many can be taken back without opening it.
    let right = went(&late, 1, 4);
    assert_eq!(
        (right.state, right.closed_at),
        (OrderState::Closed, Some(at(3)))
    );
    let open = went(&right, 1, 4);
    assert_eq!((open.state, open.closed_at), (OrderState::PartlyIn, None));
    assert_eq!(went(&open, 0, 8).state, OrderState::Sent);
}

#[test]
fn nothing_comes_in_for_what_was_not_sent_or_was_called_off() {
    let draft = ordered(&[8], OrderState::Drafted);
    let line = draft.lines[0].id;
    assert_eq!(
        take_in(&draft, line, 1, at(1)),
        Err(OrderRejection::NotSent)
    );
    let mut off = ordered(&[8], OrderState::Sent);
    off.state = OrderState::Withdrawn;
    assert_eq!(
        take_in(&off, line, 1, at(1)),
        Err(OrderRejection::Withdrawn)
    );
    let sent = ordered(&[8], OrderState::Sent);
    assert_eq!(take_in(&sent, Uuid::from_u128(0xbad), 1, at(1)), Ok(None));
}

#[test]
fn the_cost_of_a_line_is_shared_out_to_its_deliveries() {
    // 8001 minor units for 8: the first plug bears the odd one.
    let order = ordered(&[8], OrderState::Sent);
    let cost = |order: &Order, quantity| order.lines[0].cost_of_next(quantity).map(|m| m.minor);
    assert_eq!(cost(&order, 3), Some(3_001));
    assert_eq!(cost(&order, 8), Some(8_001));
    let partly = came(&order, 0, 3);
    assert_eq!(cost(&partly, 5), Some(5_000));
    assert_eq!(share(8_001, 8, 0, 3) + share(8_001, 8, 3, 5), 8_001);
    let mut unknown = order;
    unknown.lines[0].total_cost = None;
    assert_eq!(cost(&unknown, 1), None);
}

#[test]
fn what_is_too_many_costs_as_much_as_what_was_ordered() {
    // 24 for 100.00: 4.17 for the first sixteen, 4.16 for the others, and so again.
    let mut order = ordered(&[24], OrderState::Sent);
    order.lines[0].total_cost = Some(Money {
        minor: 10_000,
        currency: "USD".into(),
    });
    let cost = |order: &Order, quantity| order.lines[0].cost_of_next(quantity).map(|m| m.minor);
    assert_eq!(cost(&order, 8), Some(3_336));
    let partly = came(&order, 0, 8);
    assert_eq!(cost(&partly, 24), Some(10_000 - 3_336 + 3_336));
    let more = came(&partly, 0, 24);
    assert_eq!(cost(&more, 16), Some(10_000 - 3_336));
    assert_eq!(cost(&more, 64), Some(30_000 - 3_336));
    // Nothing costs more than anything may.
    let mut dear = ordered(&[1], OrderState::Sent);
    dear.lines[0].total_cost = Some(Money {
        minor: Money::MOST,
        currency: "USD".into(),
    });
    assert_eq!(cost(&dear, 1), Some(Money::MOST));
    assert_eq!(cost(&dear, 2), None);
    assert_eq!(cost(&came(&dear, 0, 1_000_000), 1_000_000), None);
}

#[test]
fn a_price_that_was_not_given_for_what_is_too_many_is_said() {
    let line = came(&ordered(&[8], OrderState::Sent), 0, 3).lines[0].clone();
    let said = |quantity, cost: Option<Money>| {
        let caution = line.priced_as_ordered(quantity, cost.as_ref());
        caution.map(|caution| (caution.code, caution.text))
    };
    assert_eq!(said(5, line.cost_of_next(5)), None);
    let (code, text) = said(7, line.cost_of_next(7)).expect("two are too many");
    assert_eq!(code, CautionCode::PricedAsOrdered);
    assert!(
        text.ends_with("More than ordered: 2 of the 7 plugs."),
        "{text}"
    );
    assert_eq!(said(7, None), None);
    let own = line.cost_of_next(7).map(|cost| Money {
        minor: cost.minor + 1,
        ..cost
    });
    assert_eq!(said(7, own), None);
    let full = line.with_received(20);
    let all = full.priced_as_ordered(4, full.cost_of_next(4).as_ref());
    let text = all.expect("all are too many").text;
    assert!(text.ends_with("4 of the 4 plugs."), "{text}");
}
