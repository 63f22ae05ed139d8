//! Every state by hand to every other.

use plugwell_domain::order::{
    Order, OrderData, OrderRejection, OrderState, Refused, change, take_in,
};

use crate::{at, ids, ordered, supplier};

fn in_state(state: OrderState) -> Order {
    use OrderState::{Closed, Drafted, PartlyIn, Sent, Withdrawn};
    let sent = ordered(&[8], Sent);
    let came = |quantity| {
        let taken = take_in(&sent, sent.lines[0].id, quantity, at(1)).expect("sent");
        taken.expect("its line").0
    };
    match state {
        Drafted => ordered(&[8], Drafted),
        Sent => sent,
        PartlyIn => came(4),
        Closed => came(8),
        Withdrawn => become_of(&sent, Withdrawn).expect("nothing came in"),
    }
}

fn become_of(order: &Order, next: OrderState) -> Result<Order, Refused> {
    let data = OrderData {
        state: Some(next),
        ..OrderData::of(order)
    };
    change(order, &data, &supplier("Hollis"), at(2), &mut ids())
}

#[test]
fn every_state_leads_where_it_may_and_nowhere_else() {
    use OrderRejection as No;
    use OrderState::{Closed, Drafted, PartlyIn, Sent, Withdrawn};
    let table = [
        (
            Drafted,
            [
                Ok(()),
                Ok(()),
                Err(No::NothingIn),
                Err(No::NothingIn),
                Ok(()),
            ],
        ),
        (
            Sent,
            [
                Err(No::AlreadySent),
                Ok(()),
                Err(No::NothingIn),
                Err(No::NothingIn),
                Ok(()),
            ],
        ),
        (
            PartlyIn,
            [
                Err(No::AlreadySent),
                Err(No::AlreadySent),
                Ok(()),
                Ok(()),
                Err(No::PartlyIn),
            ],
        ),
        (Closed, [Err(No::Closed); 5]),
        (Withdrawn, [Err(No::Withdrawn); 5]),
    ];
    for (from, outcomes) in table {
        let old = in_state(from);
        assert_eq!(old.state, from);
        for (next, wanted) in OrderState::ALL.iter().zip(outcomes) {
            let became = become_of(&old, *next);
            match (became, wanted) {
                (Ok(order), Ok(())) => {
                    assert_eq!((order.state, order.version), (*next, old.version + 1));
                }
                (Err(Refused::Rule(rule)), Err(wanted)) => {
                    assert_eq!(rule, wanted, "{from} to {next}")
                }
                (other, wanted) => panic!("{from} to {next}: {other:?}, not {wanted:?}"),
            }
        }
    }
}

#[test]
fn sending_and_ending_are_dated_once() {
    let draft = in_state(OrderState::Drafted);
    let sent = become_of(&draft, OrderState::Sent).expect("sent");
    assert_eq!((sent.sent_at, sent.closed_at), (Some(at(2)), None));
    let again = become_of(&sent, OrderState::Sent).expect("the same");
    assert_eq!(again.sent_at, sent.sent_at);
    let off = become_of(&sent, OrderState::Withdrawn).expect("off");
    assert_eq!((off.sent_at, off.closed_at), (Some(at(2)), Some(at(2))));
    let never = become_of(&draft, OrderState::Withdrawn).expect("a draft thrown away");
    assert_eq!(never.sent_at, None);
}

#[test]
fn another_supplier_is_another_order_once_it_is_sent() {
    let data = |order: &Order| OrderData::of(order);
    let draft = in_state(OrderState::Drafted);
    let moved = change(
        &draft,
        &data(&draft),
        &supplier("Merrowby"),
        at(2),
        &mut ids(),
    );
    assert_eq!(moved.expect("a draft").supplier, "Merrowby");
    let sent = in_state(OrderState::Sent);
    let refused = change(
        &sent,
        &data(&sent),
        &supplier("Merrowby"),
        at(2),
        &mut ids(),
    );
    assert_eq!(refused, Err(Refused::Rule(OrderRejection::AlreadySent)));
}
