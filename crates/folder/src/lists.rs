//! One list by itself: what it holds, taken out as a table, and given back as a table.
//!
//! Whoever has a list in a spreadsheet gives it as it is. Its columns are matched by name, or
//! as somebody says; numbers and days are read as they are written where it comes from; and
//! what it would change is said thing by thing and field by field, or else everything that is
//! wrong with it, each at its cell. Nothing is changed here.
//!
//! - A column that the table lacks keeps what the programme says; a blank cell takes it away.
//! - A thing that the table lacks stays, unless the table is said to be the whole list.
//! - A cell that holds a formula is refused: what it comes to is for whoever made it to say.

mod around;
mod arrange;
mod habit;
mod out;

use std::collections::{BTreeMap, BTreeSet};

use record::Programme;

use crate::cell::Row;
use crate::fields::{Form, KINDS, Kind, Record};
use crate::source::grid::{self, Grid, GridRow, heading};
use crate::source::{Contents, bytes, csv, sheet, toml};
use crate::{Place, Problem, Severity};

pub use habit::{DateOrder, Decimal, Seen};
pub use out::{TableCell, as_csv, as_table, as_toml};

/// A list as people are told of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListForm {
    /// Its word: the stem of its file.
    pub list: &'static str,
    /// What one thing of it is called.
    pub noun: &'static str,
    /// What it is.
    pub doc: &'static str,
    /// Whether it can be a table; if not, its things hold things, and it is TOML.
    pub is_table: bool,
    /// Its columns; the first is the name.
    pub columns: Vec<ListColumn>,
}

/// A column of a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ListColumn {
    /// Its heading.
    pub name: &'static str,
    /// Whether each thing must have it.
    pub required: bool,
    /// What sort of thing stands in it.
    pub sort: &'static str,
    /// Whether a cell may hold several, parted by `;`.
    pub several: bool,
    /// What it means.
    pub meaning: &'static str,
    /// What somebody might write.
    pub example: &'static str,
}

/// Every list of a programme, in the order in which they build on each other.
pub fn forms() -> Vec<ListForm> {
    KINDS.iter().map(|kind| form(kind)).collect()
}

fn form(kind: &Kind) -> ListForm {
    let columns = kind.fields.iter().map(|field| ListColumn {
        name: field.name,
        required: field.required,
        sort: field.shape.noun(),
        several: field.shape.is_list(),
        meaning: field.doc,
        example: field.example,
    });
    ListForm {
        list: kind.file,
        noun: kind.noun,
        doc: kind.doc,
        is_table: kind.form != Form::TomlOnly,
        columns: columns.collect(),
    }
}

fn kind_of(list: &str) -> Option<&'static Kind> {
    KINDS.into_iter().find(|kind| kind.file == list)
}

/// How a file is to be taken.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Choice {
    /// Which list it is.
    pub list: String,
    /// Which sheet of a workbook; nothing for the one that has the list's name, or the first.
    pub sheet: Option<String>,
    /// In which row of a workbook the headings stand, from 1; nothing to look for them.
    pub head: Option<u32>,
    /// What columns hold, by their place from 0; an empty text leaves one out. What is not
    /// said goes by the heading.
    pub columns: BTreeMap<usize, String>,
    /// How fractions are written; nothing to go by the cells.
    pub decimal: Option<Decimal>,
    /// In which order days are written; nothing to go by the cells.
    pub dates: Option<DateOrder>,
    /// Whether it is the whole list: what it does not name goes.
    pub whole: bool,
    /// Whether a text was saved as Windows-1252 and not as UTF-8.
    pub western: bool,
}

/// What a file was found to be.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Looked {
    /// Its form: `CSV`, `XLSX` or `TOML`.
    pub form: &'static str,
    /// The sheets of a workbook.
    pub sheets: Vec<String>,
    /// Those of them that whoever opens it does not see.
    pub hidden: Vec<String>,
    /// Which of them was taken.
    pub sheet: Option<String>,
    /// Whether it is a text that is not UTF-8.
    pub not_unicode: bool,
    /// Its columns.
    pub columns: Vec<Heading>,
    /// How many rows that hold anything it has below the headings.
    pub rows: usize,
    /// How its fractions are written.
    pub decimal: Seen<Decimal>,
    /// In which order its days are written.
    pub dates: Seen<DateOrder>,
}

/// A column of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heading {
    /// As it is written.
    pub text: String,
    /// The field that it is taken for.
    pub field: Option<&'static str>,
    /// A field that may be meant, where it is taken for none.
    pub near: Option<&'static str>,
    /// What stands in its first cells.
    pub sample: Vec<String>,
}

