//! Jobs that wait for plugs: those that can have them now, then those that wait on.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::waiting::{WaitingFit, WaitingJobShown, WaitingState};
use plugwell_domain::words::Role;
use plugwell_store::{Stored, WaitingFilter};
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::changing::{meant_for, version};
use crate::pages::figures::instant;
use crate::pages::typed::{Posted, Typed, encoded};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::pages::workshop::{ONE_MORE, cut, id, part_names};
use crate::pages::{at, posted};
use crate::service::{Refusal, Shop, waiting_jobs};

#[derive(Template)]
#[template(path = "workshop/waiting.html")]
struct Page {
    frame: Frame,
    /// What was just done.
    done: &'static str,
    /// Why nothing was done.
    fault: &'static str,
    /// Those that can have their plugs.
    possible: Vec<Line>,
    /// Those that wait on.
    waiting: Vec<Line>,
    /// Where the rest of either stands; empty where this is all.
    more_possible: String,
    more_waiting: String,
    /// What to beware of, whichever part is taken.
    cautions: Vec<String>,
    may_work: bool,
}

/// One job.
struct Line {
    id: Uuid,
    version: i64,
    job: String,
    path: String,
    /// What it waits for, in a sentence.
    says: String,
    /// The build, where it waits for a stored one.
    build: String,
    fits: Vec<FitLine>,
}

/// A part that it can have.
struct FitLine {
    name: String,
    path: String,
    available: i64,
    /// The form that reserves it, filled in.
    reserve: String,
}

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/waiting", show))
        .service(posted("/waiting/{id}/withdrawal", withdraw));
}

/// The page at `/waiting`.
async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let done = match typed.one("done") {
            "asked" => say("workshop-job-waits"),
            "withdrawn" => say("workshop-job-waits-no-longer"),
            _ => "",
        };
        let page = page(shop, frame, &typed, done, "")?;
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn page(
    shop: &Shop,
    frame: Frame,
    typed: &Typed,
    done: &'static str,
    fault: &'static str,
) -> Result<Page, Refusal> {
    let (possible, more_possible) = lines(shop, WaitingState::Possible, "possible_after", typed)?;
    let (waiting, more_waiting) = lines(shop, WaitingState::Waiting, "waiting_after", typed)?;
    let mut cautions: Vec<String> = Vec::new();
    for one in possible.iter().flat_map(|own| &own.data.cautions) {
        if !cautions.contains(&one.text) {
            cautions.push(one.text.clone());
        }
    }
    Ok(Page {
        done,
        fault,
        possible: shown(shop, &possible)?,
        waiting: shown(shop, &waiting)?,
        more_possible,
        more_waiting,
        cautions,
        may_work: frame.may(Role::Tuner),
        frame,
    })
}

/// A page of those that stand so, in the order in which they asked, and where the rest stands.
fn lines(
    shop: &Shop,
    state: WaitingState,
    after: &str,
    typed: &Typed,
) -> Result<(Vec<Stored<WaitingJobShown>>, String), Refusal> {
    let filter = WaitingFilter {
        state: Some(state),
        ..WaitingFilter::default()
    };
    let behind = typed.one(after).parse().ok();
    let mut found = waiting_jobs::list(shop, &filter, behind, ONE_MORE)?;
    let more = cut(&mut found, "/waiting", |own| own.id);
    Ok((found, more.replace("?after=", &format!("?{after}="))))
}

fn shown(shop: &Shop, found: &[Stored<WaitingJobShown>]) -> Result<Vec<Line>, Refusal> {
    let fits = found.iter().flat_map(|own| &own.data.waiting.fits);
    let names = part_names(shop, fits.map(|fit| fit.plug_id))?;
    let line = |own: &Stored<WaitingJobShown>| {
        let data = &own.data.waiting;
        let build = data
            .build_id
            .map_or(String::new(), |build| format!("&build_id={build}"));
        let fit = |fit: &WaitingFit| FitLine {
            name: names.get(&fit.plug_id).cloned().unwrap_or_default(),
            path: format!("/parts/{}", fit.plug_id),
            available: fit.available,
            reserve: format!(
                "/reserve?plug_id={}&quantity={}&job={}{build}",
                fit.plug_id,
                data.open_quantity,
                encoded(&data.job)
            ),
        };
        Line {
            id: own.id,
            version: own.version,
            job: data.job.clone(),
            path: format!("/jobs/{}", data.place_id),
            says: says(own),
            build: data
                .build_id
                .map_or(String::new(), |build| format!("/?build={build}")),
            fits: data.fits.iter().map(fit).collect(),
        }
    };
    Ok(found.iter().map(line).collect())
}

/// What a job waits for and since when, in a sentence.
pub(in crate::pages) fn says(own: &Stored<WaitingJobShown>) -> String {
    let data = &own.data.waiting;
    let plugs = say_with("workshop-so-many-plugs", &[("plugs", &data.open_quantity)]);
    let plugs = if data.open_quantity == data.quantity {
        plugs
    } else {
        say_with(
            "workshop-so-many-plugs-of-all",
            &[("plugs", &plugs), ("all", &data.quantity)],
        )
    };
    let asked = instant(own.created_at);
    match data.possible_since {
        Some(since) => say_with(
            "workshop-job-can-have",
            &[
                ("plugs", &plugs),
                ("since", &instant(since)),
                ("asked", &asked),
            ],
        ),
        None => say_with(
            "workshop-job-waits-for",
            &[("plugs", &plugs), ("asked", &asked)],
        ),
    }
}

/// Lets a job wait no longer.
async fn withdraw(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        let id = id(&path, say("workshop-waiting-job"))?;
        match waiting_jobs::remove(shop, id, meant_for(version(&typed))) {
            Ok(()) => Ok(Reply::Elsewhere("/waiting?done=withdrawn".into())),
            Err(Refusal::Stale) => {
                let page = page(shop, frame, &typed, "", say("workshop-job-waits-on"))?;
                Reply::page(StatusCode::CONFLICT, &page)
            }
            Err(other) => Err(other),
        }
    })
    .await
}
