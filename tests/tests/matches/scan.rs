//! A plain scan: every record as the API shows it, every demand as the API answered it, and an
//! evaluator of its own. It knows contract.md and nothing of the service's code.

use std::cmp::Reverse;
use std::collections::HashMap;

use plugwell_tests::{Shop, Who};
use serde_json::Value;

use crate::shelf::{Pick, Shelf, Shelves};

/// A value that a test can be put to; numbers in 0.0001 of their unit, finer than any of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Datum {
    Number(i64),
    Word(String),
    Flag(bool),
}

/// 0.0001 of a unit.
pub fn fine(number: f64) -> i64 {
    (number * 10_000.0).round() as i64
}

impl Datum {
    pub fn of(value: &Value) -> Option<Self> {
        match value {
            Value::Number(number) => Some(Self::Number(fine(number.as_f64()?))),
            Value::String(text) => Some(Self::Word(text.clone())),
            Value::Bool(flag) => Some(Self::Flag(*flag)),
            _ => None,
        }
    }

    fn number(&self) -> Option<i64> {
        match self {
            Self::Number(number) => Some(*number),
            Self::Word(_) | Self::Flag(_) => None,
        }
    }
}

/// A record: what it shows to a test, and its name in the order of fits.
#[derive(Debug)]
pub struct Record {
    pub id: String,
    pub part_number: String,
    shown: HashMap<String, Datum>,
}

impl Record {
    pub fn of(plug: &Value) -> Self {
        let members = plug.as_object().expect("a record is an object");
        let assumed = |name: &str| plug["provenance"][name] == "assumed";
        let shown = members
            .iter()
            .filter(|(name, _)| !assumed(name))
            .filter_map(|(name, value)| Some((name.clone(), Datum::of(value)?)));
        Self {
            id: text(plug, "id"),
            part_number: text(plug, "part_number"),
            shown: shown.collect(),
        }
    }

    pub fn shows(&self, attribute: &str) -> Option<&Datum> {
        self.shown.get(attribute)
    }

    pub fn number(&self, attribute: &str) -> Option<i64> {
        self.shows(attribute).and_then(Datum::number)
    }
}

pub fn text(value: &Value, member: &str) -> String {
    value[member]
        .as_str()
        .unwrap_or_else(|| panic!("no {member} in {value}"))
        .to_owned()
}

enum Test {
    OneOf(Vec<Datum>),
    Range(Option<i64>, Option<i64>),
}

struct Demand {
    attribute: String,
    must: bool,
    unknown_passes: bool,
    test: Test,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    Meets,
    Fails,
    Unknown,
}

impl Verdict {
    pub fn word(self) -> &'static str {
        match self {
            Self::Meets => "meets",
            Self::Fails => "fails",
            Self::Unknown => "unknown",
        }
    }
}

impl Demand {
    fn of(demand: &Value) -> Self {
        let strength = text(demand, "strength");
        let test = &demand["test"];
        Self {
            attribute: text(demand, "attribute"),
            must: strength == "must",
            unknown_passes: demand["unknown"] == "allowed",
            test: match test["one_of"].as_array() {
                Some(values) => Test::OneOf(values.iter().filter_map(Datum::of).collect()),
                None => Test::Range(
                    test["min"].as_f64().map(fine),
                    test["max"].as_f64().map(fine),
                ),
            },
        }
    }

    fn verdict(&self, record: &Record) -> Verdict {
        let Some(has) = record.shows(&self.attribute) else {
            return Verdict::Unknown;
        };
        let passes = match &self.test {
            Test::OneOf(values) => values.contains(has),
            Test::Range(min, max) => {
                let has = has.number().expect("a range is put to a number");
                min.is_none_or(|min| min <= has) && max.is_none_or(|max| has <= max)
            }
        };
        if passes {
            Verdict::Meets
        } else {
            Verdict::Fails
        }
    }

    fn rules_out(&self, record: &Record) -> bool {
        self.must
            && match self.verdict(record) {
                Verdict::Meets => false,
                Verdict::Fails => true,
                Verdict::Unknown => !self.unknown_passes,
            }
    }

    /// Whether a record that this must rules out may be shown as a near miss: never by thread or
    /// seat, by heat on the hot side, or by a heat or reach that nobody has established.
    fn may_be_shown(&self, record: &Record) -> bool {
        match (self.attribute.as_str(), &self.test) {
            ("thread" | "seat", _) => false,
            ("reach_mm", _) => record.shows("reach_mm").is_some(),
            ("heat_index", Test::Range(min, _)) => record
                .number("heat_index")
                .is_some_and(|heat| min.is_none_or(|min| heat >= min)),
            ("heat_index", Test::OneOf(_)) => panic!("heat is asked for by a range here"),
            _ => true,
        }
    }
}

/// Whose gap a fit is set to, where the requirement has none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gap {
    /// Nobody can say.
    Unset,
    /// Each plug's own; where it is unknown 1.10 mm (trade.md 5: common practice, no source).
    Own,
}

/// What was asked besides the requirement.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    pub gap: Gap,
    /// The projection of the plug that was in, which lends the order where the head has no window.
    pub base_projection: Option<i64>,
    pub quantity: i64,
    /// Plugs that have to be available.
    pub least: i64,
}

/// One part as the scan finds it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    pub id: String,
    pub available: i64,
    pub on_hand: i64,
    pub set_gap: Option<i64>,
    pub picks: Vec<Pick>,
    pub verdicts: Vec<Verdict>,
    /// The musts that rule it out, by attribute.
    pub fails: Vec<String>,
}

/// What a match has to answer, without any limit.
pub struct Expected {
    pub fits: Vec<Found>,
    pub near_misses: Vec<Found>,
    pub in_catalogue: usize,
    pub in_stock: usize,
}

