//! What every store of a ledger can do.

use std::ops::ControlFlow;
use std::path::Path;

use crate::attachment::{Accepted, Attachment, Unnamed};
use crate::batch::{Batch, Receipt, RequestId};
use crate::chain::Digest;
use crate::checkpoint::Checkpoint;
use crate::db::Database;
use crate::engine::{
    append, arrivals, attachments, backups, checkpoints, meta, read, settings, snapshots,
    verify,
};
use crate::entry::{Entry, Head, LedgerId, NewEntry};
use crate::error::Result;
use crate::key::SigningKey;
use crate::setting::{Change, Setting, SettingKey};
use crate::snapshot::Found;
use crate::verdict::{Evidence, Verdict};

/// When a backup was made, and of what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackupNote {
    /// Number of the last entry in the backup.
    pub number: u64,
    /// When it was made: RFC 3339.
    pub at: String,
}

/// An append-only, hash-chained store of entries.
///
/// The trait asks for nothing that one file or one process could give alone: numbers are
/// the only concurrency control, and every judgement about the chain is made by
/// [`crate::chain`], whatever the database.
pub trait Store: Send {
    /// The ledger's id.
    fn id(&self) -> Result<LedgerId>;

    /// The last entry's number and digest.
    fn head(&self) -> Result<Head>;

    /// Appends all entries of `batch` in one durable transaction after entry `expected`,
    /// and returns the new head. When this returns `Ok`, the batch is on disk.
    ///
    /// An empty batch changes nothing and still checks `expected`.
    ///
    /// # Errors
    ///
    /// [`LedgerError::Moved`](crate::LedgerError::Moved) if the last entry isn't
    /// `expected`: someone else appended since. `Refused` if an entry may not be stored,
    /// `Damaged` if the ledger's end doesn't fit its head. In all of these nothing was
    /// written. After any other error (a disk that fails in the midst of it) look at
    /// [`Store::head`]: the batch is there whole or not at all.
    fn append(&mut self, expected: u64, batch: &[NewEntry]) -> Result<Head>;

    /// Appends several batches, perhaps of different writers, in one durable transaction,
    /// one after another behind entry `expected`, and returns what became of each. All are
    /// on disk when this returns `Ok`; otherwise none is. One wait for the disk serves
    /// everybody in the group.
    ///
    /// A batch whose request is in the ledger already, or stands earlier in the group, is
    /// not appended again; its receipt is that of the first time. If that holds for every
    /// batch, `expected` may be anything: an answer that was lost can be had again however
    /// far the ledger has moved on. Whether entries or only the request are the same isn't
    /// compared. A batch without entries leaves no trace, and so its request none either.
    ///
    /// # Errors
    ///
    /// As for [`Store::append`].
    fn append_all(&mut self, expected: u64, batches: &[Batch]) -> Result<Vec<Receipt>>;

    /// What became of a request, if it is in the ledger. Whoever decides on a request by
    /// what was entered before asks this first.
    fn receipt(&self, request: &RequestId) -> Result<Option<Receipt>>;

    /// Shows the entries after number `after`, in order, until `visit` breaks off. Entries
    /// appended meanwhile aren't seen. Memory doesn't grow with the length of the ledger.
    ///
    /// Each entry is checked against the one before it, so that nothing can be built on a
    /// tampered history unnoticed; only the part before `after` is taken on trust.
    ///
    /// # Errors
    ///
    /// `Damaged` at the first entry that doesn't fit: what was shown before it was sound.
    /// `Beyond` if `after` is greater than the head, which means that entries have been
    /// lost since it was noted.
    fn read(
        &self,
        after: u64,
        visit: &mut dyn FnMut(Entry) -> ControlFlow<()>,
    ) -> Result<()>;

