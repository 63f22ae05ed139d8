//! Lists in pages: bounds, cursors, links, and that nothing is missed or shown twice while rows are
//! added.

use plugwell_tests::bodies::{plug, stored_plug, unique, with};
use plugwell_tests::{Answer, Shop, Who, shared};
use serde_json::{Value, json};

/// Every list, and who may see it.
const LISTS: &[(&str, Who)] = &[
    ("/v1/plugs", Who::Reader),
    ("/v1/heads", Who::Reader),
    ("/v1/builds", Who::Reader),
    ("/v1/heat-scales", Who::Reader),
    ("/v1/stock/places", Who::Reader),
    ("/v1/stock/lots", Who::Reader),
    ("/v1/stock/levels", Who::Reader),
    ("/v1/stock/movements", Who::Reader),
    ("/v1/stock/reservations", Who::Reader),
    ("/v1/tuning-days", Who::Reader),
    ("/v1/readings", Who::Reader),
    ("/v1/waiting-jobs", Who::Reader),
    ("/v1/tokens", Who::Manager),
];

/// Stores so many plugs of a new maker; maker and part numbers in the order they were stored.
fn stored(shop: &Shop, count: usize) -> (String, Vec<String>) {
    let maker = unique("Listed");
    let parts: Vec<String> = (0..count).map(|n| format!("P{n:03}")).collect();
    for part in &parts {
        stored_plug(shop, &with(plug(part), json!({ "maker": maker })));
    }
    (maker, parts)
}

