//! An append-only, hash-chained store of entries.
//!
//! **What it is.** A place where facts are written once, in order, and stay. Entries come
//! in batches; a batch is on disk whole before it is acknowledged, or it isn't there at
//! all. Each entry carries a digest over itself and the digest before it, so that a change
//! to any byte of history is found and named ([`Store::verify`]).
//!
//! **What it knows.** Numbers, batches, digests, files, one writer and many readers. It is
//! the only place with SQL.
//!
//! **What it never knows.** What an entry means. A `kind`, a `version` and a `body` are
//! carried and protected, never looked into. It also never reads a clock: the time of an
//! entry is text that the caller gives.
//!
//! ```
//! use ledger::{Entry, NewEntry, SqliteStore, Store};
//! use std::ops::ControlFlow;
//!
//! let mut store = SqliteStore::in_memory()?;
//! let head = store.append(
//!     0,
//!     &[NewEntry {
//!         kind: "note".into(),
//!         version: 1,
//!         body: br#"{"text":"hull bottom opened"}"#.to_vec(),
//!         at: "2031-01-14T09:30:00Z".into(),
//!         by: "A. Fitter".into(),
//!     }],
//! )?;
//! assert_eq!(head.number, 1);
//!
//! let mut kinds = Vec::new();
//! store.read(0, &mut |entry: Entry| {
//!     kinds.push(entry.kind);
//!     ControlFlow::Continue(())
//! })?;
//! assert_eq!(kinds, ["note"]);
//! assert!(store.verify(Some(&head))?.is_sound());
//! # Ok::<(), ledger::LedgerError>(())
//! ```
//!
//! # Where it is kept
//!
//! In one SQLite file ([`SqliteStore`]) or in one schema of a PostgreSQL database
//! ([`PostgresStore`]). Both stand behind [`Store`], hold the same chain, and pass the same
//! tests; a [`Place`] is either, as people write it. A file of an older format is read as it is, and brought up to date when it is
//! opened for writing; what was written stays as it was, digests included.
//!
//! # Beside the entries
//!
//! Signed checkpoints ([`checkpoint`]), attachments by their digests ([`attachment`]),
//! snapshots of what a caller folded ([`snapshot`]), settings ([`setting`]), and a note of the
//! last backup. A verification covers the first two; the others are no part of the record.
//!
//! # What the chain can and cannot show
//!
//! A byte changed, a row taken out, put in or exchanged, and a tail cut off are found by
//! walking the chain and comparing its end with the head that is stored beside it. Someone
//! who can write the file and knows this format can rewrite the whole chain together with
//! the stored head, or cut rows and set the head back to match. No file can testify against
//! that by itself; a [`Head`] that was noted elsewhere (printed on a signed sheet, kept with
//! a backup) can, and [`Store::verify`] takes one as a witness. So can a [`Checkpoint`],
//! for nobody without its key can make one that fits another history:
//! [`Store::verify_against`].

mod access;
pub mod attachment;
mod batch;
pub mod chain;
pub mod checkpoint;
mod db;
mod engine;
mod entry;
mod error;
mod hidden;
pub mod key;
mod place;
mod postgres;
mod secret;
pub mod setting;
pub mod snapshot;
mod sql;
mod sqlite;
mod store;
mod verdict;

pub use self::postgres::{PostgresStore, Server};
pub use access::{Access, Existing};
pub use attachment::{ATTACHMENT_LIMIT, Accepted, Attachment, Media, Unfit, Unnamed};
pub use batch::{Batch, REQUEST_LIMIT, Receipt, RequestId, RequestIdError};
pub use chain::Digest;
pub use checkpoint::{Checkpoint, ParseCheckpointError};
pub use entry::{
    BODY_LIMIT, BY_LIMIT, Entry, Head, KIND_LIMIT, LedgerId, NewEntry, ParseHexError,
};
pub use error::{LedgerError, Result};
pub use hidden::HidingKey;
pub use key::{PublicKey, SigningKey};
pub use place::Place;
pub use secret::{Derivation, SecretError, new_salt};
pub use setting::{Change, Setting, SettingKey};
pub use snapshot::{Found, Snapshot};
pub use sqlite::SqliteStore;
pub use store::{BackupNote, Store};
pub use verdict::{Evidence, Fault, FaultKind, Verdict};
