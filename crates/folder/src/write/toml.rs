//! Lists as TOML.

use std::fmt::Write;

use crate::fields::{Kind, Out, Record};

/// The one record of a kind.
pub(crate) fn single(kind: &Kind, record: &Record) -> String {
    let mut text = String::new();
    table(&mut text, &format!("[{}]", kind.table), kind.table, record);
    text
}

/// All records of a kind.
pub(crate) fn list(kind: &Kind, records: &[Record]) -> String {
    let mut text = String::new();
    for (at, record) in records.iter().enumerate() {
        if at > 0 {
            text.push('\n');
        }
        table(&mut text, &format!("[[{}]]", kind.table), kind.table, record);
    }
    text
}

fn table(text: &mut String, head: &str, path: &str, record: &Record) {
    text.push_str(head);
    text.push('\n');
    for (field, out) in record {
        let value = match out {
            Out::Text(value) => string(value),
            Out::List(values) => {
                format!(
                    "[{}]",
                    values
                        .iter()
                        .map(|value| string(value))
                        .collect::<Vec<_>>()
                        .join(", ")
                )
            }
            Out::Flag(flag) => flag.to_string(),
            Out::Count(count) => count.to_string(),
            // The debug notation keeps a decimal point, without which it were an integer.
            Out::Number(number) => format!("{number:?}"),
            Out::Row(_) | Out::Rows(_) => continue,
        };
        // Writing to a text cannot fail.
        let _ = writeln!(text, "{field} = {value}");
    }
    // Tables come after the plain fields, or these would belong to the last table.
    for (field, out) in record {
        let path = format!("{path}.{field}");
        let (records, head) = match out {
            Out::Row(record) => (std::slice::from_ref(record), format!("[{path}]")),
            Out::Rows(records) => (records.as_slice(), format!("[[{path}]]")),
            _ => continue,
        };
        for record in records {
            text.push('\n');
            table(text, &head, &path, record);
        }
    }
}

/// A text in quotes; one of several lines in three, so that it stays readable.
fn string(text: &str) -> String {
    let many = text.contains('\n');
    let mut out = String::from(if many { "\"\"\"\n" } else { "\"" });
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\t' => out.push_str("\\t"),
            '\n' => out.push('\n'),
            c if c.is_control() => {
                // Writing to a text cannot fail.
                let _ = write!(out, "\\U{:08X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push_str(if many { "\"\"\"" } else { "\"" });
    out
}
