//! Any lists as a workbook: numbers and days as what they are, all else as text.

use std::collections::BTreeSet;

use jiff::civil::Date;
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet};

use crate::error::ChartError;
use crate::workbook::{cell, excel_date, shorten};

/// The most characters that the name of a sheet has.
const NAME: usize = 31;
/// A number with more digits than this would be rounded (15 are kept), and is text.
const DIGITS: usize = 15;
/// The widest column, in characters.
const WIDEST: usize = 60;

/// A list as it is written to a sheet of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableView {
    /// What it lists; the name of the sheet.
    pub title: String,
    /// Its columns.
    pub columns: Vec<String>,
    /// Its rows, each with a cell for each column.
    pub rows: Vec<Vec<String>>,
}

/// Lists as a workbook, each on a sheet of its own, after a sheet with single facts.
///
/// A cell that is a number and nothing else (`12`, `-0.5`, but not `007` nor `1e5`, which may
/// be names) is stored as a number, a day such as `2032-01-14` as a day, and everything else
/// as text, so that what begins with `=` is a text and no formula. The same lists give the
/// same bytes.
///
/// # Errors
///
/// [`ChartError::Workbook`] if there are more rows than a sheet can hold (1 048 576).
pub fn tables_xlsx(
    title: &str,
    facts: &[(String, String)],
    tables: &[TableView],
) -> Result<Vec<u8>, ChartError> {
    let mut book = Workbook::new();
    book.set_properties(
        &DocProperties::new()
            .set_title(&*shorten(title, 255))
            .set_creation_datetime(&ExcelDateTime::from_ymd(1980, 1, 1)?),
    );
    let head = Format::new().set_bold().set_background_color(0x00E3_DFD2).set_text_wrap();
    let day = Format::new().set_num_format("yyyy-mm-dd");
    let mut names = BTreeSet::new();
    let about = book.add_worksheet();
    about.set_name(name("About", &mut names))?;
    about.set_column_width(0, 30)?.set_column_width(1, 90)?;
    about.write_string_with_format(0, 0, &*cell(title), &head)?;
    for (row, (what, how)) in (1..).zip(facts) {
        about.write_string(row, 0, &*cell(what))?;
        write(about, (row, 1), how, &day)?;
    }
    for table in tables {
        let sheet = book.add_worksheet();
        sheet.set_name(name(&table.title, &mut names))?;
        fill(sheet, table, (&head, &day))?;
    }
    Ok(book.save_to_buffer()?)
}

fn fill(
    sheet: &mut Worksheet,
    table: &TableView,
    (head, day): (&Format, &Format),
) -> Result<(), ChartError> {
    for (at, column) in table.columns.iter().enumerate() {
        sheet.write_string_with_format(0, at as u16, &*cell(column), head)?;
        let cells = table.rows.iter().filter_map(|row| row.get(at));
        let widest = cells.map(|cell| cell.chars().count()).max().unwrap_or(0);
        let width = widest.max(column.chars().count()).clamp(8, WIDEST) + 2;
        sheet.set_column_width(at as u16, width as f64)?;
    }
    for (row, cells) in (1..).zip(&table.rows) {
        for (at, text) in cells.iter().enumerate() {
            write(sheet, (row, at as u16), text, day)?;
        }
    }
    sheet.set_freeze_panes(1, 0)?;
    sheet.set_repeat_rows(0, 0)?;
    sheet.set_landscape();
    sheet.set_print_fit_to_pages(1, 0);
    if !table.columns.is_empty() {
        let last = table.columns.len() as u16 - 1;
        sheet.autofilter(0, 0, table.rows.len() as u32, last)?;
    }
    Ok(())
}

fn write(
    sheet: &mut Worksheet,
    (row, column): (u32, u16),
    text: &str,
    day: &Format,
) -> Result<(), ChartError> {
    if let Some(number) = number(text) {
        sheet.write_number(row, column, number)?;
    } else if let Some(date) = date(text) {
        sheet.write_with_format(row, column, &date, day)?;
    } else if !text.is_empty() {
        sheet.write_string(row, column, &*cell(text))?;
    }
    Ok(())
}

/// A number that reads the same when it is written again.
fn number(text: &str) -> Option<f64> {
    let plain = text.strip_prefix('-').unwrap_or(text);
    let (whole, part) =
        plain.split_once('.').map_or((plain, None), |(a, b)| (a, Some(b)));
    let digits =
        |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    let leading = whole.len() > 1 && whole.starts_with('0');
    let fits = whole.len() + part.map_or(0, str::len) <= DIGITS;
    let number = digits(whole) && part.is_none_or(digits) && !leading && fits;
    if number { text.parse().ok() } else { None }
}

fn date(text: &str) -> Option<ExcelDateTime> {
    let day: Option<Date> = if text.len() == 10 { text.parse().ok() } else { None };
    excel_date(day?)
}

/// A name that a sheet may have (ECMA-376, part 1, 18.2.19: 31 characters, none of `[]:*?/\`),
/// and that no other has, in whatever capitals.
fn name(title: &str, taken: &mut BTreeSet<String>) -> String {
    let odd = |c: char| if "[]:*?/\\".contains(c) || c.is_control() { ' ' } else { c };
    let plain: String = title.chars().map(odd).collect();
    let plain = plain.trim_matches(['\'', ' ']);
    let plain = if plain.is_empty() { "List" } else { plain };
    let mut number = 1;
    loop {
        let tail = if number == 1 { String::new() } else { format!(" {number}") };
        let room = NAME - tail.chars().count();
        let found: String = plain.chars().take(room).chain(tail.chars()).collect();
        if taken.insert(found.to_lowercase()) {
            return found;
        }
        number += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_a_number_is_one() {
        for (text, found) in [("12", 12.0), ("-0.5", -0.5), ("0", 0.0)] {
            assert_eq!(number(text), Some(found));
        }
        for text in
            ["", "-", "007", "1e5", "+1", "1.", ".5", "12 kg", "1234567890123456", "NaN"]
        {
            assert_eq!(number(text), None, "{text}");
        }
    }

    #[test]
    fn sheets_have_names_of_their_own() {
        let mut taken = BTreeSet::new();
        let long = "a".repeat(40);
        assert_eq!(name("open: all/any", &mut taken), "open  all any");
        assert_eq!(name("OPEN: all/any", &mut taken), "OPEN  all any 2");
        assert_eq!(name(&long, &mut taken).len(), 31);
        assert_eq!(name(&long, &mut taken).len(), 31);
        assert_eq!(name("'", &mut taken), "List");
    }
}
