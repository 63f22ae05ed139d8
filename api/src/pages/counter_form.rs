//! The forms of the counter: their fields, and the commands that they mean.

use plugwell_domain::ledger::{Condition, Place, PlaceKind, ScrapReason};
use plugwell_domain::words::Role;
use serde_json::{Map, Value, json};
use uuid::Uuid;

use crate::pages::field::{Choice, Field, Input, Wrong};
use crate::pages::part::{Card, held, open_reservations};
use crate::pages::typed::{Typed, count, minor_units, quantity};
use crate::service::{Refusal, Shop, stock_lists};

/// Most places of a kind that a form knows by name.
const PLACES: i64 = 10_000;

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

/// How a field is filled in, and what it means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Counted,
    Gap,
    Money,
    Words,
    Supplier,
    JobThatHolds,
    Place(&'static [PlaceKind]),
    Reservation,
    One(&'static [&'static str]),
}

/// A field: name, label, how it is filled in, a word of help, whether it has to be.
type Declared = (&'static str, &'static str, Form, &'static str, bool);

const RECEIPT: &[Declared] = &[
    (
        "quantity",
        "Plugs",
        Form::Counted,
        "single plugs, not boxes",
        true,
    ),
    (
        "place",
        "Into bin",
        Form::Place(&[PlaceKind::Bin]),
        "name, or code on its label",
        true,
    ),
    ("supplier", "Supplier", Form::Supplier, "", true),
    ("total_cost", "Cost of all", Form::Money, "", false),
    ("pack_size", "Plugs in a box", Form::Counted, "", false),
    (
        "condition",
        "Condition",
        Form::One(Condition::WORDS),
        "sealed: the plugs' own boxes are unopened",
        false,
    ),
    (
        "gap_mm",
        "Gap that they are set to",
        Form::Gap,
        "only where gapped",
        false,
    ),
    ("reference", "Delivery note", Form::Words, "", false),
];

const ISSUE: &[Declared] = &[
    ("quantity", "Plugs", Form::Counted, "", true),
    (
        "job",
        "Job",
        Form::Words,
        "may be left open with a reservation",
        true,
    ),
    (
        "reservation_id",
        "From a reservation",
        Form::Reservation,
        "",
        false,
    ),
    (
        "gap_mm",
        "Gap that is set",
        Form::Gap,
        "lots that have it already count too",
        false,
    ),
    (
        "place",
        "Only from bin",
        Form::Place(&[PlaceKind::Bin]),
        "oldest lot first where left open",
        false,
    ),
    ("odometer_km", "Odometer", Form::Counted, "", false),
];

const SCRAP: &[Declared] = &[
    ("quantity", "Plugs", Form::Counted, "", true),
    (
        "place",
        "From bin",
        Form::Place(&[PlaceKind::Bin, PlaceKind::Quarantine]),
        "name, or code on its label; or else a job",
        false,
    ),
    (
        "job",
        "From job",
        Form::JobThatHolds,
        "where they were issued to",
        false,
    ),
    ("reason", "Reason", Form::One(ScrapReason::WORDS), "", true),
    (
        "dropped_by",
        "Dropped by",
        Form::Words,
        "only where they fell, and only if you want to say",
        false,
    ),
    ("note", "What happened", Form::Words, "", false),
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

    /// What is taken for granted where the form begins.
    fn at_first(self, name: &str) -> &'static str {
        match (self, name) {
            (Self::Receive, "condition") => Condition::Sealed.word(),
            (Self::Scrap, "reason") => ScrapReason::Dropped.word(),
            _ => "",
        }
    }
}

/// The field in which a part is typed.
pub(super) fn part_field(typed: &Typed) -> Field {
    field(
        "part",
        "Part",
        Input::Text,
        "scan its barcode, or type a part number or words",
        true,
        typed.one("part"),
    )
}

fn field(
    name: &'static str,
    label: &'static str,
    input: Input,
    hint: &str,
    needed: bool,
    value: &str,
) -> Field {
    Field {
        name,
        label,
        unit: String::new(),
        needed,
        hint: hint.to_owned(),
        input,
        value: value.to_owned(),
        choices: Vec::new(),
        fault: String::new(),
    }
}

