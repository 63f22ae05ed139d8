//! Sessions: a badge that signs in, the warning before one runs out, signing out everywhere.

use std::time::{Duration, Instant};

use plugwell_tests::Who;
use plugwell_tests::bodies::build;
use plugwell_tests::shop::{Engine, Shop};

use crate::browser::{Page, visit};
use crate::forms::{in_bins, stocked};
use crate::forms_seen::plain;
use crate::visitor::Visitor;

/// What a scanner types after what it reads.
const ENTER: &str = "\u{e007}";

/// Signs in as a scanner of badges does: its letters, then Enter, wherever the focus is.
async fn scan_in(page: &Page, shop: &Shop, who: Who) {
    page.open(shop.url()).await;
    let focused = "return document.activeElement.id";
    assert_eq!(
        page.run(focused).await,
        "token",
        "nobody has to click first"
    );
    let token = shop.token(who).expect("a token");
    page.leave(async || page.fill("token", &format!("{token}{ENTER}")).await)
        .await;
    assert_eq!(page.all("h1").await, ["Find plugs for a build"]);
}

/// Waits until something holds on the page; how long at most.
async fn until(page: &Page, script: &str, at_most: Duration) {
    let deadline = Instant::now() + at_most;
    while page.run(script).await != true {
        assert!(
            Instant::now() < deadline,
            "{script} did not come true; the page says: {}",
            page.text().await
        );
        tokio::time::sleep(Duration::from_millis(200)).await;
    }
}

#[test]
fn signing_out_everywhere_ends_every_session_of_the_token() {
    let shop = Shop::start(Engine::Sqlite);
    let (one, two) = (
        Visitor::signed_in(&shop, Who::Clerk),
        Visitor::signed_in(&shop, Who::Clerk),
    );
    let other = Visitor::signed_in(&shop, Who::Tuner);
    one.post("/sign-out-everywhere", &[]).expect(403);
    two.get("/receive").expect(200);
    let key = one.get("/session").expect(200).hidden("form_key");
    one.post("/sign-out-everywhere", &[("form_key", &key)])
        .expect(303);
    for gone in [&one, &two] {
        gone.get("/receive").expect(401);
    }
    other.get("/issue").expect(200);
    Visitor::signed_in(&shop, Who::Clerk)
        .get("/receive")
        .expect(200);
}

#[test]
fn a_form_that_outlived_its_sign_in_goes_on_with_what_was_typed() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-9150");
    // Two windows of one sign-in, one of which signs out.
    let mut clerk = Visitor::signed_in(&shop, Who::Clerk);
    let form = clerk.get(&format!("/issue?plug_id={part}")).expect(200);
    let (key, once) = (form.hidden("form_key"), form.hidden("once"));
    let fields = [
        ("form_key", key.as_str()),
        ("once", &once),
        ("plug_id", &part),
        ("quantity", "5"),
        ("job", "J & K"),
    ];
    clerk.post("/sign-out", &fields[..1]).expect(303);
    let asked = clerk.post("/issue", &fields).expect(401);
    let said = "You were signed out meanwhile, so nothing was done.";
    assert!(asked.html.contains(said), "{}", asked.html);
    let then = plain(&asked.hidden("then"));
    let token = shop.token(Who::Clerk).expect("a token");
    let signed_in = clerk.post("/sign-in", &[("token", token), ("then", &then)]);
    assert_eq!(signed_in.header("location"), then);
    let cookie = signed_in.header("set-cookie").split(';').next();
    clerk.cookie = cookie.expect("a cookie").to_owned();

    // The other window still has the form of the sign-in that is gone.
    let refused = clerk.post("/issue", &fields).expect(403);
    assert!(plain(&refused.html).contains(&format!("href=\"{then}\"")));
    assert_eq!(in_bins(&shop, &part), 20, "nothing was done");
    let again = clerk.get(&then).expect(200);
    for typed in ["value=\"5\"", "value=\"J &#38; K\""] {
        assert!(again.html.contains(typed), "{}", again.html);
    }
    let (key, once) = (again.hidden("form_key"), again.hidden("once"));
    let mut fields = fields;
    (fields[0].1, fields[1].1) = (&key, &once);
    clerk.post("/issue", &fields).expect(303);
    assert_eq!(in_bins(&shop, &part), 15);
}

