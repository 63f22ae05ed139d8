//! What a browser is shown whose reader asked too much.

use actix_web::body::{EitherBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::StatusCode;
use actix_web::http::header::{HeaderValue, RETRY_AFTER};
use actix_web::middleware::Next;
use actix_web::{Error, web};

use crate::http::{rate, routes};
use crate::pages::answer::{Message, page};
use crate::pages::words::{say, say_with};
use crate::pages::{is_browser, visitor};
use crate::service::Shop;

/// The middleware around the guard: a refusal for a limit is a page where a page was asked for.
///
/// # Errors
/// Those of the services behind it.
pub async fn too_many<B: MessageBody + 'static>(
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    let of_pages = routes::label(request.path()) == "page" && is_browser(request.headers());
    let shop = request.app_data::<web::Data<Shop>>().cloned();
    let answer = next.call(request).await?;
    let Some(shop) = shop.filter(|_| of_pages && answer.status() == StatusCode::TOO_MANY_REQUESTS)
    else {
        return Ok(answer.map_into_left_body());
    };
    let (request, refused) = answer.into_parts();
    let wait = refused.headers().get(RETRY_AFTER);
    let seconds = wait.and_then(|wait| wait.to_str().ok()).unwrap_or("1");
    let text = say_with("pages-more-was-asked", &[("seconds", &seconds)]);
    let message = Message {
        frame: visitor::frame(&shop, &request),
        heading: say("pages-too-much-at-once"),
        text,
    };
    let mut answer = page(StatusCode::TOO_MANY_REQUESTS, &message);
    for name in [RETRY_AFTER, rate::RATE, rate::POLICY] {
        let value: Option<HeaderValue> = refused.headers().get(&name).cloned();
        if let Some(value) = value {
            answer.headers_mut().insert(name, value);
        }
    }
    Ok(ServiceResponse::new(request, answer).map_into_right_body())
}
