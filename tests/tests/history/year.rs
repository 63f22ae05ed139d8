//! The demo's year: every report worked out once more from movements, lots and levels.

use std::collections::{BTreeMap, HashMap, HashSet};

use plugwell_tests::engines;
use serde_json::Value;

use crate::demo::Demo;
use crate::story::micros;

const DAY: i64 = 86_400_000_000;
/// Days after which the demo's stock is asked to be dead.
const DAYS: i64 = 60;

/// What the demo's lists say.
struct Year {
    demo: Demo,
    movements: Vec<Value>,
    lots: HashMap<String, Value>,
    levels: Vec<Value>,
    kinds: HashMap<String, String>,
    put_right: HashSet<String>,
}

fn word(value: &Value, member: &str) -> String {
    value[member].as_str().unwrap_or_default().to_owned()
}

fn number(value: &Value, member: &str) -> i64 {
    value[member]
        .as_i64()
        .unwrap_or_else(|| panic!("no {member} in {value}"))
}

impl Year {
    fn of(demo: Demo) -> Self {
        let movements = demo.all("/v1/stock/movements");
        let by_id = |items: Vec<Value>| items.into_iter().map(|i| (word(&i, "id"), i)).collect();
        let places = demo.all("/v1/stock/places").into_iter();
        Self {
            lots: by_id(demo.all("/v1/stock/lots")),
            levels: demo.all("/v1/stock/levels?kind=bin"),
            kinds: places.map(|p| (word(&p, "id"), word(&p, "kind"))).collect(),
            put_right: movements.iter().map(|m| word(m, "reverses")).collect(),
            movements,
            demo,
        }
    }

    fn kind(&self, movement: &Value, end: &str) -> &str {
        &self.kinds[&word(movement, end)]
    }

    /// Movements of a kind that nobody put right.
    fn standing(&self, kind: &'static str) -> impl Iterator<Item = &Value> {
        let own = self.movements.iter().filter(move |m| m["kind"] == kind);
        own.filter(|m| !self.put_right.contains(&word(m, "id")))
    }

    fn in_bins(&self, movement: &Value) -> i64 {
        let bin = |end| i64::from(self.kind(movement, end) == "bin");
        number(movement, "quantity") * (bin("to_place_id") - bin("from_place_id"))
    }
}

#[test]
fn the_reports_are_what_the_lists_come_to() {
    for engine in engines() {
        let year = Year::of(Demo::on(engine));
        println!("-- on {engine}");
        assert!(year.movements.len() > 1_000);
        usage(&year);
        stock_outs(&year);
        dead_stock(&year);
        turns(&year);
    }
}

fn usage(year: &Year) {
    let mut sums: BTreeMap<String, [i64; 3]> = BTreeMap::new();
    let mut add = |m: &Value, place: usize| {
        sums.entry(word(m, "plug_id")).or_default()[place] += number(m, "quantity");
    };
    year.standing("issue").for_each(|m| add(m, 0));
    let returned = year.standing("return");
    returned
        .filter(|m| year.kind(m, "to_place_id") == "bin")
        .for_each(|m| add(m, 1));
    let scrapped = year.standing("scrapping");
    scrapped
        .filter(|m| year.kind(m, "from_place_id") == "bin")
        .for_each(|m| add(m, 2));
    let report = year.demo.get("/v1/reports/usage?by=part");
    let told: BTreeMap<String, [i64; 3]> = report["items"]
        .as_array()
        .expect("lines")
        .iter()
        .map(|line| {
            let sums = ["issued", "returned", "scrapped"].map(|sum| number(line, sum));
            assert_eq!(number(line, "used"), sums[0] - sums[1] + sums[2]);
            (word(line, "key"), sums)
        })
        .collect();
    sums.retain(|_, sums| *sums != [0; 3]);
    assert_eq!(told, sums);
    let months = year.demo.get("/v1/reports/usage");
    assert_eq!(months["total"], report["total"]);
    assert!(
        months["items"]
            .as_array()
            .is_some_and(|lines| lines.len() >= 12)
    );
}

