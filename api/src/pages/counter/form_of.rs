//! The page of an act: the part, the fields, what was understood, what is wrong.

use actix_web::http::StatusCode;
use askama::Template;
use plugwell_domain::plug::Plug;
use plugwell_domain::words::Role;
use serde_json::Value;
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply};
use crate::pages::counter::LINE_OF;
use crate::pages::counter::acts::{Act, PART};
use crate::pages::counter::doubt::{Doubt, doubt};
use crate::pages::counter::given::{completed, fields, goes_back};
use crate::pages::counter::taking::Heard;
use crate::pages::counter::taking::unknown::ways_of_text;
use crate::pages::field::{Field, Line, Wrong, put};
use crate::pages::figures::in_short;
use crate::pages::form;
use crate::pages::part::{Card, Meant, card, meant, name};
use crate::pages::typed::{Typed, encoded};
use crate::pages::words::say;
use crate::service::stock::InStead;
use crate::service::{Refusal, Shop, builds, catalogue, new_id, stock_lists};

#[derive(Template)]
#[template(path = "counter/act.html")]
struct Page {
    frame: Frame,
    act: Act,
    /// Makes a form that is sent twice the same.
    once: Uuid,
    /// The form as far as it goes, in large type.
    so_far: String,
    /// What was scanned last.
    heard: String,
    /// What can be done with what was not understood: path and words.
    ways: Vec<(String, String)>,
    /// The part, where it stands fast.
    card: Option<Card>,
    /// Where it does not: the field for it, and what it could be.
    part: Field,
    parts: Vec<(Uuid, String, String)>,
    /// The order that what comes in belongs to.
    order_id: String,
    /// The build that plugs are issued for.
    build: Option<(Uuid, String)>,
    fields: Vec<Field>,
    /// What is to be looked at once more before the button is pressed.
    doubt: Option<Doubt>,
    /// What is to be known before the button is pressed.
    note: &'static str,
    /// The field to begin with; empty where the line at the top is.
    focus: &'static str,
    /// Whether the button is next.
    is_last_look: bool,
    faults: Vec<Line>,
    /// What is there of equal parts: path, name, how many, how near.
    instead: Vec<(String, String, i64, String)>,
    /// The job's pick list.
    pick_list: String,
}

/// The part that a form is about, as far as it is known.
#[derive(Default)]
pub(super) struct Found {
    pub card: Option<Card>,
    /// Parts that could be meant.
    pub parts: Vec<Plug>,
    pub wrong: Option<Wrong>,
}

impl Found {
    /// Whether nothing is known of it.
    fn is_nothing(&self) -> bool {
        self.card.is_none() && self.parts.is_empty()
    }
}

/// Looks the part up that a form is about.
///
/// # Errors
/// A part that there is not.
pub(super) fn found(shop: &Shop, act: Act, typed: &Typed) -> Result<Found, Refusal> {
    let settled = |plug: &Plug| {
        Ok::<_, Refusal>(Found {
            card: Some(card(shop, plug)?),
            ..Found::default()
        })
    };
    let unknown = |text: &str, parts| {
        Ok(Found {
            wrong: Some(Wrong::with("part", text)),
            parts,
            ..Found::default()
        })
    };
    let id = |text: &str, what| text.parse::<Uuid>().map_err(|_| Refusal::NotFound(what));
    if !act.begins_with_part() {
        let issue = match typed.one("movement_id") {
            "" => return Ok(Found::default()),
            text => stock_lists::movement(shop, id(text, "movement")?)?,
        };
        return settled(&catalogue::get(shop, issue.plug_id)?);
    }
    match typed.one("plug_id") {
        "" => {}
        text => return settled(&catalogue::get(shop, id(text, "part")?)?),
    }
    let text = typed.one("part");
    if text.is_empty() {
        // What moves is named by its lot.
        return match act {
            Act::Move => Ok(Found::default()),
            _ => unknown(Wrong::missing(), Vec::new()),
        };
    }
    match meant(shop, text)? {
        Meant::This(plug) => settled(&plug),
        Meant::Perhaps(parts) => match parts.as_slice() {
            [] => unknown(say("counter-no-part-known"), parts),
            // Words may lead to a part that was not meant: whoever typed them has a look first.
            [only] => {
                let look = Wrong::all(say("counter-look-whether-part-you-mean"));
                Ok(Found {
                    wrong: Some(look),
                    ..settled(only)?
                })
            }
            _ => unknown(say("counter-several-parts-meant-choose"), parts),
        },
    }
}

