//! A tuner matches a build and issues a set; a clerk receives and scraps; the match tells the truth.

use plugwell_tests::bodies::{bin, build, issue, plug, receive, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use plugwell_tests::call::Who;
use serde_json::json;

use crate::browser::{Page, visit};

/// A shop with one build and one part that meets it, twenty of them on the shelf.
fn stocked() -> Shop {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &with(plug("FW-9001"), json!({ "heat_index": 70 })));
    let shelf = bin(&shop, "Rack A shelf 1");
    receive(&shop, &part, &shelf, 20);
    shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    shop
}

async fn sign_in(page: &Page, shop: &Shop, who: Who) {
    page.open(shop.url()).await;
    page.fill("token", shop.token(who).expect("a token")).await;
    page.press("main button").await;
}

/// What the match shows as available, by row.
async fn available(page: &Page, shop: &Shop) -> Vec<String> {
    page.open(shop.url()).await;
    page.choose("build", "Heron, blown").await;
    page.press(".pick button").await;
    page.all("tbody td:nth-of-type(4)").await
}

#[test]
fn a_set_is_found_issued_received_and_scrapped() {
    let shop = stocked();
    visit(async |page| {
        sign_in(&page, &shop, Who::Clerk).await;
        assert_eq!(available(&page, &shop).await, ["20"]);
        let text = page.text().await;
        for said in ["What the plug must be", "M14x1.25", "0.81 mm", "Cautions", "head's maker"] {
            assert!(text.contains(said), "{said} is missing from {text}");
        }
        page.picture("match").await;

        page.press("tbody a.act").await;
        page.fill("job", "J-4001").await;
        page.press("main form button").await;
        assert_eq!(page.all(".done").await, ["9 × Ferrowick FW-9001 issued to J-4001."]);
        assert_eq!(available(&page, &shop).await, ["11"]);

        page.open(&format!("{}/scrap", shop.url())).await;
        page.fill("part", "fw 9001").await;
        page.fill("quantity", "2").await;
        page.choose("place_id", "Rack A shelf 1").await;
        page.choose("reason", "dropped").await;
        page.fill("note", "<script>document.title='taken'</script>").await;
        page.press("main form button").await;
        assert_eq!(page.all(".done").await, ["2 × Ferrowick FW-9001 scrapped for good."]);
        assert_eq!(available(&page, &shop).await, ["9"]);

        page.open(&format!("{}/receive", shop.url())).await;
        page.fill("part", "FW-9001").await;
        page.fill("quantity", "8").await;
        page.choose("place_id", "Rack A shelf 1").await;
        page.fill("supplier", "Quayside Parts").await;
        page.press("main form button").await;
        assert_eq!(page.all(".done").await, ["8 × Ferrowick FW-9001 received."]);
        assert_eq!(available(&page, &shop).await, ["17"]);

        page.press(".leave button").await;
        assert!(page.text().await.contains("Sign in"));
    });
    // The browser saw what the ledger says.
    let levels = shop.get(Who::Reader, "/v1/stock/levels?kind=scrap").expect(200);
    assert!(levels.items().iter().all(|level| level["quantity"] == 2));
}

#[test]
fn what_is_wrong_stands_by_the_field_and_what_was_typed_stays() {
    let shop = stocked();
    visit(async |page| {
        sign_in(&page, &shop, Who::Clerk).await;
        page.open(&format!("{}/issue", shop.url())).await;
        page.fill("part", "FW-9001").await;
        page.fill("quantity", "many").await;
        page.fill("job", "<b>J-1</b>").await;
        page.press("main form button").await;
        assert_eq!(page.all("#quantity-fault").await, ["\"many\" is no whole number"]);
        assert!(!page.text().await.contains("issued"), "nothing was done");
        page.fill("quantity", "900").await;
        page.press("main form button").await;
        assert_eq!(page.all("#quantity-fault").await, ["there are 20 to be had, 20 of the part in bins"]);
        page.fill("quantity", "4").await;
        page.press("main form button").await;
        // The job's name is shown as it was typed: as text.
        assert_eq!(page.all(".done").await, ["4 × Ferrowick FW-9001 issued to <b>J-1</b>."]);
    });
}

#[test]
fn a_role_that_is_too_small_is_told_so() {
    let shop = stocked();
    let part = shop.get(Who::Reader, "/v1/plugs").expect(200).items()[0]["id"].clone();
    shop.once(Who::Tuner, "/v1/stock/issues", &issue(part.as_str().expect("an id"), "J-1", 4)).expect(201);
    visit(async |page| {
        sign_in(&page, &shop, Who::Tuner).await;
        page.open(&format!("{}/receive", shop.url())).await;
        assert!(page.text().await.contains("This takes the role clerk"));
        page.open(&format!("{}/scrap", shop.url())).await;
        page.fill("part", "FW-9001").await;
        page.fill("quantity", "1").await;
        page.choose("place_id", "Rack A shelf 1").await;
        page.choose("reason", "dropped").await;
        page.press("main form button").await;
        assert!(page.text().await.contains("a tuner scraps from a job"));
    });
}
