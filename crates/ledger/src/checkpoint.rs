//! Signed checkpoints: somebody who holds a key states that a ledger had a certain head.
//!
//! Without its key nobody can make a checkpoint fit a history that was written anew. So a
//! checkpoint that was taken away, or whose key is known from elsewhere, is what the chain
//! alone can't be: a witness against whoever can write the whole file.
//!
//! # What is signed
//!
//! The bytes that are signed, by Ed25519 (RFC 8032, section 5.1.6, without a prehash), are
//! these fields, as [`crate::chain`] describes fields and numbers:
//!
//! ```text
//! field("turnbuckle/ledger/checkpoint/1")
//! field(ledger id) field(number) field(digest) field(at)
//! ```
//!
//! `number` and `digest` are those of the head, and `at` is the time as the signer stated
//! it. The first field keeps the signature from being taken for one over anything else.
//!
//! # Where they are kept
//!
//! In table `checkpoints`, with the columns `place` (1, 2, 3 and so on), `number`, `digest`,
//! `signed_at` (*at*), `public_key` (32 bytes) and `signature` (64 bytes). They stand beside
//! the chain, not in it: whoever can write the whole database can leave them out, which is
//! why a copy is kept elsewhere.
//!
//! # As a file
//!
//! UTF-8 text of seven lines, each ended by a line feed, in this order:
//!
//! ```text
//! turnbuckle ledger checkpoint 1
//! ledger: 32 hexadecimal digits
//! entry: a number
//! digest: 64 hexadecimal digits
//! at: a time of RFC 3339
//! key: 64 hexadecimal digits
//! signature: 128 hexadecimal digits
//! ```

use std::fmt;
use std::str::FromStr;

use crate::chain::Digest;
use crate::entry::{Head, LedgerId, is_rfc3339, parse_hex};
use crate::key::{PublicKey, SigningKey};

/// Tag of the signed bytes: what is signed, and in which version of the format.
pub const CHECKPOINT_TAG: &str = "turnbuckle/ledger/checkpoint/1";

const TITLE: &str = "turnbuckle ledger checkpoint 1";

/// A signed statement that a ledger had a certain head; printed as the text of its file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checkpoint {
    /// The ledger.
    pub ledger: LedgerId,
    /// Its head.
    pub head: Head,
    /// When it was signed, as the signer stated it: RFC 3339.
    pub at: String,
    /// The key that signed it.
    pub key: PublicKey,
    /// The signature.
    pub signature: [u8; 64],
}

/// A text that should have been a checkpoint.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line} of the checkpoint: {why}")]
pub struct ParseCheckpointError {
    line: usize,
    why: String,
}

impl Checkpoint {
    /// Signs that `ledger` has the head `head` at the time `at`.
    pub(crate) fn sign(key: &SigningKey, ledger: LedgerId, head: Head, at: &str) -> Self {
        let signature = key.sign(&signed_bytes(&ledger, &head, at));
        Self { ledger, head, at: at.to_owned(), key: key.public(), signature }
    }

    /// Whether its key signed exactly this. Whose key it is, this doesn't tell: compare
    /// [`PublicKey::fingerprint`] with one that you know.
    pub fn is_signed(&self) -> bool {
        let message = signed_bytes(&self.ledger, &self.head, &self.at);
        self.key.signed(&message, &self.signature)
    }
}

fn signed_bytes(ledger: &LedgerId, head: &Head, at: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let number = head.number.to_le_bytes();
    for content in [
        CHECKPOINT_TAG.as_bytes(),
        ledger.as_bytes(),
        &number,
        head.digest.as_bytes(),
        at.as_bytes(),
    ] {
        bytes.extend((content.len() as u64).to_le_bytes());
        bytes.extend(content);
    }
    bytes
}

impl fmt::Display for Checkpoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{TITLE}\nledger: {}\nentry: {}", self.ledger, self.head.number)?;
        writeln!(f, "digest: {}\nat: {}\nkey: {}", self.head.digest, self.at, self.key)?;
        f.write_str("signature: ")?;
        self.signature.iter().try_for_each(|byte| write!(f, "{byte:02x}"))?;
        f.write_str("\n")
    }
}

impl FromStr for Checkpoint {
    type Err = ParseCheckpointError;

