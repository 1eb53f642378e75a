//! Lists and empty templates of them as files.

use charts::{CellView, SheetView};
use folder::lists::{self, ListForm, TableCell};
use record::Programme;

use crate::AppError;

/// The form of a list's file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ListFormat {
    /// Text, parted by commas.
    Csv,
    /// A workbook, with a sheet that explains the columns.
    Xlsx,
    /// Text of tables; the only form of lists whose things hold things.
    Toml,
}

impl ListFormat {
    /// The form that a word names: the ending of a file.
    pub fn of(word: &str) -> Option<Self> {
        Some(match word {
            "csv" => Self::Csv,
            "xlsx" => Self::Xlsx,
            "toml" => Self::Toml,
            _ => return None,
        })
    }

    const fn media(self) -> &'static str {
        match self {
            Self::Csv => "text/csv; charset=utf-8",
            Self::Xlsx => {
                "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
            }
            Self::Toml => "application/toml; charset=utf-8",
        }
    }
}

/// A file to be handed out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListFile {
    /// Its media type.
    pub media: &'static str,
    /// What is in it.
    pub content: Vec<u8>,
}

/// A list of the programme as a file that [`look_at_list`](crate::look_at_list) finds no
/// difference in.
///
/// # Errors
/// If there is no such list, or it can't have that form.
pub fn list_file(
    programme: &Programme,
    list: &str,
    format: ListFormat,
) -> Result<ListFile, AppError> {
    let content = match format {
        ListFormat::Csv => lists::as_csv(programme, list).map(String::into_bytes),
        ListFormat::Toml => lists::as_toml(programme, list).map(String::into_bytes),
        ListFormat::Xlsx => match lists::as_table(programme, list) {
            Some((_, rows)) => Some(book(&form(list)?, rows)?),
            None => None,
        },
    };
    handed(list, format, content)
}

/// A file with the columns of a list and no rows; a workbook explains them too.
///
/// # Errors
/// If there is no such list, or it can't have that form.
pub fn list_template(list: &str, format: ListFormat) -> Result<ListFile, AppError> {
    list_file(&Programme::default(), list, format)
}

fn form(list: &str) -> Result<ListForm, AppError> {
    let found = lists::forms().into_iter().find(|form| form.list == list);
    found.ok_or_else(|| AppError::Unknown(format!("there is no list {list}")))
}

fn handed(
    list: &str,
    format: ListFormat,
    content: Option<Vec<u8>>,
) -> Result<ListFile, AppError> {
    let content = content.ok_or_else(|| {
        AppError::Unknown(format!("there is no list {list} that can be had in that form"))
    })?;
    Ok(ListFile { media: format.media(), content })
}

fn book(form: &ListForm, rows: Vec<Vec<TableCell>>) -> Result<Vec<u8>, AppError> {
    let cell = |cell| match cell {
        TableCell::Text(text) => CellView::Text(text),
        TableCell::Number(number) => CellView::Number(number),
    };
    let rows = rows.into_iter().map(|row| row.into_iter().map(cell).collect());
    let list = SheetView {
        name: form.list.to_owned(),
        head: form.columns.iter().map(|column| column.name.to_owned()).collect(),
        rows: rows.collect(),
        widths: form
            .columns
            .iter()
            .map(|c| if c.name == "name" { 40 } else { 18 })
            .collect(),
    };
    let sheets = [list, explained(form)];
    charts::sheets_xlsx(form.list, &sheets).map_err(AppError::Chart)
}

/// What each column holds.
fn explained(form: &ListForm) -> SheetView {
    let row =
        |cells: [&str; 5]| cells.map(|cell| CellView::Text(cell.to_owned())).to_vec();
    let mut rows: Vec<Vec<CellView>> = form
        .columns
        .iter()
        .map(|column| {
            let several = if column.several { ", several parted by ;" } else { "" };
            row([
                column.name,
                if column.required { "yes" } else { "" },
                &format!("{}{several}", column.sort),
                column.meaning,
                column.example,
            ])
        })
        .collect();
    rows.push(row(["", "", "", "", ""]));
    rows.push(row([form.list, "", "", form.doc, ""]));
    let head =
        ["column", "must be given", "what stands in it", "what it means", "example"];
    SheetView {
        name: "explanations".to_owned(),
        head: head.map(str::to_owned).to_vec(),
        rows,
        widths: vec![20, 14, 26, 80, 36],
    }
}
