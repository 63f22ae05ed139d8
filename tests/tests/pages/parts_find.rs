//! Asking for plugs by hand: the answer follows what is typed, and what was typed becomes a build.

use std::collections::BTreeSet;
use std::time::{Duration, Instant};

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, head, plug, receive, stored_plug};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::json;

use crate::browser::{Page, visit};
use crate::demo::Demo;
use crate::steps::{fits, sign_in};
use crate::visitor::Visitor;

/// Waits until a place of the page says something.
async fn until(page: &Page, id: &str, said: &str) -> String {
    let deadline = Instant::now() + Duration::from_secs(30);
    loop {
        let text = page
            .run(&format!("return document.getElementById('{id}').innerText"))
            .await;
        let text = text.as_str().unwrap_or_default().to_owned();
        if text.contains(said) {
            return text;
        }
        if Instant::now() > deadline {
            let answer = page.all("#answer").await;
            panic!(
                "{id} says {text:?}, not {said:?}; at {}: {answer:?}",
                page.address().await
            );
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

/// Types a build by hand while the answer follows; how many fitted before the power was known.
async fn typed(page: &Page) -> String {
    page.press(".by-hand details > summary").await;
    page.choose("thread", "M14x1.25").await;
    page.fill("reach_mm", "0.75 in").await;
    // Exact by NIST SP 811: 1 in = 25.4 mm.
    let meant = until(page, "reach_mm-meant", "mm").await;
    assert_eq!(meant, "19.05 mm · 0.75 in");
    until(page, "answer", "Still to be filled in: ").await;
    // Whoever is still typing has done nothing wrong.
    assert_eq!(page.console().await, [] as [String; 0]);
    page.choose("seat", "gasket").await;
    page.fill("heat_index", "50").await;
    page.fill("cylinders", "8").await;
    page.choose("induction", "supercharged").await;
    page.choose("use", "street").await;
    let before = until(page, "count", "parts fit").await;
    page.fill("power_kw", "650 hp").await;
    page.fill("boost_kpa", "12 psi").await;
    let meant = until(page, "boost_kpa-meant", "psi").await;
    assert!(meant.ends_with("12 psi"), "{meant}");
    page.fill("base_power_kw", "400 hp").await;
    // The address follows once the answer is there.
    let deadline = Instant::now() + Duration::from_secs(30);
    while !page.address().await.contains("base_power_kw=400+hp") {
        assert!(Instant::now() < deadline, "{}", page.address().await);
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    before
}

/// Stores what was typed under a name, its head too, after trying it without one and going back; ends
/// where it is asked what fits the stored build.
async fn stored(page: &Page) {
    let asked = page.address().await;
    page.follow(".by-hand button[formaction]").await;
    assert_eq!(page.all("h1").await, ["A new build"]);
    page.follow("form.asked p > a").await;
    let back = page.address().await;
    assert_eq!(page.all("h1").await, ["Find plugs for a build"]);
    assert_eq!(plain(&back), plain(&asked), "back with what was typed");
    page.follow(".by-hand button[formaction]").await;
    page.follow("[data-main]").await;
    let missing = page.all(".faults li").await;
    assert_eq!(missing.len(), 1, "{missing:?}");
    assert!(missing[0].contains("has to be filled in"), "{missing:?}");
    page.fill("name", "Heron by hand").await;
    page.fill("head_name", "Heron head").await;
    page.follow("[data-main]").await;
    assert_eq!(page.all("h1").await, ["Heron by hand"]);
    let said = page.all("[role=status]").await.join(" ");
    assert!(said.contains("Stored."), "{said}");
    page.follow(".next a").await;
    assert_eq!(page.all("h1").await, ["Heron by hand"]);
}

/// What an address asks, in one way of writing it.
fn plain(address: &str) -> BTreeSet<(String, String)> {
    let (_, query) = address.split_once('?').expect("a query");
    let pairs = url::form_urlencoded::parse(query.as_bytes());
    pairs.into_owned().collect()
}

/// An attribute of the first element that a selector finds.
async fn attribute(page: &Page, css: &str, name: &str) -> String {
    let script = format!("return document.querySelector('{css}').getAttribute('{name}')");
    let value = page.run(&script).await;
    value.as_str().unwrap_or_default().to_owned()
}

#[test]
fn a_tuner_types_a_build_and_the_answer_follows_and_it_is_stored() {
    let demo = Demo::start();
    visit(async |page| {
        sign_in(&page, &demo, Who::Tuner).await;
        let before = typed(&page).await;
        // More power asks for a colder plug: others fit.
        assert_ne!(until(&page, "count", "parts fit").await, before);
        let shown = fits(&page).await;
        page.open(&format!("{}{}", demo.url(), page.address().await))
            .await;
        assert_eq!(fits(&page).await, shown, "opened anew it is the same");
        let drawn = attribute(&page, ".fit .section", "src").await;
        let by_hand = drawn.starts_with("/section.svg?") && drawn.contains("plug_id=");
        assert!(by_hand, "{drawn}");

        stored(&page).await;
        assert_eq!(
            fits(&page).await,
            shown,
            "the stored build needs what was typed"
        );
        let reserve = attribute(&page, ".take a[href^=\"/reserve\"]", "href").await;
        let filled_in = reserve.contains("quantity=9") && reserve.contains("build_id=");
        assert!(filled_in, "{reserve}");
        page.follow(".fit h3 a").await;
        assert_eq!(page.all("h1").await.join(""), shown[0].0);
    });
    let builds = demo.items("/v1/builds?limit=200");
    let kept = builds
        .iter()
        .filter(|build| build["name"] == "Heron by hand");
    assert_eq!(kept.count(), 1);
    let heads = demo.items("/v1/heads?limit=200");
    assert!(
        heads
            .iter()
            .any(|head| head["name"] == "Heron head" && head["reach_mm"] == 19.05)
    );
}

/// A build by hand, as the address of a match has it.
const BY_HAND: &str = "thread=M14x1.25&reach_mm=19&seat=gasket&heat_index=70&cylinders=4\
                       &induction=naturally_aspirated&use=street";

/// The same as it is sent from the form of a new build, with key and name.
fn sent<'a>(key: &'a str, once: &'a str) -> Vec<(&'a str, &'a str)> {
    let pairs = BY_HAND.split('&').filter_map(|pair| pair.split_once('='));
    let own = [
        ("form_key", key),
        ("once", once),
        ("name", "Four"),
        ("from", "find"),
    ];
    pairs.chain(own).collect()
}

#[test]
fn a_build_that_is_asked_for_is_stored_once() {
    let shop = Shop::start(Engine::Sqlite);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let form = tuner
        .get(&format!("/builds/new?{BY_HAND}&from=find"))
        .expect(200);
    let (key, once) = (form.hidden("form_key"), form.hidden("once"));
    let first = tuner.post("/builds/new", &sent(&key, &once)).expect(303);
    let second = tuner.post("/builds/new", &sent(&key, &once)).expect(303);
    assert_eq!(
        second.header("location"),
        format!("{}&again=yes", first.header("location"))
    );
    let builds = shop.all(Who::Reader, "/v1/builds");
    assert_eq!(builds.len(), 1);
    assert_eq!(
        (&builds[0]["name"], &builds[0]["head_id"]),
        (&json!("Four"), &json!(null))
    );
    // What fits a stored build leads to its record, and to what is in the car.
    let id = builds[0]["id"].as_str().expect("an id");
    let found = tuner.get(&format!("/?build={id}")).expect(200).html;
    for there in [format!("/builds/{id}"), format!("/check?build={id}")] {
        assert!(found.contains(&format!("href=\"{there}\"")), "{found}");
    }
}

#[test]
fn what_is_wrong_with_a_new_build_keeps_what_was_typed_and_the_way_back() {
    let shop = Shop::start(Engine::Sqlite);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let form = tuner.get("/builds/new").expect(200);
    let (key, once) = (form.hidden("form_key"), form.hidden("once"));
    let mut fields = sent(&key, &once);
    fields[1].1 = "900";
    let wrong = tuner.post("/builds/new", &fields).expect(400);
    for kept in [
        "id=\"reach_mm-fault\"",
        "value=\"Four\"",
        "href=\"/?thread=M14x1%2E25",
    ] {
        assert!(wrong.html.contains(kept), "{kept} in {}", wrong.html);
    }
    let head = shop.post(Who::Tuner, "/v1/heads", &head()).expect(201);
    let (head, engine) = (head.text("id"), &fields[4..]);
    let both = [engine, &[("head", head.as_str()), ("head_name", "Other")]].concat();
    let wrong = tuner.post("/builds/new", &both).expect(400);
    assert!(
        wrong.html.contains("id=\"head_name-fault\""),
        "{}",
        wrong.html
    );
    assert!(shop.all(Who::Reader, "/v1/builds").is_empty());
}

#[test]
fn an_answer_stands_in_order_and_a_reader_stores_nothing() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-7991"));
    receive(&shop, &part, &bin(&shop, "Drawer 79"), 20);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let found = tuner.get(&format!("/?{BY_HAND}")).expect(200).html;
    assert!(found.contains("1 part fits, 1 on the shelf."), "{found}");
    assert!(found.contains("formaction=\"/builds/new\""), "{found}");
    let headings = [
        "What the plug must be",
        "On the shelf",
        "Not answered yet",
        "Cautions",
        "The spark",
    ];
    let places = headings.map(|heading| found.find(&format!(">{heading}</h2>")));
    assert!(
        places.iter().all(Option::is_some) && places.is_sorted(),
        "{places:?}"
    );
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let found = reader.get(&format!("/?{BY_HAND}")).expect(200).html;
    assert!(!found.contains("/builds/new"), "{found}");
    reader.get(&format!("/builds/new?{BY_HAND}")).expect(403);
}
