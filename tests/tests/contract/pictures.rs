//! Pictures: numbers read back from what is drawn agree with the JSON, whatever users type is escaped, and
//! every picture is sound SVG.

use plugwell_tests::bodies::{build, heat_scale, unique, with, without};
use plugwell_tests::{Answer, Shop, Who, engines, shared};
use roxmltree::{Document, Node};
use serde_json::{Value, json};
use uuid::Uuid;

/// Half a hundredth of a unit of the drawing, as it stands on the axes of these pictures.
const ROUNDING_KV: f64 = 0.002;
const ROUNDING_MM: f64 = 0.0001;

/// A picture as text, its form and its alternatives in words checked.
#[track_caller]
pub(super) fn drawn(answer: Answer) -> String {
    let answer = answer.expect(200);
    assert_eq!(answer.header("content-type"), Some("image/svg+xml"));
    let policy = answer
        .header("content-security-policy")
        .expect("a policy")
        .to_owned();
    assert!(
        policy.contains("style-src 'sha256-") && !policy.contains("unsafe"),
        "{policy}"
    );
    let text = String::from_utf8(answer.body).expect("UTF-8");
    let picture = Document::parse(&text).unwrap_or_else(|e| panic!("{e}: {text}"));
    let root = picture.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    for name in ["title", "desc"] {
        let said = root.children().find(|n| n.has_tag_name((SVG, name)));
        let said = said.and_then(|n| n.text()).unwrap_or_default();
        assert!(said.len() > 10, "{name}: {said:?}");
    }
    let style = root.children().find(|n| n.has_tag_name((SVG, "style")));
    let style = style.and_then(|n| n.text()).unwrap_or_default();
    for needed in ["prefers-color-scheme: dark", "@media print"] {
        assert!(style.contains(needed), "{needed}");
    }
    text
}

pub(super) const SVG: &str = "http://www.w3.org/2000/svg";

pub(super) fn number(node: &Node<'_, '_>, name: &str) -> f64 {
    let text = node.attribute(name);
    text.and_then(|t| t.parse().ok())
        .unwrap_or_else(|| panic!("{name} of {node:?}"))
}

pub(super) fn classed<'a>(picture: &'a Document<'_>, class: &str) -> Vec<Node<'a, 'a>> {
    let has = |n: &Node<'_, '_>| {
        let classes = n.attribute("class").unwrap_or_default();
        classes.split(' ').any(|c| c == class)
    };
    picture.descendants().filter(has).collect()
}

/// What a place on the paper means, as the marks of an axis say it: their values against where they stand.
pub(super) struct Marks {
    first: (f64, f64),
    last: (f64, f64),
}

impl Marks {
    /// `off` is how far beside its mark a value is written.
    pub(super) fn of(picture: &Document<'_>, data: &str, place: &str, off: f64) -> Self {
        let marks = picture
            .descendants()
            .filter(|n| n.attribute(data).is_some() && n.is_element());
        let texts = marks.filter(|n| n.has_tag_name((SVG, "text")));
        let marks: Vec<(f64, f64)> = texts
            .map(|n| {
                let said = n.text().expect("a value").parse::<f64>().expect("a number");
                (number(&n, place) - off, said)
            })
            .collect();
        assert!(marks.len() >= 3, "{data}: {marks:?}");
        let (first, last) = (marks[0], marks[marks.len() - 1]);
        let read = Self { first, last };
        // Every mark between stands in proportion.
        for (at, value) in &marks {
            assert!((read.value(*at) - value).abs() < 0.01 * (last.1 - first.1).abs());
        }
        read
    }

    pub(super) fn value(&self, at: f64) -> f64 {
        let ((a, from), (b, to)) = (self.first, self.last);
        from + (to - from) * (at - a) / (b - a)
    }
}

