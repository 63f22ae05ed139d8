//! Plugs drawn to scale: millimetres read back from the paper are those of the record, what is not known is
//! named, and two lie over each other.

use plugwell_tests::bodies::{plug, stored_plug, unique, with};
use plugwell_tests::{Shop, Who, shared};
use roxmltree::{Document, Node};
use serde_json::{Value, json};
use uuid::Uuid;

use super::pictures::{Marks, SVG, classed, drawn, near, number, points};

/// What the pictures promise: they are right to a tenth of a millimetre.
pub(super) const RIGHT_TO: f64 = 0.1;

/// Reads a drawing back: its points in mm, by the ruler beside it.
pub(super) struct Read {
    seat: f64,
    axis: f64,
    scale: f64,
}

impl Read {
    pub(super) fn of(picture: &Document<'_>) -> Self {
        let along = Marks::of(picture, "data-mm", "y", 4.0);
        let seat = picture
            .descendants()
            .find(|n| n.attribute("data-axis").is_some())
            .expect("the seat's own line");
        // By the ruler's own marks, not by the line that is said to be the seat.
        let scale = 100.0 / (along.value(100.0) - along.value(0.0));
        let read = Self {
            seat: -along.value(0.0) * scale,
            axis: number(&seat, "data-axis"),
            scale,
        };
        near("seat", number(&seat, "y1"), read.seat, 0.1);
        read
    }

    /// Across and along of every point of a shape.
    pub(super) fn points(&self, shape: &Node<'_, '_>) -> Vec<(f64, f64)> {
        let placed = points(shape).into_iter();
        placed
            .map(|(x, y)| ((x - self.axis) / self.scale, self.along(y)))
            .collect()
    }

    /// A width on the paper.
    pub(super) fn wide(&self, units: f64) -> f64 {
        units / self.scale
    }

    pub(super) fn along(&self, y: f64) -> f64 {
        (y - self.seat) / self.scale
    }
}

/// The shapes of a piece that are drawn in a style.
pub(super) fn pieces<'a>(picture: &'a Document<'_>, piece: &str, class: &str) -> Vec<Node<'a, 'a>> {
    let own = classed(picture, class).into_iter();
    own.filter(|n| n.attribute("data-piece") == Some(piece))
        .collect()
}

pub(super) fn ends(points: &[(f64, f64)]) -> (f64, f64) {
    let along = || points.iter().map(|(_, along)| *along);
    (
        along().fold(f64::INFINITY, f64::min),
        along().fold(f64::NEG_INFINITY, f64::max),
    )
}

fn widest(points: &[(f64, f64)]) -> f64 {
    points.iter().map(|(x, _)| *x).fold(0.0, f64::max)
}

pub(super) fn desc<'a>(picture: &'a Document<'_>) -> &'a str {
    let told = picture
        .descendants()
        .find(|n| n.has_tag_name((SVG, "desc")));
    told.and_then(|n| n.text()).unwrap_or_default()
}

/// All that is written in a picture.
pub(super) fn written(picture: &Document<'_>) -> String {
    let texts = picture
        .descendants()
        .filter(|n| n.has_tag_name((SVG, "text")));
    texts.filter_map(|n| n.text()).collect::<Vec<_>>().join(" ")
}

fn record(changes: Value) -> Value {
    let heights = json!({ "overall_mm": 56.0, "insulator_mm": 28.0, "electrode": "nickel" });
    with(with(plug(&unique("OUT")), heights), changes)
}

fn outline(shop: &Shop, id: &str, query: &str) -> String {
    drawn(shop.get(Who::Reader, &format!("/v1/plugs/{id}/outline.svg{query}")))
}

/// The whole of what a record says, against what stands on the paper.
fn to_scale(shop: &Shop, major: f64, body: &Value) {
    let text = outline(shop, &stored_plug(shop, body), "");
    let picture = Document::parse(&text).expect("SVG");
    let read = Read::of(&picture);
    let figure = |name: &str| body[name].as_f64().unwrap_or_else(|| panic!("{name}"));
    let of = |piece: &str| {
        let shapes = pieces(&picture, piece, "shape");
        assert_eq!(shapes.len(), 1, "{piece} of {body}");
        read.points(&shapes[0])
    };
    let reach = figure("reach_mm");
    let right = |what: &str, got: f64, wanted: f64| near(what, got, wanted, RIGHT_TO);
    let thread = of("thread");
    right("seat", ends(&thread).0, 0.0);
    right("reach", ends(&thread).1, reach);
    // Up to the first crest a taper pipe thread has lost a twentieth of a millimetre.
    right("major diameter", 2.0 * widest(&thread), major);
    right("face", ends(&of("seat")).1, 0.0);
    let corners = figure("hex_mm") * 2.0 / 3f64.sqrt();
    right("corners", 2.0 * widest(&of("hexagon")), corners);
    let tip = ends(&of("centre")).1;
    right("tip", tip, reach + figure("projection_mm"));
    let strap = of("strap");
    right("strap", ends(&strap).1, reach + figure("strap_extent_mm"));
    let face = strap.iter().filter(|(x, _)| *x > 0.05);
    let face = face.map(|(_, along)| *along).fold(f64::INFINITY, f64::min);
    right("gap", face - tip, figure("gap_preset_mm"));
    right("overall", -ends(&of("terminal")).0, figure("overall_mm"));
    let (top, bottom) = ends(&of("insulator"));
    right("insulator", bottom - top, figure("insulator_mm"));
    assert!(!desc(&picture).contains("Not known"), "{}", desc(&picture));
}