/// The order of fits.
type Standing = (i64, i64, usize, bool, Reverse<i64>, String, String);

/// Every record that is not retired, and what lies on the shelves.
pub struct Scan {
    pub records: Vec<Record>,
    pub shelves: Shelves,
}

impl Scan {
    /// Reads all of it over the API, page by page.
    pub fn read(shop: &Shop) -> Self {
        let records = shop
            .all(Who::Reader, "/v1/plugs?limit=200")
            .iter()
            .map(Record::of)
            .collect();
        Self {
            records,
            shelves: Shelves::read(shop),
        }
    }

    /// Puts every demand of an answered requirement to every record.
    pub fn apply(&self, requirement: &Value, asked: Asked) -> Expected {
        let question = Question::of(requirement, asked);
        let (mut fits, mut near_misses) = (Vec::new(), Vec::new());
        let (mut in_catalogue, mut in_stock) = (0, 0);
        for record in &self.records {
            let failing: Vec<&Demand> = question
                .demands
                .iter()
                .filter(|d| d.rules_out(record))
                .collect();
            let offered = |list: &mut Vec<(Standing, Found)>| {
                let found = question.offer(record, self.shelves.of(&record.id), &failing);
                let available = found.1.available;
                if available >= asked.least {
                    list.push(found);
                }
                available
            };
            if failing.is_empty() {
                in_catalogue += 1;
                in_stock += usize::from(offered(&mut fits) >= asked.quantity);
            } else if failing.iter().all(|d| d.may_be_shown(record)) && counted(&failing) == 1 {
                offered(&mut near_misses);
            }
        }
        let (fits, near_misses) = (in_order(fits), in_order(near_misses));
        Expected {
            fits,
            near_misses,
            in_catalogue,
            in_stock,
        }
    }
}

/// How many musts fail, the two gap musts counted as one.
fn counted(failing: &[&Demand]) -> usize {
    let is_gap = |d: &&&Demand| d.attribute == "gap_min_mm" || d.attribute == "gap_max_mm";
    let gaps = failing.iter().filter(is_gap).count();
    failing.len() - gaps.saturating_sub(1)
}

fn in_order(mut list: Vec<(Standing, Found)>) -> Vec<Found> {
    list.sort_by(|a, b| a.0.cmp(&b.0));
    list.into_iter().map(|(_, found)| found).collect()
}

struct Question {
    demands: Vec<Demand>,
    asked: Asked,
    target: Option<i64>,
    /// Twice the projection that distance is counted from.
    middle_twice: Option<i64>,
    set_gap: Option<i64>,
    tolerance: i64,
    physical_max: Option<i64>,
}

impl Question {
    fn of(requirement: &Value, asked: Asked) -> Self {
        let number = |part: &str, member: &str| requirement[part][member].as_f64().map(fine);
        let demands: Vec<Demand> = requirement["demands"]
            .as_array()
            .expect("demands")
            .iter()
            .map(Demand::of)
            .collect();
        let window = demands
            .iter()
            .find(|d| d.must && d.attribute == "projection_mm")
            .map(|d| &d.test);
        let middle_twice = match window {
            Some(Test::Range(Some(min), Some(max))) => Some(min + max),
            Some(Test::Range(Some(end), None) | Test::Range(None, Some(end))) => Some(2 * end),
            _ => asked.base_projection.map(|own| 2 * own),
        };
        Self {
            asked,
            target: number("heat", "target_index"),
            middle_twice,
            set_gap: number("gap", "set_mm"),
            // common practice: all of a set are gapped alike within 0.025 mm, about 0.001 in
            tolerance: 250,
            physical_max: number("gap", "physical_max_mm"),
            demands,
        }
    }

    fn set_gap(&self, record: &Record) -> Option<i64> {
        if self.set_gap.is_some() || self.asked.gap == Gap::Unset {
            return self.set_gap;
        }
        let own = record.number("gap_preset_mm").unwrap_or(fine(1.1));
        let gap = self.physical_max.map_or(own, |limit| own.min(limit));
        let small = record.number("gap_min_mm").is_some_and(|min| gap < min);
        let large = record.number("gap_max_mm").is_some_and(|max| gap > max);
        (!small && !large).then_some(gap)
    }

    fn offer(&self, record: &Record, shelf: &Shelf, failing: &[&Demand]) -> (Standing, Found) {
        let set_gap = self.set_gap(record);
        let available = shelf.available(set_gap, self.tolerance);
        let distance = |from: Option<i64>, has: Option<i64>| match (from, has) {
            (None, _) => 0,
            // Where it is unknown it stands behind whatever is known.
            (Some(_), None) => i64::MAX,
            (Some(from), Some(has)) => (from - has).abs(),
        };
        let missed = |d: &&Demand| !d.must && d.verdict(record) != Verdict::Meets;
        let standing = (
            distance(self.target, record.number("heat_index")),
            distance(
                self.middle_twice,
                record.number("projection_mm").map(|own| 2 * own),
            ),
            self.demands.iter().filter(missed).count(),
            !shelf.one_lot_has(self.asked.quantity, set_gap, self.tolerance),
            Reverse(available),
            record.part_number.clone(),
            record.id.clone(),
        );
        let found = Found {
            id: record.id.clone(),
            available,
            on_hand: shelf.on_hand(),
            set_gap,
            picks: shelf.picks(self.asked.quantity.min(available), set_gap, self.tolerance),
            verdicts: self.demands.iter().map(|d| d.verdict(record)).collect(),
            fails: failing.iter().map(|d| d.attribute.clone()).collect(),
        };
        (standing, found)
    }
}
