//! One heat scale: its codes, the parts that carry them, and the form that writes it.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::heat_scale::{HeatScale, HeatScaleData};
use plugwell_domain::plug::Plug;
use plugwell_domain::words::Role;
use plugwell_store::PlugFilter;
use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::{id_of, name};
use crate::http::body::{Body, Patch};
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::figures::{day, in_short};
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::part;
use crate::pages::typed::{Posted, Typed, quantity};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::service::catalogue::{self, Wanted};
use crate::service::{Refusal, Shop, scales};
use crate::shown::marked;

/// Parts of one page.
const PARTS: usize = 50;

const FORM: &[Declared] = &[
    needed(field("maker", "scales-maker", Form::Words, "")),
    needed(field(
        "name",
        "scales-name",
        Form::Words,
        "scales-name-hint",
    )),
    needed(field(
        "codes",
        "scales-codes",
        Form::Lines,
        "scales-codes-hint",
    )),
];

#[derive(Template)]
#[template(path = "scales/scale.html")]
struct Page {
    frame: Frame,
    heading: String,
    path: String,
    /// Where the codes come from; empty for a new scale.
    origin: String,
    /// What a change did; empty where one only looks.
    done: String,
    codes: Listing,
    parts: Listing,
    may_write: bool,
    /// Whether the form lies open.
    writes: bool,
    version: i64,
    fields: Vec<Field>,
    focus: &'static str,
    faults: Vec<Line>,
}

/// The scale of a path; `None` where a new one is written.
fn found(shop: &Shop, id: &str) -> Result<Option<HeatScale>, Refusal> {
    match id {
        "new" => Ok(None),
        id => scales::get(shop, id_of(id)?).map(Some),
    }
}

/// A scale as it would be typed.
fn stands(scale: &HeatScale) -> Typed {
    let codes = scale.data.codes.iter();
    let codes: Vec<String> = codes
        .map(|code| format!("{} {}", code.code, code.heat_index))
        .collect();
    let mut typed = Typed::default();
    typed.put("maker", &*scale.data.maker);
    typed.put("name", &*scale.data.name);
    typed.put("codes", codes.join("\n"));
    typed
}

/// The page at `/heat-scales/{id}`.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let id = path.into_inner();
    let least = if id == "new" {
        Role::Clerk
    } else {
        Role::Reader
    };
    let who = match visitor(&shop, &request, least) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let asked = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let scale = found(shop, &id)?;
        let typed = scale.as_ref().map(stands).unwrap_or_default();
        let looked = Looked {
            scale,
            asked: &asked,
            typed: &typed,
        };
        page(shop, frame, looked, &[], StatusCode::OK)
    })
    .await
}

/// A scale, what the address asks of its page, and what stands in its form.
struct Looked<'a> {
    scale: Option<HeatScale>,
    asked: &'a Typed,
    typed: &'a Typed,
}

