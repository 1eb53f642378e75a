//! Writing a folder.

mod csv;
mod toml;

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};

use record::{Programme, Register};

use crate::fields::{Form, KINDS, Kind, PROGRAMME, Record};
use crate::source::Suffix;
use crate::things::{Thing, write_info};

/// Why a folder was not written. Unless it is [`WriteError::Io`], nothing has happened.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// There is nothing to write: a programme says at least what it is about.
    #[error("the programme is empty: it does not say what it is about")]
    Empty,
    /// The folder holds other things.
    #[error(
        "{} holds {} and is not a programme folder; choose an empty or a new folder",
        .folder.display(), .example
    )]
    Foreign {
        /// The folder.
        folder: PathBuf,
        /// A file in it.
        example: String,
    },
    /// The folder holds a programme.
    #[error(
        "{} holds a programme already ({}); choose another folder, or allow it to be replaced",
        .folder.display(), .files.join(", ")
    )]
    Exists {
        /// The folder.
        folder: PathBuf,
        /// Its files that would be written over.
        files: Vec<String>,
    },
    /// Lists in another form would stand beside the ones that are written.
    #[error(
        "{} holds {}; a list has one file, so move them away first",
        .folder.display(), .files.join(", ")
    )]
    OtherForm {
        /// The folder.
        folder: PathBuf,
        /// The files in another form.
        files: Vec<String>,
    },
    /// A file could not be written.
    #[error("{} cannot be written", .path.display())]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
}

/// Writes a programme as a folder, which is new or empty, and returns the files in order.
///
/// [`read`](crate::read()) gives the same programme back. Each file is written under another
/// name first and renamed when all of them are complete. Nothing is ever deleted. Texts are
/// written as they are: a spreadsheet program may take one that begins with `=`, `+`, `-` or
/// `@` for a formula.
///
/// # Errors
/// When the folder holds anything that would be harmed, or cannot be written.
pub fn write(programme: &Programme, folder: &Path) -> Result<Vec<PathBuf>, WriteError> {
    written(programme, folder, false)
}

/// Like [`write()`], and the folder may hold a programme, whose files are written over. Files
/// of other names stay, and a folder of other things is refused.
///
/// # Errors
/// When the folder holds anything that would be harmed, or cannot be written.
pub fn overwrite(
    programme: &Programme,
    folder: &Path,
) -> Result<Vec<PathBuf>, WriteError> {
    written(programme, folder, true)
}

fn written(
    programme: &Programme,
    folder: &Path,
    over: bool,
) -> Result<Vec<PathBuf>, WriteError> {
    let files = files(programme)?;
    let present = present(folder)?;
    refuse(folder, &present, &files, over)?;
    let io = |path: &Path| {
        let path = path.to_owned();
        move |source| WriteError::Io { path, source }
    };
    fs::create_dir_all(folder).map_err(io(folder))?;
    let mut renames = Vec::new();
    for (name, content) in &files {
        // An empty list needs no file, but an old one must not stay.
        if content.is_none() && !present.contains(name) {
            continue;
        }
        let path = folder.join(name);
        let part = folder.join(format!(".{name}.part"));
        let text = content.as_deref().unwrap_or_default();
        let mut file = File::create(&part).map_err(io(&part))?;
        file.write_all(text.as_bytes())
            .and_then(|()| file.sync_all())
            .map_err(io(&part))?;
        renames.push((part, path));
    }
    for (part, path) in &renames {
        fs::rename(part, path).map_err(io(path))?;
    }
    Ok(renames.into_iter().map(|(_, path)| path).collect())
}

/// Each file and its content; none for an empty list.
fn files(programme: &Programme) -> Result<Vec<(String, Option<String>)>, WriteError> {
    let info = programme.info.as_ref().ok_or(WriteError::Empty)?;
    let mut files = vec![(
        "programme.toml".to_owned(),
        Some(toml::single(&PROGRAMME, &write_info(info))),
    )];
    files.extend(lists(programme).into_iter().map(|(kind, list)| file(kind, &list)));
    Ok(files)
}

/// The things of each kind, on their way out.
pub(crate) fn lists(programme: &Programme) -> Vec<(&'static Kind, Vec<Record>)> {
    let Programme { info: _, gates, skills, zones, stands, places, gear, .. } = programme;
    let Programme { arrangements, items, connections, checks, people, .. } = programme;
    let Programme { firms, routes, seasons, packs, findings, jobs, actuals, .. } =
        programme;
    let Programme { tools, requirements, rules, retention, outlines, .. } = programme;
    vec![
        records(gates),
        records(skills),
        records(zones),
        records(stands),
        records(places),
        records(gear),
        records(arrangements),
        records(items),
        records(connections),
        records(checks),
        records(people),
        records(firms),
        records(routes),
        records(seasons),
        records(packs),
        records(findings),
        records(jobs),
        records(actuals),
        records(tools),
        records(requirements),
        records(rules),
        records(retention),
        records(outlines),
    ]
}

/// The text of one thing alone, as TOML: a table of its own, or one of a list.
pub(crate) fn single_toml(kind: &Kind, record: &Record, alone: bool) -> String {
    if alone {
        toml::single(kind, record)
    } else {
        toml::list(kind, std::slice::from_ref(record))
    }
}

pub(crate) use csv::cell as csv_cell;
pub(crate) use toml::list as toml_list;

fn records<T: Thing>(things: &Register<T>) -> (&'static Kind, Vec<Record>) {
    (T::KIND, things.iter().map(Thing::write).collect())
}

fn file(kind: &'static Kind, list: &[Record]) -> (String, Option<String>) {
    match kind.form {
        Form::Csv => (format!("{}.csv", kind.file), Some(csv::list(kind, list))),
        Form::Toml | Form::TomlOnly | Form::Act | Form::Part => {
            let content = (!list.is_empty()).then(|| toml::list(kind, list));
            (format!("{}.toml", kind.file), content)
        }
    }
}

/// The names in the folder, without hidden ones; none if there is no folder yet.
fn present(folder: &Path) -> Result<BTreeSet<String>, WriteError> {
    let fault = |source| WriteError::Io { path: folder.to_owned(), source };
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            return Ok(BTreeSet::new());
        }
        Err(error) => return Err(fault(error)),
    };
    let mut names = BTreeSet::new();
    for entry in entries {
        let name = entry.map_err(fault)?.file_name().to_string_lossy().into_owned();
        if !name.starts_with('.') {
            names.insert(name);
        }
    }
    Ok(names)
}

fn refuse(
    folder: &Path,
    present: &BTreeSet<String>,
    files: &[(String, Option<String>)],
    over: bool,
) -> Result<(), WriteError> {
    let folder = folder.to_owned();
    let Some(example) = present.first() else { return Ok(()) };
    if !present.contains("programme.toml") {
        return Err(WriteError::Foreign { folder, example: example.clone() });
    }
    let ours = |name: &str| files.iter().any(|(file, _)| file == name);
    if !over {
        let files = present.iter().filter(|name| ours(name)).cloned().collect();
        return Err(WriteError::Exists { folder, files });
    }
    let other = |name: &&String| {
        let (stem, ending) = name.rsplit_once('.').unwrap_or((name.as_str(), ""));
        let list = KINDS.iter().any(|kind| kind.file == stem.to_lowercase());
        list && Suffix::of(ending).is_some() && !ours(name)
    };
    let others: Vec<String> = present.iter().filter(other).cloned().collect();
    if others.is_empty() {
        Ok(())
    } else {
        Err(WriteError::OtherForm { folder, files: others })
    }
}
