//! Putting a backup in the place of a ledger, after it has proved to be whole.

use std::fs;
use std::path::{Path, PathBuf};

use super::{SqliteStore, backup, files};
use crate::access::{Access, Existing};
use crate::entry::Head;
use crate::error::{LedgerError, Result};

pub(super) fn restore(from: &Path, path: &Path, existing: Existing) -> Result<Head> {
    let file = files::resolve_new(path)?;
    let _lock = files::lock(&file)?;
    if existing == Existing::Refuse {
        files::refuse_existing(&file)?;
    }
    let source = SqliteStore::open(from, Access::ReadOnly)?;
    let unfinished = files::beside(&file, ".new");
    let head = backup::verified_copy(&source, &unfinished, &file)?;
    drop(source);
    if files::refuse_existing(&file).is_err() {
        set_aside(&file)?;
    }
    files::place(&unfinished, &file)?;
    Ok(head)
}

/// Renames the ledger together with what SQLite keeps beside it. The log goes first: a
/// program killed in between leaves a file whose newest entries are in a log of another
/// name, and never a new file with an old log.
fn set_aside(file: &Path) -> Result<()> {
    let aside = free_name(file);
    for suffix in ["-wal", "-shm", ""] {
        let (from, to) = (files::beside(file, suffix), files::beside(&aside, suffix));
        match fs::rename(&from, &to) {
            Err(error)
                if suffix.is_empty() || error.kind() != std::io::ErrorKind::NotFound =>
            {
                return Err(LedgerError::io(&from, "set aside", error));
            }
            _ => {}
        }
    }
    Ok(())
}

fn free_name(file: &Path) -> PathBuf {
    let first = std::iter::once(".replaced".to_owned());
    let mut names = first.chain((2_u64..).map(|n| format!(".replaced-{n}")));
    // Some number is free.
    loop {
        let Some(suffix) = names.next() else { return files::beside(file, ".replaced") };
        let name = files::beside(file, &suffix);
        if files::refuse_existing(&name).is_ok() {
            return name;
        }
    }
}
