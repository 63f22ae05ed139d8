//! Values as people read them: units beside numbers, inches beside millimetres, words for codes; in the
//! way of whoever reads them, where that has been said.

mod marks;

use std::cell::Cell;

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use plugwell_domain::attribute::Attr;
use plugwell_domain::calendar::midnight;
use plugwell_domain::conversion::{kpa_to_psi, mm_to_inch, mm_to_thou, nm_to_lbf_ft};
use plugwell_domain::decimal::Length;
use plugwell_domain::fitment::distance;
use plugwell_domain::money::decimal;
use plugwell_domain::plug::PlugData;
use plugwell_domain::policy::Policy;
use plugwell_domain::words::DecimalMark;
use serde_json::Value;

/// How somebody reads numbers and times.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reader {
    /// The zone that times are told in.
    pub zone: Tz,
    /// What stands between whole and part of a number.
    pub mark: DecimalMark,
}

impl Reader {
    /// A shop's people.
    pub fn of(policy: &Policy) -> Self {
        Self {
            zone: policy.values.time_zone.value,
            mark: policy.values.decimal_mark.value,
        }
    }
}

/// Programs, and whoever has not said otherwise.
const ANYBODY: Reader = Reader {
    zone: Tz::UTC,
    mark: DecimalMark::Point,
};

thread_local! {
    /// Who reads what this thread writes: it would else have to be handed through every function that
    /// puts a number into a sentence.
    static READER: Cell<Reader> = const { Cell::new(ANYBODY) };
}

/// Writes something for somebody to read.
pub fn for_reader<T>(reader: Reader, write: impl FnOnce() -> T) -> T {
    /// Puts the reader before back, also where writing panics.
    struct Before(Reader);
    impl Drop for Before {
        fn drop(&mut self) {
            READER.set(self.0);
        }
    }
    let _before = Before(READER.replace(reader));
    write()
}

/// Writes something for a program: in no country's way, whoever reads around it.
pub fn for_programs<T>(write: impl FnOnce() -> T) -> T {
    for_reader(ANYBODY, write)
}

/// A sentence or a number, with the reader's mark between whole and part of what is a number in it.
pub fn marked(text: impl Into<String>) -> String {
    let text = text.into();
    if READER.get().mark == DecimalMark::Point {
        return text;
    }
    let (mut read, mut done) = (String::with_capacity(text.len()), 0);
    for point in marks::decimal_points(&text) {
        read.extend([&text[done..point], ","]);
        done = point + 1;
    }
    read.push_str(&text[done..]);
    read
}

/// A sum of money with its currency.
pub fn money(minor: i64, currency: &str) -> String {
    marked(format!("{} {currency}", decimal(minor, currency)))
}

/// The entries of a list; none where it is no list.
pub fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

/// A text; empty where it is none.
pub fn word(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// A value with its unit, inches beside millimetres and miles beside kilometres.
pub fn measured(attribute: &str, value: &Value) -> String {
    match (value, attribute.ends_with("_mm")) {
        (Value::Null, _) => "unknown".into(),
        (Value::Bool(flag), _) => if *flag { "yes" } else { "no" }.into(),
        (Value::String(text), _) => text.replace('_', " "),
        (other, true) => {
            let mm = other.as_f64().unwrap_or_default();
            marked(format!("{mm} mm ({:.3} in)", mm_to_inch(mm)))
        }
        (other, false) if attribute.ends_with("_km") => {
            distance(other.as_f64().unwrap_or_default())
        }
        (other, false) => other
            .as_f64()
            .map_or_else(|| other.to_string(), |n| marked(n.to_string())),
    }
}

/// A test of an attribute in words.
pub fn test(attribute: &str, test: &Value) -> String {
    if let Some(values) = test["one_of"].as_array() {
        return values
            .iter()
            .map(|v| measured(attribute, v))
            .collect::<Vec<_>>()
            .join(" or ");
    }
    match (&test["min"], &test["max"]) {
        (Value::Null, max) => format!("at most {}", measured(attribute, max)),
        (min, Value::Null) => format!("at least {}", measured(attribute, min)),
        (min, max) => format!(
            "{} to {}",
            measured(attribute, min),
            measured(attribute, max)
        ),
    }
}

/// What people call an attribute, or the member of a build.
pub fn label(attribute: &str) -> String {
    attribute.parse::<Attr>().map_or_else(
        |_| attribute.to_owned(),
        |attr| attr.declared().label.to_owned(),
    )
}

/// A number with two figures: all that an estimate is worth.
pub fn two_figures(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".into();
    }
    let places = 1 - value.abs().log10().floor() as i32;
    let scale = 10f64.powi(places);
    let rounded = (value * scale).round() / scale;
    // Rounding up may have added a figure: 9.96 is 10, not 10.0.
    let places = 1 - rounded.abs().log10().floor() as i32;
    marked(format!(
        "{rounded:.*}",
        usize::try_from(places).unwrap_or(0)
    ))
}

