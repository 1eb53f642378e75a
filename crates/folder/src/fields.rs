//! The field tables: one for each kind of thing.
//!
//! A table is the only place that says which fields a kind has. Reading, the search for
//! unknown fields, writing, stored entries, the schemas and the reference all follow it.

mod aircraft;
mod assurance;
#[cfg(test)]
mod examples;
mod seasons;
mod work;
mod workshop;

pub(crate) use aircraft::{ARRANGEMENT, CHECK, CONNECTION, ITEM, OUTLINE, POINT, ZONE};
pub(crate) use assurance::{REQUIREMENT, RETENTION, RULE, TOOL};
pub(crate) use seasons::{GATE, PROGRAMME, SEASON};
pub(crate) use work::{ACTUAL, FINDING, JOB, PACK, ROUTE, STEP};
pub(crate) use workshop::{FIRM, GEAR, PERSON, PLACE, SKILL, STAND};

/// A kind of thing.
#[derive(Debug, PartialEq)]
pub(crate) struct Kind {
    /// What one is called.
    pub(crate) noun: &'static str,
    /// The key of its tables in TOML, also the kind of its stored entries.
    pub(crate) table: &'static str,
    /// The stem of its file.
    pub(crate) file: &'static str,
    /// Two or three sentences about it.
    pub(crate) doc: &'static str,
    /// Its fields; the first is its name.
    pub(crate) fields: &'static [Field],
    /// How it is written where nobody says otherwise.
    pub(crate) form: Form,
}

/// The forms of a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    /// As TOML, or as a spreadsheet if somebody prefers that.
    Toml,
    /// As CSV, or as TOML or a spreadsheet if somebody prefers that.
    Csv,
    /// Only as TOML: it holds things within things.
    TomlOnly,
    /// An act: an object of JSON, or words on a command line.
    Act,
    /// A part of an act.
    Part,
}

/// A field of a kind.
#[derive(Debug, PartialEq)]
pub(crate) struct Field {
    /// Its name: column, key and member alike.
    pub(crate) name: &'static str,
    /// What it holds.
    pub(crate) shape: Shape,
    /// Whether it must be given.
    pub(crate) required: bool,
    /// What it means, in a sentence.
    pub(crate) doc: &'static str,
    /// What somebody might write in it.
    pub(crate) example: &'static str,
}

/// What a field holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Shape {
    Text,
    Texts,
    YesNo,
    Count,
    Chance,
    Number,
    Name(&'static str),
    Names(&'static str),
    OneOf(&'static [&'static str]),
    SomeOf(&'static [&'static str]),
    Needs,
    Crew,
    Ways,
    Work,
    Elapsed,
    WorkEstimate,
    ElapsedEstimate,
    Mass,
    Length,
    Temperature,
    Date,
    Moment,
    Spans,
    Days,
    Hours,
    Shifts,
    Heating,
    Chapter,
    Chapters,
    Currency,
    Money,
    Drawn,
    Authorities,
    JobKey,
    JobKeys,
    Limits,
    Readings,
    File,
    Files,
    Spot,
    Row(&'static Kind),
    Rows(&'static Kind),
}

/// A field's value on its way out.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Out {
    Text(String),
    List(Vec<String>),
    Flag(bool),
    Count(u64),
    Number(f64),
    Row(Record),
    Rows(Vec<Record>),
}

