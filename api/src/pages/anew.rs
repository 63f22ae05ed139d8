//! Where a form goes on that did nothing, since whoever sent it was signed out meanwhile.

use actix_web::HttpRequest;
use actix_web::http::Uri;
use actix_web::http::header::REFERER;
use uuid::Uuid;

use crate::pages::typed::Typed;
use crate::pages::visitor::within;

/// The longest address that a form is opened anew with, in bytes: what lies between may take no more.
const LONGEST: usize = 4_000;

/// The most that is repeated of what was typed, in characters.
const SAID: usize = 500;

/// What belongs to the form that was sent, not to the one that is opened anew.
const OF_THIS_ONE: [&str; 5] = ["form_key", "once", "version", "look", "scan"];

/// An address at which a form is opened anew.
#[derive(Debug)]
pub(super) struct Anew {
    /// The address.
    pub path: String,
    /// Whether what was typed stands in it.
    pub is_filled_in: bool,
    /// What was typed where it does not, to be typed again.
    pub typed: String,
}

/// Where a form is opened anew: with what was typed where it stands at the path that it is sent to, else
/// the page that it was on.
pub(super) fn anew(request: &HttpRequest, typed: &Typed) -> Anew {
    let from = request.headers().get(REFERER);
    let from = from.and_then(|from| from.to_str().ok()?.parse::<Uri>().ok());
    let page = from.as_ref().and_then(Uri::path_and_query);
    if let Some(page) = page.filter(|page| page.path() != request.path()) {
        return Anew {
            path: within(page.as_str()).to_owned(),
            is_filled_in: false,
            typed: by_hand(typed),
        };
    }
    let kept = typed.without(&OF_THIS_ONE).query();
    let filled_in = format!("{}?{kept}", request.path());
    let is_filled_in = !kept.is_empty() && filled_in.len() <= LONGEST;
    Anew {
        path: if is_filled_in {
            filled_in
        } else {
            request.path().to_owned()
        },
        is_filled_in,
        typed: match is_filled_in {
            true => String::new(),
            false => by_hand(typed),
        },
    }
}

/// What somebody typed into a form, as far as there is room to say so.
fn by_hand(typed: &Typed) -> String {
    let own = typed.without(&OF_THIS_ONE);
    let values = own.pairs().map(|(_, value)| value);
    let values: Vec<&str> = values
        .filter(|value| value.parse::<Uuid>().is_err())
        .collect();
    values.join(" · ").chars().take(SAID).collect()
}
