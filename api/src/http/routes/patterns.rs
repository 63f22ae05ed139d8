//! Which route a path leads to.

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

/// The routes of a pattern.
pub fn of_pattern(pattern: &str) -> impl Iterator<Item = &'static Route> {
    ROUTES.iter().filter(move |route| route.path == pattern)
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
