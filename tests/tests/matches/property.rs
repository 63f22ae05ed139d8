//! The set of fits is what a plain scan of all records with the answered demands gives: on thousands
//! of random records and some fifty random builds, before and after the stock has moved and records
//! have changed, and after the index was thrown away.

use std::fs;
use std::time::{SystemTime, UNIX_EPOCH};

use plugwell_tests::bodies::with;
use plugwell_tests::call::key;
use plugwell_tests::{Engine, Shop, Who, engines};
use rand::SeedableRng;
use rand::rngs::StdRng;
use serde_json::{Value, json};

use crate::cases::Seen;
use crate::records::{self, Dice, HEADER};
use crate::scan::{Asked, Expected, Found, Gap, Scan, fine, text};
use crate::stirring;

const RECORDS: usize = 3_000;
const BUILDS: usize = 48;
/// The most that a match answers.
const MOST_FITS: usize = 200;
const MOST_NEAR_MISSES: usize = 50;

/// A seed: given by `PLUGWELL_SEED` to have a run again, else a new one.
fn seed() -> u64 {
    let given = std::env::var("PLUGWELL_SEED")
        .ok()
        .map(|text| text.parse().expect("PLUGWELL_SEED is a number"));
    given.unwrap_or_else(|| {
        SystemTime::now()
            .duration_since(UNIX_EPOCH)
            .expect("a clock after 1970")
            .as_micros() as u64
    })
}

#[test]
fn a_match_is_what_a_plain_scan_finds_on_sqlite() {
    compare(Engine::Sqlite);
}

#[test]
fn a_match_is_what_a_plain_scan_finds_on_postgres() {
    if engines().contains(&Engine::Postgres) {
        compare(Engine::Postgres);
    }
}

fn compare(engine: Engine) {
    let seed = seed();
    println!("to have this run again: PLUGWELL_SEED={seed}");
    let mut dice = Dice(StdRng::seed_from_u64(seed));
    let mut shop = Shop::start(engine);
    let builds: Vec<Value> = (0..BUILDS).map(|_| records::build(&mut dice)).collect();
    import(&shop, &mut dice, &builds);

    let mut seen = Seen::default();
    check(&shop, &builds, &mut dice, &mut seen);
    seen.are_worth_it();

    stirring::move_stock(&shop, &mut dice);
    stirring::change_records(&shop, &mut dice);
    let before = check(&shop, &builds, &mut dice, &mut seen);
    assert!(
        seen.stocked > 20,
        "only {} fits had something on the shelf",
        seen.stocked
    );

    // The index is derived: deleted while the service is stopped, it is there again.
    shop.stop();
    let index = shop.data().join("index");
    assert!(
        fs::read_dir(&index)
            .expect("the index has its folder")
            .count()
            > 0
    );
    fs::remove_dir_all(&index).expect("the index goes");
    shop.open();
    assert_eq!(
        answers(&shop, &builds),
        before,
        "after the index was deleted"
    );

    shop.stop();
    let ran = shop.run("reindex", &[]);
    assert!(ran.status.success(), "{ran:?}");
    shop.open();
    assert_eq!(answers(&shop, &builds), before, "after reindex");
}

/// Imports records that are aimed at what the builds ask for.
fn import(shop: &Shop, dice: &mut Dice, builds: &[Value]) {
    let demands: Vec<Vec<Value>> = builds
        .iter()
        .map(|build| {
            let answer = shop
                .post(Who::Reader, "/v1/requirements", build)
                .expect(200);
            answer.json["demands"].as_array().expect("demands").clone()
        })
        .collect();
    let mut table = HEADER.to_owned();
    for number in 0..RECORDS {
        let aimed = dice.one(&demands);
        table.push_str(&records::row(dice, number, &aimed).line());
    }
    let headers = [("content-type", "text/csv"), ("idempotency-key", &*key())];
    let answer = shop
        .send("POST", "/v1/imports/plugs", Who::Clerk, &headers, table)
        .expect(201);
    assert_eq!(
        answer.json,
        json!({ "rows": RECORDS, "created": RECORDS, "updated": 0, "unchanged": 0 })
    );
}

/// Asks for every build, in every stock mode, and for some parts, and compares each answer with the
/// scan; the answers of [`answers`].
fn check(shop: &Shop, builds: &[Value], dice: &mut Dice, seen: &mut Seen) -> Vec<Value> {
    let scan = Scan::read(shop);
    for build in builds {
        let own = build["induction"] == "naturally_aspirated" && build["gap_mm"].is_null();
        let gap = if own { Gap::Own } else { Gap::Unset };
        check_subject(
            shop,
            &scan,
            &json!({ "build": build }),
            gap,
            None,
            dice,
            seen,
        );
    }
    for _ in 0..40 {
        let part = &scan.records[dice.within(0, scan.records.len() as i64 - 1) as usize];
        let subject = json!({ "plug_id": part.id });
        let lacks = ["thread", "seat", "reach_mm", "heat_index"]
            .iter()
            .any(|name| part.shows(name).is_none());
        if lacks {
            shop.post(Who::Reader, "/v1/matches", &subject)
                .problem(409, "requirement_incomplete");
        } else {
            let answer = check_subject(
                shop,
                &scan,
                &subject,
                Gap::Unset,
                part.number("projection_mm"),
                dice,
                seen,
            );
            // The part itself is among them, unless nobody knows of its resistor: then one is demanded.
            let itself = answer["fits"]
                .as_array()
                .expect("fits")
                .iter()
                .any(|fit| fit["plug"]["id"] == *part.id);
            let cut = answer["totals"]["fits_in_catalogue"].as_u64() > Some(MOST_FITS as u64);
            assert!(
                itself == part.shows("resistor").is_some() || cut,
                "{part:?} is no equivalent of itself"
            );
        }
    }
    answers(shop, builds)
}

