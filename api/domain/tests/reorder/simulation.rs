//! What a service level is worth: parts are sold, reordered by their own lines and delivered for
//! five years, and the deliveries are counted before which the shelf ran empty.
//!
//! The formula takes demand in the lead time for normally distributed and orders for placed at the
//! very reorder point. Where single plugs sell often that holds; where whole sets sell seldom, a set
//! jumps over the reorder point and the normal distribution is too narrow: there the test says by
//! how much the service level is missed.

use plugwell_domain::forecast::{DemandClass, Pattern};
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::arithmetic::order_quantity;
use plugwell_domain::reorder::{Known, LeadDays, Position, ReorderLine, Reordering};
use serde_json::json;

use crate::engine::plug;

const PARTS: usize = 200;
/// Weeks before the first is looked at, and weeks that are counted: five years.
const BEFORE: usize = 52;
const COUNTED: usize = 260;
/// Figures of a line are renewed so often.
const RENEWED: usize = 4;
const LEVELS: [f64; 3] = [0.90, 0.95, 0.98];

/// The generator "splitmix64" (Steele, Lea and Flood 2014): small, and the same everywhere.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Above 0 and at most 1.
    fn unit(&mut self) -> f64 {
        ((self.next() >> 11) + 1) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Time to the next of events that come independently of each other.
    fn wait(&mut self, per_week: f64) -> f64 {
        -self.unit().ln() / per_week
    }

    fn normal(&mut self) -> f64 {
        (-2.0 * self.unit().ln()).sqrt() * (std::f64::consts::TAU * self.unit()).cos()
    }
}

/// How a part sells.
#[derive(Clone, Copy)]
enum Model {
    /// Single plugs, 20 to 60 a week.
    Single,
    /// Sets of one size, one in two to six weeks.
    Sets,
    /// Lots of geometric sizes, 12 on average, one in two to six weeks.
    Wild,
}

struct Part {
    model: Model,
    per_week: f64,
    set: i64,
}

impl Part {
    fn new(model: Model, chance: &mut Chance) -> Self {
        let per_week = match model {
            Model::Single => chance.between(20.0, 60.0),
            Model::Sets | Model::Wild => 1.0 / chance.between(2.0, 6.0),
        };
        let set = [4, 6, 8, 9][(chance.next() % 4) as usize];
        Self {
            model,
            per_week,
            set,
        }
    }

    fn sold(&self, chance: &mut Chance) -> i64 {
        match self.model {
            Model::Single => 1,
            Model::Sets => self.set,
            // Least whole n with 1 − (1 − 1/12)^n at or above a random share.
            Model::Wild => (chance.unit().ln() / (11.0_f64 / 12.0).ln())
                .ceil()
                .max(1.0) as i64,
        }
    }
}

/// Deliveries, and those before which the shelf had run empty.
#[derive(Clone, Copy, Default)]
struct Tally {
    deliveries: u32,
    empty: u32,
}

impl Tally {
    fn service(self) -> f64 {
        1.0 - f64::from(self.empty) / f64::from(self.deliveries)
    }
}

/// The line of a part after so many weeks.
fn line(record: &Plug, sold: &[i64], hand: &Reordering, policy: &Policy) -> ReorderLine {
    let looked_at = &sold[sold.len().saturating_sub(104)..];
    let known = Known {
        plug: record,
        last_period: 2_900,
        history: looked_at,
        start: None,
        hand,
        supplier: None,
        lead: LeadDays::of(hand, &[], None, &policy.values),
        unit_cost: Some(600),
        pack_size: None,
        position: Position::default(),
        use_first: Vec::new(),
    };
    ReorderLine::of(known, policy)
}

/// The shelf of a part, and what is on its way.
struct Shelf {
    on_hand: i64,
    under_way: Vec<(f64, i64)>,
    ran_empty: bool,
    tally: Tally,
}

impl Shelf {
    /// Takes in what has arrived by then, in the order of arrival.
    fn deliver(&mut self, until: f64) {
        self.under_way.sort_by(|a, b| a.0.total_cmp(&b.0));
        while self.under_way.first().is_some_and(|(at, _)| *at <= until) {
            let (_, quantity) = self.under_way.remove(0);
            self.tally.deliveries += 1;
            self.tally.empty += u32::from(self.ran_empty);
            self.on_hand += quantity;
            self.ran_empty = self.on_hand < 0;
        }
    }

    fn position(&self) -> i64 {
        self.on_hand
            + self
                .under_way
                .iter()
                .map(|(_, quantity)| quantity)
                .sum::<i64>()
    }
}

