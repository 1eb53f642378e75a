//! Where something stands in a programme folder.

use std::fmt;
use std::sync::Arc;

/// A place in a file of the folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The file, relative to the folder.
    pub file: Arc<str>,
    /// Where in it.
    pub spot: Spot,
}

/// A place within a file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spot {
    /// The file as a whole.
    Whole,
    /// A place in a text, both counted from 1; columns count characters.
    Text {
        /// The line.
        line: u32,
        /// The character within the line.
        column: u32,
    },
    /// A cell of a spreadsheet, both counted from 1.
    Cell {
        /// The name of the sheet.
        sheet: Arc<str>,
        /// The row.
        row: u32,
        /// The column, 1 for `A`.
        column: u32,
    },
}

impl Place {
    /// A file as a whole.
    pub fn whole(file: &str) -> Self {
        Self { file: file.into(), spot: Spot::Whole }
    }

    /// Another place in the same text.
    pub(crate) fn at(&self, line: u32, column: u32) -> Self {
        Self { file: Arc::clone(&self.file), spot: Spot::Text { line, column } }
    }

    /// Another cell in the same file.
    pub(crate) fn cell(&self, sheet: &Arc<str>, row: u32, column: u32) -> Self {
        let spot = Spot::Cell { sheet: Arc::clone(sheet), row, column };
        Self { file: Arc::clone(&self.file), spot }
    }

    pub(crate) const fn is_in_sheet(&self) -> bool {
        matches!(self.spot, Spot::Cell { .. })
    }
}

impl fmt::Display for Place {
    /// `items.csv:17:4`, or `items.xlsx:items!C4`, or `items.csv`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let file = &self.file;
        match &self.spot {
            Spot::Whole => f.write_str(file),
            Spot::Text { line, column } => write!(f, "{file}:{line}:{column}"),
            Spot::Cell { sheet, row, column } => {
                write!(f, "{file}:{sheet}!{}{row}", letters(*column))
            }
        }
    }
}

/// The letters of a spreadsheet's column: `A` for 1, `AA` for 27.
pub(crate) fn letters(mut column: u32) -> String {
    let mut letters = Vec::new();
    while column > 0 {
        let digit = (column - 1) % 26;
        letters.push(char::from(b'A' + digit as u8));
        column = (column - 1) / 26;
    }
    letters.iter().rev().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_have_letters() {
        for (column, expected) in
            [(1, "A"), (26, "Z"), (27, "AA"), (52, "AZ"), (703, "AAA"), (16_384, "XFD")]
        {
            assert_eq!(letters(column), expected);
        }
    }
}
