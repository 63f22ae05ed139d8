//! A real browser, driven through chromedriver.

use std::future::Future;
use std::io::{BufRead, BufReader, Lines};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

use fantoccini::actions::{InputSource, KeyAction, KeyActions};
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
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

/// Whether a browser and its driver are installed; said on the terminal where they are not.
///
/// # Panics
/// Where one is missing and `PLUGWELL_REQUIRE=all` is set.
fn is_there() -> bool {
    let installed = |name: &str| {
        let mut asked = Command::new(name);
        asked
            .arg("--version")
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        asked.status().is_ok_and(|status| status.success())
    };
    let there = installed("chromedriver") && installed("chromium");
    if !there {
        let required = std::env::var("PLUGWELL_REQUIRE").is_ok_and(|what| what == "all");
        assert!(
            !required,
            "PLUGWELL_REQUIRE=all, and chromium or chromedriver is not installed"
        );
        eprintln!(
            "chromium or chromedriver is not installed: the pages are not tried in a browser"
        );
    }
    there
}

/// A page of HTML as the browser prints it on the paper that the page itself asks for; `None` where there
/// is no browser.
///
/// # Panics
/// Where nothing is printed.
pub fn printed(html: &str) -> Option<Vec<u8>> {
    if !is_there() {
        return None;
    }
    let folder = TempDir::new().expect("a folder");
    let (page, pdf) = (
        folder.path().join("page.html"),
        folder.path().join("page.pdf"),
    );
    std::fs::write(&page, html).expect("the page");
    let done = Command::new("chromium")
        .args(BARE)
        .arg(format!(
            "--user-data-dir={}",
            folder.path().join("profile").display()
        ))
        .arg("--no-pdf-header-footer")
        .arg(format!("--print-to-pdf={}", pdf.display()))
        .arg(format!("file://{}", page.display()))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .expect("chromium starts");
    assert!(done.success(), "{done}");
    Some(std::fs::read(&pdf).expect("what was printed"))
}

/// How every browser is started.
const BARE: [&str; 8] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
];

/// A chromedriver with its port and what else it says; `None` where it ended without one.
fn started() -> Option<(Child, u16, Lines<BufReader<ChildStdout>>)> {
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
        .find_map(|line| {
            line.rsplit_once("on port ")?
                .1
                .trim_end_matches('.')
                .parse()
                .ok()
        });
    if port.is_none() {
        process.wait().expect("it ended");
    }
    Some((process, port?, lines))
}

/// Starts chromedriver on a free port; `None` where it or the browser is not installed.
fn driver() -> Option<Driver> {
    if !is_there() {
        return None;
    }
    // A port that is free for one family of addresses may be taken for the other: it gives up then.
    let (process, port, lines) = (0..5)
        .find_map(|_| started())
        .expect("chromedriver says its port");
    // Whatever else it says is read, so that it never waits for a reader.
    std::thread::spawn(move || lines.map_while(Result::ok).for_each(drop));
    Some(Driver {
        process,
        port,
        profile: TempDir::new().expect("a folder for the profile"),
    })
}

/// Runs a visit in a browser of its own, where there is one.
pub fn visit<F: Future<Output = ()>>(steps: impl FnOnce(Page) -> F) {
    let Some(driver) = driver() else { return };
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .expect("a runtime");
    runtime.block_on(async {
        let profile = format!("--user-data-dir={}", driver.profile.path().display());
        let options: Vec<&str> = BARE.into_iter().chain([profile.as_str()]).collect();
        let options = json!({ "args": options });
        let capabilities =
            json!({ "goog:chromeOptions": options, "goog:loggingPrefs": { "browser": "ALL" } });
        let client = ClientBuilder::new(HttpConnector::new())
            .capabilities(capabilities.as_object().expect("an object").clone())
            .connect(&format!("http://127.0.0.1:{}", driver.port))
            .await
            .expect("a browser");
        steps(Page(client.clone())).await;
        client.close().await.expect("the browser closes");
    });
}

/// Whether the page that was there has gone and another one is there whole.
const ARRIVED: &str = "return !window.left_behind && document.readyState === 'complete'";
/// The texts that a selector finds.
const TEXTS: &str =
    "return [...document.querySelectorAll(arguments[0])].map(found => found.innerText.trim())";

/// A page in the browser.
pub struct Page(pub Client);

impl Page {
    /// Goes to an address.
    pub async fn open(&self, url: &str) {
        self.0
            .goto(url)
            .await
            .unwrap_or_else(|e| panic!("{url}: {e}"));
    }

    /// Fills a field in, found by its label's `for`.
    pub async fn fill(&self, id: &str, text: &str) {
        let field = self
            .0
            .find(Locator::Id(id))
            .await
            .unwrap_or_else(|e| panic!("#{id}: {e}"));
        field.clear().await.expect("cleared");
        field.send_keys(text).await.expect("typed");
    }

    /// Chooses an entry of a list by what it shows.
    pub async fn choose(&self, id: &str, shown: &str) {
        let list = self
            .0
            .find(Locator::Id(id))
            .await
            .unwrap_or_else(|e| panic!("#{id}: {e}"));
        list.select_by_label(shown)
            .await
            .unwrap_or_else(|e| panic!("{shown} in #{id}: {e}"));
    }

