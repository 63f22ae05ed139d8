//! Labels: bars in whole dots with their quiet zones, read back by an independent reader at every size
//! and resolution; words that say what a hand needs to see and stay on the paper.

use plugwell::drawing::label as drawing;
use plugwell::service::labels::Label;
use plugwell_tests::bodies::{bin, plug, receipt, stored_plug, unique, with};
use plugwell_tests::{Answer, Shop, Who, shared};
use roxmltree::Document;
use serde_json::json;
use uuid::Uuid;

use crate::reader::{Drawn, seen};

const SIZES: [(&str, f64, f64); 3] = [
    ("62x29", 62.0, 29.0),
    ("57x32", 57.0, 32.0),
    ("50x25", 50.0, 25.0),
];
const SVG: &str = "http://www.w3.org/2000/svg";
/// The longest codes that there can be, and texts of which it is known outside how they read: the second
/// to the fourth by hand with weights modulo 103 (set B, check symbols 55, 97 and 85), the others read back
/// from another encoder's symbols.
const OTHER_CODES: [&str; 6] = [
    "L999999999",
    "PJJ123C",
    "SP-M14-0042",
    "RACK 7/B",
    "123456",
    "00017042",
];
/// Modules of a quiet zone (ISO/IEC 15417).
const QUIET: f64 = 10.0;

fn picture(answer: Answer) -> String {
    let answer = answer.expect(200);
    assert_eq!(answer.header("content-type"), Some("image/svg+xml"));
    String::from_utf8(answer.body).expect("UTF-8")
}

fn label(shop: &Shop, kind: &str, id: &str, size: &str, dpi: u32) -> String {
    picture(shop.get(
        Who::Reader,
        &format!("/v1/labels/{kind}/{id}.svg?size={size}&dpi={dpi}"),
    ))
}

/// The words of a class, each with where it stands and how large.
fn words(picture: &Document<'_>, class: &str) -> Vec<String> {
    let texts = picture
        .descendants()
        .filter(|n| n.attribute("class") == Some(class));
    texts.filter_map(|n| n.text()).map(str::to_owned).collect()
}

fn number(node: &roxmltree::Node<'_, '_>, name: &str) -> f64 {
    let text = node.attribute(name);
    text.and_then(|t| t.parse().ok())
        .unwrap_or_else(|| panic!("{name} of {node:?}"))
}

/// Checks the bars of a label and gives what a reader is shown.
fn measured(svg: String, (width, height): (f64, f64), dpi: u32) -> Drawn {
    let picture = Document::parse(&svg).expect("SVG");
    let root = picture.root_element();
    assert_eq!(root.tag_name().namespace(), Some(SVG));
    assert_eq!(root.attribute("width"), Some(&*format!("{width}mm")));
    assert_eq!(root.attribute("height"), Some(&*format!("{height}mm")));
    let view: Vec<f64> = root
        .attribute("viewBox")
        .expect("a viewBox")
        .split(' ')
        .map(|n| n.parse().expect("a number"))
        .collect();
    let per_mm = f64::from(dpi) / 25.4;
    assert!(
        (view[2] - width * per_mm).abs() < 1e-3,
        "a unit is a dot: {view:?}"
    );
    assert!((view[3] - height * per_mm).abs() < 1e-3, "{view:?}");
    let bars: Vec<_> = picture
        .descendants()
        .filter(|n| n.attribute("class") == Some("bar"))
        .collect();
    let spans: Vec<(f64, f64)> = bars
        .iter()
        .map(|n| (number(n, "x"), number(n, "width")))
        .collect();
    let narrow = spans.iter().map(|s| s.1).fold(f64::MAX, f64::min);
    assert!(
        narrow >= 0.2 * per_mm,
        "a module is at least 0.2 mm: {narrow} dots"
    );
    let (first, last) = (spans[0], spans[spans.len() - 1]);
    for (x, wide) in &spans {
        assert_eq!((x.fract(), wide.fract()), (0.0, 0.0), "whole dots");
        assert_eq!(
            ((x - first.0) % narrow, wide % narrow),
            (0.0, 0.0),
            "whole modules of {narrow}"
        );
    }
    // Quiet zones within the label, on both sides.
    assert!(
        first.0 >= QUIET * narrow && last.0 + last.1 + QUIET * narrow <= view[2],
        "{spans:?} in {view:?}"
    );
    let (top, tall) = (number(&bars[0], "y"), number(&bars[0], "height"));
    assert!(
        tall >= 0.149 * view[2],
        "as high as a hand reader wants: {tall}"
    );
    words_are_clear(&picture, per_mm, (top, tall));
    Drawn {
        dots: (view[2], view[3]),
        through_bars: top + (tall / 2.0).floor(),
        edge: per_mm * 0.9,
        svg,
    }
}

