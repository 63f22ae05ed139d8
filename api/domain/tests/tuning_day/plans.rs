//! The plan of a day: its arithmetic, its part, what is short, where the day stands.

use chrono::{NaiveDate, TimeDelta};
use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::fault::{Check, FaultCode};
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::Strength;
use plugwell_domain::tuning_day::{
    Choice, DayPlan, DayQuantity, Filling, Looked, Offer, TuningDay, put_in_order, requirement,
};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::engine::{build, need};
use crate::shelf::{OWN, offer, part, sealed};

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// A day in a month from [`today`], with some members changed.
pub fn asked(over: Value) -> TuningDay {
    let mut body = json!({ "name": "Heron at the hill", "build_id": Uuid::nil(), "day": "2030-05-31", "pulls": 3 });
    body.as_object_mut()
        .unwrap()
        .extend(over.as_object().unwrap().clone());
    serde_json::from_value(body).unwrap()
}

/// A day a month before the planned one.
pub fn today() -> NaiveDate {
    date("2030-05-01")
}

fn quantity(day: Value, engine: Value) -> Result<DayQuantity, FaultCode> {
    let (engine, _) = build(&engine);
    DayQuantity::of(&asked(day), &engine, &Policy::default().values).map_err(|f| f.code)
}

/// The plan of a day over the standard build.
pub fn plan(
    day: &TuningDay,
    offers: Vec<Offer>,
    fillings: Vec<Filling>,
    today: NaiveDate,
) -> DayPlan {
    let (engine, _) = build(&json!({}));
    let values = Policy::default().values;
    let quantity = DayQuantity::of(day, &engine, &values).unwrap();
    DayPlan::of(
        day,
        quantity,
        need(json!({})),
        Looked {
            offers,
            nearest: None,
            fillings,
        },
        &values,
        today,
    )
}

#[test]
fn pulls_by_cylinders_by_plugs_and_spares() {
    let total = |day: Value, engine: Value| quantity(day, engine).map(|q| q.total);
    // The policy's one spare; then the build's own; then the day's own.
    assert_eq!(total(json!({}), json!({})), Ok(3 * 8 + 1));
    assert_eq!(total(json!({}), json!({ "spares": 4 })), Ok(3 * 8 + 4));
    assert_eq!(
        total(json!({ "spares": 0 }), json!({ "spares": 4 })),
        Ok(3 * 8)
    );
    assert_eq!(
        total(json!({ "pulls": 9, "cylinders_read": 2 }), json!({})),
        Ok(9 * 2 + 1)
    );
    let twin = json!({ "cylinders": 6, "plugs_per_cylinder": 2 });
    assert_eq!(total(json!({}), twin.clone()), Ok(3 * 6 * 2 + 1));
    assert_eq!(total(json!({ "cylinders_read": 6 }), twin.clone()), Ok(37));
    assert_eq!(
        total(json!({ "cylinders_read": 7 }), twin),
        Err(FaultCode::Contradiction)
    );
    let most = json!({ "pulls": 100, "spares": 100 });
    let engine = json!({ "cylinders": 16, "plugs_per_cylinder": 3 });
    assert_eq!(total(most, engine), Ok(4_900));
}

#[test]
fn the_metal_is_free_unless_the_day_names_one() {
    let (engine, head) = build(&json!({ "electrode": ["iridium"] }));
    let policy = Policy::default();
    let free = requirement(&engine, &head, None, None, &policy).unwrap();
    assert!(free.demands.iter().all(|d| d.attribute != Attr::Electrode));
    let (street, _) = build(&json!({}));
    let free_too = requirement(&street, &head, None, None, &policy).unwrap();
    assert_eq!(free, free_too, "no preference of the street either");
    let nickel = [plugwell_domain::words::Electrode::Nickel];
    let named = requirement(&engine, &head, None, Some(&nickel), &policy).unwrap();
    let demand = named.demand(Attr::Electrode, Strength::Must).unwrap();
    assert_eq!(
        demand.test.to_json(Attr::Electrode),
        json!({ "one_of": ["nickel"] })
    );
    // All else is what the build asks for.
    let whole = need(json!({}));
    let but_metal = |d: &&plugwell_domain::requirement::Demand| d.attribute != Attr::Electrode;
    let wanted: Vec<_> = whole.demands.iter().filter(but_metal).collect();
    assert_eq!(free.demands.iter().collect::<Vec<_>>(), wanted);
}

