//! Tables with faults: each is told by row and column, and nothing is stored.

use plugwell_tests::bodies::{gtin, plug, stored_plug, unique, with};
use plugwell_tests::{Answer, shared};
use serde_json::{Value, json};

use crate::imports::{dry_run, import, of_maker};

/// The faults as `row column code`, in the order they are told.
fn told(answer: Answer) -> Vec<String> {
    let answer = answer.problem(400, "invalid");
    let errors = answer.json["errors"].as_array().unwrap();
    for fault in errors {
        assert!(
            fault["detail"].as_str().is_some_and(|text| text.len() > 5),
            "{fault}"
        );
        assert!(fault["found"].is_string(), "{fault}");
    }
    assert_eq!(
        answer.json["error_count"].as_u64(),
        Some(errors.len() as u64)
    );
    let mut faults: Vec<String> = errors
        .iter()
        .map(|fault| {
            format!(
                "{} {} {}",
                fault["row"],
                fault["column"].as_str().unwrap(),
                fault["code"].as_str().unwrap()
            )
        })
        .collect();
    faults.sort();
    faults
}

fn sorted(faults: &[&str]) -> Vec<String> {
    let mut faults: Vec<String> = faults.iter().map(|&fault| fault.to_owned()).collect();
    faults.sort();
    faults
}

#[test]
fn every_fault_is_told_by_row_and_column_and_nothing_is_stored() {
    for shop in shared() {
        let maker = unique("Marred");
        let taken = stored_plug(shop, &with(plug("M-9"), json!({ "maker": maker })));
        let mut wrong = gtin(5);
        wrong.replace_range(12.., if wrong.ends_with('0') { "1" } else { "0" });
        let csv = format!(
            "maker,part_number,thread,reach_in,seat,gtin,resistor,resistance_ohm,gap_min_mm,gap_preset_mm,provenance,superseded_by\n\
             {maker},M-1,M14x1.25,0.75,gasket,,,,,,,\n\
             {maker},M-2,M15x1,30,flat,{wrong},perhaps,,,,,\n\
             {maker},,M14x1.25,three quarters,gasket,,,,,,reach_mm=guessed,\n\
             {maker},M-4,M14x1.25,0.7500001,gasket,,yes,10,0.9,0.8,,\n\
             {maker},M-5,M14x1.25\n\
             {maker},m-1,M14x1.25,0.75,gasket,,,,,,,\n\
             {maker},M-9,M14x1.25,0.75,gasket,,,,,,,{maker}/M-0\n"
        );
        let faults = [
            "3 thread not_in_list",
            "3 reach_in out_of_range",
            "3 seat not_in_list",
            "3 gtin wrong_check_digit",
            "3 resistor wrong_type",
            "4 part_number missing",
            "4 reach_in wrong_type",
            "4 provenance not_in_list",
            "5 reach_in too_fine",
            "5 resistance_ohm contradiction",
            "5 gap_preset_mm contradiction",
            "6  wrong_form",
            "7 part_number duplicate",
            "8 superseded_by not_found",
        ];
        assert_eq!(told(dry_run(shop, &csv)), sorted(&faults));
        assert_eq!(told(import(shop, &csv)), sorted(&faults));
        let kept = of_maker(shop, &maker);
        assert_eq!(
            (kept.len(), &kept[0]["id"], &kept[0]["version"]),
            (1, &json!(taken), &json!(1)),
            "nothing was stored"
        );
    }
}

#[test]
fn what_was_found_is_told_again() {
    for shop in shared() {
        let csv = "maker,part_number,reach_mm\nFoundlands,F-1,19;5 mm\n";
        let answer = import(shop, csv).problem(400, "invalid");
        let fault = &answer.json["errors"][0];
        assert_eq!(
            (&fault["row"], &fault["column"], &fault["found"]),
            (&json!(2), &json!("reach_mm"), &json!("19;5 mm"))
        );
    }
}

