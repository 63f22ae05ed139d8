//! Lists over many pages, and the list of problems.

use plugwell_client::{Code, Lot, Movement, Plug, Receipt, TryStreamExt};
use plugwell_tests::{Who, shared, wait};
use serde_json::Value;

use crate::{bin, stored};

#[test]
fn a_stream_is_the_whole_list() {
    for shop in shared() {
        let (clerk, plug, shelf) = (shop.typed(Who::Clerk), stored(shop).record, bin(shop));
        let mut lots = Vec::new();
        for quantity in 1..=7 {
            let receipt = Receipt::of(plug.id, "Quayside Parts", shelf, quantity);
            lots.push(wait(clerk.receive(&receipt)).expect("received").lots[0].id);
        }
        let own = || clerk.list::<Lot>().filter("plug_id", plug.id);
        let paged = wait(own().limit(3).all()).expect("three pages");
        let mut paged: Vec<_> = paged.iter().map(|lot| lot.id).collect();
        paged.sort_unstable();
        assert_eq!(paged, lots, "ids are in the order of time");
        let page = wait(own().limit(3).page(None)).expect("a page");
        assert_eq!((page.items.len(), page.next_cursor.is_some()), (3, true));
        let movements = clerk.list::<Movement>().filter("plug_id", plug.id).limit(2);
        let sum =
            movements.stream().try_fold(
                0,
                |sum, movement| async move { Ok(sum + movement.quantity) },
            );
        assert_eq!(wait(sum).expect("four pages"), 28);

        let refused =
            wait(clerk.list::<Plug>().filter("reach", 19).all()).expect_err("no such filter");
        assert_eq!(refused.code(), Code::Invalid);
    }
}

#[test]
fn every_kind_of_problem_is_known() {
    let shop = shared().next().expect("a shop");
    let document: Value = wait(shop.typed(Who::Reader).get("/openapi.json")).expect("the document");
    let kinds = document["components"]["schemas"]["Problem"]["properties"]["type"]["enum"]
        .as_array()
        .expect("a closed list");
    let mut listed: Vec<_> = kinds
        .iter()
        .map(|kind| {
            kind.as_str()
                .and_then(|urn| urn.rsplit(':').next())
                .expect("a urn")
        })
        .collect();
    let mut known: Vec<_> = Code::ALL.iter().map(|code| code.word()).collect();
    listed.sort_unstable();
    known.sort_unstable();
    assert_eq!(known, listed);
}