/// A gap in millimetres and in thousandths of an inch.
pub fn gap(mm: Length) -> String {
    marked(format!("{mm} mm ({:.0} thou)", mm_to_thou(mm.get())))
}

/// Boost in both units.
pub fn boost(kpa: f64) -> String {
    format!("{} kPa ({} psi)", short(kpa), short(kpa_to_psi(kpa)))
}

/// At most one decimal; never a negative nought.
pub fn short(value: f64) -> String {
    marked(format!("{}", (value * 10.0).round() / 10.0 + 0.0))
}

/// An instant, to the minute.
pub fn instant(at: DateTime<Utc>) -> String {
    let there = at.with_timezone(&READER.get().zone);
    there.format("%-d %b %Y %H:%M %Z").to_string()
}

/// The day of an instant.
pub fn day(at: DateTime<Utc>) -> String {
    let there = at.with_timezone(&READER.get().zone);
    there.format("%-d %b %Y").to_string()
}

/// A stretch of time as a sentence: its end is the first instant behind it, so that of whole days the
/// last one is named. Days are those of UTC, as the books have them; instants are told by the reader's clock.
pub fn stretch(from: Option<DateTime<Utc>>, to: Option<DateTime<Utc>>) -> String {
    let is_midnight = |at: DateTime<Utc>| at == midnight(at.date_naive());
    let (start, end) = ("the beginning".to_owned(), "now".to_owned());
    let dated = from.or(to).is_some();
    let whole_days = dated && from.into_iter().chain(to).all(is_midnight);
    if whole_days || READER.get().zone == Tz::UTC {
        let day = |at: DateTime<Utc>| at.format("%-d %b %Y").to_string();
        let exact = |at: DateTime<Utc>| at.format("%-d %b %Y %H:%M").to_string();
        let begins = from.map_or(
            start,
            |at| if is_midnight(at) { day(at) } else { exact(at) },
        );
        let ends = to.map_or(end, |at| match is_midnight(at) {
            true => day(at - TimeDelta::microseconds(1)),
            false => exact(at),
        });
        return format!("From {begins} to {ends}, UTC.");
    }
    let (begins, ends) = (from.map_or(start, instant), to.map_or(end, instant));
    format!("From {begins} to {ends}.")
}

/// An instant to the minute as tables of sheets have it; what zone it is in stands above them.
pub fn in_table(at: DateTime<Utc>) -> String {
    let there = at.with_timezone(&READER.get().zone);
    there.format("%Y-%m-%d %H:%M").to_string()
}

/// What parts a number's whole from the rest for the reader.
pub fn mark() -> DecimalMark {
    READER.get().mark
}

/// What the reader's clock is called in a sentence.
pub fn clock() -> &'static str {
    READER.get().zone.name()
}

/// Up to when there are data, where more was asked for; empty otherwise.
pub fn data_end(asked_to: DateTime<Utc>, data_to: DateTime<Utc>) -> String {
    match data_to < asked_to {
        true => format!(" There are data up to {}.", instant(data_to)),
        false => String::new(),
    }
}

/// What a record says of an attribute.
pub fn of_record(data: &PlugData, attr: Attr) -> String {
    measured(
        attr.word(),
        &data
            .facts
            .get(attr)
            .map_or(Value::Null, |raw| attr.to_json(raw)),
    )
}

