//! The table against the registered handlers.

use std::collections::BTreeSet;

use super::*;
use crate::http::openapi;

#[test]
fn paths_are_found_by_their_segments() {
    assert_eq!(pattern("/v1/plugs"), Some("/v1/plugs"));
    assert_eq!(pattern("/v1/plugs/7"), Some("/v1/plugs/{id}"));
    assert_eq!(
        pattern("/v1/stock/reservations/7/release"),
        Some("/v1/stock/reservations/{id}/release")
    );
    assert_eq!(
        pattern("/v1/labels/lots/7.svg"),
        Some("/v1/labels/lots/{id}.svg")
    );
    for unknown in [
        "/v1/plugs/",
        "/v1",
        "/v1/plugs/7/8",
        "/v2/plugs",
        "",
        "/",
        "/v1/stock",
        "/v1/labels/lots/7",
        "/v1/labels/lots/.svg",
    ] {
        assert_eq!(pattern(unknown), None, "{unknown}");
    }
    assert_eq!(
        allowed("/v1/plugs/{id}"),
        "GET, PATCH, DELETE, HEAD, OPTIONS"
    );
    assert_eq!(allowed("/v1/matches"), "POST, OPTIONS");
}

#[test]
fn the_table_and_the_registered_handlers_are_the_same() {
    let listed: BTreeSet<_> = ROUTES
        .iter()
        .map(|r| {
            (
                r.method.to_lowercase(),
                r.path.to_owned(),
                r.operation.to_owned(),
            )
        })
        .collect();
    let registered: BTreeSet<_> = openapi::operations(openapi::document())
        .map(|(method, path, operation)| {
            (
                method.to_owned(),
                path.to_owned(),
                operation["operationId"]
                    .as_str()
                    .unwrap_or_default()
                    .to_owned(),
            )
        })
        .collect();
    assert_eq!(listed, registered);
    assert_eq!(listed.len(), ROUTES.len(), "no route stands twice");
}
