//! Every SQL statement, one constant each.
//!
//! Plain SQL: `$1` placeholders whose first uses are in order, and the types `BIGINT`,
//! `TEXT` and `BLOB`. PostgreSQL knows the first two, and the third after
//! `CREATE DOMAIN blob AS bytea`.

/// One step from a format of the file to the next.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Migration {
    /// Statements, carried out in one transaction.
    pub(crate) statements: &'static [&'static str],
}

/// The steps in order; the first makes format 1 of an empty database. A step that was
/// released never changes (a test holds them to it): a change is a further step.
pub(crate) const MIGRATIONS: &[Migration] =
    &[Migration { statements: &[CREATE_META, CREATE_ENTRIES] }];

const CREATE_META: &str = "\
CREATE TABLE meta (
    only_row BIGINT NOT NULL PRIMARY KEY CHECK (only_row = 1),
    ledger BLOB NOT NULL,
    head_number BIGINT NOT NULL,
    head_digest BLOB NOT NULL
)";

const CREATE_ENTRIES: &str = "\
CREATE TABLE entries (
    number BIGINT NOT NULL PRIMARY KEY CHECK (number > 0),
    batch BIGINT NOT NULL,
    recorded_at TEXT NOT NULL,
    recorded_by TEXT NOT NULL,
    kind TEXT NOT NULL,
    version BIGINT NOT NULL,
    body BLOB NOT NULL,
    digest BLOB NOT NULL
)";

pub(crate) const INSERT_META: &str = "\
INSERT INTO meta (only_row, ledger, head_number, head_digest) VALUES (1, $1, 0, $2)";

pub(crate) const SELECT_META: &str = "\
SELECT ledger, head_number, head_digest, only_row, (SELECT count(*) FROM meta)
FROM meta ORDER BY only_row";

pub(crate) const UPDATE_HEAD: &str = "\
UPDATE meta SET head_number = $1, head_digest = $2";

pub(crate) const INSERT_ENTRY: &str = "\
INSERT INTO entries
    (number, batch, recorded_at, recorded_by, kind, version, body, digest)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8)";

pub(crate) const SELECT_ALL: &str = "\
SELECT number, batch, recorded_at, recorded_by, kind, version, body, digest
FROM entries ORDER BY number";

pub(crate) const SELECT_FROM: &str = "\
SELECT number, batch, recorded_at, recorded_by, kind, version, body, digest
FROM entries WHERE number >= $1 ORDER BY number";

pub(crate) const SELECT_LAST: &str = "\
SELECT number, digest FROM entries ORDER BY number DESC LIMIT 1";

/// SQLite alone: a random id.
pub(crate) const SQLITE_RANDOM_ID: &str = "SELECT randomblob(16)";

/// SQLite alone: the tables, indexes and triggers that there are.
pub(crate) const SQLITE_SCHEMA: &str = "\
SELECT type, name, coalesce(sql, '') FROM sqlite_schema ORDER BY type, name";

/// SQLite alone: its own check of pages, indexes and constraints.
pub(crate) const SQLITE_INTEGRITY: &str = "PRAGMA integrity_check(20)";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn released_migrations_never_change() {
        let digests: Vec<String> = MIGRATIONS
            .iter()
            .map(|step| blake3::hash(step.statements.join(";").as_bytes()).to_string())
            .collect();
        assert_eq!(
            digests,
            ["5e7d4bf50fe2f42193cafb18cfe431574d0b9e98b450bc1408af4cd0e1a70d9b"]
        );
    }

    #[test]
    fn placeholders_come_in_order() {
        // SQLite numbers `$1` by first use and not by the digit; PostgreSQL by the digit.
        for sql in
            [INSERT_META, UPDATE_HEAD, INSERT_ENTRY, SELECT_ALL, SELECT_FROM, SELECT_LAST]
        {
            let found: Vec<usize> = sql
                .split('$')
                .skip(1)
                .map(|rest| {
                    let end = rest.find(|c: char| !c.is_ascii_digit());
                    rest[..end.unwrap_or(rest.len())].parse().unwrap()
                })
                .collect();
            assert_eq!(found, (1..=found.len()).collect::<Vec<_>>(), "{sql}");
        }
    }
}
