//! Every SQL statement, one constant each.
//!
//! Plain SQL: `$1` placeholders whose first uses are in order, and the types `BIGINT`,
//! `TEXT` and `BLOB`, for which PostgreSQL has `BYTEA`.

mod tables;

pub(crate) use tables::{
    FORMAT_WITH_ARRIVALS, FORMAT_WITH_REQUESTS, FORMAT_WITH_SETTINGS, MIGRATIONS,
    Migration,
};

pub(crate) const INSERT_META: &str = "\
INSERT INTO meta (only_row, ledger, head_number, head_digest) VALUES (1, $1, 0, $2)";

pub(crate) const SELECT_META: &str = "\
SELECT ledger, head_number, head_digest, only_row, (SELECT count(*) FROM meta)
FROM meta ORDER BY only_row";

pub(crate) const UPDATE_HEAD: &str = "\
UPDATE meta SET head_number = $1, head_digest = $2";

pub(crate) const INSERT_ENTRY: &str = "\
INSERT INTO entries
    (number, batch, recorded_at, recorded_by, kind, version, body, digest, request)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)";

pub(crate) const SELECT_PAGE: &str = "\
SELECT number, batch, recorded_at, recorded_by, kind, version, body, digest, request
FROM entries WHERE number >= $1 ORDER BY number LIMIT $2";

/// The same for a file of format 1, which is read as it is.
pub(crate) const SELECT_PAGE_1: &str = "\
SELECT number, batch, recorded_at, recorded_by, kind, version, body, digest, NULL
FROM entries WHERE number >= $1 ORDER BY number LIMIT $2";

pub(crate) const SELECT_LAST: &str = "\
SELECT number, digest FROM entries ORDER BY number DESC LIMIT 1";

pub(crate) const SELECT_DIGEST: &str = "\
SELECT number, digest FROM entries WHERE number = $1";

pub(crate) const SELECT_REQUEST: &str = "\
SELECT number, digest FROM entries WHERE request = $1";

/// The entry that opens the next batch.
pub(crate) const SELECT_NEXT_BATCH: &str = "\
SELECT number, digest FROM entries WHERE number > $1 AND batch <> $2
ORDER BY number LIMIT 1";

pub(crate) const INSERT_CHECKPOINT: &str = "\
INSERT INTO checkpoints (place, number, digest, signed_at, public_key, signature)
VALUES ((SELECT coalesce(max(place), 0) + 1 FROM checkpoints), $1, $2, $3, $4, $5)";

pub(crate) const SELECT_CHECKPOINTS: &str = "\
SELECT number, digest, signed_at, public_key, signature FROM checkpoints ORDER BY place";

pub(crate) const INSERT_ATTACHMENT: &str = "\
INSERT INTO attachments (digest, media, size) VALUES ($1, $2, $3)";

pub(crate) const INSERT_ATTACHMENT_PART: &str = "\
INSERT INTO attachment_parts (digest, part, content) VALUES ($1, $2, $3)";

pub(crate) const SELECT_ATTACHMENTS: &str = "\
SELECT digest, media, size FROM attachments ORDER BY digest";

pub(crate) const SELECT_ATTACHMENT: &str = "\
SELECT digest, media, size FROM attachments WHERE digest = $1";

pub(crate) const SELECT_ATTACHMENT_PART: &str = "\
SELECT content FROM attachment_parts WHERE digest = $1 AND part = $2";

pub(crate) const COUNT_ATTACHMENT_PARTS: &str = "\
SELECT count(*) FROM attachment_parts";

pub(crate) const PUT_ARRIVAL: &str = "\
INSERT INTO arrivals (digest, arrived_at) VALUES ($1, $2)
ON CONFLICT (digest) DO UPDATE SET arrived_at = excluded.arrived_at";

pub(crate) const SELECT_ARRIVALS: &str = "\
SELECT digest, arrived_at FROM arrivals ORDER BY digest";

pub(crate) const INSERT_CLEARING: &str = "INSERT INTO clearing (digest) VALUES ($1)";

pub(crate) const COUNT_CLEARING: &str = "SELECT count(*) FROM clearing";

pub(crate) const DELETE_CLEARED_PARTS: &str = "\
DELETE FROM attachment_parts WHERE digest IN (SELECT digest FROM clearing)";

pub(crate) const DELETE_CLEARED: &str = "\
DELETE FROM attachments WHERE digest IN (SELECT digest FROM clearing)";

