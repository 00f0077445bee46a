//! The shop's key: Ed25519 (RFC 8032).

use crate::Error;
use crate::sum::{from_hex, hex};
use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use shimwright_say::say;

/// What stands before the 32 bytes of an Ed25519 public key in a SubjectPublicKeyInfo (RFC 8410, section 4).
const SPKI_HEAD: [u8; 12] = [
    0x30, 0x2a, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x03, 0x21, 0x00,
];

/// The shop's secret key.
pub struct ShopKey(SigningKey);

impl ShopKey {
    /// The key that 32 random bytes make.
    pub fn from_seed(seed: [u8; 32]) -> Self {
        Self(SigningKey::from_bytes(&seed))
    }

    /// The key from its text: the seed in hexadecimal.
    ///
    /// # Errors
    /// [`Error::Key`].
    pub fn from_text(text: &str) -> Result<Self, Error> {
        from_hex(text.trim())
            .map(Self::from_seed)
            .ok_or_else(|| Error::Key {
                what: say!("the shop's key"),
            })
    }

    /// Its text, to be kept secret.
    pub fn to_text(&self) -> String {
        hex(&self.0.to_bytes()) + "\n"
    }

    /// Its public half.
    pub fn public(&self) -> PublicKey {
        PublicKey(self.0.verifying_key())
    }

    /// Signs bytes.
    pub fn sign(&self, bytes: &[u8]) -> [u8; 64] {
        self.0.sign(bytes).to_bytes()
    }
}

impl std::fmt::Debug for ShopKey {
    /// Only the public half: the secret one must not reach a log.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "ShopKey({})", self.public().to_text())
    }
}

/// The shop's public key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PublicKey(VerifyingKey);

impl PublicKey {
    /// The key from its 64 hexadecimal digits.
    ///
    /// # Errors
    /// [`Error::Key`].
    pub fn from_text(text: &str) -> Result<Self, Error> {
        let none = || Error::Key {
            what: say!("the public key"),
        };
        let bytes = from_hex::<32>(text.trim()).ok_or_else(none)?;
        VerifyingKey::from_bytes(&bytes).map(Self).map_err(|_| none())
    }

    /// Its 64 hexadecimal digits.
    pub fn to_text(&self) -> String {
        hex(self.0.as_bytes())
    }

    /// The key as PEM, as other programs read it (RFC 8410).
    pub fn to_pem(&self) -> String {
        let der = [SPKI_HEAD.as_slice(), self.0.as_bytes()].concat();
        format!(
            "-----BEGIN PUBLIC KEY-----\n{}\n-----END PUBLIC KEY-----\n",
            base64(&der)
        )
    }

    /// Whether a signature is this key's of these bytes. Keys and signatures that would pass for several messages are
    /// refused.
    pub fn verifies(&self, bytes: &[u8], signature: &[u8]) -> bool {
        Signature::from_slice(signature)
            .is_ok_and(|signature| self.0.verify_strict(bytes, &signature).is_ok())
    }
}

/// Base64 (RFC 4648, section 4).
fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let digit = |bits: u32| char::from(DIGITS[(bits & 63) as usize]);
    let mut text = String::new();
    for three in bytes.chunks(3) {
        let byte = |i: usize| u32::from(three.get(i).copied().unwrap_or(0));
        let bits = (byte(0) << 16) | (byte(1) << 8) | byte(2);
        text.extend([digit(bits >> 18), digit(bits >> 12)]);
        text.push(if three.len() > 1 { digit(bits >> 6) } else { '=' });
        text.push(if three.len() > 2 { digit(bits) } else { '=' });
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 8032, section 7.1, test 2: secret key, public key, message 72, signature.
    #[test]
    fn keys_and_signatures_are_those_of_rfc_8032() {
        let key =
            ShopKey::from_text("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb").unwrap();
        let public = key.public();
        assert_eq!(
            public.to_text(),
            "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c"
        );
        let signature = key.sign(&[0x72]);
        assert_eq!(
            hex(&signature),
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da\
             085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
        );
        assert!(public.verifies(&[0x72], &signature));
        assert!(!public.verifies(&[0x73], &signature));
        assert!(!public.verifies(&[0x72], &signature[..63]));
        assert_eq!(PublicKey::from_text(&public.to_text()).unwrap(), public);
    }

    /// RFC 4648, section 10.
    #[test]
    fn base64_is_that_of_rfc_4648() {
        for (bytes, text) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(bytes.as_bytes()), text);
        }
    }

    #[test]
    fn what_is_no_key_is_refused_and_the_secret_stays_out_of_logs() {
        for text in ["", "12", &"g".repeat(64)] {
            assert!(ShopKey::from_text(text).is_err() && PublicKey::from_text(text).is_err());
        }
        let key = ShopKey::from_seed([7; 32]);
        assert!(!format!("{key:?}").contains("0707"));
        assert_eq!(ShopKey::from_text(&key.to_text()).unwrap().public(), key.public());
    }
}
