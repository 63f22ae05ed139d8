//! The forms of the counter: their fields, and the commands that they mean.

use plugwell_domain::ledger::{Condition, PlaceKind, Returned, ScrapReason};
use plugwell_domain::words::Role;
use serde_json::Value;
use uuid::Uuid;

use crate::pages::field::Wrong;
use crate::pages::form::{self, Declared, Form, Stored, field, needed};
use crate::pages::typed::{Typed, count};
use crate::service::{Refusal, Shop};

/// What a form does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Act {
    /// Takes plugs in.
    Receive,
    /// Hands them out to a job.
    Issue,
    /// Takes them back from a job.
    Return,
    /// Puts them elsewhere.
    Move,
    /// Throws them away.
    Scrap,
    /// Keeps them for a job.
    Reserve,
}

/// What is said of an act.
struct Told {
    path: &'static str,
    heading: &'static str,
    button: &'static str,
    /// What can be scanned into it.
    takes: &'static str,
    least: Role,
    fields: &'static [Declared],
}

const BIN: Form = Form::Place(&[PlaceKind::Bin]);
const SHELVES: Form = Form::Place(&[PlaceKind::Bin, PlaceKind::Quarantine]);
const JOB: &str = "scan it, or type what it is called";
const LABEL: &str = "name, or code on its label";

const QUANTITY: Declared = needed(field("quantity", "Plugs", Form::Counted(""), ""));

const RECEIPT: &[Declared] = &[
    field(
        "quantity",
        "Plugs",
        Form::Counted(""),
        "single plugs, or else boxes and plugs in a box",
    ),
    field("packs", "Boxes", Form::Counted(""), ""),
    field("pack_size", "Plugs in a box", Form::Counted(""), ""),
    needed(field("place", "Into bin", BIN, LABEL)),
    field(
        "order_line_id",
        "For an order",
        Form::Offered,
        "its supplier and its price count",
    ),
    needed(field("supplier", "Supplier", Form::Supplier, "")),
    field("total_cost", "Cost of all", Form::Money, ""),
    field(
        "condition",
        "Condition",
        Form::One(Condition::WORDS),
        "sealed: the plugs' own boxes are unopened",
    ),
    field(
        "gap_mm",
        "Gap that they are set to",
        Form::Measured("mm"),
        "only where gapped",
    ),
    field("reference", "Delivery note", Form::Words, ""),
];

const ISSUE: &[Declared] = &[
    QUANTITY,
    needed(field(
        "job",
        "Job",
        Form::Words,
        "may be left open with a reservation",
    )),
    field("reservation_id", "From a reservation", Form::Offered, ""),
    field(
        "gap_mm",
        "Gap that is set",
        Form::Measured("mm"),
        "lots that have it already count too",
    ),
    field(
        "lot",
        "Only of lot",
        Form::Lot,
        "fewest lots, then oldest, where left open",
    ),
    field("place", "Only from bin", BIN, LABEL),
    field("build", "For build", Form::Stored(Stored::Build), ""),
    field("odometer_km", "Odometer", Form::Counted("km"), ""),
];

const RETURN: &[Declared] = &[
    needed(field("job", "From job", Form::Words, JOB)),
    needed(field(
        "movement_id",
        "Which issue",
        Form::Offered,
        "scan the part or the lot's label to choose it",
    )),
    QUANTITY,
    needed(field(
        "condition",
        "How they look",
        Form::One(Returned::WORDS),
        "only sealed and gapped plugs go back on the shelf",
    )),
    field(
        "gap_mm",
        "Gap that they are set to",
        Form::Measured("mm"),
        "only where gapped; that of the issue where left open",
    ),
    field(
        "place",
        "Back into bin",
        BIN,
        "left open for what goes to scrap",
    ),
    field(
        "dropped_by",
        "Dropped by",
        Form::Words,
        "only where they fell, and only if you want to say",
    ),
];

const TRANSFER: &[Declared] = &[
    QUANTITY,
    needed(field("lot", "Lot", Form::Lot, "the code on its label")),
    needed(field("from_place", "From", SHELVES, LABEL)),
    needed(field("to_place", "To", SHELVES, LABEL)),
];

const SCRAP: &[Declared] = &[
    QUANTITY,
    field(
        "lot",
        "Only of lot",
        Form::Lot,
        "the oldest where left open",
    ),
    field(
        "place",
        "From bin",
        SHELVES,
        "name, or code on its label; or else a job",
    ),
    field("job", "From job", Form::Words, "where they were issued to"),
    needed(field("reason", "Reason", Form::One(ScrapReason::WORDS), "")),
    field(
        "dropped_by",
        "Dropped by",
        Form::Words,
        "only where they fell, and only if you want to say",
    ),
    field("note", "What happened", Form::Words, ""),
];

const RESERVE: &[Declared] = &[
    QUANTITY,
    needed(field("job", "Job", Form::Words, JOB)),
    field("build", "For build", Form::Stored(Stored::Build), ""),
    field(
        "expires_on",
        "Kept until the end of",
        Form::Day,
        "as long as the policy says where left open",
    ),
];