pub(crate) const DELETE_CLEARED_ARRIVALS: &str = "\
DELETE FROM arrivals WHERE digest IN (SELECT digest FROM clearing)";

pub(crate) const DELETE_CLEARING: &str = "DELETE FROM clearing";

pub(crate) const INSERT_SNAPSHOT: &str = "\
INSERT INTO snapshots (place, number, digest, format, size, checksum)
VALUES ($1, $2, $3, $4, $5, $6)";

pub(crate) const INSERT_SNAPSHOT_PART: &str = "\
INSERT INTO snapshot_parts (place, part, content) VALUES ($1, $2, $3)";

pub(crate) const SELECT_NEXT_SNAPSHOT: &str = "\
SELECT coalesce(max(place), 0) + 1 FROM snapshots";

/// The newest first.
pub(crate) const SELECT_SNAPSHOTS: &str = "\
SELECT place, number, digest, size, checksum FROM snapshots WHERE format = $1
ORDER BY number DESC, place DESC";

pub(crate) const SELECT_SNAPSHOT_PART: &str = "\
SELECT content FROM snapshot_parts WHERE place = $1 AND part = $2";

/// Those of the format beyond the newest two, and those of other formats.
pub(crate) const DELETE_SNAPSHOTS: &str = "\
DELETE FROM snapshots WHERE place NOT IN (
    SELECT place FROM snapshots WHERE format = $1 ORDER BY place DESC LIMIT $2
)";

pub(crate) const DELETE_SNAPSHOT_PARTS: &str = "\
DELETE FROM snapshot_parts WHERE place NOT IN (SELECT place FROM snapshots)";

pub(crate) const SELECT_SETTINGS: &str = "\
SELECT owner, kind, name, content FROM settings ORDER BY kind, owner, name";

pub(crate) const SELECT_SETTING: &str = "\
SELECT content FROM settings WHERE owner = $1 AND kind = $2 AND name = $3";

pub(crate) const PUT_SETTING: &str = "\
INSERT INTO settings (owner, kind, name, content) VALUES ($1, $2, $3, $4)
ON CONFLICT (owner, kind, name) DO UPDATE SET content = excluded.content";

pub(crate) const DELETE_SETTING: &str = "\
DELETE FROM settings WHERE owner = $1 AND kind = $2 AND name = $3";

pub(crate) const SELECT_SETTING_CHANGES: &str = "SELECT number FROM setting_changes";

pub(crate) const COUNT_SETTING_CHANGE: &str = "\
INSERT INTO setting_changes (only_row, number) VALUES (1, 1)
ON CONFLICT (only_row) DO UPDATE SET number = setting_changes.number + 1";

pub(crate) const DELETE_BACKUPS: &str = "DELETE FROM backups";

pub(crate) const INSERT_BACKUP: &str = "\
INSERT INTO backups (only_row, number, taken_at) VALUES (1, $1, $2)";

pub(crate) const SELECT_BACKUP: &str = "SELECT number, taken_at FROM backups";

/// SQLite alone: a random id.
pub(crate) const SQLITE_RANDOM_ID: &str = "SELECT randomblob(16)";

/// SQLite alone: the tables, indexes and triggers that there are.
pub(crate) const SQLITE_SCHEMA: &str = "\
SELECT type, name, coalesce(sql, '') FROM sqlite_schema ORDER BY type, name";

/// SQLite alone: its own check of pages, indexes and constraints.
pub(crate) const SQLITE_INTEGRITY: &str = "PRAGMA integrity_check(20)";

/// PostgreSQL alone: many entries, each column as a list.
pub(crate) const POSTGRES_INSERT_ENTRIES: &str = "\
INSERT INTO entries
    (number, batch, recorded_at, recorded_by, kind, version, body, digest, request)
SELECT * FROM unnest($1::bigint[], $2::bigint[], $3::text[], $4::text[], $5::text[],
    $6::bigint[], $7::bytea[], $8::bytea[], $9::text[])";

/// PostgreSQL alone: the number and the comment of a schema.
pub(crate) const POSTGRES_FIND_SCHEMA: &str = "\
SELECT oid::bigint, coalesce(obj_description(oid, 'pg_namespace'), '')
FROM pg_namespace WHERE nspname = $1";

/// PostgreSQL alone: asks for the writer's lock, which ends with the connection.
pub(crate) const POSTGRES_TRY_LOCK: &str = "\
SELECT CASE WHEN pg_try_advisory_lock($1) THEN 1::bigint ELSE 0::bigint END";

