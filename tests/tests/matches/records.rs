//! Random builds, and random records that are aimed at them: on the ends of their demands, one
//! step beside them, unknown, assumed, or anywhere.

use rand::RngExt;
use rand::rngs::StdRng;
use rand::seq::IndexedRandom;
use serde_json::{Value, json};

use crate::scan::fine;

const THREADS: [&str; 4] = ["M10x1", "M12x1.25", "M14x1.25", "7/8-18 UNS"];
const SEATS: [&str; 2] = ["gasket", "conical"];
const ELECTRODES: [&str; 5] = ["nickel", "silver", "platinum", "iridium", "ruthenium"];
const TERMINALS: [&str; 3] = ["stud_m4", "solid_nut", "removable_nut"];

/// A source of chance that says how to have the same again.
pub struct Dice(pub StdRng);

impl Dice {
    pub fn one<T: Clone>(&mut self, of: &[T]) -> T {
        of.choose(&mut self.0)
            .expect("something to choose from")
            .clone()
    }

    /// Whether one of so many comes up.
    pub fn hits(&mut self, of: u32) -> bool {
        self.0.random_ratio(1, of)
    }

    pub fn within(&mut self, least: i64, most: i64) -> i64 {
        self.0.random_range(least..=most)
    }

    fn or_null(&mut self, value: Value) -> Value {
        if self.hits(4) { Value::Null } else { value }
    }
}

/// A build whose head is written out.
pub fn build(dice: &mut Dice) -> Value {
    let induction = dice.one(&[
        "naturally_aspirated",
        "supercharged",
        "turbocharged",
        "nitrous",
    ]);
    let boosted = induction != "naturally_aspirated";
    let reach = dice.one(&[12.7, 17.5, 19.0, 19.05, 26.5]);
    let window = dice.one(&[
        (json!(2.0), json!(4.0)),
        (json!(-0.5), json!(1.0)),
        (json!(1.5), Value::Null),
        (Value::Null, json!(3.0)),
        (Value::Null, Value::Null),
    ]);
    let power = dice.one(&[250.0, 447.4, 520.0, 620.0, 745.7, 900.0]);
    let boost = if boosted {
        dice.one(&[40.0, 62.0, 110.0, 165.0])
    } else {
        0.0
    };
    json!({
        "name": null,
        "head": {
            "name": "Random head", "thread": dice.one(&THREADS), "reach_mm": reach, "seat": dice.one(&SEATS),
            "reach_tolerance_mm": dice.one(&[Value::Null, json!(0.0), json!(0.3), json!(0.5)]),
            "hex_max_mm": dice.one(&[Value::Null, json!(16.0), json!(20.638)]),
            "projection_min_mm": window.0, "projection_max_mm": window.1,
            "heat_index": dice.one(&[40.0, 50.0, 54.3, 60.0]),
            "terminal": dice.one(&[Value::Null, json!("solid_nut"), json!("stud_m4")]),
            "material": "aluminium", "tight_gap": dice.one(&[Value::Null, json!(true), json!(false)]),
        },
        "cylinders": dice.one(&[4, 6, 8]), "plugs_per_cylinder": dice.one(&[Value::Null, json!(1), json!(2)]),
        "induction": induction, "use": dice.one(&["street", "track", "strip"]),
        "base_power_kw": dice.or_null(json!(power - 60.0)), "power_kw": dice.or_null(json!(power)),
        "base_boost_kpa": dice.or_null(json!(0.0)), "boost_kpa": dice.or_null(json!(boost)),
        "displacement_cc": 5400.0, "compression_ratio": dice.or_null(json!(9.5)), "coil_kv": dice.or_null(json!(34.0)),
        "electronics": dice.one(&[Value::Null, json!([]), json!(["radio"])]),
        "heat_steps": dice.one(&[Value::Null, Value::Null, json!(0), json!(2)]),
        "gap_mm": dice.one(&[Value::Null, Value::Null, Value::Null, json!(0.7), json!(0.85)]),
        "electrode": dice.one(&[Value::Null, Value::Null, Value::Null, json!(["nickel", "silver"])]),
        "spares": dice.or_null(json!(2)),
    })
}

/// The attributes of a record that demands are put to, with step and bounds in 0.0001.
const NUMBERS: [(&str, i64, i64, i64); 7] = [
    ("reach_mm", 1, 50_000, 600_000),
    ("hex_mm", 1, 80_000, 300_000),
    ("heat_index", 1_000, 0, 2_000_000),
    ("projection_mm", 1, -50_000, 150_000),
    ("gap_min_mm", 1, 2_000, 25_000),
    ("gap_preset_mm", 1, 2_000, 25_000),
    ("gap_max_mm", 1, 2_000, 25_000),
];
const WORDS: [(&str, &[&str]); 4] = [
    ("thread", &THREADS),
    ("seat", &SEATS),
    ("electrode", &ELECTRODES),
    ("terminal", &TERMINALS),
];

/// A record as a row of a table: cells in the order of [`HEADER`].
#[derive(Debug, Clone)]
pub struct Row {
    pub part_number: String,
    /// Member and JSON value of what is established.
    pub facts: Vec<(&'static str, Value)>,
    pub assumed: Vec<&'static str>,
    pub status: &'static str,
}

pub const HEADER: &str = "maker,part_number,status,provenance,thread,seat,electrode,terminal,resistor,reach_mm,hex_mm,\
                          heat_index,projection_mm,gap_min_mm,gap_preset_mm,gap_max_mm\n";

impl Row {
    fn fact(&self, name: &str) -> Option<&Value> {
        self.facts
            .iter()
            .find(|(member, _)| *member == name)
            .map(|(_, value)| value)
    }

