//! What can go wrong with a ledger.

use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

use crate::verdict::Fault;

/// Result of a ledger's operation.
pub type Result<T> = std::result::Result<T, LedgerError>;

/// What went wrong, as one sentence that names the file. The cause, if there is one, is
/// the `source`; what to do about it is told by [`LedgerError::hint`].
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LedgerError {
    /// There is no such file.
    #[error("there is no ledger at {}", file.display())]
    NotFound {
        /// Where it was looked for.
        file: PathBuf,
    },
    /// A file that would have been written exists already.
    #[error("{} exists already", file.display())]
    Exists {
        /// The file.
        file: PathBuf,
    },
    /// The file is something else.
    #[error("{} is not a ledger: {why}", file.display())]
    NotALedger {
        /// The file.
        file: PathBuf,
        /// How that shows.
        why: String,
    },
    /// The file is shorter than it says itself.
    #[error("{} is cut short: it has {actual} bytes and must have {expected}", file.display())]
    CutShort {
        /// The file.
        file: PathBuf,
        /// Bytes it must have.
        expected: u64,
        /// Bytes it has.
        actual: u64,
    },
    /// A newer version of the program made or changed the file.
    #[error(
        "{} was made by a newer version: its format is {found}, the newest known here is \
         {known}",
        file.display()
    )]
    Newer {
        /// The file.
        file: PathBuf,
        /// Its format.
        found: u32,
        /// The newest format known.
        known: u32,
    },
    /// An older version made the file, and it can't be brought up to date for reading only.
    #[error(
        "{} was made by an older version (its format is {found}, needed is {known}) and \
         is open for reading only",
        file.display()
    )]
    Older {
        /// The file.
        file: PathBuf,
        /// Its format.
        found: u32,
        /// The format needed.
        known: u32,
    },
    /// Someone else has it open for writing.
    #[error("{} is open for writing elsewhere", file.display())]
    InUse {
        /// The file.
        file: PathBuf,
    },
    /// The ledger was opened for reading only.
    #[error("{} was opened for reading only", file.display())]
    ReadOnly {
        /// The file.
        file: PathBuf,
    },
    /// Someone else appended since.
    #[error(
        "the ledger has moved on: the last entry should have been {expected} and is {actual}"
    )]
    Moved {
        /// Number of the last entry as the caller knew it.
        expected: u64,
        /// Number of the last entry as it is.
        actual: u64,
    },
    /// Entries that may not be stored.
    #[error("entries refused for {}: {}", file.display(), problems.join("; "))]
    Refused {
        /// The file.
        file: PathBuf,
        /// What is wrong with which.
        problems: Vec<String>,
    },
    /// Someone wants to read on after an entry that isn't there.
    #[error("{} ends at entry {head}, and was to be read on after {after}", file.display())]
    Beyond {
        /// The file.
        file: PathBuf,
        /// After which entry it was to be read.
        after: u64,
        /// Number of the last entry.
        head: u64,
    },
    /// The chain doesn't hold.
    #[error("{} is damaged: {fault}", file.display())]
    Damaged {
        /// The file.
        file: PathBuf,
        /// What is wrong.
        fault: Box<Fault>,
    },
    /// SQLite finds its own structure broken.
    #[error("{} is damaged: could not {doing}", file.display())]
    Corrupt {
        /// The file.
        file: PathBuf,
        /// What was being done.
        doing: &'static str,
        /// What SQLite says.
        source: rusqlite::Error,
    },
    /// The file system can't hold a write-ahead log.
    #[error(
        "{} lies on a file system that can't keep a write-ahead log (SQLite offers the \
         journal mode {mode:?} instead)",
        file.display()
    )]
    NoLog {
        /// The file.
        file: PathBuf,
        /// The journal mode on offer.
        mode: String,
    },
    /// SQLite failed.
    #[error("could not {doing} in {}", file.display())]
    Sqlite {
        /// The file.
        file: PathBuf,
        /// What was being done.
        doing: &'static str,
        /// What SQLite says.
        source: rusqlite::Error,
    },
    /// The file system failed.
    #[error("could not {doing} {}", file.display())]
    Io {
        /// The file.
        file: PathBuf,
        /// What was being done.
        doing: &'static str,
        /// What the system says.
        source: io::Error,
    },
}

