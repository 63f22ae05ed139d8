//! The workshop in a browser: a second opinion, an unmarked plug, and a plug that is too long.

use plugwell_tests::Who;

use crate::browser::visit;
use crate::demo::Demo;
use crate::steps::{BUILD, sign_in};

#[test]
fn a_tuner_asks_for_a_second_opinion_and_names_a_plug() {
    let demo = Demo::start();
    let plugs = demo.items("/v1/plugs?limit=200");
    let builds = demo.items("/v1/builds?limit=200");
    let build = builds
        .iter()
        .find(|build| build["name"] == BUILD)
        .expect("the demo's build");
    visit(async |page| {
        sign_in(&page, &demo, Who::Tuner).await;
        page.open(&format!("{}/check", demo.url())).await;
        assert_eq!(page.run("return document.activeElement.id").await, "line");
        page.choose("build", BUILD).await;
        let long = plugs
            .iter()
            .find(|plug| plug["reach_mm"].as_f64() > Some(25.0) && plug["thread"] == "M14x1.25")
            .expect("a long plug");
        let number = long["part_number"].as_str().expect("a number");
        page.fill("in_part", number).await;
        page.press("input[value=misfire_under_load]").await;
        page.follow(".asked > button").await;
        let found = page.all(".finding h3").await.join("\n");
        assert!(
            found.contains("Stop") && found.contains("Wrong reach"),
            "{found}"
        );
        assert_eq!(page.value("in_part").await, number, "what was told stays");
        let drawn = page
            .run("return document.querySelector('.picture img').naturalWidth > 0")
            .await;
        assert_eq!(drawn, true, "the plug lies in the head");
        page.picture("second-opinion").await;
        let id = build["id"].as_str().expect("an id");
        let plug = long["id"].as_str().expect("an id");
        page.open(&format!(
            "{}/builds/{id}/section.svg?plug_id={plug}",
            demo.url()
        ))
        .await;
        let said = page
            .run("return document.documentElement.textContent")
            .await;
        let said = said.as_str().unwrap_or_default();
        assert!(said.contains("too long"), "{said}");

        page.open(&format!("{}/name", demo.url())).await;
        page.fill("major_diameter_mm", "13.9").await;
        page.fill("pitch_mm", "1.25").await;
        page.fill("reach_mm", "19").await;
        page.follow(".asked > button").await;
        let next = page.all(".next-up").await.join(" ");
        assert!(next.contains("Measure next"), "{next}");
        let focused = page.run("return document.activeElement.name").await;
        let focused = focused.as_str().unwrap_or_default().to_owned();
        assert!(
            !focused.is_empty() && focused != "scan",
            "one goes on at the next measurement: {focused}"
        );
        assert!(!page.all(".fit h3 a").await.is_empty());
        page.picture("unmarked-plug").await;
    });
}
