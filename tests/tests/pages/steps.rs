//! Steps that visits to the demo shop have in common.

use plugwell_tests::Who;

use crate::browser::Page;
use crate::demo::Demo;

/// A build of the demo shop, with a choice of parts that meet it.
pub const BUILD: &str = "Street V8, supercharger at 8 psi";

pub async fn sign_in(page: &Page, demo: &Demo, who: Who) {
    page.open(demo.url()).await;
    page.fill("token", demo.token(who)).await;
    page.follow("main button").await;
    assert_eq!(page.all("h1").await, ["Find plugs for a build"]);
}

pub async fn matched(page: &Page, demo: &Demo) {
    page.open(demo.url()).await;
    page.choose("build", BUILD).await;
    page.follow(".stored button").await;
    assert_eq!(page.all("h1").await, [BUILD]);
}

/// Describes a build by hand over a head of the list, and asks what fits it.
pub async fn described(page: &Page, demo: &Demo) {
    page.open(demo.url()).await;
    page.choose("head", "Harrowgate 5.4 V8, aluminium").await;
    page.fill("cylinders", "8").await;
    page.fill("power_kw", "700 hp").await;
    page.fill("boost_kpa", "8 psi").await;
    page.choose("induction", "supercharged").await;
    page.choose("use", "street").await;
    page.follow(".by-hand form > button").await;
}

/// The parts that the match shows, with what is available of each.
pub async fn fits(page: &Page) -> Vec<(String, i64)> {
    let (names, stock) = (page.all(".fit h3").await, page.all(".fit .stock b").await);
    assert_eq!(names.len(), stock.len());
    let count = |text: &String| {
        text.parse()
            .unwrap_or_else(|_| panic!("{text:?} is no count"))
    };
    names.into_iter().zip(stock.iter().map(count)).collect()
}

/// What a match offers of a part; nothing where there is no whole set of it any more.
pub async fn available(page: &Page, demo: &Demo, part: &str) -> Option<i64> {
    matched(page, demo).await;
    let fits = fits(page).await;
    let offered = fits.iter().find(|(name, _)| name == part);
    offered.map(|(_, available)| *available)
}

/// Presses the button that ends a form, and waits for what was booked.
pub async fn booked(page: &Page) -> String {
    page.follow(".counter > button").await;
    page.all(".done .big").await.join(" ")
}
