//! `audit`, `reindex`, `backup`, `restore`.

use std::fs;

use plugwell_tests::bodies::{bin, build, issue, plug, receive, stored_plug, unique};
use plugwell_tests::shop::command;
use plugwell_tests::{Engine, Shop, Who, engines};
use serde_json::{Value, json};

use crate::terminal::{Said, Started, files, get, run};

/// A few parts, some stock, a reservation.
fn furnish(shop: &Shop) {
    let bin_id = bin(shop, "A1");
    for _ in 0..5 {
        let id = stored_plug(shop, &plug(&unique("KEEP")));
        receive(shop, &id, &bin_id, 24);
        shop.once(Who::Tuner, "/v1/stock/issues", &issue(&id, "Kept", 4))
            .expect(201);
        let body = json!({ "plug_id": id, "quantity": 2, "job": "Kept" });
        shop.once(Who::Tuner, "/v1/stock/reservations", &body)
            .expect(201);
    }
    shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
}

/// All that a shop shows, to be compared with another that should be the same.
fn shown(url: &str, token: &str) -> Vec<Value> {
    let lists = [
        "plugs",
        "heads",
        "builds",
        "tokens",
        "stock/places",
        "stock/lots",
        "stock/levels",
        "stock/movements",
        "stock/reservations",
    ];
    lists
        .iter()
        .map(|list| {
            let (status, body) = get(&format!("{url}/v1/{list}?limit=200"), token);
            assert_eq!(status, 200, "{list}: {body}");
            body
        })
        .collect()
}

fn matched(shop: &Shop) -> Value {
    shop.post(Who::Reader, "/v1/matches", &json!({ "build": build() }))
        .expect(200)
        .json
}

#[test]
fn an_audit_says_what_it_checked() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        furnish(&shop);
        shop.stop();
        let said = Said::of(shop.run("audit", &[])).went_well();
        for wanted in [
            "10 movements of 5 lots",
            "5 shelves",
            "5 records",
            "no difference",
        ] {
            assert!(said.contains(wanted), "{engine}: {wanted:?} in {said}");
        }
    }
}

#[test]
fn an_audit_fails_on_any_difference() {
    // A level that is not the sum of its movements, one that is missing, a movement that is gone, a
    // record that the index holds in an older state.
    for (statement, about) in [
        (
            "UPDATE levels SET quantity = quantity + 1 WHERE place_kind = 'bin'",
            "level",
        ),
        ("DELETE FROM levels WHERE place_kind = 'supplier'", "level"),
        (
            "DELETE FROM movements WHERE kind = 'issue' AND sequence = (SELECT MAX(sequence) FROM movements)",
            "level",
        ),
        ("UPDATE plugs SET hex_mm = hex_mm + 1", "index"),
    ] {
        let mut shop = Shop::start(Engine::Sqlite);
        furnish(&shop);
        shop.stop();
        let database =
            rusqlite::Connection::open(shop.data().join("plugwell.sqlite")).expect("the database");
        let changed = database
            .execute(statement, [])
            .expect("a change behind the service's back");
        assert!(changed > 0, "{statement}");
        drop(database);
        let said = Said::of(shop.run("audit", &[]));
        assert!(!said.success, "{statement}: {said:?}");
        assert!(said.err.contains("difference"), "{said:?}");
        assert!(said.out.contains(about), "{statement}: {said:?}");
    }
}

#[test]
fn a_reindex_says_how_many_records_it_took() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        furnish(&shop);
        let before = matched(&shop);
        shop.stop();
        let said = Said::of(shop.run("reindex", &[])).went_well();
        assert!(said.contains("5 records in the index"), "{engine}: {said}");
        shop.open();
        assert_eq!(matched(&shop), before);
    }
}

