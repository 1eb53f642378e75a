//! In which ways a ledger is opened, and what becomes of one that is in the way.

/// What a ledger is opened for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// For reading only; any number of programs can at any time.
    ReadOnly,
    /// For appending too; one program at a time.
    ReadWrite,
}

/// What to do with a ledger that stands where a backup is to be restored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Existing {
    /// Leave it, and refuse.
    Refuse,
    /// Set it aside under another name. It is never deleted.
    SetAside,
}
