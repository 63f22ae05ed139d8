//! Free text over maker, part number, description and barcode.

use plugwell_tests::bodies::{gtin, plug, stored_plug, unique, with};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

fn found(shop: &Shop, text: &str) -> Vec<Value> {
    let coded: String = text
        .bytes()
        .map(|b| {
            if b.is_ascii_alphanumeric() {
                char::from(b).to_string()
            } else {
                format!("%{b:02X}")
            }
        })
        .collect();
    shop.get(Who::Reader, &format!("/v1/plugs?limit=200&q={coded}"))
        .expect(200)
        .column("id")
}

#[test]
fn a_part_number_is_found_by_its_beginning_whatever_the_case_and_separators() {
    for shop in shared() {
        let id = json!(stored_plug(
            shop,
            &with(plug("Zq-48.7/13 K"), json!({ "maker": unique("Sep") }))
        ));
        for text in [
            "Zq-48.7/13 K",
            "zq487",
            "ZQ 48",
            "zq48713k",
            "Z-Q-4-8",
            "zq 48.713",
            "  zq-48  ",
        ] {
            assert!(found(shop, text).contains(&id), "{text}");
        }
        for text in ["48713", "q48", "zq4871X", "zq48713kk"] {
            assert!(!found(shop, text).contains(&id), "{text}");
        }
    }
}

#[test]
fn a_letter_may_be_mistyped_in_words_but_not_in_part_numbers() {
    for shop in shared() {
        let words = json!({ "maker": "Kestrelmoor", "description": "cold marine tip for boathouse engines" });
        let id = json!(stored_plug(shop, &with(plug("XK7731"), words)));
        for text in [
            "kestrelmoor",
            "Kestrelmor",
            "kestrelmopr",
            "kestrelmooor",
            "ketsrelmoor",
            "boathouze",
            "boathouse kestrelmoot",
        ] {
            assert!(found(shop, text).contains(&id), "{text}");
        }
        assert!(
            !found(shop, "kestrelmrooo").contains(&id),
            "two letters are too many"
        );
        assert!(found(shop, "xk7731").contains(&id));
        for text in ["xk7732", "xk773l", "xk731", "xk77311", "yk7731"] {
            assert!(!found(shop, text).contains(&id), "{text}");
        }
    }
}

#[test]
fn a_barcode_is_found_whole() {
    for shop in shared() {
        let code = gtin(424_242);
        let id = json!(stored_plug(
            shop,
            &with(plug(&unique("BAR")), json!({ "gtin": code }))
        ));
        assert!(found(shop, &code).contains(&id));
        assert!(!found(shop, &gtin(424_243)).contains(&id));
    }
}

#[test]
fn several_words_narrow_the_search() {
    for shop in shared() {
        let maker = "Plovercombe";
        let first = json!(stored_plug(
            shop,
            &with(
                plug("PL 100"),
                json!({ "maker": maker, "description": "long nose" })
            )
        ));
        let second = json!(stored_plug(
            shop,
            &with(
                plug("PL 200"),
                json!({ "maker": maker, "description": "short nose" })
            )
        ));
        let both = found(shop, "plovercombe nose");
        assert!(both.contains(&first) && both.contains(&second));
        assert_eq!(
            found(shop, "plovercombe short"),
            std::slice::from_ref(&second)
        );
        assert_eq!(
            found(shop, "plovercombe pl 100"),
            std::slice::from_ref(&first)
        );
        // Text and filters together, in pages.
        let page = shop
            .get(
                Who::Reader,
                "/v1/plugs?q=plovercombe&thread=M14x1.25&limit=1",
            )
            .expect(200);
        let cursor = page.text("next_cursor");
        let next = shop
            .get(
                Who::Reader,
                &format!("/v1/plugs?q=plovercombe&thread=M14x1.25&limit=1&cursor={cursor}"),
            )
            .expect(200);
        assert_eq!(
            [page.column("id"), next.column("id")].concat(),
            [first, second]
        );
        assert_eq!(
            shop.get(Who::Reader, "/v1/plugs?q=plovercombe&thread=M10x1")
                .expect(200)
                .items()
                .len(),
            0
        );
    }
}

#[test]
fn the_search_follows_every_change_at_once() {
    for shop in shared() {
        let id = stored_plug(
            shop,
            &with(
                plug(&unique("FOLLOW")),
                json!({ "description": "wigeonbrook" }),
            ),
        );
        let own = format!("/v1/plugs/{id}");
        assert_eq!(found(shop, "wigeonbrook"), [json!(id)]);
        shop.patch(Who::Clerk, &own, &json!({ "description": "gadwallmere" }))
            .expect(200);
        assert_eq!(
            (found(shop, "wigeonbrook").len(), found(shop, "gadwallmere")),
            (0, vec![json!(id)])
        );
        shop.patch(Who::Clerk, &own, &json!({ "retired": true }))
            .expect(200);
        assert_eq!(
            found(shop, "gadwallmere").len(),
            0,
            "retired records are left out"
        );
        shop.patch(Who::Clerk, &own, &json!({ "retired": false }))
            .expect(200);
        assert_eq!(found(shop, "gadwallmere"), [json!(id)]);
        shop.delete(Who::Clerk, &own).expect(204);
        assert_eq!(found(shop, "gadwallmere").len(), 0);
    }
}

#[test]
fn a_retired_record_is_found_by_its_words_where_it_is_asked_for() {
    for shop in shared() {
        let id = stored_plug(
            shop,
            &with(
                plug(&unique("RETIRED")),
                json!({ "description": "smewtarn" }),
            ),
        );
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{id}"),
            &json!({ "retired": true }),
        )
        .expect(200);
        let retired = shop
            .get(Who::Reader, "/v1/plugs?q=smewtarn&retired=true")
            .expect(200);
        assert_eq!(retired.column("id"), [json!(id)]);
    }
}

#[test]
fn signs_that_mean_something_elsewhere_are_only_text() {
    for shop in shared() {
        for text in [
            "*",
            "\"",
            "a AND",
            "(",
            "maker:x",
            "%",
            "_",
            "'; --",
            "\\",
            "~2",
            "né",
            "-",
            "[1 TO",
            "\u{0}",
            &"x".repeat(3000),
        ] {
            found(shop, text);
        }
        // Nothing asked for narrows nothing.
        let all = shop.get(Who::Reader, "/v1/plugs?q=%20&limit=1").expect(200);
        assert_eq!(
            all.column("id"),
            shop.get(Who::Reader, "/v1/plugs?limit=1")
                .expect(200)
                .column("id")
        );
    }
}
