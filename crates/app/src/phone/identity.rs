//! The certificate by which phones know this bench again, in the history's folder, for its owner's eyes only.

use crate::bridge::Failure;
use chrono::{Datelike, Days, NaiveDate};
use serde::{Deserialize, Serialize};
use shimwright_history::Time;
use shimwright_receive::Identity;
use shimwright_record::Phrase;
use shimwright_say::say;
use std::io::{ErrorKind, Write};
use std::net::IpAddr;
use std::path::Path;

const NAME: &str = "phone-certificate.json";
/// A certificate is good for 800 days; another is made before they are over.
const RENEWED_AFTER: Days = Days::new(700);

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Kept {
    made: NaiveDate,
    certificate: Vec<u8>,
    key: Vec<u8>,
}

/// The bench's certificate, made on first use. It is kept when the address changes, so that its fingerprint stays what
/// people have seen.
///
/// # Errors
/// Storage trouble, also when the file is damaged.
pub fn phone_identity(folder: &Path, address: IpAddr, now: Time) -> Result<Identity, Failure> {
    let path = folder.join(NAME);
    let trouble = |what: String| {
        Failure::storage(
            say!("the certificate for phones cannot be used ({what})"),
            say!("remove it to have a new one made; phones then warn once"),
        )
        .about(path.display().to_string())
    };
    let today = now.date_naive();
    match std::fs::read(&path) {
        Ok(bytes) => {
            let kept: Kept = serde_json::from_slice(&bytes).map_err(|_| trouble("it is damaged".into()))?;
            if kept.made <= today && today < kept.made + RENEWED_AFTER {
                return Ok(Identity {
                    certificate: kept.certificate,
                    key: kept.key,
                });
            }
            std::fs::remove_file(&path).map_err(|error| trouble(error.to_string()))?;
        }
        Err(error) if error.kind() == ErrorKind::NotFound => {}
        Err(error) => return Err(trouble(error.to_string())),
    }
    let identity = Identity::new(address, (today.year(), today.month() as u8, today.day() as u8))?;
    let kept = Kept {
        made: today,
        certificate: identity.certificate.clone(),
        key: identity.key.clone(),
    };
    let text =
        serde_json::to_vec(&kept).map_err(|error| Failure::internal(Phrase::foreign(error.to_string())))?;
    write_private(&path, &text).map_err(|error| trouble(error.to_string()))?;
    Ok(identity)
}

fn write_private(path: &Path, text: &[u8]) -> std::io::Result<()> {
    let mut options = std::fs::OpenOptions::new();
    options.create_new(true).write(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path)?;
    file.write_all(text)?;
    file.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Time {
        chrono::DateTime::parse_from_rfc3339(text).unwrap()
    }

    #[test]
    fn a_certificate_is_made_once_and_renewed_before_it_ends() {
        let dir = tempfile::tempdir().unwrap();
        let of = |address: [u8; 4], day: &str| phone_identity(dir.path(), address.into(), at(day)).unwrap();
        let first = of([192, 168, 1, 20], "2026-01-31T12:00:00+00:00");
        assert_eq!(of([10, 0, 0, 5], "2027-12-01T12:00:00+00:00"), first);
        assert_ne!(of([10, 0, 0, 5], "2028-02-01T12:00:00+00:00"), first);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = std::fs::metadata(dir.path().join(NAME))
                .unwrap()
                .permissions()
                .mode();
            assert_eq!(mode & 0o777, 0o600);
        }
        std::fs::write(dir.path().join(NAME), "no certificate").unwrap();
        let failure = phone_identity(dir.path(), [10, 0, 0, 5].into(), at("2028-02-02T12:00:00+00:00"));
        assert!(failure.unwrap_err().message.contains("damaged"));
    }
}
