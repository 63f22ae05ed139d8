//! A shop for a test: the service as a child process with a database and a folder of its own, both
//! gone when it is dropped or when this process ends.

use std::collections::HashMap;
use std::ffi::OsString;
use std::fmt;
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Output, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};

use reqwest::blocking::Client;
use serde_json::{Value, json};

use crate::call::{Who, client};
use crate::cluster::{self, HeldOpen};
use crate::leash::Leash;

/// How long a service may take to start, or to stop.
const PATIENCE: Duration = Duration::from_secs(60);

/// A database engine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Engine {
    /// A file in the shop's folder.
    Sqlite,
    /// A database of its own on the throwaway server.
    Postgres,
}

impl fmt::Display for Engine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Sqlite => "SQLite",
            Self::Postgres => "PostgreSQL",
        })
    }
}

/// The engines that there are here: both, or SQLite alone where PostgreSQL is not installed, which
/// is said aloud.
///
/// # Panics
/// Where one is missing and `PLUGWELL_REQUIRE=all` is set.
pub fn engines() -> Vec<Engine> {
    if cluster::installed() {
        return vec![Engine::Sqlite, Engine::Postgres];
    }
    let required = std::env::var("PLUGWELL_REQUIRE").is_ok_and(|what| what == "all");
    assert!(
        !required,
        "PLUGWELL_REQUIRE=all, and PostgreSQL is not installed"
    );
    // Past the capture of the test harness.
    let _ = writeln!(
        std::io::stderr(),
        "not tested against PostgreSQL, which is not installed"
    );
    vec![Engine::Sqlite]
}

/// One running shop on each engine, shared by all tests of this process; a test prints which one it
/// is at, and makes records of its own.
pub fn shared() -> impl Iterator<Item = &'static Shop> {
    static SHOPS: OnceLock<Vec<Shop>> = OnceLock::new();
    let shops = SHOPS.get_or_init(|| engines().into_iter().map(Shop::start).collect());
    shops
        .iter()
        .inspect(|shop| println!("-- on {}", shop.engine()))
}

/// The program under test.
///
/// # Panics
/// Where it was not built.
pub fn program() -> PathBuf {
    const NAME: &str = "plugwell-under-test";
    let here = std::env::current_exe().expect("this test's own program");
    // Cargo puts tests into `deps`, programs beside it.
    let beside = here
        .ancestors()
        .skip(1)
        .take(2)
        .map(|folder| folder.join(NAME));
    beside
        .into_iter()
        .find(|path| path.exists())
        .expect("plugwell-under-test beside the test")
}

/// A command of the program under test, without the settings of whoever runs the tests.
pub fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(program());
    for (name, _) in
        std::env::vars_os().filter(|(name, _)| name.to_string_lossy().starts_with("PLUGWELL_"))
    {
        command.env_remove(name);
    }
    command.args(arguments).stdin(Stdio::null());
    command
}

/// A shop.
#[derive(Debug)]
pub struct Shop {
    engine: Engine,
    folder: PathBuf,
    database: Option<(String, String)>,
    extra: Vec<OsString>,
    running: Option<(Child, Leash)>,
    url: String,
    tokens: HashMap<&'static str, String>,
    client: Client,
}

impl Shop {
    /// Starts a new, empty shop with a token for every role.
    ///
    /// # Panics
    /// Where it does not start.
    pub fn start(engine: Engine) -> Self {
        Self::start_with(engine, &[])
    }

    /// Starts a new, empty shop with more arguments to `serve`.
    ///
    /// # Panics
    /// Where it does not start.
    pub fn start_with(engine: Engine, extra: &[&str]) -> Self {
        let mut shop = Self::closed(engine, extra);
        shop.open();
        shop.admit();
        shop
    }

    /// Starts the invented shop, with a year of history and a token for every role.
    ///
    /// # Panics
    /// Where it is not made, or does not start.
    pub fn start_demo(engine: Engine) -> Self {
        let mut shop = Self::closed(engine, &[]);
        let made = shop.run("demo", &["--fresh", "--exit-after-example"]);
        let said = String::from_utf8_lossy(&made.stderr).into_owned();
        assert!(made.status.success(), "no demo: {said}");
        shop.open();
        shop.admit();
        shop
    }

    /// Makes a token for every role but the manager, who has one.
    fn admit(&mut self) {
        for who in Who::ROLES.into_iter().filter(|who| *who != Who::Manager) {
            let body = json!({ "name": format!("test {}", who.word()), "role": who.word() });
            let made = self.post(Who::Manager, "/v1/tokens", &body).expect(201);
            self.tokens.insert(who.word(), made.text("token"));
        }
    }

    /// A place and a database for a shop that nothing runs on yet.
    ///
    /// # Panics
    /// Where they cannot be made.
    pub fn closed(engine: Engine, extra: &[&str]) -> Self {
        static NUMBER: AtomicU32 = AtomicU32::new(1);
        let folder = tempfile::Builder::new()
            .prefix("plugwell-test-")
            .tempdir()
            .expect("a folder")
            .keep();
        let database = (engine == Engine::Postgres).then(|| {
            let name = format!("shop_{}", NUMBER.fetch_add(1, Ordering::Relaxed));
            let url = cluster::cluster().create(&name);
            (name, url)
        });
        Self {
            engine,
            folder,
            database,
            extra: extra.iter().map(OsString::from).collect(),
            running: None,
            url: String::new(),
            tokens: HashMap::new(),
            client: client(),
        }
    }

