//! The tables, format by format.

/// One step from a format of the tables to the next.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Migration {
    /// Statements for every database, carried out in one transaction. For PostgreSQL,
    /// `BYTEA` stands for `BLOB`.
    pub(crate) statements: &'static [&'static str],
    /// What SQLite carries out after them.
    pub(crate) sqlite: &'static [&'static str],
    /// What PostgreSQL carries out after them.
    pub(crate) postgres: &'static [&'static str],
}

/// The steps in order; the first makes format 1 of an empty database. A step that was
/// released never changes (a test holds them to it): a change is a further step.
pub(crate) const MIGRATIONS: &[Migration] = &[
    Migration { statements: &[CREATE_META, CREATE_ENTRIES], sqlite: &[], postgres: &[] },
    Migration {
        statements: &[
            "ALTER TABLE entries ADD COLUMN request TEXT",
            "CREATE UNIQUE INDEX entries_request ON entries (request) \
             WHERE request IS NOT NULL",
            CREATE_CHECKPOINTS,
            CREATE_ATTACHMENTS,
            CREATE_ATTACHMENT_PARTS,
            CREATE_SNAPSHOTS,
            CREATE_SNAPSHOT_PARTS,
            CREATE_BACKUPS,
        ],
        sqlite: SQLITE_TRIGGERS,
        postgres: POSTGRES_TRIGGERS,
    },
    Migration {
        statements: &[CREATE_SETTINGS, CREATE_SETTING_CHANGES],
        sqlite: &[],
        postgres: &[],
    },
    Migration {
        statements: &[CREATE_ARRIVALS, CREATE_CLEARING],
        sqlite: SQLITE_CLEARING,
        postgres: POSTGRES_CLEARING,
    },
];

/// The format since which an entry may carry a request id, and everything but entries.
pub(crate) const FORMAT_WITH_REQUESTS: u32 = 2;

/// The format since which settings are kept beside the record.
pub(crate) const FORMAT_WITH_SETTINGS: u32 = 3;

/// The format since which it is known when an attachment arrived, and one that no entry names
/// may be cleared away.
pub(crate) const FORMAT_WITH_ARRIVALS: u32 = 4;

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

const CREATE_CHECKPOINTS: &str = "\
CREATE TABLE checkpoints (
    place BIGINT NOT NULL PRIMARY KEY CHECK (place > 0),
    number BIGINT NOT NULL,
    digest BLOB NOT NULL,
    signed_at TEXT NOT NULL,
    public_key BLOB NOT NULL,
    signature BLOB NOT NULL
)";

const CREATE_ATTACHMENTS: &str = "\
CREATE TABLE attachments (
    digest BLOB NOT NULL PRIMARY KEY,
    media TEXT NOT NULL,
    size BIGINT NOT NULL CHECK (size > 0)
)";

const CREATE_ATTACHMENT_PARTS: &str = "\
CREATE TABLE attachment_parts (
    digest BLOB NOT NULL,
    part BIGINT NOT NULL CHECK (part > 0),
    content BLOB NOT NULL,
    PRIMARY KEY (digest, part)
)";

const CREATE_SNAPSHOTS: &str = "\
CREATE TABLE snapshots (
    place BIGINT NOT NULL PRIMARY KEY CHECK (place > 0),
    number BIGINT NOT NULL,
    digest BLOB NOT NULL,
    format TEXT NOT NULL,
    size BIGINT NOT NULL,
    checksum BLOB NOT NULL
)";

const CREATE_SNAPSHOT_PARTS: &str = "\
CREATE TABLE snapshot_parts (
    place BIGINT NOT NULL,
    part BIGINT NOT NULL CHECK (part > 0),
    content BLOB NOT NULL,
    PRIMARY KEY (place, part)
)";

const CREATE_BACKUPS: &str = "\
CREATE TABLE backups (
    only_row BIGINT NOT NULL PRIMARY KEY CHECK (only_row = 1),
    number BIGINT NOT NULL,
    taken_at TEXT NOT NULL
)";

/// No part of the record: what stands here may be changed and deleted.
const CREATE_SETTINGS: &str = "\
CREATE TABLE settings (
    owner TEXT NOT NULL,
    kind TEXT NOT NULL,
    name TEXT NOT NULL,
    content TEXT NOT NULL,
    PRIMARY KEY (owner, kind, name)
)";