/// A field with what it says and what it would say.
pub type ChangedField = (&'static str, String, String);

/// What a list would change.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Changes {
    /// New things: their name, and what is said of them.
    pub added: Vec<(String, Vec<(&'static str, String)>)>,
    /// Things that change: their name, and field, as it is, as it would be.
    pub changed: Vec<(String, Vec<ChangedField>)>,
    /// Things that go.
    pub gone: Vec<String>,
    /// How many stay as they are.
    pub same: usize,
    /// Those of these that the file does not name.
    pub unnamed: Vec<String>,
}

impl Changes {
    /// Whether there is nothing to enter.
    pub fn is_empty(&self) -> bool {
        self.added.is_empty() && self.changed.is_empty() && self.gone.is_empty()
    }
}

/// What a file comes to.
#[derive(Debug, Clone)]
pub struct Proposed {
    /// What it was found to be.
    pub looked: Looked,
    /// Everything that is wrong, and what somebody should look at.
    pub problems: Vec<Problem>,
    /// The programme as it would be; nothing if anything is wrong.
    pub programme: Option<Programme>,
    /// What would change; as far as it can be told if something is wrong.
    pub changes: Changes,
}

impl Proposed {
    fn broken(looked: Looked, problems: Vec<Problem>) -> Self {
        Self { looked, problems, programme: None, changes: Changes::default() }
    }
}

/// Takes a file for one list of a programme.
///
/// # Errors
/// If there is no such list.
pub fn propose(
    programme: &Programme,
    (name, content): (&str, &[u8]),
    choice: &Choice,
) -> Result<Proposed, Problem> {
    let place = Place::whole(name);
    let Some(kind) = kind_of(&choice.list) else {
        let known: Vec<&str> = KINDS.iter().map(|kind| kind.file).collect();
        let what = format!("there is no list `{}`", choice.list);
        return Err(Problem::error(&place, what)
            .hinting(format!("the lists are: {}", known.join(", "))));
    };
    let mut problems = Vec::new();
    let mut looked = Looked::default();
    let before = out::records(programme, kind);
    let contents =
        taken(kind, &place, content, choice, &before, &mut looked, &mut problems);
    let Some(contents) = contents else {
        return Ok(Proposed::broken(looked, sorted(problems)));
    };
    Ok(held(programme, kind, &before, contents, choice.whole, (looked, problems)))
}

/// The rows of a file, as far as there are any.
fn taken(
    kind: &'static Kind,
    place: &Place,
    content: &[u8],
    choice: &Choice,
    before: &[Record],
    looked: &mut Looked,
    problems: &mut Vec<Problem>,
) -> Option<Contents> {
    let name = place.file.to_lowercase();
    if name.rsplit('.').next() == Some("toml") {
        looked.form = "TOML";
        let text = text(place, content, choice, looked, problems)?;
        let contents = toml::rows(kind, &text, place, problems);
        looked.rows = contents.rows.len();
        return Some(contents);
    }
    if kind.form == Form::TomlOnly {
        let what = format!(
            "{} are only read as TOML: they hold tables within tables",
            kind.file
        );
        problems.push(
            Problem::error(place, what).hinting(format!("give {}.toml", kind.file)),
        );
        return None;
    }
    let (grid, formulas) = table(kind, place, content, choice, looked, problems)?;
    let holds = |row: &&GridRow| row.cells.iter().any(|cell| !cell.value.is_blank());
    looked.rows = grid.rows.iter().filter(holds).count();
    let grid =
        arrange::arrange(kind, (grid, &formulas), choice, before, looked, problems)?;
    Some(grid::rows(kind, grid, problems))
}

/// The text of a file; nothing if it is none.
fn text(
    place: &Place,
    content: &[u8],
    choice: &Choice,
    looked: &mut Looked,
    problems: &mut Vec<Problem>,
) -> Option<String> {
    let read = bytes::is_text(content, place).and_then(|()| {
        looked.not_unicode = !bytes::is_unicode(content);
        if choice.western && looked.not_unicode {
            return bytes::western(content, place);
        }
        bytes::text(content, place).map_err(|problem| {
            let hint = problem.hint.as_deref().unwrap_or_default();
            let hint = format!("{hint}; or say below that it is Windows-1252");
            if looked.not_unicode { problem.hinting(hint) } else { problem }
        })
    });
    read.map_err(|problem| problems.push(problem)).ok()
}

/// The cells of a file, and which of them hold formulas.
fn table(
    kind: &'static Kind,
    place: &Place,
    content: &[u8],
    choice: &Choice,
    looked: &mut Looked,
    problems: &mut Vec<Problem>,
) -> Option<(Grid, BTreeSet<(u32, u32)>)> {
    let is_book =
        content.starts_with(b"PK") || content.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]);
    let named_so = place.file.to_lowercase().ends_with(".xlsx");
    if !is_book && !named_so {
        looked.form = "CSV";
        let text = text(place, content, choice, looked, problems)?;
        return Some((csv::grid(kind, &text, place, problems), BTreeSet::new()));
    }
    looked.form = "XLSX";
    let wanted = sheet::Wanted { sheet: choice.sheet.as_deref(), head: choice.head };
    match sheet::taken(content.to_vec(), kind, place, wanted) {
        Ok(taken) => {
            looked.sheets = taken.sheets;
            looked.hidden = taken.hidden;
            looked.sheet = Some(taken.sheet);
            Some((taken.grid, taken.formulas))
        }
        Err(problem) => {
            problems.push(problem);
            None
        }
    }
}

