//! Two to four parts side by side: what differs is marked, by a word and not by colour alone.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::attribute::Attr;
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::words::Role;
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply};
use crate::pages::field::{Field, Line, Wrong, put};
use crate::pages::form::{self, Declared, Form, Known, field};
use crate::pages::part::name;
use crate::pages::parts::{look, value};
use crate::pages::typed::Typed;
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, catalogue};

/// Most parts that stand side by side.
const MOST: usize = 4;

const PART: Declared = field(
    "part",
    "parts-another-part",
    Form::Part,
    "parts-another-part-hint",
);

#[derive(Template)]
#[template(path = "parts/compare.html")]
struct Page {
    frame: Frame,
    /// Id, name, plugs in bins, the address without it.
    parts: Vec<(Uuid, String, i64, String)>,
    rows: Vec<Row>,
    /// Pictures of the first with each other laid over it, and what they show.
    drawings: Vec<(String, String)>,
    /// Whether one more can be put beside them.
    room: bool,
    field: Field,
    focus: &'static str,
    faults: Vec<Line>,
}

/// An attribute of all.
struct Row {
    label: &'static str,
    values: Vec<String>,
    /// How they stand to each other: a word and a class of its own.
    mark: &'static str,
}

/// The page at `/compare`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    look(shop, request, Role::Reader, |shop, frame, typed| {
        let (mut plugs, mut wrong): (Vec<Plug>, Vec<Wrong>) = (Vec::new(), Vec::new());
        let mut left = "";
        for text in typed.all(PART.name) {
            match meant(shop, text)? {
                Ok(plug) if plugs.iter().any(|known| known.id == plug.id) => {}
                Ok(_) if plugs.len() == MOST => {
                    wrong.push(Wrong::all(say("parts-most-four-parts-stand-side")));
                }
                Ok(plug) => plugs.push(plug),
                Err(why) => {
                    left = text;
                    wrong.push(Wrong::with(PART.name, why));
                }
            }
        }
        page(shop, frame, &plugs, left, &wrong)
    })
    .await
}

fn meant(shop: &Shop, text: &str) -> Result<Result<Plug, String>, Refusal> {
    let id = match text.parse::<Uuid>() {
        Ok(id) => id,
        Err(_) => match shop.part(text)? {
            Ok(id) => id.parse().map_err(|_| Refusal::NotFound("part"))?,
            Err(why) => return Ok(Err(why)),
        },
    };
    catalogue::get(shop, id).map(Ok)
}

fn page(
    shop: &Shop,
    frame: Frame,
    plugs: &[Plug],
    left: &str,
    wrong: &[Wrong],
) -> Result<Reply, Refusal> {
    let mut typed = Typed::default();
    typed.put(PART.name, left);
    let mut field = form::shown(shop, &PART, &typed)?;
    let faults = put(wrong, &mut [&mut field]);
    let ids: Vec<Uuid> = plugs.iter().map(|plug| plug.id).collect();
    let held = catalogue::on_hand(shop, &ids)?;
    let without = |id: Uuid| {
        let rest = ids.iter().filter(|other| **other != id);
        let rest: Vec<_> = rest.map(|id| format!("part={id}")).collect();
        format!("/compare?{}", rest.join("&"))
    };
    let parts = plugs.iter().zip(held);
    let status = if faults.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
    };
    let page = Page {
        frame,
        parts: parts
            .map(|(plug, held)| (plug.id, name(plug), held, without(plug.id)))
            .collect(),
        rows: Attr::ALL.iter().map(|attr| row(plugs, *attr)).collect(),
        drawings: drawings(plugs),
        room: plugs.len() < MOST,
        field,
        focus: if plugs.len() < 2 || !faults.is_empty() {
            PART.name
        } else {
            ""
        },
        faults,
    };
    Reply::page(status, &page)
}

fn row(plugs: &[Plug], attr: Attr) -> Row {
    let seen: Vec<Option<i64>> = plugs.iter().map(|plug| plug.shown(attr)).collect();
    let known: Vec<i64> = seen.iter().copied().flatten().collect();
    let differ = known.windows(2).any(|two| two[0] != two[1]);
    Row {
        label: attr.declared().label,
        values: plugs
            .iter()
            .zip(&seen)
            .map(|(plug, seen)| match (seen, plug.data.facts.get(attr)) {
                (None, Some(_)) => say_with(
                    "parts-value-assumed",
                    &[("value", &value(&plug.data, attr))],
                ),
                _ => value(&plug.data, attr),
            })
            .collect(),
        mark: match (plugs.len() < 2, differ, known.len() < plugs.len()) {
            (true, ..) => "",
            (_, true, _) => "differs",
            (_, _, true) => "unknown",
            _ => "same",
        },
    }
}

fn drawings(plugs: &[Plug]) -> Vec<(String, String)> {
    let Some((first, others)) = plugs.split_first() else {
        return Vec::new();
    };
    let over = others.iter().map(|other| {
        (
            format!("/plugs/{}/outline.svg?over={}", first.id, other.id),
            say_with(
                "parts-to-scale-laid-over",
                &[("name", &name(first)), ("other", &name(other))],
            ),
        )
    });
    over.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::plug::PlugData;
    use plugwell_domain::words::Provenance;

    fn plug(reach: Option<i64>) -> Plug {
        let mut data = PlugData::named("Ferrowick", "FW-1");
        data.facts.set(Attr::Reach, reach);
        let at = crate::service::now();
        Plug {
            id: crate::service::new_id(),
            data,
            retired: false,
            version: 1,
            created_at: at,
            updated_at: at,
        }
    }

    #[test]
    fn what_differs_and_what_is_unknown_is_marked() {
        let mark = |plugs: &[Plug]| row(plugs, Attr::Reach).mark;
        let (long, short, open) = (plug(Some(265_000)), plug(Some(190_000)), plug(None));
        assert_eq!(mark(&[long.clone(), short.clone()]), "differs");
        assert_eq!(mark(&[long.clone(), long.clone()]), "same");
        assert_eq!(mark(&[long.clone(), open.clone()]), "unknown");
        assert_eq!(mark(&[long.clone(), open.clone(), short]), "differs");
        assert_eq!(mark(&[open.clone(), open]), "unknown");
        assert_eq!(mark(std::slice::from_ref(&long)), "");
        let mut guessed = long.clone();
        guessed
            .data
            .provenance
            .insert(Attr::Reach, Provenance::Assumed);
        let both = row(&[long, guessed], Attr::Reach);
        assert_eq!(both.mark, "unknown", "a guess is no knowledge");
        assert!(both.values[1].ends_with("(assumed)"), "{:?}", both.values);
    }
}
