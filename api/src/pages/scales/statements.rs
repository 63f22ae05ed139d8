//! Statements as they are typed or pasted: one in a line, two codes that are as cold as each other.

use plugwell_domain::heat_scale::HeatScale;
use serde_json::{Value, json};

use super::name;

use crate::pages::words::{say, say_with};

/// The statements of a text, each with the line that it stands in, or what is wrong with its lines.
///
/// # Errors
/// A sentence for each line that is not understood.
pub(super) fn statements(
    text: &str,
    scales: &[HeatScale],
) -> Result<Vec<(usize, Value)>, Vec<String>> {
    let (mut read, mut wrong) = (Vec::new(), Vec::new());
    let lines = text.lines().map(str::trim).enumerate();
    for (place, line) in lines.filter(|(_, line)| !line.is_empty()) {
        match statement(line, scales) {
            Ok(statement) => read.push((place + 1, statement)),
            Err(why) => wrong.push(say_with(
                "scales-line-place-why",
                &[("place", &(place + 1)), ("why", &why)],
            )),
        }
    }
    if wrong.is_empty() {
        Ok(read)
    } else {
        Err(wrong)
    }
}

/// `Maker Scale 7 = Other Scale 24`, perhaps `; 2` for its weight; or the five as cells of a table, with
/// tabulators between.
fn statement(line: &str, scales: &[HeatScale]) -> Result<Value, String> {
    let cells: Vec<&str> = line.split('\t').map(str::trim).collect();
    let (a, b, weight) = match cells.as_slice() {
        [scale, code, other, against] => ((*scale, *code), (*other, *against), None),
        [scale, code, other, against, weight] => {
            ((*scale, *code), (*other, *against), Some(*weight))
        }
        _ => {
            let (said, weight) = match line.rsplit_once(';') {
                Some((said, weight)) => (said, Some(weight.trim())),
                None => (line, None),
            };
            let (a, b) = said
                .split_once('=')
                .ok_or(say("scales-two-codes-needed-between"))?;
            return told(side(a, scales)?, side(b, scales)?, weight);
        }
    };
    let cell = |(scale, code): (&str, &str)| side(&format!("{scale} {code}"), scales);
    told(cell(a)?, cell(b)?, weight)
}

fn told(a: Value, b: Value, weight: Option<&str>) -> Result<Value, String> {
    let weight = match weight {
        None | Some("") => Value::Null,
        Some(text) => {
            let number = text.replace(',', ".").parse::<f64>();
            let number = number.ok().filter(|number| number.is_finite());
            number
                .ok_or_else(|| {
                    say_with(
                        "scales-text-is-no-weight",
                        &[("text", &format!("{text:?}"))],
                    )
                })?
                .into()
        }
    };
    Ok(json!({ "a": a, "b": b, "weight": weight }))
}

/// A scale by its name, and one of its codes: the longest name that the text begins with is meant; the
/// maker alone is enough where it has one scale.
fn side(text: &str, scales: &[HeatScale]) -> Result<Value, String> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let behind = |begins: &str| {
        let head = text.get(..begins.len())?;
        let rest = text[begins.len()..].strip_prefix(' ')?;
        (head.to_lowercase() == begins.to_lowercase()).then_some(rest)
    };
    let whole = scales
        .iter()
        .filter_map(|scale| Some((scale, behind(&name(scale))?)));
    let longest = whole.max_by_key(|(scale, _)| name(scale).len());
    let of_maker = || {
        let mut own = scales
            .iter()
            .filter_map(|scale| Some((scale, behind(&scale.data.maker)?)));
        own.next().filter(|_| own.next().is_none())
    };
    match longest.or_else(of_maker) {
        Some((scale, code)) => Ok(json!({ "scale_id": scale.id, "code": code })),
        None => Err(say_with(
            "scales-text-begins-name-no-heat",
            &[("text", &format!("{text:?}"))],
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::heat_scale::HeatScaleData;
    use uuid::Uuid;

    fn scale(id: u128, maker: &str, name: &str) -> HeatScale {
        HeatScale {
            id: Uuid::from_u128(id),
            data: HeatScaleData {
                maker: maker.into(),
                name: name.into(),
                codes: Vec::new(),
            },
            calibrated_at: None,
            version: 1,
            created_at: chrono::DateTime::UNIX_EPOCH,
            updated_at: chrono::DateTime::UNIX_EPOCH,
        }
    }

    fn scales() -> Vec<HeatScale> {
        vec![
            scale(1, "Ferrowick", "ladder"),
            scale(2, "Ostrevik", "one"),
            scale(3, "Ostrevik", "one cold"),
        ]
    }

    #[test]
    fn statements_are_typed_or_pasted() {
        let text =
            "Ferrowick ladder 7 = ostrevik one 24; 2,5\n\nFerrowick\t8\tOstrevik one cold\tC 2\t";
        let read = statements(text, &scales()).expect("statements");
        let id = |n| Uuid::from_u128(n).to_string();
        let side = |n, code: &str| json!({ "scale_id": id(n), "code": code });
        assert_eq!(
            read,
            [
                (
                    1,
                    json!({ "a": side(1, "7"), "b": side(2, "24"), "weight": 2.5 })
                ),
                (
                    3,
                    json!({ "a": side(1, "8"), "b": side(3, "C 2"), "weight": null })
                ),
            ]
        );
    }

    #[test]
    fn every_line_that_is_not_understood_is_named() {
        let text = "Ferrowick 7\nOstrevik 7 = Ferrowick 8\nFerrowick = Ostrevik one 3\nFerrowick 7 = Ferrowick 8; much";
        let wrong = statements(text, &scales()).expect_err("faults");
        let lines: Vec<&str> = wrong.iter().map(|text| &text[..6]).collect();
        assert_eq!(lines, ["line 1", "line 2", "line 3", "line 4"]);
    }
}
