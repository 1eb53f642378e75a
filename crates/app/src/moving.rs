//! Between a programme folder and the ledger.

use std::path::{Path, PathBuf};

use folder::{Problem, Reading};
use ledger::Place;
use record::{Command, Difference, Programme};

use crate::files::write;
use crate::{AppError, Signed, Workshop};

/// A folder that is in order.
#[derive(Debug, Clone)]
pub struct Checked {
    /// How many things of each kind it holds.
    pub counts: Vec<(&'static str, usize)>,
    /// What somebody should look at.
    pub warnings: Vec<Problem>,
}

/// What loading a folder changed.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// What changed, kind by kind; empty if nothing did.
    pub differences: Vec<Difference>,
    /// What somebody should look at.
    pub warnings: Vec<Problem>,
    /// The number of the last entry.
    pub number: u64,
}

/// Reads a folder and its programme.
pub fn read_folder(dir: &Path) -> Result<Reading, AppError> {
    folder::read(dir).map_err(AppError::Folder)
}

/// Reads a folder and says what is in it, or every mistake.
pub fn check(dir: &Path) -> Result<Checked, AppError> {
    let reading = read_folder(dir)?;
    Ok(Checked { counts: counts(&reading.programme), warnings: reading.warnings })
}

fn counts(programme: &Programme) -> Vec<(&'static str, usize)> {
    vec![
        ("zones", programme.zones.len()),
        ("items", programme.items.len()),
        ("connections", programme.connections.len()),
        ("findings", programme.findings.len()),
        ("routes", programme.routes.len()),
        ("packs", programme.packs.len()),
        ("jobs", programme.jobs.len()),
        ("people", programme.people.len()),
        ("stands", programme.stands.len()),
        ("firms", programme.firms.len()),
        ("seasons", programme.seasons.len()),
    ]
}

/// Puts a folder's programme into a ledger: all of it, or nothing. What is there already
/// and the same is not entered again.
pub fn load(dir: &Path, ledger: &Place, signed: &Signed) -> Result<Loaded, AppError> {
    let reading = read_folder(dir)?;
    let mut workshop = Workshop::write(ledger)?;
    let command = Command::Restate(Box::new(reading.programme));
    let differences = workshop.enter(&command, signed)?;
    Ok(Loaded { differences, warnings: reading.warnings, number: workshop.number() })
}

/// Writes the programme of a ledger as a folder.
pub fn export(ledger: &Place, dir: &Path) -> Result<Vec<PathBuf>, AppError> {
    let workshop = Workshop::read(ledger)?;
    if workshop.programme().info.is_none() {
        return Err(AppError::Empty);
    }
    folder::write(workshop.programme(), dir).map_err(AppError::Write)
}

/// Writes a commented skeleton to begin from. The folder must be empty or not there.
pub fn new_folder(dir: &Path) -> Result<Vec<PathBuf>, AppError> {
    let taken = std::fs::read_dir(dir).is_ok_and(|mut entries| entries.next().is_some());
    if taken || dir.is_file() {
        return Err(AppError::Unknown(format!(
            "{} is there already and is not empty: choose another name",
            dir.display()
        )));
    }
    write_all(dir, folder::skeleton())
}

/// Writes the schemas and the references of the folder's files and of the acts, the schema of
/// scheduling problems, and a document that others made.
///
/// # Errors
/// If a file can't be written.
pub fn schemas(dir: &Path, other: (&str, String)) -> Result<Vec<PathBuf>, AppError> {
    let reference = [
        ("FOLDER.md".to_owned(), folder::reference()),
        ("ACTS.md".to_owned(), folder::acts::reference()),
        (other.0.to_owned(), other.1),
        ("schemas/acts.schema.json".to_owned(), folder::acts::schema()),
        ("schemas/problem.schema.json".to_owned(), problems::SCHEMA.to_owned()),
    ];
    let schemas = folder::schemas()
        .into_iter()
        .map(|(name, text)| (format!("schemas/{name}"), text));
    write_all(dir, schemas.chain(reference))
}

fn write_all(
    dir: &Path,
    files: impl IntoIterator<Item = (String, String)>,
) -> Result<Vec<PathBuf>, AppError> {
    let mut written = Vec::new();
    for (name, text) in files {
        let file = dir.join(name);
        write(&file, text.as_bytes())?;
        written.push(file);
    }
    Ok(written)
}