#[test]
fn millimetres_on_the_paper_are_those_of_the_record() {
    let threads = [
        ("M8x1", 8.0),
        ("M10x1", 10.0),
        ("M12x1.25", 12.0),
        ("M14x1.25", 14.0),
        ("M18x1.5", 18.0),
        ("7/8-18 UNS", 22.225),
        // At the first crests, 1 in 16 less than the pipe's 21.336.
        ("1/2-14 NPT", 21.2),
    ];
    for shop in shared() {
        for (place, (thread, major)) in threads.into_iter().enumerate() {
            let seat = ["gasket", "conical"][place % 2];
            let body = json!({ "thread": thread, "seat": seat, "hex_mm": 20.8 });
            to_scale(shop, major, &record(body));
        }
        for (projection, extent) in [(-4.0, -1.6), (-1.0, 1.2), (0.0, 2.2), (5.0, 7.4)] {
            for reach in [9.5, 26.5] {
                let body = json!({
                    "projection_mm": projection, "strap_extent_mm": extent, "reach_mm": reach,
                    "hex_kind": "bi_hex", "terminal": "stud_m4"
                });
                to_scale(shop, 14.0, &record(body));
            }
        }
    }
}

#[test]
fn what_is_not_known_is_dashed_and_named() {
    for shop in shared() {
        let body = record(json!({ "reach_mm": null, "hex_mm": null }));
        let text = outline(shop, &stored_plug(shop, &body), "?dimensions=true");
        let picture = Document::parse(&text).expect("SVG");
        for piece in ["thread", "hexagon", "centre"] {
            assert_eq!(pieces(&picture, piece, "open").len(), 1, "{piece}");
        }
        assert!(pieces(&picture, "seat", "open").is_empty());
        let said = "reach 19 mm (0.748 in); hex 16 mm (0.630 in)";
        assert!(
            desc(&picture).contains(&format!("Not known and drawn as usual: {said}.")),
            "{}",
            desc(&picture)
        );
        let key = written(&picture);
        assert!(
            key.contains(&format!("not known, drawn as usual: {said}")),
            "{key}"
        );
        assert!(
            !key.contains("Reach"),
            "no dimension of what nobody knows: {key}"
        );
    }
}

#[test]
fn dimensions_stand_there_on_request_in_both_units() {
    for shop in shared() {
        let id = stored_plug(shop, &record(json!({})));
        let plain = outline(shop, &id, "");
        let plain = Document::parse(&plain).expect("SVG");
        let text = outline(shop, &id, "?dimensions=true");
        let picture = Document::parse(&text).expect("SVG");
        let (without, told) = (written(&plain), written(&picture));
        // 1 in = 25.4 mm exactly (NIST SP 811).
        for figure in [
            "Reach 19 mm (0.748 in)",
            "Hexagon, across flats 16 mm (0.630 in)",
            "Projection 3 mm (0.118 in)",
            "Strap extent 5.5 mm (0.217 in)",
            "Gap 0.8 mm (0.031 in)",
            "Overall height 56 mm (2.205 in)",
            "Insulator height 28 mm (1.102 in)",
        ] {
            assert!(told.contains(figure), "{figure}: {told}");
            assert!(!without.contains(figure), "{without}");
            let (name, rest) = figure.split_at(1);
            let said = format!("{}{rest}", name.to_lowercase());
            assert!(desc(&plain).contains(&said), "{said}: {}", desc(&plain));
        }
        // Each line beside the plug is as long as it says.
        let read = Read::of(&picture);
        let lines = picture
            .descendants()
            .filter(|n| n.attribute("data-to-mm").is_some());
        let mut count = 0;
        for line in lines {
            near(
                "from",
                read.along(number(&line, "y1")),
                number(&line, "data-from-mm"),
                0.02,
            );
            near(
                "to",
                read.along(number(&line, "y2")),
                number(&line, "data-to-mm"),
                0.02,
            );
            count += 1;
        }
        assert_eq!(count, 5);
        let set = outline(shop, &id, "?gap_mm=0.7&dimensions=true");
        let set = Document::parse(&set).expect("SVG");
        let told = written(&set);
        assert!(
            told.contains("Gap 0.7 mm (0.028 in)") && told.contains("Strap extent 5.4 mm"),
            "{told}"
        );
    }
}

