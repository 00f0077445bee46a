//! How long, how much, how often.

use std::time::Duration;

/// What a server allows. The defaults are told in the protocol's description.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// A code that nobody gave for so long closes the server.
    pub code_life: Duration,
    /// So many wrong codes close it.
    pub wrong_codes: u32,
    /// A phone that did nothing for so long closes it; asking where the check stands is not counted.
    pub idle: Duration,
    /// Connections at once.
    pub connections: usize,
    /// Connections at once from one address; as many of all are kept for the paired phone's.
    pub connections_each: usize,
    /// Longest life of a connection; a browser opens another without telling.
    pub connection_life: Duration,
    /// Longest wait for a TLS handshake, and for the head of a request.
    pub head_wait: Duration,
    /// Longest wait for the body of a request.
    pub body_wait: Duration,
    /// Requests a second from one address.
    pub requests_a_second: f64,
    /// Requests that an address may make at once after a rest.
    pub requests_at_once: f64,
    /// Most bytes of a piece of a photo.
    pub piece_bytes: usize,
    /// Most bytes of a photo.
    pub photo_bytes: usize,
    /// Most photos kept.
    pub photos: usize,
    /// Most photos announced, kept or not.
    pub announced: usize,
    /// Most bytes of a picture to be looked at.
    pub frame_bytes: usize,
}

impl Default for Limits {
    /// What is right for one phone on a workshop's network.
    fn default() -> Self {
        Self {
            code_life: Duration::from_secs(300),
            wrong_codes: 5,
            idle: Duration::from_secs(600),
            connections: 64,
            connections_each: 8,
            connection_life: Duration::from_secs(120),
            head_wait: Duration::from_secs(5),
            body_wait: Duration::from_secs(30),
            requests_a_second: 40.0,
            requests_at_once: 80.0,
            piece_bytes: 1 << 20,
            photo_bytes: 40_000_000,
            photos: 60,
            announced: 240,
            frame_bytes: 4_000_000,
        }
    }
}