    /// Reads the text of a checkpoint's file; line ends may be those of another system.
    /// Whether it is signed, [`Checkpoint::is_signed`] tells.
    fn from_str(text: &str) -> Result<Self, ParseCheckpointError> {
        let mut lines = text.trim_end().lines().zip(1..);
        if lines.next().is_none_or(|(title, _)| title != TITLE) {
            let why = format!("`{TITLE}` must stand there");
            return Err(ParseCheckpointError { line: 1, why });
        }
        let ledger = value(lines.next(), 2, "ledger", parse)?;
        let number = value(lines.next(), 3, "entry", parse)?;
        let digest: Digest = value(lines.next(), 4, "digest", parse)?;
        let at = value(lines.next(), 5, "at", |text| {
            let known = is_rfc3339(text).then(|| text.to_owned());
            known.ok_or_else(|| format!("{text:?} is no RFC 3339 time"))
        })?;
        let key = value(lines.next(), 6, "key", parse)?;
        let signature = value(lines.next(), 7, "signature", |text| {
            parse_hex(text).map_err(|error| error.to_string())
        })?;
        if let Some((_, line)) = lines.next() {
            let why = "nothing may follow the signature".to_owned();
            return Err(ParseCheckpointError { line, why });
        }
        Ok(Self { ledger, head: Head { number, digest }, at, key, signature })
    }
}

fn parse<T: FromStr<Err: fmt::Display>>(text: &str) -> Result<T, String> {
    text.parse().map_err(|error: T::Err| error.to_string())
}

fn value<T>(
    found: Option<(&str, usize)>,
    line: usize,
    name: &str,
    read: impl Fn(&str) -> Result<T, String>,
) -> Result<T, ParseCheckpointError> {
    let text = found.and_then(|(text, _)| text.strip_prefix(name)?.strip_prefix(": "));
    let read = match text {
        Some(text) => read(text),
        None => Err(format!("`{name}: ` and its value must stand there")),
    };
    read.map_err(|why| ParseCheckpointError { line, why })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chain::start_digest;

    fn checkpoint() -> Checkpoint {
        let folder = tempfile::tempdir().unwrap();
        let key = SigningKey::create(folder.path().join("key")).unwrap();
        let ledger = LedgerId::from_bytes([7; 16]);
        let head = Head { number: 300, digest: start_digest(&ledger) };
        Checkpoint::sign(&key, ledger, head, "2031-01-14T09:30:00Z")
    }

    #[test]
    fn the_signed_bytes_are_those_of_the_format() {
        let ledger = LedgerId::from_bytes([7; 16]);
        let head = Head { number: 300, digest: Digest::from_bytes([9; 32]) };
        let mut bytes = b"\x1e\0\0\0\0\0\0\0turnbuckle/ledger/checkpoint/1".to_vec();
        bytes.extend(b"\x10\0\0\0\0\0\0\0");
        bytes.extend([7; 16]);
        bytes.extend(b"\x08\0\0\0\0\0\0\0\x2c\x01\0\0\0\0\0\0\x20\0\0\0\0\0\0\0");
        bytes.extend([9; 32]);
        bytes.extend(b"\x01\0\0\0\0\0\0\0t");
        assert_eq!(signed_bytes(&ledger, &head, "t"), bytes);
    }

    #[test]
    fn a_change_to_any_part_breaks_the_signature() {
        let good = checkpoint();
        assert!(good.is_signed());
        let mut changed = vec![good.clone(); 5];
        changed[0].ledger = LedgerId::from_bytes([8; 16]);
        changed[1].head.number += 1;
        changed[2].head.digest = Digest::from_bytes([0; 32]);
        changed[3].at.push('x');
        changed[4].signature[63] ^= 1;
        for checkpoint in changed {
            assert!(!checkpoint.is_signed(), "{checkpoint}");
        }
    }

    #[test]
    fn the_file_is_read_as_it_is_written() {
        let good = checkpoint();
        let text = good.to_string();
        assert_eq!(text.lines().count(), 7);
        assert_eq!(text.parse(), Ok(good.clone()));
        assert_eq!(text.replace('\n', "\r\n").parse(), Ok(good));
        for (from, to, told) in [
            ("checkpoint 1", "checkpoint 2", "line 1 of the checkpoint: `turnbuckle"),
            ("entry: 300", "entry: -3", "line 3 of the checkpoint: "),
            ("digest: ", "digest=", "line 4 of the checkpoint: `digest: ` and"),
            ("at: 2031", "at: 31", "line 5 of the checkpoint: \"31-01"),
            ("key: ", "key: 0", "line 6 of the checkpoint: \"0"),
            ("signature: ", "sig: ", "line 7 of the checkpoint: `signature: ` and"),
        ] {
            let error = text.replace(from, to).parse::<Checkpoint>().unwrap_err();
            assert!(error.to_string().starts_with(told), "{error}");
        }
        let error = format!("{text}more\n").parse::<Checkpoint>().unwrap_err();
        assert!(error.to_string().starts_with("line 8"), "{error}");
        assert!("".parse::<Checkpoint>().is_err());
    }
}
