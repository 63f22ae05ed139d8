//! The demo shop as a process of its own, gone with the test.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::sync::LazyLock;
use std::time::{Duration, Instant};

use plugwell_tests::Who;
use plugwell_tests::call::client;
use plugwell_tests::leash::Leash;
use plugwell_tests::shop::command;
use serde_json::Value;
use tempfile::TempDir;

/// For scripts it is ready within 30 s.
const PATIENCE: Duration = Duration::from_secs(30);

/// A demo's folder, filled once for all tests: filling takes longer than most of them.
static FILLED: LazyLock<PathBuf> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("filled-demo");
    if folder.exists() {
        fs::remove_dir_all(&folder).expect("that of an earlier run goes");
    }
    let mut demo = command(&["demo", "--fresh", "--exit-after-example", "--data"]);
    let filled = demo
        .arg(&folder)
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    let ended = filled.status().expect("the demo starts");
    assert!(ended.success(), "{ended}");
    folder
});

/// Copies a folder with all that is in it.
fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("its entries") {
        let entry = entry.expect("an entry");
        let there = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &there);
        } else {
            fs::copy(entry.path(), there).expect("copied");
        }
    }
}

pub struct Demo {
    running: Option<(Child, Leash)>,
    ready: Value,
    _folder: TempDir,
}

impl Demo {
    pub fn start() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let announced = folder.path().join("ready.json");
        copy(&FILLED, &folder.path().join("data"));
        let mut demo = command(&["demo", "--port", "0", "--data"]);
        demo.arg(folder.path().join("data"))
            .arg("--ready-file")
            .arg(&announced);
        let mut child = demo
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the demo starts");
        let leash = Leash::on(&child, folder.path());
        let deadline = Instant::now() + PATIENCE;
        while !announced.exists() {
            let ended = child.try_wait().expect("its state");
            assert!(
                ended.is_none() && Instant::now() < deadline,
                "not ready within {PATIENCE:?}: {ended:?}"
            );
            std::thread::sleep(Duration::from_millis(20));
        }
        let ready =
            serde_json::from_slice(&fs::read(&announced).expect("the ready file")).expect("JSON");
        Self {
            running: Some((child, leash)),
            ready,
            _folder: folder,
        }
    }

    fn text(&self, path: &str) -> &str {
        self.ready
            .pointer(path)
            .and_then(Value::as_str)
            .unwrap_or_else(|| panic!("{path} in {}", self.ready))
    }

    pub fn url(&self) -> &str {
        self.text("/url")
    }

    pub fn token(&self, who: Who) -> &str {
        self.text(&format!("/tokens/{}", who.word()))
    }

    /// The link that signs a role in once.
    pub fn link(&self, who: Who) -> &str {
        self.text(&format!("/sign_in/{}", who.word()))
    }

    /// A record of the API.
    pub fn one(&self, path: &str) -> Value {
        let request = client()
            .get(format!("{}{path}", self.url()))
            .bearer_auth(self.token(Who::Reader));
        request.send().expect("an answer").json().expect("JSON")
    }

    /// What a list of the API holds.
    pub fn items(&self, path: &str) -> Vec<Value> {
        let body = self.one(path);
        body["items"]
            .as_array()
            .unwrap_or_else(|| panic!("{path}: {body}"))
            .clone()
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
