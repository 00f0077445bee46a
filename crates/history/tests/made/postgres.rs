//! A PostgreSQL server of the tests' own, from Debian's package, on a socket in a temporary folder.

use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Mutex, OnceLock};
use std::time::{Duration, Instant};

/// The user that the server runs as when the tests run as root, which PostgreSQL refuses.
const UNPRIVILEGED: &str = "postgres";

/// A running server. It ends when this process does, however that ends: its watcher sees the pipe close.
struct Server {
    sockets: PathBuf,
    _watcher: Mutex<(Child, ChildStdin)>,
}

static SERVER: OnceLock<Result<Server, String>> = OnceLock::new();
static DATABASES: AtomicU32 = AtomicU32::new(0);

/// The URL of a new, empty database; none where there is no server to be had, after saying so in a line. Where
/// outside judges are insisted on, that is a failure.
pub fn new_database() -> Option<String> {
    match SERVER.get_or_init(start) {
        Ok(server) => Some(server.new_database()),
        Err(why) if std::env::var_os("SHIMWRIGHT_REQUIRE_OUTSIDE").is_some() => panic!("PostgreSQL: {why}"),
        Err(why) => {
            println!("skipped: PostgreSQL: {why}");
            None
        }
    }
}

impl Server {
    fn new_database(&self) -> String {
        let name = format!("shop{}", DATABASES.fetch_add(1, Ordering::Relaxed));
        let made = Command::new("psql")
            .args([
                "-h",
                self.sockets.to_str().unwrap(),
                "-U",
                "shop",
                "-d",
                "postgres",
                "-c",
            ])
            .arg(format!("CREATE DATABASE {name}"))
            .output()
            .unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        format!("postgres://shop@localhost/{name}?host={}", self.sockets.display())
    }
}

/// Debian keeps the programs of each version in a folder of their own.
fn programs() -> Option<PathBuf> {
    let mut found: Vec<PathBuf> = std::fs::read_dir("/usr/lib/postgresql")
        .ok()?
        .flatten()
        .map(|entry| entry.path().join("bin"))
        .filter(|bin| bin.join("initdb").exists())
        .collect();
    found.sort();
    found.pop()
}

fn start() -> Result<Server, String> {
    let bin = programs().ok_or("no /usr/lib/postgresql/*/bin/initdb; install the package postgresql")?;
    // Sockets have short names: a deep TMPDIR would be too long for one.
    let folder = PathBuf::from(format!("/tmp/shimwright-pg-{}", std::process::id()));
    std::fs::create_dir(&folder).map_err(|error| error.to_string())?;
    let root = std::fs::metadata("/proc/self").is_ok_and(|me| std::os::unix::fs::MetadataExt::uid(&me) == 0);
    let switch = if root {
        let given = Command::new("chown").arg(UNPRIVILEGED).arg(&folder).status();
        if !given.is_ok_and(|status| status.success()) {
            return Err(format!(
                "the server refuses to run as root, and there is no user {UNPRIVILEGED}"
            ));
        }
        format!("runuser -u {UNPRIVILEGED} --")
    } else {
        String::new()
    };
    let script = format!(
        "cd {folder} && {switch} {bin}/initdb -D {folder}/data -U shop -A trust -E UTF8 --locale=C.UTF-8 >init.log 2>&1 || exit 1
         {switch} {bin}/postgres -D {folder}/data -k {folder} -c listen_addresses= -c max_connections=200 >server.log 2>&1 &
         read end
         kill -INT $(head -n 1 {folder}/data/postmaster.pid) 2>/dev/null
         wait
         rm -rf {folder}",
        folder = folder.display(),
        bin = bin.display(),
    );
    let mut watcher = Command::new("sh")
        .args(["-c", &script])
        .stdin(Stdio::piped())
        .spawn()
        .map_err(|error| error.to_string())?;
    let pipe = watcher.stdin.take().ok_or("no pipe")?;
    wait_for(&folder, &bin)?;
    Ok(Server {
        sockets: folder,
        _watcher: Mutex::new((watcher, pipe)),
    })
}

fn wait_for(folder: &Path, bin: &Path) -> Result<(), String> {
    let begun = Instant::now();
    while begun.elapsed() < Duration::from_secs(120) {
        let ready = Command::new(bin.join("pg_isready"))
            .args(["-q", "-h", folder.to_str().unwrap()])
            .status()
            .is_ok_and(|status| status.success());
        if ready {
            return Ok(());
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    let log = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap_or_default();
    Err(format!(
        "the server did not start: {}{}",
        log("init.log"),
        log("server.log")
    ))
}
