//! Any deliveries and reversals in any order: what is in is what came less what went.

use plugwell_domain::order::{OrderState, take_back, take_in};
use proptest::prelude::*;

use crate::{at, ordered};

proptest! {
    #[test]
    fn counts_are_the_sum_and_the_state_follows_from_them(
        quantities in prop::collection::vec(1_i64..30, 1..4),
        steps in prop::collection::vec((0_usize..4, 1_i64..20, any::<bool>()), 0..30),
    ) {
        let mut order = ordered(&quantities, OrderState::Sent);
        let mut receipts: Vec<(usize, i64)> = Vec::new();
        for (line, quantity, back) in steps {
            let line = line % quantities.len();
            let version = order.version;
            if back {
                // Only what stands is put right, and whole.
                let Some(place) = receipts.iter().position(|(own, _)| *own == line) else { continue };
                let (_, quantity) = receipts.remove(place);
                let (next, told) = take_back(&order, order.lines[line].id, quantity, at(2)).expect("its line");
                prop_assert_eq!(told.received_now, -quantity);
                order = next;
            } else {
                receipts.push((line, quantity));
                let taken = take_in(&order, order.lines[line].id, quantity, at(1)).expect("sent");
                let (next, told) = taken.expect("its line");
                prop_assert_eq!(told.received_now, quantity);
                prop_assert_eq!(told.received_before + quantity, next.lines[line].received);
                order = next;
            }
            prop_assert_eq!(order.version, version + 1);
            for (place, line) in order.lines.iter().enumerate() {
                let came: i64 = receipts.iter().filter(|(own, _)| *own == place).map(|(_, q)| q).sum();
                prop_assert_eq!(line.received, came);
                prop_assert_eq!(line.missing - line.too_many, line.quantity - came);
                prop_assert!(line.missing == 0 || line.too_many == 0);
            }
            let wanted = match (order.is_full(), receipts.is_empty()) {
                (true, _) => OrderState::Closed,
                (false, true) => OrderState::Sent,
                (false, false) => OrderState::PartlyIn,
            };
            prop_assert_eq!(order.state, wanted);
            prop_assert_eq!(order.closed_at.is_some(), wanted == OrderState::Closed);
        }
    }
}
