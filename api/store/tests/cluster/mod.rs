//! A throwaway PostgreSQL server for tests, from the installed binaries: own folder, own user, a
//! socket and no port. It ends with the process that started it, however that ends.

use std::io::Write;
use std::os::unix::fs::chown;
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};

use diesel::connection::SimpleConnection;
use diesel::{Connection, PgConnection};

/// Makes the cluster, serves it, and takes it away when standard input ends: when the process
/// that holds the other end is gone.
const SCRIPT: &str = r#"
"$1/initdb" -D "$2/data" -U plugwell -A trust -E UTF8 --no-sync >"$2/log" 2>&1 || exit 1
sed -i '1i local all stranger scram-sha-256' "$2/data/pg_hba.conf"
"$1/postgres" -D "$2/data" -k "$2" -c listen_addresses= -c fsync=off -c max_connections=200 \
    -c unix_socket_permissions=0777 >>"$2/log" 2>&1 </dev/null &
read -r _
kill -QUIT $!
wait
rm -rf "$2"
"#;

struct Cluster {
    folder: PathBuf,
    _script: Child,
}

/// The URL of a new, empty database; `None` where PostgreSQL is not installed.
///
/// # Panics
/// Where `PLUGWELL_REQUIRE=all` is set and it is not installed; where it does not start.
pub fn new_database() -> Option<String> {
    static CLUSTER: OnceLock<Option<Cluster>> = OnceLock::new();
    static NUMBER: AtomicU32 = AtomicU32::new(1);
    let cluster = CLUSTER.get_or_init(start).as_ref()?;
    let name = format!("test_{}", NUMBER.fetch_add(1, Ordering::Relaxed));
    let mut connection =
        PgConnection::establish(&cluster.url("postgres")).expect("a connection to the cluster");
    connection
        .batch_execute(&format!("CREATE DATABASE {name}"))
        .expect("a database in the cluster");
    Some(cluster.url(&name))
}

impl Cluster {
    fn url(&self, database: &str) -> String {
        format!(
            "postgres:///{database}?host={}&user=plugwell",
            self.folder.display()
        )
    }
}

fn start() -> Option<Cluster> {
    let Some(binaries) = binaries() else {
        let required = std::env::var("PLUGWELL_REQUIRE").is_ok_and(|what| what == "all");
        assert!(
            !required,
            "PLUGWELL_REQUIRE=all, and there is no initdb on PATH or in /usr/lib/postgresql"
        );
        writeln!(
            std::io::stderr(),
            "not tested against PostgreSQL: no initdb on PATH or in /usr/lib/postgresql"
        )
        .ok();
        return None;
    };
    let folder = tempfile::Builder::new()
        .prefix("plugwell-pg-")
        .tempdir()
        .expect("a folder")
        .keep();
    let mut command = Command::new("sh");
    command
        .args(["-c", SCRIPT, "sh"])
        .arg(binaries)
        .arg(&folder)
        .current_dir(&folder)
        .stdin(Stdio::piped());
    if let Some((user, group)) = other_user() {
        chown(&folder, Some(user), Some(group)).expect("the folder given to the server's user");
        command.uid(user).gid(group);
    }
    let mut script = command.spawn().expect("sh");
    let cluster_url = format!(
        "postgres:///postgres?host={}&user=plugwell",
        folder.display()
    );
    let deadline = Instant::now() + Duration::from_secs(60);
    while let Err(e) = PgConnection::establish(&cluster_url) {
        let ended = script.try_wait().expect("the script's state");
        if ended.is_some() || Instant::now() > deadline {
            panic!(
                "PostgreSQL did not start: {e}\n{}",
                std::fs::read_to_string(folder.join("log")).unwrap_or_default()
            );
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    Some(Cluster {
        folder,
        _script: script,
    })
}

/// The folder that has `initdb` and `postgres`: on PATH, or the latest where Debian puts them.
fn binaries() -> Option<PathBuf> {
    let has_both =
        |folder: &Path| folder.join("initdb").exists() && folder.join("postgres").exists();
    let path = std::env::var_os("PATH").unwrap_or_default();
    let version = |folder: &PathBuf| {
        folder
            .file_name()
            .and_then(|n| n.to_str())
            .and_then(|n| n.parse::<u32>().ok())
    };
    let mut versions: Vec<PathBuf> = std::fs::read_dir("/usr/lib/postgresql")
        .into_iter()
        .flatten()
        .flatten()
        .map(|entry| entry.path())
        .collect();
    versions.sort_by_key(version);
    let debian = versions.into_iter().rev().map(|folder| folder.join("bin"));
    std::env::split_paths(&path)
        .chain(debian)
        .find(|folder| has_both(folder))
}

/// `initdb` refuses root: user and group of somebody else, where we are root.
fn other_user() -> Option<(u32, u32)> {
    let own = std::fs::metadata("/proc/self")
        .map(|m| std::os::unix::fs::MetadataExt::uid(&m))
        .unwrap_or(1);
    if own != 0 {
        return None;
    }
    let users = std::fs::read_to_string("/etc/passwd").unwrap_or_default();
    let find = |name: &str| {
        let line = users
            .lines()
            .find(|line| line.split(':').next() == Some(name))?;
        let mut ids = line.split(':').skip(2).map(str::parse::<u32>);
        Some((ids.next()?.ok()?, ids.next()?.ok()?))
    };
    find("postgres").or_else(|| find("nobody"))
}
