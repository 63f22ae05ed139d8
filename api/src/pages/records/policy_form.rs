//! Changing values of the policy: the form, what it would change, and keeping it.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::policy::Policy;
use plugwell_domain::words::Role;
use serde_json::Value;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::listing::{Cell, Listing, words};
use crate::pages::records::policy::{as_json, name, rests_on, told};
use crate::pages::records::policy_fields::{AskedGroup, GROUPS};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, judgement};

/// A value with its fields.
struct Judged {
    name: &'static str,
    fields: Vec<Field>,
}

#[derive(Template)]
#[template(path = "records/policy_form.html")]
struct Page {
    frame: Frame,
    number: usize,
    title: &'static str,
    /// The version that the form is made of.
    version: i64,
    judged: Vec<Judged>,
    faults: Vec<Line>,
    focus: &'static str,
    /// What somebody else changed while the form lay open.
    meanwhile: Option<Listing>,
}

#[derive(Template)]
#[template(path = "records/policy_change.html")]
struct Change {
    frame: Frame,
    number: usize,
    version: i64,
    /// How many values change.
    count: String,
    listing: Listing,
    /// All that was typed.
    hidden: Vec<(&'static str, String)>,
}

/// The group that a path or a form names.
fn group(typed: &Typed) -> Result<(usize, &'static AskedGroup), Refusal> {
    let number: Option<usize> = typed.one("group").parse().ok();
    let found = number.and_then(|number| Some((number, GROUPS.get(number)?)));
    found.ok_or(Refusal::NotFound(say("records-group-of-the-policy")))
}

fn page(
    shop: &Shop,
    frame: Frame,
    version: i64,
    typed: &Typed,
    wrong: &[Wrong],
) -> Result<Page, Refusal> {
    let (number, group) = group(typed)?;
    let mut judged = Vec::new();
    for asked in &group.asked {
        judged.push(Judged {
            name: asked.name,
            fields: asked.shown(shop, typed)?,
        });
    }
    let all = judged.iter_mut().flat_map(|one| &mut one.fields);
    let faults = put(wrong, &mut all.collect::<Vec<_>>());
    let first = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    Ok(Page {
        frame,
        number,
        title: group.title,
        version,
        judged,
        focus: first.unwrap_or_default(),
        faults,
        meanwhile: None,
    })
}

/// A group of a policy as it would be typed.
fn begun(number: usize, group: &AskedGroup, values: &Value) -> Typed {
    let mut typed = Typed::default();
    typed.put("group", number.to_string());
    for asked in &group.asked {
        asked.begin(&values[asked.entry.key], &mut typed);
    }
    typed
}

/// The page at `/policy/change`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Manager) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let (number, group) = group(&typed)?;
        let policy = shop.policy();
        let typed = begun(number, group, &as_json(&policy)?["values"]);
        let page = page(shop, frame, policy.version, &typed, &[])?;
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

/// Shows what a change would do, goes back to the form, or keeps it: whatever was pressed.
pub(super) async fn send(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Manager) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        sent(shop, frame, &typed)
    })
    .await
}

