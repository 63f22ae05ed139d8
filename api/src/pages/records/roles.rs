//! What each role may do, as the routes and the pages themselves have it.

use std::collections::HashMap;

use plugwell_domain::words::Role;

use crate::http::openapi;
use crate::http::routes::{Least, ROUTES, Route};
use crate::pages::ways::WAYS;

/// What a role may do beyond the one before it.
#[derive(Debug, Clone)]
pub(super) struct Deeds {
    /// The role.
    pub role: &'static str,
    /// The role that it holds as well; empty where none.
    pub before: &'static str,
    /// The pages that it opens.
    pub pages: String,
    /// What it may do, each in a sentence.
    pub deeds: Vec<String>,
    /// How many more things it may look at.
    pub looks: usize,
}

/// Every role, the smallest first.
pub(super) fn deeds() -> Vec<Deeds> {
    let document = openapi::document();
    let summaries: HashMap<&str, &str> = openapi::operations(document)
        .filter_map(|(_, _, one)| Some((one["operationId"].as_str()?, one["summary"].as_str()?)))
        .collect();
    let of = |(place, role): (usize, &Role)| {
        let pages = WAYS.iter().filter(|way| way.least == *role);
        let own = ROUTES
            .iter()
            .filter(|route| route.least == Least::Role(*role));
        let (looks, deeds): (Vec<&Route>, Vec<&Route>) =
            own.partition(|route| route.method == "GET");
        let told = deeds
            .iter()
            .filter_map(|route| summaries.get(route.operation));
        Deeds {
            role: role.word(),
            before: place
                .checked_sub(1)
                .map_or("", |before| Role::ALL[before].word()),
            pages: pages.map(|way| way.words()).collect::<Vec<_>>().join(", "),
            deeds: told.map(|text| plain(text)).collect(),
            looks: looks.len(),
        }
    };
    Role::ALL.iter().enumerate().map(of).collect()
}

/// A summary without what only programs care for, as a sentence.
fn plain(text: &str) -> String {
    let words = text.replace(" by a JSON merge patch", "").replace('`', "");
    format!("{words}.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_deed_of_every_role_is_told_in_a_sentence() {
        let all = deeds();
        assert_eq!(all.len(), Role::ALL.len());
        let routes = |role: Role| {
            let own = ROUTES.iter().filter(|r| r.least == Least::Role(role));
            own.filter(|r| r.method != "GET").count()
        };
        for (deeds, role) in all.iter().zip(Role::ALL) {
            assert_eq!(deeds.deeds.len(), routes(*role), "{role}");
            assert!(
                deeds
                    .deeds
                    .iter()
                    .all(|deed| deed.ends_with('.') && !deed.contains('`'))
            );
        }
    }
}
