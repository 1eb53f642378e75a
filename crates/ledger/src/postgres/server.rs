//! Where a server's ledger lies, and how the server is reached.

use std::fmt;
use std::path::{Path, PathBuf};
use std::time::Duration;

use ::postgres::config::{Host, SslMode};
use ::postgres::{Client, Config, NoTls};

use super::{connect, passwords};
use crate::error::{LedgerError, Result};

/// Longest name of a schema that PostgreSQL keeps whole, in bytes, less what is added to
/// it when it is set aside.
const NAME_LIMIT: usize = 48;

/// Longest wait for a connection unless the connection string says otherwise.
const TIMEOUT: Duration = Duration::from_secs(10);

/// A schema of a database, and how its server is reached. Printed without the password.
#[derive(Clone)]
pub struct Server {
    config: Config,
    schema: String,
}

impl Server {
    /// Takes a connection string apart, without asking the server for anything.
    ///
    /// # Errors
    ///
    /// `Connection` if it can't be used, or the schema's name can't.
    pub fn new(connection: &str, schema: &str) -> Result<Self> {
        check_name(schema)?;
        let mut config: Config =
            connection.parse().map_err(|error: ::postgres::Error| {
                let cause = std::error::Error::source(&error);
                refuse(cause.map_or_else(|| error.to_string(), ToString::to_string))
            })?;
        check(&config)?;
        if config.get_connect_timeout().is_none() {
            config.connect_timeout(TIMEOUT);
        }
        config.application_name("turnbuckle");
        Ok(Self { config, schema: schema.to_owned() })
    }

    /// Whether a password is known.
    pub fn has_password(&self) -> bool {
        self.config.get_password().is_some()
    }

    /// The same with this password.
    #[must_use]
    pub fn with_password(mut self, password: &str) -> Self {
        self.config.password(password);
        self
    }

    /// The same with the password that a file in the form of PostgreSQL's own password
    /// file (`.pgpass`) holds for this server, database and user; unchanged if it holds
    /// none.
    ///
    /// # Errors
    ///
    /// `Passwords` if it can't be read, or others may read it.
    pub fn with_password_of(self, file: &Path) -> Result<Self> {
        let text = passwords::read(file)?;
        let (host, port) = (self.hosts(), self.port().to_string());
        let user = self.config.get_user().unwrap_or_default();
        let found = passwords::find(&text, [&host, &port, self.database(), user]);
        Ok(match found {
            Some(password) => self.with_password(&password),
            None => self,
        })
    }

    /// Whether anything stands in the schema's place.
    ///
    /// # Errors
    ///
    /// `Postgres` if the server can't be asked.
    pub fn is_taken(&self) -> Result<bool> {
        let found = connect::look(&mut self.connect()?, &self.place(), &self.schema)?;
        Ok(!matches!(found, connect::Schema::Absent))
    }

    /// How errors call it.
    pub(crate) fn place(&self) -> PathBuf {
        PathBuf::from(self.to_string())
    }

    pub(super) fn schema(&self) -> &str {
        &self.schema
    }

    /// The schema of this name with something behind it.
    pub(super) fn beside(&self, suffix: &str) -> Self {
        let schema = format!("{}{suffix}", self.schema);
        Self { config: self.config.clone(), schema }
    }

    pub(super) fn connect(&self) -> Result<Client> {
        self.config.connect(NoTls).map_err(|source| {
            if !self.has_password() && wants_password(&source) {
                return LedgerError::NoPassword { file: self.place() };
            }
            LedgerError::postgres(&self.place(), "reach the server", source)
        })
    }

    fn hosts(&self) -> String {
        let name = |host: &Host| match host {
            Host::Tcp(name) => name.clone(),
            #[cfg(unix)]
            Host::Unix(folder) => folder.display().to_string(),
        };
        let hosts: Vec<String> = self.config.get_hosts().iter().map(name).collect();
        hosts.join(",")
    }

    fn port(&self) -> u16 {
        self.config.get_ports().first().copied().unwrap_or(5432)
    }

    fn database(&self) -> &str {
        self.config.get_dbname().or(self.config.get_user()).unwrap_or_default()
    }
}

