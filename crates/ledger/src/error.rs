//! What can go wrong with a ledger.

use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

use crate::verdict::Fault;

/// Result of a ledger's operation.
pub type Result<T, E = LedgerError> = std::result::Result<T, E>;

/// What went wrong, as one sentence that names the file. The cause, if there is one, is
/// the `source`; what to do about it is told by [`LedgerError::hint`].
///
/// Where the ledger is kept by a PostgreSQL server, `file` names the server, the database
/// and the schema instead, and never a password.
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
    /// PostgreSQL failed, or the connection to it.
    #[error("could not {doing} in {}", file.display())]
    Postgres {
        /// The server, the database and the schema.
        file: PathBuf,
        /// What was being done.
        doing: &'static str,
        /// What the server says.
        source: Box<::postgres::Error>,
    },
    /// What was given to reach a server can't be used.
    #[error("the connection string can't be used: {why}")]
    Connection {
        /// What is wrong with it, without a password.
        why: String,
    },
    /// The server wants a password and none was given.
    #[error("{} wants a password", file.display())]
    NoPassword {
        /// The server, the database and the schema.
        file: PathBuf,
    },
    /// A file of passwords can't be used.
    #[error("the password file {} can't be used: {why}", file.display())]
    Passwords {
        /// The file.
        file: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// The file doesn't hold a key that may be used.
    #[error("{} holds no signing key that may be used: {why}", file.display())]
    Key {
        /// The file.
        file: PathBuf,
        /// What is wrong.
        why: String,
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

const GIVE_PASSWORD: &str = "put it in the environment variable PGPASSWORD, or in a password \
     file that PGPASSFILE names (`~/.pgpass` if it is not set), so that it stands on no \
     command line";

const WRONG_PASSWORD: &str = "the name of the user or the password is wrong: compare it with PGPASSWORD, \
     with the password file, and with the address itself";

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
            Self::Postgres { file: _, doing: _, source } => return postgres_hint(source),
            Self::Connection { why: _ } => {
                "give it as `postgresql://USER@HOST:PORT/DATABASE?schema=SCHEMA`; signs \
                 that mean something there are written as `%` and two hexadecimal digits"
            }
            Self::NoPassword { file: _ } => GIVE_PASSWORD,
            Self::Passwords { file: _, why: _ } => {
                "make a file of lines `HOST:PORT:DATABASE:USER:PASSWORD` that only its \
                 owner may read (`chmod 600`)"
            }
            Self::Key { file: _, why: _ } => {
                "give the PEM file of an Ed25519 key that only its owner may read \
                 (`chmod 600`), or create a new key"
            }
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

    /// Like [`LedgerError::io`], for a file that is no ledger.
    pub(crate) fn io_of(file: &Path, doing: &'static str, source: io::Error) -> Self {
        Self::Io { file: file.to_owned(), doing, source }
    }

    pub(crate) fn postgres(
        file: &Path,
        doing: &'static str,
        source: ::postgres::Error,
    ) -> Self {
        Self::Postgres { file: file.to_owned(), doing, source: Box::new(source) }
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

fn postgres_hint(source: &::postgres::Error) -> Option<&'static str> {
    let Some(code) = source.code() else {
        return Some(
            "check that the server runs and can be reached, open the ledger again, and \
             look at its head: it tells whether the last change was kept",
        );
    };
    // Codes and classes of PostgreSQL's manual, appendix A.
    match code.code() {
        "28P01" => return Some(WRONG_PASSWORD),
        "28000" => {
            return Some(
                "the server doesn't let this user in from here; if it demands \
                 encryption, which this version doesn't speak, reach it through a tunnel; \
                 otherwise ask whoever runs it",
            );
        }
        "3D000" => {
            return Some(
                "check the database's name, or ask whoever runs the server to create it \
                 (`createdb NAME`)",
            );
        }
        _ => {}
    }
    match code.code().get(..2)? {
        "28" | "42" => Some("ask whoever runs the server for the rights to the schema"),
        "53" => Some("make room on the server, or end other programs that use it"),
        "57" => Some("the server is being shut down; repeat when it runs again"),
        "58" | "XX" => Some("the server's disk or files fail: ask whoever runs it"),
        _ if source.is_closed() => Some(
            "open the ledger again, and look at its head: it tells whether the last \
             change was kept",
        ),
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
