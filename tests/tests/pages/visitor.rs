//! Somebody in front of a browser, seen from the outside: requests and the pages they get.

use plugwell_tests::Who;
use plugwell_tests::call::client;
use plugwell_tests::shop::Shop;
use reqwest::blocking::{Client, Response};
use reqwest::header::HeaderMap;

/// What a browser says that it takes.
const HTML: &str = "text/html,application/xhtml+xml,*/*;q=0.8";

/// Somebody in front of a browser, who follows no redirection by themselves.
pub struct Visitor<'a> {
    pub shop: &'a Shop,
    pub client: Client,
    pub cookie: String,
}

pub struct Seen {
    pub status: u16,
    pub headers: HeaderMap,
    pub html: String,
}

impl Seen {
    pub fn of(response: Response) -> Self {
        let (status, headers) = (response.status().as_u16(), response.headers().clone());
        Self {
            status,
            headers,
            html: response.text().expect("a body"),
        }
    }

    pub fn header(&self, name: &str) -> &str {
        self.headers
            .get(name)
            .and_then(|value| value.to_str().ok())
            .unwrap_or_default()
    }

    /// The value of a hidden field.
    #[track_caller]
    pub fn hidden(&self, name: &str) -> String {
        let start = format!("name=\"{name}\" value=\"");
        let (_, rest) = self
            .html
            .split_once(&start)
            .unwrap_or_else(|| panic!("no {name} in {}", self.html));
        rest.split('"').next().expect("a value").to_owned()
    }

    /// What it says, without what marks it up.
    pub fn text(&self) -> String {
        let pieces = self.html.split('<');
        let told = pieces.map(|piece| piece.split_once('>').map_or(piece, |(_, text)| text));
        told.collect()
    }

    #[track_caller]
    pub fn expect(self, status: u16) -> Self {
        assert_eq!(self.status, status, "{}", self.html);
        self
    }
}

impl<'a> Visitor<'a> {
    pub fn nobody(shop: &'a Shop) -> Self {
        Self {
            shop,
            client: client(),
            cookie: String::new(),
        }
    }

    pub fn signed_in(shop: &'a Shop, who: Who) -> Self {
        let mut visitor = Self::nobody(shop);
        let token = shop.token(who).expect("a token");
        let seen = visitor.post("/sign-in", &[("token", token)]).expect(303);
        visitor.cookie = seen
            .header("set-cookie")
            .split(';')
            .next()
            .expect("a cookie")
            .to_owned();
        visitor
    }

    pub fn ask(&self, method: &str, path: &str) -> Seen {
        let request = self.client.request(
            method.parse().expect("a method"),
            format!("{}{path}", self.shop.url()),
        );
        Seen::of(
            request
                .header("accept", HTML)
                .header("cookie", &self.cookie)
                .send()
                .expect("an answer"),
        )
    }

    pub fn get(&self, path: &str) -> Seen {
        self.ask("GET", path)
    }

    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Seen {
        self.post_with(path, fields, &[])
    }

    pub fn post_with(&self, path: &str, fields: &[(&str, &str)], headers: &[(&str, &str)]) -> Seen {
        let body: Vec<_> = fields
            .iter()
            .map(|(name, value)| format!("{name}={}", escaped(value)))
            .collect();
        let mut request = self
            .client
            .post(format!("{}{path}", self.shop.url()))
            .header("accept", HTML);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let form = request
            .header("content-type", "application/x-www-form-urlencoded")
            .body(body.join("&"));
        Seen::of(
            form.header("cookie", &self.cookie)
                .send()
                .expect("an answer"),
        )
    }
}

impl Visitor<'_> {
    /// Sends a form with a file in it, as a browser does; without one, with the empty part of a file
    /// that nobody chose.
    pub fn upload(&self, path: &str, fields: &[(&str, &str)], file: Option<(&str, &str)>) -> Seen {
        const EDGE: &str = "edge-of-a-part";
        let mut body = String::new();
        for (name, value) in fields {
            body.push_str(&format!(
                "--{EDGE}\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n"
            ));
        }
        let (name, table) = file.unwrap_or_default();
        body.push_str(&format!(
            "--{EDGE}\r\ncontent-disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\
             content-type: text/csv\r\n\r\n{table}\r\n--{EDGE}--\r\n"
        ));
        let request = self
            .client
            .post(format!("{}{path}", self.shop.url()))
            .header("accept", HTML)
            .header(
                "content-type",
                format!("multipart/form-data; boundary={EDGE}"),
            )
            .header("cookie", &self.cookie);
        Seen::of(request.body(body).send().expect("an answer"))
    }
}

/// Everything but letters and digits as percent and two digits.
fn escaped(text: &str) -> String {
    let one = |b: u8| {
        if b.is_ascii_alphanumeric() {
            char::from(b).to_string()
        } else {
            format!("%{b:02X}")
        }
    };
    text.bytes().map(one).collect()
}
