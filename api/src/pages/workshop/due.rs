//! What of the sets in engines nears the end of its life.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::fitment::{Severity, distance};
use plugwell_domain::words::Role;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::at;
use crate::pages::part;
use crate::pages::typed::{Typed, encoded};
use crate::pages::visitor::visitor;
use crate::pages::words::say;
use crate::pages::workshop::{ONE_MORE, OfferLine, begun, called, cut, named, offered, spoken};
use crate::service::Refusal;
use crate::service::Shop;
use crate::service::fitted_sets::{self, DueFilter, DueKey, DueSet};
use crate::shown::marked;

#[derive(Template)]
#[template(path = "workshop/due.html")]
struct Page {
    frame: Frame,
    lines: Vec<DueLine>,
    /// Where the rest stands; empty where this is all.
    more: String,
    may_work: bool,
}

/// A set of which something is due.
struct DueLine {
    /// A word of the list, for its colour, and a sign beside the words.
    severity: &'static str,
    mark: &'static str,
    state: String,
    build: (String, String),
    part: (String, String),
    set: String,
    facts: Vec<(&'static str, String)>,
    text: Vec<String>,
    offers: Vec<OfferLine>,
    matched: String,
}

/// Puts the page into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config.service(at("/due", show));
}

/// Where the page before ended.
fn after(typed: &Typed) -> Result<Option<DueKey>, Refusal> {
    match typed.one("after") {
        "" => Ok(None),
        text => serde_json::from_str(text).map(Some).map_err(|_| {
            let detail = say("workshop-no-page-list-begin-first");
            Refusal::fault(Fault::at("after", FaultCode::WrongForm, detail))
        }),
    }
}

async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let filter = DueFilter {
            build_id: named(&typed, "build_id", "build")?,
            plug_id: named(&typed, "plug_id", "part")?,
            state: None,
        };
        let mut found = fitted_sets::list_due(shop, &filter, after(&typed)?, ONE_MORE)?;
        let key = |own: &DueSet| encoded(&serde_json::to_string(&own.key()).unwrap_or_default());
        let more = cut(&mut found, "/due", key);
        let may_work = frame.may(Role::Tuner);
        let page = Page {
            frame,
            lines: found.iter().map(|own| line(own, may_work)).collect(),
            more,
            may_work,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn line(own: &DueSet, may_work: bool) -> DueLine {
    let (set, due) = (&own.set, &own.due);
    let km = |km: Option<i64>| km.map_or(say("pages-unknown").into(), |km| distance(km as f64));
    let left = match due.left_km() {
        Some(past) if past < 0 => (say("workshop-past-its-life-by"), distance(-past as f64)),
        left => (say("workshop-may-still-run"), km(left)),
    };
    let quantity = u32::try_from(set.quantity).ok();
    DueLine {
        severity: due.severity.word(),
        mark: match due.severity {
            Severity::Stop => "■",
            Severity::Fix => "▲",
            Severity::Watch => "●",
        },
        state: begun(&spoken(due.state.word())),
        build: (
            format!("/builds/{}", set.build_id),
            called(own.build_name.clone()),
        ),
        part: (format!("/parts/{}", set.plug_id), part::name(&own.plug)),
        set: format!("/fitted-sets/{}", set.movement_id),
        facts: vec![
            (say("workshop-has-run"), km(due.distance_km)),
            (say("workshop-lasts-in-this-engine"), km(due.life_km)),
            left,
            (
                say("workshop-plug-changes-on-these-leads"),
                own.lead_changes.to_string(),
            ),
        ],
        text: due.text.iter().cloned().map(marked).collect(),
        offers: offered(&own.replace_with, Some(set.build_id), quantity, may_work),
        matched: format!("/?build={}", set.build_id),
    }
}
