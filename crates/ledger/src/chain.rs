//! The byte format of the chain, and the walk that checks it.
//!
//! This page is enough to check a ledger with another program, decades from now.
//!
//! # Fields
//!
//! Everything that is hashed is a sequence of *fields*. A field is the length of its
//! content in bytes, as eight bytes, little-endian, followed by the content. Because each
//! length comes first, no two different sequences of fields give the same bytes.
//!
//! * Text is its UTF-8 bytes, exactly as stored: no trimming, no normalising.
//! * A number is eight bytes, unsigned, little-endian (so its field is sixteen bytes).
//! * A digest is its 32 bytes; a ledger id its 16 bytes.
//!
//! # Digests
//!
//! All digests are BLAKE3 with its default 32-byte output, unkeyed
//! (<https://github.com/BLAKE3-team/BLAKE3-specs>).
//!
//! The **start digest** stands in for the digest before the first entry:
//!
//! ```text
//! start = BLAKE3( field("turnbuckle/ledger/start/1") field(ledger id) )
//! ```
//!
//! The **digest of an entry** covers every stored column and the digest before it:
//!
//! ```text
//! digest = BLAKE3( field("turnbuckle/ledger/entry/1")
//!                  field(digest of the entry before, or start)
//!                  field(number) field(batch)
//!                  field(at) field(by) field(kind) field(version) field(body) )
//! ```
//!
//! An entry that carries the **id of a request** (a text by which a repeated request is
//! known again) has the id in its digest too, under a tag of its own:
//!
//! ```text
//! digest = BLAKE3( field("turnbuckle/ledger/entry/2")
//!                  field(digest of the entry before, or start)
//!                  field(number) field(batch)
//!                  field(at) field(by) field(kind) field(version) field(body)
//!                  field(request) )
//! ```
//!
//! Only the first entry of a batch may carry one, and no two entries carry the same. An
//! entry without one has the digest of version 1, so that ledgers from before there were
//! request ids stay as they are, and an id that is put in, changed or taken out afterwards
//! shows.
//!
//! Entries are numbered 1, 2, 3 and so on without a gap. `batch` is the number of the
//! first entry of the batch that the entry was appended with: an entry either opens a
//! batch (`batch = number`) or has the same `batch` as the entry before it.
//!
//! # Where they are kept
//!
//! In the SQLite file, table `entries` has the columns `number`, `batch`, `recorded_at`
//! (*at*), `recorded_by` (*by*), `kind`, `version`, `body`, `digest` and `request` (NULL
//! where there is none; the column is missing in files of format 1). Table `meta` has one
//! row: `ledger` (the id), `head_number` and `head_digest`, which repeat the number and
//! digest of the last entry (0 and the start digest in an empty ledger). A schema of a
//! PostgreSQL database has the same tables, with `BYTEA` for `BLOB`.
//!
//! # The same in Python
//!
//! ```text
//! import sqlite3
//! from blake3 import blake3
//! field  = lambda b: len(b).to_bytes(8, "little") + b
//! number = lambda n: field(n.to_bytes(8, "little"))
//! db = sqlite3.connect("programme.ledger")
//! ledger, head_number, head_digest = db.execute(
//!     "SELECT ledger, head_number, head_digest FROM meta").fetchone()
//! last, digest = 0, blake3(field(b"turnbuckle/ledger/start/1") + field(ledger)).digest()
//! for n, batch, at, by, kind, version, body, stored, request in db.execute(
//!         "SELECT number, batch, recorded_at, recorded_by, kind, version, body, digest, "
//!         "request FROM entries ORDER BY number"):
//!     tag = b"turnbuckle/ledger/entry/" + (b"1" if request is None else b"2")
//!     digest = blake3(
//!         field(tag) + field(digest) + number(n) + number(batch)
//!         + field(at.encode()) + field(by.encode()) + field(kind.encode())
//!         + number(version) + field(body)
//!         + (b"" if request is None else field(request.encode()))).digest()
//!     assert n == last + 1 and digest == stored, n
//!     last = n
//! assert (last, digest) == (head_number, head_digest)
//! ```

use std::fmt;
use std::str::FromStr;

use crate::entry::{Head, LedgerId, ParseHexError, parse_hex};
use crate::verdict::{Fault, FaultKind};

/// Tag of the start digest: what is hashed, and in which version of the format.
pub const START_TAG: &str = "turnbuckle/ledger/start/1";

/// Tag of an entry's digest: what is hashed, and in which version of the format.
pub const ENTRY_TAG: &str = "turnbuckle/ledger/entry/1";

/// Tag of the digest of an entry that carries a request id.
pub const REQUEST_TAG: &str = "turnbuckle/ledger/entry/2";

/// A BLAKE3 digest of 32 bytes; printed as 64 lower-case hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest([u8; 32]);

/// One stored entry, borrowed, as the chain sees it.
#[derive(Debug, Clone, Copy)]
pub struct Link<'a> {
    /// Place in the ledger, from 1.
    pub number: u64,
    /// Number of the first entry of the same batch.
    pub batch: u64,
    /// When, as the caller gave it.
    pub at: &'a str,
    /// By whom.
    pub by: &'a str,
    /// What sort of entry.
    pub kind: &'a str,
    /// Version of the body's format.
    pub version: u32,
    /// The content.
    pub body: &'a [u8],
    /// Id of the request that the batch was appended for; on its first entry alone.
    pub request: Option<&'a str>,
}