    /// Walks over everything, computes every digest again, and tells what is wrong: in
    /// entries, stored checkpoints, attachments, tables. What was noted elsewhere is held
    /// against it too.
    ///
    /// # Errors
    ///
    /// Only if the check itself can't be made; damage is a finding, not an error.
    fn verify_against(&self, evidence: &Evidence<'_>) -> Result<Verdict>;

    /// The same with at most one head that was noted elsewhere.
    ///
    /// # Errors
    ///
    /// As for [`Store::verify_against`].
    fn verify(&self, witness: Option<&Head>) -> Result<Verdict> {
        self.verify_against(&Evidence { head: witness.copied(), ..Evidence::default() })
    }

    /// What somebody should know who relies on this store, a sentence each: that a server
    /// may lose what it acknowledged, for instance.
    ///
    /// # Errors
    ///
    /// If it can't be asked.
    fn notices(&self) -> Result<Vec<String>>;

    /// Signs the head as it is, at the time `at` (RFC 3339), stores the checkpoint, and
    /// returns it, so that it can be kept elsewhere too.
    ///
    /// # Errors
    ///
    /// `Refused` if `at` is no time.
    fn sign_checkpoint(&mut self, key: &SigningKey, at: &str) -> Result<Checkpoint>;

    /// The stored checkpoints, in the order they were signed.
    fn checkpoints(&self) -> Result<Vec<Checkpoint>>;

    /// Stores an attachment and returns its digest, by which entries can refer to it. The
    /// same content is stored once. It is on disk when this returns `Ok`. `at` is when it was
    /// sent (RFC 3339).
    ///
    /// # Errors
    ///
    /// `Refused` if `at` is no time.
    fn put_attachment(&mut self, attachment: &Accepted, at: &str) -> Result<Attachment>;

    /// The attachments that no entry names, by their digests. It reads every entry.
    ///
    /// # Errors
    ///
    /// `Damaged` if an entry can't be read: it may be the one that names them.
    fn unnamed(&self) -> Result<Vec<Unnamed>>;

    /// Takes attachments away for good that no entry names, those of which `goes` says so, and
    /// returns them. Of those of which it isn't known when they arrived none goes: they count
    /// as arrived at `at` from now on.
    ///
    /// # Errors
    ///
    /// `Refused` if `at` is no time, and those of [`Store::unnamed`].
    fn clear_unnamed(
        &mut self,
        at: &str,
        goes: &mut dyn FnMut(&Unnamed) -> bool,
    ) -> Result<Vec<Unnamed>>;

    /// An attachment with its content, which was checked against the digest.
    ///
    /// # Errors
    ///
    /// `Damaged` if it isn't what was stored.
    fn attachment(&self, digest: &Digest) -> Result<Option<(Attachment, Vec<u8>)>>;

    /// All attachments by their digests. Which ones should be there only the entries'
    /// bodies tell; compare with what they refer to.
    fn attachments(&self) -> Result<Vec<Attachment>>;

    /// Keeps a snapshot of what was folded up to `head`; see [`crate::snapshot`]. Of all
    /// snapshots the newest two of this format stay, and none of another format.
    ///
    /// # Errors
    ///
    /// `Refused` if `head` isn't an entry of this ledger, or `format` isn't 1 to
    /// [`crate::snapshot::FORMAT_LIMIT`] bytes.
    fn put_snapshot(&mut self, head: &Head, format: &str, content: &[u8]) -> Result<()>;

    /// Throws all snapshots away.
    fn drop_snapshots(&mut self) -> Result<()>;

    /// The newest snapshot of this format that is undamaged and fits the chain.
    fn snapshot(&self, format: &str) -> Result<Found>;

    /// All settings, which are no part of the record; by kind, owner and name. Of a file of an
    /// older format that is open for reading: none.
    fn settings(&self) -> Result<Vec<Setting>>;

    /// How often settings were changed; whoever keeps them in memory compares it.
    fn setting_changes(&self) -> Result<u64>;

    /// Changes a setting in one durable transaction: `decide` sees what it holds and says
    /// what becomes of it, and nobody changes it in between.
    ///
    /// # Errors
    ///
    /// `Refused` if a part of its key or its content is too long.
    fn change_setting(
        &mut self,
        key: &SettingKey,
        decide: &mut dyn FnMut(Option<&str>) -> Change,
    ) -> Result<()>;

    /// Notes that a backup was made, in place of what was noted before.
    ///
    /// # Errors
    ///
    /// `Refused` if its time is no time.
    fn note_backup(&mut self, note: &BackupNote) -> Result<()>;

    /// The last backup that was noted.
    fn last_backup(&self) -> Result<Option<BackupNote>>;

    /// Writes a copy of the ledger as it is now to the SQLite file `path`, which must not
    /// exist, verifies the copy, and returns its head. Checkpoints, attachments and settings
    /// are in it. Readers and the writer go on meanwhile. The copy appears complete or not at all.
    ///
    /// # Errors
    ///
    /// `Exists` if there is a file at `path`; `Damaged` if the copy doesn't verify, and
    /// then nothing is left at `path`.
    fn backup_to(&self, path: &Path) -> Result<Head>;
}

/// A database that can be copied to a file.
pub(crate) trait Backup {
    fn backup(&self, path: &Path) -> Result<Head>;
}

impl<D: Database + Backup + Send> Store for D {
    fn id(&self) -> Result<LedgerId> {
        Ok(meta(self)?.id)
    }

