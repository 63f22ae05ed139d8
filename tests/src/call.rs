//! A caller over raw HTTP: it shows status, headers and bytes as they came, repeats nothing,
//! follows nothing.

use std::fmt;
use std::time::Duration;

use reqwest::Method;
use reqwest::blocking::{Client, Response};
use reqwest::header::HeaderMap;
use serde_json::Value;
use uuid::Uuid;

use crate::described;
use crate::shop::Shop;

/// Who asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Who {
    /// Nobody: without a token.
    Nobody,
    /// Looks, matches, asks.
    Reader,
    /// Also builds, heads, reservations, issues to jobs.
    Tuner,
    /// Also the rest of the stock, and the catalogue.
    Clerk,
    /// Everything.
    Manager,
}

impl Who {
    /// Everybody with a token, the smallest role first.
    pub const ROLES: [Self; 4] = [Self::Reader, Self::Tuner, Self::Clerk, Self::Manager];

    /// The word of the role.
    pub fn word(self) -> &'static str {
        match self {
            Self::Nobody => "nobody",
            Self::Reader => "reader",
            Self::Tuner => "tuner",
            Self::Clerk => "clerk",
            Self::Manager => "manager",
        }
    }
}

/// An answer as it came.
#[derive(Clone)]
pub struct Answer {
    /// What was asked, for messages.
    pub asked: String,
    /// The status.
    pub status: u16,
    /// The headers.
    pub headers: HeaderMap,
    /// The body's bytes.
    pub body: Vec<u8>,
    /// The body read as JSON; `null` where it is none.
    pub json: Value,
}

impl fmt::Debug for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let body = String::from_utf8_lossy(&self.body);
        write!(
            f,
            "{} → {}\n{:#?}\n{body}",
            self.asked, self.status, self.headers
        )
    }
}

impl Answer {
    fn read(asked: String, response: Response) -> Result<Self, reqwest::Error> {
        let (status, headers) = (response.status().as_u16(), response.headers().clone());
        let body = response.bytes()?.to_vec();
        let json = serde_json::from_slice(&body).unwrap_or_default();
        Ok(Self {
            asked,
            status,
            headers,
            body,
            json,
        })
    }

    /// One header, where it is there and readable.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.get(name)?.to_str().ok()
    }

    /// The same answer, its status checked.
    ///
    /// # Panics
    /// Where it is another status.
    #[track_caller]
    pub fn expect(self, status: u16) -> Self {
        assert_eq!(self.status, status, "{self:?}");
        self
    }

    /// The same answer, checked to be a problem of this kind and to stick to RFC 9457: the media
    /// type, the members that it names, the status twice the same.
    ///
    /// # Panics
    /// Where it is none, or another.
    #[track_caller]
    pub fn problem(self, status: u16, code: &str) -> Self {
        assert_eq!(self.status, status, "{self:?}");
        assert_eq!(
            self.header("content-type"),
            Some("application/problem+json"),
            "{self:?}"
        );
        assert_eq!(
            self.json["type"],
            format!("urn:plugwell:problem:{code}"),
            "{self:?}"
        );
        assert_eq!(self.json["status"], status, "{self:?}");
        for member in ["title", "detail", "instance"] {
            assert!(
                self.json[member]
                    .as_str()
                    .is_some_and(|text| !text.is_empty()),
                "{member}: {self:?}"
            );
        }
        self
    }

    /// The faults of a problem as `pointer code`, sorted.
    pub fn faults(&self) -> Vec<String> {
        let text = |fault: &Value, member: &str| fault[member].as_str().unwrap_or("-").to_owned();
        let errors = self.json["errors"].as_array().into_iter().flatten();
        let mut faults: Vec<String> = errors
            .map(|fault| format!("{} {}", text(fault, "pointer"), text(fault, "code")))
            .collect();
        faults.sort();
        faults
    }

    /// The same answer, checked to be 400 `invalid` with exactly these faults (`pointer code`), in
    /// any order.
    ///
    /// # Panics
    /// Where it is another answer or has other faults.
    #[track_caller]
    pub fn refused_for(self, faults: &[&str]) -> Self {
        let answer = self.problem(400, "invalid");
        let mut wanted: Vec<&str> = faults.to_vec();
        wanted.sort_unstable();
        assert_eq!(answer.faults(), wanted, "{answer:?}");
        answer
    }

    /// A member of the body that is text, such as `id`.
    ///
    /// # Panics
    /// Where there is none.
    #[track_caller]
    pub fn text(&self, member: &str) -> String {
        self.json[member]
            .as_str()
            .unwrap_or_else(|| panic!("no {member} in {self:?}"))
            .to_owned()
    }

    /// The items of a list.
    ///
    /// # Panics
    /// Where it is none.
    #[track_caller]
    pub fn items(&self) -> &[Value] {
        self.json["items"]
            .as_array()
            .unwrap_or_else(|| panic!("no list: {self:?}"))
    }

    /// One member of every item of a list.
    #[track_caller]
    pub fn column(&self, member: &str) -> Vec<Value> {
        self.items()
            .iter()
            .map(|item| item[member].clone())
            .collect()
    }

    /// The version tag.
    ///
    /// # Panics
    /// Where there is none.
    #[track_caller]
    pub fn etag(&self) -> String {
        self.header("etag")
            .unwrap_or_else(|| panic!("no ETag in {self:?}"))
            .to_owned()
    }

    /// The version that the answer's tag is of.
    ///
    /// # Panics
    /// Where it has no tag, or one of no version.
    #[track_caller]
    pub fn tagged_version(&self) -> i64 {
        let tag = self.etag();
        let version = tag.trim_matches('"').split('-').next();
        version
            .and_then(|version| version.parse().ok())
            .unwrap_or_else(|| panic!("{tag} is of no version: {self:?}"))
    }
}

