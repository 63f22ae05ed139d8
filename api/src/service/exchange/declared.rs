//! The columns of each table, declared once; those of plugs are read off the attribute declarations.

use std::sync::LazyLock;

use plugwell_domain::attribute::{ATTRIBUTES, Attr, Attribute, Kind as AttributeKind};
use plugwell_domain::build::bounds;
use plugwell_domain::ledger::{Condition, QUANTITY_MAX};
use plugwell_domain::stand_in::Direction;
use plugwell_domain::words::Status;

use super::TableKind;
use super::forms::{self, Form};

/// A column as it is declared.
#[derive(Debug, Clone, PartialEq)]
pub struct Declared {
    /// Its name in the header; a number's name ends with its unit.
    pub name: &'static str,
    /// How its cells are written.
    pub form: Form,
    /// What it means.
    pub meaning: String,
    /// Whether it has to be there, with something in every row.
    pub needed: bool,
}

impl Declared {
    fn new(name: &'static str, form: Form, meaning: impl Into<String>) -> Self {
        Self {
            name,
            form,
            meaning: meaning.into(),
            needed: false,
        }
    }

    fn needed(self) -> Self {
        Self {
            needed: true,
            ..self
        }
    }

    /// Other names of it, each with its unit in the place of the column's own: `reach_in`.
    pub fn other_names(&self) -> Vec<String> {
        match self.form {
            Form::Number { .. } => forms::other_names(self.name)
                .map(|(name, _)| name)
                .collect(),
            _ => Vec::new(),
        }
    }
}

/// The columns of a table, in the order in which they are written.
pub fn declared(kind: TableKind) -> &'static [Declared] {
    static PLUGS: LazyLock<Vec<Declared>> = LazyLock::new(plugs);
    static STOCK: LazyLock<Vec<Declared>> = LazyLock::new(stock);
    static SCALES: LazyLock<Vec<Declared>> = LazyLock::new(heat_scales);
    static STAND_INS: LazyLock<Vec<Declared>> = LazyLock::new(stand_ins);
    match kind {
        TableKind::Plugs => &PLUGS,
        TableKind::Stock => &STOCK,
        TableKind::HeatScales => &SCALES,
        TableKind::StandIns => &STAND_INS,
    }
}

fn part_name() -> [Declared; 2] {
    [
        Declared::new("maker", Form::Line, "maker's name, compared case-blind").needed(),
        Declared::new(
            "part_number",
            Form::Line,
            "the maker's part number as printed, compared case-blind",
        )
        .needed(),
    ]
}

fn form_of(attribute: &Attribute) -> Form {
    match attribute.kind {
        AttributeKind::Number {
            decimals,
            unit,
            min,
            max,
        } => Form::Number {
            decimals,
            unit,
            min,
            max,
        },
        AttributeKind::Flag => Form::Flag,
        AttributeKind::Choice(words) => Form::Choice(words),
    }
}

fn plugs() -> Vec<Declared> {
    let mut columns = part_name().to_vec();
    columns.extend([
        Declared::new(
            "gtin",
            Form::Line,
            "barcode on the pack: GTIN-8, 12, 13 or 14 with a right check digit",
        ),
        Declared::new("description", Form::Line, "free text"),
    ]);
    columns.extend(
        ATTRIBUTES
            .iter()
            .map(|a| Declared::new(a.attr.word(), form_of(a), a.meaning)),
    );
    columns.extend([
        Declared::new(
            "heat_scale",
            Form::Named,
            "the scale that heat_code belongs to, as maker/name; heat_scale_id takes its identifier instead",
        ),
        Declared::new("heat_code", Form::Line, "the maker's own heat code as printed"),
        Declared::new(
            "status",
            Form::Choice(Status::WORDS),
            "whether the maker still supplies it",
        ),
        Declared::new(
            "superseded_by",
            Form::Named,
            "the part that took its place, as maker/part number, in the catalogue or anywhere in the file; or its identifier",
        ),
        Declared::new(
            "provenance",
            Form::Provenance,
            "where values come from, as reach_mm=measured;hex_mm=assumed",
        ),
        Declared::new(
            "retired",
            Form::Flag,
            "left out of lists and matches, kept for its history",
        ),
    ]);
    columns
}

