//! Connecting, opening and creating.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

use ::postgres::Client;

use super::{PostgresStore, Server};
use crate::access::Access;
use crate::db::{Database, Purpose};
use crate::engine;
use crate::entry::LedgerId;
use crate::error::{LedgerError, Result};
use crate::sql;

/// The comment of a schema that is a ledger, before the number of its format.
const MARK: &str = "turnbuckle ledger, format ";

/// The comment of a schema that a backup is being restored into.
const UNFINISHED: &str = "turnbuckle ledger, being restored";

/// High half of the writer's lock (the bytes of "Turn"); the low half is the number of the
/// schema.
const LOCK: i64 = i64::from_be_bytes(*b"Turn\0\0\0\0");

/// How long a lock is waited for: the server takes a moment to notice that a program that
/// held it was killed.
const TRIES: u32 = 20;
const PAUSE: Duration = Duration::from_millis(50);

/// What a schema is.
pub(super) enum Schema {
    Absent,
    Foreign,
    Unfinished,
    Ledger { number: i64, format: u32 },
}

pub(super) fn open(server: &Server, access: Access) -> Result<PostgresStore> {
    let (schema, place) = (server.schema(), server.place());
    let mut client = server.connect()?;
    let (number, format) = match look(&mut client, &place, schema)? {
        Schema::Absent => return Err(LedgerError::NotFound { file: place }),
        Schema::Foreign | Schema::Unfinished => {
            let why = "the schema belongs to another program".to_owned();
            return Err(LedgerError::NotALedger { file: place, why });
        }
        Schema::Ledger { number, format } => (number, format),
    };
    let known = sql::MIGRATIONS.len() as u32;
    if format > known {
        return Err(LedgerError::Newer { file: place, found: format, known });
    }
    let mut store = store(client, place, access, format, number);
    store.batch("open the ledger", &format!("SET search_path TO {}", quoted(schema)))?;
    if access == Access::ReadWrite {
        lock(&store)?;
        if store.setting("synchronous_commit")? == "off" {
            store.batch("open the ledger", "SET synchronous_commit TO on")?;
        }
        if format < known {
            store.batch("bring the ledger up to date", "BEGIN")?;
            migrate(&store, schema)?;
            store.commit()?;
            store.format = known;
        }
    }
    Ok(store)
}

pub(super) fn create(server: &Server, id: Option<LedgerId>) -> Result<PostgresStore> {
    make(server, id)?;
    open(server, Access::ReadWrite)
}

/// Makes an empty ledger in a new schema.
pub(super) fn make(server: &Server, id: Option<LedgerId>) -> Result<()> {
    let doing = "create the ledger";
    let (schema, place) = (server.schema(), server.place());
    let mut client = server.connect()?;
    if !matches!(look(&mut client, &place, schema)?, Schema::Absent) {
        return Err(LedgerError::Exists { file: place });
    }
    let id = match id {
        Some(id) => id,
        None => random_id(&place)?,
    };
    let store = store(client, place, Access::ReadWrite, 0, 0);
    let name = quoted(schema);
    // Dropped without a commit, the connection takes everything back.
    store.batch(doing, "BEGIN")?;
    let made = store
        .batch(doing, &format!("CREATE SCHEMA {name}; SET LOCAL search_path TO {name}"));
    made.map_err(|error| match error {
        LedgerError::Postgres { file, doing: _, source }
            if source.code().is_some_and(|code| code.code() == "42P06") =>
        {
            LedgerError::Exists { file }
        }
        other => other,
    })?;
    migrate(&store, schema)?;
    engine::found(&store, &id)?;
    store.commit()
}

/// Carries out the migrations that the ledger hasn't seen, in the transaction that is open.
fn migrate(store: &PostgresStore, schema: &str) -> Result<()> {
    let doing = "make the tables";
    for step in &sql::MIGRATIONS[store.format as usize..] {
        for statement in step.statements.iter().chain(step.postgres) {
            store.batch(doing, &statement.replace(" BLOB ", " BYTEA "))?;
        }
    }
    comment(store, schema, &format!("{MARK}{}", sql::MIGRATIONS.len()))
}

fn random_id(place: &Path) -> Result<LedgerId> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes).map_err(|error| LedgerError::Io {
        file: place.to_owned(),
        doing: "draw an id for",
        source: std::io::Error::other(error.to_string()),
    })?;
    Ok(LedgerId::from_bytes(bytes))
}

/// What there is under the name `schema`.
pub(super) fn look(client: &mut Client, place: &Path, schema: &str) -> Result<Schema> {
    let found = client
        .query_opt(sql::POSTGRES_FIND_SCHEMA, &[&schema])
        .and_then(|row| match row {
            Some(row) => {
                Ok(Some((row.try_get::<_, i64>(0)?, row.try_get::<_, String>(1)?)))
            }
            None => Ok(None),
        })
        .map_err(|source| LedgerError::postgres(place, "look for the schema", source))?;
    let Some((number, comment)) = found else { return Ok(Schema::Absent) };
    if comment == UNFINISHED {
        return Ok(Schema::Unfinished);
    }
    let format = comment.strip_prefix(MARK).and_then(|format| format.parse().ok());
    Ok(match format {
        Some(format) if format > 0 => Schema::Ledger { number, format },
        _ => Schema::Foreign,
    })
}

fn lock(store: &PostgresStore) -> Result<()> {
    let key = LOCK | store.schema;
    for _ in 0..TRIES {
        let row = store.client.borrow_mut().query_one(sql::POSTGRES_TRY_LOCK, &[&key]);
        let taken: i64 = row
            .and_then(|row| row.try_get(0))
            .map_err(|source| store.err("take the writer's lock", source))?;
        if taken == 1 {
            return Ok(());
        }
        thread::sleep(PAUSE);
    }
    Err(LedgerError::InUse { file: store.place.clone() })
}

/// The name as SQL writes it.
pub(super) fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

fn store(
    client: Client,
    place: PathBuf,
    access: Access,
    format: u32,
    schema: i64,
) -> PostgresStore {
    PostgresStore {
        client: RefCell::new(client),
        statements: RefCell::new(BTreeMap::new()),
        place,
        access,
        format,
        schema,
        readings: Cell::new(0),
    }
}

/// Says of the new ledger in `schema` that it isn't one yet.
pub(super) fn mark_unfinished(store: &PostgresStore, schema: &str) -> Result<()> {
    comment(store, schema, UNFINISHED)
}

/// Gives the finished ledger in the schema `from` the name `to`, and what stands there the
/// name `aside`, in one transaction.
pub(super) fn place_finished(
    store: &PostgresStore,
    from: &str,
    to: &str,
    aside: Option<&str>,
) -> Result<()> {
    let rename = |from: &str, to: &str| {
        let (from, to) = (quoted(from), quoted(to));
        store.batch("rename the schema", &format!("ALTER SCHEMA {from} RENAME TO {to}"))
    };
    store.begin(Purpose::Write)?;
    if let Some(aside) = aside {
        rename(to, aside)?;
    }
    rename(from, to)?;
    comment(store, to, &format!("{MARK}{}", store.format))?;
    store.commit()
}

fn comment(store: &PostgresStore, schema: &str, comment: &str) -> Result<()> {
    let name = quoted(schema);
    store.batch("mark the schema", &format!("COMMENT ON SCHEMA {name} IS '{comment}'"))
}
