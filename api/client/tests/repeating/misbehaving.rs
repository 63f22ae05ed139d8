//! A server that answers by a script, one request to a connection, and remembers what it was sent.

use std::sync::{Arc, Mutex};
use std::time::Duration;

use plugwell_client::Client;
use serde_json::{Value, json};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};

/// What the server does with a request.
pub enum Does {
    /// Closes the connection without a word.
    Drops,
    /// Says nothing for as long as anybody listens.
    IsSilent,
    /// Promises more than it sends, then closes.
    BreaksOff(&'static str),
    /// Answers with a status, more headers, a media type and a body.
    Answers(u16, Vec<(&'static str, String)>, &'static str, String),
}

/// 200 with JSON.
pub fn ok(body: Value) -> Does {
    Does::Answers(200, Vec::new(), "application/json", body.to_string())
}

/// A problem of a kind, with more headers.
pub fn problem(status: u16, word: &str, headers: Vec<(&'static str, String)>) -> Does {
    let body = json!({
        "type": format!("urn:plugwell:problem:{word}"), "title": word, "status": status,
        "detail": "by the script", "instance": "urn:uuid:0", "available": 3, "on_hand": 5
    });
    Does::Answers(
        status,
        headers,
        "application/problem+json",
        body.to_string(),
    )
}

/// A request as it came.
#[derive(Debug, Clone)]
pub struct Sent {
    /// Method and path.
    pub line: String,
    headers: Vec<(String, String)>,
    /// The body, put together where it came in parts.
    pub body: String,
}

impl Sent {
    /// A header, where it was sent.
    pub fn header(&self, name: &str) -> Option<&str> {
        let found = self.headers.iter().find(|(own, _)| own == name);
        found.map(|(_, value)| value.as_str())
    }

    /// The once-only key.
    pub fn key(&self) -> &str {
        self.header("idempotency-key").expect("a once-only key")
    }
}

/// A server with a script.
pub struct Server {
    url: String,
    sent: Arc<Mutex<Vec<Sent>>>,
}

impl Server {
    /// Starts one that does these things in turn, and drops what comes after.
    pub async fn that(does: impl IntoIterator<Item = Does>) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let url = format!("http://{}", listener.local_addr().expect("an address"));
        let sent = Arc::new(Mutex::new(Vec::new()));
        let (kept, script) = (Arc::clone(&sent), does.into_iter().collect::<Vec<_>>());
        tokio::spawn(async move {
            let mut script = script.into_iter();
            while let Ok((mut stream, _)) = listener.accept().await {
                let Some(request) = read(&mut stream).await else {
                    continue;
                };
                kept.lock().expect("the list").push(request);
                match script.next() {
                    None | Some(Does::Drops) => {}
                    Some(does) => {
                        tokio::spawn(answer(stream, does));
                    }
                }
            }
        });
        Self { url, sent }
    }

    /// A client of it that does not wait long.
    pub fn client(&self) -> Client {
        Client::builder(&self.url, "a-token")
            .timeout(Duration::from_secs(10))
            .pause(Duration::from_millis(1))
            .longest_pause(Duration::from_secs(2))
            .build()
            .expect("a client")
    }

    /// Where it is.
    pub fn url(&self) -> &str {
        &self.url
    }

    /// What it was sent so far.
    pub fn sent(&self) -> Vec<Sent> {
        self.sent.lock().expect("the list").clone()
    }
}

async fn answer(mut stream: TcpStream, does: Does) {
    let text = match does {
        Does::Drops => return,
        Does::IsSilent => {
            tokio::time::sleep(Duration::from_secs(60)).await;
            return;
        }
        Does::BreaksOff(part) => {
            format!(
                "HTTP/1.1 200 OK\r\ncontent-type: text/csv\r\ncontent-length: 1000\r\n\r\n{part}"
            )
        }
        Does::Answers(status, headers, kind, body) => {
            let more: String = headers
                .iter()
                .map(|(name, value)| format!("{name}: {value}\r\n"))
                .collect();
            let length = body.len();
            format!(
                "HTTP/1.1 {status} Scripted\r\ncontent-type: {kind}\r\ncontent-length: {length}\r\n\
                 connection: close\r\n{more}\r\n{body}"
            )
        }
    };
    // The client may have left.
    let _ = stream.write_all(text.as_bytes()).await;
    let _ = stream.shutdown().await;
}

async fn read(stream: &mut TcpStream) -> Option<Sent> {
    let mut bytes = Vec::new();
    let head = loop {
        if let Some(end) = bytes.windows(4).position(|four| four == b"\r\n\r\n") {
            break end;
        }
        more(stream, &mut bytes).await?;
    };
    let text = String::from_utf8(bytes[..head].to_vec()).ok()?;
    let mut lines = text.lines();
    let line = lines.next()?.trim_end_matches(" HTTP/1.1").to_owned();
    let headers: Vec<(String, String)> = lines
        .filter_map(|line| line.split_once(": "))
        .map(|(name, value)| (name.to_ascii_lowercase(), value.to_owned()))
        .collect();
    let mut sent = Sent {
        line,
        headers,
        body: String::new(),
    };
    let start = head + 4;
    if sent.header("transfer-encoding") == Some("chunked") {
        while !bytes.ends_with(b"0\r\n\r\n") {
            more(stream, &mut bytes).await?;
        }
        sent.body = unchunked(&String::from_utf8(bytes[start..].to_vec()).ok()?)?;
    } else {
        let length: usize = sent
            .header("content-length")
            .map_or(Some(0), |length| length.parse().ok())?;
        while bytes.len() < start + length {
            more(stream, &mut bytes).await?;
        }
        sent.body = String::from_utf8(bytes[start..].to_vec()).ok()?;
    }
    Some(sent)
}

async fn more(stream: &mut TcpStream, bytes: &mut Vec<u8>) -> Option<()> {
    let mut part = [0; 4096];
    match stream.read(&mut part).await {
        Ok(0) | Err(_) => None,
        Ok(read) => {
            bytes.extend_from_slice(&part[..read]);
            Some(())
        }
    }
}

fn unchunked(mut text: &str) -> Option<String> {
    let mut body = String::new();
    loop {
        let (size, rest) = text.split_once("\r\n")?;
        let size = usize::from_str_radix(size, 16).ok()?;
        if size == 0 {
            return Some(body);
        }
        body.push_str(&rest[..size]);
        text = &rest[size + 2..];
    }
}