/// What tells a part from others, in one line.
pub fn in_short(data: &PlugData) -> String {
    let shown = [Attr::Thread, Attr::Reach, Attr::Seat, Attr::Hex]
        .iter()
        .filter(|a| data.facts.get(**a).is_some());
    let mut told: Vec<String> = shown
        .map(|attr| match attr {
            Attr::Reach => format!("reach {}", of_record(data, *attr)),
            Attr::Seat => format!("{} seat", of_record(data, *attr)),
            Attr::Hex => format!("hex {}", of_record(data, *attr)),
            other => of_record(data, *other),
        })
        .collect();
    told.extend(
        data.facts
            .get(Attr::Heat)
            .map(|_| format!("heat {}", of_record(data, Attr::Heat))),
    );
    told.extend(
        data.facts
            .get(Attr::Electrode)
            .map(|_| of_record(data, Attr::Electrode)),
    );
    told.join(" · ")
}

/// A torque in both units with its source; `None` where there is no figure.
pub fn torque(torque: &Value) -> Option<String> {
    let (min, max) = (torque["min"].as_f64()?, torque["max"].as_f64()?);
    Some(marked(format!(
        "{min} to {max} N·m ({:.0} to {:.0} lbf·ft), dry threads, {}",
        nm_to_lbf_ft(min),
        nm_to_lbf_ft(max),
        word(&torque["source"])
    )))
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::decimal::Decimal;

    #[test]
    fn an_estimate_has_two_figures() {
        for (value, shown) in [
            (1847.0, "1800"),
            (591.0, "590"),
            (19.5, "20"),
            (18.47, "18"),
            (5.43, "5.4"),
            (9.96, "10"),
            (0.694, "0.69"),
            (-3.26, "-3.3"),
            (0.0, "0"),
            (99.6, "100"),
        ] {
            assert_eq!(two_figures(value), shown, "{value}");
        }
    }

    #[test]
    fn whoever_reads_has_their_own_mark_and_clock() {
        let at = "2026-07-01T10:30:00Z".parse().unwrap();
        let reader = Reader {
            zone: Tz::Europe__Amsterdam,
            mark: DecimalMark::Comma,
        };
        let written = for_reader(reader, || {
            (gap(Decimal(8_100)), instant(at), money(1_295, "USD"))
        });
        // Summer time there is two hours ahead (IANA time zone database).
        let told = ("0,81 mm (32 thou)", "1 Jul 2026 12:30 CEST", "12,95 USD");
        assert_eq!(
            (written.0.as_str(), written.1.as_str(), written.2.as_str()),
            told
        );
        assert_eq!(instant(at), "1 Jul 2026 10:30 UTC", "nobody else's");
        assert_eq!(
            for_reader(reader, || marked("part 5. of 7.5")),
            "part 5. of 7,5"
        );
    }

    #[test]
    fn whole_days_are_named_and_instants_are_told_to_the_minute() {
        let at = |text: &str| -> Option<DateTime<Utc>> { text.parse().ok() };
        let (first, last) = (at("2026-03-01T00:00:00Z"), at("2026-04-01T00:00:00Z"));
        assert_eq!(stretch(first, last), "From 1 Mar 2026 to 31 Mar 2026, UTC.");
        assert_eq!(
            stretch(None, at("2026-04-01T08:30:15Z")),
            "From the beginning to 1 Apr 2026 08:30, UTC."
        );
        assert_eq!(stretch(None, None), "From the beginning to now, UTC.");
        let there = Reader {
            zone: Tz::Europe__Berlin,
            mark: DecimalMark::Comma,
        };
        let whole = for_reader(there, || stretch(None, None));
        assert_eq!(whole, "From the beginning to now.", "of no zone");
        assert_eq!(
            for_reader(there, || stretch(first, last)),
            "From 1 Mar 2026 to 31 Mar 2026, UTC."
        );
        let (Some(asked), Some(known)) = (last, first) else {
            panic!("instants");
        };
        assert_eq!(
            data_end(asked, known),
            " There are data up to 1 Mar 2026 00:00 UTC."
        );
        assert_eq!(data_end(known, known), "");
    }

    #[test]
    fn both_units_stand_side_by_side() {
        // 1 thou = 0.0254 mm exactly (NIST SP 811), so 0.81 mm is 31.9 of them.
        assert_eq!(gap(Decimal(8_100)), "0.81 mm (32 thou)");
        assert_eq!(boost(55.158), "55.2 kPa (8 psi)");
    }
}
