//! Webhooks: who is told of events by signed requests, and what came of them.

use actix_web::{delete, get, patch, post, web};
use plugwell_domain::event::WebhookData;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_store::DeliveryState;
use serde_json::Value;
use utoipa::IntoParams;
use uuid::Uuid;

use crate::http::answer::{Answer, ask, changed, created, gone, ok, page, patched, record};
use crate::http::body::{Body, Patch, checked};
use crate::http::etag::{IfMatch, IfNoneMatch};
use crate::http::paging::{Page, PageQuery, Paging};
use crate::http::problem::Problem;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::{Checked, Id, NoBody, Unread};
use crate::http::webhook_shapes::{
    MadeWebhook, MadeWebhookSecret, ShownDelivery, ShownWebhook, StateOfDelivery,
};
use crate::service::webhooks::{deliveries, secrets};
use crate::service::{Actor, Shop, webhooks};

impl Body for WebhookData {
    const FLAGS: &'static [(&'static str, &'static str)] = &[(
        "enabled",
        "Whether anything is sent; let in again, it goes on where it stopped, as far as events are kept.",
    )];

    fn read(value: Value) -> Result<Self, Vec<Fault>> {
        checked(value)
    }
}

/// One page of webhooks.
type WebhookPage = Page<ShownWebhook>;
/// One page of deliveries.
type DeliveryPage = Page<ShownDelivery>;
/// What a PATCH changes of a webhook.
type WebhookPatch = Patch<WebhookData>;

/// What a list of deliveries is narrowed by.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct DeliveryQuery {
    /// Where the delivery stands.
    #[param(value_type = Option<StateOfDelivery>)]
    state: Option<DeliveryState>,
}

impl FromQuery for DeliveryQuery {
    fn take(members: &mut Members) -> Self {
        let state = members.text("state").and_then(|text| {
            let read = text.parse::<DeliveryState>();
            if let Err(detail) = &read {
                members.fault("state", FaultCode::NotInList, detail.as_str());
            }
            read.ok()
        });
        Self { state }
    }
}

/// The second identifier of a path.
fn second(text: &str, name: &str) -> Result<Uuid, Problem> {
    text.parse().map_err(|_| {
        Problem::fault(
            format!("/{name}"),
            FaultCode::WrongForm,
            format!("{text:?} is no UUID"),
        )
    })
}

/// Lists webhooks in the order that they were made in.
#[utoipa::path(
    operation_id = "list_webhooks", tag = "changes", params(PageQuery),
    responses((status = 200, description = "A page of webhooks.", body = WebhookPage))
)]
#[get("/v1/webhooks")]
pub async fn list_webhooks(
    shop: web::Data<Shop>,
    CheckedQuery(paging): CheckedQuery<Paging<Uuid>>,
) -> Answer {
    let (after, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| webhooks::list(shop, after, limit)).await?;
    let (found, next) = paging.page(found, |shown| shown.hook.id);
    page(&found.map(ShownWebhook::from), next)
}

/// Enters a webhook: from now on events go to its URL, each at least once, signed by the Standard
/// Webhooks scheme, those of one subject one after the other. The secret is in this answer and nowhere
/// else.
#[utoipa::path(
    operation_id = "create_webhook", tag = "changes", request_body = WebhookData,
    responses((status = 201, description = "The webhook with its secret.", body = MadeWebhook))
)]
#[post("/v1/webhooks")]
pub async fn create_webhook(
    shop: web::Data<Shop>,
    actor: Actor,
    body: Checked<WebhookData>,
) -> Answer {
    let (shown, secret) = ask(&shop, move |shop| webhooks::create(shop, &actor, &body.0)).await?;
    let made = MadeWebhook {
        shown: shown.into(),
        secret: secret.secret,
    };
    let at = format!("/v1/webhooks/{}", made.shown.id);
    created(&shop, &at, made.shown.version, &made)
}

/// Shows a webhook, without its secrets.
#[utoipa::path(
    operation_id = "get_webhook", tag = "changes", params(Id),
    responses((status = 200, description = "The webhook.", body = ShownWebhook))
)]
#[get("/v1/webhooks/{id}")]
pub async fn get_webhook(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let found = ask(&shop, move |shop| webhooks::get(shop, id.0)).await?;
    record(found.hook.version, &known, &ShownWebhook::from(found))
}

/// Changes a webhook by a JSON merge patch, stops it or lets it go on.
#[utoipa::path(
    operation_id = "patch_webhook", tag = "changes", params(Id),
    request_body(content((WebhookPatch = "application/json"), (WebhookPatch = "application/merge-patch+json"))),
    responses((status = 200, description = "The webhook as it is now.", body = ShownWebhook))
)]
#[patch("/v1/webhooks/{id}")]
pub async fn patch_webhook(
    shop: web::Data<Shop>,
    id: Id,
    expected: IfMatch,
    body: Unread<WebhookPatch>,
) -> Answer {
    let now = patched(&shop, id, expected, body, webhooks::get, webhooks::patch).await?;
    changed(&shop, now.hook.version, &ShownWebhook::from(now))
}

