//! Statements that one part stands in for another, on pages.

use plugwell_tests::Who;
use plugwell_tests::bodies::{plug, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::json;

use crate::visitor::{Seen, Visitor};

fn state(clerk: &Visitor<'_>, part: &str, stands_in_for: &str, over: &[(&str, &str)]) -> Seen {
    let key = clerk.get("/stand-ins/new").expect(200).hidden("form_key");
    let fields = [
        ("form_key", key.as_str()),
        ("maker", "Ferrowick"),
        ("number", part),
        ("for_maker", "Ferrowick"),
        ("for_number", stands_in_for),
        ("direction", "one_way"),
        ("who", "Odo"),
    ];
    let kept = fields
        .iter()
        .filter(|(name, _)| over.iter().all(|(o, _)| o != name));
    let fields: Vec<_> = kept.chain(over).copied().collect();
    clerk.post("/stand-ins", &fields)
}

#[test]
fn a_statement_is_entered_followed_and_withdrawn() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    for number in ["FW-A", "FW-B"] {
        stored_plug(&shop, &plug(number));
    }
    stored_plug(&shop, &with(plug("FW-HOT"), json!({ "heat_index": 40 })));
    let stored = state(&clerk, "FW-B", "FW-A", &[("source", "a <i>letter</i>")]).expect(303);
    let path = stored.header("location").to_owned();
    let page = clerk.get(&path).expect(200);
    for told in [
        "The statement is stored.",
        "Ferrowick FW-B stands in for Ferrowick FW-A",
        "one way",
        "a &#60;i&#62;letter&#60;/i&#62;",
        "The attributes agree.",
        "Ferrowick FW-B, by the word of Odo",
    ] {
        assert!(
            page.html.contains(told),
            "{told} is missing from {}",
            page.html
        );
    }
    // A chain leads on, to a part that the catalogue lacks and to one that its attributes rule out.
    state(&clerk, "FW-LACKING", "FW-B", &[("who", "Sela")]).expect(303);
    state(&clerk, "FW-HOT", "FW-B", &[("who", "Sela")]).expect(303);
    let page = clerk.get(&path).expect(200);
    let chain =
        "Ferrowick FW-B, by the word of Odo; from there Ferrowick FW-LACKING, by the word of Sela";
    assert!(page.html.contains(chain), "{}", page.html);
    assert!(page.html.contains("the catalogue lacks this part"));
    let hot = page
        .html
        .split("<tr>")
        .find(|row| row.contains(">Ferrowick FW-HOT</a>"));
    let hot = hot.unwrap_or_else(|| panic!("no such row in {}", page.html));
    assert!(
        !hot.contains("The attributes agree.") && hot.contains("heat"),
        "{hot}"
    );
    let list = clerk.get("/stand-ins?part_number=fw-a").expect(200);
    assert!(list.html.contains(">Ferrowick FW-B</a>") && !list.html.contains("FW-HOT"));
    let key = page.hidden("form_key");
    let withdrawal = format!("{}/withdrawal", path.split('?').next().expect("a path"));
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let seen = reader.get(&path).expect(200);
    assert!(
        !seen.html.contains("Withdraw"),
        "a reader withdraws nothing"
    );
    let readers = seen.hidden("form_key");
    reader
        .post(&withdrawal, &[("form_key", &readers)])
        .expect(403);
    clerk.post(&withdrawal, &[("form_key", &key)]).expect(303);
    clerk.get(&path).expect(404);
    clerk.post(&withdrawal, &[("form_key", &key)]).expect(404);
    assert_eq!(shop.all(Who::Reader, "/v1/stand-ins").len(), 2);
}

#[test]
fn what_is_wrong_with_a_statement_stands_by_its_field() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let seen = state(&clerk, "", "FW-A", &[("note", "<script>x</script>")]).expect(400);
    assert!(
        seen.html
            .contains("id=\"number-fault\">has to be filled in"),
        "{}",
        seen.html
    );
    assert!(seen.html.contains("value=\"FW-A\"") && !seen.html.contains("<script>x"));
    let seen = state(&clerk, "fw-a", "FW-A", &[]).expect(400);
    assert!(
        seen.html.contains("id=\"for_number-fault\""),
        "{}",
        seen.html
    );
    let seen = state(&clerk, "FW-B", "FW-A", &[("direction", "")]).expect(400);
    assert!(
        seen.html.contains("id=\"direction-fault\""),
        "{}",
        seen.html
    );
    state(&clerk, "FW-B", "FW-A", &[]).expect(303);
    let twice = state(&clerk, "FW-B", "FW-A", &[]).expect(409);
    assert!(
        twice.html.contains("has stated something"),
        "{}",
        twice.html
    );
    assert!(twice.html.contains("value=\"Odo\""));
    assert_eq!(shop.all(Who::Reader, "/v1/stand-ins").len(), 1);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    tuner.get("/stand-ins/new").expect(403);
    assert!(
        !tuner
            .get("/stand-ins")
            .expect(200)
            .html
            .contains("/stand-ins/new")
    );
}
