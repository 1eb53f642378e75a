//! Tables, for the terminal and in Markdown.

/// How a table is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// Columns of equal width.
    Text,
    /// Markdown, to be pasted into a document.
    Markdown,
}

/// A heading and rows below it. A column whose every cell below the heading begins with a
/// digit, a sign or a dash is set flush right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Table {
    heading: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// An empty table.
    pub(super) fn new(heading: &[&str]) -> Self {
        let heading = heading.iter().map(|&cell| cell.to_owned()).collect();
        Self { heading, rows: Vec::new() }
    }

    /// Adds a row; cells that it lacks are empty.
    pub(super) fn add(&mut self, mut row: Vec<String>) {
        row.resize(self.heading.len(), String::new());
        self.rows.push(row);
    }

    /// The table, its last line without a line's end.
    pub(super) fn show(&self, form: Form) -> String {
        let widths: Vec<usize> = (0..self.heading.len())
            .map(|at| self.lines().map(|row| row[at].chars().count()).max().unwrap_or(0))
            .collect();
        let mut lines =
            vec![self.line(&self.heading, &widths, form), self.rule(&widths, form)];
        lines.extend(self.rows.iter().map(|row| self.line(row, &widths, form)));
        lines.join("\n")
    }

    fn lines(&self) -> impl Iterator<Item = &Vec<String>> {
        std::iter::once(&self.heading).chain(&self.rows)
    }

    fn is_right(&self, column: usize) -> bool {
        let figure = |cell: &String| {
            cell.is_empty()
                || cell.starts_with(|c: char| c.is_ascii_digit() || "–-+".contains(c))
        };
        column > 0 && self.rows.iter().all(|row| figure(&row[column]))
    }

    fn line(&self, row: &[String], widths: &[usize], form: Form) -> String {
        let cells = row.iter().zip(widths).enumerate().map(|(column, (cell, &width))| {
            if self.is_right(column) {
                format!("{cell:>width$}")
            } else {
                format!("{cell:<width$}")
            }
        });
        let cells: Vec<String> = cells.collect();
        match form {
            Form::Text => cells.join("  ").trim_end().to_owned(),
            Form::Markdown => format!("| {} |", cells.join(" | ")),
        }
    }

    fn rule(&self, widths: &[usize], form: Form) -> String {
        let cells = widths.iter().enumerate().map(|(column, &width)| match form {
            Form::Text => "-".repeat(width),
            Form::Markdown if self.is_right(column) => {
                format!("{}:", "-".repeat(width.max(2) + 1))
            }
            Form::Markdown => "-".repeat(width.max(2) + 2),
        });
        let cells: Vec<String> = cells.collect();
        match form {
            Form::Text => cells.join("  "),
            Form::Markdown => format!("|{}|", cells.join("|")),
        }
    }
}

/// A number with so many decimals, or a dash.
pub(super) fn number(value: Option<f64>, decimals: usize) -> String {
    let Some(value) = value else { return "–".to_owned() };
    let shown = format!("{value:.decimals$}");
    // A tiny negative number is shown as the nought that it is rounded to.
    match shown.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        _ => shown,
    }
}

/// A count: whole where it is whole, else (a mean of counts) with one decimal.
pub(super) fn count(value: f64) -> String {
    let decimals = usize::from(value.fract().abs() > 1e-9);
    format!("{value:.decimals$}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        let mut table = Table::new(&["set", "gap %", "why"]);
        table.add(vec!["j30".to_owned(), "0.12".to_owned(), "x".to_owned()]);
        table.add(vec!["j120 é".to_owned(), "–".to_owned()]);
        table
    }

    #[test]
    fn figures_stand_flush_right() {
        assert_eq!(
            table().show(Form::Text),
            "set     gap %  why\n\
             ------  -----  ---\n\
             j30      0.12  x\n\
             j120 é      –"
        );
    }

    #[test]
    fn markdown_has_a_rule_that_says_so() {
        assert_eq!(
            table().show(Form::Markdown),
            "| set    | gap % | why |\n\
             |--------|------:|-----|\n\
             | j30    |  0.12 | x   |\n\
             | j120 é |     – |     |"
        );
    }

    #[test]
    fn numbers_and_counts() {
        assert_eq!(number(Some(1.256), 2), "1.26");
        assert_eq!(number(None, 2), "–");
        assert_eq!(number(Some(-0.001), 2), "0.00");
        assert_eq!(number(Some(-0.01), 2), "-0.01");
        assert_eq!(count(41.0), "41");
        assert_eq!(count(40.0 + 1.0 / 3.0), "40.3");
    }
}
