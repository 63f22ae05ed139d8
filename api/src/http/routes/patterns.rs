//! Which route a path leads to.

use actix_web::http::Method;

use super::{ROUTES, Route};

/// The pattern that a path follows: of several the one with the fewest placeholders.
pub fn pattern(path: &str) -> Option<&'static str> {
    let followed = ROUTES
        .iter()
        .map(|route| route.path)
        .filter(|pattern| follows(pattern, path));
    followed.min_by_key(|pattern| pattern.matches('{').count())
}

fn follows(pattern: &str, path: &str) -> bool {
    let (mut wanted, mut given) = (pattern.split('/'), path.split('/'));
    loop {
        match (wanted.next(), given.next()) {
            (None, None) => return true,
            (Some(w), Some(g)) if w == g || fills(w, g) => {}
            _ => return false,
        }
    }
}

/// Whether a segment stands for one with a placeholder, which may have an ending: `{id}.svg`.
fn fills(wanted: &str, given: &str) -> bool {
    let ending = wanted
        .strip_prefix('{')
        .and_then(|rest| rest.split_once('}'))
        .map(|(_, ending)| ending);
    ending.is_some_and(|ending| given.len() > ending.len() && given.ends_with(ending))
}

/// What log and metrics call a path, so that it stays a short list.
pub fn label(path: &str) -> &'static str {
    let outside = if is_api(path) { "unknown" } else { "page" };
    pattern(path).unwrap_or(outside)
}

/// What metrics call a method: anybody can make one up.
pub fn method(method: &Method) -> &'static str {
    let known = [
        "GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT",
    ];
    let found = known.into_iter().find(|known| *known == method.as_str());
    found.unwrap_or("other")
}

/// Whether a path is the API's, known or not.
pub fn is_api(path: &str) -> bool {
    path == "/v1" || path.starts_with("/v1/")
}

/// What a request counts for where requests are limited. What a page draws on is kept by browsers and
/// costs nothing to give.
pub fn cost(pattern: Option<&str>, method: &str, path: &str) -> u32 {
    match pattern {
        Some(pattern) => taken(pattern, method).map_or(1, |route| route.cost),
        None => u32::from(!path.starts_with("/assets/")),
    }
}

/// The routes of a pattern.
pub fn of_pattern(pattern: &str) -> impl Iterator<Item = &'static Route> {
    ROUTES.iter().filter(move |route| route.path == pattern)
}

/// The route of a pattern that a method takes; HEAD takes that of GET.
pub fn taken(pattern: &str, method: &str) -> Option<&'static Route> {
    let wanted = if method == "HEAD" { "GET" } else { method };
    of_pattern(pattern).find(|route| route.method == wanted)
}

/// The methods that a pattern takes, as the header `Allow` lists them.
pub fn allowed(pattern: &str) -> String {
    let mut methods: Vec<&str> = of_pattern(pattern).map(|route| route.method).collect();
    if methods.contains(&"GET") {
        methods.push("HEAD");
    }
    methods.push("OPTIONS");
    methods.join(", ")
}
