//! Lists as CSV.

use crate::fields::{Kind, Out, Record};

/// All records of a kind under a row of headings.
pub(crate) fn list(kind: &Kind, records: &[Record]) -> String {
    let mut text = line(kind.names());
    for record in records {
        let cell = |field: &str| {
            record
                .iter()
                .find(|(name, _)| *name == field)
                .map_or_else(String::new, |(_, out)| cell(out))
        };
        let cells: Vec<String> = kind.names().map(cell).collect();
        text += &line(cells.iter().map(String::as_str));
    }
    text
}

fn line<'a>(cells: impl Iterator<Item = &'a str>) -> String {
    let mut line = cells.map(quoted).collect::<Vec<_>>().join(",");
    line.push('\n');
    line
}

/// A cell in quotes where it needs them: also where it would look like a comment.
fn quoted(cell: &str) -> String {
    let special = |c: char| matches!(c, ',' | '"' | '\n' | '\r');
    if cell.contains(special) || cell.starts_with('#') {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

/// A value as a cell holds it.
pub(crate) fn cell(out: &Out) -> String {
    match out {
        Out::Text(text) => text.clone(),
        Out::List(texts) => texts.join("; "),
        Out::Flag(true) => "yes".to_owned(),
        Out::Flag(false) => "no".to_owned(),
        Out::Count(count) => count.to_string(),
        Out::Number(number) => number.to_string(),
        // Kinds that hold tables are written as TOML alone.
        Out::Row(_) | Out::Rows(_) => String::new(),
    }
}
