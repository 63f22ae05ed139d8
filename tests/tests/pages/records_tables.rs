//! Tables in and out on pages: looked over first, then booked exactly as they were looked at, once.

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, plug, stored_plug};
use plugwell_tests::shop::{Engine, Shop};

use crate::visitor::{Seen, Visitor};

/// Sends a table and goes to where it was looked over: its path and the page.
fn looked_over(clerk: &Visitor<'_>, kind: &str, table: &str) -> (String, Seen) {
    let key = clerk.get("/import").expect(200).hidden("form_key");
    let fields = [("form_key", key.as_str()), ("kind", kind)];
    let seen = clerk.upload("/import", &fields, Some(("autumn.csv", table)));
    let path = seen.expect(303).header("location").to_owned();
    let page = clerk.get(&path).expect(200);
    (path, page)
}

fn book(clerk: &Visitor<'_>, path: &str) -> Seen {
    let key = clerk.get("/import").expect(200).hidden("form_key");
    clerk.post(path, &[("form_key", &key)])
}

/// How many records the catalogue has.
fn records(shop: &Shop) -> usize {
    shop.all(Who::Reader, "/v1/plugs").len()
}

#[test]
fn a_table_is_looked_over_and_then_booked_as_it_was_once() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    stored_plug(&shop, &plug("FW-9700"));
    let table = "Maker;Part Number;reach-in;description\nFerrowick;FW-9700;0.75;changed\nFerrowick;FW-9701;0.5;<b>new</b>\n";
    let (path, page) = looked_over(&clerk, "plugs", table);
    for told in [
        "The file autumn.csv",
        "converted from in",
        "reach_mm",
        "description: invented for a test → changed",
        "Reach: 19 mm (0.748 in) → 19.05 mm (0.750 in)",
        "<dt>Rows</dt><dd>2</dd>",
        "<dt>New</dt><dd>1</dd>",
        "<dt>Changed</dt><dd>1</dd>",
        "Book it",
    ] {
        assert!(
            page.html.contains(told),
            "{told} is missing from {}",
            page.html
        );
    }
    assert_eq!(records(&shop), 1, "nothing has been booked");
    let other = Visitor::signed_in(&shop, Who::Manager);
    other.get(&path).expect(404);
    clerk.post(&path, &[]).expect(403);
    let places: Vec<String> = std::thread::scope(|scope| {
        let send = || {
            book(&clerk, &path)
                .expect(303)
                .header("location")
                .to_owned()
        };
        let twins: Vec<_> = (0..4).map(|_| scope.spawn(send)).collect();
        let answers = twins
            .into_iter()
            .map(|twin| twin.join().expect("an answer"));
        answers.collect()
    });
    let again = places.iter().filter(|place| place.ends_with("&again=yes"));
    assert_eq!(again.count(), 3, "one did it: {places:?}");
    let first = places
        .iter()
        .find(|place| !place.ends_with("yes"))
        .expect("one");
    let booked = clerk.get(first).expect(200);
    assert!(
        booked.html.contains("Plugs: 2 rows") && booked.html.contains("<dt>New</dt><dd>1</dd>")
    );
    let repeated = clerk.get(&format!("{first}&again=yes")).expect(200);
    assert!(repeated.html.contains("Nothing was booked a second time"));
    assert_eq!(records(&shop), 2);
    let out = clerk.get("/export/plugs.csv").expect(200);
    assert!(out.header("content-type").starts_with("text/csv"));
    assert!(
        out.html.contains("<b>new</b>"),
        "a table is no page: {}",
        out.html
    );
    let (_, page) = looked_over(&clerk, "plugs", table);
    assert!(page.html.contains("<dt>As they were</dt><dd>2</dd>"));
    assert!(!page.html.contains("Book it"), "there is nothing to book");
}

#[test]
fn every_fault_of_a_table_is_told_by_row_and_column() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let table = "maker,part_number,reach_mm,seat\nFerrowick,FW-1,deep,gasket\n,FW-2,19,<script>x</script>\n";
    let (path, page) = looked_over(&clerk, "plugs", table);
    assert!(page.html.contains("<h2>3 faults</h2>"), "{}", page.html);
    for told in [
        "deep",
        "reach_mm",
        "maker has to be given",
        "&#60;script&#62;x",
    ] {
        assert!(
            page.html.contains(told),
            "{told} is missing from {}",
            page.html
        );
    }
    assert!(!page.html.contains("<script>x") && !page.html.contains("Book it"));
    // Whoever presses a button that is not there books nothing either.
    let forced = book(&clerk, &path).expect(409);
    assert!(forced.html.contains("<h2>3 faults</h2>"));
    assert_eq!(records(&shop), 0);
}

