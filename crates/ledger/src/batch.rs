//! Batches, the ids that clients give to their requests, and what they get back.

use std::fmt;
use std::str::FromStr;

use crate::entry::{Head, NewEntry};

/// Greatest length of a request id, in bytes.
pub const REQUEST_LIMIT: usize = 64;

/// Entries that belong together: all of them are stored, or none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Batch {
    /// The id of the request that asks for them, so that it counts once however often it
    /// is sent.
    pub request: Option<RequestId>,
    /// The entries, in order.
    pub entries: Vec<NewEntry>,
}

/// An id that a client chose for a request: 1 to [`REQUEST_LIMIT`] bytes without control
/// characters. Whoever sends the request again after a lost answer sends the same id.
///
/// The id must be different for each request that is meant to count, so it should be
/// random (a UUID will do).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RequestId(String);

/// What became of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Receipt {
    /// Number of its first entry. A batch without entries has none, and `first` is then
    /// one more than the number of `head`.
    pub first: u64,
    /// Its last entry.
    pub head: Head,
    /// Whether it was there already: the request had been sent before.
    pub repeated: bool,
}

/// A text that can't be a request id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} can't be a request id: {why}")]
pub struct RequestIdError {
    text: String,
    why: String,
}

impl RequestId {
    /// The text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for RequestId {
    type Err = RequestIdError;

    fn from_str(text: &str) -> Result<Self, RequestIdError> {
        let why = if text.is_empty() {
            "it is empty".to_owned()
        } else if text.len() > REQUEST_LIMIT {
            format!("it has {} bytes, more than {REQUEST_LIMIT}", text.len())
        } else if text.chars().any(char::is_control) {
            "it holds a control character".to_owned()
        } else {
            return Ok(Self(text.to_owned()));
        };
        // What was sent may be long; enough is told to know it again.
        let text = text.chars().take(2 * REQUEST_LIMIT).collect();
        Err(RequestIdError { text, why })
    }
}

impl fmt::Display for RequestId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn request_ids_are_short_plain_texts() {
        for good in ["a", "Ünïcode 7", &"x".repeat(64)] {
            assert_eq!(good.parse::<RequestId>().unwrap().as_str(), good);
        }
        for (bad, why) in [
            ("", "it is empty"),
            ("a\nb", "it holds a control character"),
            (&"é".repeat(33), "it has 66 bytes, more than 64"),
        ] {
            let error = bad.parse::<RequestId>().unwrap_err().to_string();
            assert!(error.ends_with(why), "{error}");
        }
    }
}
