//! Entries, before and after they are stored, and the head of a ledger.

use std::fmt;
use std::str::FromStr;

use crate::chain::{Digest, Link};

/// Greatest length of a kind, in bytes.
pub const KIND_LIMIT: usize = 80;

/// Greatest length of a `by`, in bytes.
pub const BY_LIMIT: usize = 400;

/// Greatest length of a body, in bytes (64 MiB).
pub const BODY_LIMIT: usize = 64 << 20;

/// An entry that isn't stored yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewEntry {
    /// What sort of entry, for whoever reads it: 1 to [`KIND_LIMIT`] bytes, no control
    /// characters.
    pub kind: String,
    /// Version of the body's format.
    pub version: u32,
    /// The content, up to [`BODY_LIMIT`] bytes; in practice JSON, never looked into here.
    pub body: Vec<u8>,
    /// When it happened: RFC 3339, such as `2031-01-14T09:30:00Z`.
    pub at: String,
    /// Who caused it: 1 to [`BY_LIMIT`] bytes, no control characters.
    pub by: String,
}

/// A stored entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Place in the ledger: 1, 2, 3 and so on without a gap.
    pub number: u64,
    /// Number of the first entry of the batch it was appended with.
    pub batch: u64,
    /// What sort of entry.
    pub kind: String,
    /// Version of the body's format.
    pub version: u32,
    /// The content.
    pub body: Vec<u8>,
    /// When it happened, RFC 3339.
    pub at: String,
    /// Who caused it.
    pub by: String,
    /// Id of the request that its batch was appended for, on the batch's first entry.
    pub request: Option<String>,
    /// Digest over all of the above and the entry before.
    pub digest: Digest,
}

/// The last entry of a ledger: whoever holds it can tell whether the ledger moved on, and
/// prove later that history up to here was not rewritten.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// Number of the last entry; 0 if there is none.
    pub number: u64,
    /// Its digest; the start digest if there is none.
    pub digest: Digest,
}

/// What makes one ledger another than the next: 16 bytes, given at creation.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LedgerId([u8; 16]);

/// A text that should have been a digest or a ledger id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} is not {digits} hexadecimal digits")]
pub struct ParseHexError {
    text: String,
    digits: usize,
}

impl NewEntry {
    /// What is wrong with the entry, one sentence each; empty if it may be stored.
    pub fn problems(&self) -> Vec<String> {
        let mut problems = Vec::new();
        check_label("kind", &self.kind, KIND_LIMIT, &mut problems);
        check_label("by", &self.by, BY_LIMIT, &mut problems);
        if !is_rfc3339(&self.at) {
            problems.push(format!(
                "its at is {:?}, which is no RFC 3339 time such as 2031-01-14T09:30:00Z",
                self.at
            ));
        }
        if self.body.len() > BODY_LIMIT {
            let len = self.body.len();
            problems.push(format!("its body has {len} bytes, more than {BODY_LIMIT}"));
        }
        problems
    }

    pub(crate) fn link<'a>(
        &'a self,
        number: u64,
        batch: u64,
        request: Option<&'a str>,
    ) -> Link<'a> {
        Link {
            number,
            batch,
            at: &self.at,
            by: &self.by,
            kind: &self.kind,
            version: self.version,
            body: &self.body,
            request,
        }
    }
}

impl Entry {
    pub(crate) fn from_link(link: &Link<'_>, digest: Digest) -> Self {
        Self {
            number: link.number,
            batch: link.batch,
            kind: link.kind.to_owned(),
            version: link.version,
            body: link.body.to_vec(),
            at: link.at.to_owned(),
            by: link.by.to_owned(),
            request: link.request.map(str::to_owned),
            digest,
        }
    }
}

impl LedgerId {
    /// An id from its bytes.
    pub const fn from_bytes(bytes: [u8; 16]) -> Self {
        Self(bytes)
    }

    /// The 16 bytes.
    pub const fn as_bytes(&self) -> &[u8; 16] {
        &self.0
    }
}

impl fmt::Display for LedgerId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for LedgerId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "LedgerId({self})")
    }
}

impl FromStr for LedgerId {
    type Err = ParseHexError;

    fn from_str(text: &str) -> Result<Self, ParseHexError> {
        parse_hex(text).map(Self)
    }
}

pub(crate) fn parse_hex<const N: usize>(text: &str) -> Result<[u8; N], ParseHexError> {
    let error = || ParseHexError { text: text.to_owned(), digits: 2 * N };
    let digits: Option<Vec<u8>> =
        text.chars().map(|c| c.to_digit(16).map(|digit| digit as u8)).collect();
    let digits = digits.filter(|digits| digits.len() == 2 * N).ok_or_else(error)?;
    let mut bytes = [0; N];
    for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
        *byte = pair[0] << 4 | pair[1];
    }
    Ok(bytes)
}