#[test]
fn a_header_that_is_not_known_is_a_fault_of_the_first_row() {
    for shop in shared() {
        let csv = "maker,part,reach_mm,reach_in,colour\nHeadless,H-1,19,0.75,red\n";
        let faults = told(import(shop, csv));
        for fault in [
            "1 part unknown_member",
            "1 part_number missing",
            "1 reach_in duplicate",
            "1 colour unknown_member",
        ] {
            assert!(faults.contains(&fault.to_owned()), "{fault} in {faults:?}");
        }
        for empty in ["", "\n", "maker,part_number"] {
            let answer = import(shop, empty);
            // A header without rows is a table of nothing; no header is none.
            if empty.starts_with("maker") {
                assert_eq!(answer.expect(201).json["rows"], 0);
            } else {
                assert!(!told(answer).is_empty());
            }
        }
    }
}

#[test]
fn a_table_in_another_encoding_is_refused() {
    for shop in shared() {
        let answer = shop.send(
            "POST",
            "/v1/imports/plugs?dry_run=true",
            plugwell_tests::Who::Clerk,
            &[("content-type", "text/csv")],
            b"maker,part_number\nMiller,0\nM\xfcller,1\nM\xfcller,2\n".to_vec(),
        );
        assert_eq!(told(answer), ["3 maker wrong_form"], "told once");
    }
}

/// Row, column and sentence of each fault.
fn sentences(answer: Answer) -> Vec<(u64, String, String)> {
    let answer = answer.problem(400, "invalid");
    let errors = answer.json["errors"].as_array().expect("faults");
    let text = |fault: &Value, member: &str| fault[member].as_str().expect("a text").to_owned();
    errors
        .iter()
        .map(|f| {
            (
                f["row"].as_u64().expect("a row"),
                text(f, "column"),
                text(f, "detail"),
            )
        })
        .collect()
}

#[test]
fn a_quote_that_is_never_closed_is_told_by_its_row() {
    let open = "a quote opens in this row and is never closed";
    let runs = "is the quote that opens it closed where it ends?";
    for shop in shared() {
        let maker = unique("Quoted");
        let table = |rows: &str| format!("maker,part_number,description\n{maker},Q-1,x\n{rows}");
        // In the last cell, which may run over several lines: nothing else tells that rows are lost.
        let told = sentences(import(
            shop,
            &table(&format!(
                "{maker},Q-2,\"wide\n{maker},Q-3,x\n{maker},Q-4,x\n"
            )),
        ));
        assert!(
            told.iter()
                .any(|(row, _, text)| *row == 3 && text.starts_with(open)),
            "{told:?}"
        );
        assert!(told.iter().all(|(row, ..)| *row == 3), "{told:?}");
        // In another: it took in the cells behind it.
        let told = sentences(import(
            shop,
            &table(&format!("{maker},\"Q-2,x\n{maker},Q-3,x\n")),
        ));
        let width = &told[0];
        assert_eq!((width.0, &*width.1), (3, "part_number"), "{told:?}");
        assert!(
            width
                .2
                .starts_with("the row has 2 cells, the header 3; the cell runs over 2 lines")
                && width.2.ends_with(runs),
            "{told:?}"
        );
        assert!(told[1].2.starts_with(open), "{told:?}");
        // Closed by the next quote that there is, further down.
        let told = sentences(import(
            shop,
            &table(&format!("{maker},\"Q-2,x\n{maker},\"Q-3\",x\n")),
        ));
        assert!(
            told.iter()
                .any(|(row, _, text)| *row == 3 && text.ends_with(runs)),
            "{told:?}"
        );
        let told = sentences(import(shop, &table("alone\n")));
        assert_eq!(told[0].2, "the row has 1 cell, the header 3");
        assert_eq!(of_maker(shop, &maker).len(), 0);
        // A cell of several lines that ends as it should is none.
        let told = dry_run(shop, &table(&format!("{maker},Q-2,\"two\nlines\"\n")));
        assert!(
            told.status == 200 || !told.text("detail").contains("quote"),
            "{}",
            told.json
        );
    }
}

#[test]
fn the_first_thousand_faults_are_listed_and_all_counted() {
    for shop in shared() {
        let maker = unique("Thousands");
        let rows: String = (0..1_500).map(|n| format!("{maker},T-{n},300\n")).collect();
        let answer =
            import(shop, &format!("maker,part_number,reach_mm\n{rows}")).problem(400, "invalid");
        assert_eq!(answer.json["errors"].as_array().map(Vec::len), Some(1_000));
        assert_eq!(answer.json["error_count"], 1_500);
        assert_eq!(of_maker(shop, &maker).len(), 0);
    }
}
