//! Which of the forms that there are a caller would rather have: the header `Accept` (RFC 9110).

use actix_web::HttpRequest;
use actix_web::http::header::{self, Header};
use actix_web::mime::Mime;

use crate::http::problem::{NOT_ACCEPTABLE, Problem};

/// The one of some media types that the caller likes best; of those liked alike the first.
///
/// # Errors
/// `not_acceptable` where the caller takes none of them.
pub fn preferred(request: &HttpRequest, offered: &[&'static str]) -> Result<&'static str, Problem> {
    let refused = || {
        let detail = format!("accept one of {}", offered.join(", "));
        Problem::new(&NOT_ACCEPTABLE, detail)
    };
    if !request.headers().contains_key(header::ACCEPT) {
        return offered.first().copied().ok_or_else(refused);
    }
    let accepted = header::Accept::parse(request).map_err(|_| refused())?;
    let liked = |media: &str| {
        let ranges = accepted
            .0
            .iter()
            .filter_map(|range| Some((closeness(&range.item, media)?, range.quality)));
        // The closest range that names a type decides for it.
        ranges
            .max_by_key(|(close, _)| *close)
            .map(|(_, quality)| quality)
    };
    let mut best = None;
    for media in offered {
        let Some(quality) = liked(media).filter(|q| *q > header::Quality::ZERO) else {
            continue;
        };
        if best.is_none_or(|(most, _)| quality > most) {
            best = Some((quality, *media));
        }
    }
    best.map(|(_, media)| media).ok_or_else(refused)
}

/// How closely a range names a media type; `None` where it does not.
fn closeness(range: &Mime, media: &str) -> Option<u8> {
    let (kind, form) = media.split_once('/')?;
    match (range.type_().as_str(), range.subtype().as_str()) {
        ("*", "*") => Some(0),
        (k, "*") if k == kind => Some(1),
        (k, f) if k == kind && f == form => Some(2),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use actix_web::test::TestRequest;

    const OFFERED: &[&str] = &["application/json", "text/html"];

    fn liked(accept: &str) -> Option<&'static str> {
        let request = TestRequest::default().insert_header(("accept", accept));
        preferred(&request.to_http_request(), OFFERED).ok()
    }

    #[test]
    fn the_best_liked_form_is_given() {
        let (json, html) = (Some("application/json"), Some("text/html"));
        for (accept, given) in [
            ("*/*", json),
            ("text/html", html),
            ("application/json", json),
            (
                "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8",
                html,
            ),
            ("text/*;q=0.5, application/json;q=0.4", html),
            ("text/html;q=0.5, */*", json),
            ("text/html;q=0, text/*", None),
            ("application/json;q=0, */*", html),
            ("image/png", None),
        ] {
            assert_eq!(liked(accept), given, "{accept}");
        }
        let bare = TestRequest::default().to_http_request();
        assert_eq!(preferred(&bare, OFFERED).ok(), json);
    }
}