/// What is said of each act, in the order of [`Act::ALL`].
#[rustfmt::skip]
const TOLD: &[Told] = &[
    Told { path: "/receive", heading: "Receive plugs", button: "Receive", least: Role::Clerk, fields: RECEIPT,
        takes: "a part, an order, a supplier, a bin or a number of plugs" },
    Told { path: "/issue", heading: "Issue plugs to a job", button: "Issue", least: Role::Tuner, fields: ISSUE,
        takes: "a part, a lot, a job, a bin or a number of plugs" },
    Told { path: "/return", heading: "Take plugs back from a job", button: "Take back", least: Role::Clerk, fields: RETURN,
        takes: "a job, then a part or lot of it, how it looks, a bin or a number of plugs" },
    Told { path: "/move", heading: "Move plugs", button: "Move", least: Role::Clerk, fields: TRANSFER,
        takes: "a lot or a part, the bin it is in, the bin it goes to, or a number of plugs" },
    Told { path: "/scrap", heading: "Scrap plugs", button: "Scrap for good", least: Role::Tuner, fields: SCRAP,
        takes: "a part, a lot, a bin, a job, a reason or a number of plugs" },
    Told { path: "/reserve", heading: "Reserve plugs for a job", button: "Reserve", least: Role::Tuner, fields: RESERVE,
        takes: "a part, a job or a number of plugs" },
];

impl Act {
    /// All, in the order in which they stand.
    pub const ALL: [Self; 6] = [
        Self::Receive,
        Self::Issue,
        Self::Return,
        Self::Move,
        Self::Scrap,
        Self::Reserve,
    ];

    fn told(self) -> &'static Told {
        &TOLD[self as usize]
    }

    /// Where the form stands.
    pub fn path(self) -> &'static str {
        self.told().path
    }

    /// What the page is called.
    pub fn heading(self) -> &'static str {
        self.told().heading
    }

    /// What the button says.
    pub fn button(self) -> &'static str {
        self.told().button
    }

    /// What can be scanned into it.
    pub fn takes(self) -> &'static str {
        self.told().takes
    }

    /// Who may.
    pub fn least(self) -> Role {
        self.told().least
    }

    /// Its fields.
    pub fn declared(self) -> &'static [Declared] {
        self.told().fields
    }

    /// Whether it has a field.
    pub fn has(self, name: &str) -> bool {
        self.declared().iter().any(|one| one.name == name)
    }

    /// Whether it begins with a part; what comes back begins with its job.
    pub fn begins_with_part(self) -> bool {
        self != Self::Return
    }

    /// The field of a closed list that has a word, and the word as the list has it.
    pub fn word(self, text: &str) -> Option<(&'static str, &'static str)> {
        let said = text.to_lowercase().replace([' ', '-'], "_");
        self.declared().iter().find_map(|one| match one.form {
            Form::One(words) => words
                .iter()
                .find(|word| **word == said)
                .map(|word| (one.name, *word)),
            _ => None,
        })
    }
}

/// The field in which a part is typed.
pub(super) const PART: Declared = needed(field(
    "part",
    "Part",
    Form::Words,
    "scan its barcode, or type a part number or words",
));

/// The command that was typed, as JSON, for the same checks as over HTTP; fields that are not
/// understood are left out of it.
pub(super) fn command(
    shop: &Shop,
    act: Act,
    typed: &Typed,
    plug_id: Option<Uuid>,
) -> Result<(Value, Vec<Wrong>), Refusal> {
    let (mut map, mut wrong) = form::object(shop, act.declared(), typed)?;
    let part = Value::from(plug_id.unwrap_or_default().to_string());
    match act {
        Act::Receive => {
            map.remove("packs");
            in_boxes(typed, &mut map, &mut wrong);
            map.insert("plug_id".into(), part);
        }
        Act::Issue => {
            // A reservation knows its job.
            if !typed.one("reservation_id").is_empty() {
                wrong.retain(|one| one.field != "job");
            }
            map.insert("plug_id".into(), part);
        }
        // The job only leads to the issue.
        Act::Return => _ = map.remove("job"),
        Act::Move => {}
        // The lot or the part, never both.
        Act::Scrap if map.contains_key("lot_id") => {}
        Act::Scrap => _ = map.insert("plug_id".into(), part),
        Act::Reserve => {
            if let Some(Value::String(day)) = map.remove("expires_on") {
                map.insert("expires_at".into(), format!("{day}T23:59:59Z").into());
            }
            map.insert("plug_id".into(), part);
        }
    }
    Ok((Value::Object(map), wrong))
}

/// Plugs are counted one by one, or in boxes; both have to agree.
fn in_boxes(typed: &Typed, map: &mut serde_json::Map<String, Value>, wrong: &mut Vec<Wrong>) {
    let number = |name| count(typed.one(name)).ok();
    let boxed = number("packs")
        .zip(number("pack_size"))
        .and_then(|(packs, each)| packs.checked_mul(each));
    let singly = map.get("quantity").and_then(Value::as_i64);
    match (singly, boxed) {
        (None, Some(all)) if typed.one("quantity").is_empty() => {
            map.insert("quantity".into(), all.into());
        }
        (Some(plugs), Some(all)) if plugs != all => {
            let text = format!("in so many boxes are {all} plugs, not {plugs}; leave one open");
            wrong.push(Wrong::with("packs", text));
        }
        (None, None) if typed.one("quantity").is_empty() => {
            wrong.insert(0, Wrong::with("quantity", Wrong::MISSING));
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_act_is_told_in_its_place() {
        for act in Act::ALL {
            let verb = format!("{act:?}").to_lowercase();
            assert_eq!(act.path(), format!("/{verb}"));
        }
    }

    #[test]
    fn a_word_of_a_list_finds_its_field_however_it_is_written() {
        let word = |act: Act, text| act.word(text);
        assert_eq!(
            word(Act::Scrap, "Bent strap"),
            Some(("reason", "bent_strap"))
        );
        assert_eq!(word(Act::Return, "DROPPED"), Some(("condition", "dropped")));
        assert_eq!(word(Act::Issue, "dropped"), None);
        assert_eq!(word(Act::Scrap, ""), None);
    }
}