fn check_label(name: &str, text: &str, limit: usize, problems: &mut Vec<String>) {
    if text.is_empty() {
        problems.push(format!("its {name} is empty"));
    }
    if text.len() > limit {
        problems.push(format!("its {name} has {} bytes, more than {limit}", text.len()));
    }
    if text.chars().any(char::is_control) {
        problems.push(format!("its {name} holds a control character"));
    }
}

/// Whether `text` has the form of RFC 3339, section 5.6, with every part in its range. The
/// calendar is left to the caller: 30 February has the form.
pub(crate) fn is_rfc3339(text: &str) -> bool {
    let Some((date, time)) = text.split_once(['T', 't']) else { return false };
    let Some(zone_at) = time.find(['Z', 'z', '+', '-']) else { return false };
    let (clock, zone) = time.split_at(zone_at);
    let (clock, fraction) = clock.split_once('.').unwrap_or((clock, "0"));
    let date_ok = parts(date, '-', &[(4, 0, 9999), (2, 1, 12), (2, 1, 31)]);
    // 60 is a leap second.
    let clock_ok = parts(clock, ':', &[(2, 0, 23), (2, 0, 59), (2, 0, 60)]);
    let fraction_ok =
        !fraction.is_empty() && fraction.bytes().all(|b| b.is_ascii_digit());
    let zone_ok = matches!(zone, "Z" | "z")
        || parts(&zone[1..], ':', &[(2, 0, 23), (2, 0, 59)]) && zone.is_ascii();
    date_ok && clock_ok && fraction_ok && zone_ok
}

// Each wanted part is a count of digits, the least and the greatest value.
fn parts(text: &str, separator: char, wanted: &[(usize, u32, u32)]) -> bool {
    let found: Vec<&str> = text.split(separator).collect();
    found.len() == wanted.len()
        && found.iter().zip(wanted).all(|(part, &(digits, least, greatest))| {
            part.len() == digits
                && part.bytes().all(|byte| byte.is_ascii_digit())
                && part.parse().is_ok_and(|value| (least..=greatest).contains(&value))
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_have_the_form_of_rfc_3339() {
        // The first five are the examples of RFC 3339, section 5.8.
        for good in [
            "1985-04-12T23:20:50.52Z",
            "1996-12-19T16:39:57-08:00",
            "1990-12-31T23:59:60Z",
            "1990-12-31T15:59:60-08:00",
            "1937-01-01T12:00:27.87+00:20",
            "2031-01-14t09:30:00z",
        ] {
            assert!(is_rfc3339(good), "{good}");
        }
        for bad in [
            "",
            "now",
            "2031-01-14",
            "2031-01-14 09:30:00Z",
            "2031-01-14T09:30:00",
            "2031-01-14T09:30Z",
            "2031-13-14T09:30:00Z",
            "2031-01-32T09:30:00Z",
            "2031-01-14T24:30:00Z",
            "2031-01-14T09:30:00.Z",
            "2031-01-14T09:30:00+1:00",
            "2031-01-14T09:30:00Zulu",
            "2031-01-14T09:30:00Z[Europe/London]",
            "２031-01-14T09:30:00Z",
            "2031-01-14T09:30:00+０１:00",
            "T",
            "TZ",
            "-T-",
        ] {
            assert!(!is_rfc3339(bad), "{bad}");
        }
    }

    #[test]
    fn an_entry_tells_all_its_problems_at_once() {
        let entry = NewEntry {
            kind: String::new(),
            version: 1,
            body: Vec::new(),
            at: "yesterday".into(),
            by: "A\0B".into(),
        };
        assert_eq!(
            entry.problems(),
            [
                "its kind is empty",
                "its by holds a control character",
                "its at is \"yesterday\", which is no RFC 3339 time such as \
                 2031-01-14T09:30:00Z",
            ]
        );
    }

    #[test]
    fn ids_and_digests_are_read_as_they_are_printed() {
        let id = LedgerId::from_bytes(*b"0123456789abcdef");
        assert_eq!(id.to_string().parse(), Ok(id));
        let digest = crate::chain::start_digest(&id);
        assert_eq!(digest.to_string().to_uppercase().parse(), Ok(digest));
        for bad in ["", "12", "zz", &"é".repeat(16), &"0".repeat(33)] {
            assert!(bad.parse::<LedgerId>().is_err(), "{bad}");
        }
    }
}
