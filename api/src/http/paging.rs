//! Lists in pages: a cursor is the place after which the next page starts, tied to the list and its
//! filters, so that it stays right while rows are added.

use std::borrow::Cow;

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use plugwell_domain::fault::FaultCode;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use utoipa::openapi::schema::{ArrayBuilder, ObjectBuilder, Schema, SchemaType};
use utoipa::openapi::{Ref, RefOr, Type};
use utoipa::{IntoParams, PartialSchema, ToSchema};

use crate::http::query::{FromQuery, Members};

/// Items of a page where nobody says.
pub const DEFAULT_LIMIT: i64 = 50;
/// Most items of a page.
pub const MOST: i64 = 200;

/// Which page of a list is asked for; `K` is what the list is ordered by.
#[derive(Debug, Clone)]
pub struct Paging<K> {
    /// Items at the most.
    pub limit: i64,
    /// The key of the last item of the page before.
    pub after: Option<K>,
    path: String,
    query: Vec<(String, String)>,
}

/// What a cursor carries.
#[derive(Serialize, Deserialize)]
struct Cursor<K> {
    /// The key.
    k: K,
    /// Of which list, with which filters.
    f: String,
}

impl<K: DeserializeOwned> FromQuery for Paging<K> {
    fn take(members: &mut Members) -> Self {
        let (path, query) = (members.path().to_owned(), members.given().to_vec());
        let limit = members
            .within("limit", "a whole number", 1..=MOST)
            .unwrap_or(DEFAULT_LIMIT);
        let after = members.text("cursor").and_then(|text| {
            let read = opened::<K>(&text).filter(|cursor| cursor.f == filters(&path, &query));
            if read.is_none() {
                let detail =
                    "the cursor is none of this list with these filters; start without one";
                members.fault("cursor", FaultCode::WrongForm, detail);
            }
            read.map(|cursor| cursor.k)
        });
        Self {
            limit,
            after,
            path,
            query,
        }
    }
}

impl<K: Serialize> Paging<K> {
    /// One more than the limit: whether it comes tells whether there is a next page.
    pub fn one_more(&self) -> i64 {
        self.limit + 1
    }

    /// Makes a page of what was found with [`Self::one_more`], and the link to the next one.
    pub fn page<T>(&self, mut found: Vec<T>, key: impl Fn(&T) -> K) -> (Page<T>, Option<String>) {
        let most = usize::try_from(self.limit).unwrap_or_default();
        let further = found.len() > most;
        found.truncate(most);
        let last = found.last().filter(|_| further);
        let next_cursor = last.map(|item| {
            sealed(&Cursor {
                k: key(item),
                f: filters(&self.path, &self.query),
            })
        });
        let link = next_cursor.as_deref().map(|cursor| self.link(cursor));
        (
            Page {
                items: found,
                next_cursor,
            },
            link,
        )
    }

    fn link(&self, cursor: &str) -> String {
        let mut target = format!("{}?", self.path);
        for (name, value) in self.query.iter().filter(|(name, _)| name != "cursor") {
            target.push_str(&format!("{}={}&", encoded(name), encoded(value)));
        }
        format!("<{target}cursor={cursor}>; rel=\"next\"")
    }
}

fn sealed<K: Serialize>(cursor: &Cursor<K>) -> String {
    URL_SAFE_NO_PAD.encode(serde_json::to_vec(cursor).unwrap_or_default())
}

fn opened<K: DeserializeOwned>(text: &str) -> Option<Cursor<K>> {
    serde_json::from_slice(&URL_SAFE_NO_PAD.decode(text).ok()?).ok()
}

/// A short hash of the list and of everything that narrows it.
fn filters(path: &str, query: &[(String, String)]) -> String {
    let mut narrowing: Vec<_> = query
        .iter()
        .filter(|(name, _)| name != "limit" && name != "cursor")
        .collect();
    narrowing.sort();
    let digest = Sha256::digest(serde_json::to_vec(&(path, narrowing)).unwrap_or_default());
    URL_SAFE_NO_PAD.encode(&digest[..9])
}

/// Percent-encodes all but the unreserved characters of RFC 3986.
pub(super) fn encoded(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}

/// One page of a list.
#[derive(Debug, Clone, Serialize)]
pub struct Page<T> {
    /// The items.
    pub items: Vec<T>,
    /// Where the next page starts; null at the end.
    pub next_cursor: Option<String>,
}

