//! What a header means: which of the declared columns it names, in which unit.

use plugwell_domain::fault::FaultCode;
use serde_json::Value;

use super::declared::declared;
use super::forms::{self, Form, Misread, OtherUnit};
use super::{TableKind, Understood};

/// A column of a file that was understood.
#[derive(Debug, Clone)]
pub struct Column {
    /// Its place in the row.
    pub place: usize,
    /// Its name in the file.
    pub header: String,
    /// The member that it fills.
    pub member: &'static str,
    form: Form,
    unit: Option<&'static OtherUnit>,
}

impl Column {
    /// The JSON value that a cell means; empty is `null`.
    ///
    /// # Errors
    /// The rule and a sentence where the cell is not understood.
    pub fn value(&self, cell: &str) -> Result<Value, Misread> {
        forms::read(self.form, self.unit, cell)
    }

    /// What is told of it.
    pub fn told(&self) -> Understood {
        Understood {
            header: self.header.clone(),
            member: self.member,
            unit: self.unit.map(OtherUnit::word),
        }
    }
}

/// Understands a header; what is not understood is told to `fault` with column, rule and sentence.
pub fn understood(
    kind: TableKind,
    header: &csv::StringRecord,
    mut fault: impl FnMut(&str, FaultCode, String),
) -> Vec<Column> {
    let mut columns: Vec<Column> = Vec::new();
    for (place, name) in header.iter().enumerate() {
        let plain = name.trim().to_lowercase().replace([' ', '-'], "_");
        let Some(column) = column(kind, place, name, &plain) else {
            let detail = format!("no column {name:?} is known{}", hint(kind, &plain));
            fault(name, FaultCode::UnknownMember, detail);
            continue;
        };
        match columns.iter().find(|c| same(c.member, column.member)) {
            Some(other) => {
                let detail = format!("it says the same as column {:?}", other.header);
                fault(name, FaultCode::Duplicate, detail);
            }
            None => columns.push(column),
        }
    }
    for needed in declared(kind).iter().filter(|d| d.needed) {
        if !columns.iter().any(|c| c.member == needed.name) {
            let detail = format!("the column {} has to be there", needed.name);
            fault(needed.name, FaultCode::Missing, detail);
        }
    }
    columns
}

/// A scale is named or given by its identifier, not both.
fn same(one: &str, other: &str) -> bool {
    let bare = |member: &str| member.trim_end_matches("_id").to_owned();
    one == other || bare(one) == bare(other)
}

fn column(kind: TableKind, place: usize, name: &str, plain: &str) -> Option<Column> {
    let made = |member, form, unit| {
        Some(Column {
            place,
            header: name.trim().to_owned(),
            member,
            form,
            unit,
        })
    };
    // Only a file has it: whoever writes one names the scale.
    if kind == TableKind::Plugs && plain == "heat_scale_id" {
        return made("heat_scale_id", Form::Line, None);
    }
    for declared in declared(kind) {
        if declared.name == plain {
            return made(declared.name, declared.form, None);
        }
        if matches!(declared.form, Form::Number { .. })
            && let Some((_, unit)) = forms::other_names(declared.name).find(|(n, _)| n == plain)
        {
            return made(declared.name, declared.form, Some(unit));
        }
    }
    None
}

/// The names that somebody may have meant: those that begin alike, or differ by a slip.
fn hint(kind: TableKind, plain: &str) -> String {
    let near = |name: &&str| {
        let stem = name.split('_').next().unwrap_or(name);
        let begins = plain.starts_with(stem) || name.starts_with(plain);
        begins || plugwell_domain::spelling::nearness(plain, name).is_some()
    };
    let known = declared(kind).iter().map(|d| d.name);
    let known: Vec<&str> = known.filter(near).collect();
    match known.as_slice() {
        _ if plain.is_empty() => String::new(),
        [] => String::new(),
        some => format!("; did you mean {}?", some.join(" or ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Told = Vec<(String, FaultCode, String)>;

    fn columns(kind: TableKind, header: &[&str]) -> (Vec<Column>, Told) {
        let mut faults = Vec::new();
        let header = csv::StringRecord::from(header.to_vec());
        let columns = understood(kind, &header, |c, code, detail| {
            faults.push((c.to_owned(), code, detail))
        });
        (columns, faults)
    }

    #[test]
    fn a_header_names_its_columns_in_any_unit_and_spelling() {
        let header = [
            "Maker",
            "Part Number",
            "reach-in",
            "gap_preset_thou",
            "heat_scale_id",
        ];
        let (columns, faults) = columns(TableKind::Plugs, &header);
        assert_eq!(faults, []);
        let members: Vec<&str> = columns.iter().map(|c| c.member).collect();
        assert_eq!(
            members,
            [
                "maker",
                "part_number",
                "reach_mm",
                "gap_preset_mm",
                "heat_scale_id"
            ]
        );
        assert_eq!(columns[2].value("0.75"), Ok(Value::from(19.05)));
    }

    #[test]
    fn a_header_that_is_not_known_is_named_with_a_hint() {
        let header = [
            "maker",
            "reach",
            "reach_mm",
            "reach_in",
            "heat_scale",
            "heat_scale_id",
        ];
        let (_, faults) = columns(TableKind::Plugs, &header);
        let told: Vec<(&str, FaultCode)> = faults.iter().map(|f| (f.0.as_str(), f.1)).collect();
        assert_eq!(
            told,
            [
                ("reach", FaultCode::UnknownMember),
                ("reach_in", FaultCode::Duplicate),
                ("heat_scale_id", FaultCode::Duplicate),
                ("part_number", FaultCode::Missing),
            ]
        );
        assert!(
            faults[0].2.ends_with("; did you mean reach_mm?"),
            "{faults:?}"
        );
        let (_, faults) = columns(TableKind::Stock, &["plcae", "qty"]);
        assert!(faults[0].2.ends_with("; did you mean place?"), "{faults:?}");
        assert!(!faults[1].2.contains("did you mean"), "{faults:?}");
    }
}
