//! What the shop gives by hand for the reordering of a part.

use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::reorder::Reordering;
use plugwell_domain::words::Role;
use serde_json::Value;
use uuid::Uuid;

use crate::http::body::{Body, Patch};
use crate::pages::changing::{Changing, meant_for};
use crate::pages::form::{Declared, Form, field};
use crate::pages::part::name;
use crate::pages::parts::{id, look, take};
use crate::pages::typed::Posted;
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, catalogue, reordering};
use crate::shown::marked;

const FORM: &[Declared] = &[
    field(
        "supplier",
        "parts-ordered-from",
        Form::Supplier,
        "parts-ordered-from-hint",
    ),
    field(
        "min_quantity",
        "parts-order-at",
        Form::Counted("plugs"),
        "parts-order-at-hint",
    ),
    field(
        "max_quantity",
        "parts-order-up-to",
        Form::Counted("plugs"),
        "",
    ),
    field(
        "service_level",
        "parts-service-level",
        Form::Measured(""),
        "parts-service-level-hint",
    ),
    field(
        "lead_time_days",
        "parts-lead-time",
        Form::Measured(""),
        "parts-lead-time-hint",
    ),
    field(
        "lead_time_sd_days",
        "parts-its-deviation",
        Form::Measured(""),
        "parts-its-deviation-hint",
    ),
    field(
        "pack_size",
        "parts-plugs-in-a-box",
        Form::Counted(""),
        "parts-plugs-in-a-box-hint",
    ),
    field("note", "parts-why", Form::Words, ""),
];

/// What was given by hand for a part, with its labels.
pub(super) fn by_hand(shop: &Shop, plug_id: Uuid) -> Result<Vec<(&'static str, String)>, Refusal> {
    let hand = reordering::given(shop, plug_id)?.data;
    let plugs = |number: Option<i64>| number.map(|n| say_with("parts-n-plugs", &[("n", &n)]));
    let days = |number: Option<f64>| number.map(|n| say_with("parts-n-days", &[("n", &n)]));
    let all = [
        (say("parts-ordered-from"), hand.supplier),
        (say("parts-order-at"), plugs(hand.min_quantity)),
        (say("parts-order-up-to"), plugs(hand.max_quantity)),
        (
            say("parts-service-level"),
            hand.service_level.map(|level| marked(level.to_string())),
        ),
        (say("parts-lead-time"), days(hand.lead_time_days)),
        (say("parts-its-deviation"), days(hand.lead_time_sd_days)),
        (
            say("parts-plugs-in-a-box"),
            hand.pack_size.map(|n| n.to_string()),
        ),
        (say("parts-why"), hand.note),
    ];
    Ok(all
        .into_iter()
        .filter_map(|(what, told)| Some((what, told?)))
        .collect())
}

fn changing(shop: &Shop, plug_id: Uuid) -> Result<Changing, Refusal> {
    let plug = catalogue::get(shop, plug_id)?;
    let given = reordering::given(shop, plug_id)?;
    Ok(Changing {
        heading: say_with("parts-reordering-of-name", &[("name", &name(&plug))]),
        note: say("parts-left-open-measured-taken-policy"),
        back: format!("/parts/{plug_id}#reordering"),
        action: format!("/parts/{plug_id}/reordering"),
        declared: FORM,
        record: serde_json::to_value(&given.data).map_err(|e| Refusal::Fault(e.to_string()))?,
        version: given.version,
    })
}

/// The form.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    look(shop, request, Role::Clerk, move |shop, frame, _| {
        changing(shop, id(&path, "part")?)?.begin(shop, frame)
    })
    .await
}

/// Changes what is given.
pub(super) async fn send(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    take(
        shop,
        request,
        posted,
        Role::Clerk,
        move |shop, frame, typed, _| {
            let plug_id = id(&path, "part")?;
            changing(shop, plug_id)?.send(shop, frame, typed, |patch, version| {
                let patch = Patch::<Reordering>::check(Value::Object(patch.clone()))
                    .map_err(Refusal::Faults)?;
                reordering::give(shop, plug_id, meant_for(version), &patch.members).map(drop)
            })
        },
    )
    .await
}