/// The points of a path.
pub(super) fn points(path: &Node<'_, '_>) -> Vec<(f64, f64)> {
    let d = path.attribute("d").expect("a path");
    let pairs = d.split(['M', 'L', 'Z']).filter(|pair| !pair.is_empty());
    pairs
        .map(|pair| {
            let (x, y) = pair.split_once(' ').expect("two numbers");
            (x.parse().expect("x"), y.parse().expect("y"))
        })
        .collect()
}

/// The voltage at a gap on a curve, between its nearest points.
fn between(curve: &[(f64, f64)], gap: f64) -> f64 {
    let pair = curve
        .windows(2)
        .find(|pair| pair[0].0 <= gap && gap <= pair[1].0)
        .unwrap_or_else(|| panic!("{gap} on {curve:?}"));
    let ((a, from), (b, to)) = (pair[0], pair[1]);
    from + (to - from) * (gap - a) / (b - a)
}

fn need(shop: &Shop, body: &Value) -> Value {
    shop.post(Who::Reader, "/v1/requirements", body)
        .expect(200)
        .json
}

#[track_caller]
pub(super) fn near(place: &str, got: f64, wanted: f64, within: f64) {
    assert!(
        (got - wanted).abs() <= within,
        "{place}: {got}, not {wanted}"
    );
}

fn agrees(shop: &Shop, body: &Value) {
    let text = drawn(shop.post(Who::Reader, "/v1/requirements/spark.svg", body));
    let picture = Document::parse(&text).expect("SVG");
    let (mm, kv) = (
        Marks::of(&picture, "data-mm", "x", 0.0),
        Marks::of(&picture, "data-kv", "y", 4.0),
    );
    let thou = Marks::of(&picture, "data-thou", "x", 0.0);
    let told = need(shop, body);
    let (gap, spark) = (&told["gap"], &told["gap"]["spark"]);
    let figure = |value: &Value| value.as_f64().unwrap_or_else(|| panic!("{value} in {gap}"));
    let at = |class: &str| {
        let mark = classed(&picture, class);
        let x = number(&mark[0], "cx");
        // 1 thou = 0.0254 mm exactly (NIST SP 811): both scales of the gap are one.
        near(
            "thou",
            thou.value(x) * 0.0254,
            mm.value(x),
            2.0 * ROUNDING_MM,
        );
        (mm.value(x), kv.value(number(&mark[0], "cy")))
    };
    let set = at("set-at");
    let per_unit = (kv.value(0.0) - kv.value(0.01)).abs().max(ROUNDING_KV);
    near("set", set.0, figure(&gap["set_mm"]), 2e-4);
    near("needed", set.1, figure(&spark["needed_kv"]), per_unit);
    if gap["physical_max_mm"] != gap["set_mm"] {
        let limit = at("limit-at");
        near("limit", limit.0, figure(&gap["physical_max_mm"]), 2e-4);
        near("usable", limit.1, figure(&spark["available_kv"]), per_unit);
    }
    let practice = classed(&picture, "practice");
    let from = number(&practice[0], "x");
    let to = from + number(&practice[0], "width");
    near(
        "practice",
        mm.value(from),
        figure(&gap["practice_min_mm"]),
        2e-4,
    );
    near(
        "practice",
        mm.value(to),
        figure(&gap["practice_max_mm"]),
        3e-4,
    );
    curves_agree(shop, body, &picture, (&mm, &kv));
}

