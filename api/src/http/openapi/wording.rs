//! What an operation is called and what is said of it: a line to list it by, and the whole with the
//! role that it takes.

use serde_json::Value;

use crate::http::routes::{Least, Route};

/// Ends of what a summary says; the description goes on.
const ENDS: [&str; 3] = [". ", ": ", "; "];

/// Splits what a handler says of itself.
pub(super) fn complete(route: &Route, operation: &mut Value) {
    let said = |member: &str| operation[member].as_str().map(in_lines).unwrap_or_default();
    let (first, rest) = (said("summary"), said("description"));
    let whole = [first.as_str(), rest.as_str(), who_may(route.least).as_str()]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join("\n\n");
    operation["summary"] = summary(&first).into();
    operation["description"] = whole.into();
}

/// Lines of one paragraph as one; paragraphs stay.
pub(super) fn in_lines(text: &str) -> String {
    let paragraphs = text.split("\n\n").map(|paragraph| {
        let lines: Vec<&str> = paragraph.lines().map(str::trim).collect();
        lines.join(" ")
    });
    paragraphs.collect::<Vec<_>>().join("\n\n")
}

fn summary(text: &str) -> &str {
    let end = ENDS.iter().filter_map(|end| text.find(end)).min();
    text[..end.unwrap_or(text.len())].trim_end_matches('.')
}

fn who_may(least: Least) -> String {
    match least {
        Least::Open => "Everybody may, without a token.".into(),
        Least::Loopback => {
            "Everybody on the service's own machine may; from elsewhere it takes the role `reader`."
                .into()
        }
        Least::Role(role) => format!("Takes the role `{role}`, or one that holds it."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::http::routes::ROUTES;
    use serde_json::json;

    #[test]
    fn a_summary_is_the_first_thought_and_the_description_tells_the_role() {
        let issue = ROUTES.iter().find(|r| r.operation == "issue").unwrap();
        let mut operation = json!({
            "summary": "Issues plugs to a job: from one lot\nwhere one is big enough. Else from several.",
            "description": "What fails\nis said.",
        });
        complete(issue, &mut operation);
        assert_eq!(operation["summary"], "Issues plugs to a job");
        assert_eq!(
            operation["description"],
            "Issues plugs to a job: from one lot where one is big enough. Else from several.\n\n\
             What fails is said.\n\nTakes the role `tuner`, or one that holds it."
        );
        assert_eq!(summary("Shows a record."), "Shows a record");
    }
}
