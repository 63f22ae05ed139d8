//! The policy `address`, and whose word on an address is taken.

use plugwell_tests::shop::Shop;
use plugwell_tests::{Answer, Who};

use crate::{limited, until_refused};

const FEW: [&str; 4] = ["--address-rate", "4", "--address-burst", "9"];

/// Asks through a proxy on this machine that names an address.
fn through(shop: &Shop, header: (&str, &str)) -> Answer {
    shop.send("GET", "/openapi.json", Who::Nobody, &[header], "")
}

#[test]
fn an_address_is_limited_with_and_without_tokens() {
    // Three of the nine went into the tokens of this shop.
    let shop = limited(&FEW);
    let (answered, refusal) = until_refused(|| shop.get(Who::Nobody, "/openapi.json"));
    assert!(answered >= 6, "{answered}");
    assert_eq!(refusal.json["policy"], "address");
    let shared = shop
        .get(Who::Reader, "/v1/heads")
        .problem(429, "rate_limited");
    assert_eq!(shared.json["policy"], "address");
}

#[test]
fn a_trusted_proxy_speaks_for_its_callers() {
    let trusted = [&FEW[..], &["--trusted-proxies", "127.0.0.1"]].concat();
    let shop = limited(&trusted);
    let near = ("x-forwarded-for", "192.0.2.1");
    let (answered, _) = until_refused(|| through(&shop, near));
    assert!(answered >= 9, "{answered}");
    assert_eq!(through(&shop, ("x-forwarded-for", "192.0.2.2")).status, 200);
    // What a caller wrote before the proxy did changes nothing.
    let made_up = ("x-forwarded-for", "203.0.113.5, 192.0.2.1");
    assert_eq!(through(&shop, made_up).status, 429);
    assert_eq!(
        through(&shop, ("forwarded", "for=203.0.113.6")).status,
        200,
        "not the header that this proxy writes: the proxy itself"
    );
}

#[test]
fn nobody_elses_word_is_taken() {
    let shop = limited(&FEW);
    let mut number = 0;
    let (answered, _) = until_refused(|| {
        number += 1;
        through(&shop, ("x-forwarded-for", &format!("192.0.2.{number}")))
    });
    // Three went into the tokens of this shop, and a slow machine refills a few.
    assert!((6..=9).contains(&answered), "{answered}");
}
