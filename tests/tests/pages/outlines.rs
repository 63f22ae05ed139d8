//! Pictures to scale for the pages: the same as the API's, for whoever is signed in.

use plugwell_tests::bodies::{build, plug, stored_plug};
use plugwell_tests::shop::{Engine, Shop};
use plugwell_tests::{Answer, Who};
use uuid::Uuid;

use crate::visitor::Visitor;

fn text(answer: Answer) -> String {
    String::from_utf8(answer.expect(200).body).expect("UTF-8")
}

#[test]
fn whoever_is_signed_in_sees_plugs_and_heads_to_scale() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-9300"));
    let made = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    let stored = made.text("id");
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let section = format!("/v1/builds/{stored}/section.svg?plug_id={part}");
    let drawn = text(shop.get(Who::Reader, &section));
    for path in [
        format!("/builds/{stored}/section.svg?plug_id={part}"),
        format!("/section.svg?build={stored}&plug_id={part}"),
    ] {
        let seen = reader.get(&path).expect(200);
        assert_eq!(seen.header("content-type"), "image/svg+xml");
        assert_eq!(seen.html, drawn, "{path}");
    }
    let query = format!("outline.svg?over={part}&dimensions=true&gap_mm=0.7");
    let drawn = text(shop.get(Who::Reader, &format!("/v1/plugs/{part}/{query}")));
    let seen = reader.get(&format!("/plugs/{part}/{query}")).expect(200);
    assert_eq!(seen.html, drawn);
}

#[test]
fn a_wrong_address_gives_a_page_that_says_what_is_wrong() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-9301"));
    let reader = Visitor::signed_in(&shop, Who::Reader);
    for (path, status, said) in [
        ("/plugs/7/outline.svg".to_owned(), 404, "no such part"),
        (
            format!("/plugs/{}/outline.svg", Uuid::now_v7()),
            404,
            "no such part",
        ),
        (
            format!("/plugs/{part}/outline.svg?gap_mm=9"),
            400,
            "outside 0.2 to 2.5",
        ),
        (
            format!("/plugs/{part}/outline.svg?gap_mm=wide"),
            400,
            "gap: begin with a number",
        ),
        (
            format!("/plugs/{part}/outline.svg?dimensions=1"),
            400,
            "true or false",
        ),
        (
            format!("/plugs/{part}/outline.svg?over=7"),
            404,
            "no such part",
        ),
        ("/builds/7/section.svg".to_owned(), 404, "no such build"),
        (
            "/section.svg?cylinders=none".to_owned(),
            404,
            "no such build",
        ),
    ] {
        let seen = reader.get(&path).expect(status);
        assert!(seen.html.contains(said), "{path}: {}", seen.html);
    }
    let nobody = Visitor::nobody(&shop);
    for path in [
        format!("/plugs/{part}/outline.svg"),
        format!("/builds/{part}/section.svg"),
        "/section.svg".to_owned(),
    ] {
        let seen = nobody.get(&path).expect(401);
        assert!(seen.html.contains("Sign in"), "{path}");
    }
}
