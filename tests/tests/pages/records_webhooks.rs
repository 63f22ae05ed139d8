//! Webhooks on pages: entered once with a secret that is shown once, changed, switched off and on, their
//! secrets, what came of their deliveries, and those sent again.

use plugwell_tests::bodies::{head, unique, with};
use plugwell_tests::receiver::{Receiver, Reply};
use plugwell_tests::shop::{Engine, Shop};
use plugwell_tests::{Who, until};
use serde_json::{Value, json};

use crate::visitor::{Seen, Visitor};

const NEW: &str = "/webhooks/new";
const SCRIPT: &str = "<script>alert(1)</script>";

/// A shop that may send to this machine and gives up soon.
fn shop() -> Shop {
    let settings = [
        "--webhook-allow",
        "127.0.0.1",
        "--webhook-schedule",
        "50ms",
        "--webhook-seconds",
        "2",
    ];
    Shop::start_with(Engine::Sqlite, &settings)
}

fn hooks(shop: &Shop) -> Vec<Value> {
    shop.all(Who::Manager, "/v1/webhooks")
}

fn head_named(shop: &Shop) {
    let body = with(head(), json!({ "name": unique("Told head") }));
    shop.post(Who::Tuner, "/v1/heads", &body).expect(201);
}

/// Sends the form of a new one that a page holds.
fn enter(who: &Visitor<'_>, page: &Seen, fields: &[(&str, &str)]) -> Seen {
    let (key, once) = (page.hidden("form_key"), page.hidden("once"));
    let own = [("form_key", key.as_str()), ("once", once.as_str())];
    who.post(NEW, &[&own[..], fields].concat())
}

/// A webhook that is told of new heads; its page.
fn entered(who: &Visitor<'_>, url: &str) -> String {
    let page = who.get(NEW).expect(200);
    let fields = [("url", url), ("types", "plugwell.head.created.v1")];
    enter(who, &page, &fields).expect(200);
    let all = hooks(who.shop);
    let id = all.last().expect("one")["id"].as_str().expect("an id");
    format!("/webhooks/{id}")
}

/// Sends the form of a page that goes to a path, as it stands there, with more fields.
#[track_caller]
fn press(who: &Visitor<'_>, page: &Seen, path: &str, more: &[(&str, &str)]) -> Seen {
    let forms = crate::forms_seen::forms(&page.html);
    let form = forms.iter().find(|form| form.path == path);
    let form = form.unwrap_or_else(|| panic!("no form for {path} in {}", page.html));
    let kept = form.fields.iter();
    let kept = kept.filter(|field| more.iter().all(|(name, _)| field.name != *name));
    let own: Vec<(&str, &str)> = kept
        .map(|field| (field.name.as_str(), field.value.as_str()))
        .collect();
    who.post(path, &[&own[..], more].concat())
}

/// The secret that a page shows.
fn secret(seen: &Seen) -> String {
    let shown = seen.html.split_once("<dd class=\"secret\">");
    let (_, rest) = shown.expect("a secret");
    rest.split('<').next().expect("its end").to_owned()
}

#[test]
fn one_is_entered_once_and_its_secret_shown_once() {
    let shop = shop();
    let receiver = Receiver::answering([]);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let empty = manager.get("/webhooks").expect(200).html;
    assert!(empty.contains("Nobody is told of events yet."), "{empty}");
    let form = manager.get(NEW).expect(200);
    for said in [
        "to choose from",
        "head created",
        "A cylinder head was stored.",
        "waiting job answered",
    ] {
        assert!(form.html.contains(said), "{said}: {}", form.html);
    }
    let ticked = ("types", "plugwell.head.created.v1");
    let wrong = enter(&manager, &form, &[("url", ""), ticked]).expect(400);
    assert!(wrong.html.contains("id=\"url-fault\"") && wrong.html.contains("<details open>"));
    let kept = "value=\"plugwell.head.created.v1\" checked";
    assert!(wrong.html.contains(kept), "{}", wrong.html);
    let fields = [
        ("url", "http://10.0.0.1/"),
        ("description", SCRIPT),
        ("types", "plugwell.head.sold.v1"),
    ];
    let wrong = enter(&manager, &form, &fields).expect(400);
    assert!(wrong.html.contains("id=\"types-fault\"") && !wrong.html.contains(SCRIPT));
    let wrong = enter(&manager, &form, &fields[..2]).expect(400);
    assert!(wrong.html.contains("--webhook-allow"), "{}", wrong.html);
    assert!(wrong.html.contains("value=\"http://10.0.0.1/\""));
    assert_eq!(wrong.hidden("once"), form.hidden("once"));
    assert!(hooks(&shop).is_empty());

    let url = receiver.url();
    let fields = [("url", url.as_str()), ("description", SCRIPT), ticked];
    let made = enter(&manager, &form, &fields).expect(200);
    let shown = secret(&made);
    assert!(shown.starts_with("whsec_") && made.html.contains("only time"));
    assert!(made.header("cache-control").contains("no-store"));
    let again = enter(&manager, &form, &fields).expect(303);
    let all = hooks(&shop);
    assert_eq!(all.len(), 1, "entered once");
    assert_eq!(all[0]["types"], json!(["plugwell.head.created.v1"]));
    let page = manager.get(again.header("location")).expect(200).html;
    assert!(page.contains("is shown no more") && !page.contains("whsec_"));
    let list = manager.get("/webhooks").expect(200).html;
    for html in [&page, &list] {
        assert!(html.contains("&#60;script&#62;alert") && !html.contains(SCRIPT));
        assert!(html.contains("head created"), "{html}");
    }
}

