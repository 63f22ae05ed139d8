//! Tuning days: fresh plugs planned, priced and kept for a day of readings.

use actix_web::{get, post, web};
use chrono::NaiveDate;
use plugwell_domain::tuning_day::{StandingDay, TuningDay};
use plugwell_store::TuningDayFilter;
use utoipa::IntoParams;
use uuid::Uuid;

use crate::http::answer::{Answer, Record, ask, page, record};
use crate::http::body::bodies;
use crate::http::etag::IfNoneMatch;
use crate::http::once::{booked, kept};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::problem::Problem;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Bare, Id, OnceOnly};
use crate::service::stock::By;
use crate::service::{Actor, Shop, tuning_days};

bodies!(TuningDay);

/// A stored tuning day.
type TuningDayRecord = Record<StandingDay>;
/// One page of tuning days.
type TuningDayPage = Page<TuningDayRecord>;

/// What a list of tuning days is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct TuningDayQuery {
    /// The stored build.
    build_id: Option<Uuid>,
    /// On this day or later.
    day_min: Option<NaiveDate>,
    /// On this day or earlier.
    day_max: Option<NaiveDate>,
}

impl FromQuery for TuningDayQuery {
    fn take(members: &mut Members) -> Self {
        const FORM: &str = "a date as 2030-01-31";
        Self {
            build_id: members.parsed("build_id", "a UUID"),
            day_min: members.parsed("day_min", FORM),
            day_max: members.parsed("day_max", FORM),
        }
    }
}

/// Lists tuning days in the order they were planned.
#[utoipa::path(
    operation_id = "list_tuning_days", tag = "readings", params(PageQuery, TuningDayQuery),
    responses((status = 200, description = "A page of tuning days.", body = TuningDayPage))
)]
#[get("/v1/tuning-days")]
pub async fn list_tuning_days(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<Uuid>, TuningDayQuery)>,
) -> Answer {
    let CheckedQuery((paging, given)) = query;
    let filter = TuningDayFilter {
        build_id: given.build_id,
        from: given.day_min,
        to: given.day_max,
    };
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        tuning_days::list(shop, &filter, after, limit)
    });
    let (found, next) = paging.page(found.await?, |day| day.id);
    page(&found.map(TuningDayRecord::from), next)
}

/// Plans a tuning day: fresh plugs for every pull, the least costly part that meets the build, kept
/// for the day as far as it is there, until the policy's days after it; says what is short and by when to order it.
#[utoipa::path(
    operation_id = "plan_tuning_day", tag = "readings", request_body = TuningDay,
    responses((status = 201, description = "The day with its plan.", body = TuningDayRecord))
)]
#[post("/v1/tuning-days")]
pub async fn plan_tuning_day(
    shop: web::Data<Shop>,
    actor: Actor,
    asked: OnceOnly<TuningDay>,
) -> Answer {
    let OnceOnly { key, body } = asked;
    let done = ask(&shop, move |shop| {
        let policy = shop.policy();
        let run =
            |session: &mut _| tuning_days::plan(shop, session, &By::now(&actor), &policy, &body);
        shop.once(&key, run, |day| {
            let at = format!("/v1/tuning-days/{}", day.id);
            kept(201, Some(at), &TuningDayRecord::from(day.clone()))
        })
    });
    Ok(booked(&shop, done.await?))
}

/// Shows a tuning day, its plan as it was made and its reservations as they are now.
#[utoipa::path(
    operation_id = "get_tuning_day", tag = "readings", params(Id),
    responses((status = 200, description = "The tuning day.", body = TuningDayRecord))
)]
#[get("/v1/tuning-days/{id}")]
pub async fn get_tuning_day(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| tuning_days::get(shop, id.0)).await?;
    record(found.version, &known, &TuningDayRecord::from(found))
}

/// Keeps for a tuning day what it lacks of its part, as far as it is there now; what nothing can be
/// added to stays as it is.
#[utoipa::path(
    operation_id = "top_up_tuning_day", tag = "readings", params(Id),
    responses((status = 200, description = "The tuning day as it is now.", body = TuningDayRecord))
)]
#[post("/v1/tuning-days/{id}/reservation")]
pub async fn top_up_tuning_day(shop: web::Data<Shop>, actor: Actor, id: Id, asked: Bare) -> Answer {
    let done = ask(&shop, move |shop| {
        tuning_days::get(shop, id.0)?;
        let key = asked.read(&actor)?;
        let policy = shop.policy();
        let run = |session: &mut _| tuning_days::top_up(session, &By::now(&actor), &policy, id.0);
        Ok::<_, Problem>(shop.once(&key, run, |day| {
            kept(200, None, &TuningDayRecord::from(day.clone()))
        })?)
    });
    Ok(booked(&shop, done.await?))
}

/// Calls a tuning day off: what is still kept for it can be had by others.
#[utoipa::path(
    operation_id = "withdraw_tuning_day", tag = "readings", params(Id),
    responses((status = 200, description = "The tuning day as it is now.", body = TuningDayRecord))
)]
#[post("/v1/tuning-days/{id}/withdrawal")]
pub async fn withdraw_tuning_day(
    shop: web::Data<Shop>,
    actor: Actor,
    id: Id,
    asked: Bare,
) -> Answer {
    let done = ask(&shop, move |shop| {
        tuning_days::get(shop, id.0)?;
        let key = asked.read(&actor)?;
        let run = |session: &mut _| tuning_days::withdraw(session, &By::now(&actor), id.0);
        Ok::<_, Problem>(shop.once(&key, run, |day| {
            kept(200, None, &TuningDayRecord::from(day.clone()))
        })?)
    });
    Ok(booked(&shop, done.await?))
}
