//! The picture of heat scales side by side: codes at their index, rows of ladders.

use std::collections::BTreeMap;

use plugwell_tests::bodies::{heat_scale, unique};
use plugwell_tests::{Who, shared};
use roxmltree::{Document, Node};
use serde_json::json;

use crate::pictures::{Marks, SVG, classed, drawn, number};

/// Where each code of a scale is drawn: the index that its rung stands at.
fn rungs(scale: &Node<'_, '_>, index: &Marks) -> BTreeMap<String, f64> {
    let rungs = scale
        .children()
        .filter(|n| n.attribute("class") == Some("rung"));
    let codes = scale
        .children()
        .filter(|n| n.attribute("class").is_some_and(|c| c.contains("code")));
    let read = rungs.zip(codes).map(|(rung, code)| {
        let whole = code.descendants().find(|n| n.has_tag_name((SVG, "title")));
        let said = whole.and_then(|n| n.text()).unwrap_or_default();
        let (code, _) = said.rsplit_once(" at ").expect("code at index");
        (code.to_owned(), index.value(number(&rung, "y1")))
    });
    read.collect()
}

#[test]
fn codes_stand_at_their_index_and_apart_from_each_other() {
    for shop in shared() {
        let maker = unique("Ladderworks");
        let near = json!([
            { "code": "cold", "heat_index": 90.4 }, { "code": "nearly", "heat_index": 90.2 },
            { "code": "as good", "heat_index": 90 }, { "code": "hot", "heat_index": 20 }
        ]);
        let body = json!({ "maker": maker, "name": "close", "codes": near });
        shop.post(Who::Clerk, "/v1/heat-scales", &body).expect(201);
        let other = heat_scale(&maker, "numbers");
        shop.post(Who::Clerk, "/v1/heat-scales", &other).expect(201);
        let path = format!("/v1/heat-scales/chart.svg?maker={}", maker.to_uppercase());
        let text = drawn(shop.get(Who::Reader, &path));
        let picture = Document::parse(&text).expect("SVG");
        let index = Marks::of(&picture, "data-index", "y", 4.0);
        let scales = classed(&picture, "scale");
        assert_eq!(scales.len(), 2, "only this maker's, whatever the case");
        for (scale, body) in scales.iter().zip([&body, &other]) {
            let drawn = rungs(scale, &index);
            for code in body["codes"].as_array().expect("codes") {
                let wanted = code["heat_index"].as_f64().expect("an index");
                let got = drawn[code["code"].as_str().expect("a code")];
                assert!((got - wanted).abs() < 0.02, "{code}: {got}");
            }
            let mut heights: Vec<f64> = classed(&picture, "code")
                .iter()
                .filter(|n| n.parent() == Some(*scale))
                .map(|n| number(n, "y"))
                .collect();
            heights.sort_by(f64::total_cmp);
            let closest = heights.windows(2).map(|pair| pair[1] - pair[0]);
            assert!(closest.fold(f64::INFINITY, f64::min) >= 12.0, "{heights:?}");
        }
        let colder = index.value(0.0) > index.value(100.0);
        assert!(colder && text.contains("colder ↑") && text.contains("hotter ↓"));
    }
}

/// Each row has an index of its own, and every code stands at its own height beside it.
#[test]
fn many_scales_stand_in_rows() {
    for shop in shared() {
        let maker = unique("Rowworks");
        for place in 0..10 {
            let scale = heat_scale(&maker, &format!("scale {place}"));
            shop.post(Who::Clerk, "/v1/heat-scales", &scale).expect(201);
        }
        let path = format!("/v1/heat-scales/chart.svg?maker={maker}");
        let text = drawn(shop.get(Who::Reader, &path));
        let picture = Document::parse(&text).expect("SVG");
        assert_eq!(picture.root_element().attribute("class"), Some("fitting"));
        let starts = classed(&picture, "strong")
            .into_iter()
            .filter(|n| n.text() == Some("colder ↑"));
        let starts: Vec<f64> = starts.map(|n| number(&n, "y")).collect();
        assert_eq!(starts.len(), 2, "eight to a row");
        let rungs: Vec<Vec<f64>> = classed(&picture, "scale")
            .iter()
            .map(|scale| {
                let own = scale.children();
                let own = own.filter(|n| n.attribute("class") == Some("rung"));
                own.map(|n| number(&n, "y1") - starts[0]).collect()
            })
            .collect();
        assert_eq!(rungs.len(), 10);
        assert_eq!(rungs[0], rungs[7], "the same index for the whole row");
        let below = starts[1] - starts[0];
        for (first, second) in rungs[0].iter().zip(&rungs[8]) {
            assert!((second - first - below).abs() < 0.02, "the same in each");
        }
    }
}