/// A form that begins takes a few things for granted; one that comes back keeps what was typed.
pub(super) enum Stage {
    Begins(Heard),
    ComesBack {
        wrong: Vec<Wrong>,
        instead: Vec<InStead>,
        status: u16,
    },
}

impl Stage {
    /// What is to be said, what is there instead, and the status where something was refused.
    fn unpacked(self) -> (Heard, Vec<InStead>, Option<u16>) {
        match self {
            Self::Begins(heard) => (heard, Vec::new(), None),
            Self::ComesBack {
                wrong,
                instead,
                status,
            } => {
                let heard = Heard {
                    wrong,
                    ..Heard::default()
                };
                (heard, instead, Some(status))
            }
        }
    }
}

/// All that the page of an act is made from.
pub(super) struct Shown<'a> {
    pub shop: &'a Shop,
    pub frame: Frame,
    pub act: Act,
    pub typed: Typed,
    pub found: Found,
    pub stage: Stage,
}

/// The page of an act.
///
/// # Errors
/// Where database or template fail.
pub(super) fn shown(shown: Shown<'_>) -> Result<Reply, Refusal> {
    let Shown {
        shop,
        act,
        mut typed,
        mut found,
        ..
    } = shown;
    let (heard, instead, refused) = shown.stage.unpacked();
    let mut hint = None;
    if refused.is_none() {
        hint = completed(shop, act, &mut typed, found.card.as_ref())?;
        // A job may lead to the only issue, and that to its part.
        if found.card.is_none() && !act.begins_with_part() {
            found = self::found(shop, act, &typed)?;
        }
    }
    let mut fields = fields(shop, act, &typed, found.card.as_ref())?;
    for field in &mut fields {
        if let Some((_, said)) = hint.as_ref().filter(|(name, _)| *name == field.name) {
            field.hint.clone_from(said);
        }
    }
    let mut part = form::shown(shop, &PART, &typed)?;
    part.needed = act != Act::Move;
    let mut all: Vec<&mut Field> = std::iter::once(&mut part).chain(&mut fields).collect();
    let faults = put(&heard.wrong, &mut all);
    let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    let status = refused.unwrap_or(if faults.is_empty() { 200 } else { 400 });
    let so_far = so_far(act, &typed, found.card.as_ref());
    let mut ways = heard.ways;
    if ways.is_empty() && found.is_nothing() && !typed.one("part").is_empty() {
        ways = ways_of_text(shop, act, typed.one("part"), shown.frame.may(Role::Clerk))?;
    }
    let doubt = doubt(shop, act, &typed, found.card.as_ref().map(|card| card.id))?
        .map(|doubt| doubt.beside(&heard.wrong));
    let page = Page {
        frame: Frame {
            line_of: LINE_OF,
            ..shown.frame
        },
        act,
        focus: first_wrong.unwrap_or_default(),
        is_last_look: heard.is_last_look && faults.is_empty(),
        // A form that was refused keeps its key: nothing was done under it.
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        so_far,
        heard: heard.said,
        ways,
        card: found.card,
        part,
        parts: choices(&found.parts),
        order_id: typed.one("order_id").to_owned(),
        build: build(shop, &typed)?,
        doubt,
        note: note(act, &typed),
        pick_list: match (act, typed.one("job")) {
            (Act::Issue, job) if !job.is_empty() => format!("/pick-list?job={}", encoded(job)),
            _ => String::new(),
        },
        instead: instead
            .iter()
            .map(|part| on_shelf(act, &typed, part))
            .collect(),
        fields,
        faults,
    };
    let status = StatusCode::from_u16(status).unwrap_or(StatusCode::BAD_REQUEST);
    Reply::page(status, &page)
}

