//! The counter in a browser, with a scanner that types fast and presses Enter, or the keyboard alone.

use plugwell_tests::Who;
use serde_json::Value;

use crate::browser::{Page, visit};
use crate::demo::Demo;
use crate::steps::sign_in;

/// Types as a scanner does, wherever the focus is: a key every two milliseconds, then Enter.
async fn scan(page: &Page, text: &str, enters: usize) {
    page.leave(async || page.scanned(text, enters).await).await;
    page.settled().await;
}

async fn open(page: &Page, demo: &Demo, path: &str) {
    page.open(&format!("{}{path}", demo.url())).await;
}

/// A part of the demo that lies in a bin: its barcode, plugs in a box, a bin's and its lot's label.
struct Stocked {
    id: String,
    gtin: String,
    pack: i64,
    name: String,
    bin: String,
    lot: String,
}

fn stocked(demo: &Demo) -> Stocked {
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let levels = demo.items("/v1/stock/levels?kind=bin&limit=200");
    for level in &levels {
        let plug = demo.one(&format!("/v1/plugs/{}", text(&level["plug_id"])));
        let enough = level["quantity"].as_i64().is_some_and(|plugs| plugs >= 6);
        let (Some(gtin), Some(pack)) = (plug["gtin"].as_str(), plug["pack_size"].as_i64()) else {
            continue;
        };
        if !enough {
            continue;
        }
        let bin = demo.one(&format!("/v1/stock/places/{}", text(&level["place_id"])));
        let lot = demo.one(&format!("/v1/stock/lots/{}", text(&level["lot_id"])));
        return Stocked {
            id: text(&plug["id"]),
            gtin: gtin.to_owned(),
            pack,
            name: format!("{} {}", text(&plug["maker"]), text(&plug["part_number"])),
            bin: text(&bin["code"]),
            lot: text(&lot["code"]),
        };
    }
    panic!("no part with barcode and boxes lies in a bin")
}

/// Plugs of a part in bins, asked from beside the browser.
fn in_bins(demo: &Demo, part: &str) -> i64 {
    let path = format!("/v1/stock/levels?kind=bin&plug_id={part}&limit=200");
    let asked = std::thread::scope(|scope| scope.spawn(|| demo.items(&path)).join());
    let levels = asked.expect("an answer");
    levels.iter().filter_map(|l| l["quantity"].as_i64()).sum()
}

#[test]
fn a_scanner_alone_receives_and_a_twin_enter_books_nothing() {
    let demo = Demo::start();
    let part = stocked(&demo);
    let before = in_bins(&demo, &part.id);
    visit(async |page| {
        sign_in(&page, &demo, Who::Clerk).await;
        scan(&page, "receive", 1).await;
        assert_eq!(page.all("h1").await, ["Receive plugs"]);
        // Every scan with two Enters: the second at worst shows the form once more.
        for text in [part.gtin.as_str(), &part.gtin, &part.bin] {
            scan(&page, text, 2).await;
        }
        let so_far = page.all(".so-far").await.join(" ");
        let plugs = 2 * part.pack;
        assert!(
            so_far.starts_with(&format!("{plugs} × {}", part.name)),
            "{so_far}"
        );
        assert_eq!(in_bins(&demo, &part.id), before, "nothing was booked");
        if page.value("supplier").await.is_empty() {
            page.fill("supplier", "Merrowby Factors").await;
            page.press("#line").await;
        }
        scan(&page, "ok", 2).await;
        // Either what was booked, or, by the second Enter, the form for the next box.
        assert_eq!(in_bins(&demo, &part.id), before + plugs, "booked once");
        open(&page, &demo, "/receive").await;
        assert!(
            page.all(".lately li").await[0].contains(&format!("Received {plugs} × {}", part.name))
        );
    });
}

