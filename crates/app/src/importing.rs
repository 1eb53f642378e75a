//! Lists of a programme that come from a spreadsheet, and go to one.
//!
//! A file is looked at first: what it was found to be, everything that is wrong with it, and
//! what it would change ([`look_at_list`]). Only then somebody signs for that
//! ([`Desk::load_list`](crate::Desk::load_list)), and what is entered is what they saw, whole or
//! not at all.

mod out;
mod uploads;

use folder::lists::{self, Choice, Looked, Proposed};
use folder::{Severity, Spot};
use record::{Command, Entry, Programme, decide};

use crate::AppError;

pub use folder::lists::{
    Changes as ListChanges, Choice as ListChoice, DateOrder, Decimal, Heading,
    ListColumn, ListForm, Seen, forms as list_forms,
};
pub use out::{ListFile, ListFormat, list_file, list_template};
pub use uploads::{MOST_UPLOAD, Upload, Uploads};

/// A file that somebody gave, as it is to be taken.
#[derive(Debug, Clone)]
pub struct ListImport {
    /// The file.
    pub upload: std::sync::Arc<Upload>,
    /// How it is to be taken.
    pub choice: Choice,
    /// What they saw that it would change: the digest of the [`ListLook`].
    pub digest: String,
}

/// A file that was looked at.
#[derive(Debug, Clone)]
pub struct ListLook {
    /// What it was found to be.
    pub looked: Looked,
    /// Everything that is wrong with it.
    pub errors: Vec<ListProblem>,
    /// What somebody should look at.
    pub warnings: Vec<ListProblem>,
    /// What it would change; as far as it can be told if something is wrong.
    pub changes: ListChanges,
    /// A digest of that, which says again what was seen.
    pub digest: String,
}

/// Something about a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListProblem {
    /// Where: file, sheet, row and column, as far as it has a place.
    pub place: String,
    /// What is wrong.
    pub what: String,
    /// What to do about it.
    pub hint: Option<String>,
}

/// What loading a list came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListLoaded {
    /// The first and the last entry.
    pub entries: (u64, u64),
    /// It was there already: the same request had been sent before.
    pub repeated: bool,
}

/// Looks at a file.
///
/// # Errors
/// If there is no such list.
pub fn look_at_list(
    programme: &Programme,
    upload: &Upload,
    choice: &Choice,
) -> Result<ListLook, AppError> {
    let made = proposed(programme, upload, choice)?;
    let digest = digest(&made.changes);
    let (mut errors, mut warnings) = (Vec::new(), Vec::new());
    for problem in &made.problems {
        let list = match problem.severity {
            Severity::Error => &mut errors,
            Severity::Warning => &mut warnings,
        };
        list.push(told(problem));
    }
    // What the record itself keeps whole is asked for here too, so that nobody signs in vain.
    if let Some(wanted) = made.programme.as_ref().filter(|_| errors.is_empty()) {
        let notes = entries(programme, wanted, &choice.list).err().unwrap_or_default();
        errors.extend(notes.into_iter().map(|note| ListProblem {
            place: String::new(),
            what: format!("{}: {}", note.subject, note.what),
            hint: note.hint,
        }));
    }
    Ok(ListLook { looked: made.looked, errors, warnings, changes: made.changes, digest })
}

fn proposed(
    programme: &Programme,
    upload: &Upload,
    choice: &Choice,
) -> Result<Proposed, AppError> {
    lists::propose(programme, (&upload.name, &upload.content), choice)
        .map_err(|problem| AppError::Unknown(problem.to_string()))
}

/// What was seen, in a form that is compared.
fn digest(changes: &ListChanges) -> String {
    let ListChanges { added, changed, gone, same: _, unnamed: _ } = changes;
    ledger::Digest::of(format!("{added:?}{changed:?}{gone:?}").as_bytes()).to_string()
}

/// The entries of one list that turn a programme into another.
fn entries(
    programme: &Programme,
    wanted: &Programme,
    list: &str,
) -> Result<Vec<Entry>, Vec<airframe::Note>> {
    let command = Command::Restate(Box::new(wanted.clone()));
    let mut entries = decide(programme, &command)?;
    let forms = lists::forms();
    let noun = forms.iter().find(|form| form.list == list).map(|form| form.noun);
    entries.retain(|entry| Some(entry.about().0) == noun);
    Ok(entries)
}

/// The entries that a file comes to, if they are those that somebody saw.
pub(crate) fn entries_of(
    programme: &Programme,
    import: &ListImport,
) -> Result<Vec<Entry>, AppError> {
    let made = proposed(programme, &import.upload, &import.choice)?;
    if digest(&made.changes) != import.digest {
        return Err(AppError::Overtaken);
    }
    let Some(wanted) = made.programme else {
        let errors = made.problems.iter().filter(|p| p.severity == Severity::Error);
        return Err(AppError::Unknown(
            errors.map(ToString::to_string).collect::<Vec<_>>().join("\n"),
        ));
    };
    entries(programme, &wanted, &import.choice.list).map_err(AppError::Refused)
}

fn told(problem: &folder::Problem) -> ListProblem {
    let place = problem.place.as_ref().map_or_else(String::new, |place| {
        let file = &place.file;
        match &place.spot {
            Spot::Whole => file.to_string(),
            Spot::Text { line, column } => {
                format!("{file}, line {line}, character {column}")
            }
            Spot::Cell { sheet, .. } => {
                let whole = place.to_string();
                let cell = whole.rsplit('!').next().unwrap_or_default();
                format!("{file}, sheet {sheet}, cell {cell}")
            }
        }
    });
    ListProblem { place, what: problem.what.clone(), hint: problem.hint.clone() }
}
