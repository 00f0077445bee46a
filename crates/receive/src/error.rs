//! Why a server does not start.

use std::net::IpAddr;

/// Why a server does not start.
#[derive(Debug, thiserror::Error, shimwright_say::Halves)]
#[non_exhaustive]
pub enum Error {
    /// An address that others than the local network may reach, or all addresses at once.
    #[error("{0} is no address of a local network; choose one of this computer's own, such as 192.168.1.20")]
    NotLocal(IpAddr),
    /// The system does not give the address.
    #[error(
        "{address} cannot be listened on ({reason}); choose an address of this computer and a port that is free"
    )]
    Bind {
        /// The address with its port.
        address: std::net::SocketAddr,
        /// What the system said.
        reason: std::io::Error,
    },
    /// A certificate or key that cannot be made or used.
    #[error("the certificate cannot be used ({0}); remove it, and another is made")]
    Certificate(String),
    /// The system gives no random numbers.
    #[error("the system gives no random numbers ({0}); start the program again")]
    Random(getrandom::Error),
    /// The address does not fit into a QR code.
    #[error("no QR code can be made of {0}; type the address instead")]
    Code(String),
}
