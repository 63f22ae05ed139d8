//! Orders and proposals.

use plugwell_client::domain::order::OrderState;
use plugwell_client::{AskedLine, Order, OrderChoice, OrderData, Receipt, ReorderLine};
use plugwell_tests::bodies::unique;
use plugwell_tests::{Who, shared, wait};
use serde_json::json;

use crate::{bin, stored};

#[test]
fn an_order_goes_out_and_comes_in() {
    for shop in shared() {
        let clerk = shop.typed(Who::Clerk);
        let (plug, shelf, supplier) = (stored(shop).record, bin(shop), unique("Supplier"));
        let line = AskedLine {
            id: None,
            plug_id: plug.id,
            quantity: 12,
            total_cost: None,
            pack_size: Some(4),
        };
        let order = OrderData {
            supplier: supplier.clone(),
            state: None,
            expected_on: None,
            reference: None,
            note: None,
            lines: vec![line],
        };
        let drafted = wait(clerk.store(&order)).expect("drafted");
        assert!(drafted.record.state == OrderState::Drafted);
        let sent = wait(clerk.change(&drafted, &json!({ "state": "sent" }))).expect("sent");
        let receipt = Receipt {
            order_line_id: Some(sent.record.lines[0].id),
            ..Receipt::of(plug.id, &supplier, shelf, 8)
        };
        let received = wait(clerk.receive(&receipt)).expect("received");
        let delivery = received.delivery.expect("for the order");
        assert_eq!(
            (delivery.ordered, delivery.received_now, delivery.missing),
            (12, 8, 4)
        );
        assert!(delivery.order_state == OrderState::PartlyIn);
        let listed = wait(clerk.list::<Order>().filter("plug_id", plug.id).all()).expect("a list");
        assert_eq!((listed.len(), listed[0].lines[0].missing), (1, 4));
    }
}

#[test]
fn a_proposal_is_read_line_by_line() {
    for shop in shared() {
        let clerk = shop.typed(Who::Clerk);
        let (plug, shelf) = (stored(shop).record, bin(shop));
        wait(clerk.receive(&Receipt::of(plug.id, "Quayside Parts", shelf, 8))).expect("received");
        let lines = clerk
            .list::<ReorderLine>()
            .filter("plug_id", plug.id)
            .filter("all", true);
        let lines = wait(lines.all()).expect("a proposal");
        assert_eq!((lines.len(), lines[0].on_hand), (1, 8), "{lines:?}");
        assert!(
            lines[0].further.contains_key("lead_time_periods"),
            "all of the arithmetic"
        );
        let choice = OrderChoice {
            plug_ids: vec![plug.id],
            ..OrderChoice::default()
        };
        let ordered = wait(clerk.order_proposed(&choice));
        // Nothing was ever issued of it, and enough is there: it is not due, and named as left out.
        let ordered = ordered.expect("answered");
        assert_eq!(
            (ordered.orders.len(), ordered.left_out.len()),
            (0, 1),
            "{ordered:?}"
        );
    }
}