#[test]
fn what_is_there_in_full_lacks_nothing() {
    let offers = vec![
        offer(1, &sealed(&[(30, Some(9_000))]), 25),
        offer(2, &sealed(&[(40, Some(40_000))]), 25),
    ];
    let made = plan(&asked(json!({})), offers, vec![], today());
    assert_eq!((made.choice, &made.short), (Choice::InFull, &None));
    assert_eq!(made.quantity.total, 25);
    assert_eq!(made.proposed.unwrap().plug.part_number, "FW-1");
    assert_eq!(made.others.len(), 1);
    assert!(made.why.contains("2 parts"), "{}", made.why);
    let codes: Vec<CautionCode> = made.cautions.iter().map(|c| c.code).collect();
    for code in [CautionCode::LeadsSuffer, CautionCode::MakersStandAbove] {
        assert!(codes.contains(&code), "{code}");
    }
    let unpriced = vec![offer(1, &sealed(&[(30, None)]), 25)];
    let made = plan(&asked(json!({})), unpriced, vec![], today());
    assert!(
        made.why.contains("25 of its plugs cost"),
        "unknown is said: {}",
        made.why
    );
}

#[test]
fn what_is_short_is_ordered_in_time_or_late() {
    let short_on = |day: &str, today: &str| {
        let offers = vec![offer(1, &sealed(&[(20, Some(9_000))]), 25)];
        let made = plan(&asked(json!({ "day": day })), offers, vec![], date(today));
        assert_eq!(made.choice, Choice::InPart);
        made.short.unwrap()
    };
    // Seven days before, by the policy (own).
    let early = short_on("2030-05-31", "2030-05-24");
    assert_eq!(
        (early.quantity, early.order_by, early.days_late),
        (5, date("2030-05-24"), 0)
    );
    assert!(early.text.contains("order them by 2030-05-24"));
    let late = short_on("2030-05-31", "2030-05-25");
    assert_eq!((late.order_by, late.days_late), (date("2030-05-24"), 1));
    assert!(late.text.contains("quick delivery"), "{}", late.text);
    let now = short_on("2030-05-31", "2030-05-31");
    assert_eq!(now.days_late, 7);
}

#[test]
fn the_part_that_lacks_least_is_named_or_taken() {
    let there =
        |number: u128, stock: i64, cost: i64| offer(number, &sealed(&[(stock, Some(cost))]), 25);
    let offers = || {
        let mut both = vec![there(1, 1, 50), there(2, 24, 24_000)];
        put_in_order(&mut both, true);
        both
    };
    let early = plan(&asked(json!({})), offers(), vec![], today());
    assert_eq!(early.proposed.unwrap().plug.part_number, "FW-1");
    assert!(
        early.why.contains("FW-2 lacks least: 1 plug."),
        "{}",
        early.why
    );
    // The day is too near to order: who has most is taken, and nobody lacks less.
    let mut late_offers = offers();
    put_in_order(&mut late_offers, false);
    let late = plan(&asked(json!({})), late_offers, vec![], date("2030-05-30"));
    assert_eq!(late.proposed.unwrap().plug.part_number, "FW-2");
    assert!(late.why.contains("this one lacks least"), "{}", late.why);
    assert_eq!(late.short.unwrap().quantity, 1);
    let named = |looked: Looked| {
        let (engine, _) = build(&json!({}));
        let values = Policy::default().values;
        let day = asked(json!({}));
        let quantity = DayQuantity::of(&day, &engine, &values).unwrap();
        DayPlan::of(&day, quantity, need(json!({})), looked, &values, today()).why
    };
    let of = |nearest: Option<usize>| {
        named(Looked {
            offers: vec![there(1, 30, 50)],
            nearest,
            fillings: vec![],
        })
    };
    assert!(
        of(Some(200)).contains("the 200 nearest"),
        "{}",
        of(Some(200))
    );
    assert!(!of(None).contains("nearest"));
}

