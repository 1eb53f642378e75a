//! What a verification found.

use std::fmt;

use crate::chain::Digest;
use crate::checkpoint::Checkpoint;
use crate::entry::{Head, LedgerId};
use crate::key::PublicKey;

/// The outcome of walking a whole ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// The ledger's id, if it could be read.
    pub ledger: Option<LedgerId>,
    /// The head that the ledger has noted, if it could be read.
    pub head: Option<Head>,
    /// How many entries were walked over.
    pub entries: u64,
    /// How many stored checkpoints were held against the chain.
    pub checkpoints: u64,
    /// The keys that signed them, each once. Whether a key is one that you trust, you must
    /// know from elsewhere: compare the fingerprints.
    pub signers: Vec<PublicKey>,
    /// How many attachments were read through.
    pub attachments: u64,
    /// What is wrong, in the order it was found, at most [`Verdict::FAULT_LIMIT`].
    pub faults: Vec<Fault>,
    /// How many more faults there are than `faults` holds.
    pub more: u64,
}

/// What was noted elsewhere, to hold a ledger against; nothing by default.
#[derive(Debug, Clone, Copy, Default)]
pub struct Evidence<'a> {
    /// A head that was noted at an earlier time.
    pub head: Option<Head>,
    /// Checkpoints that were kept elsewhere.
    pub checkpoints: &'a [Checkpoint],
    /// If there are any, each checkpoint must be signed by one of these keys, those that
    /// the ledger holds too.
    pub trusted: &'a [PublicKey],
}

/// One thing that is wrong with a ledger; printed as a sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Number of the entry it concerns, if it concerns one.
    pub entry: Option<u64>,
    /// What is wrong.
    pub kind: FaultKind,
}

/// What can be wrong with a ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FaultKind {
    /// The entry, or the digest beside it, was changed after it was written.
    Digest {
        /// The digest beside the entry.
        stored: Digest,
        /// The digest that its content gives.
        computed: Digest,
    },
    /// Entries are missing: from the one that the fault names up to this one.
    Missing {
        /// Number of the last missing entry.
        until: u64,
    },
    /// Entries at the end are missing, from the one that the fault names up to this one.
    TailCut {
        /// Number of the last missing entry, which the head names.
        until: u64,
    },
    /// There are entries after the head.
    BeyondHead {
        /// Number of the head.
        noted: u64,
    },
    /// The head has the right number and another digest than the last entry.
    HeadDigest {
        /// Digest of the head.
        noted: Digest,
        /// Digest beside the last entry.
        last: Digest,
    },
    /// The entry neither opens a batch nor belongs to that of the entry before.
    Batch {
        /// The batch that it claims.
        batch: u64,
    },
    /// The entry carries a request id and opens no batch.
    Request {
        /// The id.
        request: String,
    },
    /// A row has a number that no entry can have at its place.
    Stray {
        /// The number.
        number: u64,
    },
    /// A column doesn't hold what it must.
    Column {
        /// Name of the column.
        column: &'static str,
        /// What it holds.
        found: String,
    },
    /// The row with the ledger's id and head is missing or unreadable.
    Meta(String),
    /// The ledger doesn't contain the entry that was noted elsewhere.
    Witness {
        /// What was noted.
        noted: Head,
        /// Digest of the entry with that number, if there is one.
        found: Option<Digest>,
    },
    /// A signed checkpoint doesn't fit the chain, or isn't what its key signed.
    Checkpoint(String),
    /// An attachment is altered or incomplete.
    Attachment(String),
    /// Tables, indexes or triggers differ from those that this version makes.
    Schema(String),
    /// The database could not be read any further.
    Unreadable(String),
    /// The database's own check complains.
    Database(String),
}

impl Verdict {
    /// How many faults are kept; of the rest only the count.
    pub const FAULT_LIMIT: usize = 100;

    pub(crate) fn empty() -> Self {
        Self {
            ledger: None,
            head: None,
            entries: 0,
            checkpoints: 0,
            signers: Vec::new(),
            attachments: 0,
            faults: Vec::new(),
            more: 0,
        }
    }

    /// Whether nothing is wrong.
    pub fn is_sound(&self) -> bool {
        self.faults.is_empty()
    }

    /// The smallest number among the entries that a fault names.
    pub fn first_bad_entry(&self) -> Option<u64> {
        self.faults.iter().filter_map(|fault| fault.entry).min()
    }

    pub(crate) fn note(&mut self, faults: impl IntoIterator<Item = Fault>) {
        for fault in faults {
            if self.faults.len() < Self::FAULT_LIMIT {
                self.faults.push(fault);
            } else {
                self.more += 1;
            }
        }
    }
}

impl Fault {
    pub(crate) fn at(entry: u64, kind: FaultKind) -> Self {
        Self { entry: Some(entry), kind }
    }

    pub(crate) fn of(kind: FaultKind) -> Self {
        Self { entry: None, kind }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let number = self.entry.unwrap_or(0);
        match (&self.kind, self.entry) {
            (FaultKind::Missing { until }, _) if *until == number => {
                write!(f, "entry {number} is missing")
            }
            (FaultKind::Missing { until }, _) => {
                write!(f, "entries {number} to {until} are missing")
            }
            (FaultKind::TailCut { until }, _) if *until == number => {
                write!(f, "entry {number}, the last one, is missing")
            }
            (FaultKind::TailCut { until }, _) => {
                write!(f, "the last entries, {number} to {until}, are missing")
            }
            (kind, Some(number)) => write!(f, "entry {number}: {kind}"),
            (kind, None) => write!(f, "{kind}"),
        }
    }
}

impl fmt::Display for FaultKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Digest { stored, computed } => write!(
                f,
                "it, or the digest beside it, was changed after it was written (stored \
                 {stored}, computed {computed})"
            ),
            Self::Missing { until } | Self::TailCut { until } => {
                write!(f, "entries up to {until} are missing")
            }
            Self::BeyondHead { noted } => {
                write!(f, "it stands after the noted head, which is entry {noted}")
            }
            Self::HeadDigest { noted, last } => write!(
                f,
                "the noted head has the digest {noted}, the end of the chain has {last}"
            ),
            Self::Batch { batch } => write!(
                f,
                "it claims batch {batch}, which is neither its own nor that of the entry \
                 before"
            ),
            Self::Request { request } => {
                write!(f, "it carries the request id {request:?} and opens no batch")
            }
            Self::Stray { number } => {
                write!(
                    f,
                    "a row is numbered {number}, which no entry can be at its place"
                )
            }
            Self::Column { column, found } => {
                write!(f, "its column {column} holds {found}")
            }
            Self::Meta(what) => write!(f, "the ledger's id and head: {what}"),
            Self::Witness { noted, found: Some(found) } => write!(
                f,
                "the digest noted elsewhere for entry {} is {}, the ledger has {found}: \
                 history was rewritten, or this is another ledger",
                noted.number, noted.digest
            ),
            Self::Witness { noted, found: None } => write!(
                f,
                "entry {} was noted elsewhere (digest {}) and isn't in the ledger",
                noted.number, noted.digest
            ),
            Self::Checkpoint(what) | Self::Attachment(what) => f.write_str(what),
            Self::Schema(what) => {
                write!(f, "the tables differ from what they must be: {what}")
            }
            Self::Unreadable(what) => {
                write!(f, "the database can't be read any further: {what}")
            }
            Self::Database(what) => write!(f, "the database's own check says: {what}"),
        }
    }
}
