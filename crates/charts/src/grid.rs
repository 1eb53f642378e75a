//! Tables of any list as a workbook (Office Open XML).

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook};

use crate::error::ChartError;
use crate::workbook::{CELL, shorten};

/// One sheet of a workbook.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetView {
    /// Its name, at most 31 signs.
    pub name: String,
    /// The headings.
    pub head: Vec<String>,
    /// The rows below them.
    pub rows: Vec<Vec<CellView>>,
    /// How wide each column is, in signs; what is not said is 18.
    pub widths: Vec<u16>,
}

/// A cell of a sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum CellView {
    /// A text, which stays one whatever it looks like; an empty one is no cell.
    Text(String),
    /// A number.
    Number(f64),
}

/// Tables as a workbook: the headings stay in sight, and texts are stored as texts, so that
/// none is taken for a formula. A text longer than a cell is cut. Equal tables give equal bytes.
///
/// # Errors
/// [`ChartError::Workbook`] for a name that no sheet can have, or more rows than one holds.
pub fn sheets_xlsx(title: &str, sheets: &[SheetView]) -> Result<Vec<u8>, ChartError> {
    let mut book = Workbook::new();
    let made = ExcelDateTime::from_ymd(1980, 1, 1)?;
    let about = DocProperties::new().set_title(&*shorten(title, 255));
    book.set_properties(&about.set_creation_datetime(&made));
    let bold = Format::new().set_bold().set_background_color(0x00E3_DFD2).set_text_wrap();
    let plain =
        Format::new().set_text_wrap().set_align(rust_xlsxwriter::FormatAlign::Top);
    for view in sheets {
        let sheet = book.add_worksheet();
        sheet.set_name(&view.name)?.set_freeze_panes(1, 0)?.set_repeat_rows(0, 0)?;
        sheet.set_landscape();
        for (at, name) in view.head.iter().enumerate() {
            let width = view.widths.get(at).copied().unwrap_or(18);
            sheet.set_column_width(at as u16, width)?;
            sheet.write_string_with_format(0, at as u16, name, &bold)?;
        }
        for (row, cells) in (1..).zip(&view.rows) {
            for (column, cell) in (0..).zip(cells) {
                match cell {
                    CellView::Text(text) if text.is_empty() => {}
                    CellView::Text(text) => {
                        let text = shorten(text, CELL);
                        sheet.write_string_with_format(row, column, &*text, &plain)?;
                    }
                    CellView::Number(number) => {
                        sheet.write_number_with_format(row, column, *number, &plain)?;
                    }
                }
            }
        }
    }
    Ok(book.save_to_buffer()?)
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use calamine::{Data, Reader, Xlsx};

    use super::*;

    /// Read back with the crate `calamine`, which we did not write.
    #[test]
    fn texts_stay_texts_and_numbers_numbers() {
        let sheet = SheetView {
            name: "items".into(),
            head: vec!["id".into(), "count".into()],
            rows: vec![vec![CellView::Text("=1+1".into()), CellView::Number(2.0)]],
            widths: vec![30],
        };
        let bytes = sheets_xlsx("t", std::slice::from_ref(&sheet)).unwrap();
        assert_eq!(bytes, sheets_xlsx("t", &[sheet]).unwrap());
        let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
        let range = book.worksheet_range("items").unwrap();
        assert_eq!(range.get((1, 0)), Some(&Data::String("=1+1".into())));
        assert_eq!(range.get((1, 1)), Some(&Data::Float(2.0)));
        assert_eq!(book.worksheet_formula("items").unwrap().used_cells().count(), 0);
    }

    #[test]
    fn a_name_that_no_sheet_can_have_is_refused() {
        let sheet =
            SheetView { name: "a/b".into(), head: vec![], rows: vec![], widths: vec![] };
        assert!(sheets_xlsx("t", &[sheet]).is_err());
    }
}
