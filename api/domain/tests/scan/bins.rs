//! Which bin is proposed.

use plugwell_domain::scan::{InBin, propose_bin};
use uuid::Uuid;

fn bin(number: i64, quantity: i64) -> InBin {
    InBin {
        place_id: Uuid::from_u128(number as u128),
        code: format!("P{number}"),
        name: format!("shelf {number}"),
        number,
        quantity,
    }
}

fn proposed(lies: &[InBin], last: Option<&InBin>) -> Option<(String, String)> {
    propose_bin(lies, last).map(|bin| (bin.code, bin.why))
}

#[test]
fn where_most_lies_then_the_lowest_number_then_where_it_last_lay() {
    let why = |text: &str| text.to_owned();
    let last = bin(9, 0);
    assert_eq!(
        proposed(&[bin(3, 4), bin(5, 8), bin(4, 8)], Some(&last)),
        Some((why("P4"), why("8 of them lie there already")))
    );
    assert_eq!(
        proposed(&[], Some(&last)),
        Some((why("P9"), why("it last lay there")))
    );
    assert_eq!(proposed(&[bin(3, 0)], None), None);
    assert_eq!(proposed(&[], None), None);
}
