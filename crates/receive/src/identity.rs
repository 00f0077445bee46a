//! The certificate by which a phone knows the bench again.

use crate::Error;
use crate::digest::sha256_hex;
use rcgen::{CertificateParams, DnType, KeyPair, PKCS_ECDSA_P256_SHA256, date_time_ymd};
use rustls::ServerConfig;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use std::net::IpAddr;
use std::sync::Arc;
use std::time::Duration;

/// Days that a certificate is good for: phones refuse those that last longer than 825.
const GOOD_DAYS: u32 = 800;
const DAY: Duration = Duration::from_secs(86_400);

/// A certificate and its key, made on first use and kept by whoever starts the server.
#[derive(Clone, PartialEq, Eq)]
pub struct Identity {
    /// The certificate, DER.
    pub certificate: Vec<u8>,
    /// Its private key, PKCS #8 DER.
    pub key: Vec<u8>,
}

impl std::fmt::Debug for Identity {
    /// The key is left out: what is printed may be kept somewhere.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Identity({})", self.fingerprint())
    }
}

impl Identity {
    /// A new one for an address of this computer; `today` is year, month and day.
    ///
    /// # Errors
    /// [`Error::Certificate`] when it cannot be made.
    pub fn new(address: IpAddr, (year, month, day): (i32, u8, u8)) -> Result<Self, Error> {
        let fault = |error: rcgen::Error| Error::Certificate(error.to_string());
        // Every month has 28 days, and three more or fewer of 800 do not matter.
        let today = date_time_ymd(year, month.clamp(1, 12), day.clamp(1, 28));
        let mut params = CertificateParams::new(vec![address.to_string()]).map_err(fault)?;
        params
            .distinguished_name
            .push(DnType::CommonName, "Shimwright bench");
        // A day earlier: the phone's clock may be behind.
        params.not_before = today - DAY;
        params.not_after = today + DAY * GOOD_DAYS;
        let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256).map_err(fault)?;
        let certificate = params.self_signed(&key).map_err(fault)?;
        Ok(Self {
            certificate: certificate.der().to_vec(),
            key: key.serialize_der(),
        })
    }

    /// SHA-256 of the certificate as browsers show it: pairs of digits with colons between them.
    pub fn fingerprint(&self) -> String {
        let digits = sha256_hex(&self.certificate).to_uppercase();
        let pairs: Vec<&str> = (0..32)
            .filter_map(|pair| digits.get(2 * pair..2 * pair + 2))
            .collect();
        pairs.join(":")
    }

    /// TLS 1.3 and nothing older, HTTP/1.1 and nothing else.
    pub(crate) fn tls(&self) -> Result<ServerConfig, Error> {
        let fault = |error: rustls::Error| Error::Certificate(error.to_string());
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let chain = vec![CertificateDer::from(self.certificate.clone())];
        let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(self.key.clone()));
        let mut config = ServerConfig::builder_with_provider(provider)
            .with_protocol_versions(&[&rustls::version::TLS13])
            .map_err(fault)?
            .with_no_client_auth()
            .with_single_cert(chain, key)
            .map_err(fault)?;
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(config)
    }
}
