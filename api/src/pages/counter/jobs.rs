//! Jobs: which have plugs kept, and what went to one, came back, was scrapped and is still kept.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::{Place, PlaceKind, Reservation, ReservationState};
use plugwell_domain::words::Role;
use plugwell_store::{MovementFilter, ReservationFilter, WaitingFilter};
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::counter::movements::{columns, rows};
use crate::pages::figures::instant;
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::once::{leading_to, once};
use crate::pages::part;
use crate::pages::typed::{Posted, Typed, encoded};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::pages::workshop::waiting::says;
use crate::pages::{at, posted};
use crate::service::once::Stored;
use crate::service::stock::{self, By, Outcome};
use crate::service::{Actor, Refusal, Shop, builds, catalogue, new_id, stock_lists, waiting_jobs};

/// Rows of a page.
const ROWS: i64 = 50;
/// Reservations of a job, and issues that can come back, that a page looks at.
const KEPT: i64 = 200;

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/jobs", list))
        .service(at("/jobs/{id}", show))
        .service(at("/reserved/{id}", reserved))
        .service(posted("/reservations/{id}/release", release));
}

/// The answer that is kept of a reservation: the way to the job that it is for.
pub(super) fn kept(outcome: &Outcome) -> Stored {
    let made = outcome.reservations.iter().find(|r| r.version == 1);
    leading_to(made.map_or("/jobs".into(), |r| format!("/reserved/{}", r.id)))
}

/// From a reservation that was just made to its job.
async fn reserved(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    let again = request.query_string().contains("again=yes");
    made(&shop, who.frame, move |shop, _| {
        let id: Uuid = id.parse().map_err(|_| Refusal::NotFound("reservation"))?;
        let done = if again { "before" } else { "kept" };
        let job = stock_lists::reservation(shop, id)?.job;
        Ok(Reply::Elsewhere(way_to(shop, &job, done)?))
    })
    .await
}

/// The page of a job, and what it is to say was done.
fn way_to(shop: &Shop, job: &str, done: &str) -> Result<String, Refusal> {
    let named = stock_lists::places_called(shop, job)?;
    let place = named.iter().find(|place| place.kind == PlaceKind::Job);
    Ok(place.map_or("/jobs".into(), |job| {
        format!("/jobs/{}?done={done}", job.id)
    }))
}

#[derive(Template)]
#[template(path = "counter/jobs.html")]
struct Jobs {
    frame: Frame,
    listing: Listing,
}

/// The page at `/jobs`: what is kept for which job.
async fn list(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let after = typed.one("after").parse().ok();
        let page = Jobs {
            frame,
            listing: open(shop, after)?,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn open(shop: &Shop, after: Option<Uuid>) -> Result<Listing, Refusal> {
    let mut kept = Vec::new();
    for state in [ReservationState::Open, ReservationState::Short] {
        let filter = ReservationFilter {
            state: Some(state),
            ..ReservationFilter::default()
        };
        kept.extend(stock_lists::reservations(shop, &filter, after, ROWS + 1)?);
    }
    // Ids are in the order in which they were made.
    kept.sort_by_key(|reservation| reservation.id);
    let more = kept.len() > ROWS as usize;
    kept.truncate(ROWS as usize);
    let behind = kept.last().map(|r| r.id).filter(|_| more);
    let mut rows = Vec::new();
    for one in &kept {
        rows.push(vec![
            job_cell(shop, &one.job)?,
            Cell::to(
                format!("/parts/{}", one.plug_id),
                part::name(&catalogue::get(shop, one.plug_id)?),
            ),
            Cell::of(one.open_quantity).noted(one.state.word()),
            Cell::of(expiry(one)),
        ]);
    }
    Ok(Listing {
        caption: say("counter-plugs-kept-jobs").into(),
        columns: vec![
            words("counter-job"),
            words("counter-part"),
            figures("counter-kept"),
            words("counter-until"),
        ],
        rows,
        empty: say("counter-nothing-kept-any-job"),
        more: behind.map_or(String::new(), |id| format!("/jobs?after={id}")),
    })
}

/// A job with the way to its page.
fn job_cell(shop: &Shop, job: &str) -> Result<Cell, Refusal> {
    let named = stock_lists::places_called(shop, job)?;
    let place = named.iter().find(|place| place.kind == PlaceKind::Job);
    Ok(match place {
        Some(place) => Cell::to(format!("/jobs/{}", place.id), job),
        None => Cell::of(job),
    })
}

fn expiry(reservation: &Reservation) -> String {
    reservation
        .expires_at
        .map_or(say("counter-issued-or-released").into(), instant)
}

/// What is kept for a job, as its page shows it.
struct Keeps {
    id: Uuid,
    plug_id: Uuid,
    part: String,
    quantity: i64,
    state: &'static str,
    until: String,
    /// Makes a release that is sent twice the same.
    once: Uuid,
    /// The form that issues it.
    issue: String,
}

#[derive(Template)]
#[template(path = "counter/job.html")]
struct Job {
    frame: Frame,
    job: Place,
    /// What was just done.
    done: &'static str,
    /// Its build, where what was issued or kept names one.
    build: Option<(Uuid, String)>,
    kept: Vec<Keeps>,
    /// What it waits for, in a sentence each.
    waits: Vec<String>,
    /// Plugs that went out and have not come back, part by part.
    out: Vec<(i64, String)>,
    listing: Listing,
    is_tuner: bool,
    is_clerk: bool,
    query: String,
}

/// The page at `/jobs/{id}`.
async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    let id = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let id: Uuid = id.parse().map_err(|_| Refusal::NotFound("job"))?;
        let place = stock_lists::place(shop, id)?;
        if place.kind != PlaceKind::Job {
            return Err(Refusal::NotFound("job"));
        }
        Reply::page(
            StatusCode::OK,
            &job(shop, frame, who.actor.role, place, &typed)?,
        )
    })
    .await
}

