//! One tuning day: what is proposed and why, what it costs, what is short, and what is kept for it.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::{Money, Reservation, ReservationState};
use plugwell_domain::tuning_day::{DayPlan, DayQuantity, DayState, Offer, StandingDay};
use plugwell_domain::words::Role;
use plugwell_store::{Session, Stored};
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::changing::told;
use crate::pages::field::{Line, Wrong, put};
use crate::pages::figures::{cost, gap, instant};
use crate::pages::find::engine_fields::label;
use crate::pages::once::{leading_to, once};
use crate::pages::typed::Posted;
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::pages::workshop::{called, id, spoken};
use crate::service::shop::Touched;
use crate::service::stock::By;
use crate::service::{Refusal, Shop, builds, new_id, tuning_days};
use crate::shown::marked;

#[derive(Template)]
#[template(path = "workshop/tuning_day.html")]
struct Page {
    frame: Frame,
    id: Uuid,
    /// Makes a form that is sent twice the same; one for each of the two.
    once: [Uuid; 2],
    name: String,
    day: String,
    state: String,
    /// The build's page and name; no page where it was described by hand.
    build: (String, String),
    /// Plugs, with the arithmetic.
    plugs: String,
    sum: String,
    heat: String,
    why: String,
    proposed: Option<OfferedPart>,
    others: Vec<OfferedPart>,
    /// What is missing in a sentence, and what could stand in.
    short: String,
    fill_with: Vec<(String, String, i64)>,
    kept: Vec<KeptLine>,
    can_top_up: bool,
    can_withdraw: bool,
    may_work: bool,
    /// The forms and list of its readings; empty where its build is not stored.
    readings: String,
    read: String,
    unanswered: Vec<(String, String)>,
    cautions: Vec<String>,
    faults: Vec<Line>,
}

/// A part that meets the build, with its price.
struct OfferedPart {
    name: String,
    path: String,
    available: i64,
    enough: bool,
    cost: String,
    set_gap: String,
    lots: Vec<(String, String, String)>,
    notes: Vec<String>,
}

/// A reservation of the day.
struct KeptLine {
    words: String,
    until: String,
    /// The form that issues it; empty where nothing is open.
    issue: String,
}

fn sum(money_of: Option<&Money>) -> String {
    money_of.map_or(say("workshop-cost-unknown").into(), cost)
}

fn offered(offer: &Offer) -> OfferedPart {
    let each = offer.cost.per_plug.as_ref();
    let each = each.map_or(String::new(), |each| {
        say_with("workshop-sum-each", &[("sum", &sum(Some(each)))])
    });
    let mut notes: Vec<String> = offer
        .cautions
        .iter()
        .map(|c| marked(c.text.clone()))
        .collect();
    let unknown = offer.cost.unknown_quantity;
    if unknown > 0 {
        notes.push(say_with(
            "workshop-nobody-said-plugs-them-cost",
            &[("unknown", &unknown)],
        ));
    }
    OfferedPart {
        name: format!("{} {}", offer.plug.maker, offer.plug.part_number),
        path: format!("/parts/{}", offer.plug.id),
        available: offer.available,
        enough: offer.enough,
        cost: format!("{}{each}", sum(offer.cost.total.as_ref())),
        set_gap: offer
            .set_gap_mm
            .map_or(say("workshop-as-it-is").into(), gap),
        lots: offer
            .lots
            .iter()
            .map(|lot| {
                let words = say_with(
                    "workshop-quantity-of-lot-code",
                    &[("quantity", &lot.quantity), ("code", &lot.code)],
                );
                (
                    format!("/lots/{}", lot.lot_id),
                    words,
                    sum(lot.cost.as_ref()),
                )
            })
            .collect(),
        notes,
    }
}

fn kept(reservation: &Reservation, may_work: bool) -> KeptLine {
    let open = reservation.open_quantity;
    let issuable = may_work && open > 0 && reservation.state == ReservationState::Open;
    KeptLine {
        words: say_with(
            "workshop-open-quantity-still-kept-issued",
            &[
                ("open", &open),
                ("quantity", &reservation.quantity),
                ("issued_quantity", &reservation.issued_quantity),
                ("state", &reservation.state.word()),
            ],
        ),
        until: reservation.expires_at.map_or(String::new(), instant),
        issue: match issuable {
            true => format!(
                "/issue?plug_id={}&reservation_id={}&quantity={open}",
                reservation.plug_id, reservation.id
            ),
            false => String::new(),
        },
    }
}

/// How many plugs a day takes, as it is reckoned.
fn arithmetic(quantity: &DayQuantity) -> String {
    say_with(
        "workshop-pulls-cylinders-plugs-and-spares",
        &[
            ("pulls", &quantity.pulls),
            ("cylinders_read", &quantity.cylinders_read),
            ("plugs_per_cylinder", &quantity.plugs_per_cylinder),
            ("spares", &quantity.spares),
        ],
    )
}

