//! The forms of the counter: their fields, and the commands that they mean.

use plugwell_domain::ledger::{Condition, PlaceKind, Returned, ScrapReason};
use plugwell_domain::words::Role;
use serde_json::Value;
use uuid::Uuid;

use crate::pages::field::Wrong;
use crate::pages::form::{self, Declared, Form, Stored, field, needed};
use crate::pages::typed::{Typed, count};
use crate::pages::words::{say, say_with};
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
const JOB: &str = "counter-scan-type-called";
const LABEL: &str = "counter-name-code-label";

const QUANTITY: Declared = needed(field("quantity", "counter-plugs", Form::Counted(""), ""));

const RECEIPT: &[Declared] = &[
    field(
        "quantity",
        "counter-plugs",
        Form::Counted(""),
        "counter-plugs-hint",
    ),
    field("packs", "counter-boxes", Form::Counted(""), ""),
    field("pack_size", "counter-plugs-in-a-box", Form::Counted(""), ""),
    needed(field("place", "counter-into-bin", BIN, LABEL)),
    field(
        "order_line_id",
        "counter-for-an-order",
        Form::Offered,
        "counter-for-an-order-hint",
    ),
    needed(field("supplier", "counter-supplier", Form::Supplier, "")),
    field("total_cost", "counter-cost-of-all", Form::Money, ""),
    field(
        "condition",
        "counter-condition",
        Form::One(Condition::WORDS),
        "counter-condition-hint",
    ),
    field(
        "gap_mm",
        "counter-gap-they-set",
        Form::Measured("mm"),
        "counter-gap-they-set-hint",
    ),
    field("reference", "counter-delivery-note", Form::Words, ""),
];

const ISSUE: &[Declared] = &[
    QUANTITY,
    needed(field("job", "counter-job", Form::Words, "counter-job-hint")),
    field(
        "reservation_id",
        "counter-from-a-reservation",
        Form::Offered,
        "",
    ),
    field(
        "gap_mm",
        "counter-gap-that-is-set",
        Form::Measured("mm"),
        "counter-gap-that-is-set-hint",
    ),
    field(
        "lot",
        "counter-only-of-lot",
        Form::Lot,
        "counter-only-of-lot-hint",
    ),
    field("place", "counter-only-from-bin", BIN, LABEL),
    field(
        "build",
        "counter-for-build",
        Form::Stored(Stored::Build),
        "",
    ),
    field("odometer_km", "counter-odometer", Form::Counted("km"), ""),
];

const RETURN: &[Declared] = &[
    needed(field("job", "counter-from-job", Form::Words, JOB)),
    needed(field(
        "movement_id",
        "counter-which-issue",
        Form::Offered,
        "counter-which-issue-hint",
    )),
    QUANTITY,
    needed(field(
        "condition",
        "counter-how-they-look",
        Form::One(Returned::WORDS),
        "counter-how-they-look-hint",
    )),
    field(
        "gap_mm",
        "counter-gap-they-set",
        Form::Measured("mm"),
        "counter-gap-they-set-hint-2",
    ),
    field(
        "place",
        "counter-back-into-bin",
        BIN,
        "counter-back-into-bin-hint",
    ),
    field(
        "dropped_by",
        "counter-dropped-by",
        Form::Words,
        "counter-dropped-by-hint",
    ),
];

const TRANSFER: &[Declared] = &[
    QUANTITY,
    needed(field("lot", "counter-lot", Form::Lot, "counter-lot-hint")),
    needed(field("from_place", "counter-from", SHELVES, LABEL)),
    needed(field("to_place", "counter-to", SHELVES, LABEL)),
];

const SCRAP: &[Declared] = &[
    QUANTITY,
    field(
        "lot",
        "counter-only-of-lot",
        Form::Lot,
        "counter-only-of-lot-hint-2",
    ),
    field(
        "place",
        "counter-from-bin",
        SHELVES,
        "counter-from-bin-hint",
    ),
    field(
        "job",
        "counter-from-job",
        Form::Words,
        "counter-from-job-hint",
    ),
    needed(field(
        "reason",
        "counter-reason",
        Form::One(ScrapReason::WORDS),
        "",
    )),
    field(
        "dropped_by",
        "counter-dropped-by",
        Form::Words,
        "counter-dropped-by-hint",
    ),
    field("note", "counter-what-happened", Form::Words, ""),
];

const RESERVE: &[Declared] = &[
    QUANTITY,
    needed(field("job", "counter-job", Form::Words, JOB)),
    field(
        "build",
        "counter-for-build",
        Form::Stored(Stored::Build),
        "",
    ),
    field(
        "expires_on",
        "counter-kept-until-the-end-of",
        Form::Day,
        "counter-kept-until-the-end-of-hint",
    ),
];

/// What is said of each act, in the order of [`Act::ALL`].
#[rustfmt::skip]
const TOLD: &[Told] = &[
    Told { path: "/receive", heading: "counter-receive-plugs", button: "counter-receive", least: Role::Clerk, fields: RECEIPT,
        takes: "counter-part-order-supplier-bin-number" },
    Told { path: "/issue", heading: "counter-issue-plugs-to-a-job", button: "counter-issue", least: Role::Tuner, fields: ISSUE,
        takes: "counter-part-lot-job-bin-number" },
    Told { path: "/return", heading: "counter-take-plugs-back-job", button: "counter-take-back", least: Role::Clerk, fields: RETURN,
        takes: "counter-job-then-part-lot-looks" },
    Told { path: "/move", heading: "counter-move-plugs", button: "counter-move", least: Role::Clerk, fields: TRANSFER,
        takes: "counter-lot-part-bin-bin-goes" },
    Told { path: "/scrap", heading: "counter-scrap-plugs", button: "counter-scrap-for-good", least: Role::Tuner, fields: SCRAP,
        takes: "counter-part-lot-bin-job-reason" },
    Told { path: "/reserve", heading: "counter-reserve-plugs-for-a-job", button: "counter-reserve", least: Role::Tuner, fields: RESERVE,
        takes: "counter-part-job-number-plugs" },
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
        say(self.told().heading)
    }

    /// What the button says.
    pub fn button(self) -> &'static str {
        say(self.told().button)
    }

    /// What can be scanned into it.
    pub fn takes(self) -> &'static str {
        say(self.told().takes)
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
    "counter-part",
    Form::Words,
    "counter-part-hint",
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
            let text = say_with(
                "counter-many-boxes-all-plugs-not",
                &[("all", &all), ("plugs", &plugs)],
            );
            wrong.push(Wrong::with("packs", text));
        }
        (None, None) if typed.one("quantity").is_empty() => {
            wrong.insert(0, Wrong::with("quantity", Wrong::missing()));
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
