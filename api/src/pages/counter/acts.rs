//! The forms of the counter: their fields, and the commands that they mean.

use plugwell_domain::ledger::{Condition, PlaceKind, Reservation, ScrapReason};
use plugwell_domain::words::Role;
use serde_json::Value;
use uuid::Uuid;

use crate::pages::field::{Choice, Field, Wrong};
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::part::{Card, held, open_reservations};
use crate::pages::typed::Typed;
use crate::service::{Refusal, Shop};

/// What a form does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Act {
    /// Takes plugs in.
    Receive,
    /// Hands them out to a job.
    Issue,
    /// Throws them away.
    Scrap,
}

const RECEIPT: &[Declared] = &[
    needed(field(
        "quantity",
        "Plugs",
        Form::Counted(""),
        "single plugs, not boxes",
    )),
    needed(field(
        "place",
        "Into bin",
        Form::Place(&[PlaceKind::Bin]),
        "name, or code on its label",
    )),
    needed(field("supplier", "Supplier", Form::Supplier, "")),
    field("total_cost", "Cost of all", Form::Money, ""),
    field("pack_size", "Plugs in a box", Form::Counted(""), ""),
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
    needed(field("quantity", "Plugs", Form::Counted(""), "")),
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
        "place",
        "Only from bin",
        Form::Place(&[PlaceKind::Bin]),
        "fewest lots, then oldest, where left open",
    ),
    field("odometer_km", "Odometer", Form::Counted("km"), ""),
];

const SCRAP: &[Declared] = &[
    needed(field("quantity", "Plugs", Form::Counted(""), "")),
    field(
        "place",
        "From bin",
        Form::Place(&[PlaceKind::Bin, PlaceKind::Quarantine]),
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

impl Act {
    /// Where the form stands.
    pub fn path(self) -> &'static str {
        match self {
            Self::Receive => "/receive",
            Self::Issue => "/issue",
            Self::Scrap => "/scrap",
        }
    }

    /// What the page is called.
    pub fn heading(self) -> &'static str {
        match self {
            Self::Receive => "Receive plugs",
            Self::Issue => "Issue plugs to a job",
            Self::Scrap => "Scrap plugs",
        }
    }

    /// What the button says.
    pub fn button(self) -> &'static str {
        match self {
            Self::Receive => "Receive",
            Self::Issue => "Issue",
            Self::Scrap => "Scrap for good",
        }
    }

    /// Whether nothing of it can be taken back at the counter.
    pub fn is_final(self) -> bool {
        self == Self::Scrap
    }

    /// Who may.
    pub fn least(self) -> Role {
        match self {
            Self::Receive => Role::Clerk,
            Self::Issue | Self::Scrap => Role::Tuner,
        }
    }

    fn declared(self) -> &'static [Declared] {
        match self {
            Self::Receive => RECEIPT,
            Self::Issue => ISSUE,
            Self::Scrap => SCRAP,
        }
    }

    /// Puts in what is taken for granted where the form begins.
    fn begin(self, typed: &mut Typed, card: Option<&Card>) {
        let mut take = |name: &str, value: String| {
            if typed.one(name).is_empty() {
                typed.put(name, value);
            }
        };
        match self {
            Self::Receive => take("condition", Condition::Sealed.word().into()),
            Self::Scrap => take("reason", ScrapReason::Dropped.word().into()),
            Self::Issue => {}
        }
        // Where the part lies in one bin only, that is the one meant.
        if self == Self::Scrap
            && typed.one("job").is_empty()
            && let Some(bin) = card.and_then(only_bin)
        {
            typed.put("place", bin);
        }
    }
}

/// The field in which a part is typed.
pub(super) const PART: Declared = needed(field(
    "part",
    "Part",
    Form::Words,
    "scan its barcode, or type a part number or words",
));

/// The fields with what was typed; a form that begins takes a few things for granted.
pub(super) fn fields(
    shop: &Shop,
    act: Act,
    typed: &Typed,
    card: Option<&Card>,
    begins: bool,
) -> Result<Vec<Field>, Refusal> {
    let mut typed = typed.clone();
    if begins {
        act.begin(&mut typed, card);
    }
    let mut fields = form::all_shown(shop, act.declared(), &typed)?;
    if let Some(card) = card {
        for field in &mut fields {
            match (act, field.name) {
                (Act::Issue, "reservation_id") => {
                    field.choices = kept(shop, card, typed.one("reservation_id"))?;
                }
                (Act::Scrap, "job") => {
                    let jobs = held(shop, card.id, PlaceKind::Job)?.into_iter();
                    field.choices = jobs.map(|(name, _)| Choice::offer(name)).collect();
                }
                _ => {}
            }
        }
    }
    // There is nothing to choose where nothing is reserved.
    fields.retain(|field| field.name != "reservation_id" || !field.choices.is_empty());
    Ok(fields)
}

fn only_bin(card: &Card) -> Option<String> {
    match card
        .lies
        .iter()
        .filter(|(kind, ..)| *kind == PlaceKind::Bin)
        .collect::<Vec<_>>()
        .as_slice()
    {
        [(_, name, _)] => Some(name.clone()),
        _ => None,
    }
}

/// What is kept for jobs of a part.
fn kept(shop: &Shop, card: &Card, chosen: &str) -> Result<Vec<Choice>, Refusal> {
    let choice = |r: Reservation| Choice {
        value: r.id.to_string(),
        words: format!("{}: {} kept", r.job, r.open_quantity),
        chosen: r.id.to_string() == chosen,
    };
    Ok(open_reservations(shop, card.id)?
        .into_iter()
        .map(choice)
        .collect())
}

/// The command that was typed, as JSON, for the same checks as over HTTP; fields that are not
/// understood are left out of it.
pub(super) fn command(
    shop: &Shop,
    act: Act,
    typed: &Typed,
    plug_id: Uuid,
) -> Result<(Value, Vec<Wrong>), Refusal> {
    let (mut map, mut wrong) = form::object(shop, act.declared(), typed)?;
    // A reservation knows its job.
    if !typed.one("reservation_id").is_empty() {
        wrong.retain(|one| one.field != "job");
    }
    map.insert("plug_id".into(), plug_id.to_string().into());
    if act == Act::Issue && !typed.one("build_id").is_empty() {
        map.insert("build_id".into(), typed.one("build_id").into());
    }
    Ok((Value::Object(map), wrong))
}