#[test]
fn a_button_that_outlived_its_sign_in_leads_to_its_page() {
    let shop = Shop::start(Engine::Sqlite);
    let nobody = Visitor::nobody(&shop);
    let path = "/reservations/01890000-0000-7000-8000-000000000000/release";
    let then = |from: &str| {
        let from = [("referer", from)];
        let asked = nobody.post_with(path, &[("once", "x")], &from).expect(401);
        plain(&asked.hidden("then"))
    };
    assert_eq!(
        then(&format!("{}/jobs/1?a=b&c=d", shop.url())),
        "/jobs/1?a=b&c=d"
    );
    // Wherever it says that it comes from, it leads to this service.
    assert_eq!(then("https://other.example//elsewhere"), "/");
    // What was typed may be more than an address can hold.
    let long = "x".repeat(5_000);
    let asked = nobody.post("/stand-ins", &[("note", &long)]).expect(401);
    assert_eq!(asked.hidden("then"), "/stand-ins");
    let again = "Sign in to go on, and enter this again: xxx";
    assert!(asked.html.contains(again), "{}", asked.html);
}

fn sign_out_everywhere(shop: &Shop, who: Who) {
    let own = Visitor::signed_in(shop, who);
    let key = own.get("/session").expect(200).hidden("form_key");
    own.post("/sign-out-everywhere", &[("form_key", &key)])
        .expect(303);
}

#[test]
fn a_number_that_outlived_its_sign_in_is_told_on_the_way_back_to_its_page() {
    let shop = Shop::start(Engine::Sqlite);
    let stored = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    let path = format!("/builds/{}", stored.text("id"));
    visit(async |page| {
        scan_in(&page, &shop, Who::Tuner).await;
        page.open(&format!("{}{path}", shop.url())).await;
        page.fill("odometer_km", "126000").await;
        // A client that waits has no place on a thread of those that don't.
        std::thread::scope(|scope| {
            scope.spawn(|| sign_out_everywhere(&shop, Who::Tuner));
        });
        page.follow("form[action$='/odometer'] button").await;
        let said = page.text().await;
        assert!(said.contains("enter this again: 126000"), "{said}");
        let token = shop.token(Who::Tuner).expect("a token");
        page.leave(async || page.fill("token", &format!("{token}{ENTER}")).await)
            .await;
        assert_eq!(page.address().await, path);
        page.fill("odometer_km", "126000").await;
        page.follow("form[action$='/odometer'] button").await;
    });
    let now = shop.get(Who::Tuner, &format!("/v1{path}")).expect(200);
    assert_eq!(now.json["odometer_km"], 126_000);
}

#[test]
fn a_badge_signs_in_and_the_button_signs_out_everywhere() {
    let shop = Shop::start(Engine::Sqlite);
    let till = Visitor::signed_in(&shop, Who::Clerk);
    visit(async |page| {
        scan_in(&page, &shop, Who::Clerk).await;
        page.open(&format!("{}/session", shop.url())).await;
        page.follow("form[action='/sign-out-everywhere'] button")
            .await;
        assert_eq!(page.all("h1").await, ["Sign in"]);
    });
    till.get("/receive").expect(401);
}

/// Lets a page's own clock run five times as fast: it would warn after half a minute.
const FASTER: &str = "const wait = window.setTimeout;
    window.setTimeout = (then, ms, ...rest) => wait(then, ms / 5, ...rest);";

#[test]
fn a_page_warns_before_its_session_runs_out_and_can_keep_it() {
    const WARNED: &str = "return document.querySelector('dialog[role=alertdialog]').open";
    const CLOSED: &str = "return !document.querySelector('dialog').open";
    const ENDED: &str = "return document.getElementById('idle-words').innerText.startsWith('You have been signed out')";
    let shop = Shop::start_with(Engine::Sqlite, &["--idle-minutes", "1"]);
    let session = format!("{}/session", shop.url());
    visit(async |page| {
        page.bring(FASTER).await;
        scan_in(&page, &shop, Who::Clerk).await;
        page.open(&session).await;
        assert!(page.text().await.contains("idle for 1 minute"));
        assert_eq!(page.run(WARNED).await, false);
        until(&page, WARNED, Duration::from_secs(20)).await;
        let words = page.all("dialog p").await;
        assert!(words[0].contains("signed out in 30 seconds"), "{words:?}");
        // It closes once the service has said that the session goes on.
        page.press("dialog button").await;
        until(&page, CLOSED, Duration::from_secs(5)).await;
        assert_eq!(page.run(ENDED).await, false);
        until(&page, WARNED, Duration::from_secs(20)).await;
        // Nobody presses it this time.
        until(&page, ENDED, Duration::from_secs(20)).await;
        page.press("dialog button").await;
        assert_eq!(page.run(WARNED).await, false, "what was typed is there");
    });
}