/// Every curve against the requirement of the same build at its boost, for several gaps.
fn curves_agree(shop: &Shop, body: &Value, picture: &Document<'_>, (mm, kv): (&Marks, &Marks)) {
    let curves: Vec<_> = classed(picture, "curve")
        .into_iter()
        .filter(|n| n.has_tag_name((SVG, "path")))
        .collect();
    let boosts: Vec<f64> = curves.iter().map(|c| number(c, "data-boost-kpa")).collect();
    let own = body["boost_kpa"].as_f64().expect("a boost");
    assert_eq!(
        boosts,
        [own, own * 0.75, own * 1.25],
        "own: a quarter either way"
    );
    for curve in &curves {
        let read = |(x, y): (f64, f64)| (mm.value(x), kv.value(y));
        let curve_read: Vec<_> = points(curve).into_iter().map(read).collect();
        for gap in [0.3, 0.5, 0.8] {
            let boost = number(curve, "data-boost-kpa");
            let asked = with(body.clone(), json!({ "boost_kpa": boost, "gap_mm": gap }));
            let wanted = need(shop, &asked)["gap"]["spark"]["needed_kv"]
                .as_f64()
                .expect("kV");
            // The curve is drawn from point to point.
            near("curve", between(&curve_read, gap), wanted, wanted * 0.004);
        }
    }
}

#[test]
fn what_is_drawn_agrees_with_the_json() {
    for shop in shared() {
        agrees(shop, &build());
        let small =
            json!({ "cylinders": 4, "power_kw": 298, "boost_kpa": 165, "displacement_cc": 2000 });
        agrees(shop, &with(build(), small));
        agrees(
            shop,
            &with(build(), json!({ "gap_mm": 0.6, "coil_kv": 60 })),
        );
    }
}

#[test]
fn what_is_not_known_is_said_in_the_picture() {
    for shop in shared() {
        let ask = |over: Value| {
            let body = with(build(), over);
            let text = drawn(shop.post(Who::Reader, "/v1/requirements/spark.svg", &body));
            let curves = text.matches("data-boost-kpa").count();
            (text, curves)
        };
        let (text, curves) = ask(json!({ "compression_ratio": null }));
        assert_eq!(curves, 0);
        for said in [
            "What is the compression",
            "practice at this power",
            "usable",
        ] {
            assert!(text.contains(said), "{said}: {text}");
        }
        let without_boost = json!({ "induction": "naturally_aspirated", "boost_kpa": null });
        let (text, curves) = ask(without_boost);
        assert_eq!(curves, 1);
        assert!(text.contains("naturally aspirated, so one curve"), "{text}");
    }
}

#[test]
fn what_to_beware_of_stands_in_the_picture() {
    for shop in shared() {
        for (over, said, desc) in [
            (
                json!({ "coil_kv": 5 }),
                "the coil is too weak",
                "The coil is too weak for this build",
            ),
            (
                json!({ "coil_kv": 16 }),
                "fires less than practice sets",
                "smaller gap than practice",
            ),
            (
                json!({ "coil_kv": 20, "gap_mm": 1.1 }),
                "may misfire",
                "larger than the coil fires",
            ),
            (
                json!({ "coil_kv": 20, "gap_mm": 1.1 }),
                "the gap asked for is more",
                "larger than the coil fires",
            ),
            (json!({ "coil_kv": 20 }), "at +25 % boost the set gap", ""),
            (
                json!({ "coil_kv": null, "altitude_m": null }),
                "Assumed by the policy: altitude, the coil's voltage.",
                "",
            ),
        ] {
            let body = with(build(), over);
            let text = drawn(shop.post(Who::Reader, "/v1/requirements/spark.svg", &body));
            let picture = Document::parse(&text).expect("SVG");
            let texts = picture
                .descendants()
                .filter(|n| n.has_tag_name((SVG, "text")));
            let key: Vec<_> = texts.filter_map(|n| n.text()).collect();
            assert!(key.join(" ").contains(said), "{said}: {key:?}");
            let told = picture
                .descendants()
                .find(|n| n.has_tag_name((SVG, "desc")));
            let told = told.and_then(|n| n.text()).unwrap_or_default();
            assert!(told.contains(desc), "{desc}: {told}");
        }
        let ample = with(build(), json!({ "coil_kv": 60 }));
        let text = drawn(shop.post(Who::Reader, "/v1/requirements/spark.svg", &ample));
        assert!(
            !text.contains(">!<") && !text.contains("Assumed by"),
            "{text}"
        );
    }
}

