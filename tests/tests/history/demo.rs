//! The demo shop on either engine, as a process of its own that is gone with the test.

use std::fs;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use plugwell_tests::call::client;
use plugwell_tests::leash::Leash;
use plugwell_tests::{Engine, Shop};
use serde_json::Value;

/// How long it may take to be filled where much else runs; how fast it is ready is tested elsewhere.
const PATIENCE: Duration = Duration::from_secs(300);

pub struct Demo {
    running: Option<(Child, Leash)>,
    url: String,
    token: String,
    /// Its folder and database: gone last.
    _place: Shop,
}

impl Demo {
    pub fn on(engine: Engine) -> Self {
        let place = Shop::closed(engine, &[]);
        let announced = place.folder().join("ready.json");
        let mut demo = place.command("demo");
        demo.args(["--fresh", "--port", "0", "--ready-file"])
            .arg(&announced);
        let mut child = demo
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the demo starts");
        let leash = Leash::on(&child, place.folder());
        let deadline = Instant::now() + PATIENCE;
        while !announced.exists() {
            let ended = child.try_wait().expect("its state");
            assert!(
                ended.is_none() && Instant::now() < deadline,
                "not ready within {PATIENCE:?}: {ended:?}"
            );
            std::thread::sleep(Duration::from_millis(20));
        }
        let read = fs::read(&announced).expect("the ready file");
        let ready: Value = serde_json::from_slice(&read).expect("JSON");
        let text = |value: &Value| value.as_str().expect("a text").to_owned();
        Self {
            running: Some((child, leash)),
            url: text(&ready["url"]),
            token: text(&ready["tokens"]["reader"]),
            _place: place,
        }
    }

    pub fn get(&self, path: &str) -> Value {
        let asked = client().get(format!("{}{path}", self.url));
        let answer = asked.bearer_auth(&self.token).send().expect("an answer");
        let status = answer.status();
        let body: Value = answer.json().expect("JSON");
        assert!(status.is_success(), "{path}: {body}");
        body
    }

    /// Every item of a list.
    pub fn all(&self, path: &str) -> Vec<Value> {
        let (mut items, mut cursor) = (Vec::new(), String::new());
        let sign = if path.contains('?') { '&' } else { '?' };
        loop {
            let page = self.get(&format!("{path}{sign}limit=200{cursor}"));
            items.extend(page["items"].as_array().expect("a list").iter().cloned());
            match page["next_cursor"].as_str() {
                Some(next) => cursor = format!("&cursor={next}"),
                None => return items,
            }
        }
    }
}

impl Drop for Demo {
    fn drop(&mut self) {
        if let Some((mut child, leash)) = self.running.take() {
            let _ = child.kill();
            let _ = child.wait();
            leash.let_go();
        }
    }
}