#[test]
fn one_is_changed_under_its_version() {
    let shop = shop();
    let receiver = Receiver::answering([]);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let here = entered(&manager, &receiver.url());
    let path = format!("{here}/change");
    let form = manager.get(&path).expect(200);
    let ticked = "value=\"plugwell.head.created.v1\" checked";
    assert!(form.html.contains(ticked), "{}", form.html);
    let wrong = press(&manager, &form, &path, &[("url", "nowhere")]).expect(400);
    assert!(wrong.html.contains("id=\"url-fault\"") && wrong.html.contains("value=\"nowhere\""));
    let said = ("description", "The board in the yard");
    press(&manager, &form, &path, &[said]).expect(303);
    let hook = hooks(&shop).remove(0);
    assert_eq!(hook["description"], said.1);
    assert_eq!(hook["types"], json!(["plugwell.head.created.v1"]));
    let late = press(&manager, &form, &path, &[("description", "Another")]).expect(409);
    assert!(late.html.contains("The board in the yard") && late.html.contains("Another"));
    let form = manager.get(&path).expect(200);
    // Nothing ticked, nothing said.
    let all = press(
        &manager,
        &form,
        &path,
        &[("description", ""), ("types", "")],
    )
    .expect(303);
    assert_eq!(all.header("location"), here);
    let hook = hooks(&shop).remove(0);
    assert_eq!(
        (&hook["description"], &hook["types"]),
        (&Value::Null, &Value::Null)
    );
    let page = manager.get(&here).expect(200).html;
    assert!(page.contains("everything, also of kinds"), "{page}");
}

#[test]
fn one_is_switched_off_and_on_and_removed() {
    let shop = shop();
    let receiver = Receiver::answering([]);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let here = entered(&manager, &receiver.url());
    let page = manager.get(&here).expect(200);
    let sending = format!("{here}/sending");
    for _ in 0..2 {
        let off = press(&manager, &page, &sending, &[]).expect(303);
        let seen = manager.get(off.header("location")).expect(200).html;
        assert!(seen.contains("a manager has switched it off"), "{seen}");
    }
    let hook = hooks(&shop).remove(0);
    assert_eq!(
        (&hook["enabled"], &hook["version"]),
        (&json!(false), &json!(2))
    );
    assert!(manager.get("/webhooks").html.contains("switched it off"));
    head_named(&shop);
    // The first page still offers to switch it off; whoever has it open and knows no better is told.
    press(&manager, &page, &sending, &[("turn", "on")]).expect(409);
    press(&manager, &page, &sending, &[("turn", "sideways")]).expect(400);
    let page = manager.get(&here).expect(200);
    press(&manager, &page, &sending, &[]).expect(303);
    until("what happened meanwhile", || receiver.seen().pop());
    let page = manager.get(&here).expect(200);
    let removal = format!("{here}/removal");
    press(&manager, &page, &removal, &[("version", "1")]).expect(409);
    assert_eq!(hooks(&shop).len(), 1);
    for _ in 0..2 {
        let gone = press(&manager, &page, &removal, &[]).expect(303);
        let list = manager.get(gone.header("location")).expect(200).html;
        assert!(list.contains("The webhook is removed"), "{list}");
    }
    manager.get(&here).expect(404);
    assert!(hooks(&shop).is_empty());
}

#[test]
fn secrets_are_added_and_retired() {
    let shop = shop();
    let receiver = Receiver::answering([]);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let here = entered(&manager, &receiver.url());
    let page = manager.get(&here).expect(200);
    assert!(!page.html.contains("/retirement"), "the only one stays");
    let path = format!("{here}/secrets");
    let made = press(&manager, &page, &path, &[]).expect(200);
    assert!(secret(&made).starts_with("whsec_") && made.html.contains("One more secret"));
    let again = press(&manager, &page, &path, &[]).expect(303);
    let page = manager.get(again.header("location")).expect(200);
    assert!(page.html.contains("add another and retire that one"));
    let count = || {
        hooks(&shop)[0]["secrets"]
            .as_array()
            .expect("secrets")
            .len()
    };
    assert_eq!(count(), 2, "added once");
    head_named(&shop);
    let delivered = until("a delivery", || receiver.seen().pop());
    let signatures = &delivered.headers["webhook-signature"];
    assert_eq!(signatures.split(' ').count(), 2);
    let path = format!("{here}/retirement");
    press(&manager, &page, &path, &[("version", "1")]).expect(409);
    press(&manager, &page, &path, &[("secret_id", "none")]).expect(404);
    for _ in 0..2 {
        let retired = press(&manager, &page, &path, &[]).expect(303);
        let seen = manager.get(retired.header("location")).expect(200).html;
        assert!(seen.contains("The secret is retired"), "{seen}");
    }
    assert_eq!(count(), 1);
    for _ in 1..5 {
        let page = manager.get(&here).expect(200);
        press(&manager, &page, &format!("{here}/secrets"), &[]).expect(200);
    }
    let full = manager.get(&here).expect(200).html;
    assert!(full.contains("More than these it cannot have"), "{full}");
}

