//! Reports: the overview, each report's page, and the same as a file, a picture and on paper.

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, issue, plug, receive, stored_plug};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::json;

use crate::visitor::Visitor;

/// A shop in which twenty plugs came, four went out to a job and two were dropped.
fn shop() -> (Shop, String) {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-610"));
    let place = bin(&shop, "A-1");
    receive(&shop, &part, &place, 20);
    let path = "/v1/stock/issues";
    shop.once(Who::Clerk, path, &issue(&part, "J-1", 4))
        .expect(201);
    let body = json!({ "plug_id": part, "place_id": place, "quantity": 2, "reason": "dropped" });
    shop.once(Who::Clerk, "/v1/stock/scrappings", &body)
        .expect(201);
    (shop, part)
}

#[test]
fn the_overview_has_a_figure_of_each_report() {
    let (shop, _) = shop();
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let overview = reader.get("/reports").expect(200);
    // Nine dollars a plug: two dropped, fourteen left, four used and two scrapped out of bins.
    for said in [
        "<b>2 plugs</b>",
        "18.00 USD",
        "<b>126.00 USD</b>",
        "14 plugs",
        "<b>6 plugs</b>",
        "nothing counted",
    ] {
        assert!(overview.html.contains(said), "{said}: {}", overview.html);
    }
}

#[test]
fn every_report_has_its_page_its_file_its_picture_and_its_sheet() {
    let (shop, part) = shop();
    let reader = Visitor::signed_in(&shop, Who::Reader);
    for (name, said) in [
        ("scrap", "Scrap by reason"),
        ("value", "FW-610"),
        ("usage", "6 plugs were used"),
        ("dead-stock", "0 parts lie dead"),
        ("stock-outs", "0 parts were out of stock"),
        ("turns", "Valued by FIFO"),
        ("count-accuracy", "Counts stand in the month"),
        ("lot-life?lot=L1", "The life of lot L1"),
    ] {
        let page = reader.get(&format!("/reports/{name}")).expect(200);
        assert!(page.html.contains(said), "{name}: {said}: {}", page.html);
        let (bare, query) = name.split_once('?').unwrap_or((name, ""));
        let file = reader
            .get(&format!("/reports/{bare}.csv?{query}"))
            .expect(200);
        assert!(
            file.header("content-type").starts_with("text/csv"),
            "{name}"
        );
        assert!(
            file.header("content-disposition").contains("attachment"),
            "{name}"
        );
        let sheet = reader
            .get(&format!("/reports/{bare}/print?{query}"))
            .expect(200);
        assert!(
            sheet.html.contains("<h1>") && !sheet.html.contains("<nav"),
            "{name}"
        );
        if page.html.contains("report-chart") {
            let chart = reader
                .get(&format!("/reports/{bare}/chart.svg?{query}"))
                .expect(200);
            assert_eq!(chart.header("content-type"), "image/svg+xml", "{name}");
        }
    }
    let by_part = reader.get("/reports/usage?by=part").expect(200);
    assert!(
        by_part.html.contains(&format!("/parts/{part}")),
        "{}",
        by_part.html
    );
    // The file is the API's own.
    let api = shop.send(
        "GET",
        "/v1/reports/value?from=2020-01-01",
        Who::Reader,
        &[("accept", "text/csv")],
        String::new(),
    );
    let own = reader.get("/reports/value.csv?from=2020-01-01").expect(200);
    assert_eq!(String::from_utf8_lossy(&api.expect(200).body), own.html);
    reader.get("/reports/weather").expect(404);
    reader.get("/reports/dead-stock/chart.svg").expect(404);
}

#[test]
fn a_period_that_is_none_is_named_and_kept() {
    let (shop, _) = shop();
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let script = "%3Cscript%3Ealert(1)%3C/script%3E";
    for (path, said) in [
        ("scrap?from=soon", "value=\"soon\""),
        (
            "scrap?from=2026-02-01&to=2026-01-01",
            "has to end after it begins",
        ),
        ("value?as_of=2026-01-01&from=2026-01-01", "not both"),
        ("usage?by=moon", "moon"),
        ("dead-stock?days=0", "outside 1 to 3650"),
        ("lot-life?lot=L999", "no lot has that code"),
        (&format!("lot-life?lot={script}"), "&#60;script&#62;"),
    ] {
        let page = reader.get(&format!("/reports/{path}")).expect(400);
        assert!(page.html.contains(said), "{path}: {said}: {}", page.html);
        assert!(!page.html.contains("<script>alert"), "{path}");
    }
    reader.get("/reports/scrap.csv?from=soon").expect(400);
    let begins = reader.get("/reports/lot-life").expect(200);
    assert!(!begins.html.contains("has to be filled in"));
    Visitor::nobody(&shop).get("/reports/scrap.csv").expect(401);
}

#[test]
fn a_column_is_called_by_what_its_lines_are() {
    let (shop, _) = shop();
    let reader = Visitor::signed_in(&shop, Who::Reader);
    for (name, heading) in [
        ("usage", "Month"),
        ("usage?by=week", "Week"),
        ("usage?by=job", "Job"),
        ("turns", "Month"),
        ("turns?by=part", "Part"),
    ] {
        let page = reader.get(&format!("/reports/{name}")).expect(200).html;
        let heading = format!("<th scope=\"col\">{heading}</th>");
        assert!(page.contains(&heading), "{name}: {page}");
        assert!(!page.contains(">Label<"), "{name}: {page}");
    }
    // The file keeps one name, whatever its lines are.
    let file = reader.get("/reports/usage.csv").expect(200);
    assert!(file.html.starts_with("key,label,"), "{}", file.html);
}
