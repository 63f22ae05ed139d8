//! What the browser can be asked beside the pages themselves: another colour scheme, another width,
//! its console, and whether everybody can use what it shows.

use fantoccini::wd::WebDriverCompatibleCommand;
use http::Method;
use serde_json::{Value, json};
use url::{ParseError, Url};

use crate::browser::Page;

/// A command of chromedriver's own.
#[derive(Debug)]
struct Asked(&'static str, Value);

impl WebDriverCompatibleCommand for Asked {
    fn endpoint(&self, base: &Url, session: Option<&str>) -> Result<Url, ParseError> {
        base.join(&format!(
            "session/{}/{}",
            session.unwrap_or_default(),
            self.0
        ))
    }

    fn method_and_body(&self, _: &Url) -> (Method, Option<String>) {
        (Method::POST, Some(self.1.to_string()))
    }
}

/// The text of axe-core, named by `PLUGWELL_AXE`; `None` where nobody named it.
///
/// # Panics
/// Where it is missing and `PLUGWELL_REQUIRE=all` is set, or where it cannot be read.
pub fn axe() -> Option<String> {
    let Ok(file) = std::env::var("PLUGWELL_AXE") else {
        let required = std::env::var("PLUGWELL_REQUIRE").is_ok_and(|what| what == "all");
        assert!(
            !required,
            "PLUGWELL_REQUIRE=all, and PLUGWELL_AXE names no axe.min.js"
        );
        eprintln!(
            "PLUGWELL_AXE names no axe.min.js: nobody judges whether everybody can use the pages"
        );
        return None;
    };
    Some(std::fs::read_to_string(&file).unwrap_or_else(|e| panic!("{file}: {e}")))
}

/// Runs what axe-core has for WCAG 2.2 AA and its best practices; of each finding its rule, what it
/// is about, and where.
const JUDGED: &str = "
    const [tags, only, done] = arguments;
    const run = only.length ? { type: 'rule', values: only } : { type: 'tag', values: tags };
    axe.run(document, { runOnly: run, resultTypes: ['violations'] }).then(
        (found) => done(found.violations.map((v) =>
            `${v.id}: ${v.help} (${v.nodes.map((n) => n.target.join(' ')).slice(0, 4).join('; ')})`)),
        (error) => done([String(error)]));";
const TAGS: [&str; 7] = [
    "wcag2a",
    "wcag2aa",
    "wcag21a",
    "wcag21aa",
    "wcag22a",
    "wcag22aa",
    "best-practice",
];

impl Page {
    async fn ask(&self, path: &'static str, body: Value) -> Value {
        let asked = self.0.issue_cmd(Asked(path, body)).await;
        asked.unwrap_or_else(|e| panic!("{path}: {e}"))
    }

    async fn devtools(&self, command: &str, of: Value) {
        self.ask("goog/cdp/execute", json!({ "cmd": command, "params": of }))
            .await;
    }

    /// Shows pages as in a window so many pixels wide, in light colours or in dark ones.
    pub async fn show_as(&self, width: u32, dark: bool) {
        let of = json!({ "width": width, "height": 900, "deviceScaleFactor": 1, "mobile": false });
        self.devtools("Emulation.setDeviceMetricsOverride", of)
            .await;
        let scheme = if dark { "dark" } else { "light" };
        let of = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        self.devtools("Emulation.setEmulatedMedia", of).await;
    }

    /// Has a script in every page from now on.
    pub async fn bring(&self, script: &str) {
        let of = json!({ "source": script });
        self.devtools("Page.addScriptToEvaluateOnNewDocument", of)
            .await;
    }

    /// Runs no script of any page from now on; those of the test it still runs.
    pub async fn without_script(&self) {
        let of = json!({ "value": true });
        self.devtools("Emulation.setScriptExecutionDisabled", of)
            .await;
    }

    /// What the console has said since it was last asked.
    pub async fn console(&self) -> Vec<String> {
        let said = self.ask("se/log", json!({ "type": "browser" })).await;
        let lines = said.as_array().cloned().unwrap_or_default();
        lines
            .iter()
            .map(|line| line["message"].to_string())
            .collect()
    }

    /// What keeps somebody from using the page; of colours alone, or of everything.
    pub async fn barriers(&self, colours_alone: bool) -> Vec<String> {
        let only: &[&str] = if colours_alone {
            &["color-contrast"]
        } else {
            &[]
        };
        let found = self.0.execute_async(JUDGED, vec![json!(TAGS), json!(only)]);
        let found = found.await.expect("axe-core runs");
        serde_json::from_value(found).expect("a list of findings")
    }
}