    /// Starts the service and waits until it answers.
    ///
    /// # Panics
    /// Where it does not start.
    pub fn open(&mut self) {
        assert!(self.running.is_none(), "the shop is open already");
        let ready = self.folder.join("ready.json");
        let _ = fs::remove_file(&ready);
        let log = File::options()
            .create(true)
            .append(true)
            .open(self.folder.join("log"))
            .expect("a log");
        let mut serve = self.command("serve");
        serve
            .args(["--port", "0", "--log-format", "json", "--ready-file"])
            .arg(&ready)
            .args(&self.extra);
        let mut child = serve
            .stdout(Stdio::null())
            .stderr(log)
            .spawn()
            .expect("the service starts");
        let leash = Leash::on(&child, &self.folder);
        let deadline = Instant::now() + PATIENCE;
        while !ready.exists() {
            let ended = child.try_wait().expect("the service's state");
            if ended.is_some() || Instant::now() > deadline {
                let _ = child.kill();
                panic!("the service did not start ({ended:?}):\n{}", self.log());
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        let told: Value =
            serde_json::from_slice(&fs::read(&ready).expect("the ready file")).expect("JSON in it");
        self.url = told["url"].as_str().expect("an address").to_owned();
        for who in Who::ROLES {
            if let Some(token) = told["tokens"][who.word()].as_str() {
                self.tokens.insert(who.word(), token.to_owned());
            }
        }
        self.running = Some((child, leash));
    }

    /// Asks the service to stop, and waits until it has.
    ///
    /// # Panics
    /// Where it ends with anything but success, or not in time.
    pub fn stop(&mut self) {
        let ended = self.signal("TERM");
        assert!(ended.success(), "stopped with {ended}:\n{}", self.log());
    }

    /// Kills the service, as a power cut would.
    ///
    /// # Panics
    /// Where it is not running.
    pub fn kill(&mut self) {
        self.signal("KILL");
    }

    /// Stops the service and starts it again.
    ///
    /// # Panics
    /// Where it does not.
    pub fn restart(&mut self) {
        self.stop();
        self.open();
    }

    /// Sends a signal and waits for the end.
    ///
    /// # Panics
    /// Where the service is not running or does not end in time.
    pub fn signal(&mut self, signal: &str) -> ExitStatus {
        let (mut child, leash) = self.running.take().expect("the shop is open");
        let sent = Command::new("kill")
            .args(["-s", signal, &child.id().to_string()])
            .status()
            .expect("kill");
        assert!(sent.success(), "the signal {signal} did not arrive");
        let deadline = Instant::now() + PATIENCE;
        let ended = loop {
            match child.try_wait().expect("the service's state") {
                Some(ended) => break ended,
                None if Instant::now() > deadline => {
                    let _ = child.kill();
                    panic!("the service did not end in time:\n{}", self.log());
                }
                None => std::thread::sleep(Duration::from_millis(5)),
            }
        };
        leash.let_go();
        ended
    }

    /// Process number of the running service.
    ///
    /// # Panics
    /// Where it is not running.
    pub fn pid(&self) -> u32 {
        self.running.as_ref().expect("the shop is open").0.id()
    }

    /// A command of the program on this shop's data.
    pub fn command(&self, subcommand: &str) -> Command {
        let mut command = command(&[subcommand]);
        command.arg("--data").arg(self.data());
        if let Some((_, url)) = &self.database {
            command.arg("--database").arg(url);
        }
        command
    }

    /// Runs a command of the program on this shop's data to its end.
    ///
    /// # Panics
    /// Where it cannot be run.
    pub fn run(&self, subcommand: &str, arguments: &[&str]) -> Output {
        self.command(subcommand)
            .args(arguments)
            .output()
            .expect("the program runs")
    }

    /// Takes other arguments to `serve` the next time it is opened.
    pub fn with(&mut self, extra: &[&str]) {
        self.extra = extra.iter().map(OsString::from).collect();
    }

    /// On which engine.
    pub fn engine(&self) -> Engine {
        self.engine
    }

    /// Where it is reached; another one after each start.
    pub fn url(&self) -> &str {
        &self.url
    }

    /// The folder of its data.
    pub fn data(&self) -> PathBuf {
        self.folder.join("data")
    }

    /// A folder that goes with the shop, for files of the test.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The URL of its database, on PostgreSQL.
    pub fn database(&self) -> Option<&str> {
        self.database.as_ref().map(|(_, url)| url.as_str())
    }

    /// A transaction on its database that stays open until it is dropped, on PostgreSQL.
    pub fn held_open(&self) -> Option<HeldOpen> {
        Some(cluster::cluster().hold_open(self.database()?))
    }

    /// What the service has logged so far.
    pub fn log(&self) -> String {
        fs::read_to_string(self.folder.join("log")).unwrap_or_default()
    }

    /// The token of a role.
    pub fn token(&self, who: Who) -> Option<&str> {
        match who {
            Who::Nobody => None,
            who => Some(
                self.tokens
                    .get(who.word())
                    .unwrap_or_else(|| panic!("a token for {}", who.word())),
            ),
        }
    }

    pub(crate) fn client(&self) -> &Client {
        &self.client
    }
}

impl Drop for Shop {
    fn drop(&mut self) {
        if let Some((mut child, leash)) = self.running.take() {
            let _ = child.kill();
            let _ = child.wait();
            leash.let_go();
        }
        if let Some((name, _)) = &self.database {
            cluster::cluster().remove(name);
        }
        let _ = fs::remove_dir_all(&self.folder);
    }
}
