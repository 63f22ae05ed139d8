//! A terminal: commands run to their end, or started and stopped.

use std::fs;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use plugwell_tests::leash::Leash;
use plugwell_tests::shop::command;
use serde_json::Value;

/// What a command said, and whether it was content.
#[derive(Debug)]
pub struct Said {
    pub success: bool,
    pub out: String,
    pub err: String,
}

impl Said {
    pub fn of(output: Output) -> Self {
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
        Self {
            success: output.status.success(),
            out: text(output.stdout),
            err: text(output.stderr),
        }
    }

    /// What it printed, checked to have gone well.
    #[track_caller]
    pub fn went_well(self) -> String {
        assert!(self.success, "{self:?}");
        self.out
    }

    /// What it complained of, checked to have failed with a sentence and not a panic.
    #[track_caller]
    pub fn complained(self) -> String {
        assert!(!self.success, "{self:?}");
        assert!(!self.err.trim().is_empty(), "it says why: {self:?}");
        assert!(!self.err.contains("panicked"), "{self:?}");
        self.err
    }
}

/// Runs a command in a folder.
pub fn run(folder: &Path, arguments: &[&str]) -> Said {
    Said::of(
        command(arguments)
            .current_dir(folder)
            .output()
            .expect("the program runs"),
    )
}

/// A command that runs until it is stopped; killed with this process.
pub struct Started {
    child: Option<(Child, Leash)>,
    /// What it announced.
    pub ready: Value,
}

impl Started {
    /// Starts a command that announces itself in a ready file, and waits for that.
    #[track_caller]
    pub fn new(mut command: Command, folder: &Path, patience: Duration) -> Self {
        let ready = folder.join("announced.json");
        let _ = fs::remove_file(&ready);
        let out = fs::File::create(folder.join("out")).expect("a file for what it prints");
        let err = fs::File::create(folder.join("err")).expect("a file for its log");
        command
            .arg("--ready-file")
            .arg(&ready)
            .stdout(out)
            .stderr(err)
            .stdin(Stdio::null());
        let mut child = command
            .current_dir(folder)
            .spawn()
            .expect("the program starts");
        let leash = Leash::on(&child, folder);
        let deadline = Instant::now() + patience;
        while !ready.exists() {
            let ended = child.try_wait().expect("its state");
            if ended.is_some() || Instant::now() > deadline {
                let _ = child.kill();
                let said = |name: &str| fs::read_to_string(folder.join(name)).unwrap_or_default();
                panic!(
                    "not ready within {patience:?} ({ended:?}):\n{}\n{}",
                    said("out"),
                    said("err")
                );
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        let ready = serde_json::from_slice(&fs::read(&ready).expect("the ready file"))
            .expect("JSON, whole");
        Self {
            child: Some((child, leash)),
            ready,
        }
    }

    pub fn url(&self) -> &str {
        self.ready["url"].as_str().expect("an address")
    }

    /// Stops it as a supervisor would; it has to end well.
    pub fn stop(mut self) {
        let (mut child, leash) = self.child.take().expect("it runs");
        let pid = child.id().to_string();
        assert!(
            Command::new("kill")
                .args(["-s", "TERM", &pid])
                .status()
                .expect("kill")
                .success()
        );
        let ended = child.wait().expect("its end");
        leash.let_go();
        assert!(ended.success(), "{ended}");
    }
}

impl Drop for Started {
    fn drop(&mut self) {
        if let Some((mut child, leash)) = self.child.take() {
            let _ = child.kill();
            let _ = child.wait();
            leash.let_go();
        }
    }
}

/// GET with a token; status and body.
pub fn get(url: &str, token: &str) -> (u16, Value) {
    let client = plugwell_tests::call::client();
    let answer = client
        .get(url)
        .bearer_auth(token)
        .send()
        .expect("an answer");
    (answer.status().as_u16(), answer.json().unwrap_or_default())
}

/// The files of a folder and its folders, by their names.
pub fn files(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.push(
                path.file_name()
                    .unwrap_or_default()
                    .to_string_lossy()
                    .into_owned(),
            );
        }
    }
    found.sort();
    found
}