fn whole(min: i64, max: i64) -> Form {
    Form::Number {
        decimals: 0,
        unit: "",
        min: min as f64,
        max: max as f64,
    }
}

fn gap() -> Form {
    let (min, max, _) = bounds("gap_mm").unwrap_or_default();
    Form::Number {
        decimals: 4,
        unit: "mm",
        min,
        max,
    }
}

fn stock() -> Vec<Declared> {
    let mut columns = part_name().to_vec();
    columns.extend([
        Declared::new(
            "place",
            Form::Line,
            "the bin or quarantine, by its name or its code",
        )
        .needed(),
        Declared::new("quantity", whole(1, QUANTITY_MAX), "plugs, not packs").needed(),
        Declared::new(
            "supplier",
            Form::Line,
            "who delivered them; made on first use",
        )
        .needed(),
        Declared::new(
            "total_cost_minor",
            whole(0, 1_000_000_000_000),
            "what all of them cost, in whole minor units; empty where nobody knows",
        ),
        Declared::new(
            "currency",
            Form::Line,
            "ISO 4217 code of the cost; the shop's where empty",
        ),
        Declared::new("pack_size", whole(1, 10_000), "plugs in one box"),
        Declared::new(
            "condition",
            Form::Choice(Condition::WORDS),
            "condition of all of them; sealed where empty",
        ),
        Declared::new(
            "gap_mm",
            gap(),
            "the gap that they are set to, where gapped",
        ),
        Declared::new("reference", Form::Words, "delivery note or the like"),
        Declared::new(
            "place_kind",
            Form::Choice(&["bin", "quarantine"]),
            "what kind of place it is, a bin where empty; what comes into quarantine stays there until a \
             manager moves it",
        ),
    ]);
    columns
}

fn heat_scales() -> Vec<Declared> {
    let index = Attr::Heat.declared();
    vec![
        Declared::new(
            "maker",
            Form::Line,
            "whose codes they are, compared case-blind",
        )
        .needed(),
        Declared::new(
            "scale",
            Form::Line,
            "which of the maker's scales, compared case-blind",
        )
        .needed(),
        Declared::new(
            "code",
            Form::Line,
            "the code as the maker prints it; rows stand in the maker's order",
        )
        .needed(),
        Declared::new("heat_index", form_of(index), index.meaning).needed(),
        Declared::new(
            "calibrated_at",
            Form::Instant,
            "when a calibration put the codes where they are, so that some may tie; empty where they were typed in",
        ),
    ]
}

fn stand_ins() -> Vec<Declared> {
    let mut columns = part_name().to_vec();
    columns.extend([
        Declared::new(
            "for_maker",
            Form::Line,
            "maker of the part that it stands in for",
        )
        .needed(),
        Declared::new(
            "for_part_number",
            Form::Line,
            "part number of the part that it stands in for",
        )
        .needed(),
        Declared::new(
            "direction",
            Form::Choice(Direction::WORDS),
            "whether it holds the other way round as well",
        )
        .needed(),
        Declared::new(
            "who",
            Form::Line,
            "who says so; the same pair once from each",
        )
        .needed(),
        Declared::new("source", Form::Words, "where it was said"),
        Declared::new("note", Form::Words, "what else is to be known"),
    ]);
    columns
}

#[cfg(test)]
mod tests {
    use plugwell_domain::plug::{IDENTITY, STANDING};

    use super::*;

    #[test]
    fn every_column_is_declared_once_and_says_what_it_means() {
        for kind in TableKind::ALL {
            let mut names: Vec<String> = Vec::new();
            for column in declared(*kind) {
                assert!(column.meaning.len() > 5, "{kind:?} {}", column.name);
                names.push(column.name.to_owned());
                names.extend(column.other_names());
            }
            let all = names.len();
            names.sort();
            names.dedup();
            assert_eq!(names.len(), all, "{kind:?}");
        }
    }

    #[test]
    fn whatever_a_record_has_stands_in_its_table() {
        let columns = declared(TableKind::Plugs);
        for member in IDENTITY.iter().chain(STANDING) {
            let name = member.trim_end_matches("_id");
            assert!(columns.iter().any(|c| c.name == name), "{member}");
        }
        assert_eq!(
            columns.len(),
            IDENTITY.len() + Attr::COUNT + STANDING.len() + 1,
            "and whether it is retired"
        );
    }
}
