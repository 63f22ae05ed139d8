//! A receiver of webhooks in this process, which answers as it is told.

use std::collections::{HashMap, VecDeque};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::patience::until;

/// One answer.
#[derive(Debug, Clone)]
pub enum Reply {
    /// A status, and a header with its value.
    Status(u16, Option<(&'static str, &'static str)>),
    /// 200 after a while.
    After(Duration),
    /// 200, and then more than anybody wants to read.
    Huge,
}

/// What came in.
#[derive(Debug, Clone)]
pub struct Delivered {
    /// When.
    pub at: Instant,
    /// To which path.
    pub path: String,
    /// Its headers, by their names in small letters.
    pub headers: HashMap<String, String>,
    /// Its body.
    pub body: Vec<u8>,
}

impl Delivered {
    /// The event in it.
    ///
    /// # Panics
    /// Where the body is no envelope.
    pub fn event(&self) -> Value {
        serde_json::from_slice(&self.body).expect("an envelope")
    }

    /// What it happened to.
    ///
    /// # Panics
    /// As [`Delivered::event`].
    pub fn subject(&self) -> String {
        self.event()["subject"]
            .as_str()
            .unwrap_or_default()
            .to_owned()
    }
}

#[derive(Debug, Default)]
struct Kept {
    seen: Vec<Delivered>,
    replies: VecDeque<Reply>,
    written: usize,
}

/// The receiver.
#[derive(Debug)]
pub struct Receiver {
    /// Where it listens, on this machine.
    pub port: u16,
    kept: Arc<Mutex<Kept>>,
}

impl Receiver {
    /// Answers the first requests like this, all others with 204.
    ///
    /// # Panics
    /// Where nothing can be listened on.
    pub fn answering(replies: impl IntoIterator<Item = Reply>) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let kept = Arc::new(Mutex::new(Kept {
            replies: replies.into_iter().collect(),
            ..Kept::default()
        }));
        let shared = Arc::clone(&kept);
        std::thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                let kept = Arc::clone(&shared);
                std::thread::spawn(move || serve(stream, &kept));
            }
        });
        Self { port, kept }
    }

    /// Where deliveries to it go.
    pub fn url(&self) -> String {
        format!("http://127.0.0.1:{}/hook", self.port)
    }

    /// What has come.
    ///
    /// # Panics
    /// Where a request made it panic.
    pub fn seen(&self) -> Vec<Delivered> {
        self.kept.lock().expect("no panic").seen.clone()
    }

    /// Bytes of huge answers that were taken from it.
    ///
    /// # Panics
    /// As [`Receiver::seen`].
    pub fn written(&self) -> usize {
        self.kept.lock().expect("no panic").written
    }

    /// What came for a subject, once there are so many.
    ///
    /// # Panics
    /// Where they do not come.
    #[track_caller]
    pub fn of(&self, subject: &str, count: usize) -> Vec<Delivered> {
        until(&format!("delivery {count} of {subject}"), || {
            let seen = self.seen();
            let own: Vec<_> = seen
                .into_iter()
                .filter(|d| d.subject() == subject)
                .collect();
            (own.len() >= count).then_some(own)
        })
    }
}

/// One request to a connection.
fn serve(mut stream: TcpStream, kept: &Mutex<Kept>) -> Option<()> {
    let mut reader = BufReader::new(stream.try_clone().ok()?);
    let mut line = String::new();
    reader.read_line(&mut line).ok()?;
    let path = line.split(' ').nth(1)?.to_owned();
    let mut headers = HashMap::new();
    loop {
        line.clear();
        reader.read_line(&mut line).ok()?;
        let Some((name, value)) = line.trim_end().split_once(':') else {
            break;
        };
        headers.insert(name.to_ascii_lowercase(), value.trim().to_owned());
    }
    let length: usize = headers.get("content-length")?.parse().ok()?;
    let mut body = vec![0; length];
    reader.read_exact(&mut body).ok()?;
    let reply = {
        let mut kept = kept.lock().expect("no panic");
        kept.seen.push(Delivered {
            at: Instant::now(),
            path,
            headers,
            body,
        });
        kept.replies.pop_front()
    };
    match reply.unwrap_or(Reply::Status(204, None)) {
        Reply::Status(status, header) => {
            let header = header.map_or(String::new(), |(name, value)| {
                format!("{name}: {value}\r\n")
            });
            let head = format!(
                "HTTP/1.1 {status} So\r\n{header}content-length: 0\r\nconnection: close\r\n\r\n"
            );
            stream.write_all(head.as_bytes()).ok()
        }
        Reply::After(wait) => {
            std::thread::sleep(wait);
            stream
                .write_all(b"HTTP/1.1 200 OK\r\ncontent-length: 0\r\nconnection: close\r\n\r\n")
                .ok()
        }
        Reply::Huge => {
            stream
                .write_all(b"HTTP/1.1 200 OK\r\nconnection: close\r\n\r\n")
                .ok()?;
            let block = [b'x'; 1 << 16];
            // Until the other side has had enough; 256 MiB would be told by the test.
            for _ in 0..4096 {
                stream.write_all(&block).ok()?;
                kept.lock().expect("no panic").written += block.len();
            }
            Some(())
        }
    }
}
