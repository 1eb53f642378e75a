//! Spreadsheets, with the sheet and the cell of every value.

use std::collections::BTreeMap;
use std::io::Cursor;
use std::sync::Arc;

use calamine::{DataRef, Dimensions, ExcelDateTime, Reader, Xlsx};

use crate::cell::{Cell, Value};
use crate::fields::Kind;
use crate::place::letters;
use crate::source::grid::{Grid, GridRow, heading};
use crate::source::packed;
use crate::{Place, Problem};

/// The most cells that are read of a sheet, and the most columns.
const MOST_CELLS: usize = 1_000_000;
const MOST_COLUMNS: u32 = 1_000;

/// How many rows down the headings are looked for: there may be a title above them.
const HEAD_WITHIN: usize = 20;

type Book = Xlsx<Cursor<Vec<u8>>>;
/// The filled cells of a sheet, row by row, counted from 0.
type Cells = BTreeMap<u32, BTreeMap<u32, Value>>;

/// Which part of a workbook is wanted.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Wanted<'a> {
    /// The sheet; nothing for the one that has the kind's name, or the first.
    pub(crate) sheet: Option<&'a str>,
    /// The row of the headings, from 1; nothing to look for them.
    pub(crate) head: Option<u32>,
}

/// Takes the sheet of a kind out of a workbook.
pub(crate) fn grid(
    bytes: Vec<u8>,
    kind: &'static Kind,
    place: &Place,
) -> Result<Grid, Problem> {
    let (_, _, grid) = guarded(bytes, kind, place, Wanted::default(), None)?;
    Ok(grid)
}

/// The names of the sheets, the one that was taken, and what is in it; cells that hold formulas
/// are reported.
pub(crate) fn plain_grid(
    bytes: Vec<u8>,
    kind: &'static Kind,
    place: &Place,
    wanted: Wanted<'_>,
    problems: &mut Vec<Problem>,
) -> Result<(Vec<String>, String, Grid), Problem> {
    guarded(bytes, kind, place, wanted, Some(problems))
}

fn guarded(
    bytes: Vec<u8>,
    kind: &'static Kind,
    place: &Place,
    wanted: Wanted<'_>,
    problems: Option<&mut Vec<Problem>>,
) -> Result<(Vec<String>, String, Grid), Problem> {
    if bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
        return Err(Problem::error(place, "the file is protected by a password, or it is an old workbook under a new name")
            .hinting("save it without a password as .xlsx, or as CSV UTF-8"));
    }
    if !bytes.starts_with(b"PK") {
        return Err(Problem::error(
            place,
            "the file is not an .xlsx workbook, whatever its name says",
        )
        .hinting("save it again as .xlsx, or give it the ending that it should have"));
    }
    packed::measure(&bytes, place)?;
    // The library is careful, but a damaged workbook is more than its authors foresaw.
    let read = std::panic::catch_unwind(|| open(bytes, kind, place, wanted));
    let (taken, formulas) =
        read.unwrap_or_else(|_| Err(damaged(place, "it is damaged")))?;
    if let Some(problems) = problems {
        problems.extend(formulas);
    }
    Ok(taken)
}

/// What was taken out of a workbook, and the formulas in it.
type Opened = ((Vec<String>, String, Grid), Vec<Problem>);

fn damaged(place: &Place, why: &str) -> Problem {
    Problem::error(place, format!("the workbook cannot be read: {why}"))
        .hinting("open it in a spreadsheet program and save it again as .xlsx")
}

fn open(
    bytes: Vec<u8>,
    kind: &'static Kind,
    place: &Place,
    wanted: Wanted<'_>,
) -> Result<Opened, Problem> {
    let fault = |error: calamine::XlsxError| damaged(place, &error.to_string());
    let mut book: Book = Xlsx::new(Cursor::new(bytes)).map_err(fault)?;
    let names = book.sheet_names();
    let same = |name: &&String| name.trim().to_lowercase() == kind.file;
    let asked = wanted.sheet.and_then(|sheet| names.iter().find(|name| *name == sheet));
    let found = asked.or_else(|| names.iter().find(same)).or(names.first());
    let Some(name) = found.cloned() else {
        return Err(damaged(place, "it has no sheet"));
    };
    let is_1904 = book.has_1904_epoch();
    let merged = book.merge_cells_by_sheet_name(&name).map_err(fault)?;
    let sheet: Arc<str> = name.as_str().into();
    let cells = cells(&mut book, &name, is_1904, place, &sheet)?;
    let formulas = formulas(&mut book, &name, place, &sheet)?;
    let grid = table(kind, cells, &merged, place, (&sheet, wanted.head));
    Ok(((names, name, grid), formulas))
}

/// The cells that hold formulas: what one comes to was computed elsewhere, and may be old.
fn formulas(
    book: &mut Book,
    name: &str,
    place: &Place,
    sheet: &Arc<str>,
) -> Result<Vec<Problem>, Problem> {
    let fault = |error: calamine::XlsxError| damaged(place, &error.to_string());
    let mut reader = book.worksheet_cells_reader(name).map_err(fault)?;
    let mut problems = Vec::new();
    while let Some(cell) = reader.next_formula().map_err(fault)? {
        if cell.get_value().is_empty() {
            continue;
        }
        let (row, column) = cell.get_position();
        let at = place.cell(sheet, row.saturating_add(1), column.saturating_add(1));
        let hint = "copy the sheet and paste it as values, and look at what it says";
        problems.push(Problem::error(&at, "the cell holds a formula").hinting(hint));
    }
    Ok(problems)
}

