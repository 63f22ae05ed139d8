//! The counter in a browser that runs no script: whatever a script does better works without one.

use plugwell_tests::Who;

use crate::browser::{Page, visit};
use crate::demo::Demo;
use crate::steps::{booked, described, fits, sign_in};

/// What the pages' own script adds to every page of somebody who is signed in.
const BY_SCRIPT: &str = "dialog[role=alertdialog]";

/// What a match that stands at an address offers of a part.
async fn offered(page: &Page, demo: &Demo, found: &str, part: &str) -> Option<i64> {
    page.open(&format!("{}{found}", demo.url())).await;
    let fits = fits(page).await;
    let own = fits.iter().find(|(name, _)| name == part);
    own.map(|(_, available)| *available)
}

/// Receives twelve plugs of a part whose number is typed.
async fn receive(page: &Page, demo: &Demo, part: &str) {
    page.open(&format!("{}/receive", demo.url())).await;
    page.fill("part", part.rsplit(' ').next().expect("a number"))
        .await;
    page.follow(".look button").await;
    assert_eq!(page.all(".card h2").await, [part]);
    page.fill("quantity", "12").await;
    page.fill("place", "Rack A shelf 1").await;
    page.fill("supplier", "Merrowby Factors").await;
    assert_eq!(booked(page).await, format!("12 × {part}"));
}

/// Scraps one plug of it that was dropped.
async fn scrap(page: &Page, demo: &Demo, part: &str) {
    page.open(&format!("{}/scrap", demo.url())).await;
    page.fill("part", part.rsplit(' ').next().expect("a number"))
        .await;
    page.follow(".look button").await;
    page.choose("reason", "dropped").await;
    page.fill("quantity", "1").await;
    page.fill("place", "Rack A shelf 1").await;
    assert_eq!(booked(page).await, format!("1 × {part}"));
    let text = page.text().await;
    assert!(text.contains("Scrapped for good"), "{text}");
}

#[test]
fn a_clerk_does_a_days_work_without_a_script() {
    let demo = Demo::start();
    visit(async |page| {
        sign_in(&page, &demo, Who::Clerk).await;
        assert_eq!(page.count(BY_SCRIPT).await, 1, "with a script it is there");
        page.follow(".leave button").await;
        page.without_script().await;
        sign_in(&page, &demo, Who::Clerk).await;
        assert_eq!(page.count(BY_SCRIPT).await, 0, "no script runs");

        described(&page, &demo).await;
        assert_eq!(page.count(BY_SCRIPT).await, 0, "nor on the next page");
        let found = page.address().await;
        let (part, before) = fits(&page).await[0].clone();
        receive(&page, &demo, &part).await;
        let more = offered(&page, &demo, &found, &part).await;
        assert_eq!(more, Some(before + 12));

        page.open(&format!("{}/issue", demo.url())).await;
        page.fill("part", part.rsplit(' ').next().expect("a number"))
            .await;
        page.follow(".look button").await;
        page.fill("quantity", "9").await;
        page.fill("job", "J-6200").await;
        assert_eq!(booked(&page).await, format!("9 × {part}"));
        scrap(&page, &demo, &part).await;
        let less = offered(&page, &demo, &found, &part).await;
        assert_eq!(less, Some(before + 2));

        // What was done last stands below, the latest first; of it the scrapping stays.
        page.open(&format!("{}/issue", demo.url())).await;
        let done = page.all(".lately li").await;
        assert!(
            done[0].starts_with(&format!("Scrapped for good 1 × {part}")),
            "{done:?}"
        );
        assert!(done[0].contains("a manager can reverse it"), "{done:?}");
        assert!(done[1].contains("to J-6200"), "{done:?}");
        page.follow(".lately form button").await;
        assert_eq!(page.all(".done .verb").await, ["Reversed"]);
        let again = offered(&page, &demo, &found, &part).await;
        assert_eq!(again, Some(before + 11));
    });
}