impl fmt::Display for Server {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (hosts, port, database) = (self.hosts(), self.port(), self.database());
        let schema = &self.schema;
        write!(f, "PostgreSQL {hosts}:{port}, database {database}, schema {schema}")
    }
}

impl fmt::Debug for Server {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Server({self})")
    }
}

fn refuse(why: impl Into<String>) -> LedgerError {
    LedgerError::Connection { why: why.into() }
}

fn check(config: &Config) -> Result<()> {
    let is_host = |host: &Host| !matches!(host, Host::Tcp(name) if name.contains('@'));
    if !config.get_hosts().iter().all(is_host) {
        return Err(refuse(
            "its host holds a `@`: if the password has one, write it as `%40`",
        ));
    }
    if config.get_ssl_mode() == SslMode::Require {
        return Err(refuse(
            "it demands encryption, which this version doesn't speak; reach the server \
             through a tunnel, or on this machine",
        ));
    }
    if config.get_user().is_none() {
        return Err(refuse("it names no user"));
    }
    if config.get_hosts().is_empty() && config.get_hostaddrs().is_empty() {
        return Err(refuse("it names no host"));
    }
    Ok(())
}

fn check_name(schema: &str) -> Result<()> {
    let why = if schema.is_empty() {
        "the schema's name is empty".to_owned()
    } else if schema.len() > NAME_LIMIT {
        format!("the schema's name has {} bytes, more than {NAME_LIMIT}", schema.len())
    } else if schema.chars().any(char::is_control) || schema.starts_with("pg_") {
        format!("{schema:?} can't be a schema's name here")
    } else {
        return Ok(());
    };
    Err(refuse(why))
}

/// The client asks for no password itself; it says so only in words.
fn wants_password(error: &::postgres::Error) -> bool {
    let cause = std::error::Error::source(error);
    cause.is_some_and(|cause| cause.to_string() == "password missing")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(connection: &str, schema: &str) -> String {
        match Server::new(connection, schema) {
            Err(LedgerError::Connection { why }) => why,
            Err(other) => panic!("{other}"),
            Ok(_) => panic!("{connection} can be used"),
        }
    }

    #[test]
    fn what_cannot_be_used_is_refused_before_a_server_is_asked() {
        let good = "host=localhost user=a";
        for (connection, schema, told) in [
            (good, "", "the schema's name is empty"),
            (good, "pg_toast", "\"pg_toast\" can't be"),
            (good, &"x".repeat(49), "the schema's name has 49 bytes, more than 48"),
            ("host=localhost user=a sslmode=require", "s", "it demands encryption"),
            ("host=localhost", "s", "it names no user"),
            ("user=a", "s", "it names no host"),
            ("postgresql://a:b@secret@h/d", "s", "its host holds a `@`"),
            ("host=localhost server=x", "s", "unknown option `server`"),
        ] {
            let why = refused(connection, schema);
            assert!(why.starts_with(told), "{why}");
            assert!(!why.contains("secret"), "{why}");
        }
    }

    #[test]
    fn errors_name_the_place_and_no_password() {
        let server = Server::new("postgresql://a:secret@h:5433/d", "s").unwrap();
        assert_eq!(server.to_string(), "PostgreSQL h:5433, database d, schema s");
        assert!(server.has_password() && !format!("{server:?}").contains("secret"));
    }

    #[cfg(unix)]
    #[test]
    fn a_password_is_found_in_a_file_that_only_its_owner_reads() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("passwords");
        std::fs::write(&file, "# ours\nh:5433:d:b:other\n*:*:d:a:p\\:q\n").unwrap();
        let rights = |mode| std::fs::Permissions::from_mode(mode);
        std::fs::set_permissions(&file, rights(0o600)).unwrap();
        let server = Server::new("postgresql://a@h:5433/d", "s").unwrap();
        assert!(!server.has_password());
        let known = server.clone().with_password_of(&file).unwrap();
        assert_eq!(known.config.get_password(), Some(&b"p:q"[..]));
        std::fs::set_permissions(&file, rights(0o644)).unwrap();
        let error = server.with_password_of(&file).unwrap_err();
        assert!(error.to_string().contains("others may read it"), "{error}");
        assert!(!error.to_string().contains("p:q"), "{error}");
    }
}