    fn head(&self) -> Result<Head> {
        Ok(meta(self)?.head)
    }

    fn append(&mut self, expected: u64, batch: &[NewEntry]) -> Result<Head> {
        append::append(self, expected, batch)
    }

    fn append_all(&mut self, expected: u64, batches: &[Batch]) -> Result<Vec<Receipt>> {
        append::append_all(self, expected, batches)
    }

    fn receipt(&self, request: &RequestId) -> Result<Option<Receipt>> {
        append::receipt(self, request)
    }

    fn read(
        &self,
        after: u64,
        visit: &mut dyn FnMut(Entry) -> ControlFlow<()>,
    ) -> Result<()> {
        read::read(self, after, visit)
    }

    fn verify_against(&self, evidence: &Evidence<'_>) -> Result<Verdict> {
        verify::verify(self, evidence)
    }

    fn notices(&self) -> Result<Vec<String>> {
        Database::notices(self)
    }

    fn sign_checkpoint(&mut self, key: &SigningKey, at: &str) -> Result<Checkpoint> {
        checkpoints::sign(self, key, at)
    }

    fn checkpoints(&self) -> Result<Vec<Checkpoint>> {
        checkpoints::list(self)
    }

    fn put_attachment(&mut self, attachment: &Accepted, at: &str) -> Result<Attachment> {
        attachments::put(self, attachment, at)
    }

    fn unnamed(&self) -> Result<Vec<Unnamed>> {
        arrivals::unnamed(self)
    }

    fn clear_unnamed(
        &mut self,
        at: &str,
        goes: &mut dyn FnMut(&Unnamed) -> bool,
    ) -> Result<Vec<Unnamed>> {
        arrivals::clear(self, at, goes)
    }

    fn attachment(&self, digest: &Digest) -> Result<Option<(Attachment, Vec<u8>)>> {
        attachments::get(self, digest)
    }

    fn attachments(&self) -> Result<Vec<Attachment>> {
        attachments::list(self)
    }

    fn put_snapshot(&mut self, head: &Head, format: &str, content: &[u8]) -> Result<()> {
        snapshots::put(self, head, format, content)
    }

    fn drop_snapshots(&mut self) -> Result<()> {
        snapshots::clear(self)
    }

    fn snapshot(&self, format: &str) -> Result<Found> {
        snapshots::newest(self, format)
    }

    fn settings(&self) -> Result<Vec<Setting>> {
        settings::list(self)
    }

    fn setting_changes(&self) -> Result<u64> {
        settings::changes(self)
    }

    fn change_setting(
        &mut self,
        key: &SettingKey,
        decide: &mut dyn FnMut(Option<&str>) -> Change,
    ) -> Result<()> {
        settings::change(self, key, decide)
    }

    fn note_backup(&mut self, note: &BackupNote) -> Result<()> {
        backups::note(self, note)
    }

    fn last_backup(&self) -> Result<Option<BackupNote>> {
        backups::last(self)
    }

    fn backup_to(&self, path: &Path) -> Result<Head> {
        self.backup(path)
    }
}
