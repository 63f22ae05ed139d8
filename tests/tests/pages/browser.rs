//! A real browser, driven through chromedriver.

use std::future::Future;
use std::io::{BufRead, BufReader};
use std::time::Duration;
use std::process::{Child, Command, Stdio};

use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::json;
use tempfile::TempDir;

/// Chromedriver and the profile of its browser; both gone when dropped.
struct Driver {
    process: Child,
    port: u16,
    profile: TempDir,
}

impl Drop for Driver {
    fn drop(&mut self) {
        // It takes its browser along.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// Starts chromedriver on a free port; `None`, with a line on the terminal, where it or the browser
/// is not installed.
///
/// # Panics
/// Where one is missing and `PLUGWELL_REQUIRE=all` is set.
fn driver() -> Option<Driver> {
    let installed = |name: &str| {
        let mut asked = Command::new(name);
        asked.arg("--version").stdout(Stdio::null()).stderr(Stdio::null());
        asked.status().is_ok_and(|status| status.success())
    };
    if !installed("chromedriver") || !installed("chromium") {
        let required = std::env::var("PLUGWELL_REQUIRE").is_ok_and(|what| what == "all");
        assert!(!required, "PLUGWELL_REQUIRE=all, and chromium or chromedriver is not installed");
        eprintln!("chromium or chromedriver is not installed: the pages are not tried in a browser");
        return None;
    }
    let mut process = Command::new("chromedriver")
        .arg("--port=0")
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("chromedriver starts");
    let mut lines = BufReader::new(process.stdout.take().expect("its output is ours")).lines();
    let port = lines
        .by_ref()
        .map_while(Result::ok)
        .filter(|line| line.contains("started successfully"))
        .find_map(|line| line.rsplit_once("on port ")?.1.trim_end_matches('.').parse().ok())
        .expect("chromedriver says its port");
    // Whatever else it says is read, so that it never waits for a reader.
    std::thread::spawn(move || lines.map_while(Result::ok).for_each(drop));
    Some(Driver { process, port, profile: TempDir::new().expect("a folder for the profile") })
}

/// Runs a visit in a browser of its own, where there is one.
pub fn visit<F: Future<Output = ()>>(steps: impl FnOnce(Page) -> F) {
    let Some(driver) = driver() else { return };
    let runtime =
        tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    runtime.block_on(async {
        let profile = format!("--user-data-dir={}", driver.profile.path().display());
        let options = json!({ "args": [
            "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
            "--disable-background-networking", "--disable-component-update", "--disable-sync", profile,
        ]});
        let capabilities = json!({ "goog:chromeOptions": options });
        let client = ClientBuilder::new(HttpConnector::new())
            .capabilities(capabilities.as_object().expect("an object").clone())
            .connect(&format!("http://127.0.0.1:{}", driver.port))
            .await
            .expect("a browser");
        steps(Page(client.clone())).await;
        client.close().await.expect("the browser closes");
    });
}

/// A page in the browser.
pub struct Page(Client);

impl Page {
    /// Goes to an address.
    pub async fn open(&self, url: &str) {
        self.0.goto(url).await.unwrap_or_else(|e| panic!("{url}: {e}"));
    }

    /// Fills a field in, found by its label's `for`.
    pub async fn fill(&self, id: &str, text: &str) {
        let field = self.0.find(Locator::Id(id)).await.unwrap_or_else(|e| panic!("#{id}: {e}"));
        field.clear().await.expect("cleared");
        field.send_keys(text).await.expect("typed");
    }

    /// Chooses an entry of a list by what it shows.
    pub async fn choose(&self, id: &str, shown: &str) {
        let list = self.0.find(Locator::Id(id)).await.unwrap_or_else(|e| panic!("#{id}: {e}"));
        list.select_by_label(shown).await.unwrap_or_else(|e| panic!("{shown} in #{id}: {e}"));
    }

    /// Presses what a selector finds.
    pub async fn press(&self, css: &str) {
        let found = self.0.find(Locator::Css(css)).await.unwrap_or_else(|e| panic!("{css}: {e}"));
        found.click().await.unwrap_or_else(|e| panic!("{css}: {e}"));
    }

    /// What stands on the page.
    pub async fn text(&self) -> String {
        let body = self.0.find(Locator::Css("body")).await.expect("a body");
        body.text().await.expect("its text")
    }

    /// The text of each element that a selector finds, once the page has come so far.
    ///
    /// # Panics
    /// Where there is none after five seconds.
    pub async fn all(&self, css: &str) -> Vec<String> {
        let waited = self.0.wait().at_most(Duration::from_secs(5)).for_element(Locator::Css(css)).await;
        if let Err(e) = waited {
            panic!("{css}: {e}; the page says: {}", self.text().await);
        }
        let mut texts = Vec::new();
        for found in self.0.find_all(Locator::Css(css)).await.expect("a selector") {
            texts.push(found.text().await.expect("its text"));
        }
        texts
    }

    /// Keeps a picture, to be looked at, in `tests/screenshots`.
    pub async fn picture(&self, name: &str) {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/screenshots");
        std::fs::create_dir_all(folder).expect("a folder for pictures");
        let png = self.0.screenshot().await.expect("a picture");
        std::fs::write(format!("{folder}/{name}.png"), png).expect("written");
    }
}
