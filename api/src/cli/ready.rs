//! What a start has to tell: where the service answers, tokens that were just made, sign-in links.

use plugwell_domain::words::Role;
use serde_json::{Map, Value};

use crate::service::access::Shown;

/// What a start has to tell.
#[derive(Debug, Default)]
pub struct Ready {
    /// Where the service answers.
    pub url: String,
    /// Tokens that were just made; the secrets are shown this once.
    pub tokens: Vec<(Role, Shown)>,
    /// One-time links into the pages.
    pub sign_in: Vec<(Role, String)>,
}

impl Ready {
    /// As it stands in the ready file.
    pub fn to_json(&self) -> Value {
        let by_role = |pairs: Vec<(Role, String)>| {
            let words = pairs
                .into_iter()
                .map(|(role, text)| (role.word().to_owned(), Value::from(text)));
            Value::Object(words.collect::<Map<_, _>>())
        };
        let mut map = Map::new();
        map.insert("url".into(), self.url.clone().into());
        map.insert(
            "tokens".into(),
            by_role(
                self.tokens
                    .iter()
                    .map(|(r, shown)| (*r, shown.secret.clone()))
                    .collect(),
            ),
        );
        if !self.sign_in.is_empty() {
            map.insert("sign_in".into(), by_role(self.sign_in.clone()));
        }
        Value::Object(map)
    }
}