fn job(shop: &Shop, frame: Frame, role: Role, place: Place, typed: &Typed) -> Result<Job, Refusal> {
    let filter = ReservationFilter {
        job: Some(place.name.clone()),
        ..ReservationFilter::default()
    };
    let mut reservations = stock_lists::reservations(shop, &filter, None, KEPT)?;
    reservations.retain(Reservation::waits);
    let mut build_id = reservations.iter().find_map(|r| r.build_id);
    let kept = reservations
        .iter()
        .map(|r| keeps(shop, r))
        .collect::<Result<_, _>>()?;
    let mut out: Vec<(i64, Uuid)> = Vec::new();
    for (issue, left) in stock_lists::returnable(shop, &place.name, KEPT)? {
        build_id = build_id.or(issue.build_id);
        match out.iter_mut().find(|(_, id)| *id == issue.plug_id) {
            Some((sum, _)) => *sum += left,
            None => out.push((left, issue.plug_id)),
        }
    }
    let out = out
        .into_iter()
        .map(|(left, id)| Ok((left, part::name(&catalogue::get(shop, id)?))))
        .collect::<Result<_, Refusal>>()?;
    let build = match build_id {
        Some(id) => Some((id, builds::get(shop, id)?.data.name.unwrap_or_default())),
        None => None,
    };
    let done = match typed.one("done") {
        "kept" => say("counter-plugs-kept-job"),
        "before" => say("counter-they-had-been-reserved-already"),
        "released" => say("counter-kept-given-back"),
        _ => "",
    };
    Ok(Job {
        frame,
        done,
        build,
        kept,
        waits: waits(shop, &place)?,
        out,
        listing: history(shop, &place, typed)?,
        is_tuner: role >= Role::Tuner,
        is_clerk: role >= Role::Clerk,
        query: encoded(&place.name),
        job: place,
    })
}

/// What a job waits for.
fn waits(shop: &Shop, place: &Place) -> Result<Vec<String>, Refusal> {
    let filter = WaitingFilter {
        job: Some(place.name.clone()),
        state: None,
    };
    let found = waiting_jobs::list(shop, &filter, None, ROWS)?;
    Ok(found.iter().map(says).collect())
}

fn keeps(shop: &Shop, reservation: &Reservation) -> Result<Keeps, Refusal> {
    let build = reservation
        .build_id
        .map_or(String::new(), |id| format!("&build={id}"));
    Ok(Keeps {
        id: reservation.id,
        plug_id: reservation.plug_id,
        part: part::name(&catalogue::get(shop, reservation.plug_id)?),
        quantity: reservation.open_quantity,
        state: reservation.state.word(),
        until: expiry(reservation),
        once: new_id(),
        issue: format!(
            "/issue?plug_id={}&reservation_id={}&quantity={}&job={}{build}",
            reservation.plug_id,
            reservation.id,
            reservation.open_quantity,
            encoded(&reservation.job)
        ),
    })
}

/// Everything that went to the job, came back or was scrapped, the newest first.
fn history(shop: &Shop, place: &Place, typed: &Typed) -> Result<Listing, Refusal> {
    let filter = MovementFilter {
        job: Some(place.name.clone()),
        newest: true,
        ..MovementFilter::default()
    };
    let after = typed.one("after").parse().ok();
    let mut traced = stock_lists::traced(shop, &filter, after, ROWS + 1)?;
    let more = traced.len() > ROWS as usize;
    traced.truncate(ROWS as usize);
    let behind = traced.last().map(|t| t.movement.sequence).filter(|_| more);
    Ok(Listing {
        caption: say_with(
            "counter-went-name-came-back-scrapped",
            &[("name", &place.name)],
        ),
        columns: columns(),
        rows: rows(shop, &traced)?,
        empty: say("counter-nothing-issued-job"),
        more: behind.map_or(String::new(), |at| format!("/jobs/{}?after={at}", place.id)),
    })
}

/// Gives a reservation back.
async fn release(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    made(&shop, who.frame, move |shop, _| {
        released(shop, &who.actor, &id, &typed).map(Reply::Elsewhere)
    })
    .await
}

fn released(shop: &Shop, actor: &Actor, id: &str, typed: &Typed) -> Result<String, Refusal> {
    let id: Uuid = id.parse().map_err(|_| Refusal::NotFound("reservation"))?;
    let job = stock_lists::reservation(shop, id)?.job;
    let there = way_to(shop, &job, "released")?;
    once(
        actor,
        &format!("/reservations/{id}/release"),
        typed,
        |key| {
            let by = By::now(actor);
            let done = shop.once(
                key,
                |s| stock::release(s, &by, id),
                |_| leading_to(there.clone()),
            );
            done.map(|done| done.stored)
        },
    )
}
