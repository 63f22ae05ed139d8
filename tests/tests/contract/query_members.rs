//! Members of a query: an operation that has none refuses any, before it does anything.

use plugwell::http::openapi::takes_query;
use plugwell::http::routes::{ROUTES, is_api};
use plugwell_tests::bodies::{bin, plug, receipt, stock_of, stored_plug, unique};
use plugwell_tests::{Who, shared};

const NOTHING: &str = "018f4f5e-0000-7000-8000-000000000000";

#[test]
fn an_operation_without_query_members_refuses_any() {
    for shop in shared() {
        let mut asked = 0;
        for route in ROUTES {
            if !is_api(route.path) || takes_query(route) {
                continue;
            }
            let own = route.path.split('/').map(|segment| {
                let ending = segment.split_once('}').map(|(_, ending)| ending);
                ending.map_or(segment.to_owned(), |ending| format!("{NOTHING}{ending}"))
            });
            let path = own.collect::<Vec<_>>().join("/");
            let answer = shop.send(
                route.method,
                &format!("{path}?colour=red&dry_run"),
                Who::Manager,
                &[],
                "",
            );
            answer.refused_for(&["?colour unknown_member", "?dry_run unknown_member"]);
            asked += 1;
        }
        assert!(asked > 60, "{asked} operations");
    }
}

#[test]
fn what_was_not_understood_books_nothing() {
    for shop in shared() {
        let id = stored_plug(shop, &plug(&unique("DRY")));
        let body = receipt(&id, &bin(shop, &unique("Dry bin")), 4);
        shop.once(Who::Clerk, "/v1/stock/receipts?dry_run=true", &body)
            .refused_for(&["?dry_run unknown_member"]);
        assert_eq!(stock_of(shop, &id), (0, 0));
        shop.get(Who::Reader, &format!("/v1/plugs/{id}?fields=id"))
            .refused_for(&["?fields unknown_member"]);
        // An empty query says nothing, and pages know their own.
        shop.get(Who::Reader, &format!("/v1/plugs/{id}?"))
            .expect(200);
        shop.get(Who::Nobody, "/livez?probe=1").expect(200);
    }
}
