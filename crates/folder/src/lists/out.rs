//! A list on its way out.

use record::Programme;

use crate::fields::{Kind, Out, Record};
use crate::lists::kind_of;
use crate::write;

/// A cell of a list.
#[derive(Debug, Clone, PartialEq)]
pub enum TableCell {
    /// A text; empty for nothing.
    Text(String),
    /// A number without a unit.
    Number(f64),
}

/// The things of one kind, in order of their names.
pub(super) fn records(programme: &Programme, kind: &Kind) -> Vec<Record> {
    let lists = write::lists(programme).into_iter();
    let mut own = lists.filter(|(other, _)| other.noun == kind.noun);
    own.next().map(|(_, records)| records).unwrap_or_default()
}

/// The name of a thing.
pub(super) fn name(record: &Record) -> String {
    record.first().map(|(_, value)| text(value)).unwrap_or_default()
}

/// A value as a text.
pub(super) fn text(value: &Out) -> String {
    match value {
        Out::Row(record) => inner(record),
        Out::Rows(records) => records.iter().map(inner).collect::<Vec<_>>().join("\n"),
        plain => write::csv_cell(plain),
    }
}

fn inner(record: &Record) -> String {
    let fields = record.iter().map(|(field, value)| format!("{field} {}", text(value)));
    fields.collect::<Vec<_>>().join(", ")
}

/// The headings and rows of a list; nothing if there is no such list, or it is none that can
/// be a table.
pub fn as_table(
    programme: &Programme,
    list: &str,
) -> Option<(Vec<&'static str>, Vec<Vec<TableCell>>)> {
    let kind = kind_of(list).filter(|kind| super::form(kind).is_table)?;
    let cell = |record: &Record, field: &str| {
        let found = record.iter().find(|(name, _)| *name == field);
        match found.map(|(_, value)| value) {
            None => TableCell::Text(String::new()),
            Some(Out::Count(count)) => TableCell::Number(*count as f64),
            Some(Out::Number(number)) => TableCell::Number(*number),
            Some(value) => TableCell::Text(text(value)),
        }
    };
    let rows = records(programme, kind);
    let rows =
        rows.iter().map(|record| kind.names().map(|name| cell(record, name)).collect());
    Some((kind.names().collect(), rows.collect()))
}

/// A list as CSV (RFC 4180) that spreadsheet programs open as it is: UTF-8 with a mark in
/// front, and an apostrophe before what they would take for a formula.
pub fn as_csv(programme: &Programme, list: &str) -> Option<String> {
    let (head, rows) = as_table(programme, list)?;
    let head = head.into_iter().map(|name| TableCell::Text(name.to_owned())).collect();
    let mut text = String::from('\u{feff}');
    for row in std::iter::once(head).chain(rows) {
        let row: Vec<TableCell> = row;
        let cells: Vec<String> = row.iter().map(quoted).collect();
        text.push_str(&cells.join(","));
        text.push_str("\r\n");
    }
    Some(text)
}

/// A list as TOML; nothing if there is no such list.
pub fn as_toml(programme: &Programme, list: &str) -> Option<String> {
    let kind = kind_of(list)?;
    Some(write::toml_list(kind, &records(programme, kind)))
}

/// Signs with which a cell begins that a spreadsheet program would take for a formula.
pub(super) const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

fn quoted(cell: &TableCell) -> String {
    let text = match cell {
        TableCell::Number(number) => return number.to_string(),
        TableCell::Text(text) => text,
    };
    let plain = text.trim_start_matches('\'');
    let number = text.parse::<f64>().is_ok();
    let guarded = plain.starts_with(FORMULA) && !number;
    let text = if guarded { format!("'{text}") } else { text.clone() };
    let special = |c: char| matches!(c, ',' | '"' | '\n' | '\r');
    if text.contains(special) || text.starts_with('#') || guarded {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}
