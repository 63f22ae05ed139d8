//! Limits as a browser meets them.

use plugwell_tests::Who;
use plugwell_tests::call::client;
use plugwell_tests::shop::Shop;
use reqwest::blocking::{RequestBuilder, Response};

use crate::limited;

/// Somebody signed in with a token: what their browser sends along.
fn signed_in(shop: &Shop, who: Who) -> String {
    let form = format!("token={}&then=/", shop.token(who).expect("a token"));
    let answer = asked(client().post(format!("{}/sign-in", shop.url())), form);
    assert_eq!(answer.status(), 303);
    let cookie = answer.headers()["set-cookie"].to_str().expect("a cookie");
    cookie.split(';').next().expect("a pair").to_owned()
}

fn asked(request: RequestBuilder, form: String) -> Response {
    request
        .header("accept", "text/html")
        .header("content-type", "application/x-www-form-urlencoded")
        .body(form)
        .send()
        .expect("an answer")
}

/// Is a page that says what to do, with the headers of the limit.
fn says_so(answer: Response) {
    assert_eq!(answer.status(), 429);
    let headers = answer.headers().clone();
    assert!(headers.contains_key("retry-after") && headers.contains_key("ratelimit"));
    let kind = headers["content-type"].to_str().expect("a type");
    assert!(kind.starts_with("text/html"), "{kind}");
    let html = answer.text().expect("a page");
    assert!(
        html.contains("<h1>Too much at once</h1>") && html.contains("nothing was done"),
        "{html}"
    );
}

#[test]
fn a_page_is_refused_as_a_page_and_what_it_draws_on_is_not() {
    let shop = limited(&["--token-rate", "4", "--token-burst", "6"]);
    let cookie = signed_in(&shop, Who::Reader);
    let look = |path: &str| {
        let request = client().get(format!("{}{path}", shop.url()));
        let browser = request
            .header("accept", "text/html")
            .header("cookie", &cookie);
        browser.send().expect("a page")
    };
    let refused = (0..60).map(|_| look("/")).find(|page| page.status() != 200);
    says_so(refused.expect("more than it may"));
    assert_eq!(look("/assets/plugwell.css").status(), 200);
    // The same token over the API has the same bucket; another's browser another.
    shop.get(Who::Reader, "/v1/heads")
        .problem(429, "rate_limited");
    let other = signed_in(&shop, Who::Tuner);
    let page = client()
        .get(format!("{}/", shop.url()))
        .header("cookie", other)
        .send()
        .expect("a page");
    assert_eq!(page.status(), 200);
}

#[test]
fn guessing_at_the_door_is_held_back_and_a_right_token_signs_in() {
    let shop = limited(&["--wrong-token-rate", "3"]);
    let guess = || {
        let form = "token=0123456789abcdef&then=/".to_owned();
        asked(client().post(format!("{}/sign-in", shop.url())), form)
    };
    let mut guesses = 0;
    let refused = loop {
        let answer = guess();
        if answer.status() != 401 {
            break answer;
        }
        guesses += 1;
        assert!(guesses < 60, "never refused");
    };
    assert!(guesses >= 3, "{guesses}");
    says_so(refused);
    signed_in(&shop, Who::Reader);
}
