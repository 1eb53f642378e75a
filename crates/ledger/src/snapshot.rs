//! Snapshots for a fast start.
//!
//! A snapshot is whatever a caller folded from the entries up to some head, as bytes that
//! mean nothing here. It is found again by its *format*, a text that changes whenever the
//! caller's bytes or rules of folding do, and only if its head is still that of the chain
//! and its checksum holds:
//!
//! ```text
//! checksum = BLAKE3( field("turnbuckle/ledger/snapshot/1")
//!                    field(number) field(digest) field(format) field(content) )
//! ```
//!
//! The checksum finds damage. It can't find a snapshot that somebody with the right to
//! write the database forged together with its checksum: whoever must be certain folds the
//! entries from the first.

use crate::entry::Head;

/// Tag of a snapshot's checksum.
pub const SNAPSHOT_TAG: &str = "turnbuckle/ledger/snapshot/1";

/// Greatest length of a snapshot's format, in bytes.
pub const FORMAT_LIMIT: usize = 80;

/// What a caller had folded up to an entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Snapshot {
    /// The entry up to which, that one included: read on after its number.
    pub head: Head,
    /// What was given.
    pub content: Vec<u8>,
}

/// The newest snapshot that holds, and what was passed over to find it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The snapshot; without one, fold from the first entry.
    pub snapshot: Option<Snapshot>,
    /// A sentence for each newer one that doesn't hold.
    pub notices: Vec<String>,
}
