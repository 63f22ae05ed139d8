//! What the forms refuse, seen without a browser.

use plugwell_tests::bodies::{bin, plug, receive, stored_plug};
use plugwell_tests::call::Who;
use plugwell_tests::shop::{Engine, Shop};
use reqwest::StatusCode;
use reqwest::blocking::{Client, Response};

/// Somebody with cookies, who does not follow redirections by themselves.
fn visitor() -> Client {
    let _ = rustls::crypto::ring::default_provider().install_default();
    let client = Client::builder().cookie_store(true).redirect(reqwest::redirect::Policy::none());
    client.build().expect("a client")
}

fn sent(client: &Client, url: &str, fields: &[(&str, &str)]) -> Response {
    let body: Vec<String> = fields.iter().map(|(name, value)| format!("{name}={}", escaped(value))).collect();
    client
        .post(url)
        .header("Content-Type", "application/x-www-form-urlencoded")
        .body(body.join("&"))
        .send()
        .expect("an answer")
}

/// Everything but letters and digits as percent and two digits.
fn escaped(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { (b as char).to_string() } else { format!("%{b:02X}") })
        .collect()
}

/// The value of a hidden field.
fn hidden(html: &str, name: &str) -> String {
    let start = html.find(&format!("name=\"{name}\" value=\"")).unwrap_or_else(|| panic!("no {name}"));
    let value = &html[start + name.len() + 15..];
    value[..value.find('"').expect("a quote")].to_owned()
}

fn signed_in(shop: &Shop, who: Who) -> Client {
    let client = visitor();
    let token = shop.token(who).expect("a token");
    let answer = sent(&client, &format!("{}/sign-in", shop.url()), &[("token", token)]);
    assert_eq!(answer.status(), StatusCode::SEE_OTHER);
    let cookie = answer.headers()["set-cookie"].to_str().expect("text").to_owned();
    for flag in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(flag), "{flag} is missing from {cookie}");
    }
    client
}

#[test]
fn a_form_without_its_key_does_nothing_and_a_double_click_does_it_once() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-9100"));
    let shelf = bin(&shop, "Rack B shelf 2");
    receive(&shop, &part, &shelf, 20);
    let client = signed_in(&shop, Who::Clerk);
    let url = format!("{}/issue", shop.url());
    let html = client.get(format!("{url}?plug_id={part}")).send().expect("a page").text().expect("its text");
    let (key, once) = (hidden(&html, "form_key"), hidden(&html, "once"));
    let fields = |key: &str| -> Vec<(String, String)> {
        let pairs = [
            ("form_key", key),
            ("once", once.as_str()),
            ("plug_id", part.as_str()),
            ("quantity", "5"),
            ("job", "J-9"),
        ];
        pairs.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect()
    };
    let post = |key: &str| {
        let fields = fields(key);
        let pairs: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        sent(&client, &url, &pairs)
    };
    assert_eq!(post("").status(), StatusCode::FORBIDDEN);
    assert_eq!(post("0123").status(), StatusCode::FORBIDDEN);
    let first = post(&key);
    assert_eq!(first.status(), StatusCode::OK);
    let second = post(&key).text().expect("a page");
    assert!(second.contains("5 × Ferrowick FW-9100 issued to J-9."), "the same answer again");
    let levels = shop.get(Who::Reader, "/v1/stock/levels?kind=bin").expect(200);
    assert_eq!(levels.items()[0]["quantity"], 15, "issued once");
}

#[test]
fn nobody_sees_a_page_without_signing_in_and_every_page_is_hardened() {
    let shop = Shop::start(Engine::Sqlite);
    let client = visitor();
    for path in ["/", "/receive", "/issue", "/scrap"] {
        let answer = client.get(format!("{}{path}", shop.url())).send().expect("a page");
        assert_eq!(answer.status(), StatusCode::UNAUTHORIZED, "{path}");
        let header = |name: &str| answer.headers()[name].to_str().expect("text").to_owned();
        let policy = header("content-security-policy");
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"), "{policy}");
        assert_eq!(header("x-content-type-options"), "nosniff");
        assert_eq!(header("x-frame-options"), "DENY");
        assert_eq!(header("referrer-policy"), "no-referrer");
        assert!(answer.text().expect("text").contains("name=\"token\""));
    }
    let wrong = sent(&client, &format!("{}/sign-in", shop.url()), &[("token", "0123")]);
    assert_eq!(wrong.status(), StatusCode::UNAUTHORIZED);
    assert!(wrong.headers().get("set-cookie").is_none());
}
