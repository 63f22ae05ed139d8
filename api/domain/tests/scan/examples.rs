//! Worked examples.

use plugwell_domain::fault::FaultCode;
use plugwell_domain::gtin::Gtin;
use plugwell_domain::scan::{AIS, Elements, ScanKind, Scanned, barcode, read};

/// A GTIN-13 for use inside a shop and its GTIN-14 with a nought in front.
const ITEM: &str = "2012345000124";

fn elements(text: &str) -> Elements {
    match read(text) {
        Ok(Scanned::Elements(elements)) => elements,
        other => panic!("{text:?}: {other:?}"),
    }
}

fn pairs(elements: &Elements) -> Vec<(&str, &str)> {
    let all = elements.all().iter();
    all.map(|e| (e.ai.as_str(), e.value.as_str())).collect()
}

#[test]
fn element_strings_are_told_apart_by_length_and_separator() {
    let whole = [
        ("01", "02012345000124"),
        ("17", "300200"),
        ("10", "AB-12"),
        ("21", "S/9"),
        ("37", "24"),
    ];
    let scanned = "]C1010201234500012417300200\
                   10AB-12\u{1d}21S/9\u{1d}3724";
    assert_eq!(pairs(&elements(scanned)), whole);
    // The same with FNC1 in front and behind, without the mark of the symbology, and as printed.
    let marked = format!("\u{1d}{}\u{1d}", scanned.trim_start_matches("]C1"));
    assert_eq!(pairs(&elements(&marked)), whole);
    let printed = "(01)02012345000124(17)300200(10)AB-12(21)S/9(37)24";
    assert_eq!(pairs(&elements(printed)), whole);
    let read = elements(printed);
    assert_eq!(
        read.gtin(),
        Some("02012345000124".parse::<Gtin>().expect("a GTIN"))
    );
    assert_eq!(
        (read.batch(), read.serial(), read.count()),
        (Some("AB-12"), Some("S/9"), Some(24))
    );
    assert!(read.count_is_misplaced(), "a count goes with (02)");
    assert!(!elements("(02)02012345000124(37)24").count_is_misplaced());
}

#[test]
fn a_value_may_begin_like_another_identifier() {
    // The batch is 2137: without its separator the serial number would be part of it.
    assert_eq!(
        pairs(&elements("]d2102137\u{1d}211")),
        [("10", "2137"), ("21", "1")]
    );
    assert_eq!(pairs(&elements("]d210213721")), [("10", "213721")]);
    // Brackets in a value that no digits stand in are part of it.
    assert_eq!(
        pairs(&elements("(10)A(B)(21)7")),
        [("10", "A(B)"), ("21", "7")]
    );
    assert_eq!(
        pairs(&elements("(240)OUTER(400)PO-7")),
        [("240", "OUTER"), ("400", "PO-7")]
    );
}

#[test]
fn what_is_not_marked_is_a_gtin_a_code_or_a_name() {
    let single = |text: &str| match read(text).expect("read") {
        Scanned::Gtin(gtin) => format!("gtin {gtin}"),
        Scanned::Code(kind, code) => format!("{kind} {code}"),
        Scanned::Name(name, None) => format!("name {name}"),
        Scanned::Name(name, Some(error)) => format!("name {name}: {error}"),
        Scanned::Elements(elements) => format!("elements {:?}", pairs(&elements)),
    };
    for (text, wanted) in [
        (ITEM, format!("gtin {ITEM}")),
        ("20012342", "gtin 20012342".into()),
        ("412345678903", "gtin 412345678903".into()),
        ("22012345000128", "gtin 22012345000128".into()),
        ("]E02012345000124", format!("gtin {ITEM}")),
        (" L12 ", "lot_code L12".into()),
        ("p7", "place_code P7".into()),
        ("O3", "order_code O3".into()),
        ("L012", "name L012".into()),
        ("L1234567890", "name L1234567890".into()),
        ("FW-3207", "name FW-3207".into()),
        (
            "0102012345000124",
            "elements [(\"01\", \"02012345000124\")]".into(),
        ),
        // Sixteen digits behind 01 that do not check are no element string.
        ("0102012345000123", "name 0102012345000123".into()),
        (
            "2012345000123",
            "name 2012345000123: the check digit should be 4, not 3; one of the digits is wrong"
                .into(),
        ),
    ] {
        assert_eq!(single(text), wanted, "{text:?}");
    }
}

