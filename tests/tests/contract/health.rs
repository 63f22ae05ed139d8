//! Whether the service lives and can work: without a token.

use plugwell_tests::{Who, shared};

#[test]
fn it_lives_and_can_work() {
    for shop in shared() {
        let lives = shop.get(Who::Nobody, "/livez").expect(200);
        assert!(
            lives
                .header("content-type")
                .is_some_and(|kind| kind.starts_with("text/plain")),
            "{lives:?}"
        );
        let ready = shop.get(Who::Nobody, "/readyz").expect(200);
        assert_eq!(
            (
                &ready.json["ready"],
                &ready.json["database"],
                &ready.json["migrations"]
            ),
            (&true.into(), &true.into(), &true.into())
        );
        assert!(
            ready.json["index_lag"].as_i64().is_some_and(|lag| lag >= 0),
            "{ready:?}"
        );
    }
}