#[test]
fn a_form_that_names_no_table_keeps_what_was_typed() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let key = clerk.get("/import").expect(200).hidden("form_key");
    let key = key.as_str();
    let none = clerk.upload("/import", &[("form_key", key), ("kind", "stock")], None);
    let none = none.expect(400);
    assert!(none.html.contains("choose a file, or put lines in below"));
    assert!(none.html.contains("<option value=\"stock\" selected>"));
    let lines = "maker\n</textarea><script>x</script>";
    let both = [("form_key", key), ("lines", lines)];
    let both = clerk
        .upload("/import", &both, Some(("a.csv", "maker\n")))
        .expect(400);
    assert!(both.html.contains("either a file or lines, not both"));
    assert!(
        both.html.contains("&#60;/textarea&#62;&#60;script&#62;x"),
        "{}",
        both.html
    );
    clerk
        .upload("/import", &[("kind", "stock")], Some(("a.csv", "x")))
        .expect(403);
    clerk.post("/import", &[("form_key", key)]).expect(415);
    let fields = [
        ("form_key", key),
        ("kind", "plugs"),
        ("lines", "maker,part_number\r\nFerrowick,FW-1"),
    ];
    let typed = clerk.upload("/import", &fields, None).expect(303);
    let page = clerk.get(typed.header("location")).expect(200);
    assert!(page.html.contains("Lines that were put in") && page.html.contains("Ferrowick FW-1"));
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let refused = tuner.get("/import").expect(403).hidden("form_key");
    let fields = [("form_key", refused.as_str()), ("kind", "plugs")];
    tuner
        .upload("/import", &fields, Some(("a.csv", "maker\n")))
        .expect(403);
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let page = reader.get("/export").expect(200);
    assert!(
        !page.html.contains("href=\"/import\""),
        "a reader brings nothing in"
    );
    reader.get("/export/stand-ins.csv").expect(200);
    reader.get("/export/engines.csv").expect(404);
}

#[test]
fn a_table_that_comes_twice_or_too_late_is_told() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    stored_plug(&shop, &plug("FW-9800"));
    bin(&shop, "A-1");
    let table = "maker,part_number,quantity,place,supplier\nFerrowick,FW-9800,8,A-1,Pikestone\n";
    let (path, page) = looked_over(&clerk, "stock", table);
    assert!(!page.html.contains("The same content was received"));
    book(&clerk, &path).expect(303);
    let (_, page) = looked_over(&clerk, "stock", table);
    assert!(
        page.html.contains("The same content was received"),
        "{}",
        page.html
    );
    assert!(page.html.contains("row 2 is like lot L"), "{}", page.html);
    // The bin is retired between looking and booking: the table is checked anew when it is booked.
    let other = bin(&shop, "A-2");
    let (late, page) = looked_over(&clerk, "stock", &table.replace("A-1", "A-2"));
    assert!(page.html.contains("Book it"));
    let retired = serde_json::json!({ "retired": true });
    shop.patch(Who::Clerk, &format!("/v1/stock/places/{other}"), &retired)
        .expect(200);
    let refused = book(&clerk, &late).expect(409);
    assert!(
        refused.html.contains("The shop has changed since"),
        "{}",
        refused.html
    );
    assert!(refused.html.contains("A-2") && !refused.html.contains("Book it"));
    // Only the last few that were looked at are kept.
    for _ in 0..3 {
        looked_over(&clerk, "stock", table);
    }
    clerk.get(&late).expect(404);
    book(&clerk, &late).expect(404);
}

#[test]
fn an_empty_table_has_every_column_of_its_kind() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let columns = shop.get(Who::Clerk, "/v1/imports/columns").expect(200).json;
    let page = clerk.get("/import").expect(200);
    for kind in ["plugs", "stock", "heat-scales", "stand-ins"] {
        let empty = clerk.get(&format!("/import/{kind}.csv")).expect(200);
        let named = columns[kind].as_array().expect("columns").iter();
        let named: Vec<&str> = named.filter_map(|c| c["name"].as_str()).collect();
        assert_eq!(empty.html.trim_end().split(',').collect::<Vec<_>>(), named);
        for column in columns[kind].as_array().expect("columns") {
            let name = column["name"].as_str().expect("a name");
            assert!(page.html.contains(&format!("<span>{name}")), "{name}");
        }
    }
    assert!(
        page.html.contains("also as reach_in, reach_thou"),
        "{}",
        page.html
    );
    clerk.get("/import/engines.csv").expect(404);
}
