//! Check digits against GS1 and python-stdnum 2.2, and what is refused in which words.

use plugwell_domain::fault::FaultCode;
use plugwell_domain::gtin::{Gtin, GtinError};
use proptest::prelude::*;

// python-stdnum 2.2; numbers of the ranges that GS1 keeps for use inside a shop.
const IN_SHOP: [(&str, u8); 10] = [
    ("200000000001", 5),
    ("201234500012", 4),
    ("299999999999", 1),
    ("2001234", 2),
    ("2000007", 3),
    ("41234567890", 3),
    ("40000000012", 1),
    ("0201234500012", 4),
    ("1200000000001", 2),
    ("2201234500012", 8),
];

// The worked example of the GS1 General Specifications, from memory: weighted sum 57, hence 3.
const WORKED_EXAMPLE: (&str, u8) = ("629104150021", 3);

fn text(gtin: Result<Gtin, GtinError>) -> String {
    gtin.expect("a GTIN").to_string()
}

#[test]
fn check_digits_are_those_of_gs1() {
    for (payload, digit) in IN_SHOP.into_iter().chain([WORKED_EXAMPLE]) {
        let whole = format!("{payload}{digit}");
        assert_eq!(text(Gtin::with_check_digit(payload)), whole);
        assert_eq!(text(whole.parse()), whole);
        for found in (0..10).filter(|&found| found != digit) {
            let wrong = format!("{payload}{found}").parse::<Gtin>();
            assert_eq!(
                wrong,
                Err(GtinError::WrongCheckDigit {
                    expected: digit,
                    found
                })
            );
        }
    }
}

#[test]
fn in_shop_ranges_are_told_from_those_of_trade() {
    for (payload, _) in IN_SHOP {
        assert!(
            Gtin::with_check_digit(payload)
                .expect("a GTIN")
                .is_in_shop_range(),
            "{payload}"
        );
    }
    // One payload of each length from outside the ranges; no article's number, and none is claimed to be.
    for payload in [
        WORKED_EXAMPLE.0,
        "0000000",
        "9999999",
        "00000000000",
        "999999999999",
        "2999999999999",
    ] {
        let in_shop = Gtin::with_check_digit(payload)
            .expect("a GTIN")
            .is_in_shop_range();
        assert_eq!(in_shop, payload == "0000000", "{payload}");
    }
    for (payload, in_shop) in [
        ("020000000000", true),
        ("040000000000", true),
        ("050000000000", false),
    ] {
        assert_eq!(
            Gtin::with_check_digit(payload)
                .expect("a GTIN")
                .is_in_shop_range(),
            in_shop,
            "{payload}"
        );
    }
}

#[test]
fn refusals_say_what_is_wrong() {
    for (given, sentence) in [
        (
            "",
            "a GTIN has 8, 12, 13 or 14 digits, check digit included; this has 0",
        ),
        (
            "200000000001",
            "the check digit should be 4, not 1; one of the digits is wrong",
        ),
        (
            "20000000001",
            "a GTIN has 8, 12, 13 or 14 digits, check digit included; this has 11",
        ),
        (
            "200000000000015",
            "a GTIN has 8, 12, 13 or 14 digits, check digit included; this has 15",
        ),
        (
            "2000000000016",
            "the check digit should be 5, not 6; one of the digits is wrong",
        ),
        (
            "200000000001X",
            "a GTIN has digits only; character 13 is 'X'",
        ),
        (
            "2 00000000001",
            "a GTIN has digits only; character 2 is ' '",
        ),
        (
            "2000000000015\n",
            "a GTIN has digits only; character 14 is '\\n'",
        ),
        ("-00000000015", "a GTIN has digits only; character 1 is '-'"),
        // Digits of another script are letters to a bar code.
        (
            "２000000000015",
            "a GTIN has digits only; character 1 is '２'",
        ),
    ] {
        let refused = given.parse::<Gtin>().expect_err(given);
        assert_eq!(refused.to_string(), sentence);
        let check_digit = sentence.contains("should be");
        let code = if check_digit {
            FaultCode::WrongCheckDigit
        } else {
            FaultCode::WrongForm
        };
        assert_eq!(refused.fault_code(), code);
    }
    assert_eq!(Gtin::with_check_digit("20000000000").map(|_| ()), Ok(()));
    assert_eq!(
        Gtin::with_check_digit("200000"),
        Err(GtinError::WrongLength(7))
    );
}

#[test]
fn numbers_compare_as_given() {
    let upc: Gtin = "412345678903".parse().expect("a GTIN-12");
    let padded: Gtin = "0412345678903".parse().expect("the same, as a GTIN-13");
    assert_ne!(upc, padded);
    assert_eq!(padded.as_str(), "0412345678903");
}

#[test]
fn json_is_a_string_and_is_checked() {
    let gtin: Gtin = serde_json::from_str("\"2000000000015\"").expect("a GTIN");
    assert_eq!(
        serde_json::to_string(&gtin).expect("JSON"),
        "\"2000000000015\""
    );
    let refused = serde_json::from_str::<Gtin>("\"2000000000016\"").expect_err("wrong check digit");
    assert!(
        refused
            .to_string()
            .starts_with("the check digit should be 5, not 6"),
        "{refused}"
    );
    assert!(
        serde_json::from_str::<Gtin>("2000000000015").is_err(),
        "a number has no leading noughts"
    );
}

proptest! {
    #[test]
    fn one_wrong_digit_is_always_found(payload in "2[0-9]{11}", place in 0..13usize, slip in 1..10u8) {
        let gtin = Gtin::with_check_digit(&payload).expect("a GTIN");
        let mut digits = gtin.as_str().as_bytes().to_vec();
        digits[place] = b'0' + (digits[place] - b'0' + slip) % 10;
        let slipped = String::from_utf8(digits).expect("digits");
        let refused = matches!(slipped.parse::<Gtin>(), Err(GtinError::WrongCheckDigit { .. }));
        prop_assert!(refused);
    }

    #[test]
    fn any_text_is_answered(text in "\\PC{0,20}") {
        if let Ok(gtin) = text.parse::<Gtin>() {
            prop_assert_eq!(gtin.to_string(), text);
        }
    }

    #[test]
    fn digits_of_any_length_are_accepted_only_in_the_four(payload in "[0-9]{1,20}") {
        let fits = matches!(payload.len(), 7 | 11 | 12 | 13);
        prop_assert_eq!(Gtin::with_check_digit(&payload).is_ok(), fits);
    }
}
