//! One process owns a data folder; others go through it, or say why not.

use std::fs;

use plugwell_tests::bodies::{bin, build, plug, receive, stored_plug};
use plugwell_tests::shop::command;
use plugwell_tests::{Shop, Who, engines};
use serde_json::{Value, json};

use crate::terminal::Said;

fn on(shop: &Shop, words: &[&str], token: Option<&str>) -> Said {
    let mut command = command(words);
    command
        .arg("--data")
        .arg(shop.data())
        .current_dir(shop.folder());
    if let Some(url) = shop.database() {
        command.arg("--database").arg(url);
    }
    if let Some(token) = token {
        command.arg("--token").arg(token);
    }
    Said::of(command.output().expect("the program runs"))
}

#[test]
fn a_second_process_is_refused_with_a_sentence() {
    for engine in engines() {
        let shop = Shop::start(engine);
        for words in [
            &["serve", "--port", "0"][..],
            &["demo", "--port", "0", "--fresh"],
            &["audit"],
            &["reindex"],
        ] {
            let complaint = on(&shop, words, None).complained();
            assert!(
                complaint.contains("belongs to a running plugwell at"),
                "{words:?}: {complaint}"
            );
            assert!(
                complaint.contains(shop.url()),
                "{words:?} names its address: {complaint}"
            );
        }
        shop.get(Who::Reader, "/v1/plugs").expect(200);
    }
}

#[test]
fn questions_go_through_the_service_that_owns_the_folder() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let id = stored_plug(&shop, &plug("FW-3207"));
        receive(&shop, &id, &bin(&shop, "A1"), 24);
        let write =
            |name: &str, text: &str| fs::write(shop.folder().join(name), text).expect("a file");
        write("build.json", &build().to_string());
        write("plugs.csv", "maker,part_number\nFerrowick,OVER-1\n");
        let asking = ["match", "--build", "build.json", "--json"];
        let complaint = on(&shop, &asking, None).complained();
        assert!(
            complaint.contains("--token") && complaint.contains("PLUGWELL_TOKEN"),
            "{complaint}"
        );
        let answer: Value =
            serde_json::from_str(&on(&shop, &asking, shop.token(Who::Reader)).went_well())
                .expect("JSON");
        assert_eq!(
            answer,
            shop.post(Who::Reader, "/v1/matches", &json!({ "build": build() }))
                .expect(200)
                .json
        );

        let importing = ["import", "plugs", "plugs.csv"];
        on(&shop, &importing, shop.token(Who::Reader)).complained();
        let dry = on(
            &shop,
            &["import", "plugs", "plugs.csv", "--dry-run"],
            shop.token(Who::Clerk),
        )
        .went_well();
        assert!(dry.contains("1 would be created"), "{dry}");
        let done = on(&shop, &importing, shop.token(Who::Clerk)).went_well();
        assert_eq!(done.trim(), "1 row: 1 created, 0 updated, 0 unchanged");
        write(
            "plugs.csv",
            "maker,part_number,reach_mm\nFerrowick,OVER-2,300\n",
        );
        let complaint = on(&shop, &importing, shop.token(Who::Clerk)).complained();
        assert!(
            complaint.contains("row 2") && complaint.contains("reach_mm"),
            "{complaint}"
        );

        let creating = ["token", "create", "--role", "reader", "--name", "over HTTP"];
        on(&shop, &creating, shop.token(Who::Clerk)).complained();
        let printed = on(&shop, &creating, shop.token(Who::Manager)).went_well();
        assert_eq!(printed.lines().count(), 1);
        let bearer = format!("Bearer {}", printed.trim());
        shop.send(
            "GET",
            "/v1/plugs",
            Who::Nobody,
            &[("authorization", &bearer)],
            "",
        )
        .expect(200);
    }
}

#[test]
fn after_a_kill_the_folder_is_free() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        stored_plug(&shop, &plug("FW-1"));
        shop.kill();
        Said::of(shop.run("audit", &[])).went_well();
        shop.open();
        assert_eq!(
            shop.get(Who::Reader, "/v1/plugs").expect(200).items().len(),
            1
        );
    }
}
