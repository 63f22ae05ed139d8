//! Forms: their fields, each declared once, how they are shown, and the values that they mean.

use plugwell_domain::event;
use plugwell_domain::ledger::{Place, PlaceKind};
use plugwell_domain::money::decimal;
use serde_json::{Map, Value, json};

pub(super) use crate::pages::declared::{Declared, Form, field, needed, worded};
use crate::pages::field::{Choice, Field, Input, Wrong};
use crate::pages::figures;
#[cfg(test)]
pub(super) use crate::pages::known::OnePart;
pub(super) use crate::pages::known::{Known, Stored};
use crate::pages::typed::{Typed, count, day, minor_units, one_of_several, quantity};
use crate::pages::words::{say, say_with};
use crate::service::Refusal;
use crate::shown::marked;

/// A field with what was typed.
pub(super) fn shown(
    known: &impl Known,
    declared: &Declared,
    typed: &Typed,
) -> Result<Field, Refusal> {
    let values: Vec<&str> = typed.all(declared.name).collect();
    let value = values.first().copied().unwrap_or_default();
    let input = declared.input();
    let unit = match declared.form {
        Form::Counted(unit) => counted_in(unit).to_owned(),
        Form::Measured(unit) | Form::Readings(unit) => unit.to_owned(),
        Form::Money => known.currency(),
        _ => String::new(),
    };
    let is_typed = !matches!(input, Input::One | Input::Pick | Input::Several);
    Ok(Field {
        name: declared.name,
        label: declared.label.say(),
        unit,
        needed: declared.needed,
        hint: declared.hint.say().to_owned(),
        input,
        value: if is_typed { value } else { "" }.to_owned(),
        choices: choices(known, declared.form, &values)?,
        fault: String::new(),
        meant: meant(declared.form, value),
    })
}