/// The rows held against the rest of the programme.
fn held(
    programme: &Programme,
    kind: &'static Kind,
    before: &[Record],
    mut contents: Contents,
    whole: bool,
    (looked, mut problems): (Looked, Vec<Problem>),
) -> Proposed {
    let named: BTreeSet<String> = contents.rows.iter().filter_map(Row::name).collect();
    if !whole {
        let others = before.iter().filter(|record| !named.contains(&out::name(record)));
        contents.rows.extend(others.flat_map(|record| around::rows(kind, record)));
    }
    let lists = around::lists(programme, kind, contents);
    let wanted = crate::read::merged(&lists, &mut problems);
    for problem in &mut problems {
        around::place(problem);
    }
    let problems = sorted(problems);
    let after = out::records(&wanted, kind);
    let changes = changes(before, &after, &named);
    let sound = problems.iter().all(|problem| problem.severity != Severity::Error);
    Proposed { looked, problems, programme: sound.then_some(wanted), changes }
}

fn sorted(mut problems: Vec<Problem>) -> Vec<Problem> {
    problems.sort_by(|one, other| {
        let grave = |problem: &Problem| problem.severity != Severity::Error;
        (grave(one), &one.place).cmp(&(grave(other), &other.place))
    });
    problems.dedup();
    problems
}

fn changes(before: &[Record], after: &[Record], named: &BTreeSet<String>) -> Changes {
    let by_name = |records: &[Record]| -> BTreeMap<String, Record> {
        records.iter().map(|record| (out::name(record), record.clone())).collect()
    };
    let (was, is) = (by_name(before), by_name(after));
    let mut changes = Changes::default();
    for (name, record) in &is {
        match was.get(name) {
            None => {
                let fields = record.iter().skip(1);
                let fields = fields.map(|(field, value)| (*field, out::text(value)));
                changes.added.push((name.clone(), fields.collect()));
            }
            Some(old) if old == record => {
                changes.same += 1;
                if !named.contains(name) {
                    changes.unnamed.push(name.clone());
                }
            }
            Some(old) => changes.changed.push((name.clone(), fields(old, record))),
        }
    }
    changes.gone = was.keys().filter(|name| !is.contains_key(*name)).cloned().collect();
    changes
}

/// The fields in which two records differ.
fn fields(old: &Record, new: &Record) -> Vec<ChangedField> {
    let value = |record: &Record, field: &str| {
        let found = record.iter().find(|(name, _)| *name == field);
        found.map(|(_, value)| out::text(value)).unwrap_or_default()
    };
    let mut names: Vec<&'static str> = old.iter().map(|(name, _)| *name).collect();
    names.extend(
        new.iter()
            .map(|(name, _)| *name)
            .filter(|name| !old.iter().any(|(known, _)| known == name)),
    );
    let both = names.into_iter().map(|name| (name, value(old, name), value(new, name)));
    both.filter(|(_, was, is)| was != is).collect()
}

/// Which field a heading names, and which one it may mean.
fn field_of(kind: &'static Kind, text: &str) -> (Option<usize>, Option<&'static str>) {
    let name = heading(text);
    match kind.position(&name) {
        Some(at) => (Some(at), None),
        None => (None, crate::nearest::nearest(&name, kind.names())),
    }
}

#[cfg(test)]
mod tests;
