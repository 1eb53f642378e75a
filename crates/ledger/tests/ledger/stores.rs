//! The databases that every case of the suite runs on.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use ledger::{Access, LedgerError, PostgresStore, SqliteStore, Store};
use tempfile::TempDir;

use crate::ID;

pub(crate) use testkit::{Found, find_server};

/// A place for one ledger, which vanishes when it is dropped.
pub(crate) trait Place: Sized + Sync {
    /// The store that keeps a ledger there.
    type Store: Store;

    /// Whether this is SQLite, where statements differ.
    const SQLITE: bool;

    /// A place without a ledger.
    fn vacant() -> Self;

    /// Creates a ledger with the id of the tests, open for writing.
    fn create(&self) -> Result<Self::Store, LedgerError>;

    /// Opens the ledger.
    fn open(&self, access: Access) -> Result<Self::Store, LedgerError>;

    /// Puts a backup there.
    fn restore(
        &self,
        from: &Path,
        existing: ledger::Existing,
    ) -> Result<ledger::Head, LedgerError>;

    /// Puts there what the version before arrivals wrote.
    fn hold_format_3(&self);

    /// Carries out statements behind the ledger's back, with triggers off.
    fn tamper(&self, sql: &str);

    /// The same with triggers on, as any other program would.
    fn meddle(&self, sql: &str) -> Result<(), String>;

    /// Bytes as this database's SQL writes them.
    fn bytes(hex: &str) -> String;

    /// What a writer in another process must be told to open or create the ledger.
    fn address(&self) -> String;
}

/// A file in a folder of its own.
pub(crate) struct Sqlite {
    folder: TempDir,
}

/// A schema of its own on the server of this process.
pub(crate) struct Postgres {
    schema: String,
}

impl Sqlite {
    pub(crate) fn path(&self) -> PathBuf {
        self.folder.path().join("a.ledger")
    }
}

impl Place for Sqlite {
    type Store = SqliteStore;

    const SQLITE: bool = true;

    fn vacant() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    fn create(&self) -> Result<SqliteStore, LedgerError> {
        SqliteStore::create_with_id(self.path(), ID)
    }

    fn open(&self, access: Access) -> Result<SqliteStore, LedgerError> {
        SqliteStore::open(self.path(), access)
    }

    fn restore(
        &self,
        from: &Path,
        existing: ledger::Existing,
    ) -> Result<ledger::Head, LedgerError> {
        SqliteStore::restore(from, self.path(), existing)
    }

    fn hold_format_3(&self) {
        std::fs::write(self.path(), crate::format::FORMAT_3).unwrap();
    }

    fn tamper(&self, sql: &str) {
        crate::raw(&self.path()).execute_batch(sql).unwrap();
    }

    fn meddle(&self, sql: &str) -> Result<(), String> {
        let conn = rusqlite::Connection::open(self.path()).unwrap();
        conn.execute_batch(sql).map_err(|error| error.to_string())
    }

    fn bytes(hex: &str) -> String {
        format!("x'{hex}'")
    }

    fn address(&self) -> String {
        self.path().display().to_string()
    }
}

impl Postgres {
    pub(crate) fn connection() -> String {
        match find_server() {
            Found::Server(server) => server.connection().to_owned(),
            Found::Nothing(why) => panic!("{why}"),
        }
    }

    /// Says of the schema what it is.
    pub(crate) fn comment(&self, comment: &str) {
        let name = format!("\"{}\"", self.schema.replace('"', "\"\""));
        let sql = format!("COMMENT ON SCHEMA {name} IS '{comment}'");
        self.client().batch_execute(&sql).unwrap();
    }

    fn client(&self) -> postgres::Client {
        let mut client =
            postgres::Client::connect(&Self::connection(), postgres::NoTls).unwrap();
        let schema = self.schema.replace('"', "\"\"");
        client.batch_execute(&format!("SET search_path TO \"{schema}\"")).unwrap();
        client
    }
}

impl Place for Postgres {
    type Store = PostgresStore;

    const SQLITE: bool = false;

    fn vacant() -> Self {
        static NEXT: AtomicU64 = AtomicU64::new(1);
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        // A quote and a space, for names are data. The process keeps runs on one server
        // apart.
        Self { schema: format!("te\"st {} {number}.", std::process::id()) }
    }

    fn create(&self) -> Result<PostgresStore, LedgerError> {
        PostgresStore::create_with_id(&Self::connection(), &self.schema, ID)
    }

    fn open(&self, access: Access) -> Result<PostgresStore, LedgerError> {
        PostgresStore::open(&Self::connection(), &self.schema, access)
    }

    fn restore(
        &self,
        from: &Path,
        existing: ledger::Existing,
    ) -> Result<ledger::Head, LedgerError> {
        PostgresStore::restore(from, &Self::connection(), &self.schema, existing)
    }

    fn hold_format_3(&self) {
        let name = format!("\"{}\"", self.schema.replace('"', "\"\""));
        let sql = crate::format::FORMAT_3_SQL.replace("format_3", &name);
        self.client().batch_execute(&sql).unwrap();
    }

    fn tamper(&self, sql: &str) {
        let mut client = self.client();
        client.batch_execute("SET session_replication_role TO replica").unwrap();
        client.batch_execute(sql).unwrap();
    }

    fn meddle(&self, sql: &str) -> Result<(), String> {
        let done = self.client().batch_execute(sql);
        done.map_err(|error| {
            error.as_db_error().map_or(error.to_string(), |error| error.message().into())
        })
    }

    fn bytes(hex: &str) -> String {
        format!("'\\x{hex}'::bytea")
    }

    fn address(&self) -> String {
        format!("{}\t{}", Self::connection(), self.schema)
    }
}

impl Drop for Postgres {
    fn drop(&mut self) {
        let schemas = "SELECT quote_ident(nspname) FROM pg_namespace \
                       WHERE starts_with(nspname, $1)";
        let mut client = self.client();
        for row in client.query(schemas, &[&self.schema]).unwrap() {
            let name: &str = row.get(0);
            client.batch_execute(&format!("DROP SCHEMA {name} CASCADE")).unwrap();
        }
    }
}