fn choices(parts: &[Plug]) -> Vec<(Uuid, String, String)> {
    let choice = |plug: &Plug| (plug.id, name(plug), in_short(&plug.data));
    parts.iter().map(choice).collect()
}

fn build(shop: &Shop, typed: &Typed) -> Result<Option<(Uuid, String)>, Refusal> {
    let Ok(id) = typed.one("build").parse::<Uuid>() else {
        return Ok(None);
    };
    let named = builds::get(shop, id)?.data.name;
    Ok(Some((
        id,
        named.unwrap_or_else(|| say("counter-a-build-without-a-name").into()),
    )))
}

/// The form as far as it goes: how many of what, where from, where to.
fn so_far(act: Act, typed: &Typed, card: Option<&Card>) -> String {
    let mut words = Vec::new();
    if let Some(card) = card {
        words.push(match typed.one("quantity") {
            "" => card.name.clone(),
            plugs => format!("{plugs} × {}", card.name),
        });
    }
    let mut told = |before: &str, name: &str| {
        let value = typed.one(name);
        if act.has(name) && !value.is_empty() {
            words.push(format!("{before} {value}"));
        }
    };
    told(say("counter-of-lot"), "lot");
    told(say("counter-from-it"), "supplier");
    told(say("counter-from-it"), "from_place");
    told(say("counter-to-it"), "to_place");
    match act {
        Act::Issue | Act::Reserve => {
            told(say("counter-from-it"), "place");
            told(say("counter-for-it"), "job");
        }
        Act::Scrap => {
            told(say("counter-from-it"), "place");
            told(say("counter-from-it"), "job");
        }
        Act::Return => {
            told(say("counter-from-it"), "job");
            if goes_back(typed) {
                told(say("counter-into-it"), "place");
            }
        }
        Act::Receive | Act::Move => told(say("counter-into-it"), "place"),
    }
    words.join(" ")
}

/// What is to be known before the button is pressed.
fn note(act: Act, typed: &Typed) -> &'static str {
    match act {
        Act::Scrap => say("counter-dropped-plug-scrap-even-if"),
        Act::Return if !typed.one("condition").is_empty() && !goes_back(typed) => {
            say("counter-plugs-look-go-into-scrap")
        }
        Act::Return => say("counter-fitted-handled-dropped-goes-into"),
        _ => "",
    }
}

/// The parts that a refusal names.
pub(super) fn instead(members: Option<&Value>) -> Vec<InStead> {
    let all = members
        .and_then(Value::as_array)
        .map_or(&[][..], Vec::as_slice);
    let one = |part: &Value| {
        Some(InStead {
            plug_id: part["plug_id"].as_str()?.parse().ok()?,
            maker: part["maker"].as_str()?.to_owned(),
            part_number: part["part_number"].as_str()?.to_owned(),
            available: part["available"].as_i64()?,
            grade: part["grade"].as_str()?.to_owned(),
            grade_code: part["grade_code"].as_str()?.parse().ok()?,
        })
    };
    all.iter().filter_map(one).collect()
}

/// An equal part that is there, with the form for it.
fn on_shelf(act: Act, typed: &Typed, part: &InStead) -> (String, String, i64, String) {
    let mut path = format!("{}?plug_id={}", act.path(), part.plug_id);
    for name in ["quantity", "job", "build", "gap_mm"] {
        let value = typed.one(name);
        if !value.is_empty() {
            path.push_str(&format!("&{name}={}", encoded(value)));
        }
    }
    let name = format!("{} {}", part.maker, part.part_number);
    (path, name, part.available, part.grade.clone())
}
