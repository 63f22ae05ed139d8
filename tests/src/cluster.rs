//! A throwaway PostgreSQL server: one for each test process, from the installed binaries, with a
//! socket and no port. It ends with the process that started it, however that ends.

use std::fs::{self, File};
use std::io::{BufRead, BufReader, Write};
use std::os::unix::fs::{MetadataExt, chown};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Output, Stdio};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

/// Makes the cluster and serves it; takes it away when standard input ends, that is when the
/// process that holds the other end is gone. Nothing in it has to outlive a power cut.
const SCRIPT: &str = r#"trap '' INT TERM HUP
"$1/initdb" -D "$2/data" -U plugwell -A trust -E UTF8 --no-sync || exit 1
"$1/postgres" -D "$2/data" -k "$2" -c listen_addresses= -c fsync=off -c max_connections=300 \
    -c unix_socket_permissions=0777 </dev/null &
read -r _
kill -QUIT $!
wait
rm -rf "$2"
"#;

/// The server.
pub struct Cluster {
    binaries: PathBuf,
    folder: PathBuf,
    _script: Child,
}

/// A transaction that is open until this is dropped; nothing of it stays.
pub struct HeldOpen {
    psql: Child,
    ask: Option<ChildStdin>,
}

impl Drop for HeldOpen {
    fn drop(&mut self) {
        // At the end of its input it goes, and the server undoes what it began.
        drop(self.ask.take());
        let _ = self.psql.wait();
    }
}

/// Whether PostgreSQL is installed here.
pub fn installed() -> bool {
    binaries().is_some()
}

/// The server of this process, started when it is first asked for.
///
/// # Panics
/// Where it is not installed or does not start.
pub fn cluster() -> &'static Cluster {
    static CLUSTER: OnceLock<Cluster> = OnceLock::new();
    CLUSTER.get_or_init(|| Cluster::start(binaries().expect("PostgreSQL is installed")))
}

impl Cluster {
    fn start(binaries: PathBuf) -> Self {
        let folder = tempfile::Builder::new()
            .prefix("plugwell-pg-")
            .tempdir()
            .expect("a folder")
            .keep();
        let log = File::create(folder.join("log")).expect("a log");
        let mut command = Command::new("sh");
        command
            .args(["-c", SCRIPT, "cluster"])
            .arg(&binaries)
            .arg(&folder)
            .current_dir(&folder);
        command
            .stdin(Stdio::piped())
            .stdout(log.try_clone().expect("the log twice"))
            .stderr(log);
        if let Some((user, group)) = other_user() {
            chown(&folder, Some(user), Some(group)).expect("the folder given to the server's user");
            command.uid(user).gid(group);
        }
        let script = command.spawn().expect("sh");
        let mut cluster = Self {
            binaries,
            folder,
            _script: script,
        };
        let deadline = Instant::now() + Duration::from_secs(60);
        while !cluster
            .run("psql", &["-d", "postgres", "-c", "SELECT 1"])
            .status
            .success()
        {
            let ended = cluster._script.try_wait().expect("the script's state");
            assert!(
                ended.is_none() && Instant::now() < deadline,
                "PostgreSQL did not start:\n{}",
                fs::read_to_string(cluster.folder.join("log")).unwrap_or_default()
            );
            std::thread::sleep(Duration::from_millis(50));
        }
        cluster
    }

    /// Makes an empty database; its URL.
    ///
    /// # Panics
    /// Where the server refuses.
    pub fn create(&self, name: &str) -> String {
        let made = self.run("createdb", &[name]);
        assert!(
            made.status.success(),
            "{}",
            String::from_utf8_lossy(&made.stderr)
        );
        format!(
            "postgres:///{name}?host={}&user=plugwell",
            self.folder.display()
        )
    }

    /// Removes a database, with whoever is still connected to it.
    pub fn remove(&self, name: &str) {
        self.run("dropdb", &["--if-exists", "--force", name]);
    }

    /// Begins a transaction that has a number of its own and stays open: what begins later is marked,
    /// and no mark of it is given before this one has ended.
    ///
    /// # Panics
    /// Where the server refuses.
    pub fn hold_open(&self, database: &str) -> HeldOpen {
        let mut command = Command::new(self.binaries.join("psql"));
        command.args([
            "--no-psqlrc",
            "--tuples-only",
            "--no-align",
            "--quiet",
            database,
        ]);
        command.stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut psql = command.spawn().expect("psql");
        let mut ask = psql.stdin.take().expect("a pipe");
        ask.write_all(b"BEGIN;\nSELECT pg_current_xact_id();\n")
            .expect("it is asked");
        let mut number = String::new();
        let said = psql.stdout.take().expect("a pipe");
        BufReader::new(said)
            .read_line(&mut number)
            .expect("its answer");
        assert!(number.trim().parse::<u64>().is_ok(), "{number:?}");
        HeldOpen {
            psql,
            ask: Some(ask),
        }
    }

    fn run(&self, program: &str, arguments: &[&str]) -> Output {
        let mut command = Command::new(self.binaries.join(program));
        command
            .arg("-h")
            .arg(&self.folder)
            .args(["-U", "plugwell"])
            .args(arguments);
        command
            .stdin(Stdio::null())
            .output()
            .expect("PostgreSQL's own programs")
    }
}

/// The folder with the server's programs: on PATH, or the latest where Debian puts them.
fn binaries() -> Option<PathBuf> {
    let whole = |folder: &PathBuf| {
        ["initdb", "postgres", "psql"]
            .iter()
            .all(|name| folder.join(name).exists())
    };
    let path = std::env::var_os("PATH").unwrap_or_default();
    let version = |folder: &PathBuf| {
        folder
            .file_name()
            .and_then(|n| n.to_str())
            .and_then(|n| n.parse::<u32>().ok())
    };
    let entries = fs::read_dir(Path::new("/usr/lib/postgresql"))
        .into_iter()
        .flatten()
        .flatten();
    let mut versions: Vec<PathBuf> = entries.map(|entry| entry.path()).collect();
    versions.sort_by_key(version);
    let debian = versions.into_iter().rev().map(|folder| folder.join("bin"));
    std::env::split_paths(&path).chain(debian).find(whole)
}

/// `initdb` refuses root: user and group of somebody else, where we are root.
fn other_user() -> Option<(u32, u32)> {
    if fs::metadata("/proc/self").is_ok_and(|own| own.uid() != 0) {
        return None;
    }
    let users = fs::read_to_string("/etc/passwd").unwrap_or_default();
    let find = |name: &str| {
        let line = users
            .lines()
            .find(|line| line.split(':').next() == Some(name))?;
        let mut ids = line.split(':').skip(2).map(str::parse::<u32>);
        Some((ids.next()?.ok()?, ids.next()?.ok()?))
    };
    find("postgres").or_else(|| find("nobody"))
}
