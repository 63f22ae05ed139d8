//! `match`, `import`, `token create`, `openapi`.

use std::fs;

use plugwell_tests::bodies::{bin, build, plug, receive, stored_plug};
use plugwell_tests::{Shop, Who, engines};
use serde_json::{Value, json};

use crate::terminal::{Said, run};

/// Runs a command of two words on a shop's data.
fn on(shop: &Shop, words: [&str; 2], arguments: &[&str]) -> Said {
    let mut command = plugwell_tests::shop::command(&words);
    command.arg("--data").arg(shop.data());
    if let Some(url) = shop.database() {
        command.arg("--database").arg(url);
    }
    Said::of(
        command
            .args(arguments)
            .current_dir(shop.folder())
            .output()
            .expect("the program runs"),
    )
}

/// A closed shop with one part that fits the build of the file beside it.
fn closed(shop: &mut Shop) -> Value {
    let id = stored_plug(shop, &plug("FW-3207"));
    receive(shop, &id, &bin(shop, "A1"), 24);
    fs::write(shop.folder().join("build.json"), build().to_string()).expect("a file");
    let answer = shop
        .post(Who::Reader, "/v1/matches", &json!({ "build": build() }))
        .expect(200)
        .json;
    shop.stop();
    answer
}

#[test]
fn a_match_on_the_terminal() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let answer = closed(&mut shop);
        let file = shop.folder().join("build.json");
        let file = file.to_str().expect("UTF-8");
        let table = Said::of(shop.run("match", &["--build", file])).went_well();
        for wanted in [
            "FW-3207",
            "Heron, blown",
            "19 mm (0.748 in)",
            "hp",
            "psi",
            "0.81 mm (0.032 in)",
            "24",
        ] {
            assert!(table.contains(wanted), "{wanted:?} in\n{table}");
        }
        let whole = Said::of(shop.run("match", &["--build", file, "--json"])).went_well();
        let whole: Value = serde_json::from_str(&whole).expect("JSON");
        assert_eq!(whole, answer, "{engine}: what the service answers");
        let more = Said::of(shop.run("match", &["--build", file, "--json", "--quantity", "25"]))
            .went_well();
        let more: Value = serde_json::from_str(&more).expect("JSON");
        assert_eq!(
            more["totals"],
            json!({ "fits_in_catalogue": 1, "fits_in_stock": 0 })
        );
        let ignoring = [
            "--build",
            file,
            "--json",
            "--quantity",
            "25",
            "--stock",
            "ignore",
        ];
        let more: Value = serde_json::from_str(&Said::of(shop.run("match", &ignoring)).went_well())
            .expect("JSON");
        assert_eq!(more["fits"].as_array().map(Vec::len), Some(1));
    }
}

#[test]
fn a_build_that_is_wrong_is_told_fault_by_fault() {
    let mut shop = Shop::start(engines()[0]);
    closed(&mut shop);
    let write = |text: &str| fs::write(shop.folder().join("wrong.json"), text).expect("a file");
    let file = shop.folder().join("wrong.json");
    let asked =
        || Said::of(shop.run("match", &["--build", file.to_str().expect("UTF-8")])).complained();
    let mut wrong = build();
    wrong["cylinders"] = json!(17);
    wrong["head"]["reach_mm"] = json!(300);
    wrong["colour"] = json!("red");
    write(&wrong.to_string());
    let complaint = asked();
    for pointer in ["#/cylinders", "#/head/reach_mm", "#/colour"] {
        assert!(complaint.contains(pointer), "{pointer} in {complaint}");
    }
    write("{ not JSON");
    asked();
    fs::remove_file(&file).expect("it goes");
    assert!(asked().contains("cannot be read"));
}