fn check_subject(
    shop: &Shop,
    scan: &Scan,
    subject: &Value,
    gap: Gap,
    base_projection: Option<i64>,
    dice: &mut Dice,
    seen: &mut Seen,
) -> Value {
    let most = json!({ "stock": "ignore", "limit": MOST_FITS, "near_misses": MOST_NEAR_MISSES });
    let answer = ask(shop, subject, &most);
    let requirement = &answer["requirement"];
    let asked = Asked {
        gap,
        base_projection,
        quantity: requirement["quantity"]["total"].as_i64().expect("a total"),
        least: 0,
    };
    let expected = scan.apply(requirement, asked);
    seen.note(
        &expected,
        requirement["demands"].as_array().expect("demands"),
        scan,
    );
    same(&answer, &expected, subject);

    // The requirement posted back gives the same fits; whose own gap is set it does not carry.
    let posted = json!({ "requirement": requirement });
    let again = ask(shop, &posted, &most);
    let bare = Asked {
        gap: Gap::Unset,
        base_projection: None,
        ..asked
    };
    same(&again, &scan.apply(requirement, bare), &posted);
    let in_catalogue = |answer: &Value| answer["totals"]["fits_in_catalogue"].clone();
    assert_eq!(in_catalogue(&again), in_catalogue(&answer));

    let quantity = dice.within(1, 12);
    for (stock, least) in [("enough", quantity), ("some", 1)] {
        let few = json!({ "stock": stock, "quantity": quantity, "limit": 5, "near_misses": 3 });
        let mut expected = scan.apply(
            requirement,
            Asked {
                quantity,
                least,
                ..asked
            },
        );
        expected.fits.truncate(5);
        expected.near_misses.truncate(3);
        same(&ask(shop, subject, &few), &expected, subject);
    }
    answer
}

fn ask(shop: &Shop, subject: &Value, more: &Value) -> Value {
    let body = with(subject.clone(), more.clone());
    shop.post(Who::Reader, "/v1/matches", &body)
        .expect(200)
        .json
}

/// Compares an answer with what the scan found, member by member, in order.
fn same(answer: &Value, expected: &Expected, subject: &Value) {
    let totals =
        json!({ "fits_in_catalogue": expected.in_catalogue, "fits_in_stock": expected.in_stock });
    assert_eq!(answer["totals"], totals, "{subject}");
    let list = |name: &str| {
        answer[name]
            .as_array()
            .unwrap_or_else(|| panic!("no {name}"))
            .clone()
    };
    let ids = |found: &[Found], most: usize| {
        found
            .iter()
            .take(most)
            .map(|f| f.id.clone())
            .collect::<Vec<_>>()
    };
    let (fits, near_misses) = (list("fits"), list("near_misses"));
    let answered = |list: &[Value]| {
        list.iter()
            .map(|entry| text(&entry["plug"], "id"))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        answered(&fits),
        ids(&expected.fits, MOST_FITS),
        "fits of {subject}"
    );
    assert_eq!(
        answered(&near_misses),
        ids(&expected.near_misses, MOST_NEAR_MISSES),
        "near misses of {subject}"
    );
    for (fit, found) in fits.iter().zip(&expected.fits) {
        assert_eq!(fit["available"], found.available, "{fit}");
        assert_eq!(fit["on_hand"], found.on_hand, "{fit}");
        assert_eq!(
            fit["set_gap_mm"].as_f64().map(fine),
            found.set_gap,
            "{fit} of {subject}"
        );
        let picks: Vec<Value> = found
            .picks
            .iter()
            .map(|p| json!({ "lot_id": p.lot_id, "place_id": p.place_id, "quantity": p.quantity }))
            .collect();
        assert_eq!(fit["picks"], Value::from(picks), "{fit}");
        let verdicts: Vec<&str> = found
            .verdicts
            .iter()
            .map(|verdict| verdict.word())
            .collect();
        assert_eq!(column(&fit["verdicts"], "verdict"), verdicts, "{fit}");
    }
    for (miss, found) in near_misses.iter().zip(&expected.near_misses) {
        assert_eq!(miss["available"], found.available, "{miss}");
        assert_eq!(column(&miss["fails"], "attribute"), found.fails, "{miss}");
    }
}

fn column<'v>(list: &'v Value, member: &str) -> Vec<&'v str> {
    list.as_array()
        .expect("a list")
        .iter()
        .map(|entry| entry[member].as_str().expect("a word"))
        .collect()
}

/// The whole answers to all builds, to be compared with later ones.
fn answers(shop: &Shop, builds: &[Value]) -> Vec<Value> {
    let ask = |build: &Value| {
        let body = json!({ "build": build, "stock": "ignore", "limit": MOST_FITS, "near_misses": MOST_NEAR_MISSES });
        shop.post(Who::Reader, "/v1/matches", &body)
            .expect(200)
            .json
    };
    builds.iter().map(ask).collect()
}