#[test]
fn an_issue_by_keyboard_alone_is_undone_and_a_scrapped_plug_changes_the_shelf() {
    let demo = Demo::start();
    let part = stocked(&demo);
    let before = in_bins(&demo, &part.id);
    visit(async |page| {
        sign_in(&page, &demo, Who::Clerk).await;
        scan(&page, "issue", 1).await;
        for text in [part.lot.as_str(), "2", "J-4711"] {
            scan(&page, text, 1).await;
        }
        assert!(page.all(".understood").await[0].contains("New job J-4711."));
        // Enter in the empty line: a last look, with the button next; Enter again does it.
        scan(&page, "", 1).await;
        let next = page.run("return document.activeElement.innerText").await;
        assert_eq!(next, "Issue");
        assert_eq!(in_bins(&demo, &part.id), before);
        scan(&page, "", 1).await;
        assert_eq!(page.all(".done .big").await, [format!("2 × {}", part.name)]);
        assert_eq!(in_bins(&demo, &part.id), before - 2);
        page.follow(".lately li button").await;
        assert_eq!(page.all(".done .verb").await, ["Reversed"]);
        assert_eq!(in_bins(&demo, &part.id), before);
        scan(&page, "scrap", 1).await;
        for text in [part.lot.as_str(), &part.bin, "1", "dropped", "ok"] {
            scan(&page, text, 1).await;
        }
        assert_eq!(page.all(".done .verb").await, ["Scrapped for good"]);
        assert_eq!(in_bins(&demo, &part.id), before - 1);
        // It was the scanner's slip: a manager puts it right.
        page.follow(".leave button").await;
        sign_in(&page, &demo, Who::Manager).await;
        open(&page, &demo, "/movements?kind=scrapping").await;
        page.follow(".listing td a").await;
        page.fill("reason", "the wrong box was scanned").await;
        page.follow(".counter > button").await;
        assert_eq!(page.all(".done .verb").await, ["Reversed"]);
        assert_eq!(in_bins(&demo, &part.id), before);
    });
}

#[test]
fn a_bin_is_counted_on_a_phone_and_no_page_of_the_counter_sticks_out() {
    let demo = Demo::start();
    let part = stocked(&demo);
    visit(async |page| {
        sign_in(&page, &demo, Who::Manager).await;
        page.widen(360).await;
        scan(&page, "count", 1).await;
        scan(&page, &part.bin, 1).await;
        scan(&page, "ok", 1).await;
        let count = page.address().await;
        let lines = page.count(".entry input.number:not([name=lot_code])").await;
        assert!(lines > 1);
        scan(&page, &part.lot, 1).await;
        scan(&page, "3", 1).await;
        assert_eq!(
            page.all(".so-far").await,
            [format!("{}: 3 counted.", part.lot)]
        );
        // Typed by thumb: Enter saves the line, and the next one has the focus.
        page.press(".entry input.number").await;
        scan(&page, "1", 1).await;
        let is_next = "return document.activeElement.name === 'counted' && document.activeElement.value === ''";
        let is_done = page.count(".entry").await == 0;
        assert!(is_done || page.run(is_next).await == true);
        let paths = [
            count.as_str(),
            "/count",
            "/jobs",
            "/labels",
            "/move",
            "/movements",
            "/quarantine",
            "/reserve",
            "/return",
            "/incoming-check",
            "/barcodes/new?code=1",
        ];
        for width in [360, 1280] {
            page.widen(width).await;
            for path in paths {
                open(&page, &demo, path).await;
                let over = page
                    .run("return document.documentElement.scrollWidth - window.innerWidth")
                    .await;
                assert!(
                    over.as_i64().is_some_and(|over| over <= 0),
                    "{path} sticks out by {over} at {width}"
                );
                let ids = "const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
                    return ids.filter((id, at) => ids.indexOf(id) !== at)";
                assert_eq!(
                    page.run(ids).await,
                    serde_json::json!([]),
                    "{path}: every id once"
                );
                assert_eq!(page.count("h1").await, 1, "{path}");
            }
        }
    });
}
