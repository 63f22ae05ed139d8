//! Element strings put together are read as what they were.

use plugwell_domain::gtin::Gtin;
use plugwell_domain::scan::{AIS, Element, Form, Scanned, bracketed, composed, in_set_82, read};
use proptest::prelude::*;

fn digits(count: usize) -> impl Strategy<Value = String> {
    prop::collection::vec(0_u8..10, count).prop_map(|all| all.iter().map(u8::to_string).collect())
}

/// Any value that an identifier can have.
fn value(form: Form) -> BoxedStrategy<String> {
    match form {
        Form::Digits(count) => digits(count).boxed(),
        Form::Checked(14) => digits(13)
            .prop_map(|payload| Gtin::with_check_digit(&payload).expect("13 digits").into())
            .boxed(),
        // Other lengths check by the same rule: weights 3 and 1 in turn from the right.
        Form::Checked(length) => digits(length - 1)
            .prop_map(|payload| {
                let weighed = payload.bytes().rev().enumerate();
                let sum: u32 = weighed
                    .map(|(place, digit)| {
                        u32::from(digit - b'0') * if place % 2 == 0 { 3 } else { 1 }
                    })
                    .sum();
                format!("{payload}{}", (10 - sum % 10) % 10)
            })
            .boxed(),
        Form::Date => (0_u32..100, 1_u32..13, 0_u32..29)
            .prop_map(|(year, month, day)| format!("{year:02}{month:02}{day:02}"))
            .boxed(),
        Form::Count(most) => (1_u64..10_u64.pow(most as u32))
            .prop_map(|n| n.to_string())
            .boxed(),
        Form::Text(most) => {
            let signs: Vec<char> = (' '..='~').filter(|c| in_set_82(*c)).collect();
            prop::collection::vec(prop::sample::select(signs), 1..=most)
                .prop_map(|all| all.into_iter().collect())
                .boxed()
        }
    }
}

/// Some of the identifiers in any order, each once, (01) and (02) not together.
fn some() -> impl Strategy<Value = Vec<Element>> {
    let picked =
        prop::sample::subsequence((0..AIS.len()).collect::<Vec<_>>(), 1..=6).prop_shuffle();
    picked
        .prop_flat_map(|picked| {
            let each: Vec<_> = picked
                .into_iter()
                .map(|place| {
                    value(AIS[place].form).prop_map(move |value| Element::of(&AIS[place], &value))
                })
                .collect();
            each
        })
        .prop_filter("not both", |all| {
            !(all.iter().any(|e| e.ai == "01") && all.iter().any(|e| e.ai == "02"))
        })
}

fn all_of(text: &str) -> Vec<Element> {
    match read(text) {
        Ok(Scanned::Elements(elements)) => elements.all().to_vec(),
        other => panic!("{text:?}: {other:?}"),
    }
}

proptest! {
    #[test]
    fn composed_and_read_is_the_same(elements in some()) {
        let text = composed(&elements);
        prop_assert_eq!(all_of(&format!("]C1{text}")), elements.clone());
        // Digits in brackets inside a value can only be scanned.
        let plain = elements.iter().all(|e| !e.value.contains('('));
        if plain {
            prop_assert_eq!(all_of(&bracketed(&elements)), elements);
        }
    }

    #[test]
    fn no_text_makes_it_fall_over(text in "\\PC{0,60}", cut in 0_usize..60, elements in some()) {
        let _ = read(&text);
        let whole = format!("]d2{}", composed(&elements));
        let shorter: String = whole.chars().take(cut).collect();
        let _ = read(&shorter);
        let mixed = format!("({text}){whole}\u{1d}{text}");
        let _ = read(&mixed);
    }

    #[test]
    fn one_wrong_digit_of_a_gtin_is_found(payload in digits(13), place in 0_usize..14, other in 1_u8..10) {
        let gtin: String = Gtin::with_check_digit(&payload).expect("13 digits").into();
        let mut wrong = gtin.into_bytes();
        wrong[place] = b'0' + (wrong[place] - b'0' + other) % 10;
        let text = format!("(01){}", String::from_utf8(wrong).expect("digits"));
        prop_assert!(read(&text).is_err(), "{}", text);
    }
}
