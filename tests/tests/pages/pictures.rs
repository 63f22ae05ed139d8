//! Pictures on the pages: the match shows its spark, in a browser under the pages' own policy.

use plugwell_tests::Who;

use crate::browser::{Page, visit};
use crate::demo::Demo;
use crate::steps::{BUILD, matched, sign_in};

/// Width in pixels that the picture of a match has of its own; 0 where it did not load.
async fn own_width(page: &Page) -> i64 {
    // It loads when it is looked at.
    page.run("document.querySelector('.picture img').scrollIntoView()")
        .await;
    let script = "const img = document.querySelector('.picture img');
        return img.decode().then(() => img.naturalWidth, () => 0)";
    page.run(script).await.as_i64().unwrap_or_default()
}

#[test]
fn a_match_shows_its_spark_and_leads_to_the_fitting_card() {
    let demo = Demo::start();
    visit(async |page| {
        sign_in(&page, &demo, Who::Reader).await;
        matched(&page, &demo).await;
        assert_eq!(
            page.all(".result h2").await,
            [
                "What the plug must be",
                "On the shelf",
                "Nearly, but not",
                "Cautions",
                "The spark"
            ],
            "what decides comes first"
        );
        assert_eq!(own_width(&page).await, 540);
        for width in [360, 1280] {
            page.widen(width).await;
            let overflow = "return document.documentElement.scrollWidth > window.innerWidth";
            assert_eq!(page.run(overflow).await, false, "{width} px");
            own_width(&page).await;
            page.picture(&format!("spark_{width}")).await;
        }
        page.follow(".picture").await;
        let drawn = page
            .run("return document.querySelector('text.head').textContent")
            .await;
        assert_eq!(drawn, BUILD);
        let fill = "return getComputedStyle(document.querySelector('.band')).stroke";
        assert_eq!(
            page.run(fill).await,
            "none",
            "its own style holds under its policy"
        );

        matched(&page, &demo).await;
        let part = page.all(".fit h3").await[0].clone();
        page.follow(".take a[href*=fitting-card]").await;
        assert_eq!(page.all("h1").await, [BUILD]);
        assert_eq!(page.all("h2").await, [format!("9 × {part}")]);
        let columns = "return getComputedStyle(document.querySelector('.figures')).display";
        assert_eq!(
            page.run(columns).await,
            "grid",
            "its own style holds under its policy"
        );
    });
}

#[test]
fn a_build_by_hand_has_its_picture_and_a_wrong_one_none() {
    let demo = Demo::start();
    visit(async |page| {
        sign_in(&page, &demo, Who::Reader).await;
        matched(&page, &demo).await;
        // The form holds the build that was found: asking for it by hand is asking for the same.
        page.run("document.querySelector('.by-hand').open = true")
            .await;
        page.follow(".by-hand form > button").await;
        assert!(page.address().await.contains("induction="), "by hand");
        assert_eq!(own_width(&page).await, 540);
        assert_eq!(
            page.count(".take a[href*=fitting-card]").await,
            0,
            "only a stored build has a card"
        );
        for wrong in ["", "?build=7", "?cylinders=none"] {
            page.open(&format!("{}/spark.svg{wrong}", demo.url())).await;
            assert_eq!(page.all("h1").await, ["Not there"], "{wrong}");
        }
        page.open(&format!("{}/builds/7/fitting-card", demo.url()))
            .await;
        assert_eq!(page.all("h1").await, ["Not there"]);
        page.follow(".leave button").await;
        page.open(&format!("{}/spark.svg?build=7", demo.url()))
            .await;
        assert_eq!(page.all("h1").await, ["Sign in"]);
    });
}