/// A client that follows no redirect and unpacks nothing.
///
/// # Panics
/// Where none can be set up on this machine.
pub fn client() -> Client {
    // Without encryption, but the client wants to know who would do it.
    let _ = rustls::crypto::ring::default_provider().install_default();
    let builder = Client::builder()
        .redirect(reqwest::redirect::Policy::none())
        .no_gzip()
        .no_proxy();
    builder
        .timeout(Duration::from_secs(60))
        .pool_max_idle_per_host(128)
        .build()
        .expect("a client")
}

/// A new once-only key.
pub fn key() -> String {
    Uuid::now_v7().to_string()
}

impl Shop {
    /// Sends a request with exactly these headers besides the token.
    ///
    /// # Panics
    /// Where no answer comes, or one that the API's description does not announce.
    #[track_caller]
    pub fn send(
        &self,
        method: &str,
        path: &str,
        who: Who,
        headers: &[(&str, &str)],
        body: impl Into<Vec<u8>>,
    ) -> Answer {
        self.try_send(method, path, who, headers, body)
            .unwrap_or_else(|e| panic!("{method} {path}: no answer: {e:?}"))
    }

    /// Sends a request to a shop that may be gone.
    ///
    /// # Errors
    /// Where no answer comes, or none that is whole.
    ///
    /// # Panics
    /// Where the answer is not what the API's description announces.
    #[track_caller]
    pub fn try_send(
        &self,
        method: &str,
        path: &str,
        who: Who,
        headers: &[(&str, &str)],
        body: impl Into<Vec<u8>>,
    ) -> Result<Answer, reqwest::Error> {
        let verb: Method = method.parse().expect("a method");
        let mut request = self.client().request(verb, format!("{}{path}", self.url()));
        if let Some(token) = self.token(who) {
            request = request.bearer_auth(token);
        }
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let body = body.into();
        if !body.is_empty() {
            request = request.body(body);
        }
        let asked = format!("{method} {path} by {}", who.word());
        let answer = Answer::read(asked, request.send()?)?;
        described::hold(method, path, &answer);
        Ok(answer)
    }

    /// Sends JSON, with these headers besides token and content type.
    #[track_caller]
    pub fn send_json(
        &self,
        method: &str,
        path: &str,
        who: Who,
        headers: &[(&str, &str)],
        body: &Value,
    ) -> Answer {
        let headers: Vec<_> = headers
            .iter()
            .copied()
            .chain([("content-type", "application/json")])
            .collect();
        self.send(method, path, who, &headers, body.to_string())
    }

    /// GET.
    #[track_caller]
    pub fn get(&self, who: Who, path: &str) -> Answer {
        self.send("GET", path, who, &[], "")
    }

    /// Every item of a list, page by page, as the `Link` headers lead.
    ///
    /// # Panics
    /// Where a page is refused, or says otherwise in its body than in its header.
    #[track_caller]
    pub fn all(&self, who: Who, path: &str) -> Vec<Value> {
        let (mut items, mut next) = (Vec::new(), path.to_owned());
        loop {
            let page = self.get(who, &next).expect(200);
            items.extend(page.items().iter().cloned());
            let link = page
                .header("link")
                .and_then(|link| link.strip_prefix('<')?.strip_suffix(">; rel=\"next\""));
            assert_eq!(
                link.is_some(),
                page.json["next_cursor"].is_string(),
                "{page:?}"
            );
            let Some(link) = link else { return items };
            next = link.to_owned();
        }
    }

    /// POST of a record or a question.
    #[track_caller]
    pub fn post(&self, who: Who, path: &str, body: &Value) -> Answer {
        self.send_json("POST", path, who, &[], body)
    }

    /// POST of a command, with a new once-only key; without a body where it is `null`.
    #[track_caller]
    pub fn once(&self, who: Who, path: &str, body: &Value) -> Answer {
        self.once_with(who, path, &key(), body)
    }

    /// POST of a command with this once-only key; without a body where it is `null`.
    #[track_caller]
    pub fn once_with(&self, who: Who, path: &str, key: &str, body: &Value) -> Answer {
        match body {
            Value::Null => self.send("POST", path, who, &[("idempotency-key", key)], ""),
            body => self.send_json("POST", path, who, &[("idempotency-key", key)], body),
        }
    }

    /// PATCH of the present version, which is looked up first.
    #[track_caller]
    pub fn patch(&self, who: Who, path: &str, patch: &Value) -> Answer {
        self.change("PATCH", who, path, patch)
    }

    /// PUT over the present version, which is looked up first.
    #[track_caller]
    pub fn put(&self, who: Who, path: &str, body: &Value) -> Answer {
        self.change("PUT", who, path, body)
    }

    #[track_caller]
    fn change(&self, method: &str, who: Who, path: &str, body: &Value) -> Answer {
        let etag = self.get(who, path).expect(200).etag();
        let media = if method == "PATCH" {
            "application/merge-patch+json"
        } else {
            "application/json"
        };
        self.send(
            method,
            path,
            who,
            &[("if-match", &etag), ("content-type", media)],
            body.to_string(),
        )
    }

    /// DELETE of the present version, which is looked up first.
    #[track_caller]
    pub fn delete(&self, who: Who, path: &str) -> Answer {
        let etag = self.get(who, path).expect(200).etag();
        self.send("DELETE", path, who, &[("if-match", &etag)], "")
    }
}
