//! A day at the counter of the demo shop, in a browser: a tuner matches a build and issues a set, a
//! clerk receives and scraps, and the next match tells the truth.

use plugwell_tests::Who;
use serde_json::Value;

use crate::browser::{Page, visit};
use crate::demo::Demo;
use crate::steps::{BUILD, available, booked, fits, matched, sign_in};

/// What a match of the build says besides what fits.
async fn says_what_is_needed(page: &Page) {
    let text = page.text().await;
    for said in [
        "What the plug must be",
        "M14x1.25",
        "9\n8 fitted, 1 spare",
        "Cautions",
        "head's maker",
    ] {
        assert!(text.contains(said), "{said} is missing from {text}");
    }
    // Common practice, no source: 0.71 to 0.81 mm (0.028 to 0.032 in) from 600 to 800 hp.
    let figures = page.all(".summed dd").await;
    assert!(
        figures.contains(&"0.81 mm (32 thou)".to_owned()),
        "{figures:?}"
    );
    // Own rule: an estimate is shown with two figures.
    let kv = figures
        .iter()
        .find(|f| f.starts_with("about "))
        .unwrap_or_else(|| panic!("{figures:?}"));
    assert_eq!(kv.chars().filter(char::is_ascii_digit).count(), 2, "{kv}");
    page.press(".demand summary").await;
    assert!(
        page.text().await.contains("no other thread seals in it"),
        "a reason unfolds"
    );
    let misses = page.all(".misses li").await;
    assert!(
        misses.iter().all(|miss| miss.contains(" is ")),
        "each says what rules it out: {misses:?}"
    );
}

#[test]
fn a_tuner_signs_in_by_a_link_finds_a_set_and_issues_it() {
    let demo = Demo::start();
    visit(async |page| {
        page.open(demo.link(Who::Tuner)).await;
        assert_eq!(
            page.address().await,
            "/",
            "the link does not stay in the address"
        );
        matched(&page, &demo).await;
        says_what_is_needed(&page).await;
        page.picture("match").await;

        let (part, before) = fits(&page).await[0].clone();
        let take = page.all(".fit .take li").await[0].clone();
        assert!(take.starts_with("Take 9 from Rack "), "{take}");
        page.follow(".fit .act").await;
        assert_eq!(page.all(".card h2").await.join(" "), part);
        assert_eq!(
            (page.value("quantity").await, page.value("gap_mm").await),
            ("9".into(), "0.81".into())
        );
        page.fill("job", "J-4001").await;
        assert_eq!(booked(&page).await, format!("9 × {part}"));
        assert!(page.text().await.contains("→ J-4001"));
        page.picture("booked").await;
        page.follow(".next a").await;
        assert_eq!(page.all("h1").await, [BUILD], "back to the match");
        // Less than a set of nine is not offered any more.
        let left = Some(before - 9).filter(|left| *left >= 9);
        assert_eq!(available(&page, &demo, &part).await, left);
    });
    let moved = demo.items("/v1/stock/movements?kind=issue&job=J-4001");
    assert_eq!(
        moved
            .iter()
            .filter_map(|m| m["quantity"].as_i64())
            .sum::<i64>(),
        9
    );
    let as_told =
        |m: &Value| m["gap_mm"] == 0.81 && m["actor"] == "demo tuner" && m["build_id"].is_string();
    assert!(moved.iter().all(as_told), "{moved:?}");
}

#[test]
fn a_link_signs_in_once_and_whoever_signs_out_is_out() {
    let demo = Demo::start();
    visit(async |page| {
        page.open(demo.link(Who::Tuner)).await;
        assert_eq!(page.all("h1").await, ["Find plugs for a build"]);
        page.follow(".leave button").await;
        assert_eq!(page.all("h1").await, ["Sign in"]);
        page.open(&format!("{}/issue", demo.url())).await;
        assert_eq!(page.all("h1").await, ["Sign in"]);
        page.open(demo.link(Who::Tuner)).await;
        assert!(page.text().await.contains("That link has been used"));
        page.fill("token", demo.token(Who::Tuner)).await;
        page.follow("main button").await;
        assert_eq!(page.all("h1").await, ["Find plugs for a build"]);
    });
}

#[test]
fn a_clerk_receives_and_scraps_what_was_dropped() {
    let demo = Demo::start();
    visit(async |page| {
        sign_in(&page, &demo, Who::Clerk).await;
        matched(&page, &demo).await;
        let (part, before) = fits(&page).await[0].clone();
        let number = part
            .rsplit(' ')
            .next()
            .expect("a part number")
            .to_lowercase();

        // A scanner types and presses Enter.
        page.open(&format!("{}/receive", demo.url())).await;
        page.leave(async || page.fill("part", &format!("{number}\u{e007}")).await)
            .await;
        assert_eq!(page.all(".card h2").await.join(" "), part);
        page.fill("quantity", "12").await;
        page.fill("place", "rack a SHELF 1").await;
        page.fill("supplier", "Quayside Parts").await;
        page.fill("total_cost", "118,80").await;
        // A supplier that is new here is looked at once more.
        page.follow(".counter > button").await;
        let wrong = page.all("#supplier-fault").await.join(" ");
        assert!(wrong.contains("this makes a new one"), "{wrong}");
        assert_eq!(booked(&page).await, format!("12 × {part}"));
        assert_eq!(available(&page, &demo, &part).await, Some(before + 12));

        page.open(&format!("{}/scrap", demo.url())).await;
        page.fill("part", &number).await;
        page.follow(".look button").await;
        assert_eq!(page.value("reason").await, "dropped");
        page.fill("quantity", "2").await;
        page.fill("place", "Rack A shelf 1").await;
        assert_eq!(booked(&page).await, format!("2 × {part}"));
        let text = page.text().await;
        assert!(
            text.contains("Scrapped for good") && text.contains("by a manager until"),
            "{text}"
        );
        assert_eq!(available(&page, &demo, &part).await, Some(before + 10));
    });
    let suppliers = demo.items("/v1/stock/places?kind=supplier&limit=200");
    let new = suppliers.last().expect("the supplier that was named");
    assert_eq!(new["name"], "Quayside Parts");
    let received = demo.items(&format!(
        "/v1/stock/movements?place_id={}",
        new["id"].as_str().expect("an id")
    ));
    let lots = demo.items(&format!(
        "/v1/stock/lots?plug_id={}&limit=200",
        received[0]["plug_id"].as_str().expect("an id")
    ));
    let lot = lots
        .iter()
        .find(|lot| lot["id"] == received[0]["lot_id"])
        .expect("its lot");
    assert_eq!(
        (&lot["total_cost"]["minor"], &lot["quantity_received"]),
        (&11_880.into(), &12.into())
    );
}