#[test]
fn two_plugs_lie_over_each_other_and_both_are_named() {
    for shop in shared() {
        let (own, over) = (
            record(json!({})),
            record(json!({ "reach_mm": 26.5, "overall_mm": null, "seat": "conical" })),
        );
        let ids = [&own, &over].map(|body| stored_plug(shop, body));
        let text = outline(shop, &ids[0], &format!("?over={}", ids[1]));
        let picture = Document::parse(&text).expect("SVG");
        let read = Read::of(&picture);
        for (class, reach) in [("shape", 19.0), ("other", 26.5)] {
            let thread = pieces(&picture, "thread", class);
            near(class, ends(&read.points(&thread[0])).1, reach, RIGHT_TO);
        }
        // Told apart by their strokes, and named.
        assert!(text.contains("stroke-dasharray: 9 2.5 1.5 2.5"));
        let key = written(&picture);
        let name = |body: &Value| format!("Ferrowick {}", body["part_number"].as_str().unwrap());
        for said in [
            &format!("over it: {}", name(&over)),
            &name(&own),
            "Reach: 19 mm, over it 26.5 mm (+7.5).",
            "Seat: gasket, over it conical.",
            "not known of the one over it, drawn as usual: overall height",
        ] {
            assert!(key.contains(said), "{said}: {key}");
        }
        assert!(desc(&picture).contains(&format!("Laid over it: {}", name(&over))));
    }
}

#[test]
fn an_outline_is_kept_until_its_record_changes() {
    for shop in shared() {
        let id = stored_plug(shop, &record(json!({})));
        let path = format!("/v1/plugs/{id}/outline.svg");
        let first = shop.get(Who::Reader, &path).expect(200);
        let again = |tag: &str| shop.send("GET", &path, Who::Reader, &[("if-none-match", tag)], "");
        assert!(again(&first.etag()).expect(304).body.is_empty());
        let own = format!("/v1/plugs/{id}");
        shop.patch(Who::Clerk, &own, &json!({ "reach_mm": 12.7 }))
            .expect(200);
        assert_ne!(again(&first.etag()).expect(200).etag(), first.etag());
    }
}

#[test]
fn outlines_refuse_what_they_cannot_read() {
    for shop in shared() {
        let id = stored_plug(shop, &record(json!({})));
        let asked =
            |query: &str| shop.get(Who::Reader, &format!("/v1/plugs/{id}/outline.svg{query}"));
        asked("?over=7&dimensions=yes&gap_mm=wide&colour=red").refused_for(&[
            "?colour unknown_member",
            "?dimensions wrong_form",
            "?gap_mm wrong_form",
            "?over wrong_form",
        ]);
        for (gap, code) in [
            ("3", "out_of_range"),
            ("nan", "out_of_range"),
            ("0.70001", "too_fine"),
        ] {
            asked(&format!("?gap_mm={gap}")).refused_for(&[&format!("?gap_mm {code}")]);
        }
        let nobody = Uuid::now_v7();
        asked(&format!("?over={nobody}")).refused_for(&["?over not_found"]);
        shop.get(
            Who::Reader,
            &format!("/v1/plugs/{nobody}/outline.svg?gap_mm=9"),
        )
        .problem(404, "not_found");
        shop.get(Who::Reader, "/v1/plugs/seven/outline.svg")
            .refused_for(&["/id wrong_form"]);
    }
}

#[test]
fn a_record_of_far_ends_is_drawn_and_its_words_are_only_words() {
    for shop in shared() {
        let body = with(
            plug(&unique("</desc><script>&\"")),
            json!({ "maker": "<b>'", "thread": null, "reach_mm": 60, "overall_mm": 20, "insulator_mm": 150,
                "projection_mm": -5, "strap_extent_mm": 20, "hex_mm": 30, "ground": null }),
        );
        let text = outline(shop, &stored_plug(shop, &body), "?dimensions=true");
        let picture = Document::parse(&text).expect("SVG");
        assert!(
            !picture
                .descendants()
                .any(|n| n.has_tag_name((SVG, "script")))
        );
        assert!(desc(&picture).contains("leaves no room for shell, insulator and terminal"));
        let bare = json!({ "maker": unique("Bare"), "part_number": "B" });
        let text = outline(shop, &stored_plug(shop, &bare), "");
        assert!(text.contains("not known, drawn as usual"), "{text}");
    }
}