#[test]
fn a_stored_build_has_its_picture_until_something_changes() {
    for engine in engines() {
        // Its policy is changed.
        let shop = Shop::start(engine);
        let made = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
        let own = format!("/v1/builds/{}", made.text("id"));
        let picture = format!("{own}/spark.svg");
        let posted = shop.post(Who::Reader, "/v1/requirements/spark.svg", &build());
        let first = shop.get(Who::Reader, &picture).expect(200);
        assert_eq!(first.body, posted.expect(200).body);
        let again =
            |tag: &str| shop.send("GET", &picture, Who::Reader, &[("if-none-match", tag)], "");
        let known = again(&first.etag()).expect(304);
        assert!(known.body.is_empty() && known.etag() == first.etag());

        shop.patch(Who::Tuner, &own, &json!({ "boost_kpa": 100 }))
            .expect(200);
        let second = again(&first.etag()).expect(200);
        let mut policy = shop.get(Who::Manager, "/v1/policy").expect(200).json;
        policy["values"]["picture_boost_share"]["value"] = json!(0.1);
        shop.put(Who::Manager, "/v1/policy", &policy).expect(200);
        let third = again(&second.etag()).expect(200);
        assert!(String::from_utf8_lossy(&third.body).contains("data-boost-kpa=\"110"));
    }
}

#[test]
fn words_of_users_are_only_words_in_a_picture() {
    const NAME: &str = "</title><script>\"'&amp;]]><b>";
    for shop in shared() {
        let body = with(build(), json!({ "name": NAME }));
        let text = drawn(shop.post(Who::Reader, "/v1/requirements/spark.svg", &body));
        let picture = Document::parse(&text).expect("SVG");
        let title = classed(&picture, "head")[0].text().unwrap_or_default();
        assert!(title.starts_with("</title><script>"), "{title}");
        assert!(
            !picture
                .descendants()
                .any(|n| n.has_tag_name((SVG, "script")))
        );

        let maker = format!("<Scale & \"Sons\"> {}", unique("x"));
        let mut scale = heat_scale(&maker, "<i>");
        scale["codes"][2]["code"] = json!("<7&>");
        shop.post(Who::Clerk, "/v1/heat-scales", &scale).expect(201);
        let text = drawn(shop.get(Who::Reader, "/v1/heat-scales/chart.svg"));
        assert!(text.contains(">&lt;7&amp;&gt;<"), "{text}");
    }
}

#[test]
fn pictures_refuse_what_they_cannot_read() {
    for shop in shared() {
        let posted = |body: &Value| shop.post(Who::Reader, "/v1/requirements/spark.svg", body);
        posted(&with(
            build(),
            json!({ "colour": "red", "boost_kpa": "62" }),
        ))
        .refused_for(&["#/boost_kpa wrong_type", "#/colour unknown_member"]);
        posted(&without(build(), &["head"])).refused_for(&["#/head missing"]);
        shop.send("POST", "/v1/requirements/spark.svg", Who::Reader, &[], "{}")
            .problem(415, "unsupported_media_type");
        let nobody = format!("/v1/builds/{}/spark.svg", Uuid::now_v7());
        shop.get(Who::Reader, &nobody).problem(404, "not_found");
        shop.get(Who::Reader, "/v1/builds/seven/spark.svg")
            .refused_for(&["/id wrong_form"]);
        shop.get(
            Who::Reader,
            "/v1/heat-scales/chart.svg?maker=a&maker=b&size=1",
        )
        .refused_for(&["?maker duplicate", "?size unknown_member"]);
        shop.send("PATCH", "/v1/heat-scales/chart.svg", Who::Manager, &[], "")
            .problem(405, "method_not_allowed");
        let nothing = drawn(shop.get(Who::Reader, "/v1/heat-scales/chart.svg?maker=nobody"));
        assert!(nothing.contains("No heat scale is stored."), "{nothing}");
    }
}