fn parts(answer: &Answer) -> Vec<String> {
    answer
        .column("part_number")
        .iter()
        .map(|part| part.as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn every_list_has_the_same_bounds() {
    for shop in shared() {
        stored(shop, 2);
        for (path, who) in LISTS {
            let get = |query: &str| shop.get(*who, &format!("{path}{query}"));
            for query in ["", "?limit=1", "?limit=200"] {
                let answer = get(query).expect(200);
                assert!(
                    answer.json.get("next_cursor").is_some()
                        && answer.json.as_object().unwrap().len() == 2,
                    "{answer:?}"
                );
            }
            for (query, fault) in [
                ("?limit=0", "?limit out_of_range"),
                ("?limit=201", "?limit out_of_range"),
                ("?limit=-1", "?limit out_of_range"),
                ("?limit=many", "?limit wrong_form"),
                ("?limit=1.5", "?limit wrong_form"),
                ("?limit=", "?limit wrong_form"),
                ("?limit=1&limit=2", "?limit duplicate"),
                ("?cursor=nonsense", "?cursor wrong_form"),
                ("?cursor=", "?cursor wrong_form"),
            ] {
                get(query).refused_for(&[fault]);
            }
        }
    }
}

#[test]
fn a_page_has_fifty_items_where_nobody_says() {
    for shop in shared() {
        let (maker, all) = stored(shop, 53);
        let page = shop
            .get(Who::Reader, &format!("/v1/plugs?maker={maker}"))
            .expect(200);
        assert_eq!(parts(&page), all[..50]);
        let cursor = page.text("next_cursor");
        let rest = shop
            .get(
                Who::Reader,
                &format!("/v1/plugs?maker={maker}&cursor={cursor}"),
            )
            .expect(200);
        assert_eq!(
            (parts(&rest), &rest.json["next_cursor"], rest.header("link")),
            (all[50..].to_vec(), &Value::Null, None)
        );
    }
}

#[test]
fn links_lead_from_page_to_page() {
    for shop in shared() {
        let (maker, all) = stored(shop, 7);
        let mut seen = Vec::new();
        let mut path = format!("/v1/plugs?thread=14%20x%201,25&limit=3&maker={maker}");
        loop {
            let page = shop.get(Who::Reader, &path).expect(200);
            seen.extend(parts(&page));
            let Some(link) = page.header("link") else {
                assert_eq!(page.json["next_cursor"], Value::Null);
                break;
            };
            let target = link
                .strip_prefix('<')
                .and_then(|l| l.strip_suffix(">; rel=\"next\""))
                .unwrap_or_else(|| panic!("{link}"));
            assert!(target.contains(&page.text("next_cursor")), "{link}");
            path = target.to_owned();
        }
        assert_eq!(seen, all);
    }
}

#[test]
fn a_full_last_page_has_no_next() {
    for shop in shared() {
        let (maker, all) = stored(shop, 4);
        let page = shop
            .get(Who::Reader, &format!("/v1/plugs?maker={maker}&limit=4"))
            .expect(200);
        assert_eq!(
            (parts(&page), &page.json["next_cursor"], page.header("link")),
            (all, &Value::Null, None)
        );
    }
}

#[test]
fn a_cursor_goes_with_its_list_and_its_filters() {
    for shop in shared() {
        let (maker, all) = stored(shop, 3);
        let page = shop
            .get(
                Who::Reader,
                &format!("/v1/plugs?maker={maker}&seat=gasket&limit=1"),
            )
            .expect(200);
        let cursor = page.text("next_cursor");
        let get = |query: &str| shop.get(Who::Reader, &format!("{query}&cursor={cursor}"));
        let same = get(&format!("/v1/plugs?seat=gasket&limit=2&maker={maker}")).expect(200);
        assert_eq!(
            parts(&same),
            all[1..],
            "order of filters and limit may change"
        );
        for other in [
            format!("/v1/plugs?maker={maker}"),
            format!("/v1/plugs?maker={maker}&seat=conical"),
            format!("/v1/plugs?maker={maker}&seat=gasket&retired=true"),
            "/v1/plugs?seat=gasket".to_owned(),
            "/v1/heads?limit=1".to_owned(),
        ] {
            get(&other).refused_for(&["?cursor wrong_form"]);
        }
    }
}

#[test]
fn pages_stay_right_while_rows_are_added_and_removed() {
    for shop in shared() {
        let (maker, before) = stored(shop, 6);
        let page = |cursor: Option<&str>| {
            let cursor = cursor.map(|c| format!("&cursor={c}")).unwrap_or_default();
            shop.get(
                Who::Reader,
                &format!("/v1/plugs?maker={maker}&limit=2{cursor}"),
            )
            .expect(200)
        };
        let mut seen = Vec::new();
        let mut answer = page(None);
        let mut added = Vec::new();
        loop {
            seen.extend(parts(&answer));
            if added.len() < 5 {
                // Names that would sort before everything.
                let name = format!("A{:03}", added.len());
                stored_plug(shop, &with(plug(&name), json!({ "maker": maker })));
                added.push(name);
            }
            // The row that the cursor stands on goes.
            let last = answer.items().last().unwrap()["id"]
                .as_str()
                .unwrap()
                .to_owned();
            shop.delete(Who::Clerk, &format!("/v1/plugs/{last}"))
                .expect(204);
            match answer.json["next_cursor"].as_str().map(str::to_owned) {
                Some(cursor) => answer = page(Some(&cursor)),
                None => break,
            }
        }
        let once: std::collections::BTreeSet<_> = seen.iter().collect();
        assert_eq!(once.len(), seen.len(), "nothing twice: {seen:?}");
        assert!(
            before.iter().all(|part| seen.contains(part)),
            "nothing missed: {seen:?}"
        );
    }
}

#[test]
fn every_list_can_be_gone_through_item_by_item() {
    for shop in shared() {
        for n in 0..3 {
            let id = stored_plug(shop, &plug(&unique("STEP")));
            let place = plugwell_tests::bodies::bin(shop, &unique("step"));
            plugwell_tests::bodies::receive(shop, &id, &place, 4 + n);
            shop.once(
                Who::Tuner,
                "/v1/stock/reservations",
                &json!({ "plug_id": id, "quantity": 1, "job": unique("job") }),
            )
            .expect(201);
            shop.post(Who::Tuner, "/v1/heads", &plugwell_tests::bodies::head())
                .expect(201);
            let build = shop
                .post(Who::Tuner, "/v1/builds", &plugwell_tests::bodies::build())
                .expect(201)
                .text("id");
            let day = json!({
                "name": unique("day"), "build_id": build, "day": chrono::Utc::now().date_naive(), "pulls": 1,
                "reserve": false
            });
            shop.once(Who::Tuner, "/v1/tuning-days", &day).expect(201);
            let waits = json!({ "job": unique("wait"), "build_id": build });
            shop.post(Who::Tuner, "/v1/waiting-jobs", &waits)
                .expect(201);
            let reading = json!({ "build_id": build, "run": 1, "cylinder": 1, "speckles": "none" });
            shop.post(Who::Tuner, "/v1/readings", &reading).expect(201);
            shop.post(
                Who::Clerk,
                "/v1/heat-scales",
                &plugwell_tests::bodies::heat_scale(&unique("Step"), "a"),
            )
            .expect(201);
        }
        for (path, who) in LISTS {
            let mut seen = std::collections::BTreeSet::new();
            let mut cursor = String::new();
            for _ in 0..4 {
                let page = shop
                    .get(*who, &format!("{path}?limit=1{cursor}"))
                    .expect(200);
                assert_eq!(page.items().len(), 1, "{page:?}");
                assert!(
                    seen.insert(page.items()[0].to_string()),
                    "{path}: twice {page:?}"
                );
                let Some(next) = page.json["next_cursor"].as_str() else {
                    break;
                };
                cursor = format!("&cursor={next}");
            }
            assert!(seen.len() >= 3, "{path}: {seen:?}");
        }
    }
}
