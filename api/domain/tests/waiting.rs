//! Jobs that wait: whose turn it is, where a job stands, and what is kept of what it asked for.

mod engine;

use std::cmp::Reverse;
use std::collections::HashMap;

use chrono::{DateTime, Utc};
use engine::need;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::fit::Standing;
use plugwell_domain::requirement::Requirement;
use plugwell_domain::waiting::{
    Offered, Turned, WaitingFit, WaitingJob, WaitingState, cautions_of, in_turn,
};
use proptest::prelude::*;
use serde_json::json;
use uuid::Uuid;

fn offer(part: u128, available: i64) -> Offered {
    Offered {
        standing: Standing {
            heat_distance: 0,
            projection_distance: 0,
            preferences_missed: 0,
            several_lots: false,
            available: Reverse(available),
        },
        part_number: part.to_string(),
        plug_id: Uuid::from_u128(part),
        available,
    }
}

fn turns(line: &[(i64, Vec<Offered>)]) -> Vec<Vec<(u128, i64)>> {
    let left = in_turn(line.iter().map(|(n, offers)| (*n, offers.as_slice())));
    let plain = |fit: &WaitingFit| (fit.plug_id.as_u128(), fit.available);
    left.iter()
        .map(|fits| fits.iter().map(plain).collect())
        .collect()
}

#[test]
fn whoever_asked_first_is_counted_first() {
    let of = |n| (n, vec![offer(1, 10)]);
    let none: [(u128, i64); 0] = [];
    assert_eq!(turns(&[of(8), of(6)]), [vec![(1, 10)], none.to_vec()]);
    // One that cannot be served keeps nothing from those behind it.
    assert_eq!(
        turns(&[of(4), of(12), of(6)]),
        [vec![(1, 10)], none.to_vec(), vec![(1, 6)]]
    );
    // What suits the first best is set aside, not all that it could take.
    let both = |n| (n, vec![offer(1, 8), offer(2, 8)]);
    assert_eq!(
        turns(&[both(8), both(8), both(8)]),
        [vec![(1, 8), (2, 8)], vec![(2, 8)], none.to_vec()]
    );
}

proptest! {
    /// Nobody is told of plugs that those before them are told of; nobody who could be served is not.
    #[test]
    fn all_that_are_told_can_be_served_together(
        stock in prop::collection::vec(0_i64..40, 1..5),
        asked in prop::collection::vec((1_i64..20, prop::collection::vec(any::<bool>(), 5)), 0..12),
    ) {
        let line: Vec<(i64, Vec<Offered>)> = asked.iter().map(|(quantity, meets)| {
            let offers = stock.iter().enumerate().filter(|(part, available)| meets[*part] && *available >= quantity);
            (*quantity, offers.map(|(part, available)| offer(part as u128, *available)).collect())
        }).collect();
        let mut left: HashMap<u128, i64> = stock.iter().enumerate().map(|(part, n)| (part as u128, *n)).collect();
        for ((quantity, offers), fits) in line.iter().zip(turns(&line)) {
            let could = offers.iter().filter(|o| left[&o.plug_id.as_u128()] >= *quantity);
            let could: Vec<_> = could.map(|o| (o.plug_id.as_u128(), left[&o.plug_id.as_u128()])).collect();
            prop_assert_eq!(&fits, &could);
            if let Some((best, _)) = fits.first() {
                *left.get_mut(best).unwrap() -= quantity;
            }
        }
        prop_assert!(left.values().all(|n| *n >= 0));
    }
}

fn job() -> WaitingJob {
    WaitingJob {
        job: "Heron".into(),
        place_id: Uuid::from_u128(1),
        build_id: None,
        quantity: 8,
        open_quantity: 8,
        state: WaitingState::Waiting,
        fits: Vec::new(),
        possible_since: None,
        closed_at: None,
        asked_by: "somebody".into(),
    }
}

fn at(second: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(second, 0).unwrap()
}

#[test]
fn it_becomes_possible_once_until_it_waits_again() {
    let fits = |n| {
        vec![WaitingFit {
            plug_id: Uuid::from_u128(7),
            available: n,
        }]
    };
    let mut own = job();
    assert_eq!(own.stand(Vec::new(), at(0)), None, "it waits as before");
    assert_eq!(own.stand(fits(8), at(1)), Some(Turned::Possible));
    assert_eq!(own.stand(fits(9), at(2)), None, "more is no news");
    assert_eq!(own.possible_since, Some(at(1)));
    assert_eq!(own.stand(Vec::new(), at(3)), Some(Turned::WaitsAgain));
    assert_eq!(own.stand(Vec::new(), at(3)), None, "that is told once");
    assert_eq!(
        (own.state, own.possible_since),
        (WaitingState::Waiting, None)
    );
    assert_eq!(own.stand(fits(8), at(4)), Some(Turned::Possible));
    own.got(5, at(5));
    assert_eq!((own.open_quantity, own.closed_at), (3, None));
    own.got(4, at(6));
    assert_eq!(
        (own.state, own.open_quantity, own.closed_at),
        (WaitingState::Closed, 0, Some(at(6)))
    );
    assert_eq!(own.fits, []);
    let text = serde_json::to_string(&own).unwrap();
    assert_eq!(serde_json::from_str::<WaitingJob>(&text).unwrap(), own);
}

#[test]
fn what_is_kept_is_judged_like_what_was_asked() {
    let blown = json!({});
    let plain = json!({ "induction": "naturally_aspirated", "boost_kpa": null, "coil_kv": null });
    let nitrous =
        json!({ "induction": "nitrous", "boost_kpa": null, "head": { "projection_max_mm": null } });
    for changes in [blown, plain, nitrous] {
        let needs = need(changes);
        let text = needs.to_kept().to_string();
        let mut kept = Requirement::from_kept(&serde_json::from_str(&text).unwrap()).unwrap();
        // Unrounded figures that nothing is judged by may lose the last bit on paper.
        let near = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * a.abs(),
            (a, b) => a == b,
        };
        assert!(near(kept.heat.steps_asked, needs.heat.steps_asked));
        kept.heat.steps_asked = needs.heat.steps_asked;
        let kv = |r: &Requirement| r.gap.spark.as_ref().and_then(|spark| spark.needed_kv);
        assert!(near(kv(&kept), kv(&needs)));
        kept.gap.spark.clone_from(&needs.gap.spark);
        assert_eq!(kept, needs);
    }
    assert!(Requirement::from_kept(&json!({})).is_err());
    let posted = Requirement::from_json(&json!({ "demands": [] })).unwrap();
    let codes: Vec<_> = cautions_of(&posted).iter().map(|c| c.code).collect();
    assert_eq!(
        codes,
        [
            CautionCode::ConfirmWithHeadMaker,
            CautionCode::MakersStandAbove
        ]
    );
    let needs = need(json!({}));
    assert_eq!(cautions_of(&needs), needs.cautions, "none twice");
}
