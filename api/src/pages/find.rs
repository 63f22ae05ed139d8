//! Finding plugs for a build: the form, what it must be, and what is on the shelf.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::build::Build;
use plugwell_domain::conversion::mm_to_thou;
use plugwell_domain::fault::Fault;
use plugwell_domain::requirement::Strength;
use plugwell_domain::words::Role;
use serde_json::Value;
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::engine_form::{self, Field, Typed};
use crate::pages::visitor::visitor;
use crate::pages::{Frame, page, refused};
use crate::service::matching::{self, Asked, Fit, Judged, Matched, NearMiss, Subject};
use crate::service::{Refusal, Shop, builds, stock_lists};
use crate::shown::{label, measured, test, torque};

/// Most stored builds that the list offers.
const BUILDS: i64 = 200;

#[derive(Template)]
#[template(path = "find.html")]
struct Page {
    frame: Frame,
    builds: Vec<(String, String, bool)>,
    fields: Vec<Field>,
    by_hand: bool,
    faults: Vec<String>,
    found: Option<Shown>,
    may_issue: bool,
}

/// A match, laid out.
struct Shown {
    demands: Vec<DemandLine>,
    heat: String,
    gap: String,
    spark: String,
    torque: String,
    quantity: i64,
    in_stock: u64,
    in_catalogue: u64,
    fits: Vec<FitLine>,
    misses: Vec<(String, i64, String)>,
    unanswered: Vec<(String, String)>,
    cautions: Vec<String>,
}

struct DemandLine {
    label: String,
    must: bool,
    test: String,
    reason: String,
    basis: String,
}

struct FitLine {
    id: Uuid,
    name: String,
    heat: String,
    projection: String,
    metal: String,
    available: i64,
    gap: String,
    gap_mm: String,
    bins: String,
    unconfirmed: String,
    cautions: Vec<String>,
}

/// The page at `/`.
pub(super) async fn find(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let query: Vec<(String, String)> = web::Query::from_query(request.query_string())
        .map(web::Query::into_inner)
        .unwrap_or_default();
    let mut typed = Typed::new();
    for (name, value) in query {
        typed.entry(name).or_default().push(value);
    }
    let frame = who.frame.clone();
    let may_issue = who.actor.role >= Role::Tuner;
    let asked = web::block(move || answer(&shop, typed, frame, may_issue)).await;
    match asked {
        Ok(Ok(page_)) => {
            let status = if page_.faults.is_empty() {
                StatusCode::OK
            } else {
                StatusCode::BAD_REQUEST
            };
            page(status, &page_)
        }
        Ok(Err(refusal)) => refused(who.frame, &refusal),
        Err(blocked) => refused(who.frame, &Refusal::Fault(blocked.to_string())),
    }
}

fn answer(shop: &Shop, typed: Typed, frame: Frame, may_issue: bool) -> Result<Page, Refusal> {
    let chosen = typed
        .get("build")
        .and_then(|v| v.first())
        .filter(|id| !id.is_empty())
        .cloned();
    let by_hand = typed.keys().any(|name| name != "build");
    let subject = match (&chosen, by_hand) {
        (Some(id), _) => match id.parse() {
            Ok(id) => Some(Ok(Subject::Stored(id))),
            Err(_) => return Err(Refusal::NotFound("build")),
        },
        (None, true) => Some(
            engine_form::build(&typed)
                .and_then(Build::check)
                .map(|b| Subject::Build(Box::new(b))),
        ),
        (None, false) => None,
    };
    let (found, faults) = match subject {
        None => (None, Vec::new()),
        Some(Err(faults)) => (None, faults),
        Some(Ok(subject)) => match matching::find(shop, &Asked::of(subject)) {
            Ok(matched) => (Some(shown(shop, &matched)?), Vec::new()),
            Err(Refusal::Faults(faults)) => (None, faults),
            Err(other) => return Err(other),
        },
    };
    let stored = builds::list(shop, None, BUILDS)?.into_iter().map(|build| {
        let id = build.id.to_string();
        let is_chosen = chosen.as_ref() == Some(&id);
        (
            id,
            build.data.name.unwrap_or_else(|| "without a name".into()),
            is_chosen,
        )
    });
    let summary = |f: &Fault| format!("{}: {}", f.pointer.trim_start_matches("#/"), f.detail);
    Ok(Page {
        frame,
        builds: stored.collect(),
        fields: engine_form::fields(&typed, &faults),
        by_hand,
        faults: faults.iter().map(summary).collect(),
        found,
        may_issue,
    })
}

