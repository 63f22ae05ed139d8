//! The fitting card on paper: one page, also where there is much to say.

use plugwell_tests::bodies::{bin, build, head, plug, receive, stored_plug, with, without};
use plugwell_tests::{Engine, Shop, Who};
use serde_json::json;

use crate::browser::printed;

/// Width and height of each page of a PDF, in points. Its objects are not packed where chromium writes it.
fn pages(pdf: &[u8]) -> Vec<(f64, f64)> {
    let text = String::from_utf8_lossy(pdf);
    let boxes = text.split("/MediaBox [").skip(1);
    boxes
        .map(|rest| {
            let numbers: Vec<f64> = rest
                .split(']')
                .next()
                .expect("an end")
                .split_whitespace()
                .map(|n| n.parse().expect("a number"))
                .collect();
            (numbers[2], numbers[3])
        })
        .collect()
}

/// One page of this size: a point is 1/72 in, 25.4 mm.
fn is_one_page(html: &str, (width_mm, height_mm): (f64, f64)) {
    let Some(pdf) = printed(html) else { return };
    let printed = pages(&pdf);
    assert_eq!(printed.len(), 1, "{printed:?}");
    let points = |mm: f64| mm / 25.4 * 72.0;
    let (width, height) = printed[0];
    // The printer rounds to whole pixels.
    assert!(
        (width - points(width_mm)).abs() < 1.0 && (height - points(height_mm)).abs() < 1.0,
        "{printed:?}"
    );
}

/// A5 is 148 × 210 mm (ISO 216), half a letter sheet 5.5 × 8.5 in.
const PAPERS: [(&str, (f64, f64)); 2] = [("a5", (148.0, 210.0)), ("half_letter", (139.7, 215.9))];

fn card(shop: &Shop, build_id: &str, query: &str) -> String {
    let path = format!("/v1/builds/{build_id}/fitting-card?{query}");
    let html = shop.send("GET", &path, Who::Reader, &[("accept", "text/html")], "");
    String::from_utf8(html.expect(200).body).expect("UTF-8")
}

#[test]
fn an_ordinary_card_is_one_page_of_either_paper() {
    let shop = Shop::start(Engine::Sqlite);
    let id = shop
        .post(Who::Tuner, "/v1/builds", &build())
        .expect(201)
        .text("id");
    let part = stored_plug(&shop, &plug("FW-3207"));
    receive(&shop, &part, &bin(&shop, "Rack A shelf 1"), 12);
    for (paper, size) in PAPERS {
        is_one_page(&card(&shop, &id, &format!("paper={paper}")), size);
    }
}

/// Between the ordinary and the fullest card the letters grow smaller: no step of that runs over.
#[test]
fn a_card_between_is_one_page_as_well() {
    let shop = Shop::start(Engine::Sqlite);
    for (place, (name, maker, lots)) in [
        (20, 20, 6),
        (80, 12, 3),
        (40, 40, 6),
        (80, 60, 2),
        (60, 80, 5),
    ]
    .into_iter()
    .enumerate()
    {
        let words = |stem: &str, length: usize| {
            format!("{stem}{place} {}", "word ".repeat(20))[..length]
                .trim()
                .to_owned()
        };
        let asked = with(
            without(build(), &["electronics"]),
            json!({ "name": words("Build", name), "fuel": "e85", "heat_steps": 2 + place,
                "head": without(head(), &["projection_min_mm", "projection_max_mm"]) }),
        );
        let id = shop
            .post(Who::Tuner, "/v1/builds", &asked)
            .expect(201)
            .text("id");
        let own = json!({ "maker": words("Maker", maker), "heat_index": 70 + 10 * place });
        let part = stored_plug(&shop, &with(plug("FW-1"), own));
        for rack in 0..lots {
            let rack = bin(&shop, &words(&format!("Rack {rack}-"), 14));
            receive(&shop, &part, &rack, 2);
        }
        for (paper, size) in PAPERS {
            is_one_page(
                &card(&shop, &id, &format!("plug_id={part}&paper={paper}")),
                size,
            );
        }
    }
}

#[test]
fn a_card_with_much_to_say_is_still_one_page() {
    let shop = Shop::start(Engine::Sqlite);
    let long = |stem: &str| {
        format!("{stem} {}", "of many long words ".repeat(5))[..80]
            .trim()
            .to_owned()
    };
    let open_head = with(
        without(head(), &["projection_min_mm", "projection_max_mm"]),
        json!({ "name": long("Head"), "terminal": "solid_nut" }),
    );
    // Unknown electronics and window, alcohol, nitrous, a weak coil, a cap, slips of unit.
    let body = with(
        without(
            build(),
            &["electronics", "charge_temp_c", "altitude_m", "stroke_mm"],
        ),
        json!({ "name": long("Build"), "head": open_head, "cylinders": 16, "plugs_per_cylinder": 3, "spares": 52,
            "induction": "nitrous", "fuel": "methanol", "boost_kpa": 150, "power_kw": 1300, "coil_kv": 30 }),
    );
    let id = shop
        .post(Who::Tuner, "/v1/builds", &body)
        .expect(201)
        .text("id");
    let successor = stored_plug(&shop, &plug("FW-2"));
    let known = without(
        plug("FW-1"),
        &["gap_preset_mm", "gap_min_mm", "gap_max_mm", "terminal"],
    );
    let part = stored_plug(
        &shop,
        &with(
            known,
            json!({ "maker": long("Maker"), "part_number": long("Part"), "heat_index": 80,
            "status": "discontinued", "superseded_by": successor }),
        ),
    );
    for rack in 0..12 {
        let rack = bin(&shop, &long(&format!("Rack {rack}")));
        receive(&shop, &part, &rack, 8);
    }
    for (paper, size) in PAPERS {
        let html = card(&shop, &id, &format!("plug_id={part}&paper={paper}"));
        for said in [
            "and of 6 more lots",
            "4 of 100 are not there",
            "nobody has confirmed",
            "Nitrous".to_lowercase().as_str(),
        ] {
            assert!(html.contains(said), "{said} in {html}");
        }
        is_one_page(&html, size);
        // What is too long is two pages, so that the test would see it.
        if let Some(pdf) =
            printed(&html.replace("</main>", &format!("{}</main>", "<p>more</p>".repeat(60))))
        {
            assert!(pages(&pdf).len() > 1);
        }
    }
}
