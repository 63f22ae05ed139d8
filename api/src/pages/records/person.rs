//! One token: a link that signs its holder in, and taking it back.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::words::Role;
use plugwell_store::Token;
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::figures::instant;
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::service::{Actor, Refusal, Shop, access, now};

#[derive(Template)]
#[template(path = "records/person.html")]
struct Page {
    frame: Frame,
    token: Token,
    made: String,
    yours: bool,
    /// Whether the form that made it was sent a second time.
    again: bool,
    /// A link that signs in once, and until when.
    link: Option<(String, String)>,
}

fn token(shop: &Shop, id: &str) -> Result<Token, Refusal> {
    let id = id.parse::<Uuid>().map_err(|_| Refusal::NotFound("token"))?;
    access::get(shop, id)
}

fn page(frame: Frame, actor: &Actor, token: Token) -> Page {
    Page {
        frame,
        made: instant(token.created_at),
        yours: token.id == actor.token_id,
        token,
        again: false,
        link: None,
    }
}

/// The page at `/people/{id}`.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Manager) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let again = !Typed::of_query(request.query_string())
        .one("again")
        .is_empty();
    made(&shop, who.frame, move |shop, frame| {
        let page = page(frame, &who.actor, token(shop, &path)?);
        Reply::page(StatusCode::OK, &Page { again, ..page })
    })
    .await
}

/// Makes a link that signs in once.
pub(super) async fn link(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, _) = match sender(&shop, &request, posted, Role::Manager) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let here = {
        let info = request.connection_info();
        format!("{}://{}", info.scheme(), info.host())
    };
    made(&shop, who.frame, move |shop, frame| {
        let token = token(shop, &path)?;
        let code = shop.access.link(token.id)?;
        let link = format!("{here}/sign-in?link={code}");
        let page = Page {
            link: Some((link, instant(now() + access::LINK))),
            ..page(frame, &who.actor, token)
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

/// Takes a token back.
pub(super) async fn revoke(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, _) = match sender(&shop, &request, posted, Role::Manager) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, _| {
        let token = token(shop, &path)?;
        // A token never changes: there is no version to be stale.
        access::revoke(shop, &who.actor, token.id, |_| Ok(()))?;
        Ok(Reply::Elsewhere("/people?revoked=yes".into()))
    })
    .await
}
