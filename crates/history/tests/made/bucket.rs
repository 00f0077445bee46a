//! An S3-speaking server of the tests' own: moto, from PyPI, an independent reading of the protocol.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Mutex, OnceLock};
use std::time::{Duration, Instant};

/// A running server. It ends when this process does, however that ends: its watcher sees the pipe close.
struct Server {
    port: u16,
    _watcher: Mutex<(Child, ChildStdin)>,
}

static SERVER: OnceLock<Result<Server, String>> = OnceLock::new();
static BUCKETS: AtomicU32 = AtomicU32::new(0);

/// The place of a new, empty bucket; none where there is no server to be had, after saying so in a line. Where outside
/// judges are insisted on, that is a failure.
pub fn new_bucket() -> Option<String> {
    match SERVER.get_or_init(start) {
        Ok(server) => Some(server.new_bucket()),
        Err(why) if std::env::var_os("SHIMWRIGHT_REQUIRE_OUTSIDE").is_some() => panic!("S3 server: {why}"),
        Err(why) => {
            println!("skipped: S3 server: {why}");
            None
        }
    }
}

/// Deletes a photo of a bucket that [`new_bucket`] made, by the client that comes with the server.
pub fn delete(place: &str, sha256: &str) {
    const SCRIPT: &str = "import boto3, sys
from urllib.parse import urlsplit, parse_qs
url = urlsplit(sys.argv[1])
said = {name: values[0] for name, values in parse_qs(url.query).items()}
client = boto3.client('s3', endpoint_url=said['endpoint'], region_name=said['region'],
                      aws_access_key_id=said['access_key_id'], aws_secret_access_key=said['secret_access_key'])
client.delete_object(Bucket=url.hostname, Key=url.path[1:] + sys.argv[2])";
    let key = format!("/{}/{sha256}", &sha256[..2]);
    let deleted = Command::new(python())
        .args(["-c", SCRIPT, place, &key])
        .output()
        .unwrap();
    assert!(
        deleted.status.success(),
        "{}",
        String::from_utf8_lossy(&deleted.stderr)
    );
}

/// The Python that `./dev test` prepares, or the system's.
fn python() -> String {
    std::env::var("SHIMWRIGHT_PYTHON").unwrap_or_else(|_| "python3".into())
}

impl Server {
    fn new_bucket(&self) -> String {
        let name = format!("shop{}", BUCKETS.fetch_add(1, Ordering::Relaxed));
        assert_eq!(
            self.ask(&format!("PUT /{name}")).as_deref(),
            Ok("HTTP/1.1 200 OK")
        );
        let endpoint = format!("http://127.0.0.1:{}", self.port);
        format!(
            "s3://{name}/photos?endpoint={endpoint}&region=us-east-1&access_key_id=bench&secret_access_key=secret"
        )
    }

    /// Makes a request without a body; gives the first line of the answer.
    fn ask(&self, request: &str) -> Result<String, String> {
        let told = |error: std::io::Error| error.to_string();
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).map_err(told)?;
        let host = format!("Host: 127.0.0.1:{}", self.port);
        write!(
            stream,
            "{request} HTTP/1.1\r\n{host}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"
        )
        .map_err(told)?;
        let (mut answer, mut line) = (BufReader::new(stream), String::new());
        answer.read_line(&mut line).map_err(told)?;
        answer.read_to_end(&mut Vec::new()).map_err(told)?;
        Ok(line.trim_end().to_owned())
    }
}

fn start() -> Result<Server, String> {
    let python = python();
    let has = Command::new(&python).args(["-c", "import moto.server"]).output();
    if !has.is_ok_and(|output| output.status.success()) {
        return Err("Python's module moto is missing".into());
    }
    let told = |error: std::io::Error| error.to_string();
    // A port that was free a moment ago.
    let port = TcpListener::bind(("127.0.0.1", 0))
        .and_then(|free| free.local_addr())
        .map_err(told)?
        .port();
    let script = format!(
        "'{python}' -m moto.server -H 127.0.0.1 -p {port} >/dev/null 2>&1 &
         read end
         kill $!"
    );
    let mut watcher = Command::new("sh")
        .args(["-c", &script])
        .stdin(Stdio::piped())
        .spawn()
        .map_err(told)?;
    let pipe = watcher.stdin.take().ok_or("no pipe")?;
    let server = Server {
        port,
        _watcher: Mutex::new((watcher, pipe)),
    };
    let begun = Instant::now();
    while server.ask("GET /").is_err() {
        if begun.elapsed() > Duration::from_secs(120) {
            return Err("the server did not start".into());
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    Ok(server)
}
