//! Lines, each recomputed from its own members alone.

use plugwell_domain::calendar::CalendarPeriod;
use plugwell_domain::forecast::ForecastMethod;
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::{
    Known, LeadDays, Position, ReorderLine, ReorderNoteCode, Reordering, Start, booked_series,
    starts,
};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::engine::plug;
use crate::formulas::quantile;

/// A line without anything given by hand.
struct Case<'a> {
    history: &'a [i64],
    hand: Reordering,
    past: &'a [f64],
    position: (i64, i64, i64),
    start: Option<Start>,
    unit_cost: Option<i64>,
}

impl<'a> Case<'a> {
    fn of(history: &'a [i64]) -> Self {
        Self {
            history,
            hand: Reordering::default(),
            past: &[10.0, 14.0],
            position: (0, 0, 0),
            start: None,
            unit_cost: Some(410),
        }
    }

    fn line(self, policy: &Policy) -> ReorderLine {
        let record: Plug = plug(json!({ "thread": "M14x1.25" }));
        let (on_hand, reserved, on_order) = self.position;
        let known = Known {
            plug: &record,
            last_period: policy
                .values
                .demand_period
                .value
                .number("2026-11-25T12:00:00Z".parse().unwrap()),
            history: self.history,
            start: self.start,
            hand: &self.hand,
            supplier: Some("Ostra Parts".to_owned()),
            lead: LeadDays::of(&self.hand, self.past, None, &policy.values),
            unit_cost: self.unit_cost,
            pack_size: Some(4),
            position: Position {
                on_hand,
                reserved,
                on_order,
            },
            use_first: Vec::new(),
        };
        ReorderLine::of(known, policy)
    }
}

/// Puts every figure of a line together anew from the others, as an outside program would.
fn recompute(line: &Value) {
    let number = |path: &str| {
        line.pointer(path)
            .and_then(Value::as_f64)
            .unwrap_or_else(|| panic!("{path}: {line}"))
    };
    let series: Vec<f64> = line["demand"]["series"]
        .as_array()
        .unwrap()
        .iter()
        .map(|n| n.as_f64().unwrap())
        .collect();
    let mean = series.iter().sum::<f64>() / series.len() as f64;
    let squares: f64 = series.iter().map(|n| (n - mean) * (n - mean)).sum();
    let sd = (squares / (series.len() as f64 - 1.0)).sqrt();
    assert!((number("/demand_sd") - sd).abs() < 1e-9);
    let (f, l, sd_l) = (
        number("/forecast_per_period"),
        number("/lead_time_periods/mean"),
        number("/lead_time_periods/sd"),
    );
    let z = quantile(number("/service_level"));
    let safety = z * (l * sd * sd + f * f * sd_l * sd_l).sqrt();
    assert!((number("/safety_stock") - safety).abs() < 1e-9);
    let yearly = f * number("/periods_per_year");
    let economic = (2.0 * yearly * number("/order_cost/minor")
        / (number("/holding_rate") * number("/unit_cost/minor")))
    .sqrt();
    assert!((number("/economic_quantity") - economic).abs() < 1e-9);
    let position = number("/on_hand") - number("/reserved") + number("/on_order");
    assert_eq!(number("/position"), position);
    let (point, pack) = (number("/reorder_point"), number("/pack_size"));
    let wanted = if line["by_hand"].is_null() {
        assert_eq!(point, (f * l + number("/safety_stock")).ceil());
        economic.max(point - position)
    } else {
        assert_eq!(point, number("/by_hand/min_quantity"));
        number("/by_hand/max_quantity") - position
    };
    let ordered = if position <= point {
        (wanted.ceil() / pack).ceil() * pack
    } else {
        0.0
    };
    assert_eq!(number("/order_quantity"), ordered);
    assert_eq!(number("/packs") * pack, ordered);
    assert_eq!(number("/cost/minor"), ordered * number("/unit_cost/minor"));
}

fn codes(line: &ReorderLine) -> Vec<ReorderNoteCode> {
    line.notes.iter().map(|note| note.code).collect()
}

