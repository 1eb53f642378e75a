//! Spreadsheets, with the sheet and the cell of every value.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Cursor;
use std::sync::Arc;

use calamine::{DataRef, Dimensions, ExcelDateTime, Reader, SheetVisible, Xlsx};

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

/// What was taken out of a workbook.
pub(crate) struct Taken {
    /// The names of its sheets.
    pub(crate) sheets: Vec<String>,
    /// Those of them that whoever opens it does not see.
    pub(crate) hidden: Vec<String>,
    /// The one that was taken.
    pub(crate) sheet: String,
    /// What is in it.
    pub(crate) grid: Grid,
    /// The cells that hold formulas, by row and column from 1: what one comes to was computed
    /// elsewhere, and may be old.
    pub(crate) formulas: BTreeSet<(u32, u32)>,
}

/// Takes the sheet of a kind out of a workbook; a formula is what it came to.
pub(crate) fn grid(
    bytes: Vec<u8>,
    kind: &'static Kind,
    place: &Place,
) -> Result<Grid, Problem> {
    taken(bytes, kind, place, Wanted::default()).map(|taken| taken.grid)
}

/// Takes a sheet out of a workbook.
pub(crate) fn taken(
    bytes: Vec<u8>,
    kind: &'static Kind,
    place: &Place,
    wanted: Wanted<'_>,
) -> Result<Taken, Problem> {
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
    read.unwrap_or_else(|_| Err(damaged(place, "it is damaged")))
}

fn damaged(place: &Place, why: &str) -> Problem {
    Problem::error(place, format!("the workbook cannot be read: {why}"))
        .hinting("open it in a spreadsheet program and save it again as .xlsx")
}

fn open(
    bytes: Vec<u8>,
    kind: &'static Kind,
    place: &Place,
    wanted: Wanted<'_>,
) -> Result<Taken, Problem> {
    let fault = |error: calamine::XlsxError| damaged(place, &error.to_string());
    let mut book: Book = Xlsx::new(Cursor::new(bytes)).map_err(fault)?;
    let sheets = book.sheet_names();
    let hides = |name: &&String| {
        let mut all = book.sheets_metadata().iter();
        all.any(|sheet| sheet.name == **name && sheet.visible != SheetVisible::Visible)
    };
    let hidden: Vec<String> = sheets.iter().filter(hides).cloned().collect();
    let Some(name) = chosen(&mut book, (&sheets, &hidden), kind, place, wanted) else {
        return Err(damaged(place, "it has no sheet"));
    };
    let is_1904 = book.has_1904_epoch();
    let merged = book.merge_cells_by_sheet_name(&name).map_err(fault)?;
    let sheet: Arc<str> = name.as_str().into();
    let cells = cells(&mut book, &name, is_1904, place, &sheet)?;
    let formulas = formulas(&mut book, &name, place)?;
    let grid = table(kind, cells, &merged, place, (&sheet, wanted.head));
    Ok(Taken { sheets, hidden, sheet: name, grid, formulas })
}

/// The sheet that is asked for; or else the one with the name of the list, the first that
/// has its headings, the first; of these rather one that is seen.
fn chosen(
    book: &mut Book,
    (sheets, hidden): (&[String], &[String]),
    kind: &'static Kind,
    place: &Place,
    wanted: Wanted<'_>,
) -> Option<String> {
    let asked = wanted.sheet.and_then(|sheet| sheets.iter().find(|name| *name == sheet));
    let seen = || sheets.iter().filter(|name| !hidden.contains(name));
    let all = || seen().chain(sheets.iter().filter(|name| hidden.contains(name)));
    let same = |name: &&String| name.trim().to_lowercase() == kind.file;
    if let Some(found) = asked.or_else(|| all().find(same)) {
        return Some(found.clone());
    }
    let mut headed = |name: &&String| {
        // One that can't be read is not the one; it says so if somebody asks for it.
        let top = top(book, name, place).unwrap_or_default();
        top.values().any(|row| is_head(kind, row))
    };
    let one = sheets.len() < 2;
    let found = if one { None } else { all().find(|name| headed(name)) };
    found.or_else(|| all().next()).cloned()
}

/// The first rows of a sheet, as far as headings are looked for.
fn top(book: &mut Book, name: &str, place: &Place) -> Result<Cells, Problem> {
    let fault = |error: calamine::XlsxError| damaged(place, &error.to_string());
    let mut reader = book.worksheet_cells_reader(name).map_err(fault)?;
    let mut cells = Cells::new();
    while let Some(cell) = reader.next_cell().map_err(fault)? {
        let (row, column) = cell.get_position();
        let Some(value) = value(cell.get_value(), false) else { continue };
        if !value.is_blank() {
            if cells.len() == HEAD_WITHIN && !cells.contains_key(&row) {
                break;
            }
            cells.entry(row).or_default().insert(column, value);
        }
    }
    Ok(cells)
}

/// Whether a row has the heading of the names.
fn is_head(kind: &'static Kind, row: &BTreeMap<u32, Value>) -> bool {
    let key = kind.fields[0].name;
    row.values().any(|value| matches!(value, Value::Text(text) if heading(text) == key))
}

/// The cells that hold formulas.
fn formulas(
    book: &mut Book,
    name: &str,
    place: &Place,
) -> Result<BTreeSet<(u32, u32)>, Problem> {
    let fault = |error: calamine::XlsxError| damaged(place, &error.to_string());
    let mut reader = book.worksheet_cells_reader(name).map_err(fault)?;
    let mut found = BTreeSet::new();
    while let Some(cell) = reader.next_formula().map_err(fault)? {
        if !cell.get_value().is_empty() {
            let (row, column) = cell.get_position();
            found.insert((row.saturating_add(1), column.saturating_add(1)));
        }
    }
    Ok(found)
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
    let found = cells.iter().take(HEAD_WITHIN).find(|(_, row)| is_head(kind, row));
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
