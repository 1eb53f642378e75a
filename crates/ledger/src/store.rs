//! What every store of a ledger can do.

use std::ops::ControlFlow;

use crate::entry::{Entry, Head, LedgerId, NewEntry};
use crate::error::Result;
use crate::verdict::Verdict;

/// An append-only, hash-chained store of entries.
///
/// The trait asks for nothing that one file or one process could give alone: numbers are
/// the only concurrency control, and every judgement about the chain is made by
/// [`crate::chain`], so that a store on a database server fits behind it too.
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

    /// Walks over everything, computes every digest again, and tells what is wrong. With a
    /// `witness`, a head noted elsewhere at an earlier time, also checks that the ledger
    /// still contains exactly that entry.
    ///
    /// # Errors
    ///
    /// Only if the check itself can't be made; damage is a finding, not an error.
    fn verify(&self, witness: Option<&Head>) -> Result<Verdict>;
}