#[test]
fn a_line_shows_its_arithmetic_in_words() {
    let policy = Policy::default();
    let case = Case {
        position: (4, 2, 0),
        ..Case::of(&[2, 3, 1, 4, 2, 3, 5, 2, 3, 4, 2, 1])
    };
    let line = case.line(&policy);
    recompute(&serde_json::to_value(&line).unwrap());
    // Croston 2.4474103371 from a package; mean of 10 and 14 days, deviation √8; z 1.64485363;
    // deviation of the series by hand: 102 − 32² / 12 over 11 is 1.515.
    assert_eq!(line.method, ForecastMethod::Croston);
    assert_eq!(
        line.text,
        "32 plugs in 12 weeks, smooth (some every 1 week, squared variation of the sizes 0.2): Croston's method with \
         alpha 0.1 expects 2.45 a week; they deviate by 1.23. That method, since the policy names it for smooth demand. Delivery takes 12 days (1.71 weeks), from 2 deliveries, ± \
         2.83 days (0.4 weeks). Service level 95 %, so z = 1.645: safety stock 1.645 × √(1.71 × 1.23² + 2.45² × 0.4²) = \
         3.11; reorder point 2.45 × 1.71 + 3.11 = 7.31, rounded up 8. 4 on hand − 2 reserved + 0 on order = 2, at 8 or \
         below: order the greater of the economic quantity √(2 × 2.45 × 52 × 6.00 USD / (0.25 × 4.10 USD)) = 38.6 and \
         what is missing, 6, in packs of 4 (10): 40 plugs, about 164.00 USD."
    );
    assert_eq!(
        line.demand.from.to_string(),
        "2026-09-07",
        "twelve Mondays up to the week of 23 November"
    );
    let above = Case {
        position: (20, 2, 0),
        ..Case::of(&[2, 3, 1, 4, 2, 3, 5, 2, 3, 4, 2, 1])
    }
    .line(&policy);
    assert!(
        !above.due
            && above
                .text
                .ends_with("20 on hand − 2 reserved + 0 on order = 18, above 8: nothing to order.")
    );
}

#[test]
fn the_class_and_silence_choose_the_method() {
    let mut policy = Policy::default();
    let few = [9, 8, 0, 0, 0, 0, 0, 0, 8, 0, 0];
    let line = Case::of(&few).line(&policy);
    // Croston would say 8.8 × 0.95 a week here: its beginning, an interval of 1, outweighs.
    assert_eq!(
        line.method,
        ForecastMethod::Mean,
        "three sizes tell too little"
    );
    assert!((line.forecast_per_period - 25.0 / 11.0).abs() < 1e-12);
    let told = " The mean, since there was demand in only 3 weeks: by the policy the methods for bursts take 8. ";
    assert!(line.text.contains(told), "{}", line.text);
    let none = Case::of(&[0; 8]).line(&policy);
    let told = " The mean, since without demand there is nothing else. ";
    assert!(none.text.contains(told), "{}", none.text);
    policy.values.demand_least_sizes.value = 1;
    let method = |policy: &Policy, history: &[i64]| Case::of(history).line(policy).method;
    assert_eq!(
        method(&policy, &[1, 30, 2, 1, 25, 1, 1, 2]),
        ForecastMethod::Sba,
        "erratic"
    );
    assert_eq!(
        method(&policy, &[4, 0, 0, 4, 0, 4, 0, 4]),
        ForecastMethod::Sba,
        "intermittent"
    );
    assert_eq!(
        method(&policy, &[4, 0, 0, 40, 0, 1, 0, 4]),
        ForecastMethod::Sba,
        "lumpy"
    );
    assert_eq!(
        method(&policy, &[0; 8]),
        ForecastMethod::Mean,
        "nothing to tell a class by"
    );
    policy.values.method_lumpy.value = ForecastMethod::Croston;
    assert_eq!(
        method(&policy, &[4, 0, 0, 40, 0, 1, 0, 4]),
        ForecastMethod::Croston
    );
    let mut silent = vec![4, 0, 4, 0, 4, 0, 4, 4];
    silent.extend([0; 20]);
    let line = Case::of(&silent).line(&policy);
    assert_eq!(
        (line.method, line.method_parameters.beta),
        (ForecastMethod::Tsb, Some(0.05))
    );
    assert!(codes(&line).contains(&ReorderNoteCode::DemandSilent));
    let told = " That method, since nothing was asked for in the last 20 weeks, more than 3 average intervals: the \
                policy names it for demand that has fallen silent. ";
    assert!(line.text.contains(told), "{}", line.text);
}