#[test]
fn every_fault_is_told_with_its_place() {
    let faults = |text: &str| {
        let faults = read(text).expect_err("faults");
        assert!(faults.iter().all(|f| f.pointer == "?text"), "{faults:?}");
        faults
            .into_iter()
            .map(|f| (f.code, f.detail))
            .collect::<Vec<_>>()
    };
    let told = faults("(01)02012345000123(17)301340(37)0(10)");
    let codes: Vec<FaultCode> = told.iter().map(|f| f.0).collect();
    use FaultCode::{
        Contradiction, NotInList, NotTogether, OutOfRange, WrongCheckDigit, WrongForm,
    };
    assert_eq!(codes, [WrongCheckDigit, WrongForm, OutOfRange, WrongForm]);
    assert!(told[1].1.contains("(17) at character 19"), "{}", told[1].1);
    for (text, code, part) in [
        ("]C101020123450001", WrongForm, "has 14 digits, not 12"),
        ("]C137123456789", WrongForm, "has 1 to 8 digits, not 9"),
        (
            "]C110123456789012345678901",
            WrongForm,
            "at most 20 characters, not 21",
        ),
        ("(21)a b", WrongForm, "' ' cannot stand in it"),
        ("(37)1a", WrongForm, "digits only, not 'a'"),
        ("(17)300230", WrongForm, "no date"),
        ("(17)310229", WrongForm, "no date"),
        ("(99)X", NotInList, "\"99\" at character 1"),
        ("]C19912345\u{1d}", NotInList, "\"99\" at character 1"),
        ("(10)A(10)B", Contradiction, "stands twice"),
        (
            "(01)02012345000124(02)02012345000124",
            NotTogether,
            "not both",
        ),
        ("]C1", FaultCode::Missing, "nothing in these"),
        ("", OutOfRange, "1 to 400"),
        ("a\nb", WrongForm, "control character"),
    ] {
        let told = faults(text);
        assert_eq!(told.len(), 1, "{text:?}: {told:?}");
        assert_eq!(told[0].0, code, "{text:?}");
        assert!(told[0].1.contains(part), "{text:?}: {}", told[0].1);
    }
    // One of known length that is not understood is passed over, and what follows is still checked.
    let told = faults("]C1122901011737");
    assert_eq!(told.len(), 2, "{told:?}");
    assert_eq!((told[0].0, told[1].0), (NotInList, WrongForm));
    assert!(read("(10)A(10)A").is_ok(), "the same twice says the same");
    assert!(
        read("(17)300200").is_ok(),
        "day 00: only the month is known"
    );
}

#[test]
fn no_identifier_is_the_beginning_of_another() {
    for one in AIS {
        for other in AIS {
            let same = one.digits == other.digits;
            assert!(
                same || !other.digits.starts_with(one.digits),
                "{} {}",
                one.digits,
                other.digits
            );
        }
        assert!((2..=4).contains(&one.digits.len()));
    }
}

#[test]
fn one_number_has_several_forms_and_a_carton_an_item_inside() {
    let forms = |text: &str| -> Vec<String> {
        let gtin: Gtin = text.parse().expect("a GTIN");
        gtin.forms().into_iter().map(String::from).collect()
    };
    assert_eq!(forms(ITEM), [ITEM, "02012345000124"]);
    assert_eq!(forms("02012345000124"), ["02012345000124", ITEM]);
    assert_eq!(
        forms("400000000121"),
        ["400000000121", "00400000000121", "0400000000121"]
    );
    assert_eq!(
        forms("20012342"),
        [
            "20012342",
            "00000020012342",
            "0000020012342",
            "000020012342"
        ]
    );
    assert_eq!(forms("22012345000128"), ["22012345000128"]);
    let inner = |text: &str| {
        text.parse::<Gtin>()
            .expect("a GTIN")
            .inner()
            .map(String::from)
    };
    assert_eq!(inner("22012345000128").as_deref(), Some(ITEM));
    assert_eq!(inner("12000000000012").as_deref(), Some("2000000000015"));
    assert_eq!(inner("02012345000124"), None);
    assert_eq!(inner(ITEM), None);
}

#[test]
fn a_barcode_is_compared_as_the_number_that_it_is() {
    assert_eq!(barcode::key(ITEM), "02012345000124");
    assert_eq!(barcode::key("02012345000124"), "02012345000124");
    assert_eq!(barcode::key("20012342"), "00000020012342");
    assert_eq!(
        barcode::key("2012345000123"),
        "2012345000123",
        "no GTIN: as it stands"
    );
    assert_eq!(barcode::key("qp/7"), "qp/7");
    assert_eq!(ScanKind::Barcode.word(), "barcode");
}
