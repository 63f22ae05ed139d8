//! Numbers for the lines of a count, typed or scanned, each saved by itself.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::ledger::counting::{Count, Counting};
use plugwell_domain::words::Role;
use serde_json::json;
use uuid::Uuid;

use super::{Said, found, page};
use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::line::commanded;
use crate::pages::typed::{Posted, Typed, count as number, encoded};
use crate::pages::visitor::{Visitor, sender};
use crate::pages::words::{say, say_with};
use crate::service::scanning;
use crate::service::stock::By;
use crate::service::{Actor, Refusal, Shop, counts};
use crate::shown::marked;

/// The longest number of plugs that can be counted.
const DIGITS: usize = 6;

/// Takes in what was scanned: the bin one stands at, the lot in the hand, how many there are.
pub(super) async fn scan(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (Visitor { actor, frame }, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    made(&shop, frame, move |shop, frame| {
        let count = found(shop, &id)?;
        let text = typed.one("scan");
        if let Some(there) = commanded(text, actor.role) {
            return Ok(Reply::Elsewhere(there));
        }
        match taken(shop, &actor, &count, &typed, text)? {
            Ok(there) => Ok(Reply::Elsewhere(there)),
            Err(said) => again(shop, frame, &actor, &count, &typed, said),
        }
    })
    .await
}

fn again(
    shop: &Shop,
    frame: Frame,
    actor: &Actor,
    count: &Count,
    typed: &Typed,
    said: Said,
) -> Result<Reply, Refusal> {
    page(shop, frame, actor.role, count, typed, said)
}

/// Something that was typed or scanned, and not understood.
fn not_so(text: impl Into<String>) -> Said {
    Said::wrong(text, StatusCode::BAD_REQUEST)
}

/// The page of a count with a line of it to be filled in.
fn at_line(count: &Count, place: &str, lot: &str) -> String {
    let (place, lot) = (encoded(place), encoded(lot));
    format!("/counts/{}?place={place}&lot={lot}", count.id)
}

/// Where a scan leads, or what was not understood of it.
fn taken(
    shop: &Shop,
    actor: &Actor,
    count: &Count,
    typed: &Typed,
    text: &str,
) -> Result<Result<String, Said>, Refusal> {
    let here = |place: &str, lot: &str| at_line(count, place, lot);
    let (place, lot) = (typed.one("place"), typed.one("lot"));
    if text.is_empty() {
        return Ok(Ok(here(place, lot)));
    }
    if text.len() <= DIGITS && text.bytes().all(|sign| sign.is_ascii_digit()) {
        let (Ok(place), Ok(lot)) = (place.parse::<Uuid>(), lot.parse::<Uuid>()) else {
            return Ok(Err(not_so(say_with(
                "counter-text-scan-bin-label-lot",
                &[("text", &text)],
            ))));
        };
        return saved(shop, actor, count, (place, lot), text, "");
    }
    let scan = match scanning::read(shop, text) {
        Ok(scan) => scan,
        Err(Refusal::Faults(_)) => {
            return Ok(Err(not_so(say_with(
                "counter-text-no-label-bin-lot",
                &[("text", &format!("{text:?}"))],
            ))));
        }
        Err(other) => return Err(other),
    };
    if let Some(bin) = &scan.place {
        return Ok(if count.places.contains(&bin.id) {
            Ok(here(&bin.id.to_string(), ""))
        } else {
            Err(not_so(say_with(
                "counter-name-none-count-bins",
                &[("name", &bin.name)],
            )))
        });
    }
    let is_it = |line: &&plugwell_domain::ledger::counting::CountLine| match (&scan.lot, &scan.plug)
    {
        (Some(lot), _) => line.lot_id == lot.id,
        (None, Some(plug)) => line.plug_id == plug.id,
        (None, None) => false,
    };
    let at = place.parse::<Uuid>().ok();
    let meant: Vec<_> = count
        .lines
        .iter()
        .filter(is_it)
        .filter(|line| at.is_none_or(|at| line.place_id == at))
        .collect();
    Ok(match (meant.as_slice(), at, &scan.lot) {
        ([line], _, _) => Ok(here(&line.place_id.to_string(), &line.lot_id.to_string())),
        // A lot that the sheet lacks lies there all the same.
        ([], Some(at), Some(lot)) => Ok(here(&at.to_string(), &lot.id.to_string())),
        ([], _, _) => Err(not_so(say_with(
            "counter-text-nothing-counted-here-scan",
            &[("text", &format!("{text:?}"))],
        ))),
        (_, _, _) => Err(not_so(say_with(
            "counter-text-stands-more-line-scan",
            &[("text", &format!("{text:?}"))],
        ))),
    })
}

/// Saves the number of a line that was typed.
pub(super) async fn save(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (Visitor { actor, frame }, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    made(&shop, frame, move |shop, frame| {
        let count = found(shop, &id)?;
        let Some(key) = key(shop, &typed)? else {
            let said = say("counter-no-lot-here-bears-code");
            return again(shop, frame, &actor, &count, &typed, not_so(said));
        };
        match saved(
            shop,
            &actor,
            &count,
            key,
            typed.one("counted"),
            "&typing=yes",
        )? {
            Ok(there) => Ok(Reply::Elsewhere(there)),
            Err(said) => again(shop, frame, &actor, &count, &typed, said),
        }
    })
    .await
}

/// Bin and lot of a line, the lot by id or by the code on its label.
fn key(shop: &Shop, typed: &Typed) -> Result<Option<(Uuid, Uuid)>, Refusal> {
    let place = typed
        .one("place")
        .parse()
        .map_err(|_| Refusal::NotFound("place"))?;
    if let Ok(lot) = typed.one("lot").parse::<Uuid>() {
        return Ok(Some((place, lot)));
    }
    let lot = crate::service::stock_lists::lot_coded(shop, typed.one("lot_code"))?;
    Ok(lot.map(|lot| (place, lot.id)))
}

/// Saves a number; where the page goes on. Lines are saved one by one and by several people at a time,
/// each over whatever stood there: what was counted before is kept beside it, so that no version is asked for.
fn saved(
    shop: &Shop,
    actor: &Actor,
    count: &Count,
    (place, lot): (Uuid, Uuid),
    text: &str,
    more: &str,
) -> Result<Result<String, Said>, Refusal> {
    let counted = match text {
        "" => None,
        text => match number(text) {
            Ok(counted) => Some(counted),
            Err(why) => {
                return Ok(Err(not_so(say_with(
                    "counter-why-count-plugs-write-0",
                    &[("why", &why)],
                ))));
            }
        },
    };
    let body = json!({ "lines": [{ "lot_id": lot, "place_id": place, "counted": counted }] });
    let outcome = match Counting::check(body) {
        Ok(asked) => {
            let policy = shop.policy();
            shop.write(|session| {
                counts::change(
                    session,
                    &By::now(actor),
                    &policy,
                    count.id,
                    |_| Ok(()),
                    &asked,
                )
            })
        }
        Err(faults) => Err(Refusal::Faults(faults)),
    };
    match outcome {
        Ok(_) => {
            let plugs = counted.map_or(String::new(), |plugs| plugs.to_string());
            Ok(Ok(format!(
                "/counts/{}?place={place}&saved={lot}&plugs={plugs}{more}",
                count.id
            )))
        }
        Err(Refusal::Faults(faults)) => {
            let said: Vec<_> = faults
                .into_iter()
                .map(|fault| marked(fault.detail))
                .collect();
            Ok(Err(not_so(said.join("; "))))
        }
        Err(Refusal::Conflict { detail, .. }) => Ok(Err(Said::wrong(detail, StatusCode::CONFLICT))),
        Err(other) => Err(other),
    }
}