#[test]
fn a_part_without_history_begins_with_the_greatest_that_is_known() {
    let policy = Policy::default();
    let week = CalendarPeriod::Week;
    let booked = Start {
        series: booked_series(&[9, 5], 1, week),
        text: "Booked builds".into(),
    };
    assert_eq!(booked.series.iter().sum::<i64>(), 14);
    assert_eq!(
        (booked.series.len(), booked.series[13], booked.series[39]),
        (52, 9, 5)
    );
    let equivalent = Start {
        series: vec![0, 1, 0, 1],
        text: "Its equivalent".into(),
    };
    let start = starts(vec![booked.clone(), equivalent], week);
    assert_eq!(start.series, [0, 1, 0, 1]);
    assert_eq!(
        start.text,
        "Booked builds: 0.27 per week. Its equivalent: 0.50 per week. The greatest counts."
    );
    let line = Case {
        start: Some(start),
        ..Case::of(&[3, 0])
    }
    .line(&policy);
    assert_eq!(
        (line.method, line.class, line.forecast_per_period),
        (ForecastMethod::Given, None, 0.5)
    );
    assert!(
        line.text.starts_with(
            "Too little history for a forecast (2 whole weeks, of 8 that it takes by the policy), so a start of 4 weeks, "
        ),
        "{}",
        line.text
    );
    recompute(&serde_json::to_value(&line).unwrap());
    let none = Case {
        position: (0, 3, 0),
        ..Case::of(&[])
    }
    .line(&policy);
    assert_eq!(
        (none.method, none.demand.series.clone(), none.order_quantity),
        (ForecastMethod::Given, vec![0, 0], 4)
    );
    assert_eq!(
        codes(&none),
        [ReorderNoteCode::NoHistory],
        "{:?}",
        none.notes
    );
    recompute(&serde_json::to_value(&none).unwrap());
}

#[test]
fn what_is_given_by_hand_stands_above_what_is_computed() {
    let policy = Policy::default();
    let history = [2, 3, 1, 4, 2, 3, 5, 2, 3, 4, 2, 1];
    let hand = Reordering {
        min_quantity: Some(30),
        max_quantity: Some(61),
        service_level: Some(0.98),
        ..Reordering::default()
    };
    let line = Case {
        hand,
        position: (22, 0, 0),
        unit_cost: None,
        past: &[],
        ..Case::of(&history)
    }
    .line(&policy);
    assert_eq!(
        (
            line.reorder_point,
            line.order_quantity,
            line.unit_cost.minor
        ),
        (30, 40, 600)
    );
    assert_eq!(
        codes(&line),
        [
            ReorderNoteCode::LeadTimeAssumed,
            ReorderNoteCode::UnitCostAssumed,
            ReorderNoteCode::GivenByHand
        ]
    );
    assert!(
        line.text
            .contains("By hand: order at 30 or fewer, up to 61."),
        "{}",
        line.text
    );
    let packs = "in packs of 4 (10, rounded up: 1 above the greatest): 40 plugs";
    assert!(line.text.contains(packs), "{}", line.text);
    recompute(&serde_json::to_value(&line).unwrap());
}

proptest! {
    #[test]
    fn every_line_can_be_recomputed_from_its_members(
        history in prop::collection::vec(prop_oneof![3 => Just(0_i64), 2 => 1_i64..40], 0..110),
        past in prop::collection::vec(0.0_f64..60.0, 0..5),
        position in (0_i64..80, 0_i64..30, 0_i64..60),
        level in prop::option::of(0.5_f64..0.9999),
        band in prop::option::of((0_i64..50, 1_i64..50)),
        unit_cost in prop::option::of(0_i64..5_000),
        month in any::<bool>(),
    ) {
        let mut policy = Policy::default();
        policy.values.demand_period.value = if month { CalendarPeriod::Month } else { CalendarPeriod::Week };
        let hand = Reordering {
            service_level: level,
            min_quantity: band.map(|(least, _)| least),
            max_quantity: band.map(|(least, more)| least + more),
            ..Reordering::default()
        };
        let case = Case { hand, past: &past, position, unit_cost, ..Case::of(&history) };
        let line = case.line(&policy);
        prop_assert!(line.demand.series.len() >= 2);
        recompute(&serde_json::to_value(&line).unwrap());
    }
}
