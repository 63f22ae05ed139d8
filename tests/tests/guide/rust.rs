//! The guide's Rust is the client's example, piece by piece; the example is built with the tests.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use plugwell_tests::Who;

use crate::page::{as_said, steps};
use crate::shop;

/// The example as it was built.
///
/// # Panics
/// Where it was not.
fn example() -> PathBuf {
    let here = std::env::current_exe().expect("this test's own program");
    let mut beside = here.ancestors().skip(1).take(2);
    beside
        .find_map(|folder| {
            let path = folder.join("examples/main_job");
            path.exists().then_some(path)
        })
        .expect("the example, which `cargo test --workspace` builds, or `--examples` beside `--test guide`")
}

#[test]
fn every_block_stands_in_the_example() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../api/client/examples/main_job.rs");
    let text = fs::read_to_string(path).expect("the example");
    // A block in the page begins at the margin, one within a function does not.
    let flat = |text: &str| {
        text.lines()
            .map(str::trim_start)
            .collect::<Vec<_>>()
            .join("\n")
    };
    let (text, mut from) = (flat(&text), 0);
    for step in steps("rust.md", "rust") {
        let block = flat(&step.code);
        let Some(at) = text[from..].find(&block) else {
            panic!(
                "{}: not in the example, or not in this order:\n{}",
                step.under, step.code
            );
        };
        from += at + block.len();
    }
}

#[test]
fn the_example_does_the_main_job_and_prints_what_the_page_says() {
    let shop = shop();
    let done = Command::new(example())
        .env("PLUGWELL_URL", shop.url())
        .env("PLUGWELL_TOKEN", shop.token(Who::Tuner).expect("a token"))
        .stdin(Stdio::null())
        .output()
        .expect("it runs");
    let printed = String::from_utf8_lossy(&done.stdout).into_owned();
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(done.status.success(), "{printed}\n{said}");
    let says: String = steps("rust.md", "rust")
        .iter()
        .map(|step| step.prints.as_str())
        .collect();
    assert!(
        as_said(&says, &printed),
        "says\n{says}but prints\n{printed}"
    );
}
