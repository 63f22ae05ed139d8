//! What is in which engine since when.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::fitment::distance;
use plugwell_domain::fitted::SetState;
use plugwell_domain::words::Role;
use plugwell_store::FittedSetFilter;
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::at;
use crate::pages::figures::{day, gap, instant};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::part;
use crate::pages::typed::{Typed, encoded};
use crate::pages::visitor::visitor;
use crate::pages::words::say;
use crate::pages::workshop::{ONE_MORE, called, cut, id, named, part_names, spoken};
use crate::service::fitted_sets::{self, SetInEngine};
use crate::service::{Refusal, Shop, catalogue, stock_lists};

#[derive(Template)]
#[template(path = "workshop/fitted_sets.html")]
struct List {
    frame: Frame,
    /// Whether sets that have come out are listed too.
    history: bool,
    listing: Listing,
}

#[derive(Template)]
#[template(path = "workshop/fitted_set.html")]
struct One {
    frame: Frame,
    part: (String, String),
    build: (String, String),
    build_id: Uuid,
    job: (String, String),
    facts: Vec<(&'static str, String)>,
    /// The form of a second opinion, filled in.
    check: String,
    /// The form of a reading of its plugs.
    read: String,
    may_work: bool,
}

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/fitted-sets", list))
        .service(at("/fitted-sets/{id}", show));
}

/// Sets as a list.
pub(super) fn listing(
    shop: &Shop,
    found: &[SetInEngine],
    with_build: bool,
) -> Result<Listing, Refusal> {
    let names = part_names(shop, found.iter().map(|own| own.set.plug_id))?;
    let rows = found.iter().map(|own| {
        let set = &own.set;
        let here = format!("/fitted-sets/{}", set.movement_id);
        let name = names.get(&set.plug_id).cloned().unwrap_or_default();
        let mut row = vec![
            Cell::to(here, name),
            Cell::of(set.quantity),
            Cell::of(day(set.fitted_at)),
            Cell::of(
                set.odometer_km
                    .map_or(say("workshop-not-told").into(), |km| distance(km as f64)),
            ),
            Cell::of(spoken(set.state.word())),
        ];
        if with_build {
            let build = format!("/builds/{}", set.build_id);
            row.insert(1, Cell::to(build, called(own.build_name.clone())));
        }
        row
    });
    let mut columns = vec![
        words("workshop-part"),
        figures("workshop-plugs"),
        words("workshop-since"),
        figures("workshop-odometer-then"),
        words("workshop-where-it-is"),
    ];
    if with_build {
        columns.insert(1, words("workshop-build"));
    }
    Ok(Listing {
        caption: say("workshop-fitted-sets").into(),
        columns,
        rows: rows.collect(),
        empty: say("workshop-no-set-known-engine-issue"),
        more: String::new(),
    })
}

async fn list(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let history = typed.one("history") == "yes";
        let filter = FittedSetFilter {
            build_id: named(&typed, "build_id", "build")?,
            plug_id: named(&typed, "plug_id", "part")?,
            state: (!history).then_some(SetState::Fitted),
            ..FittedSetFilter::default()
        };
        let before = match typed.one("after") {
            "" => None,
            text => Some(
                text.parse()
                    .map_err(|_| Refusal::NotFound(say("workshop-fitted-set")))?,
            ),
        };
        let mut found = fitted_sets::list(shop, &filter, before, ONE_MORE)?;
        let mut here = format!(
            "/fitted-sets?history={}",
            if history { "yes" } else { "no" }
        );
        for (name, id) in [("build_id", filter.build_id), ("plug_id", filter.plug_id)] {
            here.push_str(&id.map_or(String::new(), |id| format!("&{name}={id}")));
        }
        let more = cut(&mut found, &here, |own| own.set.sequence);
        let listing = Listing {
            more,
            ..listing(shop, &found, true)?
        };
        let page = List {
            frame,
            history,
            listing,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn facts(own: &SetInEngine) -> Vec<(&'static str, String)> {
    let set = &own.set;
    let km = |km: Option<i64>| km.map_or(say("workshop-not-told").into(), |km| distance(km as f64));
    let mut facts = vec![
        (say("workshop-where-it-is"), spoken(set.state.word())),
        (say("workshop-plugs"), set.quantity.to_string()),
        (say("workshop-since"), instant(set.fitted_at)),
        (say("workshop-odometer-then"), km(set.odometer_km)),
        (
            say("workshop-gap"),
            set.gap_mm.map_or(say("workshop-not-told").into(), gap),
        ),
        (
            say("workshop-readings-of-its-plugs"),
            own.readings.to_string(),
        ),
        (
            say("workshop-plug-changes-on-these-leads"),
            own.lead_changes.to_string(),
        ),
    ];
    let renewed = own.leads_renewed_on;
    facts.push((
        say("workshop-leads-renewed-on"),
        renewed.map_or(say("workshop-not-told").into(), |day| {
            day.format("%-d %b %Y").to_string()
        }),
    ));
    if let Some(at) = set.replaced_at {
        facts.push((say("workshop-replaced-on"), instant(at)));
        facts.push((say("workshop-it-ran"), km(set.ran_km())));
    }
    facts
}

async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let set = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let own = fitted_sets::get(shop, id(&set, say("workshop-fitted-set"))?)?;
        let set = &own.set;
        let name = part::name(&catalogue::get(shop, set.plug_id)?);
        let issue = stock_lists::movement(shop, set.movement_id)?;
        let page = One {
            facts: facts(&own),
            check: format!("/check?build={}&in_part={}", set.build_id, encoded(&name)),
            read: format!(
                "/readings/new?build_id={}&movement_id={}",
                set.build_id, set.movement_id
            ),
            part: (format!("/parts/{}", set.plug_id), name),
            build: (
                format!("/builds/{}", set.build_id),
                called(own.build_name.clone()),
            ),
            build_id: set.build_id,
            job: (format!("/jobs/{}", issue.to_place_id), set.job.clone()),
            may_work: frame.may(Role::Tuner),
            frame,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}
