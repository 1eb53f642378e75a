//! Keeping a ledger: its key, checkpoints, attachments, backups.

use std::path::Path;

use jiff::Timestamp;
use ledger::attachment::{ATTACHMENT_LIMIT, Accepted};
use ledger::{
    BackupNote, Checkpoint, Existing, Media, Place, PublicKey, SigningKey, Store,
};

use crate::AppError;
use crate::workshop::{look_at, patient};

/// Work that is not in a backup for so long is worth a warning, in hours.
const TOO_LONG: i64 = 24;

/// A file that was attached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attached {
    /// The digest, by which acts name it.
    pub digest: String,
    /// What it is, in a word.
    pub media: String,
    /// Its media type (RFC 6838).
    pub kind: &'static str,
    /// Its size in bytes.
    pub size: u64,
    /// How many bytes of notes about place, time and device were taken out of a picture.
    pub removed: usize,
}

fn read(file: &Path) -> Result<Vec<u8>, AppError> {
    std::fs::read(file).map_err(|source| AppError::File {
        doing: "read",
        file: file.to_owned(),
        source,
    })
}

/// An attachment with its content.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// What it is, as a media type: `image/jpeg`.
    pub media: &'static str,
    /// The usual ending of a file's name, without the dot.
    pub ending: &'static str,
    /// Whether it is a picture.
    pub picture: bool,
    /// Its bytes.
    pub content: Vec<u8>,
}

/// A file that was looked at and, if it is a picture, cleaned: fit to be attached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fit(Accepted);

/// Looks at a file that somebody sent and cleans it; `limit` is its greatest size in bytes.
///
/// # Errors
/// Why it can't be attached, and what to do, in a sentence.
pub fn fit(content: &[u8], limit: usize) -> Result<Fit, String> {
    let limit = limit.min(ATTACHMENT_LIMIT);
    Accepted::new(content, limit).map(Fit).map_err(|unfit| unfit.to_string())
}

impl Fit {
    /// Whether it is a picture.
    pub fn is_picture(&self) -> bool {
        is_picture(self.0.media())
    }
}

/// Attaches files that are fit, in their order; `at` is when they were sent (RFC 3339).
pub fn attach_all(
    ledger: &Place,
    files: &[Fit],
    at: &str,
) -> Result<Vec<Attached>, AppError> {
    if files.is_empty() {
        return Ok(Vec::new());
    }
    let mut store = patient(ledger)?;
    files.iter().map(|file| put(store.as_mut(), &file.0, at)).collect()
}

/// An attachment by its digest; nothing if there is none, or the text is no digest.
pub fn attachment(ledger: &Place, digest: &str) -> Result<Option<Attachment>, AppError> {
    let Ok(digest) = digest.parse() else { return Ok(None) };
    let found = look_at(ledger)?.attachment(&digest).map_err(AppError::Ledger)?;
    Ok(found.map(|(about, content)| Attachment {
        media: about.media.name(),
        ending: about.media.extension(),
        picture: is_picture(about.media),
        content,
    }))
}

fn is_picture(media: Media) -> bool {
    matches!(media, Media::Jpeg | Media::Png | Media::WebP)
}

/// Attaches a file: a picture, a document or a text; `at` is now (RFC 3339).
pub fn attach(ledger: &Place, file: &Path, at: &str) -> Result<Attached, AppError> {
    let content = read(file)?;
    let accepted = Accepted::new(&content, ATTACHMENT_LIMIT)
        .map_err(|unfit| AppError::Unknown(format!("{}: {unfit}", file.display())))?;
    put(patient(ledger)?.as_mut(), &accepted, at)
}

fn put(
    store: &mut dyn Store,
    accepted: &Accepted,
    at: &str,
) -> Result<Attached, AppError> {
    let stored = store.put_attachment(accepted, at).map_err(AppError::Ledger)?;
    Ok(Attached {
        digest: stored.digest.to_string(),
        media: stored.media.to_string(),
        kind: stored.media.name(),
        size: stored.size,
        removed: accepted.removed(),
    })
}

/// Makes a key with which checkpoints and bundles are signed; what others know it by.
pub fn new_key(file: &Path) -> Result<PublicKey, AppError> {
    let key = SigningKey::create(file).map_err(AppError::Ledger)?;
    Ok(key.public())
}

/// Signs the ledger's head, and writes the checkpoint to a file, to be kept elsewhere.
pub fn checkpoint(
    ledger: &Place,
    key: &Path,
    out: &Path,
    at: &str,
) -> Result<Checkpoint, AppError> {
    let key = SigningKey::load(key).map_err(AppError::Ledger)?;
    let signed = patient(ledger)?.sign_checkpoint(&key, at).map_err(AppError::Ledger)?;
    crate::files::write(out, signed.to_string().as_bytes())?;
    Ok(signed)
}

/// Copies a ledger as it is to a file that is not there yet, verifies the copy, and notes
/// that this was done; the number of the last entry in it.
pub fn backup(ledger: &Place, to: &Path, at: &str) -> Result<u64, AppError> {
    let mut store = patient(ledger)?;
    let head = store.backup_to(to).map_err(AppError::Ledger)?;
    let note = BackupNote { number: head.number, at: at.to_owned() };
    store.note_backup(&note).map_err(AppError::Ledger)?;
    Ok(head.number)
}

/// Puts a backup in a ledger's place, after it was verified; the number of its last entry,
/// and whether something was there. That is set aside beside it, under a name that ends in
/// `.replaced`, or in `_replaced` for a schema of a server.
pub fn restore(backup: &Path, ledger: &Place) -> Result<(u64, bool), AppError> {
    let taken = ledger.is_taken().map_err(AppError::Ledger)?;
    let head = ledger.restore(backup, Existing::SetAside).map_err(AppError::Ledger)?;
    Ok((head.number, taken))
}

/// What to say about backups, if there is work that none holds and the last one is old.
pub fn backup_warning(
    ledger: &Place,
    now: Timestamp,
) -> Result<Option<String>, AppError> {
    let store = look_at(ledger)?;
    let number = store.head().map_err(AppError::Ledger)?.number;
    let last = store.last_backup().map_err(AppError::Ledger)?;
    let Some(note) = last else {
        return Ok((number > 0).then(|| "this ledger was never backed up".to_owned()));
    };
    let missing = number.saturating_sub(note.number);
    let made: Option<Timestamp> = note.at.parse().ok();
    let hours = made.map_or(i64::MAX, |made| (now - made).as_hours());
    Ok((missing > 0 && hours >= TOO_LONG).then(|| {
        format!(
            "{missing} entries are in no backup; the last one was made at {}",
            note.at
        )
    }))
}
