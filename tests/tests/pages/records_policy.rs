//! The policy on pages: what each value rests on, changing some, and who was quicker.

use plugwell_tests::Who;
use plugwell_tests::shop::{Engine, Shop};
use serde_json::Value;

use crate::visitor::{Seen, Visitor};

/// The fields of the group that holds a value, as its form has them.
fn fields(manager: &Visitor<'_>, key: &str) -> Vec<(String, String)> {
    let policy = manager.get("/policy").expect(200);
    let (before, _) = policy
        .html
        .split_once(&format!(">{key}</span>"))
        .unwrap_or_else(|| panic!("no {key} in {}", policy.html));
    let link = before
        .rsplit_once("/policy/change?group=")
        .expect("a link")
        .1;
    let group = link.split('"').next().expect("a number");
    let form = manager
        .get(&format!("/policy/change?group={group}"))
        .expect(200);
    read(&form)
}

/// The fields of a page's form with what stands in them.
fn read(form: &Seen) -> Vec<(String, String)> {
    let text = form.html.replace("&#34;", "\"").replace("&#39;", "'");
    let (_, form) = text
        .split_once("action=\"/policy/change\"")
        .expect("a form");
    let mut fields = Vec::new();
    for tag in form.split('<').skip(1) {
        let of = |name: &str| {
            let (_, rest) = tag.split_once(&format!("{name}=\""))?;
            rest.split('"').next().map(plain)
        };
        match tag.split([' ', '>']).next() {
            Some("input") if tag.contains("checkbox") && !tag.contains("checked") => {}
            Some("input") => fields.extend(of("name").zip(of("value"))),
            Some("textarea") => {
                let value = tag.split_once('>').expect("a text").1;
                fields.extend(of("name").map(|name| (name, plain(value))));
            }
            Some("select") => fields.extend(of("name").map(|name| (name, String::new()))),
            Some("option") if tag.contains(" selected") => {
                let value = of("value").expect("a value");
                fields.last_mut().expect("a list").1 = value;
            }
            _ => {}
        }
    }
    fields
}

/// A text of a page without its escapes.
fn plain(text: &str) -> String {
    let signs = [
        ("&#34;", "\""),
        ("&#39;", "'"),
        ("&#60;", "<"),
        ("&#62;", ">"),
        ("&#38;", "&"),
    ];
    let one = |text: String, (escaped, sign): (&str, &str)| text.replace(escaped, sign);
    signs.into_iter().fold(text.to_owned(), one)
}

fn put(fields: &mut [(String, String)], name: &str, value: &str) {
    let field = fields.iter_mut().find(|(known, _)| known == name);
    value.clone_into(&mut field.unwrap_or_else(|| panic!("no {name}")).1);
}

fn send(manager: &Visitor<'_>, fields: &[(String, String)], more: &[(&str, &str)]) -> Seen {
    let fields = fields
        .iter()
        .map(|(name, value)| (name.as_str(), value.as_str()));
    let fields: Vec<_> = fields.chain(more.iter().copied()).collect();
    manager.post("/policy/change", &fields)
}

fn value(shop: &Shop, key: &str) -> Value {
    let policy = shop.get(Who::Reader, "/v1/policy").expect(200).json;
    policy["values"][key]["value"].clone()
}

#[test]
fn values_are_shown_with_what_they_rest_on_and_narrowed() {
    let shop = Shop::start(Engine::Sqlite);
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let page = reader.get("/policy").expect(200);
    let policy = shop.get(Who::Reader, "/v1/policy").expect(200).json;
    let values = policy["values"].as_object().expect("values");
    for key in values.keys() {
        assert!(page.html.contains(&format!(">{key}</span>")), "{key}");
    }
    assert!(
        page.html
            .contains("common practice of the trade, no source")
    );
    assert!(
        !page.html.contains("/policy/change"),
        "a reader changes nothing"
    );
    let some = reader
        .get("/policy?words=coil&rests_on=from_memory")
        .expect(200);
    for (key, judged) in values {
        let said = format!("{key} {} {judged}", key.replace('_', " ")).to_lowercase();
        let meant = said.contains("coil") && judged["label"] == "from_memory";
        assert_eq!(
            some.html.contains(&format!(">{key}</span>")),
            meant,
            "{key}"
        );
    }
    let none = reader.get("/policy?words=%3Cscript%3Ex").expect(200);
    assert!(none.html.contains("No value is like that.") && !none.html.contains("<script>x"));
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let refused = clerk.get("/policy/change?group=0").expect(403);
    let key = refused.hidden("form_key");
    clerk
        .post("/policy/change", &[("form_key", &key), ("group", "0")])
        .expect(403);
}