impl LedgerError {
    /// What to do about it, as a sentence without a full stop, where there is advice.
    pub fn hint(&self) -> Option<&'static str> {
        Some(match self {
            Self::NotFound { file: _ } => "check the path, or create a new ledger there",
            Self::Exists { file: _ } => {
                "choose another name, or move the file away if it isn't needed"
            }
            Self::NotALedger { file: _, why: _ } => {
                "check the path; if this was the ledger, restore it from a backup"
            }
            Self::CutShort { file: _, expected: _, actual: _ } => {
                "copy it again if it is a copy; else keep the file as it is and restore \
                 the ledger from a backup"
            }
            Self::Newer { file: _, found: _, known: _ } => {
                "use the newer version; this one would not understand what it wrote"
            }
            Self::Older { file: _, found: _, known: _ } => {
                "open it for writing once, which brings it up to date"
            }
            Self::InUse { file: _ } => {
                "end the other program first; reading needs no waiting"
            }
            Self::ReadOnly { file: _ } => "open it for writing",
            Self::Moved { expected: _, actual: _ } => {
                "read what was appended since, look again whether the change still makes \
                 sense, and repeat it"
            }
            Self::Refused { file: _, problems: _ } => "nothing was written",
            Self::Beyond { file: _, after: _, head: _ } => {
                "entries have been lost, or this is another ledger: compare with a backup"
            }
            Self::Damaged { file: _, fault: _ } | Self::Corrupt { .. } => {
                "write nothing to it, keep a copy of it as it is, run the verification \
                 for the whole list, and restore from the last sound backup"
            }
            Self::NoLog { file: _, mode: _ } => {
                "keep the ledger on a local disk, not on a network share"
            }
            Self::Sqlite { file: _, doing: _, source } => return sqlite_hint(source),
            Self::Io { file: _, doing: _, source } => return io_hint(source),
        })
    }

    pub(crate) fn sqlite(
        file: &Path,
        doing: &'static str,
        source: rusqlite::Error,
    ) -> Self {
        let file = file.to_owned();
        match source.sqlite_error_code() {
            Some(ErrorCode::NotADatabase) => {
                Self::NotALedger { file, why: "SQLite can't read it".to_owned() }
            }
            Some(ErrorCode::DatabaseCorrupt) => Self::Corrupt { file, doing, source },
            _ => Self::Sqlite { file, doing, source },
        }
    }

    pub(crate) fn io(file: &Path, doing: &'static str, source: io::Error) -> Self {
        let file = file.to_owned();
        match source.kind() {
            io::ErrorKind::NotFound => Self::NotFound { file },
            _ => Self::Io { file, doing, source },
        }
    }

    pub(crate) fn damaged(file: &Path, fault: Fault) -> Self {
        Self::Damaged { file: file.to_owned(), fault: Box::new(fault) }
    }
}

fn sqlite_hint(source: &rusqlite::Error) -> Option<&'static str> {
    match source.sqlite_error_code()? {
        ErrorCode::DiskFull => Some("make room on the disk, and repeat"),
        ErrorCode::CannotOpen | ErrorCode::ReadOnly | ErrorCode::PermissionDenied => {
            Some(
                "check the rights to the file and its folder; a ledger left behind by a killed \
             program needs a folder that can be written, so copy it there together with \
             the files beside it that end in -wal and -shm",
            )
        }
        ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => {
            Some("another program holds the file; wait until it has finished, and repeat")
        }
        ErrorCode::SystemIoFailure => {
            Some("check the disk; whether the last change was kept, the head will tell")
        }
        _ => None,
    }
}

fn io_hint(source: &io::Error) -> Option<&'static str> {
    match source.kind() {
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            Some("check the rights to the file and its folder")
        }
        io::ErrorKind::StorageFull => Some("make room on the disk, and repeat"),
        io::ErrorKind::Unsupported => {
            Some("keep the ledger on a local disk, not on a network share")
        }
        _ => None,
    }
}
