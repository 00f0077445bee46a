//! A bench that remembers, and a visitor that speaks HTTP as it likes.

#![allow(dead_code, reason = "each test file uses another part")]

use rustls::pki_types::{CertificateDer, ServerName};
use rustls::{ClientConfig, RootCertStore};
use serde_json::{Value, json};
use shimwright_receive::{
    Bench, Event, Frame, Identity, Limits, Page, ReceivedPhoto, Receiving, Refusal, Setup, receive,
};
use shimwright_say::say;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpSocket, TcpStream};
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;

pub const HERE: IpAddr = IpAddr::V4(Ipv4Addr::LOCALHOST);
const PATIENCE: Duration = Duration::from_secs(20);

/// Takes in what begins like a JPEG.
#[derive(Default)]
pub struct Remembering {
    pub frames: Mutex<Vec<Frame>>,
    pub photos: Mutex<Vec<ReceivedPhoto>>,
    pub events: Mutex<Vec<Event>>,
}

impl Bench for Remembering {
    async fn standing(&self) -> Value {
        json!({ "photos": self.photos.lock().expect("photos").len() })
    }

    async fn look(&self, frame: Frame) -> Result<Value, Refusal> {
        self.frames.lock().expect("frames").push(frame);
        Ok(json!({ "judged": true }))
    }

    async fn keep(&self, photo: ReceivedPhoto) -> Result<Value, Refusal> {
        tokio::time::sleep(Duration::from_millis(3)).await;
        if photo.bytes == b"fault" {
            panic!("the bench has a fault of its own");
        }
        if !photo.bytes.starts_with(b"\xff\xd8") {
            return Err(Refusal::bad_input(
                say!("this is no picture"),
                say!("choose a photo"),
            ));
        }
        let mut photos = self.photos.lock().expect("photos");
        photos.push(photo);
        Ok(json!({ "number": photos.len() }))
    }

    async fn measure(&self) -> Result<Value, Refusal> {
        Ok(json!({ "started": true }))
    }

    fn hear(&self, event: &Event) {
        self.events.lock().expect("events").push(event.clone());
    }
}

/// A server and somebody who talks to it.
pub struct Visit {
    pub bench: Arc<Remembering>,
    pub receiving: Receiving,
    pub address: SocketAddr,
    pub code: String,
    pub token: String,
    tls: TlsConnector,
}

/// What came back.
#[derive(Debug)]
pub struct Reply {
    pub status: u16,
    pub head: String,
    pub body: Vec<u8>,
}

impl Reply {
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).expect("an answer in JSON")
    }
}

impl Visit {
    pub async fn new(limits: Limits) -> Self {
        let identity = Identity::new(HERE, (2026, 3, 8)).expect("a certificate");
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let mut roots = RootCertStore::empty();
        roots
            .add(CertificateDer::from(identity.certificate.clone()))
            .expect("the certificate is its own root");
        let config = ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .expect("versions")
            .with_root_certificates(roots)
            .with_no_client_auth();
        let page = Page::new([
            (
                "index.html".to_owned(),
                b"<!doctype html><title>Phone</title>".to_vec(),
            ),
            ("assets/page.js".to_owned(), b"'use strict'".to_vec()),
        ]);
        let setup = Setup {
            address: HERE,
            port: 0,
            identity,
            page,
            limits,
        };
        let bench = Arc::new(Remembering::default());
        let receiving = receive(setup, bench.clone()).await.expect("a server");
        let invitation = receiving.invitation().clone();
        let authority = invitation
            .address
            .trim_start_matches("https://")
            .trim_end_matches('/');
        Self {
            bench,
            address: authority.parse().expect("an address"),
            code: invitation.code,
            token: String::new(),
            tls: TlsConnector::from(Arc::new(config)),
            receiving,
        }
    }

    /// A visit whose phone is paired.
    pub async fn paired(limits: Limits) -> Self {
        let mut visit = Self::new(limits).await;
        let reply = visit.pair(&visit.code).await;
        assert_eq!(reply.status, 200, "{reply:?}");
        visit.token = reply.json()["token"].as_str().expect("a token").to_owned();
        visit
    }

    pub async fn pair(&self, code: &str) -> Reply {
        let body = json!({ "code": code }).to_string();
        self.ask("POST", "/api/pair", &[], body.as_bytes()).await
    }

    pub async fn announce(&self, sha256: &str, bytes: usize, name: &str) -> Reply {
        let body = json!({ "sha256": sha256, "bytes": bytes, "name": name, "by_itself": false });
        self.ask("POST", "/api/photos", &[], body.to_string().as_bytes())
            .await
    }

