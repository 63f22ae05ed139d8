//! Runs the blocks of a page one after the other as one program.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use plugwell_tests::{Shop, Who};

use crate::page::{Step, as_said};

/// What parts the outputs of two blocks.
const END: &str = "=== end of a block";

/// A language of the guide.
pub struct Language {
    /// The page.
    pub page: &'static str,
    /// What its blocks are marked with.
    pub mark: &'static str,
    /// A statement that prints [`END`].
    end: String,
    /// The file that the blocks are put into.
    file: &'static str,
    /// What has to be installed, each with an argument that it answers.
    needs: &'static [(&'static str, &'static str)],
}

impl Language {
    pub fn curl() -> Self {
        Self {
            page: "curl.md",
            mark: "bash",
            end: format!("echo '{END}'\n"),
            file: "guide.sh",
            needs: &[
                ("bash", "--version"),
                ("curl", "--version"),
                ("python3", "--version"),
                ("openssl", "version"),
            ],
        }
    }

    pub fn python() -> Self {
        Self {
            page: "python.md",
            mark: "python",
            end: format!("print('{END}', flush=True)\n"),
            file: "guide.py",
            needs: &[("python3", "--version")],
        }
    }

    pub fn typescript() -> Self {
        Self {
            page: "typescript.md",
            mark: "typescript",
            end: format!("console.log('{END}');\n"),
            file: "guide.mts",
            needs: &[("node", "--version")],
        }
    }

    /// The command that runs the file, once everything is there for it.
    fn command(&self, file: &Path) -> Option<Command> {
        if !self.needs.iter().all(|(name, asked)| is_there(name, asked)) {
            return None;
        }
        let mut command = match self.mark {
            "bash" => Command::new("bash"),
            "python" => Command::new("python3"),
            _ => node(file)?,
        };
        if self.mark != "typescript" {
            command.arg(file);
        }
        Some(command)
    }
}

/// Whether a program is installed; said on the terminal where it is not.
///
/// # Panics
/// Where it is missing and `PLUGWELL_REQUIRE=all` is set.
fn is_there(name: &str, asked: &str) -> bool {
    let quiet = |command: &mut Command| {
        let command = command
            .arg(asked)
            .stdin(Stdio::null())
            .stdout(Stdio::null());
        command.stderr(Stdio::null()).status()
    };
    let there = quiet(&mut Command::new(name)).is_ok_and(|status| status.success());
    if !there {
        missing(&format!(
            "{name} is not installed: its part of the guide is not run"
        ));
    }
    there
}

fn missing(what: &str) {
    let required = std::env::var("PLUGWELL_REQUIRE").is_ok_and(|what| what == "all");
    assert!(!required, "PLUGWELL_REQUIRE=all, and {what}");
    // Past the capture of the test harness.
    let _ = writeln!(std::io::stderr(), "{what}");
}

/// Node on what the compiler that `PLUGWELL_TSC` names has made and checked, or on the file itself where
/// Node takes types off by itself.
fn node(file: &Path) -> Option<Command> {
    let mut command = Command::new("node");
    if let Ok(compiler) = std::env::var("PLUGWELL_TSC") {
        let out = file.with_file_name("compiled");
        let made = Command::new("node")
            .arg(compiler)
            .args([
                "--strict",
                "--noUncheckedIndexedAccess",
                "--target",
                "es2022",
            ])
            .args(["--lib", "es2022,dom,dom.iterable", "--module", "nodenext"])
            .arg("--outDir")
            .arg(&out)
            .arg(file)
            .output()
            .expect("the compiler runs");
        let said = String::from_utf8_lossy(&made.stdout).into_owned();
        assert!(
            made.status.success(),
            "the types of the guide are wrong:\n{said}"
        );
        command.arg(out.join("guide.mjs"));
        return Some(command);
    }
    let told = Command::new("node")
        .arg("--version")
        .output()
        .expect("node");
    let version = String::from_utf8_lossy(&told.stdout).into_owned();
    let mut numbers = version.trim().trim_start_matches('v').split('.');
    let mut number = || {
        numbers
            .next()
            .and_then(|n| n.parse::<u32>().ok())
            .unwrap_or(0)
    };
    if (number(), number()) < (22, 6) {
        missing(
            "PLUGWELL_TSC names no tsc, and node is older than 22.6: the guide's TypeScript is not run",
        );
        return None;
    }
    command.arg("--experimental-strip-types").arg(file);
    Some(command)
}

/// Runs all blocks at a shop as a tuner, and holds what each prints against what the page says.
///
/// # Panics
/// Where it fails, or prints something else.
pub fn run(language: &Language, steps: &[Step], shop: &Shop) {
    let folder = tempfile::tempdir().expect("a folder");
    let file: PathBuf = folder.path().join(language.file);
    let parts = steps.iter().map(|step| step.code.clone() + &language.end);
    fs::write(&file, parts.collect::<String>()).expect("written");
    let Some(mut command) = language.command(&file) else {
        return;
    };
    let done = command
        .current_dir(folder.path())
        .env("PLUGWELL_URL", shop.url())
        .env("PLUGWELL_TOKEN", shop.token(Who::Tuner).expect("a token"))
        .stdin(Stdio::null())
        .output()
        .expect("it runs");
    let (printed, said) = (
        String::from_utf8_lossy(&done.stdout).into_owned(),
        String::from_utf8_lossy(&done.stderr).into_owned(),
    );
    assert!(
        done.status.success(),
        "{}: {printed}\n{said}",
        language.page
    );
    let outputs: Vec<&str> = printed.split(&format!("{END}\n")).collect();
    assert_eq!(
        outputs.len(),
        steps.len() + 1,
        "{}: {printed}",
        language.page
    );
    for (step, output) in steps.iter().zip(outputs) {
        assert!(
            as_said(&step.prints, output),
            "{}, {}: says\n{}but prints\n{output}",
            language.page,
            step.under,
            step.prints
        );
    }
}