/// What is counted; a sign of measure is the same everywhere.
fn counted_in(unit: &'static str) -> &'static str {
    match unit {
        "bins" => say("pages-bins"),
        "days" => say("pages-days"),
        "plugs" => say("pages-plugs"),
        "steps" => say("pages-steps"),
        sign => sign,
    }
}

/// What a measure was understood as, in both units; nothing of what is told in one unit only.
fn meant(form: Form, typed: &str) -> Option<String> {
    let Form::Measured(unit) = form else {
        return None;
    };
    let both = |value| figures::both(value, unit);
    both(0.0)?;
    Some(
        quantity(typed, unit)
            .ok()
            .and_then(both)
            .unwrap_or_default(),
    )
}

/// The fields of a form with what was typed.
pub(super) fn all_shown(
    known: &impl Known,
    declared: &[Declared],
    typed: &Typed,
) -> Result<Vec<Field>, Refusal> {
    declared
        .iter()
        .map(|one| shown(known, one, typed))
        .collect()
}

/// What can be chosen in a field, or is offered while one types.
fn choices(known: &impl Known, form: Form, values: &[&str]) -> Result<Vec<Choice>, Refusal> {
    let is_chosen = |value: &str| values.contains(&value);
    let offered = |places: Vec<Place>| {
        let names = places.into_iter().map(|place| Choice::offer(place.name));
        names.collect()
    };
    Ok(match form {
        Form::One(words) | Form::Pick(words) | Form::Several(words) => {
            Choice::of_words(words, is_chosen)
        }
        Form::Events => {
            let choice = |declared: &event::Declared| Choice {
                value: declared.kind.to_string(),
                words: figures::happened(declared.kind),
                note: declared.says,
                chosen: is_chosen(declared.kind.word()),
            };
            event::DECLARED.iter().map(choice).collect()
        }
        Form::Flag => {
            let words = [("yes", say("pages-yes")), ("no", say("pages-no"))];
            let choice = |(value, words): (&str, &str)| Choice {
                chosen: is_chosen(value),
                value: value.to_owned(),
                words: words.to_owned(),
                note: "",
            };
            words.into_iter().map(choice).collect()
        }
        Form::Supplier => offered(known.places(&[PlaceKind::Supplier])?),
        Form::Place(kinds) => offered(known.places(kinds)?),
        Form::Stored(which) => {
            let choice = |(value, words): (String, String)| Choice {
                chosen: is_chosen(&value),
                value,
                words,
                note: "",
            };
            known.stored(which)?.into_iter().map(choice).collect()
        }
        _ => Vec::new(),
    })
}

/// What a field means; nothing where it was left open.
pub(super) fn read(
    known: &impl Known,
    declared: &Declared,
    typed: &Typed,
) -> Result<Option<Result<Value, String>>, Refusal> {
    let values: Vec<&str> = typed.all(declared.name).collect();
    let Some(first) = values.first().copied() else {
        return Ok(None);
    };
    Ok(Some(match declared.form {
        Form::Measured(unit) => quantity(first, unit).map(Value::from),
        Form::Counted(_) => count(first).map(Value::from),
        Form::Money => {
            let currency = known.currency();
            minor_units(first, &currency)
                .map(|minor| json!({ "minor": minor, "currency": currency }))
        }
        Form::Day => day(first).map(Value::from),
        Form::Flag => yes_or_no(first).map(Value::from),
        Form::Several(_) | Form::Events => Ok(values.into()),
        Form::Part => known.part(first)?.map(Value::from),
        Form::Lot => known.lot(first)?.map(Value::from),
        Form::Readings(unit) => readings(first, unit),
        Form::Place(kinds) => match place(&known.places(kinds)?, first) {
            Ok(id) => Ok(Value::from(id)),
            Err(why) => Err(of_another_kind(known, first)?.unwrap_or(why)),
        },
        Form::Words
        | Form::Lines
        | Form::One(_)
        | Form::Pick(_)
        | Form::Supplier
        | Form::Stored(_)
        | Form::Offered
        | Form::File => Ok(first.into()),
    }))
}

/// What was typed as the members of an object, for the same checks as over HTTP; fields that are not
/// understood are left out of it, and named.
pub(super) fn object(
    known: &impl Known,
    declared: &[Declared],
    typed: &Typed,
) -> Result<(Map<String, Value>, Vec<Wrong>), Refusal> {
    let (mut map, mut wrong) = (Map::new(), Vec::new());
    for one in declared {
        match read(known, one, typed)? {
            None if one.needed => wrong.push(Wrong::with(one.name, Wrong::missing())),
            None => {}
            Some(Ok(value)) => _ = map.insert(one.member(), value),
            Some(Err(why)) => wrong.push(Wrong::with(one.name, why)),
        }
    }
    Ok((map, wrong))
}

/// A stored record as it would be typed, so that a form can begin with it; parts and places stand
/// there by id and are left to the caller.
pub(super) fn as_typed(declared: &[Declared], record: &Value) -> Typed {
    let mut typed = Typed::default();
    for one in declared {
        if matches!(one.form, Form::Part | Form::Place(_) | Form::Lot) {
            continue;
        }
        let value = &record[one.member().as_str()];
        match (one.form, value) {
            (_, Value::Null) => {}
            (_, Value::Array(some)) => some.iter().for_each(|v| typed.put(one.name, text(v))),
            (Form::Money, money) => {
                let currency = money["currency"].as_str().unwrap_or_default();
                let minor = money["minor"].as_i64().unwrap_or_default();
                typed.put(one.name, marked(decimal(minor, currency)));
            }
            (_, value) => typed.put(one.name, text(value)),
        }
    }
    typed
}

/// A value as it would be typed.
pub(super) fn text(value: &Value) -> String {
    match value {
        Value::String(word) => word.clone(),
        Value::Bool(flag) => if *flag { "yes" } else { "no" }.into(),
        Value::Number(number) => number
            .as_f64()
            .map_or_else(|| number.to_string(), |n| marked(n.to_string())),
        _ => String::new(),
    }
}

/// The place that somebody means by its name or by the code on its label.
pub(super) fn place(all: &[Place], text: &str) -> Result<String, String> {
    let said = text.to_lowercase();
    all.iter()
        .find(|place| place.name.to_lowercase() == said || place.code.to_lowercase() == said)
        .map(|place| place.id.to_string())
        .ok_or_else(|| {
            say_with(
                "pages-no-place-here-called-text",
                &[("text", &format!("{text:?}"))],
            )
        })
}

/// What is said of a place that there is, but none of the kinds that a field takes.
fn of_another_kind(known: &impl Known, text: &str) -> Result<Option<String>, Refusal> {
    for kind in PlaceKind::ALL {
        if place(&known.places(&[*kind])?, text).is_ok() {
            return Ok(Some(say_with(
                "pages-place-of-another-kind",
                &[("text", &text), ("kind", &kind.word())],
            )));
        }
    }
    Ok(None)
}

/// Numbers with a semicolon between them, or with blanks alone where none has a unit of its own.
fn readings(text: &str, unit: &str) -> Result<Value, String> {
    let pieces = text.split(';').map(str::trim).filter(|one| !one.is_empty());
    let mut read = Vec::new();
    for piece in pieces {
        match one_of_several(piece, unit) {
            Ok(one) => read.push(one),
            Err(why) if !piece.contains(char::is_whitespace) => return Err(why),
            Err(_) => {
                for one in piece.split_whitespace() {
                    read.push(one_of_several(one, unit)?);
                }
            }
        }
    }
    Ok(read.into())
}

fn yes_or_no(text: &str) -> Result<bool, String> {
    match text {
        "yes" => Ok(true),
        "no" => Ok(false),
        other => Err(say_with(
            "pages-other-neither-yes-nor-no",
            &[("other", &format!("{other:?}"))],
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FORM: &[Declared] = &[
        needed(field("base_plug", "Plug", Form::Part, "")),
        needed(field("quantity", "Plugs", Form::Counted(""), "")),
        field("total_cost", "Cost", Form::Money, ""),
        field("expected_on", "Expected", Form::Day, ""),
        field("tight_gap", "Tight", Form::Flag, ""),
        field("gap_mm", "Gap", Form::Measured("mm"), ""),
    ];

    #[test]
    fn what_is_typed_comes_back_as_it_was_meant() {
        let query = "base_plug=FW-1&quantity=12&total_cost=118,80&expected_on=2026-12-01&tight_gap=no&gap_mm=0.032+in";
        let typed = Typed::of_query(query);
        let (map, wrong) = object(&OnePart, FORM, &typed).unwrap();
        assert_eq!(wrong, []);
        let whole = json!({
            "base_plug_id": "7", "quantity": 12, "total_cost": { "minor": 11_880, "currency": "USD" },
            "expected_on": "2026-12-01", "tight_gap": false, "gap_mm": 0.8128,
        });
        assert_eq!(Value::Object(map), whole);
        let again = as_typed(FORM, &whole);
        assert_eq!(again.one("total_cost"), "118.80");
        assert_eq!(again.one("tight_gap"), "no");
        assert_eq!(again.one("gap_mm"), "0.8128");
    }

    #[test]
    fn a_measure_is_said_back_in_both_units() {
        let said = |query: &str| {
            let field = shown(&OnePart, &FORM[5], &Typed::of_query(query)).unwrap();
            field.meant
        };
        // Exact by NIST SP 811: 1 in = 25.4 mm.
        assert_eq!(
            said("gap_mm=0.032+in").as_deref(),
            Some("0.8128 mm · 0.032 in")
        );
        assert_eq!(said("gap_mm=thin").as_deref(), Some(""));
        let plain = shown(&OnePart, &FORM[1], &Typed::of_query("quantity=9")).unwrap();
        assert_eq!(plain.meant, None);
    }

    #[test]
    fn readings_are_parted_by_semicolons_or_blanks() {
        let read = |text| readings(text, "mm");
        assert_eq!(read("0.8 0,81  0.79"), Ok(json!([0.8, 0.81, 0.79])));
        assert_eq!(read("0.032 in; 0.8;"), Ok(json!([0.8128, 0.8])));
        assert!(read("0.8 thin").is_err());
    }

    #[test]
    fn every_field_that_is_not_understood_is_named() {
        let typed = Typed::of_query("base_plug=FW-2&expected_on=soon&gap_mm=thin");
        let (map, wrong) = object(&OnePart, FORM, &typed).unwrap();
        let named: Vec<_> = wrong.iter().map(|w| w.field.as_str()).collect();
        assert_eq!(named, ["base_plug", "quantity", "expected_on", "gap_mm"]);
        assert!(map.is_empty());
    }
}
