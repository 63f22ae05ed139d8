//! Asking for plugs by hand: the answer follows what is typed, and what was typed becomes a build.

use std::time::{Duration, Instant};

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, plug, receive, stored_plug};
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
        assert!(
            Instant::now() < deadline,
            "{id} says {text:?}, not {said:?}"
        );
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

/// Saves what was typed under a name, its head too, after trying it without one.
async fn saved(page: &Page) {
    page.follow(".by-hand button[formaction]").await;
    assert_eq!(page.all("h1").await, ["Save what was typed as a build"]);
    page.follow("[data-main]").await;
    let missing = page.all(".faults li").await[0].clone();
    assert!(missing.contains("has to be filled in"), "{missing}");
    page.fill("name", "Heron by hand").await;
    page.fill("head_name", "Heron head").await;
    page.follow("[data-main]").await;
    assert_eq!(page.all("h1").await, ["Heron by hand"]);
}

/// An attribute of the first element that a selector finds.
async fn attribute(page: &Page, css: &str, name: &str) -> String {
    let script = format!("return document.querySelector('{css}').getAttribute('{name}')");
    let value = page.run(&script).await;
    value.as_str().unwrap_or_default().to_owned()
}

#[test]
fn a_tuner_types_a_build_and_the_answer_follows_and_it_is_saved() {
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

        saved(&page).await;
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

#[test]
fn a_build_that_is_sent_twice_is_saved_once_and_a_reader_saves_none() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-7991"));
    receive(&shop, &part, &bin(&shop, "Drawer 79"), 20);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let build = "thread=M14x1.25&reach_mm=19&seat=gasket&heat_index=70&cylinders=4&induction=naturally_aspirated&use=street";
    let found = tuner.get(&format!("/?{build}")).expect(200);
    assert!(
        found.html.contains("1 part fits, 1 on the shelf."),
        "{}",
        found.html
    );
    assert!(found.html.contains("formaction=\"/save-build\""));
    let form = tuner.get(&format!("/save-build?{build}")).expect(200);
    let (key, once) = (form.hidden("form_key"), form.hidden("once"));
    let mut fields: Vec<(&str, &str)> = build
        .split('&')
        .filter_map(|pair| pair.split_once('='))
        .collect();
    fields.extend([
        ("form_key", key.as_str()),
        ("once", &once),
        ("name", "Four"),
    ]);
    let first = tuner.post("/save-build", &fields).expect(303);
    let second = tuner.post("/save-build", &fields).expect(303);
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
    // A fault of the build keeps all that was typed.
    fields[1].1 = "900";
    let wrong = tuner.post("/save-build", &fields).expect(400);
    assert!(
        wrong.html.contains("Reach: ") && wrong.html.contains("value=\"Four\""),
        "{}",
        wrong.html
    );
    // What fits a stored build leads to its record, and to what is in the car.
    let id = builds[0]["id"].as_str().expect("an id");
    let found = tuner.get(&format!("/?build={id}")).expect(200).html;
    for there in [format!("/builds/{id}"), format!("/check?build={id}")] {
        assert!(found.contains(&format!("href=\"{there}\"")), "{found}");
    }
    let reader = Visitor::signed_in(&shop, Who::Reader);
    assert!(
        !reader
            .get(&format!("/?{build}"))
            .expect(200)
            .html
            .contains("/save-build")
    );
    reader.get(&format!("/save-build?{build}")).expect(403);
}