#[test]
fn an_import_is_all_or_nothing_and_names_row_and_column() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        shop.stop();
        let import = |text: &str, more: &[&str]| {
            fs::write(shop.folder().join("plugs.csv"), text).expect("a file");
            on(&shop, ["import", "plugs"], &[&["plugs.csv"], more].concat())
        };
        let right = "maker,part_number,thread,reach_in,seat,hex_mm\nFerrowick,C-1,M14x1.25,0.75,gasket,16\nFerrowick,C-2,14 x 1.25,0.75,gasket,16\n";
        let wrong = "maker,part_number,thread,reach_mm,seat\nFerrowick,C-1,M14x1.25,300,gasket\nFerrowick,C-2,M15x1,19,flat\n";
        let complaint = import(wrong, &[]).complained();
        for place in [
            "row 2, reach_mm",
            "row 3, thread",
            "row 3, seat",
            "3 faults",
        ] {
            assert!(
                complaint.contains(place),
                "{engine}: {place:?} in {complaint}"
            );
        }
        assert_eq!(
            import(right, &["--dry-run"]).went_well().trim(),
            "2 rows: 2 would be created, 0 would be updated, 0 unchanged\n\
             row 2, Ferrowick C-1: new\nrow 3, Ferrowick C-2: new"
        );
        assert_eq!(
            import(right, &[]).went_well().trim(),
            "2 rows: 2 created, 0 updated, 0 unchanged",
            "the dry run stored nothing"
        );
        assert_eq!(
            import(right, &[]).went_well().trim(),
            "2 rows: 0 created, 0 updated, 2 unchanged"
        );
        let changed = right.replace(",16\n", ",20.8\n");
        assert_eq!(
            import(&changed, &["--dry-run"]).went_well().trim(),
            "2 rows: 0 would be created, 2 would be updated, 0 unchanged\n\
             row 2, Ferrowick C-1: hex_mm 16 → 20.8\nrow 3, Ferrowick C-2: hex_mm 16 → 20.8"
        );
        assert_eq!(tables_go_out_and_in_again(&shop), 2);
        let mut shop = shop;
        shop.open();
        let plugs = shop.get(Who::Reader, "/v1/plugs").expect(200);
        assert_eq!(
            plugs.column("reach_mm"),
            [json!(19.05), json!(19.05)],
            "three quarters of an inch"
        );
        assert_eq!(plugs.column("hex_mm"), [json!(16.0), json!(16.0)]);
    }
}

#[test]
fn a_table_of_stock_that_comes_again_is_said_to() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        stored_plug(&shop, &plug("C-1"));
        bin(&shop, "A 1");
        shop.stop();
        let table = "maker,part_number,place,quantity,supplier\nFerrowick,C-1,A 1,8,Quay\n";
        fs::write(shop.folder().join("stock.csv"), table).expect("a file");
        let import = |more: &[&str]| {
            let given = [&["stock.csv"], more].concat();
            on(&shop, ["import", "stock"], &given).went_well()
        };
        assert_eq!(
            import(&[]).trim(),
            "1 row: 1 created, 0 updated, 0 unchanged"
        );
        let told = import(&["--dry-run"]);
        let lines: Vec<&str> = told.lines().collect();
        assert_eq!(
            lines[0],
            "1 row: 1 would be created, 0 would be updated, 0 unchanged"
        );
        assert!(
            lines[1].starts_with("a table with the same content was read at 20")
                && lines[1].ends_with(" by command line"),
            "{told}"
        );
        assert!(
            lines[2].starts_with("row 2 is like lot L1, received at 20"),
            "{told}"
        );
        assert_eq!(lines[3..], ["row 2, Ferrowick C-1: new"]);
    }
}

/// Writes every table to a file and reads it in again; gives back the rows of the catalogue.
fn tables_go_out_and_in_again(shop: &Shop) -> usize {
    let mut plugs = 0;
    for kind in ["plugs", "stock", "heat-scales", "stand-ins"] {
        let printed = on(shop, ["export", kind], &[]).went_well();
        on(shop, ["export", kind], &["table.csv"]).went_well();
        let file = fs::read_to_string(shop.folder().join("table.csv")).expect("the table");
        assert_eq!(file, printed, "{kind}: to a file as to the terminal");
        let said = on(shop, ["import", kind], &["table.csv"]).went_well();
        let rows = file.lines().count() - 1;
        let unchanged = format!("{rows} rows: 0 created, 0 updated, {rows} unchanged");
        assert_eq!(said.trim(), unchanged, "{kind}");
        plugs = plugs.max(rows);
    }
    plugs
}

#[test]
fn a_token_is_printed_alone_on_its_line() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        shop.stop();
        let printed = on(
            &shop,
            ["token", "create"],
            &["--role", "clerk", "--name", "counter"],
        )
        .went_well();
        assert_eq!(printed.lines().count(), 1, "{printed:?}");
        let token = printed.trim().to_owned();
        assert!(
            token.len() >= 43 && token.bytes().all(|b| b.is_ascii_graphic()),
            "256 random bits: {token}"
        );
        shop.open();
        let bearer = format!("Bearer {token}");
        let ask = |method: &str, path: &str| {
            shop.send(method, path, Who::Nobody, &[("authorization", &bearer)], "")
                .status
        };
        assert_eq!(
            (
                ask("GET", "/v1/plugs"),
                ask("POST", "/v1/plugs"),
                ask("GET", "/v1/tokens")
            ),
            (200, 415, 403)
        );
        let names = shop
            .get(Who::Manager, "/v1/tokens")
            .expect(200)
            .column("name");
        assert!(names.contains(&json!("counter")), "{names:?}");
    }
}

#[test]
fn the_printed_document_is_the_served_one() {
    let printed = run(std::path::Path::new("."), &["openapi"]).went_well();
    let printed: Value = serde_json::from_str(&printed).expect("JSON");
    assert_eq!(printed["openapi"], "3.1.0");
    let shop = Shop::start(engines()[0]);
    assert_eq!(
        printed,
        shop.get(Who::Nobody, "/openapi.json").expect(200).json
    );
}
