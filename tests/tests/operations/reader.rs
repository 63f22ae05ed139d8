//! An independent reader of the exposition: the parser of prometheus_client for Python, which is strict
//! about OpenMetrics.

use std::collections::BTreeMap;
use std::io::Write;
use std::process::{Command, Stdio};

use serde_json::Value;

const SCRIPT: &str = r#"
import json, sys
from prometheus_client.openmetrics.parser import text_string_to_metric_families
families = {}
for family in text_string_to_metric_families(sys.stdin.read()):
    families[family.name] = {
        "type": family.type, "unit": family.unit, "help": family.documentation,
        "samples": {s.name + json.dumps(s.labels, sort_keys=True): s.value for s in family.samples}}
json.dump(families, sys.stdout)
"#;

fn python() -> Command {
    Command::new(std::env::var("PLUGWELL_PYTHON").unwrap_or_else(|_| "python3".into()))
}

/// The families of an exposition by their names; `None` where the reader is not installed, which is said
/// on the terminal.
///
/// # Panics
/// Where it is missing and `PLUGWELL_REQUIRE=all` is set, and where it finds fault.
pub fn families(exposition: &str) -> Option<BTreeMap<String, Value>> {
    let mut look = python();
    look.args(["-c", "import prometheus_client.openmetrics.parser"]);
    let look = look.stdout(Stdio::null()).stderr(Stdio::null()).status();
    if !look.is_ok_and(|status| status.success()) {
        let required = std::env::var("PLUGWELL_REQUIRE").is_ok_and(|what| what == "all");
        assert!(
            !required,
            "PLUGWELL_REQUIRE=all, and prometheus_client for Python is not installed"
        );
        eprintln!(
            "prometheus_client for Python is not installed: metrics are read by our own eyes only"
        );
        return None;
    }
    let mut reader = python()
        .args(["-c", SCRIPT])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the reader");
    let mut into = reader.stdin.take().expect("its input");
    into.write_all(exposition.as_bytes()).expect("the text");
    drop(into);
    let read = reader.wait_with_output().expect("its answer");
    assert!(
        read.status.success(),
        "refused by the reader:\n{exposition}"
    );
    Some(serde_json::from_slice(&read.stdout).expect("JSON"))
}