/// All words stand between the edges and none in the bars.
fn words_are_clear(picture: &Document<'_>, per_mm: f64, (top, tall): (f64, f64)) {
    let view = picture
        .root_element()
        .attribute("viewBox")
        .expect("a viewBox");
    let height: f64 = view
        .rsplit(' ')
        .next()
        .and_then(|n| n.parse().ok())
        .expect("a height");
    for text in picture
        .descendants()
        .filter(|n| n.has_tag_name((SVG, "text")))
    {
        let (y, size) = (number(&text, "y"), number(&text, "font-size"));
        assert!(size >= 1.49 * per_mm, "legible: {size}");
        assert!(
            y - size * 0.8 > 0.0 && y + size * 0.25 < height,
            "{y} {size}"
        );
        let below = text.attribute("class") == Some("code");
        assert!(
            if below {
                y - size * 0.8 >= top + tall - 1.0
            } else {
                y <= top
            },
            "{y} {size} {top}"
        );
    }
}

/// A lot; its id and code.
fn lot(shop: &Shop, over: serde_json::Value, received: serde_json::Value) -> (String, String) {
    let part = stored_plug(shop, &with(plug(&unique("FW")), over));
    let place = bin(shop, &unique("drawer"));
    let body = with(receipt(&part, &place, 8), received);
    let made = shop
        .once(Who::Clerk, "/v1/stock/receipts", &body)
        .expect(201);
    let lot = &made.json["lots"][0];
    let text = |member: &str| lot[member].as_str().expect("a text").to_owned();
    (text("id"), text("code"))
}

#[test]
fn every_label_is_read_back() {
    for shop in shared() {
        let long =
            "Ferrowick Extraordinary Ignition Works of Upper Quayside & Sons, wide WWWW MMMM";
        let mut things = vec![
            ("lots", lot(shop, json!({}), json!({}))),
            (
                "lots",
                lot(
                    shop,
                    json!({ "maker": long, "part_number": unique(&"W".repeat(70)), "thread": "7/8-18 UNS", "reach_mm": 17.9832, "heat_index": 60.5, "hex_mm": 20.8 }),
                    json!({ "condition": "gapped", "gap_mm": 0.8128 }),
                ),
            ),
        ];
        for name in [
            "A-1",
            "Top shelf, third drawer from the left, behind the cold ones",
        ] {
            let id = bin(shop, &unique(name));
            let code = shop
                .get(Who::Reader, &format!("/v1/stock/places/{id}"))
                .expect(200)
                .text("code");
            things.push(("places", (id, code)));
        }
        for dpi in [203, 300] {
            let (mut drawn, mut codes) = (Vec::new(), Vec::new());
            for (size, width, height) in SIZES {
                for (kind, (id, code)) in &things {
                    let svg = label(shop, kind, id, size, dpi);
                    drawn.push(measured(svg, (width, height), dpi));
                    codes.push(code.clone());
                }
                for code in OTHER_CODES {
                    let drawn_by_hand = Label {
                        code: code.to_owned(),
                        name: "Spare".into(),
                        lines: vec!["bin".into()],
                    };
                    let (size, dpi_word) = (
                        size.parse().expect("a size"),
                        dpi.to_string().parse().expect("dots"),
                    );
                    let svg = drawing::label(&drawn_by_hand, size, dpi_word).expect("a label");
                    drawn.push(measured(svg, (width, height), dpi));
                    codes.push(code.to_owned());
                }
            }
            let Some(seen) = seen(&drawn) else { return };
            assert_eq!(seen.len(), codes.len());
            for (seen, code) in seen.iter().zip(&codes) {
                assert_eq!(seen.bars.len(), 1, "{code}: {seen:?}");
                assert_eq!(seen.bars[0].0, *code);
                assert!(
                    seen.bars[0]
                        .1
                        .replace([' ', '_', '-'], "")
                        .to_lowercase()
                        .contains("code128"),
                    "{seen:?}"
                );
                assert_eq!(seen.grey, 0, "every edge of a bar lies between two dots");
                assert_eq!(seen.spilt, 0, "{code}: nothing runs to the edge");
            }
        }
    }
}

#[test]
fn a_lot_says_what_a_hand_needs_to_see() {
    for shop in shared() {
        let told = |over, received| {
            let (id, code) = lot(shop, over, received);
            let svg = label(shop, "lots", &id, "62x29", 203);
            let picture = Document::parse(&svg).expect("SVG");
            assert_eq!(words(&picture, "code"), [code]);
            words(&picture, "line")
        };
        assert_eq!(
            told(json!({}), json!({})),
            [
                "Ferrowick",
                "M14x1.25 · reach 19 mm · heat 70",
                "with resistor, 5 kΩ"
            ]
        );
        let gapped = json!({ "condition": "gapped", "gap_mm": 0.8 });
        let bare = json!({ "resistor": false, "resistance_ohm": null, "heat_index": null });
        assert_eq!(
            told(bare, gapped)[1..],
            [
                "M14x1.25 · reach 19 mm · heat unknown",
                "without resistor · gapped to 0.8 mm"
            ]
        );
        let assumed = json!({ "resistor": true, "resistance_ohm": null, "provenance": { "reach_mm": "assumed", "resistor": "assumed" } });
        assert_eq!(
            told(assumed, json!({}))[1..],
            ["M14x1.25 · reach unknown · heat 70", "resistor unknown"],
            "what is only assumed is not known"
        );
    }
}

