//! The head in section with a plug laid in: where both stand on the paper, and what is told of it.

use plugwell_tests::bodies::{build, head, plug, stored_plug, unique, with};
use plugwell_tests::{Shop, Who, shared};
use roxmltree::Document;
use serde_json::{Value, json};
use uuid::Uuid;

use super::outlines::{RIGHT_TO, Read, desc, ends, pieces, written};
use super::pictures::{drawn, near, number};

fn over(changes: Value) -> Value {
    with(build(), json!({ "head": with(head(), changes) }))
}

fn part(shop: &Shop, changes: Value) -> String {
    stored_plug(shop, &with(plug(&unique("SEC")), changes))
}

fn posted(shop: &Shop, build: &Value, query: &str) -> String {
    drawn(shop.post(
        Who::Reader,
        &format!("/v1/requirements/section.svg{query}"),
        build,
    ))
}

#[test]
fn head_window_and_plug_stand_to_scale() {
    for shop in shared() {
        for (reach, tolerance, seat) in [
            (19.0, 0.3, "gasket"),
            (11.2, 0.5, "conical"),
            (26.5, 0.1, "gasket"),
        ] {
            let changes =
                json!({ "reach_mm": reach, "reach_tolerance_mm": tolerance, "seat": seat });
            let id = part(shop, json!({ "reach_mm": reach, "seat": seat }));
            let text = posted(shop, &over(changes), &format!("?plug_id={id}"));
            let picture = Document::parse(&text).expect("SVG");
            let read = Read::of(&picture);
            let right = |what: &str, got: f64, wanted: f64| near(what, got, wanted, RIGHT_TO);
            for side in pieces(&picture, "head", "cast") {
                right("chamber", ends(&read.points(&side)).1, reach);
            }
            let band = |piece: &str, class: &str| {
                let shapes = pieces(&picture, piece, class);
                assert_eq!(shapes.len(), 1, "{piece}");
                let from = number(&shapes[0], "y");
                let to = from + number(&shapes[0], "height");
                [read.along(from), read.along(to)]
            };
            let [from, to] = band("window", "hatched");
            right("window", from, reach + 2.0);
            right("window", to, reach + 4.0);
            let [from, to] = band("tolerance", "tolerance");
            near("tolerance", to - from, 2.0 * tolerance, 0.02);
            right("tolerance", from, reach - tolerance);
            let thread = pieces(&picture, "thread", "shape");
            right("plug", ends(&read.points(&thread[0])).1, reach);
            let tip = pieces(&picture, "centre", "shape");
            right("tip", ends(&read.points(&tip[0])).1, reach + 3.0);
            let room = pieces(&picture, "hex-room", "limit");
            let apart = number(&room[1], "x1") - number(&room[0], "x1");
            // As wide as the corners of the largest hexagon that enters.
            right("room", read.wide(apart), 16.0 * 2.0 / 3f64.sqrt());
        }
    }
}

#[test]
fn what_does_not_fit_is_seen_and_told_with_its_figure() {
    for shop in shared() {
        for (changes, label, figure, said) in [
            (
                json!({ "reach_mm": 20.7 }),
                "Too long",
                "1.7 mm",
                "1.7 mm too long: 1.7 mm of thread stands into the chamber",
            ),
            (
                json!({ "reach_mm": 12.7 }),
                "Too short",
                "6.3 mm",
                "6.3 mm of the head's thread is left bare and collects carbon",
            ),
            (
                json!({ "projection_mm": 1.5 }),
                "Shrouded",
                "0.5 mm",
                "Shrouded by 0.5 mm",
            ),
            (
                json!({ "projection_mm": 4.4, "strap_extent_mm": 6.6 }),
                "Beyond the window",
                "0.4 mm",
                "0.4 mm beyond the window",
            ),
        ] {
            let text = posted(
                shop,
                &over(json!({})),
                &format!("?plug_id={}", part(shop, changes)),
            );
            let picture = Document::parse(&text).expect("SVG");
            let key = written(&picture);
            assert!(key.contains(&format!("{label} {figure}")), "{key}");
            assert!(desc(&picture).contains(said), "{}", desc(&picture));
            assert!(text.contains(">!<"), "{key}");
            // The mark beside it is as long as it says.
            let mut marks = picture
                .descendants()
                .filter(|n| n.attribute("class") == Some("off"));
            let mark = marks.find(|n| n.attribute("data-to-mm").is_some());
            let mark = mark.unwrap_or_else(|| panic!("{label}"));
            let long = Read::of(&picture).along(number(&mark, "y2"))
                - Read::of(&picture).along(number(&mark, "y1"));
            let wanted: f64 = figure.trim_end_matches(" mm").parse().expect("mm");
            near(label, long, wanted, RIGHT_TO);
        }
        let fits = part(shop, json!({}));
        let text = posted(shop, &over(json!({})), &format!("?plug_id={fits}"));
        assert!(
            !text.contains(">!<") && !text.contains("Never fit"),
            "{text}"
        );
        for caution in [
            "Confirm reach, projection and clearance",
            "This is an estimate",
        ] {
            assert!(text.contains(caution), "{caution}");
        }
    }
}