fn page(
    shop: &Shop,
    frame: Frame,
    looked: Looked<'_>,
    wrong: &[Wrong],
    status: StatusCode,
) -> Result<Reply, Refusal> {
    let Looked {
        scale,
        asked,
        typed,
    } = looked;
    let mut fields = form::all_shown(shop, FORM, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    let id = scale.as_ref().map(|scale| scale.id);
    let page = Page {
        may_write: frame.may(Role::Clerk),
        frame,
        heading: scale
            .as_ref()
            .map_or_else(|| say("scales-a-new-heat-scale").into(), name),
        path: id.map_or_else(
            || "/heat-scales/new".into(),
            |id| format!("/heat-scales/{id}"),
        ),
        origin: scale.as_ref().map_or_else(String::new, origin),
        done: done(asked),
        codes: codes(scale.as_ref()),
        parts: match id {
            Some(id) => parts(shop, id, asked)?,
            None => Listing::default(),
        },
        writes: scale.is_none() || !faults.is_empty(),
        version: scale.as_ref().map_or(0, |scale| scale.version),
        focus: first_wrong.unwrap_or(if scale.is_none() { "maker" } else { "" }),
        fields,
        faults,
    };
    Reply::page(status, &page)
}

fn origin(scale: &HeatScale) -> String {
    let colder = if scale.data.rises() {
        say("scales-plugs-get-colder-along-maker")
    } else {
        say("scales-plugs-get-hotter-along-maker")
    };
    match scale.calibrated_at {
        Some(at) => say_with(
            "scales-calibrated-day-colder",
            &[("day", &day(at)), ("colder", &colder)],
        ),
        None => say_with("scales-typed-in-colder", &[("colder", &colder)]),
    }
}

/// What a change did, as the address says it in numbers.
fn done(asked: &Typed) -> String {
    let number = |name| asked.one(name).parse::<usize>().ok();
    match (number("parts"), number("held")) {
        (Some(0), _) => say("scales-written-no-part-carries-another").to_owned(),
        (Some(parts), Some(held)) => say_with(
            "scales-written-parts-parts-carry-codes",
            &[("parts", &parts), ("held", &held)],
        ),
        _ => String::new(),
    }
}

fn codes(scale: Option<&HeatScale>) -> Listing {
    let codes = scale.map_or(&[][..], |scale| &scale.data.codes);
    let row = |code: &plugwell_domain::heat_scale::HeatCode| {
        vec![
            Cell::of(&code.code),
            Cell::of(marked(code.heat_index.to_string())),
        ]
    };
    Listing {
        caption: say("scales-codes-in-the-maker-order").into(),
        columns: vec![words("scales-code"), figures("scales-index")],
        rows: codes.iter().map(row).collect(),
        empty: say("scales-it-has-no-code"),
        ..Listing::default()
    }
}

fn parts(shop: &Shop, id: Uuid, asked: &Typed) -> Result<Listing, Refusal> {
    let wanted = Wanted {
        text: None,
        filter: PlugFilter {
            heat_scale_id: Some(id),
            ..PlugFilter::default()
        },
    };
    let after = match asked.one("after") {
        "" => None,
        text => Some(text.parse().map_err(|_| Refusal::NotFound("part"))?),
    };
    let mut found = catalogue::list(shop, &wanted, after, PARTS as i64 + 1)?;
    let rest = found.len() > PARTS;
    found.truncate(PARTS);
    let last = found.last().filter(|_| rest);
    let row = |plug: &Plug| {
        vec![
            Cell::to(format!("/parts/{}", plug.id), part::name(plug)),
            Cell::of(in_short(&plug.data)),
        ]
    };
    Ok(Listing {
        caption: say("scales-parts-that-carry-its-codes").into(),
        columns: vec![words("scales-part"), words("scales-in-short")],
        rows: found.iter().map(row).collect(),
        empty: say("scales-no-part-carries-code"),
        more: last.map_or_else(String::new, |p| format!("/heat-scales/{id}?after={}", p.id)),
    })
}

/// A scale that was written.
pub(super) async fn send(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let scale = found(shop, &id)?;
        let (map, mut wrong) = body(shop, &typed)?;
        let outcome = match wrong.is_empty() {
            true => written(shop, scale.as_ref(), &typed, map),
            false => Err(Refusal::Faults(Vec::new())),
        };
        let status = match outcome {
            Ok(there) => return Ok(Reply::Elsewhere(there)),
            Err(Refusal::Faults(faults)) => {
                add(&mut wrong, &faults);
                StatusCode::BAD_REQUEST
            }
            Err(Refusal::Stale) => {
                let text = say("scales-scale-changed-while-you-typed");
                wrong.push(Wrong::all(text));
                StatusCode::CONFLICT
            }
            Err(Refusal::Conflict { detail, .. }) => {
                wrong.push(Wrong::all(detail));
                StatusCode::CONFLICT
            }
            Err(other) => return Err(other),
        };
        let looked = Looked {
            scale,
            asked: &Typed::default(),
            typed: &typed,
        };
        page(shop, frame, looked, &wrong, status)
    })
    .await
}

/// Writes a scale; where to see it.
fn written(
    shop: &Shop,
    scale: Option<&HeatScale>,
    typed: &Typed,
    map: Map<String, Value>,
) -> Result<String, Refusal> {
    let Some(scale) = scale else {
        let data = HeatScaleData::check(Value::Object(map)).map_err(Refusal::Faults)?;
        let made = scales::create(shop, &data)?;
        return Ok(format!("/heat-scales/{}?parts=0", made.id));
    };
    // Codes that a calibration left tied may stay so: the rules are those of a change.
    let patch = Patch::<HeatScaleData>::check(Value::Object(map)).map_err(Refusal::Faults)?;
    let seen = typed.one("version").parse::<i64>();
    let expected = move |now: i64| match &seen {
        Ok(seen) if *seen == now => Ok(()),
        _ => Err(Refusal::Stale),
    };
    let done = scales::patch(shop, scale.id, expected, &patch.members)?;
    let followed = &done.followed;
    let held = followed.reservations.len() + followed.fitted_sets.len();
    let parts = followed.plugs.len();
    Ok(format!(
        "/heat-scales/{}?parts={parts}&held={held}",
        scale.id
    ))
}

/// The members that were typed, the codes one in a line.
fn body(shop: &Shop, typed: &Typed) -> Result<(Map<String, Value>, Vec<Wrong>), Refusal> {
    let (mut map, mut wrong) = form::object(shop, FORM, typed)?;
    let mut codes = Vec::new();
    let text = typed.one("codes");
    for (place, line) in text
        .lines()
        .enumerate()
        .filter(|(_, l)| !l.trim().is_empty())
    {
        match code(line.trim()) {
            Ok(code) => codes.push(code),
            Err(why) => wrong.push(Wrong::with(
                "codes",
                say_with(
                    "scales-line-place-why",
                    &[("place", &(place + 1)), ("why", &why)],
                ),
            )),
        }
    }
    if !text.is_empty() {
        map.insert("codes".into(), codes.into());
    }
    Ok((map, wrong))
}

/// A code and its place on the index: the last word of a line is the index.
fn code(line: &str) -> Result<Value, String> {
    let (code, index) = line.rsplit_once(char::is_whitespace).ok_or_else(|| {
        say_with(
            "scales-line-has-no-index-behind",
            &[("line", &format!("{line:?}"))],
        )
    })?;
    let index = quantity(index, "")?;
    Ok(json!({ "code": code.trim(), "heat_index": index }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_word_of_a_line_is_the_index() {
        assert_eq!(
            code("7 R\t55,5"),
            Ok(json!({ "code": "7 R", "heat_index": 55.5 }))
        );
        assert!(code("7").is_err() && code("7 cold").is_err());
    }
}
