//! What people type and press, seen in a browser: faults by their field, units as typed, script as
//! text, a double click, a narrow window.

use plugwell_tests::Who;

use crate::browser::visit;
use crate::demo::Demo;
use crate::steps::{booked, fits, matched, sign_in};

#[test]
fn what_is_wrong_stands_by_its_field_and_what_was_typed_stays() {
    let demo = Demo::start();
    visit(async |page| {
        sign_in(&page, &demo, Who::Clerk).await;
        matched(&page, &demo).await;
        page.follow(".fit .act").await;
        let left = page.all(".card p b").await[0].clone();
        page.fill("quantity", "many").await;
        page.fill("gap_mm", "0.032 furlong").await;
        page.follow(".counter > button").await;
        let faults = page.all(".field .fault").await;
        assert_eq!(faults.len(), 3, "{faults:?}");
        assert!(
            faults[0].contains("\"many\" is no whole number"),
            "{faults:?}"
        );
        assert_eq!(
            page.all(".faults li a").await,
            ["Plugs", "Job", "Gap that is set"],
            "in the page's order"
        );
        assert_eq!(page.value("quantity").await, "many");
        page.picture("faults").await;
        page.fill("quantity", "100000").await;
        page.fill("job", "J-4003").await;
        page.fill("gap_mm", "0.032 in").await;
        page.follow(".counter > button").await;
        assert!(
            page.all("#quantity-fault").await[0].contains("to be had"),
            "{left} are there"
        );
        assert_eq!(page.value("job").await, "J-4003");
        page.fill("quantity", "1").await;
        page.follow(".counter > button").await;
        // 0.032 in is 0.8128 mm exactly (NIST SP 811).
        assert!(
            page.all("main p")
                .await
                .contains(&"Gap set: 0.8128 mm (32 thou).".to_owned())
        );
    });
}

#[test]
fn a_build_by_hand_is_understood_as_typed_and_can_be_bookmarked() {
    let demo = Demo::start();
    visit(async |page| {
        sign_in(&page, &demo, Who::Reader).await;
        page.fill("cylinders", "8").await;
        page.fill("power_kw", "700 hp").await;
        page.fill("boost_kpa", "8 psi").await;
        page.choose("induction", "supercharged").await;
        page.follow(".by-hand form > button").await;
        assert_eq!(page.all(".faults li a").await, ["Stored head", "Use"]);
        assert_eq!(page.value("power_kw").await, "700 hp", "as it was typed");
        page.choose("head", "Harrowgate 5.4 V8, aluminium").await;
        page.choose("use", "street").await;
        page.press("input[name=electronics][value=none]").await;
        page.follow(".by-hand form > button").await;
        let text = page.text().await;
        assert!(
            text.contains("522 kW (700 hp)") && text.contains("55.2 kPa (8 psi) boost"),
            "{text}"
        );
        assert!(text.contains("Not answered yet"), "{text}");
        assert_eq!(page.count(".fit .act").await, 0, "a reader issues nothing");
        let (address, shown) = (page.address().await, fits(&page).await);
        assert!(
            !address.contains("=&") && !address.ends_with('='),
            "only what was filled in: {address}"
        );
        page.open(&format!("{}/issue", demo.url())).await;
        assert!(page.text().await.contains("This takes the role tuner"));
        page.open(&format!("{}{address}", demo.url())).await;
        assert_eq!(fits(&page).await, shown);
    });
}

#[test]
fn script_that_is_typed_is_shown_as_text() {
    const SCRIPT: &str =
        "<script>document.title='taken'</script><img src=x onerror=\"document.title='taken'\">";
    let demo = Demo::start();
    visit(async |page| {
        sign_in(&page, &demo, Who::Clerk).await;
        matched(&page, &demo).await;
        page.follow(".fit .act").await;
        let part = page.all(".card h2").await[0].clone();
        let untouched = async |said: bool| {
            assert!(!page.title().await.contains("taken"));
            assert_eq!(page.count("main script, main img").await, 0);
            // What was done last names the job, wherever one is.
            assert!(!said || page.text().await.contains("<script>"));
        };
        for field in ["quantity", "job", "gap_mm", "place", "odometer_km"] {
            page.fill(field, SCRIPT).await;
        }
        page.follow(".counter > button").await;
        untouched(true).await;
        assert_eq!(page.value("job").await, SCRIPT);
        // The longest name that a job can have is 80 characters.
        let job = &SCRIPT[..43];
        for (field, text) in [
            ("quantity", "1"),
            ("job", job),
            ("gap_mm", ""),
            ("place", ""),
            ("odometer_km", ""),
        ] {
            page.fill(field, text).await;
        }
        assert_eq!(booked(&page).await, format!("1 × {part}"));
        untouched(true).await;
        page.open(&format!("{}/receive", demo.url())).await;
        page.fill("part", SCRIPT).await;
        page.follow(".look button").await;
        assert_eq!(page.value("part").await, SCRIPT);
        untouched(false).await;
        page.open(&format!("{}/%3Cscript%3Ealert(1)%3C/script%3E", demo.url()))
            .await;
        assert_eq!(page.all("h1").await, ["Not here"]);
        untouched(false).await;
    });
}

#[test]
fn a_double_click_does_it_once() {
    let demo = Demo::start();
    visit(async |page| {
        sign_in(&page, &demo, Who::Tuner).await;
        matched(&page, &demo).await;
        page.follow(".fit .act").await;
        page.fill("job", "J-4005").await;
        let twice = "const button = document.querySelector('.counter > button'); button.click(); button.click();";
        page.leave(async || drop(page.run(twice).await)).await;
        assert!(page.all(".done .big").await[0].starts_with("9 × "));
        // Back, and the same form once more.
        page.back_to(".counter > button").await;
        assert_eq!(page.all(".counter > button").await, ["Issue"]);
        page.follow(".counter > button").await;
        assert_eq!(
            page.all(".again").await,
            ["This form had been booked already. Nothing was booked a second time."]
        );
    });
    let moved = demo.items("/v1/stock/movements?kind=issue&job=J-4005");
    assert_eq!(
        moved
            .iter()
            .map(|m| m["quantity"].as_i64().unwrap_or_default())
            .sum::<i64>(),
        9
    );
}

#[test]
fn nothing_sticks_out_of_a_narrow_or_a_wide_window() {
    let demo = Demo::start();
    visit(async |page| {
        sign_in(&page, &demo, Who::Manager).await;
        matched(&page, &demo).await;
        let found = page.address().await;
        for width in [360, 1920] {
            page.widen(width).await;
            for path in [
                "/",
                &found,
                "/?cylinders=x&power_kw=y",
                "/receive",
                "/issue?part=iridium",
                "/scrap",
                "/catalogue?heat_from=80",
                "/compare",
                "/parts/new",
            ] {
                page.open(&format!("{}{path}", demo.url())).await;
                assert_eq!(
                    page.run("return window.innerWidth").await,
                    width,
                    "the window is as wide as asked"
                );
                let over = page
                    .run("return document.documentElement.scrollWidth - window.innerWidth")
                    .await;
                assert!(
                    over.as_i64().is_some_and(|over| over <= 0),
                    "{path} sticks out by {over} at {width}"
                );
                let low = "return [...document.querySelectorAll('button, .act, nav a, input:not([type=hidden], \
                           [type=checkbox], [type=radio]), select, summary, .box')].filter(e => e.offsetHeight > 0 && \
                           e.offsetHeight < 44).map(e => e.outerHTML)";
                assert_eq!(
                    page.run(low).await,
                    serde_json::json!([]),
                    "{path} has targets under 44 px"
                );
            }
        }
    });
}