/// Five years of one part; its sales by week with it.
fn five_years(
    part: &Part,
    record: &Plug,
    hand: &Reordering,
    policy: &Policy,
    chance: &mut Chance,
) -> (Tally, Vec<i64>) {
    let mut sold = vec![0_i64; BEFORE + COUNTED];
    let weeks = sold.len();
    let mut shelf = Shelf {
        on_hand: 0,
        under_way: Vec::new(),
        ran_empty: false,
        tally: Tally::default(),
    };
    let mut figures: Option<(usize, i64, f64)> = None;
    let mut at = chance.wait(part.per_week);
    while at < weeks as f64 {
        let week = at as usize;
        let quantity = part.sold(chance);
        if week >= BEFORE {
            let renewed = week - week % RENEWED;
            let (point, economic) = match figures {
                Some((since, point, economic)) if since == renewed => (point, economic),
                before => {
                    let line = line(record, &sold[..renewed], hand, policy);
                    if before.is_none() {
                        shelf.on_hand = line.reorder_point + line.economic_quantity.ceil() as i64;
                    }
                    figures = Some((renewed, line.reorder_point, line.economic_quantity));
                    (line.reorder_point, line.economic_quantity)
                }
            };
            shelf.deliver(at);
            shelf.on_hand -= quantity;
            shelf.ran_empty |= shelf.on_hand < 0;
            let ordered = order_quantity(shelf.position(), point, economic, 1);
            if ordered > 0 {
                let days = hand.lead_time_days.unwrap()
                    + hand.lead_time_sd_days.unwrap() * chance.normal();
                shelf.under_way.push((at + days.max(0.0) / 7.0, ordered));
            }
        }
        sold[week] += quantity;
        at += chance.wait(part.per_week);
    }
    (shelf.tally, sold)
}

/// Each level that is asked for, and the service that it got.
type Tallies = Vec<(f64, Tally)>;

/// The service of 200 parts at each level, and how many parts were of each class.
fn simulated(model: Model, seed: u64) -> (Tallies, Vec<(DemandClass, usize)>) {
    let (policy, mut chance) = (Policy::default(), Chance(seed));
    let record = plug(json!({ "thread": "M14x1.25" }));
    let mut tallies = LEVELS.map(|level| (level, Tally::default()));
    let mut classes: Vec<_> = DemandClass::ALL.iter().map(|class| (*class, 0)).collect();
    for place in 0..PARTS {
        let part = Part::new(model, &mut chance);
        let (level, total) = &mut tallies[place % LEVELS.len()];
        let lead_time_days = chance.between(7.0, 28.0).round();
        let hand = Reordering {
            service_level: Some(*level),
            lead_time_days: Some(lead_time_days),
            lead_time_sd_days: Some(lead_time_days * 0.2),
            ..Reordering::default()
        };
        let (tally, sold) = five_years(&part, &record, &hand, &policy, &mut chance);
        total.deliveries += tally.deliveries;
        total.empty += tally.empty;
        let class = Pattern::of(&sold).unwrap().class;
        classes[class as usize].1 += 1;
    }
    (tallies.to_vec(), classes)
}

/// Checks by how much each level is missed, in points of a hundred: below zero it falls short.
fn misses(model: Model, name: &str, band: std::ops::RangeInclusive<f64>, classes: &[DemandClass]) {
    let (tallies, found) = simulated(model, 20_417);
    println!("{name}: {found:?}");
    let of_class: usize = found
        .iter()
        .filter(|(c, _)| classes.contains(c))
        .map(|(_, n)| n)
        .sum();
    assert!(of_class * 10 >= PARTS * 9, "{name}: {found:?}");
    for (asked, tally) in tallies {
        let miss = 100.0 * (tally.service() - asked);
        println!(
            "{name}: asked {asked}, {} deliveries, served {:.4}, {miss:+.1} points",
            tally.deliveries,
            tally.service()
        );
        assert!(
            tally.deliveries > 400,
            "{name}: enough to tell: {}",
            tally.deliveries
        );
        assert!(
            band.contains(&miss),
            "{name}: asked {asked}, missed by {miss:.2} points"
        );
    }
}

#[test]
fn the_service_level_is_kept_where_single_plugs_sell_often() {
    misses(
        Model::Single,
        "single plugs",
        -1.5..=1.5,
        &[DemandClass::Smooth],
    );
}

#[test]
fn it_is_missed_by_so_much_where_sets_sell_seldom() {
    // The note on intermittent lines says "some 7 to 10 points".
    misses(
        Model::Sets,
        "sets",
        -11.0..=-6.0,
        &[DemandClass::Intermittent],
    );
}

#[test]
fn it_is_missed_by_so_much_where_demand_is_lumpy() {
    // The note on lumpy lines says "some 14 to 20 points".
    misses(
        Model::Wild,
        "wild lots",
        -21.0..=-12.0,
        &[DemandClass::Lumpy],
    );
}