#[test]
fn a_hexagon_that_does_not_enter_is_marked() {
    for shop in shared() {
        let large = part(shop, json!({ "hex_mm": 20.8 }));
        let text = posted(shop, &over(json!({})), &format!("?plug_id={large}"));
        let told = written(&Document::parse(&text).expect("SVG"));
        assert!(
            told.contains("Hexagon too large 4.8 mm (0.189 in)"),
            "{told}"
        );
        assert!(text.contains(">!<"), "{told}");
    }
}

#[test]
fn what_is_not_known_is_never_taken_for_fit() {
    for shop in shared() {
        let id = part(shop, json!({ "projection_mm": null }));
        let text = posted(shop, &over(json!({})), &format!("?plug_id={id}"));
        let picture = Document::parse(&text).expect("SVG");
        assert!(desc(&picture).contains("The plug's projection is not known"));
        assert!(written(&picture).contains("never taken for fit"));
        assert_eq!(pieces(&picture, "centre", "open").len(), 1);
        let open =
            json!({ "hex_max_mm": null, "projection_min_mm": null, "projection_max_mm": null });
        let text = posted(shop, &over(open), "?dimensions=true");
        let picture = Document::parse(&text).expect("SVG");
        for nothing in [
            ("window", "hatched"),
            ("hex-room", "limit"),
            ("thread", "shape"),
        ] {
            assert!(pieces(&picture, nothing.0, nothing.1).is_empty());
        }
        let key = written(&picture);
        for said in [
            "How large a hexagon the plug well takes is not known",
            "Between which projections the spark has to stand is not known",
            "No plug is laid in",
        ] {
            assert!(key.contains(said), "{said}: {key}");
        }
    }
}

#[test]
fn a_stored_build_has_the_same_section_with_dimensions_on_request() {
    for shop in shared() {
        let made = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
        let path = format!("/v1/builds/{}/section.svg", made.text("id"));
        let query = format!("?plug_id={}", part(shop, json!({})));
        let stored = shop.get(Who::Reader, &format!("{path}{query}")).expect(200);
        assert_eq!(posted(shop, &build(), &query).into_bytes(), stored.body);
        let tag = stored.etag();
        let known = [("if-none-match", tag.as_str())];
        shop.send("GET", &format!("{path}{query}"), Who::Reader, &known, "")
            .expect(304);
        let dimensioned = drawn(shop.get(Who::Reader, &format!("{path}{query}&dimensions=true")));
        let picture = Document::parse(&dimensioned).expect("SVG");
        let told = written(&picture);
        for figure in [
            "Reach 19 mm (0.748 in)",
            "Projection 3 mm (0.118 in)",
            "Window of the spark 2 to 4 mm",
        ] {
            assert!(told.contains(figure), "{figure}: {told}");
        }
        assert!(!String::from_utf8_lossy(&stored.body).contains(">Reach<"));
    }
}

#[test]
fn sections_refuse_what_they_cannot_read() {
    for shop in shared() {
        let path = "/v1/requirements/section.svg";
        let nobody = Uuid::now_v7();
        shop.post(Who::Reader, &format!("{path}?plug_id={nobody}"), &build())
            .refused_for(&["?plug_id not_found"]);
        shop.post(Who::Reader, &format!("{path}?plug_id=7&size=1"), &build())
            .refused_for(&["?plug_id wrong_form", "?size unknown_member"]);
        shop.post(
            Who::Reader,
            path,
            &with(build(), json!({ "colour": "red" })),
        )
        .refused_for(&["#/colour unknown_member"]);
        shop.get(
            Who::Reader,
            &format!("/v1/builds/{nobody}/section.svg?plug_id=7"),
        )
        .problem(404, "not_found");
        let made = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
        let own = format!(
            "/v1/builds/{}/section.svg?plug_id={nobody}",
            made.text("id")
        );
        shop.get(Who::Reader, &own)
            .refused_for(&["?plug_id not_found"]);
    }
}