#[test]
fn packs_stand_beside_what_is_short() {
    let needed = need(json!({}));
    let short = |over: Value, lot: Option<i64>| {
        let mut shelf = sealed(&[(20, Some(9_000))]);
        shelf.lots[0].pack_size = lot;
        let own = Offer::of(&part(1, over), &needed, &shelf, 25, OWN);
        plan(&asked(json!({})), vec![own], vec![], today())
            .short
            .unwrap()
    };
    let four = short(json!({ "pack_size": 4 }), Some(10));
    assert_eq!(
        (four.quantity, four.pack_size, four.packs),
        (5, Some(4), Some(2))
    );
    assert!(four.text.contains("packs of 4: 2"), "{}", four.text);
    assert_eq!(short(json!({ "pack_size": 5 }), None).packs, Some(1));
    // Where the record is silent the newest lot tells.
    assert_eq!(short(json!({}), Some(10)).packs, Some(1));
    let unknown = short(json!({}), None);
    assert_eq!((unknown.pack_size, unknown.packs), (None, None));
    assert!(!unknown.text.contains("pack"), "{}", unknown.text);
}

#[test]
fn only_other_parts_of_the_very_same_heat_stand_in() {
    let own = offer(1, &sealed(&[(20, Some(9_000))]), 25);
    let filling = |number: u128, heat: Value, available: i64| Filling {
        plug: (&part(number, json!({ "heat_index": heat }))).into(),
        available,
    };
    let fillings = vec![
        filling(1, json!(70), 20),
        filling(2, json!(72.5), 9),
        filling(3, json!(70), 4),
        filling(4, json!(null), 50),
    ];
    let made = plan(&asked(json!({})), vec![own], fillings, today());
    let short = made.short.unwrap();
    let named: Vec<&str> = short
        .fill_with
        .iter()
        .map(|f| f.plug.part_number.as_str())
        .collect();
    assert_eq!(named, ["FW-3"]);
    assert!(short.text.contains("never two parts within one pull"));
}

#[test]
fn how_the_part_was_come_by() {
    let named = asked(json!({ "plug_id": Uuid::nil() }));
    let cheap = || offer(1, &sealed(&[(30, Some(1))]), 25);
    let made = plan(&named, vec![cheap()], vec![], today());
    assert_eq!(made.choice, Choice::Named);
    let none = plan(
        &asked(json!({})),
        vec![offer(1, &sealed(&[]), 25)],
        vec![],
        today(),
    );
    assert_eq!(none.choice, Choice::NotOnShelf);
    assert_eq!(none.short.unwrap().quantity, 25);
    let nothing = plan(&asked(json!({})), vec![], vec![], today());
    assert_eq!(
        (nothing.choice, &nothing.proposed),
        (Choice::NothingFits, &None)
    );
    let short = nothing.short.unwrap();
    assert_eq!(short.quantity, 25);
    assert!(short.text.contains("enter a part"), "{}", short.text);
    let needed = need(json!({}));
    let old = part(1, json!({ "status": "discontinued" }));
    let old = Offer::of(&old, &needed, &sealed(&[(9, Some(900))]), 25, OWN);
    let made = plan(&asked(json!({})), vec![old], vec![], today());
    let text = made.short.unwrap().text;
    assert!(text.contains("no longer supplies"), "{text}");
}

#[test]
fn faults_of_a_day() {
    let faults = |over: Value| -> Vec<String> {
        let found = asked(over).faults();
        found
            .iter()
            .map(|f| format!("{} {}", f.pointer, f.code))
            .collect()
    };
    assert_eq!(faults(json!({})), [""; 0]);
    let whole = json!({
        "name": " ", "build_id": null, "pulls": 101, "cylinders_read": 0, "spares": 101, "electrode": []
    });
    assert_eq!(
        faults(whole),
        [
            "#/name out_of_range",
            "#/build_id missing",
            "#/pulls out_of_range",
            "#/cylinders_read out_of_range",
            "#/spares out_of_range",
            "#/electrode out_of_range"
        ]
    );
    let inline = json!({ "cylinders": 8, "induction": "supercharged", "use": "street" });
    assert_eq!(
        faults(json!({ "build": inline, "pulls": 0 })),
        [
            "#/build_id not_together",
            "#/build/head missing",
            "#/pulls out_of_range"
        ]
    );
    let on = |day: NaiveDate| asked(json!({ "day": day })).day_fault(today()).is_some();
    let from_today = |days: i64| today() + TimeDelta::days(days);
    assert!(on(from_today(-1)) && on(from_today(732)));
    assert!(!on(from_today(0)) && !on(from_today(731)));
}