    pub async fn piece(&self, sha256: &str, at: usize, piece: &[u8]) -> Reply {
        let path = format!("/api/photos/{sha256}?at={at}");
        self.ask("PUT", &path, BYTES, piece).await
    }

    /// Asks in a connection of its own.
    pub async fn ask(&self, method: &str, path: &str, other: &[(&str, &str)], body: &[u8]) -> Reply {
        let request = self.request(method, path, other, body);
        self.send(&request).await.expect("an answer")
    }

    /// The bytes of a request as the page would send it. `other` headers take the place of its own; an empty one is left out.
    pub fn request(&self, method: &str, path: &str, other: &[(&str, &str)], body: &[u8]) -> Vec<u8> {
        let own = [
            ("host", self.address.to_string()),
            ("origin", format!("https://{}", self.address)),
            ("content-type", "application/json".to_owned()),
            ("content-length", body.len().to_string()),
            ("authorization", format!("Bearer {}", self.token)),
            ("connection", "close".to_owned()),
        ];
        let mut head = format!("{method} {path} HTTP/1.1\r\n");
        for (name, value) in own {
            if !other.iter().any(|(changed, _)| *changed == name) {
                head += &format!("{name}: {value}\r\n");
            }
        }
        for (name, value) in other.iter().filter(|(_, value)| !value.is_empty()) {
            head += &format!("{name}: {value}\r\n");
        }
        [head.as_bytes(), b"\r\n", body].concat()
    }

    pub async fn send(&self, request: &[u8]) -> std::io::Result<Reply> {
        self.send_by(self.address, request).await
    }

    /// Sends a request by way of a proxy at that address.
    pub async fn send_by(&self, way: SocketAddr, request: &[u8]) -> std::io::Result<Reply> {
        let mut stream = self.secure(TcpStream::connect(way).await?).await?;
        stream.write_all(request).await?;
        stream.flush().await?;
        read_reply(&mut stream).await
    }

    pub async fn secure(&self, stream: TcpStream) -> std::io::Result<TlsStream<TcpStream>> {
        self.tls.connect(ServerName::IpAddress(HERE.into()), stream).await
    }

    /// A connection from another address of this computer.
    pub async fn stranger(&self, last: u8) -> std::io::Result<TcpStream> {
        let socket = TcpSocket::new_v4()?;
        socket.bind(SocketAddr::new([127, 0, 0, last].into(), 0))?;
        socket.connect(self.address).await
    }
}

pub const BYTES: &[(&str, &str)] = &[("content-type", "application/octet-stream")];

/// Reads an answer to its end.
pub async fn read_reply(stream: &mut TlsStream<TcpStream>) -> std::io::Result<Reply> {
    let mut bytes = Vec::new();
    let read = tokio::time::timeout(PATIENCE, stream.read_to_end(&mut bytes));
    let ended = read.await.map_err(std::io::Error::other)?;
    let cut = || std::io::Error::other(format!("the answer was cut after {ended:?}"));
    let split = bytes
        .windows(4)
        .position(|four| four == b"\r\n\r\n")
        .ok_or_else(cut)?;
    let head = String::from_utf8_lossy(&bytes[..split]).to_lowercase();
    let status = head.split(' ').nth(1).and_then(|status| status.parse().ok());
    let length = head
        .lines()
        .find_map(|line| line.strip_prefix("content-length: ")?.parse::<usize>().ok());
    let body = bytes[split + 4..].to_vec();
    match (status, length) {
        (Some(status), Some(length)) if length == body.len() => Ok(Reply { status, head, body }),
        _ => Err(cut()),
    }
}

/// SHA-256 as the page writes it.
pub fn sum_of(bytes: &[u8]) -> String {
    use sha2::{Digest, Sha256};
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// Numbers that look random and are the same each time (xorshift64*, Vigna 2016).
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 33) as usize % most
    }
}

/// Bytes that begin like a JPEG.
pub fn photo(dice: &mut Dice, bytes: usize) -> Vec<u8> {
    let mut photo: Vec<u8> = (0..bytes).map(|_| dice.below(256) as u8).collect();
    photo[..2].copy_from_slice(b"\xff\xd8");
    photo
}

/// A phone and a server whose requests are not counted.
pub fn unhurried() -> Limits {
    Limits {
        requests_at_once: 1e6,
        ..Limits::default()
    }
}