#[test]
fn a_backup_is_restored_to_the_same_shop() {
    let shop = Shop::start(Engine::Sqlite);
    furnish(&shop);
    let copy = shop.folder().join("copy.sqlite");
    let copy = copy.to_str().expect("UTF-8");
    // While it is served.
    let said = Said::of(shop.run("backup", &[copy])).went_well();
    assert!(
        said.contains("rows copied") && said.contains("read back"),
        "{said}"
    );
    let token = shop.token(Who::Manager).expect("a token");
    let before = shown(shop.url(), token);
    let again = Said::of(shop.run("backup", &[copy])).complained();
    assert!(
        again.contains("copy.sqlite"),
        "a copy is never written over: {again}"
    );
    // What happens after the copy is not in it.
    furnish_more(&shop);

    let folder = tempfile::tempdir().expect("a folder");
    let said = run(folder.path(), &["restore", copy, "--data", "anew"]).went_well();
    assert!(
        said.contains("rows restored") && said.contains("read back"),
        "{said}"
    );
    let serve = command(&["serve", "--port", "0", "--data", "anew"]);
    let restored = Started::new(serve, folder.path(), std::time::Duration::from_secs(30));
    assert_eq!(
        shown(restored.url(), token),
        before,
        "and the same tokens open it"
    );
    restored.stop();
    let audit = run(folder.path(), &["audit", "--data", "anew"]).went_well();
    assert!(audit.contains("no difference"), "{audit}");
    // Only into an empty place.
    let refused = run(folder.path(), &["restore", copy, "--data", "anew"]).complained();
    assert!(refused.contains("anew"), "{refused}");
    let audit = run(folder.path(), &["audit", "--data", "anew"]).went_well();
    assert!(
        audit.contains("10 movements"),
        "what was there stands: {audit}"
    );
}

fn furnish_more(shop: &Shop) {
    let id = stored_plug(shop, &plug(&unique("LATE")));
    receive(shop, &id, &bin(shop, "B1"), 4);
}

#[test]
fn what_is_no_backup_is_not_restored() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("letter.txt"), "no database at all").expect("a file");
    run(folder.path(), &["restore", "letter.txt", "--data", "anew"]).complained();
    run(
        folder.path(),
        &["restore", "missing.sqlite", "--data", "anew"],
    )
    .complained();
    // A copy that was cut short.
    let shop = Shop::start(Engine::Sqlite);
    furnish(&shop);
    let copy = folder.path().join("copy.sqlite");
    Said::of(shop.run("backup", &[copy.to_str().expect("UTF-8")])).went_well();
    let bytes = fs::read(&copy).expect("the copy");
    fs::write(
        folder.path().join("short.sqlite"),
        &bytes[..bytes.len() / 2],
    )
    .expect("half of it");
    run(
        folder.path(),
        &["restore", "short.sqlite", "--data", "anew"],
    )
    .complained();
    let left = files(&folder.path().join("anew"));
    assert!(
        !left.iter().any(|name| name.contains("sqlite")),
        "nothing half done is left: {left:?}"
    );
    run(folder.path(), &["restore", "copy.sqlite", "--data", "anew"]).went_well();
}

#[test]
fn there_has_to_be_something_to_copy() {
    let folder = tempfile::tempdir().expect("a folder");
    let complaint = run(
        folder.path(),
        &["backup", "copy.sqlite", "--data", "nothing"],
    )
    .complained();
    assert!(complaint.contains("no database"), "{complaint}");
    assert_eq!(files(folder.path()), [""; 0]);
}

#[test]
fn postgresql_is_copied_by_its_own_tools() {
    for engine in engines()
        .into_iter()
        .filter(|engine| *engine == Engine::Postgres)
    {
        let shop = Shop::closed(engine, &[]);
        let copy = shop.folder().join("copy");
        let complaint = Said::of(shop.run("backup", &[copy.to_str().expect("UTF-8")])).complained();
        assert!(complaint.contains("pg_dump"), "{complaint}");
        let complaint =
            Said::of(shop.run("restore", &[copy.to_str().expect("UTF-8")])).complained();
        assert!(complaint.contains("pg_restore"), "{complaint}");
        assert!(!copy.exists());
    }
}
