//! A shop with a decimal comma and a clock of its own: what the domain says in sentences and what is printed
//! is read in its way, and what programs read stays as it is.

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, build, plug, receive, stored_plug};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::{Value, json};

use crate::visitor::Visitor;

/// A shop's people read with a comma, and by the clock of a zone.
fn reads(shop: &Shop, zone: &str) {
    let mut policy = shop.get(Who::Manager, "/v1/policy").expect(200).json;
    policy["values"]["decimal_mark"]["value"] = "comma".into();
    policy["values"]["time_zone"]["value"] = zone.into();
    shop.put(Who::Manager, "/v1/policy", &policy).expect(200);
}

/// A shop that reads so, with twenty plugs of a part on its shelf.
fn shop(zone: &str) -> (Shop, String) {
    let shop = Shop::start(Engine::Sqlite);
    reads(&shop, zone);
    let part = stored_plug(&shop, &plug("FW-7.5-A"));
    receive(&shop, &part, &bin(&shop, "A-1"), 20);
    (shop, part)
}

/// Every sentence below a member of these names that has a number with a point in it.
fn sentences(value: &Value, names: &[&str], found: &mut Vec<String>) {
    match value {
        Value::Array(items) => items.iter().for_each(|item| sentences(item, names, found)),
        Value::Object(members) => {
            for (name, member) in members {
                match member.as_str() {
                    // Designations of threads keep their points: a sentence with one is left out.
                    Some(text)
                        if names.contains(&name.as_str())
                            && with_comma(text) != text
                            && !text.contains("x1.") =>
                    {
                        found.push(text.to_owned());
                    }
                    _ => sentences(member, names, found),
                }
            }
        }
        _ => {}
    }
}

/// A sentence with a comma in the place of each point between digits.
fn with_comma(text: &str) -> String {
    let signs: Vec<char> = text.chars().collect();
    let is_digit = |at: Option<usize>| {
        at.and_then(|at| signs.get(at))
            .is_some_and(char::is_ascii_digit)
    };
    let read = signs.iter().enumerate().map(|(at, sign)| {
        let parts = is_digit(at.checked_sub(1)) && is_digit(Some(at + 1));
        if *sign == '.' && parts { ',' } else { *sign }
    });
    read.collect()
}

/// A text as it stands in HTML.
fn escaped(text: &str) -> String {
    text.replace('\'', "&#39;").replace('"', "&#34;")
}

#[test]
fn reasons_of_a_match_have_the_shops_comma() {
    let (shop, _) = shop("Europe/Berlin");
    let stored = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    let id = stored.text("id");
    let asked = json!({ "build_id": id, "limit": 20 });
    let matched = shop.post(Who::Reader, "/v1/matches", &asked).expect(200);
    let mut said = Vec::new();
    let demands = &matched.json["requirement"]["demands"];
    sentences(demands, &["reason"], &mut said);
    assert!(said.len() >= 2, "reasons with numbers: {demands}");
    let page = Visitor::signed_in(&shop, Who::Reader)
        .get(&format!("/?build={id}"))
        .expect(200);
    for text in said {
        let read = escaped(&with_comma(&text));
        assert!(page.html.contains(&read), "{read} in {}", page.html);
        assert!(!page.html.contains(&escaped(&text)), "{text}");
    }
    for kept in ["M14x1.25", "FW-7.5-A"] {
        assert!(page.html.contains(kept), "{kept} in {}", page.html);
    }
}

#[test]
fn the_arithmetic_of_what_to_order_has_the_shops_comma() {
    let shop = Shop::start_demo(Engine::Sqlite);
    reads(&shop, "Europe/Berlin");
    let proposed = shop.get(Who::Reader, "/v1/reorder").expect(200);
    let mut said = Vec::new();
    for line in proposed.items() {
        said.extend(line["text"].as_str().map(str::to_owned));
    }
    said.retain(|text| with_comma(text) != *text);
    assert!(said.len() >= 3, "arithmetic: {}", proposed.json);
    let page = Visitor::signed_in(&shop, Who::Clerk)
        .get("/reorder")
        .expect(200);
    for text in said {
        let read = escaped(&with_comma(&text));
        assert!(page.html.contains(&read), "{read} in {}", page.html);
    }
}

