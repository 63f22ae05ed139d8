//! Tokens on pages: made once with a badge, handed over by a link, taken back.

use plugwell_tests::Who;
use plugwell_tests::shop::{Engine, Shop};

use crate::visitor::{Seen, Visitor};

fn main_of(seen: &Seen) -> &str {
    seen.html.split_once("<main").expect("a main part").1
}

/// The secret that a page shows.
fn secret(seen: &Seen) -> String {
    let (_, rest) = seen
        .html
        .split_once("<dd class=\"secret\">")
        .expect("a secret");
    rest.split('<').next().expect("its end").to_owned()
}

#[test]
fn a_token_is_made_once_and_its_secret_shown_once() {
    let shop = Shop::start(Engine::Sqlite);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let tokens = || shop.all(Who::Manager, "/v1/tokens").len();
    let before = tokens();
    let form = manager.get("/people").expect(200);
    let (key, once) = (form.hidden("form_key"), form.hidden("once"));
    let make = |name: &str, role: &str| {
        let fields = [
            ("form_key", key.as_str()),
            ("once", &once),
            ("name", name),
            ("role", role),
        ];
        manager.post("/people", &fields)
    };
    let refused = make("", "lord").expect(400);
    for field in ["name", "role"] {
        assert!(
            refused.html.contains(&format!("id=\"{field}-fault\"")),
            "{}",
            refused.html
        );
    }
    assert!(
        make("a\u{7}b", "clerk")
            .expect(400)
            .html
            .contains("control character")
    );
    assert_eq!(tokens(), before);
    let made = make("Sela <b>", "clerk").expect(200);
    let token = secret(&made);
    assert!(made.html.contains("Sela &#60;b&#62;") && made.html.contains("<path d=\"M4 4h7"));
    assert!(made.header("cache-control").contains("no-store"));
    let nobody = Visitor::nobody(&shop);
    nobody.post("/sign-in", &[("token", &token)]).expect(303);
    let again = make("Sela <b>", "clerk").expect(303);
    let person = again.header("location").to_owned();
    let page = manager.get(&person).expect(200);
    assert!(
        page.html.contains("Its secret was shown then"),
        "{}",
        page.html
    );
    assert!(!page.html.contains(&token));
    assert_eq!(tokens(), before + 1);
    let list = manager.get("/people").expect(200);
    assert!(list.html.contains("Sela &#60;b&#62;</a>") && !list.html.contains(&token));
    let kept = list.html.matches(">yours</span>").count();
    assert_eq!(kept, 1, "one's own is marked");
}

#[test]
fn a_link_signs_in_once_and_a_revoked_token_no_more() {
    let shop = Shop::start(Engine::Sqlite);
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let key = manager.get("/people").expect(200).hidden("form_key");
    let key = [("form_key", key.as_str())];
    let tokens = shop.all(Who::Manager, "/v1/tokens");
    let of = |role: &str| {
        let found = tokens.iter().find(|token| token["role"] == role);
        format!(
            "/people/{}",
            found.expect(role)["id"].as_str().expect("an id")
        )
    };
    let seen = manager
        .post(&format!("{}/link", of("clerk")), &key)
        .expect(200);
    let (_, rest) = seen.html.split_once("/sign-in?link=").expect("a link");
    let link = format!("/sign-in?link={}", rest.split('<').next().expect("its end"));
    assert!(
        seen.html.contains(&format!("{}{link}", shop.url())),
        "with where it leads"
    );
    let nobody = Visitor::nobody(&shop);
    let signed_in = nobody.get(&link).expect(303);
    nobody.get(&link).expect(401);
    let cookie = signed_in
        .header("set-cookie")
        .split(';')
        .next()
        .expect("a cookie");
    let clerk = Visitor {
        cookie: cookie.to_owned(),
        ..nobody
    };
    clerk.get("/receive").expect(200);
    clerk.get("/people").expect(403);
    clerk.get(&of("reader")).expect(403);
    for path in ["link", "revocation"] {
        let own = clerk.get("/receive").expect(200).hidden("form_key");
        let path = format!("{}/{path}", of("reader"));
        clerk.post(&path, &[("form_key", &own)]).expect(403);
    }
    let own = manager.get(&of("manager")).expect(200);
    assert!(main_of(&own).contains("This token is your own"));
    manager
        .post(&format!("{}/revocation", of("manager")), &key)
        .expect(409);
    let gone = manager
        .post(&format!("{}/revocation", of("clerk")), &key)
        .expect(303);
    assert!(
        manager
            .get(gone.header("location"))
            .html
            .contains("The token is revoked")
    );
    clerk.get("/receive").expect(401);
    manager.get(&of("clerk")).expect(404);
    manager
        .post(&format!("{}/link", of("clerk")), &key)
        .expect(404);
}

#[test]
fn what_each_role_may_do_is_told() {
    let shop = Shop::start(Engine::Sqlite);
    let page = Visitor::signed_in(&shop, Who::Manager)
        .get("/people")
        .expect(200);
    let roles: Vec<&str> = page.html.split("<summary>").skip(1).collect();
    let of = |role: &str| {
        let found = roles
            .iter()
            .find(|part| part.starts_with(&format!("{role}</summary>")));
        (*found.unwrap_or_else(|| panic!("no {role}"))).to_owned()
    };
    assert!(
        of("tuner").contains("All that a reader may")
            && of("tuner").contains("Stores a new build.")
    );
    assert!(of("clerk").contains("Import") && !of("clerk").contains("Replaces the policy"));
    assert!(
        of("manager").contains("Pages: People") && of("manager").contains("Replaces the policy")
    );
}