    pub fn set(&mut self, name: &'static str, value: Option<Value>) {
        self.facts.retain(|(member, _)| *member != name);
        self.facts.extend(value.map(|value| (name, value)));
    }

    pub fn line(&self) -> String {
        let provenance: Vec<String> = self
            .assumed
            .iter()
            .map(|name| format!("{name}=assumed"))
            .collect();
        let mut cells = vec![
            "Randwerk".to_owned(),
            self.part_number.clone(),
            self.status.into(),
            provenance.join(";"),
        ];
        for name in HEADER.trim_end().split(',').skip(4) {
            let cell = match self.fact(name) {
                None => String::new(),
                Some(Value::String(word)) => word.clone(),
                Some(value) => value.to_string(),
            };
            cells.push(cell);
        }
        cells.join(",") + "\n"
    }

    fn gap(&self, name: &str) -> Option<i64> {
        self.fact(name)?.as_f64().map(fine)
    }

    /// Brings the gaps in order, least, preset, greatest: what contradicts another is forgotten or
    /// moved to the end that it passed.
    pub fn settle(&mut self) {
        let least = self.gap("gap_min_mm");
        let mut most = self.gap("gap_max_mm");
        if least.zip(most).is_some_and(|(least, most)| least > most) {
            self.set("gap_max_mm", None);
            most = None;
        }
        if let Some(preset) = self.gap("gap_preset_mm") {
            let inside = preset
                .max(least.unwrap_or(preset))
                .min(most.unwrap_or(i64::MAX));
            self.set("gap_preset_mm", Some(json!(inside as f64 / 10_000.0)));
        }
    }
}

/// What one attribute of a record is to be like.
#[derive(Debug, Clone, Copy)]
enum Aim {
    /// On an end of the demand, or one of its values.
    End,
    /// One step outside.
    Beside,
    /// Between the ends.
    Inside,
    /// Anywhere.
    Wild,
    Unknown,
}

/// A record aimed at a requirement: most of its attributes pass, a few are left to chance.
pub fn row(dice: &mut Dice, number: usize, demands: &[Value]) -> Row {
    // Few part numbers differ in length only, and some differ in case only by their makers' habit.
    let part_number = format!("{}-{number}", dice.one(&["RW", "rw", "R"]));
    let status = if dice.hits(12) {
        "discontinued"
    } else {
        "active"
    };
    let mut row = Row {
        part_number,
        facts: Vec::new(),
        assumed: Vec::new(),
        status,
    };
    for (name, words) in WORDS {
        let aim = aim(dice);
        row.set(name, word(dice, demand(demands, name), words, aim));
    }
    let aimed = aim(dice);
    let resistor = match (demand(demands, "resistor"), aimed) {
        (_, Aim::Unknown) => None,
        (Some(test), Aim::End | Aim::Inside) => Some(test["one_of"][0].clone()),
        _ => Some(json!(dice.hits(2))),
    };
    row.set("resistor", resistor);
    for (name, step, least, most) in NUMBERS {
        let aim = aim(dice);
        let raw = raw(dice, demand(demands, name), aim, step, least, most);
        row.set(name, raw.map(|raw| json!(raw as f64 / 10_000.0)));
    }
    row.settle();
    for (name, _) in row.facts.clone() {
        if dice.hits(25) {
            row.assumed.push(name);
        }
    }
    row
}

fn aim(dice: &mut Dice) -> Aim {
    match dice.within(1, 40) {
        1..=22 => Aim::End,
        23..=36 => Aim::Inside,
        37 | 38 => Aim::Beside,
        39 => Aim::Wild,
        _ => Aim::Unknown,
    }
}

fn demand<'d>(demands: &'d [Value], name: &str) -> Option<&'d Value> {
    demands
        .iter()
        .find(|demand| demand["attribute"] == name)
        .map(|demand| &demand["test"])
}

fn word(dice: &mut Dice, test: Option<&Value>, words: &[&str], aim: Aim) -> Option<Value> {
    let wanted = test.and_then(|test| test["one_of"].as_array());
    match (aim, wanted) {
        (Aim::Unknown, _) => None,
        (Aim::End | Aim::Inside, Some(wanted)) => Some(dice.one(wanted)),
        _ => Some(json!(dice.one(words))),
    }
}

fn raw(
    dice: &mut Dice,
    test: Option<&Value>,
    aim: Aim,
    step: i64,
    least: i64,
    most: i64,
) -> Option<i64> {
    let end = |name: &str| test.and_then(|test| test[name].as_f64()).map(fine);
    let (min, max) = (end("min"), end("max"));
    let near = (
        min.unwrap_or(max.unwrap_or(least)),
        max.unwrap_or(min.unwrap_or(most)),
    );
    let ends: Vec<i64> = [min, max].into_iter().flatten().collect();
    let beside: Vec<i64> = min
        .map(|end| end - step)
        .into_iter()
        .chain(max.map(|end| end + step))
        .collect();
    let raw = match aim {
        Aim::Unknown => return None,
        Aim::End if !ends.is_empty() => dice.one(&ends),
        Aim::Beside if !beside.is_empty() => dice.one(&beside),
        Aim::Inside if min.is_some() || max.is_some() => {
            dice.within(near.0.min(near.1), near.1.max(near.0))
        }
        _ => dice.within(least, most),
    };
    Some((raw / step * step).clamp(least, most))
}
