//! A count from the sheet to the books.

use plugwell_client::domain::ledger::counting::CountState;
use plugwell_client::{Code, Count, NewCount, Receipt};
use plugwell_tests::{Who, shared, wait};
use serde_json::json;

use crate::{bin, stored};

#[test]
fn a_count_is_begun_counted_and_approved() {
    for shop in shared() {
        let (clerk, manager) = (shop.typed(Who::Clerk), shop.typed(Who::Manager));
        let (plug, shelf) = (stored(shop).record, bin(shop));
        let receipt = Receipt::of(plug.id, "Quayside Parts", shelf, 10);
        let lot_id = wait(clerk.receive(&receipt)).expect("received").lots[0].id;
        let begun = NewCount {
            places: Some(vec![shelf]),
            choose: None,
            bins: None,
        };
        let count = wait(clerk.store(&begun)).expect("begun");
        assert_eq!(count.record.lines.len(), 1);
        assert_eq!(count.record.lines[0].expected, None, "blind");
        let early = wait(manager.approve(count.record.id, None)).expect_err("not counted");
        assert_eq!(early.code(), Code::CountIncomplete);

        let lines = json!({ "lines": [{ "lot_id": lot_id, "place_id": shelf, "counted": 9 }] });
        let counted = wait(clerk.change(&count, &lines)).expect("counted");
        assert!(counted.record.state == CountState::Counted, "{counted:?}");
        let approved =
            wait(manager.approve(count.record.id, Some("looked twice"))).expect("approved");
        assert!(approved.state == CountState::Approved);
        assert_eq!(approved.movements[0].quantity, 1, "one is missing");
        let read = wait(clerk.read::<Count>(count.record.id)).expect("read");
        assert_eq!(read.record.lines[0].difference, Some(-1));
    }
}
