//! Large tables: many rows in one transaction, the index made anew, and others who write meanwhile.

use std::time::Duration;

use plugwell_tests::bodies::{bin, unique};
use plugwell_tests::{Shop, Who, engines};
use serde_json::json;

use crate::{import, numbers, told};

/// So many that the index is made anew rather than fed.
const ROWS: usize = 21_000;

fn table(maker: &str, last: &str) -> String {
    let rows: String = (0..ROWS)
        .map(|n| {
            format!(
                "{maker},B-{n:06},M14x1.25,19,gasket,{},part number {n}\n",
                30 + n % 50
            )
        })
        .collect();
    format!("maker,part_number,thread,reach_mm,seat,heat_index,description\n{rows}{last}")
}

/// On SQLite the index of a first table is made while its rows are stored.
#[test]
fn the_index_of_a_first_table_holds_what_is_stored() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        // The first names a successor that stands further down: it changes once more at the end.
        let rows = "Early,E-1,19,Early/E-3,no\nEarly,E-2,19,,yes\nEarly,E-3,26.5,,no\n";
        let header = "maker,part_number,reach_mm,superseded_by,retired\n";
        let refused = told(import(
            &shop,
            "plugs",
            &format!("{header}{rows}Early,e-2,,,\n"),
        ));
        assert_eq!(refused, ["5 part_number duplicate"]);
        let found = |shop: &Shop| shop.get(Who::Reader, "/v1/plugs?q=Early").expect(200);
        assert_eq!(found(&shop).items().len(), 0, "{engine}: nothing is kept");
        let done = import(&shop, "plugs", &format!("{header}{rows}")).expect(201);
        assert_eq!(numbers(&done), [3, 3, 0, 0]);
        let mut numbers = found(&shop).column("part_number");
        numbers.sort_by_key(|number| number.to_string());
        assert_eq!(numbers, ["E-1", "E-3"], "{engine}: no retired one");
        // A second table and a single record are fed to the same index.
        let more = format!("{header}Early,E-4,19,Early/E-3,no\nEarly,E-2,19.05,,no\n");
        let done = import(&shop, "plugs", &more).expect(201);
        assert_eq!(crate::numbers(&done), [2, 1, 1, 0]);
        assert_eq!(found(&shop).items().len(), 4, "{engine}");
        shop.stop();
        let audited = shop.run("audit", &[]);
        assert!(audited.status.success(), "{engine}: {audited:?}");
    }
}

#[test]
fn many_rows_are_found_at_once_and_others_only_wait() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let maker = unique("Bulk");
        let refused = told(import(
            &shop,
            "plugs",
            &table(&maker, &format!("{maker},B-000007,,,,,\n{maker},X,,3,,,\n")),
        ));
        let rows = [ROWS + 2, ROWS + 3];
        assert_eq!(
            refused,
            [
                format!("{} part_number duplicate", rows[0]),
                format!("{} reach_mm out_of_range", rows[1])
            ]
        );
        assert_eq!(
            shop.all(Who::Reader, "/v1/plugs").len(),
            0,
            "{engine}: nothing was stored"
        );
        std::thread::scope(|scope| {
            let importing = scope.spawn(|| import(&shop, "plugs", &table(&maker, "")));
            let clerk = scope.spawn(|| {
                for _ in 0..20 {
                    bin(&shop, &unique("meanwhile"));
                    std::thread::sleep(Duration::from_millis(20));
                }
            });
            let done = importing.join().expect("the import").expect(201);
            assert_eq!(numbers(&done), [ROWS as u64, ROWS as u64, 0, 0]);
            let found = shop.get(Who::Reader, "/v1/plugs?q=B-020999").expect(200);
            assert_eq!(
                found.items().len(),
                1,
                "{engine}: the search knows the last one"
            );
            let requirement = json!({ "demands": [
                { "attribute": "heat_index", "strength": "must", "test": { "min": 30, "max": 30 }, "unknown": "fails" },
            ]});
            let body = json!({ "requirement": requirement, "stock": "ignore", "limit": 1 });
            let found = shop.post(Who::Reader, "/v1/matches", &body).expect(200);
            assert_eq!(
                found.json["totals"]["fits_in_catalogue"],
                ROWS as u64 / 50,
                "{engine}"
            );
            clerk.join().expect("the clerk");
        });
        // The same again changes nothing; one more column changes all.
        let same = import(&shop, "plugs", &table(&maker, "")).expect(201);
        assert_eq!(numbers(&same), [ROWS as u64, 0, 0, ROWS as u64]);
        let more = table(&maker, "").replace("19,gasket", "19.05,gasket");
        let changed = import(&shop, "plugs", &more).expect(201);
        assert_eq!(numbers(&changed), [ROWS as u64, 0, ROWS as u64, 0]);
        let found = shop
            .get(Who::Reader, "/v1/plugs?reach_mm_min=19.05&limit=200")
            .expect(200);
        assert_eq!(found.items().len(), 200, "{engine}");
        let audited = {
            let mut shop = shop;
            shop.stop();
            shop.run("audit", &[])
        };
        assert!(audited.status.success(), "{engine}: {audited:?}");
    }
}
