//! Which ledger is meant: by the command line, or by the environment.

use std::env;
use std::ffi::OsString;
use std::path::PathBuf;

use anyhow::{Result, bail};
use app::{AppError, Place};

use crate::arguments::Ledger;

/// Names the ledger where `--ledger` does not.
const LEDGER: &str = "TURNBUCKLE_LEDGER";
/// The ledger if nothing names one.
const DEFAULT: &str = "turnbuckle.ledger";
/// What PostgreSQL's own programs look at for a password, and for a file of passwords.
const PASSWORD: &str = "PGPASSWORD";
const PASSWORD_FILE: &str = "PGPASSFILE";

impl Ledger {
    /// The place that is meant, with the password that its server may want.
    pub(crate) fn place(&self) -> Result<Place> {
        let given = self.ledger.is_some();
        let text = self.ledger.clone().or_else(|| set(LEDGER));
        let text = text.unwrap_or_else(|| DEFAULT.into());
        let place = match Place::parse(&text).map_err(AppError::Ledger)? {
            Place::Server(server) if !server.has_password() => match set(PASSWORD) {
                Some(password) => match password.to_str() {
                    Some(password) => server.with_password(password),
                    None => bail!("{PASSWORD} is no UTF-8"),
                },
                None => match password_file() {
                    Some(file) => {
                        server.with_password_of(&file).map_err(AppError::Ledger)?
                    }
                    None => *server,
                },
            },
            Place::Server(server) => {
                if given {
                    eprintln!(
                        "warning: others on this machine can read the password on the \
                         command line\n  hint: put it in {PASSWORD}, or in a password \
                         file that {PASSWORD_FILE} names"
                    );
                }
                *server
            }
            file @ Place::File(_) => return Ok(file),
        };
        Ok(Place::Server(Box::new(place)))
    }
}

/// What the environment says, if it says something.
fn set(variable: &str) -> Option<OsString> {
    env::var_os(variable).filter(|value| !value.is_empty())
}

/// The file of passwords: the one that is named, or the usual one if it is there.
fn password_file() -> Option<PathBuf> {
    set(PASSWORD_FILE).map(PathBuf::from).or_else(|| {
        let usual = env::home_dir()?.join(".pgpass");
        usual.exists().then_some(usual)
    })
}
