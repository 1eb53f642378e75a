//! Reading a folder.

mod files;
mod merge;

use std::path::Path;

use airframe::Severity;
use record::Programme;

use crate::{Reading, Report};

/// Reads a folder: the programme in it, or every error at once, each at its place.
///
/// A row with a mistake still counts as defined, so that what refers to it is not reported
/// as well; whatever can be said about the rest is said.
///
/// # Errors
/// When anything in it is wrong.
pub fn read(folder: &Path) -> Result<Reading, Report> {
    let mut problems = Vec::new();
    let lists = files::lists(folder, &mut problems);
    let mut programme = Programme::default();
    if let Some(lists) = &lists {
        programme = merge::programme(folder, lists, &mut problems);
    }
    problems.sort_by(|one, other| one.place.cmp(&other.place));
    problems.dedup();
    let (errors, warnings): (Vec<_>, Vec<_>) =
        problems.into_iter().partition(|problem| problem.severity == Severity::Error);
    match errors.is_empty() {
        true => Ok(Reading { programme, warnings }),
        false => Err(Report { errors, warnings }),
    }
}
