//! What a person holds the phone against, or types.

use crate::Error;
use qrcode::{Color, EcLevel, QrCode};
use std::net::SocketAddr;

/// How a phone gets in: shown at the bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Invitation {
    /// The page's address, to be typed.
    pub address: String,
    /// The code that is asked for there: digits.
    pub code: String,
    /// Fingerprint of the certificate, as browsers show it.
    pub fingerprint: String,
    /// The address and the code, for the phone's camera.
    pub qr: Qr,
}

/// A QR code (ISO/IEC 18004) without its quiet zone, which is four modules wide on each side.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Qr {
    /// Modules on each side.
    pub side: usize,
    /// Whether a module is dark, row by row.
    pub dark: Vec<bool>,
}

impl Invitation {
    pub(crate) fn new(address: SocketAddr, code: &str, fingerprint: String) -> Result<Self, Error> {
        let page = format!("https://{address}/");
        // What follows the sign # never leaves the browser, so the code is in no log.
        let with_code = format!("{page}#{code}");
        let qr = QrCode::with_error_correction_level(with_code.as_bytes(), EcLevel::M)
            .map_err(|_| Error::Code(page.clone()))?;
        Ok(Self {
            address: page,
            code: code.to_owned(),
            fingerprint,
            qr: Qr {
                side: qr.width(),
                dark: qr
                    .to_colors()
                    .into_iter()
                    .map(|colour| colour == Color::Dark)
                    .collect(),
            },
        })
    }
}
