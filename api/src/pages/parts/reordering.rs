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
use crate::service::{Refusal, Shop, catalogue, reordering};

const FORM: &[Declared] = &[
    field(
        "supplier",
        "Ordered from",
        Form::Supplier,
        "whoever delivered it last where left open",
    ),
    field(
        "min_quantity",
        "Order at",
        Form::Counted("plugs"),
        "or fewer; together with the next",
    ),
    field("max_quantity", "Order up to", Form::Counted("plugs"), ""),
    field(
        "service_level",
        "Service level",
        Form::Measured(""),
        "0.95: of a hundred deliveries the shelf is empty before five",
    ),
    field(
        "lead_time_days",
        "Lead time",
        Form::Measured(""),
        "days from order to delivery",
    ),
    field(
        "lead_time_sd_days",
        "Its deviation",
        Form::Measured(""),
        "days",
    ),
    field(
        "pack_size",
        "Plugs in a box",
        Form::Counted(""),
        "of the supplier's",
    ),
    field("note", "Why", Form::Words, ""),
];

fn changing(shop: &Shop, plug_id: Uuid) -> Result<Changing, Refusal> {
    let plug = catalogue::get(shop, plug_id)?;
    let given = reordering::given(shop, plug_id)?;
    Ok(Changing {
        heading: format!("Reordering of {}", name(&plug)),
        note: "What is left open is measured, or taken from the policy.",
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