fn shown(shop: &Shop, matched: &Matched) -> Result<Shown, Refusal> {
    let requirement = &matched.requirement;
    let heat = match (requirement.heat.target_index, requirement.heat.steps) {
        (Some(target), Some(steps)) => format!("{target}, {steps} colder than it came with"),
        (Some(target), None) => target.to_string(),
        _ => "open".into(),
    };
    let spark = requirement
        .gap
        .spark
        .as_ref()
        .map_or(String::new(), |spark| {
            let needed = spark
                .needed_kv
                .map_or(String::new(), |kv| format!("needs about {kv:.0} kV; "));
            format!("{needed}{:.0} kV to be had (estimate)", spark.available_kv)
        });
    Ok(Shown {
        demands: requirement.demands.iter().map(demand).collect(),
        heat,
        gap: gap(requirement.gap.set_mm.map(|g| g.get())),
        spark,
        torque: serde_json::to_value(&requirement.torque_nm)
            .ok()
            .and_then(|t| torque(&t))
            .unwrap_or_default(),
        quantity: matched.quantity,
        in_stock: matched.fits_in_stock,
        in_catalogue: matched.fits_in_catalogue,
        fits: matched
            .fits
            .iter()
            .map(|f| fit(shop, f))
            .collect::<Result<_, _>>()?,
        misses: matched.near_misses.iter().map(miss).collect(),
        unanswered: requirement
            .unanswered
            .iter()
            .map(|u| (label(&u.attribute), u.ask.clone()))
            .collect(),
        cautions: requirement
            .cautions
            .iter()
            .map(|c| c.text.clone())
            .collect(),
    })
}

/// A gap in both units, or that each plug keeps its own.
fn gap(mm: Option<f64>) -> String {
    mm.map_or_else(
        || "each plug's own".into(),
        |mm| format!("{mm} mm ({:.0} thousandths of an inch)", mm_to_thou(mm)),
    )
}

fn demand(demand: &plugwell_domain::requirement::Demand) -> DemandLine {
    let attr = demand.attribute;
    DemandLine {
        label: attr.declared().label.to_owned(),
        must: demand.strength == Strength::Must,
        test: test(attr.word(), &demand.test.to_json(attr)),
        reason: demand.reason.clone(),
        basis: demand.basis.kind.word().replace('_', " "),
    }
}

fn value(fit: &Fit, attr: plugwell_domain::attribute::Attr) -> String {
    let raw = fit.plug.data.facts.get(attr);
    measured(
        attr.word(),
        &raw.map_or(Value::Null, |raw| attr.to_json(raw)),
    )
}

fn fit(shop: &Shop, fit: &Fit) -> Result<FitLine, Refusal> {
    use plugwell_domain::attribute::Attr::{Electrode, Heat, Projection};
    let mut bins = Vec::new();
    for pick in &fit.picks {
        let place = stock_lists::place(shop, pick.place.id)?;
        bins.push(format!("{} from {}", pick.quantity, place.name));
    }
    Ok(FitLine {
        id: fit.plug.id,
        name: format!("{} {}", fit.plug.data.maker, fit.plug.data.part_number),
        heat: value(fit, Heat),
        projection: value(fit, Projection),
        metal: value(fit, Electrode),
        available: fit.available,
        gap: fit.set_gap_mm.map_or_else(
            || "none".into(),
            |g| measured("gap_mm", &Value::from(g.get())),
        ),
        gap_mm: fit.set_gap_mm.map_or_else(String::new, |g| g.to_string()),
        bins: bins.join(", "),
        unconfirmed: fit
            .unconfirmed
            .iter()
            .map(|a| a.declared().label.to_lowercase())
            .collect::<Vec<_>>()
            .join(", "),
        cautions: fit.cautions.iter().map(|c| c.text.clone()).collect(),
    })
}

fn miss(miss: &NearMiss) -> (String, i64, String) {
    let told = |j: &Judged| {
        let attr = j.demand.attribute;
        let has = measured(
            attr.word(),
            &j.has.map_or(Value::Null, |raw| attr.to_json(raw)),
        );
        let needed = test(attr.word(), &j.demand.test.to_json(attr));
        format!(
            "{} is {has}, needed {needed}",
            attr.declared().label.to_lowercase()
        )
    };
    let mut text = miss.fails.iter().map(told).collect::<Vec<_>>().join("; ");
    if let Some(caution) = &miss.caution {
        text = format!("{text}. {}", caution.text);
    }
    (
        format!("{} {}", miss.plug.data.maker, miss.plug.data.part_number),
        miss.available,
        text,
    )
}