/// A walk along stored entries in the order of their numbers, checking each against the
/// one before. It knows no database, so that every store judges by the same rules.
#[derive(Debug, Clone)]
pub struct Chain {
    number: u64,
    // Unknown after a gap or an unreadable entry: then the next one can't be judged by it.
    batch: Option<u64>,
    digest: Option<Digest>,
}

impl Digest {
    /// The digest of some bytes by themselves, as of an attachment or a file of a bundle.
    pub fn of(content: &[u8]) -> Self {
        Self(*blake3::hash(content).as_bytes())
    }

    /// A digest from its bytes.
    pub const fn from_bytes(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }

    /// The 32 bytes.
    pub const fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Digest({self})")
    }
}

impl FromStr for Digest {
    type Err = ParseHexError;

    fn from_str(text: &str) -> Result<Self, ParseHexError> {
        parse_hex(text).map(Self)
    }
}

/// The digest that stands before the first entry of the ledger `id`.
pub fn start_digest(id: &LedgerId) -> Digest {
    let mut hasher = blake3::Hasher::new();
    field(&mut hasher, START_TAG.as_bytes());
    field(&mut hasher, id.as_bytes());
    Digest(hasher.finalize().into())
}

/// The digest of `link` after an entry (or a start) with the digest `previous`.
pub fn entry_digest(previous: &Digest, link: &Link<'_>) -> Digest {
    let mut hasher = blake3::Hasher::new();
    let tag = if link.request.is_some() { REQUEST_TAG } else { ENTRY_TAG };
    field(&mut hasher, tag.as_bytes());
    field(&mut hasher, previous.as_bytes());
    field(&mut hasher, &link.number.to_le_bytes());
    field(&mut hasher, &link.batch.to_le_bytes());
    field(&mut hasher, link.at.as_bytes());
    field(&mut hasher, link.by.as_bytes());
    field(&mut hasher, link.kind.as_bytes());
    field(&mut hasher, &u64::from(link.version).to_le_bytes());
    field(&mut hasher, link.body);
    if let Some(request) = link.request {
        field(&mut hasher, request.as_bytes());
    }
    Digest(hasher.finalize().into())
}

impl Chain {
    /// A walk from the first entry; `id` is `None` where the store has lost it, and then
    /// the first entry can't be checked.
    pub fn from_start(id: Option<&LedgerId>) -> Self {
        Self { number: 0, batch: None, digest: id.map(start_digest) }
    }

    /// A walk that goes on after the entry `head`, which belongs to `batch`.
    pub fn after(head: Head, batch: u64) -> Self {
        Self { number: head.number, batch: Some(batch), digest: Some(head.digest) }
    }

    /// Number of the last entry walked over, 0 before the first.
    pub fn number(&self) -> u64 {
        self.number
    }

    /// Takes the next entry with its stored digest, and returns what is wrong with it.
    pub fn check(&mut self, link: &Link<'_>, stored: Digest) -> Vec<Fault> {
        let mut faults = Vec::new();
        if !self.step_to(link.number, &mut faults) {
            return faults;
        }
        let follows = match self.batch {
            Some(batch) => link.batch == batch,
            None => link.number > 1 && link.batch < link.number,
        };
        if !follows && link.batch != link.number {
            faults.push(Fault::at(link.number, FaultKind::Batch { batch: link.batch }));
        }
        if let (Some(request), true) = (link.request, link.batch != link.number) {
            let kind = FaultKind::Request { request: request.to_owned() };
            faults.push(Fault::at(link.number, kind));
        }
        if let Some(previous) = &self.digest {
            let computed = entry_digest(previous, link);
            if computed != stored {
                let kind = FaultKind::Digest { stored, computed };
                faults.push(Fault::at(link.number, kind));
            }
        }
        self.batch = Some(link.batch);
        self.digest = Some(stored);
        faults
    }

    /// Takes an entry that can't be read; `number` where at least that is known.
    pub fn pass_over(&mut self, number: Option<u64>, kind: FaultKind) -> Vec<Fault> {
        let mut faults = Vec::new();
        if let Some(number) = number {
            if !self.step_to(number, &mut faults) {
                return faults;
            }
            self.batch = None;
            self.digest = None;
        }
        faults.push(Fault { entry: number, kind });
        faults
    }

    /// Compares the end of the walk with the head that the store has noted.
    pub fn finish(&self, noted: &Head) -> Option<Fault> {
        let last = self.number;
        if noted.number > last {
            return Some(Fault::at(last + 1, FaultKind::TailCut { until: noted.number }));
        }
        if noted.number < last {
            let kind = FaultKind::BeyondHead { noted: noted.number };
            return Some(Fault::at(noted.number + 1, kind));
        }
        match self.digest {
            Some(digest) if digest != noted.digest => {
                let kind = FaultKind::HeadDigest { noted: noted.digest, last: digest };
                Some(Fault { entry: (last > 0).then_some(last), kind })
            }
            Some(_) | None => None,
        }
    }

    // Moves to `number`, noting a gap; false if there can be no such entry here.
    fn step_to(&mut self, number: u64, faults: &mut Vec<Fault>) -> bool {
        if number <= self.number {
            faults.push(Fault { entry: None, kind: FaultKind::Stray { number } });
            return false;
        }
        let due = self.number + 1;
        if number > due {
            faults.push(Fault::at(due, FaultKind::Missing { until: number - 1 }));
            self.batch = None;
            self.digest = None;
        }
        self.number = number;
        true
    }
}

/// Adds a field, as the head of this module describes it.
pub(crate) fn field(hasher: &mut blake3::Hasher, content: &[u8]) {
    hasher.update(&(content.len() as u64).to_le_bytes());
    hasher.update(content);
}