#[test]
fn the_scan_line_takes_what_a_label_says() {
    for shop in shared() {
        let (id, code) = lot(shop, json!({}), json!({}));
        let found = shop.all(
            Who::Reader,
            &format!("/v1/stock/lots?code={}", code.to_lowercase()),
        );
        assert_eq!((found.len(), &found[0]["id"]), (1, &json!(id)));
        let place = bin(shop, &unique("scan"));
        let code = shop
            .get(Who::Reader, &format!("/v1/stock/places/{place}"))
            .expect(200)
            .text("code");
        let found = shop.all(Who::Reader, &format!("/v1/stock/places?code={code}"));
        assert_eq!((found.len(), &found[0]["id"]), (1, &json!(place)));
    }
}

#[test]
fn a_sheet_has_a_page_for_each_label_or_a_grid_of_them() {
    for shop in shared() {
        let (one, _) = lot(shop, json!({ "part_number": unique("<b>&") }), json!({}));
        let place = bin(shop, &unique("sheet"));
        for (size, page, pages, dots) in [
            ("62x29", "62mm 29mm", 30, 203.0),
            ("57x32", "57mm 32mm", 30, 203.0),
            ("50x25", "50mm 25mm", 30, 203.0),
            ("A4", "210mm 297mm", 2, 300.0),
            ("letter", "215.9mm 279.4mm", 2, 300.0),
        ] {
            let lots = format!("lots={one}&").repeat(29);
            let answer = shop
                .get(
                    Who::Reader,
                    &format!("/v1/labels/sheet?{lots}places={place}&size={size}"),
                )
                .expect(200);
            assert_eq!(
                answer.header("content-type"),
                Some("text/html; charset=utf-8")
            );
            let policy = answer.header("content-security-policy").expect("a policy");
            assert!(
                policy.contains("style-src 'sha256-") && !policy.contains("unsafe"),
                "{policy}"
            );
            let html = String::from_utf8(answer.body).expect("UTF-8");
            let class = format!("@page s{}", size.to_lowercase());
            let rule = html
                .split(&*class)
                .nth(1)
                .and_then(|rest| rest.split('}').next());
            assert!(
                rule.is_some_and(|rule| rule.contains(page)),
                "{size}: {rule:?}"
            );
            assert!(html.contains(&format!("<main class=\"s{}\">", size.to_lowercase())));
            assert_eq!(html.matches("<section>").count(), pages, "{size}");
            assert_eq!(html.matches("<svg").count(), 30, "{size}");
            assert!(!html.contains("<b>&"), "names are escaped");
            let first = html
                .find("viewBox=\"0 0 ")
                .map(|at| &html[at + 13..at + 20])
                .expect("a label");
            let width: f64 = first
                .split(' ')
                .next()
                .and_then(|n| n.parse().ok())
                .expect("a number");
            let mm = if size.len() == 5 {
                size[..2].parse().unwrap_or(62.0)
            } else {
                62.0
            };
            assert!((width - mm / 25.4 * dots).abs() < 0.01, "{size}: {width}");
        }
    }
}

#[test]
fn what_is_asked_wrong_is_refused() {
    for shop in shared() {
        let nobody = Uuid::now_v7();
        let place = bin(shop, &unique("wrong"));
        let get = |path: &str| shop.get(Who::Reader, path);
        get(&format!("/v1/labels/lots/{nobody}.svg?size=1x1")).problem(404, "not_found");
        get(&format!("/v1/labels/places/{nobody}.svg")).problem(404, "not_found");
        get(&format!("/v1/labels/places/{place}")).problem(404, "not_found");
        get("/v1/labels/places/7.svg").refused_for(&["/id wrong_form"]);
        get(&format!(
            "/v1/labels/places/{place}.svg?size=1x1&dpi=72&colour=red"
        ))
        .refused_for(&[
            "?size not_in_list",
            "?dpi not_in_list",
            "?colour unknown_member",
        ]);
        get("/v1/labels/sheet").refused_for(&["?lots missing"]);
        get("/v1/labels/sheet?lots=7&size=a5")
            .refused_for(&["?lots wrong_form", "?size not_in_list"]);
        get(&format!(
            "/v1/labels/sheet?lots={nobody}&places={place}&places={nobody}"
        ))
        .refused_for(&["?lots not_found", "?places not_found"]);
        let many = format!("places={place}&").repeat(201);
        get(&format!("/v1/labels/sheet?{many}size=a4")).refused_for(&["?lots out_of_range"]);
        let drawn = get(&format!("/v1/labels/places/{place}.svg")).expect(200);
        let known = [("if-none-match", drawn.header("etag").expect("a tag"))];
        shop.send(
            "GET",
            &format!("/v1/labels/places/{place}.svg"),
            Who::Reader,
            &known,
            "",
        )
        .expect(304);
    }
}