#[test]
fn what_is_given_for_a_part_has_the_shops_comma() {
    let (shop, part) = shop("Europe/Berlin");
    let path = format!("/v1/plugs/{part}/reordering");
    let given = json!({ "service_level": 0.97, "lead_time_days": 7.5 });
    shop.patch(Who::Clerk, &path, &given).expect(200);
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let shown = reader.get(&format!("/parts/{part}")).expect(200);
    assert!(
        shown.html.contains("7,5 days") && shown.html.contains("0,97"),
        "{}",
        shown.html
    );
}

#[test]
fn a_report_on_paper_is_read_in_the_shops_way_and_its_file_is_not() {
    // India has no summer time: five hours and a half ahead all year (IANA time zone database).
    let (shop, _) = shop("Asia/Kolkata");
    let lot = shop.all(Who::Reader, "/v1/stock/lots")[0].clone();
    let came = lot["received_at"].as_str().expect("an instant");
    let came: chrono::DateTime<chrono::Utc> = came.parse().expect("RFC 3339");
    let there = (came + chrono::TimeDelta::minutes(330)).format("%Y-%m-%d %H:%M");
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let sheet = reader.get("/reports/lot-life/print?lot=L1").expect(200);
    for read in [
        there.to_string(),
        "times are Asia/Kolkata".into(),
        "180,00 USD".into(),
    ] {
        assert!(sheet.html.contains(&read), "{read} in {}", sheet.html);
    }
    let value = reader.get("/reports/value/print").expect(200);
    assert!(value.html.contains("180,00") && !value.html.contains("180.00"));
    let page = reader.get("/reports/value").expect(200);
    assert!(page.html.contains("180,00") && !page.html.contains("180.00"));
    let file = reader.get("/reports/lot-life.csv?lot=L1").expect(200);
    let day = came.format("%Y-%m-%dT%H:%M").to_string();
    assert!(file.html.contains(&day), "{day} in {}", file.html);
    let file = reader.get("/reports/value.csv").expect(200);
    assert!(file.html.contains("180.00") && !file.html.contains("180,00"));
    let id = lot["id"].as_str().expect("an id");
    let life = shop
        .get(Who::Reader, &format!("/v1/stock/lots/{id}/life"))
        .expect(200);
    assert!(life.json.to_string().contains(&day), "programs read UTC");
}

#[test]
fn pictures_of_pages_have_the_shops_comma_and_those_of_programs_have_not() {
    let (shop, part) = shop("Europe/Berlin");
    let stored = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    let (id, reader) = (stored.text("id"), Visitor::signed_in(&shop, Who::Reader));
    let bins = shop.all(Who::Reader, "/v1/stock/places?kind=bin");
    let dropped =
        json!({ "plug_id": part, "place_id": bins[0]["id"], "quantity": 1, "reason": "dropped" });
    shop.once(Who::Clerk, "/v1/stock/scrappings", &dropped)
        .expect(201);
    let outline = format!("/plugs/{part}/outline.svg?dimensions=true");
    let section = format!("/builds/{id}/section.svg?plug_id={part}&dimensions=true");
    let scrap = "/reports/scrap/chart.svg".to_owned();
    let spark = (
        format!("/spark.svg?build={id}"),
        format!("/v1/builds/{id}/spark.svg"),
    );
    let same = |path: String| (path.clone(), format!("/v1{path}"));
    for ((page, program), said) in [
        (spark, "0.2"),
        (same(outline), "(0.748 in)"),
        (same(section), "± 0.3 mm"),
        (same(scrap), "9.00 USD"),
    ] {
        let drawn = texts(&reader.get(&page).expect(200).html);
        let has = |said: &str| drawn.iter().any(|text| text.contains(said));
        assert!(has(&with_comma(said)) && !has(said), "{page}: {drawn:?}");
        let told = shop.get(Who::Reader, &program).expect(200).body;
        let told = texts(&String::from_utf8(told).expect("UTF-8"));
        let point = told.iter().any(|text| text.contains(said));
        assert!(point, "{said} in {program}: {told:?}");
    }
}

/// Every text that stands in a picture.
fn texts(svg: &str) -> Vec<String> {
    let parsed = roxmltree::Document::parse(svg).expect("XML");
    let said = parsed.descendants().filter(|node| {
        let is_style = |own: roxmltree::Node<'_, '_>| own.has_tag_name("style");
        node.is_text() && !node.parent().is_some_and(is_style)
    });
    said.filter_map(|node| node.text().map(str::to_owned))
        .collect()
}
