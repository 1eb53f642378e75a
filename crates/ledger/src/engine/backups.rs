//! The note of when the last backup was made, outside the chain: it says something about
//! another file, and is lost with this one.

use super::{has_more_than_entries, rows};
use crate::BackupNote;
use crate::db::{Database, Value, Writing, first};
use crate::entry::is_rfc3339;
use crate::error::{LedgerError, Result};
use crate::sql;
use crate::verdict::{Fault, FaultKind};

const DOING: &str = "note the backup";

pub(crate) fn note(db: &dyn Database, note: &BackupNote) -> Result<()> {
    if !is_rfc3339(&note.at) {
        let problem = format!("the backup's time is {:?}, no RFC 3339 time", note.at);
        let file = db.place().to_owned();
        return Err(LedgerError::Refused { file, problems: vec![problem] });
    }
    let writing = Writing::begin(db)?;
    db.execute(DOING, sql::DELETE_BACKUPS, &[])?;
    let values = [Value::Integer(note.number as i64), Value::Text(note.at.as_bytes())];
    db.execute(DOING, sql::INSERT_BACKUP, &values)?;
    writing.commit()
}

pub(crate) fn last(db: &dyn Database) -> Result<Option<BackupNote>> {
    if !has_more_than_entries(db) {
        return Ok(None);
    }
    first(db, "read the note of the last backup", sql::SELECT_BACKUP, &[], |row| {
        let read = || {
            let number = rows::count(row, 0, "number")?;
            Ok(BackupNote { number, at: rows::text(row, 1, "taken_at")?.to_owned() })
        };
        read().map_err(|kind: FaultKind| Fault::of(kind))
    })
}