/// Removes a webhook, with what is on its way to it.
#[utoipa::path(
    operation_id = "delete_webhook", tag = "changes", params(Id),
    responses((status = 204, description = "It is gone."))
)]
#[delete("/v1/webhooks/{id}")]
pub async fn delete_webhook(shop: web::Data<Shop>, id: Id, expected: IfMatch) -> Answer {
    ask(&shop, move |shop| {
        webhooks::remove(shop, id.0, |version| expected.check(version))
    })
    .await?;
    gone(&shop)
}

/// Adds a secret: from now on deliveries carry a signature of each, so that the receiver can change
/// over; then remove the old one. The secret is in this answer and nowhere else; the `ETag` is the webhook's.
#[utoipa::path(
    operation_id = "add_webhook_secret", tag = "changes", params(Id),
    responses(
        (status = 201, description = "The secret.", body = MadeWebhookSecret),
        (status = 409, description = "`secrets_bounded`.")
    )
)]
#[post("/v1/webhooks/{id}/secrets")]
pub async fn add_webhook_secret(shop: web::Data<Shop>, id: Id, body: NoBody) -> Answer {
    let (shown, secret) = ask(&shop, move |shop| {
        webhooks::get(shop, id.0)?;
        body.read()?;
        Ok::<_, Problem>(secrets::add(shop, id.0)?)
    })
    .await?;
    let at = format!("/v1/webhooks/{}", shown.hook.id);
    created(
        &shop,
        &at,
        shown.hook.version,
        &MadeWebhookSecret::from(secret),
    )
}

/// Removes a secret; one always stays. `If-Match` is the webhook's `ETag`.
#[utoipa::path(
    operation_id = "delete_webhook_secret", tag = "changes",
    params(("id" = Uuid, Path, description = "The webhook."), ("secret_id" = Uuid, Path, description = "The secret.")),
    responses((status = 204, description = "It is gone."), (status = 409, description = "`secrets_bounded`."))
)]
#[delete("/v1/webhooks/{id}/secrets/{secret_id}")]
pub async fn delete_webhook_secret(
    shop: web::Data<Shop>,
    id: Id,
    path: web::Path<(String, String)>,
    expected: IfMatch,
) -> Answer {
    let secret = second(&path.1, "secret_id")?;
    ask(&shop, move |shop| {
        secrets::remove(shop, id.0, secret, |version| expected.check(version))
    })
    .await?;
    gone(&shop)
}

/// Lists the deliveries of a webhook, the newest first, with what came of each attempt; kept for as long
/// as their events.
#[utoipa::path(
    operation_id = "list_deliveries", tag = "changes", params(Id, PageQuery, DeliveryQuery),
    responses((status = 200, description = "A page of deliveries.", body = DeliveryPage))
)]
#[get("/v1/webhooks/{id}/deliveries")]
pub async fn list_deliveries(
    shop: web::Data<Shop>,
    id: Id,
    query: CheckedQuery<(Paging<Uuid>, DeliveryQuery)>,
) -> Answer {
    let CheckedQuery((paging, DeliveryQuery { state })) = query;
    let (before, limit) = (paging.after, paging.one_more());
    let found = ask(&shop, move |shop| {
        deliveries::list(shop, id.0, state, before, limit)
    })
    .await?;
    let (found, next) = paging.page(found, |logged| logged.delivery.id);
    page(&found.map(ShownDelivery::from), next)
}

/// Sends a delivery again, whatever became of it, from the beginning of the schedule.
#[utoipa::path(
    operation_id = "resend_delivery", tag = "changes",
    params(("id" = Uuid, Path, description = "The webhook."), ("delivery_id" = Uuid, Path, description = "The delivery.")),
    responses((status = 200, description = "The delivery, which waits again.", body = ShownDelivery))
)]
#[post("/v1/webhooks/{id}/deliveries/{delivery_id}/resend")]
pub async fn resend_delivery(
    shop: web::Data<Shop>,
    id: Id,
    path: web::Path<(String, String)>,
    body: NoBody,
) -> Answer {
    let delivery = second(&path.1, "delivery_id")?;
    let logged = ask(&shop, move |shop| {
        webhooks::get(shop, id.0)?;
        body.read()?;
        Ok::<_, Problem>(deliveries::resend(shop, id.0, delivery)?)
    })
    .await?;
    ok(&ShownDelivery::from(logged))
}