#[test]
fn a_dead_delivery_is_seen_and_sent_again() {
    let shop = shop();
    let receiver = Receiver::answering(vec![Reply::Status(503, None); 2]);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let here = entered(&manager, &receiver.url());
    let page = manager.get(&here).expect(200).html;
    assert!(page.contains("Nothing has happened yet"), "{page}");
    head_named(&shop);
    until("that it is given up", || {
        (hooks(&shop)[0]["dead"] == 1).then_some(())
    });
    let dead = manager.get(&format!("{here}?state=dead")).expect(200).html;
    for said in ["head created", "heads/", "can be sent again", "503 Service"] {
        assert!(dead.contains(said), "{said} is missing from {dead}");
    }
    let none = manager.get(&format!("{here}?state=delivered")).expect(200);
    assert!(none.html.contains("No delivery stands so."));
    assert!(
        manager
            .get("/webhooks")
            .html
            .contains("?state=dead\">1</a>")
    );
    let link = format!("href=\"{here}/deliveries/");
    let (_, rest) = dead.split_once(&link).expect("a link to it");
    let id = rest.split('"').next().expect("an id");
    let path = format!("{here}/deliveries/{id}");
    let page = manager.get(&path).expect(200);
    assert_eq!(
        page.html.matches("503 Service").count(),
        2,
        "both attempts: {}",
        page.html
    );
    for _ in 0..2 {
        let sent = press(&manager, &page, &path, &[]).expect(303);
        let seen = manager.get(sent.header("location")).expect(200).html;
        assert!(seen.contains("sent again"), "{seen}");
    }
    let delivered = until("that it arrives", || {
        let seen = manager.get(&path).expect(200).html;
        seen.contains("answered with 204").then_some(seen)
    });
    assert!(delivered.contains("Send it once more"), "{delivered}");
    assert_eq!(receiver.seen().len(), 3, "sent again once");
    let other = entered(&manager, &receiver.url());
    manager.get(&format!("{other}/deliveries/{id}")).expect(404);
    press(&manager, &page, &path, &[("once", "none")]).expect(400);
}

#[test]
fn a_long_log_goes_on() {
    let shop = shop();
    let receiver = Receiver::answering([]);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let here = entered(&manager, &receiver.url());
    for _ in 0..52 {
        head_named(&shop);
    }
    until("every delivery", || {
        (receiver.seen().len() >= 52).then_some(())
    });
    until("their end", || {
        (hooks(&shop)[0]["waiting"] == 0).then_some(())
    });
    let link = format!("href=\"{here}/deliveries/");
    let first = manager
        .get(&format!("{here}?state=delivered"))
        .expect(200)
        .html;
    assert_eq!(first.matches(&link).count(), 50);
    let (rest, _) = first.split_once("\">More</a>").expect("more");
    let more = rest.rsplit("href=\"").next().expect("an address");
    let more = crate::forms_seen::plain(more);
    let second = manager.get(&more).expect(200).html;
    assert_eq!(second.matches(&link).count(), 2, "{more}");
    assert!(!second.contains("\">More</a>"));
}

#[test]
fn only_a_manager_may() {
    let shop = shop();
    let receiver = Receiver::answering([]);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let here = entered(&manager, &receiver.url());
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let change = format!("{here}/change");
    for path in ["/webhooks", NEW, &here, &change] {
        let seen = clerk.get(path).expect(403);
        assert!(seen.html.contains("This takes the role manager"), "{path}");
        assert!(
            !seen.html.contains("href=\"/webhooks\""),
            "nor is it in the menu"
        );
    }
    let key = clerk.get("/").expect(200).hidden("form_key");
    let acts = ["sending", "secrets", "retirement", "removal", "change"];
    let acts = acts.map(|act| format!("{here}/{act}"));
    for path in acts.iter().map(String::as_str).chain([NEW]) {
        clerk.post(path, &[("form_key", &key)]).expect(403);
    }
    let hook = hooks(&shop).remove(0);
    assert_eq!(
        (&hook["enabled"], &hook["version"]),
        (&json!(true), &json!(1))
    );
}
