//! Reading the table of crates out of a Markdown text.

use std::collections::BTreeSet;

/// One row: a crate and what it may depend on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Row {
    /// Line of the document, from 1.
    pub(super) line: usize,
    /// The crate's name.
    pub(super) name: String,
    /// Workspace crates that it depends on.
    pub(super) knows: BTreeSet<String>,
    /// Workspace crates that its tests depend on and that don't lie below it.
    pub(super) tests_may_use: BTreeSet<String>,
    /// Crates from outside the workspace that it depends on.
    pub(super) outside: BTreeSet<String>,
}

/// The whole table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Table {
    /// Line of the heading, from 1.
    pub(super) line: usize,
    /// The rows in the order of the document.
    pub(super) rows: Vec<Row>,
}

/// A fault and the line of the document that it concerns.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Fault {
    /// Line of the document, from 1.
    pub(super) line: usize,
    /// What is wrong and what to do.
    pub(super) message: String,
}

const HEADINGS: [&str; 4] = ["crate", "knows", "tests may use", "outside crates"];

/// Finds the table whose heading row names all four columns, and reads it.
pub(super) fn read(text: &str) -> Result<Table, Fault> {
    let lines: Vec<&str> = text.lines().collect();
    let found = lines
        .iter()
        .enumerate()
        .find_map(|(index, line)| columns(line).map(|columns| (index, columns)));
    let Some((heading, columns)) = found else {
        return Err(Fault {
            line: 1,
            message: format!(
                "no table has the columns {}; add one with a row for each crate",
                HEADINGS.map(|heading| format!("\"{heading}\"")).join(", ")
            ),
        });
    };
    let body = lines.iter().enumerate().skip(heading + 2);
    let rows = body
        .take_while(|(_, line)| line.trim_start().starts_with('|'))
        .map(|(index, line)| row(index + 1, line, columns))
        .collect::<Result<Vec<Row>, Fault>>()?;
    if rows.is_empty() {
        return Err(Fault {
            line: heading + 1,
            message: "the table of crates has no rows".to_owned(),
        });
    }
    unique(&rows)?;
    Ok(Table { line: heading + 1, rows })
}

fn columns(line: &str) -> Option<[usize; 4]> {
    let cells: Vec<String> =
        cells(line).into_iter().map(|cell| cell.to_lowercase()).collect();
    let mut columns = [0; 4];
    for (column, heading) in columns.iter_mut().zip(HEADINGS) {
        *column = cells.iter().position(|cell| {
            cell == heading || cell.starts_with(&format!("{heading} ("))
        })?;
    }
    Some(columns)
}

fn row(line: usize, text: &str, columns: [usize; 4]) -> Result<Row, Fault> {
    let cells = cells(text);
    let cell = |column: usize| {
        cells.get(column).map(String::as_str).ok_or_else(|| Fault {
            line,
            message: format!(
                "this row has {} cells where the heading has more",
                cells.len()
            ),
        })
    };
    let [name, knows, tests, outside] = columns;
    let names = names(line, cell(name)?)?;
    let mut names = names.into_iter();
    let (Some(name), None) = (names.next(), names.next()) else {
        return Err(Fault {
            line,
            message: "the first cell must name one crate".to_owned(),
        });
    };
    Ok(Row {
        line,
        name,
        knows: self::names(line, cell(knows)?)?,
        tests_may_use: self::names(line, cell(tests)?)?,
        outside: self::names(line, cell(outside)?)?,
    })
}

/// The cells of a row, without the bars, trimmed.
fn cells(line: &str) -> Vec<String> {
    let inner = line.trim();
    let inner = inner.strip_prefix('|').unwrap_or(inner);
    let inner = inner.strip_suffix('|').unwrap_or(inner);
    inner.split('|').map(|cell| cell.trim().to_owned()).collect()
}