/// A thing on its way out: the fields that are given, in the order of the table.
pub(crate) type Record = Vec<(&'static str, Out)>;

/// Every kind of thing that has a list of its own, in the order in which they are read.
pub(crate) static KINDS: [&Kind; 23] = [
    &GATE,
    &SKILL,
    &ZONE,
    &STAND,
    &PLACE,
    &GEAR,
    &ARRANGEMENT,
    &ITEM,
    &CONNECTION,
    &CHECK,
    &PERSON,
    &FIRM,
    &ROUTE,
    &SEASON,
    &PACK,
    &FINDING,
    &JOB,
    &ACTUAL,
    &TOOL,
    &REQUIREMENT,
    &RULE,
    &RETENTION,
    &OUTLINE,
];

impl Kind {
    /// Which field a name is.
    pub(crate) fn position(&self, field: &str) -> Option<usize> {
        self.fields.iter().position(|known| known.name == field)
    }

    /// Whether it is an act of somebody.
    pub(crate) fn is_act(&self) -> bool {
        self.form == Form::Act
    }

    /// What must stand in a field that holds things of another kind, in words.
    pub(crate) fn nested(&self, field: &str) -> &'static str {
        match (self.shape(field), self.form) {
            (Some(Shape::Row(_)), _) => "an object is",
            (_, Form::Act | Form::Part) => "a list of objects is",
            (_, Form::Toml | Form::Csv | Form::TomlOnly) => "tables are",
        }
    }

    /// How to write a field that holds things of another kind.
    pub(crate) fn below(&self, field: &str) -> String {
        match self.shape(field) {
            Some(Shape::Row(part)) => {
                let first = part.fields[0].name;
                format!(
                    "write an object `\"{field}\": {{\"{first}\": ...}}`, on the command line \
                     `{field}.{first}=...`"
                )
            }
            Some(Shape::Rows(part)) if matches!(self.form, Form::Act | Form::Part) => {
                let first = part.fields[0].name;
                format!(
                    "write objects in a list `\"{field}\": [{{\"{first}\": ...}}]`, on the \
                     command line `{field}.1.{first}=...`"
                )
            }
            _ => format!("write each as a table `[[{}.{field}]]`", self.table),
        }
    }

    fn shape(&self, field: &str) -> Option<Shape> {
        self.position(field).map(|at| self.fields[at].shape)
    }

    /// The names of the fields.
    pub(crate) fn names(&self) -> impl Iterator<Item = &'static str> + Clone {
        self.fields.iter().map(|field| field.name)
    }
}

impl Shape {
    /// What it is called in a sentence.
    pub(crate) const fn noun(self) -> &'static str {
        match self {
            Self::Text => "a text",
            Self::Texts => "texts",
            Self::YesNo => "yes or no",
            Self::Count => "a whole number",
            Self::Chance => "a chance from 0 to 1",
            Self::Number => "a number",
            Self::Name(_) => "a name",
            Self::Names(_) => "names",
            Self::OneOf(_) => "one of a few words",
            Self::SomeOf(_) => "some of a few words",
            Self::Needs => "what must be out of the way",
            Self::Crew => "a crew",
            Self::Ways => "other ways to crew it",
            Self::Work => "a working time",
            Self::Elapsed => "an elapsed time",
            Self::WorkEstimate => "an estimate of working time",
            Self::ElapsedEstimate => "an estimate of elapsed time",
            Self::Mass => "a mass",
            Self::Length => "a length",
            Self::Temperature => "a temperature",
            Self::Date => "a date",
            Self::Moment => "a date and a time",
            Self::Spans => "spans of days",
            Self::Days => "days of the week",
            Self::Hours => "hours of the day",
            Self::Shifts => "shifts",
            Self::Heating => "heating periods",
            Self::Chapter => "a chapter code",
            Self::Chapters => "chapter codes",
            Self::Currency => "a currency",
            Self::Money => "an amount of money",
            Self::Drawn => "a path",
            Self::Authorities => "authorities",
            Self::JobKey => "the name of a job",
            Self::JobKeys => "names of jobs",
            Self::Limits => "what is measured, and its limits",
            Self::Readings => "measured values",
            Self::File => "an attached file, by its digest",
            Self::Files => "attached files, by their digests",
            Self::Spot => "a place on a drawing",
            Self::Row(_) => "an object",
            Self::Rows(_) => "tables",
        }
    }

    /// Whether a cell may hold several, parted by `;`.
    pub(crate) const fn is_list(self) -> bool {
        matches!(
            self,
            Self::Names(_)
                | Self::SomeOf(_)
                | Self::Ways
                | Self::Spans
                | Self::Shifts
                | Self::Heating
                | Self::Chapters
                | Self::Authorities
                | Self::JobKeys
                | Self::Texts
                | Self::Limits
                | Self::Readings
                | Self::Files
        )
    }
}

/// A field that must be given.
const fn must(
    name: &'static str,
    shape: Shape,
    doc: &'static str,
    example: &'static str,
) -> Field {
    Field { name, shape, required: true, doc, example }
}

/// A field that may be given.
const fn may(
    name: &'static str,
    shape: Shape,
    doc: &'static str,
    example: &'static str,
) -> Field {
    Field { name, shape, required: false, doc, example }
}
