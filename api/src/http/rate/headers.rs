//! `RateLimit` and `RateLimit-Policy` as the IETF's draft-ietf-httpapi-ratelimit-headers-10 writes them:
//! lists of the names of policies (RFC 9651), `q` the quota, `w` the window in seconds, `qu` its unit
//! where that is not requests, `r` what is left of it, `t` the seconds until it is whole again.

use actix_web::http::header::HeaderName;

use super::{Rates, Standing, whole_seconds};

/// What is left to the caller.
pub const RATE: HeaderName = HeaderName::from_static("ratelimit");
/// What the policies allow.
pub const POLICY: HeaderName = HeaderName::from_static("ratelimit-policy");

pub(super) fn rate(standings: &[Standing]) -> String {
    let items = standings.iter().map(|standing| {
        let (left, in_seconds) = (standing.left.requests, whole_seconds(standing.left.full_in));
        format!("{:?};r={left};t={in_seconds}", standing.policy)
    });
    items.collect::<Vec<_>>().join(", ")
}

pub(super) fn policies(rates: &Rates, standings: &[Standing]) -> String {
    let window = |policy: &str, allowance: &super::Allowance| {
        let seconds = whole_seconds(allowance.window()).max(1);
        format!("{policy:?};q={};w={seconds}", allowance.burst)
    };
    let mut items: Vec<String> = standings
        .iter()
        .filter_map(|standing| match standing.policy {
            "token" => Some(window("token", &rates.token)),
            "address" => Some(window("address", &rates.address)),
            "wrong_token" => Some(window("wrong_token", &rates.wrong_token)),
            _ => None,
        })
        .collect();
    if rates.at_once > 0 {
        let at_once = rates.at_once;
        items.push(format!(
            "\"at_once\";q={at_once};qu=\"concurrent-requests\""
        ));
    }
    items.join(", ")
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::super::Left;
    use super::*;

    #[test]
    fn a_policy_is_a_string_with_its_parameters() {
        let rates = Rates {
            at_once: 4,
            ..Rates::default()
        };
        let standing = |policy, requests, millis| Standing {
            policy,
            left: Left {
                requests,
                full_in: Duration::from_millis(millis),
            },
        };
        let standings = [standing("token", 199, 50), standing("address", 0, 10_000)];
        assert_eq!(
            rate(&standings),
            "\"token\";r=199;t=1, \"address\";r=0;t=10"
        );
        assert_eq!(
            policies(&rates, &standings),
            "\"token\";q=200;w=10, \"address\";q=400;w=10, \"at_once\";q=4;qu=\"concurrent-requests\""
        );
    }
}
