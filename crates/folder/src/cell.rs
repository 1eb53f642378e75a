//! What every kind of file is taken apart into: rows of cells, each with its place.

use std::sync::Arc;

use crate::Place;
use crate::fields::{Kind, Shape};
use crate::notation::as_listed;

/// One thing as a file holds it, before anything is made of it.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    /// The kind of thing, whose fields the cells follow.
    pub(crate) kind: &'static Kind,
    /// For each field of the kind what was given for it.
    pub(crate) cells: Vec<Option<Cell>>,
    /// Where it begins.
    pub(crate) place: Place,
    /// The fields whose lack was reported already, for the file as a whole.
    pub(crate) gaps_known: Arc<[bool]>,
    /// Where in the row the blanks are of fields that must be given.
    pub(crate) blanks: Vec<(usize, Place)>,
}

/// One value and its place.
#[derive(Debug, Clone)]
pub(crate) struct Cell {
    pub(crate) value: Value,
    pub(crate) place: Place,
}

/// What a cell holds.
#[derive(Debug, Clone)]
pub(crate) enum Value {
    Text(String),
    Bool(bool),
    Int(i64),
    Float(f64),
    /// A date, a time or both, which the file itself knows to be one, in our notation.
    Stamp(String),
    Array(Vec<Cell>),
    Rows(Vec<Row>),
    /// Nothing, because the merged cells of this range cover it.
    Covered(String),
    /// Something that no field can hold, and why.
    Unusable(String),
    /// Something that was reported when it was met.
    Bad,
}

impl Row {
    /// A row without any cell.
    pub(crate) fn empty(kind: &'static Kind, place: Place) -> Self {
        let cells = vec![None; kind.fields.len()];
        Self {
            kind,
            cells,
            place,
            gaps_known: vec![false; kind.fields.len()].into(),
            blanks: Vec::new(),
        }
    }

    /// What it is, in a sentence: an act is known by its word, anything else by its name.
    pub(crate) fn about(&self) -> String {
        let noun = self.kind.noun;
        match self.name() {
            _ if self.kind.is_act() => format!("the act `{noun}`"),
            Some(name) => format!("the {noun} `{name}`"),
            None => format!("this {noun}"),
        }
    }

    /// What was given for a field.
    pub(crate) fn cell(&self, field: &str) -> Option<&Cell> {
        self.cells[self.kind.position(field)?].as_ref()
    }

    /// The place of a field, or else of the row.
    pub(crate) fn place_of(&self, field: &str) -> &Place {
        self.cell(field).map_or(&self.place, |cell| &cell.place)
    }

    /// The name of the thing, as it was written.
    pub(crate) fn name(&self) -> Option<String> {
        let cell = self.cells.first()?.as_ref()?;
        let name = cell.value.plain()?.trim().to_owned();
        // A name that is one of a few words is the same however it was spelt.
        let word = match self.kind.fields.first()?.shape {
            Shape::OneOf(words) => as_listed(&name, words).map(str::to_owned),
            _ => None,
        };
        word.or(Some(name)).filter(|name| !name.is_empty())
    }
}

impl Value {
    /// The text that somebody typed, if it was a text or a number.
    pub(crate) fn plain(&self) -> Option<String> {
        match self {
            Self::Text(text) => Some(text.clone()),
            Self::Int(number) => Some(number.to_string()),
            // A spreadsheet keeps every number as a fraction: 12 is 12.0 there.
            Self::Float(number) => Some(number.to_string()),
            Self::Bool(_)
            | Self::Stamp(_)
            | Self::Array(_)
            | Self::Rows(_)
            | Self::Covered(_)
            | Self::Unusable(_)
            | Self::Bad => None,
        }
    }

    /// What it is, in words.
    pub(crate) const fn noun(&self) -> &'static str {
        match self {
            Self::Text(_) => "a text",
            Self::Bool(_) => "true or false",
            Self::Int(_) | Self::Float(_) => "a number",
            Self::Stamp(_) => "a date or a time",
            Self::Array(_) => "a list",
            Self::Rows(_) => "a table",
            Self::Covered(_) | Self::Unusable(_) | Self::Bad => "nothing",
        }
    }

    /// Whether nothing was given.
    pub(crate) fn is_blank(&self) -> bool {
        match self {
            Self::Text(text) => text.trim().is_empty(),
            Self::Covered(_) => true,
            _ => false,
        }
    }
}
