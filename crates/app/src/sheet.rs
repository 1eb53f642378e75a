//! A page of computed facts: for the terminal as text, for programs as JSON.

use std::fmt::Write;

use serde_json::{Value, json};

use crate::tables::{cut, table};

/// The widest cell on a terminal.
const WIDEST: usize = 64;
/// The widest table: what is wider is told row by row, a line for each cell.
const TABLE_WIDEST: usize = 200;

/// A page of computed facts. Nothing in it was ever typed as such.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sheet {
    /// What it is about.
    pub title: String,
    /// Single facts: what, and how it is.
    pub facts: Vec<(String, String)>,
    /// Lists.
    pub lists: Vec<List>,
    /// Cautions that go with it.
    pub cautions: Vec<String>,
}

/// A list of a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct List {
    /// What it lists.
    pub title: String,
    /// Its columns.
    pub columns: Vec<&'static str>,
    /// Its rows, each with a cell for each column.
    pub rows: Vec<Vec<String>>,
}

impl Sheet {
    pub(crate) fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), ..Self::default() }
    }

    pub(crate) fn fact(&mut self, what: &str, how: impl std::fmt::Display) -> &mut Self {
        self.facts.push((what.to_owned(), how.to_string()));
        self
    }

    pub(crate) fn list(
        &mut self,
        title: &str,
        columns: &[&'static str],
        rows: Vec<Vec<String>>,
    ) -> &mut Self {
        let (title, columns) = (title.to_owned(), columns.to_vec());
        self.lists.push(List { title, columns, rows });
        self
    }

    pub(crate) fn caution(&mut self, caution: &str) -> &mut Self {
        self.cautions.push(caution.to_owned());
        self
    }

    /// As text of fixed width. Long cells of a table are cut; the JSON form has all of them.
    pub fn text(&self) -> String {
        let mut text = format!("{}\n", self.title);
        let width = self.facts.iter().map(|(what, _)| what.chars().count()).max();
        for (what, how) in &self.facts {
            let _ = writeln!(text, "  {what:<width$}  {how}", width = width.unwrap_or(0));
        }
        for list in &self.lists {
            let _ = writeln!(text, "\n{}", list.title);
            if list.rows.is_empty() {
                text.push_str("  none\n");
                continue;
            }
            text.push_str(&list.text());
        }
        for caution in &self.cautions {
            let _ = writeln!(text, "\n{caution}");
        }
        text
    }

    /// As a JSON object: the facts by their names, and each list as an array of objects.
    pub fn json(&self) -> Value {
        let facts: serde_json::Map<String, Value> =
            self.facts.iter().map(|(what, how)| (what.clone(), json!(how))).collect();
        let rows = |list: &List| -> Vec<Value> {
            let row = |row: &Vec<String>| {
                let cells = list.columns.iter().zip(row);
                let cells =
                    cells.map(|(column, cell)| ((*column).to_owned(), json!(cell)));
                Value::Object(cells.collect())
            };
            list.rows.iter().map(row).collect()
        };
        let lists: serde_json::Map<String, Value> = self
            .lists
            .iter()
            .map(|list| (list.title.clone(), json!(rows(list))))
            .collect();
        json!({
            "title": self.title,
            "facts": facts,
            "lists": lists,
            "cautions": self.cautions,
        })
    }
}

impl Sheet {
    /// As a workbook: a sheet with the facts and the cautions, and one for each list.
    ///
    /// # Errors
    /// If a list has more rows than a workbook can hold.
    pub fn workbook(&self) -> Result<Vec<u8>, crate::AppError> {
        let cautions =
            self.cautions.iter().map(|caution| ("caution".to_owned(), caution.clone()));
        let facts: Vec<_> = self.facts.iter().cloned().chain(cautions).collect();
        let tables = self.lists.iter().map(|list| charts::TableView {
            title: list.title.clone(),
            columns: list.columns.iter().map(|column| (*column).to_owned()).collect(),
            rows: list.rows.clone(),
        });
        let tables: Vec<_> = tables.collect();
        charts::tables_xlsx(&self.title, &facts, &tables).map_err(crate::AppError::Chart)
    }
}

impl List {
    /// As a table or, where that would be too wide to read, row by row.
    fn text(&self) -> String {
        let cell = |cell: &String| cut(&cell.replace('\n', " "), WIDEST);
        let rows: Vec<Vec<String>> =
            self.rows.iter().map(|row| row.iter().map(cell).collect()).collect();
        let text = table(&self.columns, &rows);
        if text.lines().all(|line| line.chars().count() <= TABLE_WIDEST) {
            return text;
        }
        let rows: Vec<String> = self.rows.iter().map(|row| self.row(row)).collect();
        rows.join("\n")
    }

    /// One row, a line for each cell that says something.
    fn row(&self, row: &[String]) -> String {
        let wide = self.columns.iter().map(|column| column.chars().count()).max();
        let wide = wide.unwrap_or(0);
        let said = self.columns.iter().zip(row).filter(|(_, cell)| !cell.is_empty());
        let mut text = String::new();
        for (column, cell) in said {
            let cell = cell.replace('\n', " ");
            let _ = writeln!(text, "  {column:<wide$}  {cell}");
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_facts_as_text_and_as_json() {
        let mut sheet = Sheet::new("Tools");
        sheet.fact("out", 1).list(
            "out",
            &["tool", "who"],
            vec![vec!["TW-1".into(), "a\nb".into()]],
        );
        sheet.list("lost", &["tool"], vec![]).caution("Count again.");
        assert_eq!(
            sheet.text(),
            "Tools\n  out  1\n\nout\n  tool  who\n  TW-1  a b\n\nlost\n  none\n\nCount again.\n"
        );
        let long = "x".repeat(64);
        let row = |name: &str| {
            vec![name.into(), long.clone(), String::new(), long.clone(), long.clone()]
        };
        let mut wide = Sheet::new("Wide");
        wide.list("all", &["a", "second", "c", "d", "e"], vec![row("1"), row("2")]);
        let one = |name: &str| {
            format!(
                "  a       {name}\n  second  {long}\n  d       {long}\n  e       {long}\n"
            )
        };
        let text = wide.text();
        assert_eq!(text, format!("Wide\n\nall\n{}\n{}", one("1"), one("2")));
        let json = sheet.json();
        assert_eq!(json["lists"]["out"][0]["who"], "a\nb");
        assert_eq!(json["facts"]["out"], "1");
    }
}
