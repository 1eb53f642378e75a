//! Settings beside the record.

use super::rows;
use crate::db::{Database, Reading, Value, Writing, all, first};
use crate::error::{LedgerError, Result};
use crate::setting::{CONTENT_LIMIT, Change, NAME_LIMIT, Setting, SettingKey};
use crate::sql;
use crate::verdict::Fault;

const READING: &str = "read the settings";
const STORING: &str = "store a setting";

/// Whether the tables know settings: not so in an older file that is open for reading.
fn has_settings(db: &dyn Database) -> bool {
    db.format() >= sql::FORMAT_WITH_SETTINGS
}

/// All settings, by kind, owner and name. What can't be read is passed over: it is no record.
pub(crate) fn list(db: &dyn Database) -> Result<Vec<Setting>> {
    if !has_settings(db) {
        return Ok(Vec::new());
    }
    let found = all(db, READING, sql::SELECT_SETTINGS, &[], decode)?;
    Ok(found.into_iter().flatten().collect())
}

/// How often settings were changed.
pub(crate) fn changes(db: &dyn Database) -> Result<u64> {
    if !has_settings(db) {
        return Ok(0);
    }
    let count = |row: &[Value<'_>]| rows::count(row, 0, "number").map_err(Fault::of);
    Ok(first(db, READING, sql::SELECT_SETTING_CHANGES, &[], count)?.unwrap_or(0))
}

/// Looks at a setting and changes it, within one transaction.
pub(crate) fn change(
    db: &dyn Database,
    key: &SettingKey,
    decide: &mut dyn FnMut(Option<&str>) -> Change,
) -> Result<()> {
    refuse(db, key)?;
    let writing = Writing::begin(db)?;
    let values = values(key);
    let content = |row: &[Value<'_>]| {
        rows::text(row, 0, "content").map(str::to_owned).map_err(Fault::of)
    };
    let found = first(db, READING, sql::SELECT_SETTING, &values, content)?;
    match decide(found.as_deref()) {
        Change::Keep => return Ok(()),
        Change::Remove => db.execute(STORING, sql::DELETE_SETTING, &values)?,
        Change::Put(content) => {
            if content.len() > CONTENT_LIMIT || content.contains('\0') {
                let problem = format!(
                    "a setting holds at most {CONTENT_LIMIT} bytes and no NUL, and this has \
                     {}",
                    content.len()
                );
                return Err(refused(db, vec![problem]));
            }
            insert(db, key, &content)?;
        }
    }
    db.execute(STORING, sql::COUNT_SETTING_CHANGE, &[])?;
    writing.commit()
}

/// Puts a setting in, in a transaction that is open.
pub(crate) fn insert(db: &dyn Database, key: &SettingKey, content: &str) -> Result<()> {
    let [owner, kind, name] = values(key);
    let values = [owner, kind, name, Value::Text(content.as_bytes())];
    db.execute(STORING, sql::PUT_SETTING, &values)
}

/// All settings of one ledger into another.
pub(crate) fn copy(from: &dyn Database, to: &dyn Database) -> Result<()> {
    let _reading = Reading::begin(from)?;
    list(from)?.iter().try_for_each(|setting| insert(to, &setting.key, &setting.content))
}

fn values(key: &SettingKey) -> [Value<'_>; 3] {
    [&key.owner, &key.kind, &key.name].map(|text| Value::Text(text.as_bytes()))
}

fn refuse(db: &dyn Database, key: &SettingKey) -> Result<()> {
    let each = [("owner", &key.owner), ("kind", &key.kind), ("name", &key.name)];
    let bad = each.into_iter().filter(|(_, text)| {
        text.is_empty() || text.len() > NAME_LIMIT || text.contains('\0')
    });
    let problems: Vec<String> = bad
        .map(|(what, text)| {
            format!(
                "the {what} of a setting has 1 to {NAME_LIMIT} bytes and no NUL, and this \
                 has {}",
                text.len()
            )
        })
        .collect();
    if problems.is_empty() { Ok(()) } else { Err(refused(db, problems)) }
}

fn refused(db: &dyn Database, problems: Vec<String>) -> LedgerError {
    LedgerError::Refused { file: db.place().to_owned(), problems }
}

fn decode(row: &[Value<'_>]) -> Result<Setting, Fault> {
    let text = |at, column| rows::text(row, at, column).map(str::to_owned);
    let read = || {
        let key = SettingKey {
            kind: text(1, "kind")?,
            owner: text(0, "owner")?,
            name: text(2, "name")?,
        };
        Ok(Setting { key, content: text(3, "content")? })
    };
    read().map_err(Fault::of)
}