/// PostgreSQL alone: holds the one row that every change writes, so that a second writer
/// waits even where the writer's lock was lost together with a connection.
pub(crate) const POSTGRES_LOCK_META: &str = "SELECT only_row FROM meta FOR UPDATE";

/// PostgreSQL alone: everything in the schema that could change what is stored or read,
/// one line each, as the server describes it.
pub(crate) const POSTGRES_SCHEMA: &str = "\
SELECT line FROM (
    SELECT 'column ' || c.relname || '.' || a.attname || ' '
        || format_type(a.atttypid, a.atttypmod)
        || CASE WHEN a.attnotnull THEN ' NOT NULL' ELSE '' END
        || CASE WHEN a.atthasdef THEN ' DEFAULT' ELSE '' END AS line
    FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid
    WHERE c.relnamespace = $1::bigint::oid AND c.relkind IN ('r', 'p', 'v', 'm', 'f')
        AND a.attnum > 0 AND NOT a.attisdropped
    UNION ALL
    SELECT 'relation ' || relname || ' ' || relkind::text
        || CASE WHEN relrowsecurity THEN ' row security' ELSE '' END
    FROM pg_class WHERE relnamespace = $1::bigint::oid AND relkind <> 'i'
    UNION ALL
    SELECT 'index ' || i.relname || ' ' || replace(
        pg_get_indexdef(i.oid), quote_ident(n.nspname) || '.', '')
    FROM pg_class i JOIN pg_namespace n ON n.oid = i.relnamespace
    WHERE n.oid = $1::bigint::oid AND i.relkind = 'i'
    UNION ALL
    SELECT 'constraint ' || conname || ' ' || pg_get_constraintdef(oid)
    FROM pg_constraint WHERE connamespace = $1::bigint::oid AND contype <> 'n'
    UNION ALL
    SELECT 'trigger ' || t.tgname || ' ' || c.relname || ' ' || p.proname || ' '
        || t.tgtype::text || ' ' || t.tgenabled::text
    FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
        JOIN pg_proc p ON p.oid = t.tgfoid
    WHERE c.relnamespace = $1::bigint::oid AND NOT t.tgisinternal
    UNION ALL
    SELECT 'rule ' || r.rulename || ' ' || c.relname
    FROM pg_rewrite r JOIN pg_class c ON c.oid = r.ev_class
    WHERE c.relnamespace = $1::bigint::oid
    UNION ALL
    SELECT 'function ' || proname || ' ' || prosrc
    FROM pg_proc WHERE pronamespace = $1::bigint::oid
) AS lines ORDER BY line COLLATE \"C\"";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn released_migrations_never_change() {
        let digests: Vec<String> = MIGRATIONS
            .iter()
            .map(|step| {
                let all = [step.statements, step.sqlite, step.postgres].concat();
                blake3::hash(all.join(";").as_bytes()).to_string()
            })
            .collect();
        assert_eq!(
            digests,
            [
                "5e7d4bf50fe2f42193cafb18cfe431574d0b9e98b450bc1408af4cd0e1a70d9b",
                "cee0c0c60bbf3dc3c1561555d9ce4caf1b0a7b67dfe89494ff97593644c247ae",
                "f41ac4e755a861f5ff591e96beebddda30b88915d539b80b66232718adf4046c",
                "5763ac48ba981ca130fd67d0e71db340fa529a715b1068b7ec67520e3f1c085c",
            ]
        );
    }

    #[test]
    fn placeholders_come_in_order() {
        // SQLite numbers `$1` by first use and not by the digit; PostgreSQL by the digit.
        for sql in [
            INSERT_META,
            UPDATE_HEAD,
            INSERT_ENTRY,
            SELECT_PAGE,
            SELECT_PAGE_1,
            SELECT_DIGEST,
            SELECT_REQUEST,
            SELECT_NEXT_BATCH,
            INSERT_CHECKPOINT,
            INSERT_ATTACHMENT,
            INSERT_ATTACHMENT_PART,
            SELECT_ATTACHMENT,
            SELECT_ATTACHMENT_PART,
            PUT_ARRIVAL,
            INSERT_CLEARING,
            INSERT_SNAPSHOT,
            INSERT_SNAPSHOT_PART,
            SELECT_SNAPSHOTS,
            SELECT_SNAPSHOT_PART,
            DELETE_SNAPSHOTS,
            SELECT_SETTING,
            PUT_SETTING,
            DELETE_SETTING,
            INSERT_BACKUP,
        ] {
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