#[test]
fn a_change_is_shown_before_it_is_kept() {
    let shop = Shop::start(Engine::Sqlite);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let mut form = fields(&manager, "heat_slack_steps");
    let same = send(&manager, &form, &[]).expect(400);
    assert!(
        same.html.contains("Nothing differs from what is in force."),
        "{}",
        same.html
    );
    put(&mut form, "heat_slack_steps/value", "2");
    put(
        &mut form,
        "reach_tolerance_mm/text",
        "As the <b>shop</b> measured.",
    );
    let asked = send(&manager, &form, &[]).expect(200);
    assert!(
        asked.html.contains("<h1>You change 2 values</h1>"),
        "{}",
        asked.html
    );
    assert!(
        asked
            .html
            .contains("As the &#60;b&#62;shop&#60;/b&#62; measured.")
    );
    assert_eq!(
        value(&shop, "heat_slack_steps"),
        1,
        "nothing has been kept yet"
    );
    let back = send(&manager, &read(&asked), &[("back", "yes")]).expect(200);
    assert_eq!(read(&back), form);
    let kept = send(&manager, &read(&asked), &[("save", "yes")]).expect(303);
    let page = manager.get(kept.header("location")).expect(200);
    assert!(
        page.html
            .contains("2 values changed; version 2 is in force."),
        "{}",
        page.html
    );
    assert_eq!(value(&shop, "heat_slack_steps"), 2);
    let policy = shop.get(Who::Reader, "/v1/policy").expect(200).json;
    assert_eq!(
        policy["values"]["reach_tolerance_mm"]["text"],
        "As the <b>shop</b> measured."
    );
}

#[test]
fn what_is_wrong_with_a_value_stands_by_its_field() {
    let shop = Shop::start(Engine::Sqlite);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let mut form = fields(&manager, "gap_low_min_mm");
    put(&mut form, "gap_low_min_mm/value", "9");
    put(&mut form, "gap_mid_min_mm/text", "");
    put(&mut form, "gap_mid_max_mm/value", "wide");
    let seen = send(&manager, &form, &[("save", "yes")]).expect(400);
    for field in [
        "gap_low_min_mm/value",
        "gap_mid_min_mm/text",
        "gap_mid_max_mm/value",
    ] {
        assert!(
            seen.html.contains(&format!("id=\"{field}-fault\"")),
            "{field}: {}",
            seen.html
        );
    }
    assert!(seen.html.contains("value=\"wide\""), "as it was typed");
    let mut form = fields(&manager, "gap_low_min_mm");
    put(&mut form, "gap_low_min_mm/value", "1.5");
    let seen = send(&manager, &form, &[("save", "yes")]).expect(400);
    assert!(
        seen.html.contains("gap_low_min_mm (1.5) has to be at most"),
        "{}",
        seen.html
    );
    form.retain(|(name, _)| name != "version");
    let seen = send(&manager, &form, &[]).expect(400);
    assert!(
        seen.html.contains("without the version of the policy"),
        "{}",
        seen.html
    );
    assert_eq!(value(&shop, "gap_low_min_mm"), 0.71);
}

#[test]
fn whoever_comes_second_sees_what_changed_meanwhile() {
    let shop = Shop::start(Engine::Sqlite);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let mut slow = fields(&manager, "heat_slack_steps");
    let mut quick = slow.clone();
    put(&mut quick, "hex_tolerance_mm/value", "0.3");
    send(&manager, &quick, &[("save", "yes")]).expect(303);
    put(&mut slow, "heat_slack_steps/value", "3");
    let stale = send(&manager, &slow, &[("save", "yes")]).expect(412);
    assert!(
        stale.html.contains("What changed meanwhile"),
        "{}",
        stale.html
    );
    assert!(stale.html.contains("0.2 mm") && stale.html.contains("0.3 mm"));
    assert_eq!(value(&shop, "heat_slack_steps"), 1);
    // Sent again, it takes nothing back that the other has changed.
    let merged = read(&stale);
    send(&manager, &merged, &[("save", "yes")]).expect(303);
    assert_eq!(value(&shop, "heat_slack_steps"), 3);
    assert_eq!(value(&shop, "hex_tolerance_mm"), 0.3);
}

#[test]
fn pages_tell_numbers_and_times_in_the_way_of_the_shop() {
    let shop = Shop::start(Engine::Sqlite);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let id = shop.all(Who::Manager, "/v1/tokens")[0]["id"].clone();
    let person = format!("/people/{}", id.as_str().expect("an id"));
    assert!(manager.get(&person).expect(200).html.contains(" UTC"));
    let mut form = fields(&manager, "time_zone");
    put(&mut form, "time_zone/value", "Asia/Kolkata");
    put(&mut form, "decimal_mark/value", "comma");
    send(&manager, &form, &[("save", "yes")]).expect(303);
    let page = manager.get("/policy").expect(200);
    assert!(page.html.contains("0,3 mm") && !page.html.contains("0.3 mm"));
    // India has no summer time: five hours and a half ahead all year (IANA time zone database).
    assert!(manager.get(&person).expect(200).html.contains(" IST"));
    let mut form = fields(&manager, "reach_tolerance_mm");
    put(&mut form, "reach_tolerance_mm/value", "0,25");
    let asked = send(&manager, &form, &[]).expect(200);
    assert!(
        asked.html.contains("0,3 mm") && asked.html.contains("0,25 mm"),
        "{}",
        asked.html
    );
    send(&manager, &form, &[("save", "yes")]).expect(303);
    assert_eq!(value(&shop, "reach_tolerance_mm"), 0.25);
}
