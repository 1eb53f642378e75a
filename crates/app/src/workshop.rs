//! The ledger and the programme that is folded from it.

use std::ops::ControlFlow;
use std::path::Path;

use ledger::{Access, Entry, NewEntry, SqliteStore, Store};
use record::{Command, Difference, Programme, decide, difference};

use crate::AppError;

/// A ledger that is open, with the programme as it stands after its last entry.
pub struct Workshop {
    store: SqliteStore,
    programme: Programme,
    number: u64,
}

/// By whom and when something is entered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signed {
    /// Who.
    pub by: String,
    /// When, in the form of RFC 3339.
    pub at: String,
}

impl Workshop {
    /// Opens a ledger that exists, for reading.
    pub fn read(file: &Path) -> Result<Self, AppError> {
        if !file.exists() {
            return Err(AppError::NoLedger(file.to_owned()));
        }
        let store =
            SqliteStore::open(file, Access::ReadOnly).map_err(AppError::Ledger)?;
        Self::fold(store)
    }

    /// Opens a ledger for writing, and makes it first if there is none.
    pub fn write(file: &Path) -> Result<Self, AppError> {
        let store = if file.exists() {
            SqliteStore::open(file, Access::ReadWrite)
        } else {
            SqliteStore::create(file)
        };
        Self::fold(store.map_err(AppError::Ledger)?)
    }

    fn fold(store: SqliteStore) -> Result<Self, AppError> {
        let mut programme = Programme::default();
        let mut number = 0;
        let mut failed = None;
        let mut visit = |entry: Entry| {
            let body = std::str::from_utf8(&entry.body).unwrap_or_default();
            match folder::stored::decode(&entry.kind, entry.version, body) {
                Ok(change) => programme.apply(&change),
                Err(source) => {
                    failed = Some(AppError::Stored { number: entry.number, source });
                    return ControlFlow::Break(());
                }
            }
            number = entry.number;
            ControlFlow::Continue(())
        };
        store.read(0, &mut visit).map_err(AppError::Ledger)?;
        failed.map_or(Ok(Self { store, programme, number }), Err)
    }

    /// The programme as it stands.
    pub fn programme(&self) -> &Programme {
        &self.programme
    }

    /// The number of the last entry.
    pub fn number(&self) -> u64 {
        self.number
    }

    /// Checks a command, enters what follows from it durably, and only then applies it.
    /// All of it happens or nothing.
    pub fn enter(
        &mut self,
        command: &Command,
        signed: &Signed,
    ) -> Result<Vec<Difference>, AppError> {
        let entries = decide(&self.programme, command).map_err(AppError::Refused)?;
        if entries.is_empty() {
            return Ok(Vec::new());
        }
        let batch: Vec<NewEntry> = entries
            .iter()
            .map(|entry| {
                let (kind, version, body) = folder::stored::encode(entry);
                NewEntry {
                    kind,
                    version,
                    body: body.into_bytes(),
                    at: signed.at.clone(),
                    by: signed.by.clone(),
                }
            })
            .collect();
        let head = self.store.append(self.number, &batch).map_err(AppError::Ledger)?;
        let differences = difference(&self.programme, &entries);
        for entry in &entries {
            self.programme.apply(entry);
        }
        self.number = head.number;
        Ok(differences)
    }
}
