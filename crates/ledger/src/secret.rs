//! Keys that a person's secret makes.
//!
//! Argon2id (RFC 9106) turns a secret and a salt into the 32 bytes from which an Ed25519 key
//! grows, so that nothing has to be kept but what everybody may see: the salt, the costs and
//! the public key. Whoever guesses secrets pays the costs for each guess.

use std::fmt;
use std::str::FromStr;

use argon2::{Algorithm, Argon2, Params, Version};

use crate::SigningKey;

/// What it costs to make a key of a secret.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Derivation {
    /// Memory, in KiB.
    memory: u32,
    /// Passes over it.
    passes: u32,
    /// Lanes.
    lanes: u32,
}

/// Why no key can be made of a secret.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SecretError {
    /// It is not written as `argon2id m=65536 t=3 p=1`.
    #[error("`{0}` is no way to make a key that is known here, such as `{usual}`", usual = Derivation::USUAL)]
    Derivation(String),
    /// The salt is too short.
    #[error("a salt has 16 bytes or more, and this has {0}")]
    Salt(usize),
    /// The system has no randomness to give.
    #[error("the system gives no randomness: {0}")]
    Randomness(String),
}

impl Derivation {
    /// 64 MiB and three passes, the second recommendation of RFC 9106 (section 4, from
    /// memory) with one lane: some tenths of a second on one processor.
    pub const USUAL: Self = Self { memory: 65_536, passes: 3, lanes: 1 };
    /// As little as is allowed, for tests.
    pub const LEAST: Self = Self { memory: 8, passes: 1, lanes: 1 };

    /// The key that a secret makes.
    ///
    /// # Errors
    /// [`SecretError`] if the salt is too short or the costs are none that can be met.
    pub fn key(&self, secret: &str, salt: &[u8]) -> Result<SigningKey, SecretError> {
        if salt.len() < 16 {
            return Err(SecretError::Salt(salt.len()));
        }
        let refused = |_| SecretError::Derivation(self.to_string());
        let params = Params::new(self.memory, self.passes, self.lanes, Some(32));
        let argon =
            Argon2::new(Algorithm::Argon2id, Version::V0x13, params.map_err(refused)?);
        let mut seed = [0; 32];
        argon.hash_password_into(secret.as_bytes(), salt, &mut seed).map_err(refused)?;
        Ok(SigningKey::from_seed(&seed))
    }
}

/// 16 bytes of the system's randomness.
///
/// # Errors
/// If the system has none to give.
pub fn new_salt() -> Result<[u8; 16], SecretError> {
    let mut salt = [0; 16];
    getrandom::fill(&mut salt)
        .map_err(|error| SecretError::Randomness(error.to_string()))?;
    Ok(salt)
}

impl fmt::Display for Derivation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { memory, passes, lanes } = self;
        write!(f, "argon2id m={memory} t={passes} p={lanes}")
    }
}

impl FromStr for Derivation {
    type Err = SecretError;

    fn from_str(text: &str) -> Result<Self, SecretError> {
        let refused = || SecretError::Derivation(text.to_owned());
        let mut words = text.split(' ');
        if words.next() != Some("argon2id") {
            return Err(refused());
        }
        let mut cost = |name: &str| {
            let word = words.next().and_then(|word| word.strip_prefix(name));
            word.and_then(|digits| digits.parse::<u32>().ok()).ok_or_else(refused)
        };
        let (memory, passes, lanes) = (cost("m=")?, cost("t=")?, cost("p=")?);
        // Whoever reads a ledger that was tampered with must not be made to fill memory.
        let fits = memory <= 1 << 20 && passes <= 64 && lanes <= 64;
        if !fits || words.next().is_some() {
            return Err(refused());
        }
        Ok(Self { memory, passes, lanes })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_argon2id_as_the_standard_has_it() {
        // The reference implementation's command line (`echo -n password | argon2 somesalt`)
        // needs other lengths; a vector for 32 bytes of output, computed with the Python
        // package argon2-cffi, is held against this in the reference checks.
        let key = Derivation::LEAST.key("a secret", &[7; 16]).unwrap();
        let same = Derivation::LEAST.key("a secret", &[7; 16]).unwrap();
        assert_eq!(key.public(), same.public());
        for (secret, salt) in [("a secreT", [7; 16]), ("a secret", [8; 16])] {
            let other = Derivation::LEAST.key(secret, &salt).unwrap();
            assert_ne!(key.public(), other.public());
        }
    }

    #[test]
    fn costs_are_read_as_they_are_written() {
        let text = Derivation::USUAL.to_string();
        assert_eq!(text.parse(), Ok(Derivation::USUAL));
        for wrong in [
            "",
            "argon2i m=8 t=1 p=1",
            "argon2id m=8 t=1",
            "argon2id m=8 t=1 p=1 x",
            "argon2id m=99999999 t=1 p=1",
            "argon2id t=1 m=8 p=1",
        ] {
            assert!(wrong.parse::<Derivation>().is_err(), "{wrong}");
        }
        assert!(Derivation::LEAST.key("x", &[0; 8]).is_err());
    }
}