fn stock_outs(year: &Year) {
    let mut parts: BTreeMap<String, (i64, i64)> = BTreeMap::new();
    let mut wanted: Vec<(String, i64, Option<i64>)> = Vec::new();
    for movement in &year.movements {
        let change = year.in_bins(movement);
        let (at, part) = (micros(&movement["created_at"]), word(movement, "plug_id"));
        let (there, gone) = parts.entry(part.clone()).or_default();
        let before = *there;
        *there += change;
        if before > 0 && *there == 0 {
            *gone = at;
        } else if before == 0 && *there > 0 && *gone > 0 && *gone < at {
            wanted.push((part, *gone, Some(at)));
        }
    }
    let out = parts
        .iter()
        .filter(|(_, (there, gone))| *there == 0 && *gone > 0);
    wanted.extend(out.map(|(part, (_, gone))| (part.clone(), *gone, None)));
    let report = year.demo.get("/v1/reports/stock-outs");
    let lines = report["items"].as_array().expect("lines");
    let mut told: Vec<_> = lines
        .iter()
        .map(|line| {
            let until = Some(&line["until"]).filter(|until| !until.is_null());
            (
                word(line, "plug_id"),
                micros(&line["since"]),
                until.map(micros),
            )
        })
        .collect();
    let now = micros(&report["to"]);
    for (line, (_, since, until)) in lines.iter().zip(&told) {
        let days = (until.unwrap_or(now) - since) as f64 / DAY as f64;
        let told = line["days"].as_f64().expect("days");
        assert!((told - days).abs() <= 0.005 + 1e-9, "{line}");
    }
    told.sort();
    wanted.sort();
    assert_eq!(told, wanted);
    assert!(wanted.len() > 5, "the demo runs out now and then");
}

fn dead_stock(year: &Year) {
    let report = year
        .demo
        .get(&format!("/v1/reports/dead-stock?days={DAYS}"));
    let now = micros(&report["as_of"]);
    let mut stock: BTreeMap<String, (i64, i64)> = BTreeMap::new();
    for level in &year.levels {
        let came = micros(&year.lots[&word(level, "lot_id")]["received_at"]);
        let part = stock.entry(word(level, "plug_id")).or_insert((0, i64::MAX));
        *part = (part.0 + number(level, "quantity"), part.1.min(came));
    }
    let mut issued: HashMap<String, i64> = HashMap::new();
    for issue in year.standing("issue") {
        issued.insert(word(issue, "plug_id"), micros(&issue["created_at"]));
    }
    let dead = stock.into_iter().filter_map(|(part, (there, came))| {
        let idle = came.max(issued.get(&part).copied().unwrap_or(came));
        let days = (now - idle) / DAY;
        (days >= DAYS).then_some((part, [there, days]))
    });
    let lines = report["items"].as_array().expect("lines");
    let told: BTreeMap<String, [i64; 2]> = lines
        .iter()
        .map(|line| {
            let figures = ["on_hand", "idle_days"].map(|figure| number(line, figure));
            (word(line, "plug_id"), figures)
        })
        .collect();
    assert_eq!(told, dead.collect::<BTreeMap<_, _>>());
    worth(year, &report);
    selling(year, lines);
}

/// What is tied up is what the report on value says.
fn worth(year: &Year, report: &Value) {
    let value = year.demo.get("/v1/reports/value");
    let lines = value["items"].as_array().expect("lines");
    let of_part: HashMap<String, i64> = lines
        .iter()
        .map(|line| (word(line, "plug_id"), number(&line["value"], "minor")))
        .collect();
    let mut total = 0;
    for line in report["items"].as_array().expect("lines") {
        let minor = number(&line["tied_up"]["value"], "minor");
        assert_eq!(minor, of_part[&word(line, "plug_id")], "{line}");
        total += minor;
    }
    assert_eq!(number(&report["total"]["value"], "minor"), total);
}

/// The named equivalents are equivalents.
fn selling(year: &Year, lines: &[Value]) {
    let named = lines
        .iter()
        .filter(|line| line["selling_equivalent"].is_object());
    let named: Vec<&Value> = named.collect();
    assert!(named.len() > 5 && named.len() < lines.len());
    for line in named.iter().take(8) {
        let path = format!(
            "/v1/plugs/{}/equivalents?stock=ignore&limit=200",
            word(line, "plug_id")
        );
        let equivalents = year.demo.get(&path);
        let mut items = equivalents["items"].as_array().expect("items").iter();
        let other = &line["selling_equivalent"]["plug_id"];
        assert!(items.any(|item| item["plug"]["id"] == *other), "{line}");
        assert!(number(&line["selling_equivalent"], "used") > 0);
    }
}

/// What went out is what the period report of value says went out.
fn turns(year: &Year) {
    let last = &year.movements[year.movements.len() - 1];
    let period = format!("from=2020-01-01&to={}", word(last, "created_at"));
    let value = year.demo.get(&format!("/v1/reports/value?{period}"));
    let of = |flow: &str| number(&value["total"][flow]["value"], "minor");
    assert_eq!(of("reversals"), 0, "the demo puts nothing right");
    let out = of("issues") - of("returns") + of("scrapped");
    for by in ["month", "part"] {
        let report = year
            .demo
            .get(&format!("/v1/reports/turns?{period}&by={by}"));
        assert_eq!(
            number(&report["total"]["cost_out"], "minor"),
            out,
            "by {by}"
        );
        let lines = report["items"].as_array().expect("lines");
        let sum: i64 = lines.iter().map(|l| number(&l["cost_out"], "minor")).sum();
        assert_eq!(sum, out, "by {by}");
    }
}
