//! What is done with files around SQLite: the writer's lock, a first look at the header,
//! and putting a finished file in its place.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use crate::error::{LedgerError, Result};

const MAGIC: &[u8; 16] = b"SQLite format 3\0";

/// The lock of the one writer, held for as long as this lives.
#[derive(Debug)]
pub(super) struct WriterLock(File);

impl Drop for WriterLock {
    fn drop(&mut self) {
        // Closing alone would leave the lock with a child process that is being started at
        // this moment and has not yet closed its copy of the file.
        self.0.unlock().ok();
    }
}

/// The path with `suffix` behind the file's name.
pub(super) fn beside(file: &Path, suffix: &str) -> PathBuf {
    let mut name = OsString::from(file);
    name.push(suffix);
    PathBuf::from(name)
}

/// The path with its folder resolved, for a file that need not exist.
pub(super) fn resolve_new(path: &Path) -> Result<PathBuf> {
    let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else {
        let why = "the path names no file".to_owned();
        return Err(LedgerError::NotALedger { file: path.to_owned(), why });
    };
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let folder = folder
        .canonicalize()
        .map_err(|source| LedgerError::io(folder, "find the folder", source))?;
    Ok(folder.join(name))
}

/// Takes the lock of the one writer. The system lets it go when the process ends, however
/// it ends. The file stays: deleting it could let two writers lock two files of one name.
pub(super) fn lock(file: &Path) -> Result<WriterLock> {
    let path = beside(file, ".lock");
    let lock = OpenOptions::new()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .map_err(|source| LedgerError::io(&path, "open the lock file", source))?;
    match lock.try_lock() {
        Ok(()) => Ok(WriterLock(lock)),
        Err(TryLockError::WouldBlock) => {
            Err(LedgerError::InUse { file: file.to_owned() })
        }
        Err(TryLockError::Error(source)) => {
            Err(LedgerError::io(&path, "lock the lock file", source))
        }
    }
}

/// Looks at the file before SQLite does, which tells less clearly that a file is something
/// else, and finds only by and by that one is cut short.
pub(super) fn inspect(file: &Path) -> Result<()> {
    let io = |source| LedgerError::io(file, "read", source);
    let not = |why: &str| LedgerError::NotALedger {
        file: file.to_owned(),
        why: why.to_owned(),
    };
    if fs::metadata(file).map_err(io)?.is_dir() {
        return Err(not("it is a folder"));
    }
    let mut header = Vec::with_capacity(100);
    File::open(file).and_then(|f| f.take(100).read_to_end(&mut header)).map_err(io)?;
    if header.is_empty() {
        return Err(not("it is empty"));
    }
    if !header.starts_with(MAGIC) {
        return Err(not("it is no SQLite database"));
    }
    // With a log beside it the file may rightly be shorter than its header says. The log
    // is looked at after the header and before the length, so that a checkpoint by a
    // writer between these steps can't be taken for damage.
    if has_log(file) {
        return Ok(());
    }
    let actual = fs::metadata(file).map_err(io)?.len();
    let expected = match header.len() {
        0..100 => 100,
        _ => stated_length(&header).unwrap_or(0),
    };
    if actual < expected {
        return Err(LedgerError::CutShort { file: file.to_owned(), expected, actual });
    }
    Ok(())
}

/// Whether there is anything in a write-ahead log beside the file.
pub(super) fn has_log(file: &Path) -> bool {
    fs::metadata(beside(file, "-wal")).is_ok_and(|log| log.len() > 0)
}

/// Length in bytes according to the header (<https://www.sqlite.org/fileformat2.html>,
/// section 1.3), if the header is whole and its page count is marked as valid.
fn stated_length(header: &[u8]) -> Option<u64> {
    let word = |at: usize| header.get(at..at + 4);
    let page_size = match header.get(16..18)? {
        [0, 1] => 65_536,
        &[high, low] => u64::from(u16::from_be_bytes([high, low])),
        _ => return None,
    };
    if page_size < 512 || !page_size.is_power_of_two() {
        return None;
    }
    let pages: [u8; 4] = word(28)?.try_into().ok()?;
    (word(24)? == word(92)?).then(|| page_size * u64::from(u32::from_be_bytes(pages)))
}

/// Gives the finished file `from` the name `to`, on disk, never replacing another file.
pub(super) fn place(from: &Path, to: &Path) -> Result<()> {
    let io = |source| LedgerError::io(to, "write", source);
    File::open(from).and_then(|file| file.sync_all()).map_err(io)?;
    match fs::hard_link(from, to) {
        Ok(()) => fs::remove_file(from).map_err(io)?,
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            return Err(LedgerError::Exists { file: to.to_owned() });
        }
        // A file system without links. Here a file that appears at this very moment would
        // be replaced; the writer's lock keeps at least our own programs from that.
        Err(_) => {
            refuse_existing(to)?;
            fs::rename(from, to).map_err(io)?;
        }
    }
    sync_folder(to).map_err(io)
}

/// Refuses a path where there is anything, be it a link that leads nowhere.
pub(super) fn refuse_existing(path: &Path) -> Result<()> {
    match fs::symlink_metadata(path) {
        Ok(_) => Err(LedgerError::Exists { file: path.to_owned() }),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(LedgerError::io(path, "look at", error)),
    }
}

/// Removes a file that was never finished, with what SQLite left beside it.
pub(super) fn remove_unfinished(file: &Path) -> Result<()> {
    for suffix in ["", "-journal", "-wal", "-shm"] {
        let path = beside(file, suffix);
        match fs::remove_file(&path) {
            Ok(()) => {}
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(LedgerError::io(&path, "remove", error)),
        }
    }
    Ok(())
}

#[cfg(unix)]
fn sync_folder(file: &Path) -> io::Result<()> {
    match file.parent() {
        Some(folder) => File::open(folder)?.sync_all(),
        None => Ok(()),
    }
}

#[cfg(not(unix))]
fn sync_folder(_file: &Path) -> io::Result<()> {
    Ok(())
}