/// The fields with what was typed; a form that begins takes a few things for granted.
pub(super) fn fields(
    shop: &Shop,
    act: Act,
    typed: &Typed,
    card: Option<&Card>,
    begins: bool,
) -> Result<Vec<Field>, Refusal> {
    let mut fields = Vec::new();
    let job = typed.one("job");
    for (name, label, form, hint, needed) in act.declared() {
        let typed = match typed.one(name) {
            "" if begins => act.at_first(name),
            typed => typed,
        };
        let input = match form {
            Form::Counted => Input::Digits,
            Form::Gap | Form::Money => Input::Figures,
            Form::One(_) | Form::Reservation => Input::One,
            Form::Words | Form::Supplier | Form::JobThatHolds | Form::Place(_) => Input::Text,
        };
        let mut field = field(name, label, input, hint, *needed, typed);
        field.choices = choices(shop, *form, typed, card)?;
        field.unit = match (form, *name) {
            (Form::Gap, _) => "mm".into(),
            (Form::Money, _) => shop.policy().values.currency.value.clone(),
            (_, "odometer_km") => "km".into(),
            _ => String::new(),
        };
        // Where the part lies in one bin only, that is the one meant.
        if begins && act == Act::Scrap && *name == "place" && typed.is_empty() && job.is_empty() {
            field.value = card.and_then(only_bin).unwrap_or_default();
        }
        fields.push(field);
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

/// What can be chosen in a field, or is offered while one types.
fn choices(
    shop: &Shop,
    form: Form,
    typed: &str,
    card: Option<&Card>,
) -> Result<Vec<Choice>, Refusal> {
    let offer = |words: String| Choice {
        value: words.clone(),
        words,
        chosen: false,
    };
    Ok(match form {
        Form::One(words) => Choice::of_words(words, |word| word == typed),
        Form::Supplier => places(shop, &[PlaceKind::Supplier])?
            .into_iter()
            .map(|place| offer(place.name))
            .collect(),
        Form::Place(kinds) => places(shop, kinds)?
            .into_iter()
            .map(|place| offer(place.name))
            .collect(),
        Form::JobThatHolds => match card {
            None => Vec::new(),
            Some(card) => held(shop, card.id, PlaceKind::Job)?
                .into_iter()
                .map(|(name, _)| offer(name))
                .collect(),
        },
        Form::Reservation => match card {
            None => Vec::new(),
            Some(card) => {
                let choice = |r: plugwell_domain::ledger::Reservation| Choice {
                    value: r.id.to_string(),
                    words: format!("{}: {} kept", r.job, r.open_quantity),
                    chosen: r.id.to_string() == typed,
                };
                open_reservations(shop, card.id)?
                    .into_iter()
                    .map(choice)
                    .collect()
            }
        },
        Form::Counted | Form::Gap | Form::Money | Form::Words => Vec::new(),
    })
}

fn places(shop: &Shop, kinds: &[PlaceKind]) -> Result<Vec<Place>, Refusal> {
    let mut all = Vec::new();
    for kind in kinds {
        all.extend(stock_lists::places(shop, Some(*kind), None, None, PLACES)?);
    }
    all.retain(|place| !place.retired);
    Ok(all)
}

/// The place that somebody means by its name or by the code on its label.
fn place(shop: &Shop, text: &str, kinds: &[PlaceKind]) -> Result<Result<Value, String>, Refusal> {
    let said = text.to_lowercase();
    let all = places(shop, kinds)?;
    let meant = all
        .iter()
        .find(|place| place.name.to_lowercase() == said || place.code.to_lowercase() == said);
    Ok(meant
        .map(|place| Value::from(place.id.to_string()))
        .ok_or_else(|| format!("no place here is called {text:?}")))
}

/// The command that was typed, as JSON, for the same checks as over HTTP; fields that are not
/// understood are left out of it.
pub(super) fn command(
    shop: &Shop,
    act: Act,
    typed: &Typed,
    plug_id: Uuid,
) -> Result<(Value, Vec<Wrong>), Refusal> {
    let mut map = Map::from_iter([("plug_id".to_owned(), Value::from(plug_id.to_string()))]);
    let mut wrong = Vec::new();
    let currency = shop.policy().values.currency.value.clone();
    let reserved = !typed.one("reservation_id").is_empty();
    for (name, _, form, _, needed) in act.declared() {
        let text = typed.one(name);
        if text.is_empty() {
            // A reservation knows its job.
            if *needed && !(reserved && *name == "job") {
                wrong.push(Wrong::with(name, Wrong::MISSING));
            }
            continue;
        }
        let value = match form {
            Form::Counted => count(text).map(Value::from),
            Form::Gap => quantity(text, "mm").map(Value::from),
            Form::Money => minor_units(text, &currency)
                .map(|minor| json!({ "minor": minor, "currency": currency })),
            Form::Place(kinds) => place(shop, text, kinds)?,
            Form::One(_)
            | Form::Words
            | Form::Supplier
            | Form::JobThatHolds
            | Form::Reservation => Ok(Value::from(text)),
        };
        match value {
            Ok(value) => {
                _ = map.insert(
                    if *name == "place" { "place_id" } else { name }.to_owned(),
                    value,
                )
            }
            Err(why) => wrong.push(Wrong::with(name, why)),
        }
    }
    if act == Act::Issue && !typed.one("build_id").is_empty() {
        map.insert("build_id".into(), typed.one("build_id").into());
    }
    Ok((Value::Object(map), wrong))
}
