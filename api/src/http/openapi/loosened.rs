//! What `openapi/schemathesis.toml` lets the service answer beyond what is taken for granted: for named
//! operations, each with its reason, and no more than may be.

use std::collections::BTreeSet;

use crate::http::routes::{Brings, ROUTES};

const LOOSENED: &str = include_str!("../../../../openapi/schemathesis.toml");
/// What schemathesis takes for granted by itself.
const ACCEPTED: [&str; 8] = ["2xx", "3xx", "401", "403", "404", "409", "429", "5xx"];
const REFUSED: [&str; 6] = ["400", "401", "403", "406", "415", "422"];
const IDS: &str = "include-operation-id";

fn texts(value: &toml::Value) -> Vec<&str> {
    let all = value.as_array().into_iter().flatten();
    all.filter_map(toml::Value::as_str).collect()
}

/// Statuses of a check beyond the usual ones, all of which stay.
fn beyond<'a>(checks: &'a toml::Value, check: &str, usual: &[&str]) -> Vec<&'a str> {
    let Some(of_check) = checks.get(check) else {
        return Vec::new();
    };
    let only: Vec<&String> = of_check.as_table().unwrap().keys().collect();
    assert_eq!(only, ["expected-statuses"], "{check}");
    let given = texts(&of_check["expected-statuses"]);
    assert!(
        usual.iter().all(|status| given.contains(status)),
        "{given:?}"
    );
    given
        .into_iter()
        .filter(|status| !usual.contains(status))
        .collect()
}

#[test]
fn only_named_operations_are_let_off_and_only_a_little() {
    let file: toml::Table = LOOSENED.parse().unwrap();
    assert_eq!(file.keys().collect::<Vec<_>>(), ["operations"]);
    let mut named = BTreeSet::new();
    for block in file["operations"].as_array().unwrap() {
        let members: BTreeSet<&str> = block
            .as_table()
            .unwrap()
            .keys()
            .map(String::as_str)
            .collect();
        assert_eq!(members, BTreeSet::from([IDS, "checks"]));
        let checks = &block["checks"];
        let known = ["positive_data_acceptance", "missing_required_header"];
        let of = checks.as_table().unwrap().keys();
        let unknown: Vec<&String> = of
            .filter(|check| !known.contains(&check.as_str()))
            .collect();
        assert!(unknown.is_empty(), "{unknown:?}");
        let accepted = beyond(checks, known[0], &ACCEPTED);
        assert!(
            accepted
                .iter()
                .all(|status| ["400", "409", "412", "422"].contains(status)),
            "{accepted:?}"
        );
        let refused = beyond(checks, known[1], &REFUSED);
        assert!(refused.iter().all(|status| *status == "428"), "{refused:?}");
        for id in texts(&block[IDS]) {
            assert!(named.insert(id.to_owned()), "{id} stands twice");
            let route = ROUTES.iter().find(|route| route.operation == id);
            let brings = route.unwrap_or_else(|| panic!("no operation {id}")).brings;
            let versioned = brings == Brings::Version;
            assert_eq!(accepted.contains(&"412"), versioned, "{id}");
            assert_eq!(!refused.is_empty(), versioned, "{id}");
            let once = matches!(brings, Brings::OnceKey | Brings::OnceKeyOrDryRun);
            assert_eq!(accepted.contains(&"422"), once, "{id}");
        }
    }
    assert!(named.len() > 50, "{named:?}");
}

#[test]
fn each_is_let_off_for_a_reason() {
    // In blocks of 412 or 422 alone the reason of the block is that of every line.
    for block in LOOSENED.split("[[operations]]").skip(1) {
        let together = block.trim_start().starts_with("# All of them: ");
        let own = block.contains("\"400\"]") || block.contains("\"5xx\", \"400\"");
        for line in block.lines().filter(|line| line.starts_with("    \"")) {
            let reason = line.split_once(", # ").map_or("", |(_, reason)| reason);
            assert!(reason.len() > 10 || (together && !own), "{line}");
        }
    }
}
