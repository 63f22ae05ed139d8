//! Messages are looked up before anybody sees them.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use plugwell::pages::ways::WAYS;
use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, build, issue, plug, receive, stored_plug};
use plugwell_tests::shop::{Engine, Shop};

use crate::visitor::Visitor;

/// What every message is called.
fn identifiers() -> BTreeSet<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../api/templates/words");
    let rooms = fs::read_dir(folder).expect("the rooms");
    let texts = rooms.map(|room| fs::read_to_string(room.expect("a room").path()).expect("text"));
    let all: BTreeSet<String> = texts
        .flat_map(|text| {
            let ids = text.lines().filter_map(|line| line.split_once(" ="));
            let ids = ids.filter(|(id, _)| id.starts_with(|sign: char| sign.is_ascii_lowercase()));
            ids.map(|(id, _)| id.to_owned()).collect::<Vec<_>>()
        })
        .collect();
    assert!(all.len() > 900, "{}", all.len());
    all
}

#[test]
fn no_page_shows_what_a_message_is_called() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-77"));
    receive(&shop, &part, &bin(&shop, "A-1"), 20);
    let path = "/v1/stock/issues";
    shop.once(Who::Clerk, path, &issue(&part, "J-1", 4))
        .expect(201);
    let stored = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    let build = stored.text("id");
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let ids = identifiers();
    let mut paths: Vec<String> = WAYS.iter().map(|way| way.path.to_owned()).collect();
    paths.extend([
        format!("/?build={build}"),
        format!("/builds/{build}"),
        format!("/builds/{build}/change"),
        format!("/check?build={build}&in_part=FW-77&in_gap_mm=0.9"),
        format!("/readings/new?build_id={build}"),
        format!("/tuning-days/new?build={build}"),
        format!("/parts/{part}"),
        format!("/parts/{part}/change"),
        format!("/parts/{part}/reordering"),
        format!("/receive?part={part}&scan=nonsense"),
        "/name?thread=M14x1.25&reach_mm=19".to_owned(),
        "/heads/new".to_owned(),
        "/orders/new".to_owned(),
        "/policy/group/1".to_owned(),
        "/session".to_owned(),
        "/nowhere".to_owned(),
    ]);
    for path in paths {
        let page = manager.get(&path);
        // What stands between tags, and what is told of pictures and fields.
        let mut signs = page.html.split(['<', '>', '"', '\n']).map(str::trim);
        let shown = signs.find(|text| ids.contains(*text));
        assert_eq!(shown, None, "{path}: {}", page.html);
    }
}
