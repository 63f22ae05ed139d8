//! What is in which engine, and what of it is due.

use actix_web::{get, web};
use chrono::NaiveDate;
use plugwell_domain::fitment::Severity;
use plugwell_domain::fitted::{DueState, FittedSet, SetState};
use plugwell_domain::requirement::{Basis, Unanswered};
use plugwell_store::FittedSetFilter;
use serde::Serialize;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::http::answer::{Answer, ask, page, tagged};
use crate::http::etag::IfNoneMatch;
use crate::http::fitment_checks::RemedyPlug;
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::Id;
use crate::service::Shop;
use crate::service::fitted_sets::{self, DueFilter, DueKey, DueSet, SetInEngine};

/// A set of plugs that is or was in an engine.
#[derive(Debug, Serialize, ToSchema)]
pub struct FittedSetAnswer {
    /// That of its first issue.
    id: Uuid,
    #[serde(flatten)]
    set: FittedSet,
    /// What the shop calls the build.
    build_name: Option<String>,
    /// Readings that were kept of its plugs.
    readings: i64,
    /// Plug changes that the leads of the build have seen by now: the sets that went in since they were
    /// renewed, all of them where nobody says when that was.
    lead_changes: u32,
    /// The build's `leads_renewed_on`.
    leads_renewed_on: Option<NaiveDate>,
}

impl From<SetInEngine> for FittedSetAnswer {
    fn from(found: SetInEngine) -> Self {
        Self {
            id: found.set.movement_id,
            set: found.set,
            build_name: found.build_name,
            readings: found.readings,
            lead_changes: found.lead_changes,
            leads_renewed_on: found.leads_renewed_on,
        }
    }
}

/// A set of which something is due, or of which nobody can say.
#[derive(Debug, Serialize, ToSchema)]
pub struct DueAnswer {
    /// The set.
    set: FittedSet,
    /// What the shop calls the build.
    build_name: Option<String>,
    /// Maker of the part.
    maker: String,
    /// Its part number.
    part_number: String,
    /// What is due; of several the most urgent.
    state: DueState,
    /// How urgent.
    severity: Severity,
    /// How far the set has run by the odometer; null where nobody can say.
    distance_km: Option<i64>,
    /// How far it lasts in this engine, boost reckoned with; null where nobody knows.
    life_km: Option<i64>,
    /// How far it may still run; below zero where that is past.
    left_km: Option<i64>,
    /// What that life rests on.
    basis: Option<Basis>,
    /// What a good tuner would say, of the plugs and then of the leads.
    text: Vec<String>,
    /// What to ask first.
    unanswered: Vec<Unanswered>,
    /// Plug changes that the leads have seen since they were renewed.
    lead_changes: u32,
    /// The build's `leads_renewed_on`.
    leads_renewed_on: Option<NaiveDate>,
    /// What lies on the shelf to replace it, best first: whole sets, or else what there is.
    replace_with: Vec<RemedyPlug>,
}

impl From<DueSet> for DueAnswer {
    fn from(found: DueSet) -> Self {
        let left_km = found.due.left_km();
        let offers = found.replace_with.into_iter();
        Self {
            set: found.set,
            build_name: found.build_name,
            maker: found.plug.data.maker,
            part_number: found.plug.data.part_number,
            state: found.due.state,
            severity: found.due.severity,
            distance_km: found.due.distance_km,
            life_km: found.due.life_km,
            left_km,
            basis: found.due.basis,
            text: found.due.text,
            unanswered: found.due.unanswered,
            lead_changes: found.lead_changes,
            leads_renewed_on: found.leads_renewed_on,
            replace_with: offers.map(RemedyPlug::from).collect(),
        }
    }
}

/// One page of fitted sets.
type FittedSetPage = Page<FittedSetAnswer>;
/// One page of what is due.
type DuePage = Page<DueAnswer>;

/// What a list of fitted sets is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct FittedSetQuery {
    /// The build.
    build_id: Option<Uuid>,
    /// The part.
    plug_id: Option<Uuid>,
    /// The job, case-blind.
    job: Option<String>,
    /// Where it stands; `fitted` where neither this nor `history` is given.
    state: Option<SetState>,
    /// Whether sets that have come out are listed too.
    history: Option<bool>,
}

impl FromQuery for FittedSetQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            build_id: members.parsed("build_id", "a UUID"),
            plug_id: members.parsed("plug_id", "a UUID"),
            job: members.text("job"),
            state: members.word("state"),
            history: members.flag("history"),
        }
    }
}

/// Lists what is in which engine since when, the newest first: made of the issues for a build.
#[utoipa::path(
    operation_id = "list_fitted_sets", tag = "fitted sets", params(PageQuery, FittedSetQuery),
    responses((status = 200, description = "A page of fitted sets.", body = FittedSetPage))
)]
#[get("/v1/fitted-sets")]
pub async fn list_fitted_sets(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<i64>, FittedSetQuery)>,
) -> Answer {
    let CheckedQuery((paging, given)) = query;
    let in_engine = (given.history != Some(true)).then_some(SetState::Fitted);
    let filter = FittedSetFilter {
        build_id: given.build_id,
        plug_id: given.plug_id,
        job: given.job,
        state: given.state.or(in_engine),
    };
    let (before, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        fitted_sets::list(shop, &filter, before, limit)
    });
    let (found, next) = paging.page(found.await?, |found| found.set.sequence);
    page(&found.map(FittedSetAnswer::from), next)
}

/// Shows a fitted set, by its first issue.
#[utoipa::path(
    operation_id = "get_fitted_set", tag = "fitted sets", params(Id),
    responses((status = 200, description = "The set.", body = FittedSetAnswer))
)]
#[get("/v1/fitted-sets/{id}")]
pub async fn get_fitted_set(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| fitted_sets::get(shop, id.0)).await?;
    tagged(&known, &FittedSetAnswer::from(found))
}

/// What the list of what is due is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct DueQuery {
    /// The build.
    build_id: Option<Uuid>,
    /// The part.
    plug_id: Option<Uuid>,
    /// What is due.
    state: Option<DueState>,
}

impl FromQuery for DueQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            build_id: members.parsed("build_id", "a UUID"),
            plug_id: members.parsed("plug_id", "a UUID"),
            state: members.word("state"),
        }
    }
}

/// Lists sets that near the end of their life by distance, or whose leads have seen many changes, the
/// most urgent first; last those of which nobody can say. What is not listed has run a known distance
/// of a known life, and is not near its end.
#[utoipa::path(
    operation_id = "list_due", tag = "fitted sets", params(PageQuery, DueQuery),
    responses((status = 200, description = "A page of what is due.", body = DuePage))
)]
#[get("/v1/due")]
pub async fn list_due(
    shop: web::Data<Shop>,
    query: CheckedQuery<(Paging<DueKey>, DueQuery)>,
) -> Answer {
    let CheckedQuery((paging, given)) = query;
    let filter = DueFilter {
        build_id: given.build_id,
        plug_id: given.plug_id,
        state: given.state,
    };
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        fitted_sets::list_due(shop, &filter, after, limit)
    });
    let (found, next) = paging.page(found.await?, DueSet::key);
    page(&found.map(DueAnswer::from), next)
}
