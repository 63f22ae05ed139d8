//! A set from the shelf into a job, in a browser: found for a build, kept, and issued from what was kept.

use plugwell_tests::Who;
use serde_json::Value;

use crate::browser::{Page, visit};
use crate::demo::Demo;
use crate::steps::{booked, described, fits, sign_in};

/// What is available and what lies in bins of the part whose button leads there, as the match shows it.
async fn shown(page: &Page, part: &str) -> Option<(i64, i64)> {
    let names = page.all(".fit h3").await;
    let at = names.iter().position(|name| name == part)?;
    let stock = page.all(".fit .stock").await[at].clone();
    let mut figures = stock
        .split_whitespace()
        .filter_map(|word| word.parse().ok());
    let available = figures.next().expect("what is available");
    Some((available, figures.next().unwrap_or(available)))
}

/// Presses the button of a part that the match shows.
async fn press_of(page: &Page, part: &str, to: &str) {
    let mark = format!(
        "for (const fit of document.querySelectorAll('.fit')) \
         if (fit.querySelector('h3').innerText.trim() === {part:?}) \
         fit.querySelector('.take a[href^=\"{to}\"]').id = 'pressed'"
    );
    page.run(&mark).await;
    page.follow("#pressed").await;
}

#[test]
fn a_tuner_keeps_a_set_for_a_job_and_issues_what_was_kept() {
    let demo = Demo::start();
    let mut told = None;
    visit(async |page| {
        sign_in(&page, &demo, Who::Tuner).await;
        described(&page, &demo).await;
        let found = page.address().await;
        let plenty = fits(&page).await;
        // So many that a whole set is left when one is gone.
        let (part, before) = plenty
            .iter()
            .find(|(_, there)| *there >= 18)
            .unwrap_or_else(|| panic!("two sets of one part: {plenty:?}"))
            .clone();
        let (_, lay) = shown(&page, &part).await.expect("it is shown");
        press_of(&page, &part, "/reserve").await;
        assert_eq!(page.all(".card h2").await, std::slice::from_ref(&part));
        let set: i64 = page.value("quantity").await.parse().expect("a number");
        page.fill("job", "J-6100").await;
        page.follow(".counter > button").await;
        assert_eq!(page.all("h1").await, ["Job J-6100"]);
        let kept = page.all(".kept li").await.join(" ");
        assert!(kept.starts_with(&format!("{set} × {part}")), "{kept}");

        // What is kept lies there still, but nobody else is offered it.
        page.open(&format!("{}{found}", demo.url())).await;
        let left = Some((before - set, lay));
        assert_eq!(shown(&page, &part).await, left, "kept");

        page.back_to(".kept a.act").await;
        page.follow(".kept a.act").await;
        assert_eq!(page.value("job").await, "J-6100");
        assert_eq!(page.value("quantity").await, set.to_string());
        assert!(
            !page.value("reservation_id").await.is_empty(),
            "from what is kept"
        );
        assert_eq!(booked(&page).await, format!("{set} × {part}"));
        page.open(&format!("{}{found}", demo.url())).await;
        let gone = Some((before - set, lay - set));
        assert_eq!(shown(&page, &part).await, gone, "issued");
        told = Some((part, lay, set));
    });
    // There may be no browser, as was said on the terminal.
    let Some((part, lay, set)) = told else { return };
    let moved = demo.items("/v1/stock/movements?kind=issue&job=J-6100");
    let sum =
        |moved: &[Value]| -> i64 { moved.iter().filter_map(|m| m["quantity"].as_i64()).sum() };
    assert_eq!(sum(&moved), set);
    let kept = demo.items("/v1/stock/reservations?job=J-6100");
    assert_eq!(kept.len(), 1);
    assert_eq!(
        (&kept[0]["state"], &kept[0]["issued_quantity"]),
        (&"issued".into(), &set.into())
    );
    let id = moved[0]["plug_id"].as_str().expect("an id");
    let levels = demo.items(&format!("/v1/stock/levels?kind=bin&plug_id={id}"));
    assert_eq!(sum(&levels), lay - set, "{part}");
}