/// What could stand in for what is missing: page, name, how many are there.
fn fillings(plan: &DayPlan) -> Vec<(String, String, i64)> {
    let all = plan.short.iter().flat_map(|short| &short.fill_with);
    let told = all.map(|filling| {
        let (plug, there) = (&filling.plug, filling.available);
        let name = format!("{} {}", plug.maker, plug.part_number);
        (format!("/parts/{}", plug.id), name, there)
    });
    told.collect()
}

fn page(shop: &Shop, frame: Frame, stored: &Stored<StandingDay>) -> Result<Page, Refusal> {
    let day = &stored.data;
    let (asked, plan) = (&day.planned.asked, &day.planned.plan);
    let quantity = plan.quantity;
    let all = day.reservation.iter().chain(&day.further_reservations);
    let reservations: Vec<Reservation> = all.cloned().collect();
    let missing = day.planned.missing(&reservations);
    let may_work = frame.may(Role::Tuner);
    let stands = day.state != DayState::Withdrawn;
    let ended = matches!(day.state, DayState::Issued | DayState::Expired);
    let of_day = |id| format!("build_id={id}&tuning_day_id={}", stored.id);
    let readings = asked.build_id.map(of_day).unwrap_or_default();
    Ok(Page {
        id: stored.id,
        once: [new_id(), new_id()],
        name: asked.name.clone(),
        day: asked.day.format("%-d %b %Y").to_string(),
        state: spoken(day.state.word()),
        build: match asked.build_id {
            Some(id) => (
                format!("/builds/{id}"),
                called(builds::get(shop, id)?.data.name),
            ),
            None => (String::new(), say("workshop-a-build-by-hand-2").into()),
        },
        plugs: say_with("workshop-fresh-plugs", &[("plugs", &quantity.total)]),
        sum: arithmetic(&quantity),
        heat: plan
            .target_heat_index
            .map_or(say("pages-open").into(), |heat| marked(heat.to_string())),
        why: marked(plan.why.clone()),
        proposed: plan.proposed.as_ref().map(offered),
        others: plan.others.iter().map(offered).collect(),
        short: plan
            .short
            .as_ref()
            .map_or(String::new(), |s| marked(s.text.clone())),
        fill_with: fillings(plan),
        kept: reservations.iter().map(|own| kept(own, may_work)).collect(),
        can_top_up: may_work && stands && !ended && missing > 0 && plan.proposed.is_some(),
        can_withdraw: may_work && stands && !ended,
        may_work,
        read: match readings.is_empty() {
            true => String::new(),
            false => format!("/readings/new?{readings}"),
        },
        readings: match readings.is_empty() {
            true => String::new(),
            false => format!("/readings?{readings}"),
        },
        unanswered: plan
            .unanswered
            .iter()
            .map(|open| (label(&open.attribute), marked(open.ask.clone())))
            .collect(),
        cautions: plan
            .cautions
            .iter()
            .map(|c| marked(c.text.clone()))
            .collect(),
        frame,
        faults: Vec::new(),
    })
}

/// The page at `/tuning-days/{id}`.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let day = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let day = tuning_days::get(shop, id(&day, say("workshop-tuning-day-2"))?)?;
        Reply::page(StatusCode::OK, &page(shop, frame, &day)?)
    })
    .await
}

/// Keeps for a day what it lacks, as far as it is there now.
pub(super) async fn top_up(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let policy = shop.policy();
    acted(shop, request, path, posted, move |s, by, id| {
        tuning_days::top_up(s, by, &policy, id)
    })
    .await
}

/// Calls a day off.
pub(super) async fn withdraw(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    acted(shop, request, path, posted, tuning_days::withdraw).await
}

/// Does something to a day, once; the day as it is then.
async fn acted<F>(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
    act: F,
) -> HttpResponse
where
    F: Fn(&mut Session, &By<'_>, Uuid) -> Result<(Stored<StandingDay>, Vec<Touched>), Refusal>
        + Send
        + Sync
        + 'static,
{
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let (day, here) = (path.into_inner(), request.path().to_owned());
    made(&shop, who.frame, move |shop, frame| {
        let id = id(&day, say("workshop-tuning-day-2"))?;
        let done = once(&who.actor, &here, &typed, |key| {
            let done = shop.once(
                key,
                |s| act(s, &By::now(&who.actor), id),
                |_| leading_to(format!("/tuning-days/{id}")),
            );
            done.map(|done| done.stored)
        });
        match done {
            Ok(there) => Ok(Reply::Elsewhere(there)),
            Err(refusal) => {
                let mut wrong: Vec<Wrong> = Vec::new();
                let status = told(&mut wrong, refusal)?;
                let mut page = page(shop, frame, &tuning_days::get(shop, id)?)?;
                page.faults = put(&wrong, &mut []);
                Reply::page(status, &page)
            }
        }
    })
    .await
}