    /// Presses what a selector finds and stays on the page.
    pub async fn press(&self, css: &str) {
        let found = self
            .0
            .find(Locator::Css(css))
            .await
            .unwrap_or_else(|e| panic!("{css}: {e}"));
        found.click().await.unwrap_or_else(|e| panic!("{css}: {e}"));
    }

    /// Presses what a selector finds, and waits for the page that it leads to.
    pub async fn follow(&self, css: &str) {
        self.leave(async || self.press(css).await).await;
    }

    /// Does something that leads to another page, and waits until that is there whole.
    ///
    /// # Panics
    /// Where it is not after ten seconds.
    pub async fn leave(&self, leave: impl AsyncFnOnce()) {
        self.run("window.left_behind = true").await;
        leave().await;
        let deadline = Instant::now() + Duration::from_secs(10);
        // Between two pages there is none that could run it.
        while !self
            .0
            .execute(ARRIVED, Vec::new())
            .await
            .is_ok_and(|there| there == true)
        {
            assert!(
                Instant::now() < deadline,
                "no other page came: {}",
                self.text().await
            );
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }

    /// Types as a scanner does, wherever the focus is: a key every two milliseconds, then Enter so
    /// often. Whether it arrived the next page tells: the last keys may find no page at all.
    pub async fn scanned(&self, text: &str, enters: usize) {
        let enter = std::iter::repeat_n('\u{e007}', enters);
        let mut keys = KeyActions::new("scanner".to_owned());
        for value in text.chars().chain(enter) {
            keys = keys.then(KeyAction::Down { value });
            keys = keys.then(KeyAction::Up { value });
            let duration = Duration::from_millis(2);
            keys = keys.then(KeyAction::Pause { duration });
        }
        let _ = self.0.perform_actions(keys).await;
    }

    /// Waits until no further page is on its way.
    pub async fn settled(&self) {
        for _ in 0..5 {
            tokio::time::sleep(Duration::from_millis(50)).await;
            let ready = self.0.execute(ARRIVED, Vec::new()).await;
            if ready.is_ok_and(|there| there == true) {
                return;
            }
        }
    }

    /// Goes back to the page before, and waits until a selector finds something there. The browser
    /// may show the very page that was left, so nothing else tells that it has come.
    pub async fn back_to(&self, css: &str) {
        self.0.back().await.expect("a page before");
        let waited = self.0.wait().at_most(Duration::from_secs(10));
        if let Err(e) = waited.for_element(Locator::Css(css)).await {
            panic!("{css}: {e}; the page says: {}", self.text().await);
        }
    }

    /// What stands on the page.
    pub async fn text(&self) -> String {
        self.run("return document.body.innerText")
            .await
            .as_str()
            .unwrap_or_default()
            .to_owned()
    }

    /// The text of each element that a selector finds.
    ///
    /// # Panics
    /// Where there is none.
    pub async fn all(&self, css: &str) -> Vec<String> {
        let texts = self
            .0
            .execute(TEXTS, vec![css.into()])
            .await
            .unwrap_or_else(|e| panic!("{css}: {e}"));
        let texts: Vec<String> = serde_json::from_value(texts).expect("a list of texts");
        if texts.is_empty() {
            panic!("no {css}; the page says: {}", self.text().await);
        }
        texts
    }

    /// What was typed into a field.
    pub async fn value(&self, id: &str) -> String {
        let field = self
            .0
            .find(Locator::Id(id))
            .await
            .unwrap_or_else(|e| panic!("#{id}: {e}"));
        field
            .prop("value")
            .await
            .expect("a value")
            .unwrap_or_default()
    }

    /// The page's title.
    pub async fn title(&self) -> String {
        self.0.title().await.expect("a title")
    }

    /// The page's address, without scheme and host.
    pub async fn address(&self) -> String {
        let url = self.0.current_url().await.expect("an address");
        let query = url
            .query()
            .map_or(String::new(), |query| format!("?{query}"));
        format!("{}{query}", url.path())
    }

    /// How many elements a selector finds now.
    pub async fn count(&self, css: &str) -> usize {
        self.0
            .find_all(Locator::Css(css))
            .await
            .expect("a selector")
            .len()
    }

    /// Runs a script of the test's own, which the pages' policy does not bind.
    pub async fn run(&self, script: &str) -> Value {
        self.0
            .execute(script, Vec::new())
            .await
            .unwrap_or_else(|e| panic!("{script}: {e}"))
    }

    /// Makes the window as wide as this.
    pub async fn widen(&self, width: u32) {
        self.0
            .set_window_size(width, 900)
            .await
            .expect("another size");
    }

    /// Keeps a picture, to be looked at, in `tests/screenshots`.
    pub async fn picture(&self, name: &str) {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/screenshots");
        std::fs::create_dir_all(folder).expect("a folder for pictures");
        let png = self.0.screenshot().await.expect("a picture");
        std::fs::write(format!("{folder}/{name}.png"), png).expect("written");
    }
}