fn cells(
    book: &mut Book,
    name: &str,
    is_1904: bool,
    place: &Place,
    sheet: &Arc<str>,
) -> Result<Cells, Problem> {
    let fault = |error: calamine::XlsxError| damaged(place, &error.to_string());
    let mut reader = book.worksheet_cells_reader(name).map_err(fault)?;
    let mut cells = Cells::new();
    let mut count = 0;
    while let Some(cell) = reader.next_cell().map_err(fault)? {
        let (row, column) = cell.get_position();
        let value = value(cell.get_value(), is_1904);
        let Some(value) = value.filter(|value| !value.is_blank()) else { continue };
        count += 1;
        if count > MOST_CELLS || column >= MOST_COLUMNS {
            let at = place.cell(sheet, row + 1, column + 1);
            let what = format!(
                "the sheet is larger than {MOST_CELLS} cells or {MOST_COLUMNS} columns"
            );
            return Err(
                Problem::error(&at, what).hinting("delete what lies beyond the list")
            );
        }
        cells.entry(row).or_default().insert(column, value);
    }
    Ok(cells)
}

/// What a cell holds; for a formula, what it came to when the workbook was saved.
fn value(data: &DataRef<'_>, is_1904: bool) -> Option<Value> {
    Some(match data {
        DataRef::Int(number) => Value::Int(*number),
        DataRef::Float(number) => Value::Float(*number),
        DataRef::String(text) => Value::Text(lines(text)),
        DataRef::SharedString(text) => Value::Text(lines(text)),
        DataRef::Bool(flag) => Value::Bool(*flag),
        DataRef::DateTime(stamp) => Value::Stamp(stamp_text(*stamp, is_1904)?),
        DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            Value::Stamp(text.replace('T', " "))
        }
        DataRef::Error(error) => {
            Value::Unusable(format!("the cell holds the error {error}"))
        }
        DataRef::Empty => return None,
    })
}

fn lines(text: &str) -> String {
    text.replace("\r\n", "\n").replace('\r', "\n").trim().to_owned()
}

/// A count of days and parts of a day, as date, time, or both, to the nearest minute.
fn stamp_text(stamp: ExcelDateTime, is_1904: bool) -> Option<String> {
    let minutes = (stamp.as_f64() * 1440.0).round();
    if !(0.0..1e10).contains(&minutes) {
        return Some(format!("{}", stamp.as_f64()));
    }
    let (days, minute) = (minutes as i64 / 1440, minutes as i64 % 1440);
    let time = format!("{:02}:{:02}", minute / 60, minute % 60);
    if stamp.as_f64() < 1.0 && !is_1904 {
        return Some(time);
    }
    // Spreadsheets believe that 1900 was a leap year; from March of it on, counting from
    // the day before the eve of that year puts it right.
    let start = if is_1904 {
        jiff::civil::date(1904, 1, 1)
    } else {
        jiff::civil::date(1899, 12, 30)
    };
    let day = start.checked_add(jiff::Span::new().try_days(days).ok()?).ok()?;
    Some(if minute == 0 { day.to_string() } else { format!("{day} {time}") })
}

/// The row of headings and the rows below it.
fn table(
    kind: &'static Kind,
    mut cells: Cells,
    merged: &[Dimensions],
    place: &Place,
    (sheet, head): (&Arc<str>, Option<u32>),
) -> Grid {
    let key = kind.fields[0].name;
    let is_head = |row: &BTreeMap<u32, Value>| {
        row.values()
            .any(|value| matches!(value, Value::Text(text) if heading(text) == key))
    };
    let found = cells.iter().take(HEAD_WITHIN).find(|(_, row)| is_head(row));
    let told = head.map(|row| row.saturating_sub(1)).filter(|at| cells.contains_key(at));
    let head_at = told.or_else(|| found.or(cells.iter().next()).map(|(at, _)| *at));
    let place = place.cell(sheet, head_at.unwrap_or(0) + 1, 1);
    let mut grid = Grid { head: Vec::new(), rows: Vec::new(), place, broken: false };
    let Some(head_at) = head_at else { return grid };
    let head = cells.remove(&head_at).unwrap_or_default();
    let width = head.keys().next_back().map_or(0, |last| last + 1);
    grid.head = filled(head_at, head, width, &grid.place, sheet, merged);
    for (at, row) in cells.split_off(&head_at) {
        let last = row.keys().next_back().map_or(0, |last| last + 1);
        let line = filled(at, row, width.max(last), &grid.place, sheet, merged);
        let place = grid.place.cell(sheet, at + 1, 1);
        grid.rows.push(GridRow { cells: line, place, strict: false });
    }
    grid
}

/// A row with its blanks.
fn filled(
    at: u32,
    mut row: BTreeMap<u32, Value>,
    width: u32,
    place: &Place,
    sheet: &Arc<str>,
    merged: &[Dimensions],
) -> Vec<Cell> {
    let cell = |column: u32| {
        let place = place.cell(sheet, at + 1, column + 1);
        let blank = Value::Text(String::new());
        let value =
            row.remove(&column).or_else(|| covered(at, column, merged)).unwrap_or(blank);
        Cell { value, place }
    };
    (0..width).map(cell).collect()
}

/// A cell that looks filled because a merged one above or beside it covers it.
fn covered(row: u32, column: u32, merged: &[Dimensions]) -> Option<Value> {
    let region = merged.iter().find(|region| region.contains(row, column))?;
    let name = |(row, column): (u32, u32)| format!("{}{}", letters(column + 1), row + 1);
    Some(Value::Covered(format!("{}:{}", name(region.start), name(region.end))))
}