fn sent(shop: &Shop, frame: Frame, typed: &Typed) -> Result<Reply, Refusal> {
    let (number, group) = group(typed)?;
    let Ok(version) = typed.one("version").parse::<i64>() else {
        return Err(Refusal::fault(Fault::at(
            "version",
            FaultCode::Missing,
            say("records-form-came-without-version-policy"),
        )));
    };
    let opened = as_json(&judgement::of_version(shop, version)?)?;
    let (mut next, mut wrong) = (opened.clone(), Vec::new());
    for asked in &group.asked {
        let judged = &mut next["values"][asked.entry.key];
        asked.read(shop, typed, judged, &mut wrong)?;
    }
    let next = match Policy::check(next) {
        Ok(next) if wrong.is_empty() => next,
        checked => {
            add(&mut wrong, &checked.err().unwrap_or_default());
            let page = page(shop, frame, version, typed, &wrong)?;
            return Reply::page(StatusCode::BAD_REQUEST, &page);
        }
    };
    if shop.policy().version != version {
        return overtaken(shop, frame, number, group, &opened, &as_json(&next)?);
    }
    let changes = differing(&opened, &as_json(&next)?);
    let count = changes.rows.len();
    if count == 0 || !typed.one("back").is_empty() {
        let none = [Wrong::all(say("records-nothing-differs-force"))];
        let wrong = if count == 0 { &none[..] } else { &[] };
        let status = if count == 0 {
            StatusCode::BAD_REQUEST
        } else {
            StatusCode::OK
        };
        return Reply::page(status, &page(shop, frame, version, typed, wrong)?);
    }
    if typed.one("save").is_empty() {
        return confirmed(frame, version, number, group, typed, changes);
    }
    let stale = |present| {
        if present == version {
            Ok(())
        } else {
            Err(Refusal::Stale)
        }
    };
    let kept = as_json(&next)?;
    match judgement::replace(shop, next, stale) {
        Ok(_) => Ok(Reply::Elsewhere(format!("/policy?saved={count}"))),
        Err(Refusal::Stale) => overtaken(shop, frame, number, group, &opened, &kept),
        Err(other) => Err(other),
    }
}

/// The page that asks whether the change is meant.
fn confirmed(
    frame: Frame,
    version: i64,
    number: usize,
    group: &AskedGroup,
    typed: &Typed,
    listing: Listing,
) -> Result<Reply, Refusal> {
    let names = group.asked.iter().flat_map(|asked| asked.names());
    let hidden = names.flat_map(|name| typed.all(name).map(move |value| (name, value.to_owned())));
    let page = Change {
        frame,
        number,
        version,
        count: say_with("records-so-many-values", &[("values", &listing.rows.len())]),
        listing,
        hidden: hidden.collect(),
    };
    Reply::page(StatusCode::OK, &page)
}

/// The form once more, where another version came into force while it lay open: what was typed stands
/// where it differs from what was read, the rest as it is now.
fn overtaken(
    shop: &Shop,
    frame: Frame,
    number: usize,
    group: &AskedGroup,
    opened: &Value,
    wanted: &Value,
) -> Result<Reply, Refusal> {
    let policy = shop.policy();
    let present = as_json(&policy)?;
    let mut merged = present["values"].clone();
    for asked in &group.asked {
        let key = asked.entry.key;
        if wanted["values"][key] != opened["values"][key] {
            merged[key] = wanted["values"][key].clone();
        }
    }
    let typed = begun(number, group, &merged);
    let text = say("records-somebody-changed-policy-while-form");
    let page = Page {
        meanwhile: Some(differing(opened, &present)),
        ..page(shop, frame, policy.version, &typed, &[Wrong::all(text)])?
    };
    Reply::page(StatusCode::PRECONDITION_FAILED, &page)
}

/// The values in which two policies differ: old and new.
fn differing(old: &Value, new: &Value) -> Listing {
    let entries = GROUPS.iter().flat_map(|group| &group.asked);
    let mut rows = Vec::new();
    for asked in entries {
        let (entry, key) = (asked.entry, asked.entry.key);
        let (old, new) = (&old["values"][key], &new["values"][key]);
        if old == new {
            continue;
        }
        let cell = |judged: &Value, text: bool| {
            let sentence = judged["text"].as_str().filter(|_| text).unwrap_or_default();
            let note = format!("{} {sentence}", rests_on(judged));
            Cell::of(told(entry, &judged["value"])).noted(note.trim_end())
        };
        let text = old["text"] != new["text"];
        rows.push(vec![
            Cell::of(name(entry)),
            cell(old, text),
            cell(new, text),
        ]);
    }
    Listing {
        caption: say("records-values-that-differ").into(),
        columns: vec![
            words("records-name"),
            words("records-was"),
            words("records-becomes"),
        ],
        rows,
        ..Listing::default()
    }
}