impl<T> Page<T> {
    /// The same page with its items in another form.
    pub fn map<U>(self, form: impl FnMut(T) -> U) -> Page<U> {
        Page {
            items: self.items.into_iter().map(form).collect(),
            next_cursor: self.next_cursor,
        }
    }
}

impl<T: ToSchema> PartialSchema for Page<T> {
    fn schema() -> RefOr<Schema> {
        let cursor = ObjectBuilder::new()
            .schema_type(SchemaType::from_iter([Type::String, Type::Null]))
            .description(Some("Where the next page starts; null at the end."));
        ObjectBuilder::new()
            .schema_type(SchemaType::new(Type::Object))
            .description(Some("One page of a list."))
            .property(
                "items",
                ArrayBuilder::new()
                    .description(Some("The items, in the order of the list."))
                    .max_items(usize::try_from(MOST).ok())
                    .items(Ref::from_schema_name(T::name())),
            )
            .property("next_cursor", cursor)
            .required("items")
            .required("next_cursor")
            .into()
    }
}

impl<T: ToSchema> ToSchema for Page<T> {
    fn name() -> Cow<'static, str> {
        format!("{}Page", T::name()).into()
    }

    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        schemas.push((T::name().into_owned(), T::schema()));
        T::schemas(schemas);
    }
}

/// The query members that every list takes.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
#[expect(dead_code, reason = "describes the query; read by `Paging`")]
pub struct PageQuery {
    /// Items at the most.
    #[param(minimum = 1, maximum = 200, default = 50)]
    limit: Option<i64>,
    /// `next_cursor` of the page before, with the same filters.
    #[param(min_length = 1, pattern = "^[A-Za-z0-9_-]+$")]
    cursor: Option<String>,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(path: &str, query: &str) -> (Paging<i64>, bool) {
        let mut members = Members::of(path, query);
        let paging = Paging::take(&mut members);
        // Filters belong to somebody else here.
        members.all("thread");
        (paging, members.finish().is_ok())
    }

    #[test]
    fn pages_follow_one_another_to_the_end() {
        let mut query = "limit=3&thread=M14x1.25".to_owned();
        let mut seen = Vec::new();
        loop {
            let (paging, fine) = asked("/v1/plugs", &query);
            assert!(fine, "{query}");
            let rows: Vec<i64> = (0..8)
                .filter(|n| paging.after.is_none_or(|after| *n > after))
                .take(4)
                .collect();
            let (page, link) = paging.page(rows, |n| *n);
            assert_eq!(page.next_cursor.is_some(), link.is_some());
            seen.extend(page.items);
            let Some(link) = link else { break };
            let target = link
                .strip_prefix("</v1/plugs?")
                .and_then(|l| l.strip_suffix(">; rel=\"next\""))
                .unwrap();
            assert!(
                target.starts_with("limit=3&thread=M14x1.25&cursor="),
                "{target}"
            );
            query = target.to_owned();
        }
        assert_eq!(seen, (0..8).collect::<Vec<_>>());
    }

    #[test]
    fn a_full_last_page_has_no_next() {
        let (paging, _) = asked("/v1/plugs", "limit=3");
        let (page, link) = paging.page(vec![1, 2, 3], |n| *n);
        assert_eq!((page.items.len(), page.next_cursor, link), (3, None, None));
    }

    #[test]
    fn a_cursor_goes_with_its_list_and_its_filters_only() {
        let (paging, _) = asked("/v1/plugs", "limit=1&thread=M14x1.25");
        let (page, _) = paging.page(vec![1, 2], |n| *n);
        let cursor = page.next_cursor.unwrap();
        let fine = |path: &str, query: &str| asked(path, &format!("{query}cursor={cursor}")).1;
        assert!(fine("/v1/plugs", "thread=M14x1.25&"));
        assert!(
            fine("/v1/plugs", "limit=200&thread=M14x1.25&"),
            "the limit may change"
        );
        assert!(!fine("/v1/plugs", "thread=M10x1&"));
        assert!(!fine("/v1/plugs", ""));
        assert!(!fine("/v1/heads", "thread=M14x1.25&"));
        assert!(!asked("/v1/plugs", "cursor=made-up").1);
        assert!(!asked("/v1/plugs", "limit=201").1);
        assert!(!asked("/v1/plugs", "limit=many").1);
    }

    #[test]
    fn links_are_encoded() {
        assert_eq!(encoded("7/8-18 UNS&é"), "7%2F8-18%20UNS%26%C3%A9");
    }
}
