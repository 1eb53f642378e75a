//! Reading a folder.

pub(crate) mod files;
mod merge;

use std::path::Path;

use airframe::Severity;
use record::Programme;

use crate::{Problem, Reading, Report};

/// Reads a folder: the programme in it, or every error at once, each at its place.
///
/// A row with a mistake still counts as defined, so that what refers to it is not reported
/// as well; whatever can be said about the rest is said.
///
/// # Errors
/// When anything in it is wrong.
pub fn read(folder: &Path) -> Result<Reading, Report> {
    let (programme, mut problems) = parts(folder, true);
    problems.sort_by(|one, other| one.place.cmp(&other.place));
    problems.dedup();
    let (errors, warnings): (Vec<_>, Vec<_>) =
        problems.into_iter().partition(|problem| problem.severity == Severity::Error);
    if errors.is_empty() {
        Ok(Reading { programme, warnings })
    } else {
        Err(Report { errors, warnings })
    }
}

/// What can be read of a folder, and what is wrong with it; whether the parts fit together
/// is looked at if that is wished.
pub(crate) fn parts(folder: &Path, fitting: bool) -> (Programme, Vec<Problem>) {
    let mut problems = Vec::new();
    let programme = match files::lists(folder, &mut problems) {
        Some(lists) => merge::programme(Some(folder), &lists, fitting, &mut problems),
        None => Programme::default(),
    };
    (programme, problems)
}

/// The programme of lists that come from elsewhere, held together as a whole; photographs are
/// not looked for.
pub(crate) fn merged(lists: &files::Lists, problems: &mut Vec<Problem>) -> Programme {
    merge::programme(None, lists, true, problems)
}
