//! Ties a child process and its folder to this process: whatever way this one ends, the child is
//! killed and the folder removed. A shop kept in a `static` is never dropped, and a test process
//! can be killed.

use std::io::Write;
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// Reads until somebody writes a line (let go) or nobody can any more (this process has ended).
const SCRIPT: &str = r#"trap '' INT TERM HUP; read -r _ || { kill -9 "$1"; rm -rf "$2"; }"#;

/// A child that ends with this process.
#[derive(Debug)]
pub struct Leash(Child);

impl Leash {
    /// Ties a child and its folder.
    ///
    /// # Panics
    /// Where there is no `sh`.
    pub fn on(child: &Child, folder: &Path) -> Self {
        let watcher = Command::new("sh")
            .args(["-c", SCRIPT, "leash", &child.id().to_string()])
            .arg(folder)
            .current_dir("/")
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn();
        Self(watcher.expect("sh keeps watch"))
    }

    /// Lets go of a child that has ended.
    pub fn let_go(mut self) {
        if let Some(mut line) = self.0.stdin.take() {
            let _ = line.write_all(b"ended\n");
        }
        let _ = self.0.wait();
    }
}
