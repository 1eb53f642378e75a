//! Files of every form, taken apart into rows.

pub(crate) mod bytes;
pub(crate) mod csv;
pub(crate) mod grid;
pub(crate) mod json;
mod packed;
pub(crate) mod sheet;
pub(crate) mod toml;

use std::path::Path;

use crate::cell::Row;
use crate::fields::Kind;
use crate::{Place, Problem};

/// What a file gave.
#[derive(Debug, Default)]
pub(crate) struct Contents {
    /// The things in it, as far as they could be told apart.
    pub(crate) rows: Vec<Row>,
    /// Some of its things may be missing from the rows.
    pub(crate) broken: bool,
}

/// The forms in which a file can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Suffix {
    Toml,
    Csv,
    Xlsx,
}

impl Suffix {
    /// The form that a file's name ends in.
    pub(crate) fn of(suffix: &str) -> Option<Self> {
        match suffix.to_lowercase().as_str() {
            "toml" => Some(Self::Toml),
            "csv" => Some(Self::Csv),
            "xlsx" => Some(Self::Xlsx),
            _ => None,
        }
    }
}

/// Takes a file apart. Everything that is wrong with it goes to `problems`.
pub(crate) fn contents(
    path: &Path,
    suffix: Suffix,
    kind: &'static Kind,
    place: &Place,
    problems: &mut Vec<Problem>,
) -> Contents {
    let broken = Contents { rows: Vec::new(), broken: true };
    let bytes = match bytes::load(path, place) {
        Ok(bytes) => bytes,
        Err(problem) => {
            problems.push(problem);
            return broken;
        }
    };
    if suffix == Suffix::Xlsx {
        return match sheet::grid(bytes, kind, place) {
            Ok(grid) => grid::rows(kind, grid, problems),
            Err(problem) => {
                problems.push(problem);
                broken
            }
        };
    }
    match bytes::text(&bytes, place) {
        Ok(text) if suffix == Suffix::Toml => toml::rows(kind, &text, place, problems),
        Ok(text) => {
            let grid = csv::grid(kind, &text, place, problems);
            grid::rows(kind, grid, problems)
        }
        Err(problem) => {
            problems.push(problem);
            broken
        }
    }
}