/// The crate names in a cell, apart by commas, in code marks or not. "nothing", a dash and
/// an empty cell mean none.
fn names(line: usize, cell: &str) -> Result<BTreeSet<String>, Fault> {
    if matches!(cell, "" | "nothing" | "-" | "–") {
        return Ok(BTreeSet::new());
    }
    let mut names = BTreeSet::new();
    for word in cell.split(',') {
        let name = word.trim().trim_matches('`');
        let plain = |letter: char| {
            letter.is_ascii_alphanumeric() || letter == '_' || letter == '-'
        };
        if name.is_empty() || !name.chars().all(plain) {
            return Err(Fault {
                line,
                message: format!(
                    "\"{}\" is no crate name; put names alone in this cell, apart by commas",
                    word.trim()
                ),
            });
        }
        if !names.insert(name.to_owned()) {
            return Err(Fault {
                line,
                message: format!("`{name}` stands twice in one cell"),
            });
        }
    }
    Ok(names)
}

fn unique(rows: &[Row]) -> Result<(), Fault> {
    let mut seen = BTreeSet::new();
    match rows.iter().find(|row| !seen.insert(row.name.as_str())) {
        None => Ok(()),
        Some(row) => Err(Fault {
            line: row.line,
            message: format!("`{}` has a second row; merge them", row.name),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "\
Text.

| crate | is | knows (workspace crates) | tests may use | outside crates | never knows |
|---|---|---|---|---|---|
";

    fn set(names: &[&str]) -> BTreeSet<String> {
        names.iter().map(|&name| name.to_owned()).collect()
    }

    fn fault(body: &str) -> (usize, String) {
        let fault = read(&format!("{HEAD}{body}")).unwrap_err();
        (fault.line, fault.message)
    }

    #[test]
    fn reads_names_lines_and_empty_cells() {
        let body = "| `a` | first | nothing | – | `serde`, toml | SQL |\n\
                    | `b` | second | `a` | `c` | | SQL |\n\nMore | text\n";
        let table = read(&format!("{HEAD}{body}")).unwrap();
        assert_eq!(table.line, 3);
        assert_eq!(table.rows.len(), 2);
        let [a, b] = &table.rows[..] else { panic!("two rows") };
        assert_eq!((a.line, a.name.as_str()), (5, "a"));
        assert_eq!(a.knows, set(&[]));
        assert_eq!(a.outside, set(&["serde", "toml"]));
        assert_eq!((b.line, b.name.as_str()), (6, "b"));
        assert_eq!(b.knows, set(&["a"]));
        assert_eq!(b.tests_may_use, set(&["c"]));
        assert_eq!(b.outside, set(&[]));
    }

    #[test]
    fn columns_may_stand_in_any_order() {
        let text = "| outside crates | crate | tests may use | knows |\n|-|-|-|-|\n\
                    | toml | a | nothing | b |\n";
        let table = read(text).unwrap();
        assert_eq!(table.rows[0].name, "a");
        assert_eq!(table.rows[0].outside, set(&["toml"]));
        assert_eq!(table.rows[0].knows, set(&["b"]));
    }

    #[test]
    fn each_fault_is_told_at_its_line() {
        assert!(read("# No table\n").unwrap_err().message.contains("no table"));
        assert!(fault("").1.contains("no rows"));
        let (line, message) = fault("| `a` | x | all above | – | – | y |\n");
        assert_eq!(line, 5);
        assert!(message.contains("\"all above\" is no crate name"), "{message}");
        assert!(fault("| `a` | x |\n").1.contains("cells"));
        assert!(fault("| a, b | x | – | – | – | y |\n").1.contains("one crate"));
        assert!(fault("| a | x | b, `b` | – | – | y |\n").1.contains("twice"));
        let row = "| a | x | – | – | – | y |\n";
        let (line, message) = fault(&format!("{row}{row}"));
        assert_eq!(line, 6);
        assert!(message.contains("second row"), "{message}");
    }
}
