//! Small texts that only whoever holds a key can read: ChaCha20-Poly1305 (RFC 8439) with a key
//! that is derived from an Ed25519 seed by BLAKE3's key derivation, and a nonce of the
//! system's randomness.
//!
//! What lies beside the record in the ledger's file is encrypted so where it is a secret by
//! itself: whoever copies the file has no use of it without the secret of the person.

use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{ChaCha20Poly1305, Key, Nonce};

use crate::secret::SecretError;

/// Length of a nonce (RFC 8439, section 2.8).
const NONCE: usize = 12;

/// A key with which small texts are hidden. It is never printed.
#[derive(Clone)]
pub struct HidingKey([u8; 32]);

impl HidingKey {
    pub(crate) fn of(context: &str, seed: &[u8; 32]) -> Self {
        Self(blake3::derive_key(context, seed))
    }

    fn cipher(&self) -> ChaCha20Poly1305 {
        ChaCha20Poly1305::new(&Key::from(self.0))
    }

    /// The text, hidden; `about` must be the same when it is read.
    ///
    /// # Errors
    /// If the system has no randomness.
    pub fn hide(&self, about: &str, text: &[u8]) -> Result<Vec<u8>, SecretError> {
        let mut nonce = [0; NONCE];
        getrandom::fill(&mut nonce)
            .map_err(|error| SecretError::Randomness(error.to_string()))?;
        let payload = Payload { msg: text, aad: about.as_bytes() };
        let hidden = self
            .cipher()
            .encrypt(&Nonce::from(nonce), payload)
            .map_err(|error| SecretError::Randomness(error.to_string()))?;
        Ok([&nonce[..], &hidden].concat())
    }

    /// The text, if it was hidden with this key about the same.
    pub fn show(&self, about: &str, hidden: &[u8]) -> Option<Vec<u8>> {
        let (nonce, hidden) = hidden.split_at_checked(NONCE)?;
        let nonce: [u8; NONCE] = nonce.try_into().ok()?;
        let payload = Payload { msg: hidden, aad: about.as_bytes() };
        self.cipher().decrypt(&Nonce::from(nonce), payload).ok()
    }
}

impl std::fmt::Debug for HidingKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("HidingKey(..)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_hidden_is_shown_to_the_same_key_about_the_same() {
        let key = HidingKey::of("a test", &[7; 32]);
        let hidden = key.hide("OP", b"the text").unwrap();
        assert_eq!(key.show("OP", &hidden).as_deref(), Some(&b"the text"[..]));
        // No two are alike, and none holds the text.
        assert_ne!(key.hide("OP", b"the text").unwrap(), hidden);
        assert!(!hidden.windows(4).any(|part| part == b"text"));
        assert_eq!(key.show("TR", &hidden), None);
        assert_eq!(HidingKey::of("another", &[7; 32]).show("OP", &hidden), None);
        assert_eq!(HidingKey::of("a test", &[8; 32]).show("OP", &hidden), None);
        for at in 0..hidden.len() {
            let mut changed = hidden.clone();
            changed[at] ^= 1;
            assert_eq!(key.show("OP", &changed), None, "{at}");
        }
        assert_eq!(key.show("OP", b""), None);
    }
}