const CREATE_SETTING_CHANGES: &str = "\
CREATE TABLE setting_changes (
    only_row BIGINT NOT NULL PRIMARY KEY CHECK (only_row = 1),
    number BIGINT NOT NULL
)";

/// When an attachment was last sent, by the clock of whoever took it.
const CREATE_ARRIVALS: &str = "\
CREATE TABLE arrivals (
    digest BLOB NOT NULL PRIMARY KEY,
    arrived_at TEXT NOT NULL
)";

/// Attachments that are about to go, within one transaction; empty outside of it.
const CREATE_CLEARING: &str = "\
CREATE TABLE clearing (
    digest BLOB NOT NULL PRIMARY KEY
)";

/// Nothing of the record is changed or deleted, by other programs neither, as long as they
/// don't mean to: whoever does can drop a trigger, which the verification then tells.
const SQLITE_TRIGGERS: &[&str] = &[
    "CREATE TRIGGER meta_delete BEFORE DELETE ON meta \
     BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END",
    "CREATE TRIGGER entries_update BEFORE UPDATE ON entries \
     BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END",
    "CREATE TRIGGER entries_delete BEFORE DELETE ON entries \
     BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END",
    "CREATE TRIGGER checkpoints_update BEFORE UPDATE ON checkpoints \
     BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END",
    "CREATE TRIGGER checkpoints_delete BEFORE DELETE ON checkpoints \
     BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END",
    "CREATE TRIGGER attachments_update BEFORE UPDATE ON attachments \
     BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END",
    "CREATE TRIGGER attachments_delete BEFORE DELETE ON attachments \
     BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END",
    "CREATE TRIGGER attachment_parts_update BEFORE UPDATE ON attachment_parts \
     BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END",
    "CREATE TRIGGER attachment_parts_delete BEFORE DELETE ON attachment_parts \
     BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END",
];

const POSTGRES_TRIGGERS: &[&str] = &[
    "CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS \
     'BEGIN RAISE EXCEPTION ''the ledger is append-only''; END'",
    "CREATE TRIGGER meta_delete BEFORE DELETE OR TRUNCATE ON meta \
     FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()",
    "CREATE TRIGGER entries_change BEFORE UPDATE OR DELETE OR TRUNCATE ON entries \
     FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()",
    "CREATE TRIGGER checkpoints_change BEFORE UPDATE OR DELETE OR TRUNCATE ON checkpoints \
     FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()",
    "CREATE TRIGGER attachments_change BEFORE UPDATE OR DELETE OR TRUNCATE ON attachments \
     FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()",
    "CREATE TRIGGER attachment_parts_change BEFORE UPDATE OR DELETE OR TRUNCATE \
     ON attachment_parts FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()",
];

/// An attachment goes only if it was marked to go before.
const SQLITE_CLEARING: &[&str] = &[
    "DROP TRIGGER attachments_delete",
    "DROP TRIGGER attachment_parts_delete",
    "CREATE TRIGGER attachments_delete BEFORE DELETE ON attachments \
     WHEN OLD.digest NOT IN (SELECT digest FROM clearing) \
     BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END",
    "CREATE TRIGGER attachment_parts_delete BEFORE DELETE ON attachment_parts \
     WHEN OLD.digest NOT IN (SELECT digest FROM clearing) \
     BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END",
];

const POSTGRES_CLEARING: &[&str] = &[
    "CREATE FUNCTION refuse_unless_clearing() RETURNS trigger LANGUAGE plpgsql AS \
     'BEGIN IF OLD.digest NOT IN (SELECT digest FROM clearing) THEN \
     RAISE EXCEPTION ''the ledger is append-only''; END IF; RETURN OLD; END'",
    "DROP TRIGGER attachments_change ON attachments",
    "DROP TRIGGER attachment_parts_change ON attachment_parts",
    "CREATE TRIGGER attachments_change BEFORE UPDATE OR TRUNCATE ON attachments \
     FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()",
    "CREATE TRIGGER attachment_parts_change BEFORE UPDATE OR TRUNCATE \
     ON attachment_parts FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()",
    "CREATE TRIGGER attachments_delete BEFORE DELETE ON attachments \
     FOR EACH ROW EXECUTE FUNCTION refuse_unless_clearing()",
    "CREATE TRIGGER attachment_parts_delete BEFORE DELETE ON attachment_parts \
     FOR EACH ROW EXECUTE FUNCTION refuse_unless_clearing()",
];
