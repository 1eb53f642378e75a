//! A table of cells under a row of headings, from CSV or a spreadsheet.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::cell::{Cell, Row, Value};
use crate::fields::Kind;
use crate::nearest::did_you_mean;
use crate::notation::quoted;
use crate::source::Contents;
use crate::{Place, Problem};

/// A table of cells.
pub(crate) struct Grid {
    /// The headings; nothing if the file is empty.
    pub(crate) head: Vec<Cell>,
    /// The rows below them.
    pub(crate) rows: Vec<GridRow>,
    /// The file or the sheet.
    pub(crate) place: Place,
    /// Something was wrong with it already, so that rows may be missing.
    pub(crate) broken: bool,
}

/// One row of a table.
pub(crate) struct GridRow {
    /// The cells, as far as there are any.
    pub(crate) cells: Vec<Cell>,
    /// Where it begins.
    pub(crate) place: Place,
    /// Each row must have as many cells as there are headings.
    pub(crate) strict: bool,
}

/// Which field each column holds.
struct Columns {
    field: Vec<Option<usize>>,
    gaps_known: Arc<[bool]>,
}

/// A heading as a field name: `Part  number` is `part_number`, and so is `PART-NUMBER:`. A star
/// behind it says in many a table that the column must be filled.
pub(crate) fn heading(text: &str) -> String {
    let between = |c: char| c.is_whitespace() || matches!(c, '-' | '_');
    let text = text.trim_end_matches(|c: char| between(c) || matches!(c, ':' | '*'));
    let words = text.split(between).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("_").to_lowercase()
}

/// Makes things of the rows of a table.
pub(crate) fn rows(
    kind: &'static Kind,
    grid: Grid,
    problems: &mut Vec<Problem>,
) -> Contents {
    if grid.head.is_empty() {
        if !grid.broken {
            let what = "the file is empty: the first row must name the columns";
            problems.push(Problem::error(&grid.place, what).hinting(all_fields(kind)));
        }
        return Contents { rows: Vec::new(), broken: true };
    }
    let Some(columns) = columns(kind, &grid.head, problems) else {
        return Contents { rows: Vec::new(), broken: true };
    };
    let headings = grid.head.len();
    let named = |(at, cell): (usize, &Cell)| (!cell.value.is_blank()).then_some(at);
    let mut spilt: BTreeSet<usize> =
        grid.head.iter().enumerate().filter_map(named).collect();
    let mut rows = Vec::new();
    for given in grid.rows {
        if given.cells.iter().any(|cell| !cell.value.is_blank()) {
            let torn = given.cells.iter().any(|cell| matches!(cell.value, Value::Bad));
            let ragged = given.strict && !torn && misses(&given, headings, problems);
            let mut row = row(kind, given, &columns, ragged, &mut spilt, problems);
            if ragged || torn {
                // What is missing may have got lost with the rest of it.
                row.gaps_known = vec![true; kind.fields.len()].into();
            }
            rows.push(row);
        }
    }
    Contents { rows, broken: grid.broken }
}

fn all_fields(kind: &Kind) -> String {
    format!("the columns are: {}", kind.names().collect::<Vec<_>>().join(", "))
}

fn columns(
    kind: &'static Kind,
    head: &[Cell],
    problems: &mut Vec<Problem>,
) -> Option<Columns> {
    let names: Vec<String> = head
        .iter()
        .map(|cell| heading(&cell.value.plain().unwrap_or_default()))
        .collect();
    if !names.iter().any(|name| kind.position(name).is_some()) {
        let place = head.first().map(|cell| cell.place.clone())?;
        let what = format!("the first row names none of the columns of {}", kind.file);
        problems.push(Problem::error(&place, what).hinting(all_fields(kind)));
        return None;
    }
    let mut field: Vec<Option<usize>> = Vec::new();
    for (cell, name) in head.iter().zip(&names) {
        field.push(column(kind, cell, name, &field, &names, problems));
    }
    let mut gaps_known = vec![false; kind.fields.len()];
    for (at, known) in kind.fields.iter().enumerate() {
        // A heading that could not be made out may have been the missing one.
        if known.required && !field.contains(&Some(at)) {
            gaps_known[at] = true;
            let doubtful = field.iter().zip(&names).any(|(field, name)| {
                field.is_none() && !name.is_empty() && near(name, known.name)
            });
            if !doubtful {
                let what = format!(
                    "the column `{}` is missing, which must be given",
                    known.name
                );
                problems.push(Problem::error(&head[0].place, what).hinting(known.doc));
            }
        }
    }
    Some(Columns { field, gaps_known: gaps_known.into() })
}

fn near(name: &str, wanted: &str) -> bool {
    did_you_mean(name, [wanted]).is_some()
}

fn column(
    kind: &'static Kind,
    cell: &Cell,
    name: &str,
    before: &[Option<usize>],
    names: &[String],
    problems: &mut Vec<Problem>,
) -> Option<usize> {
    if name.is_empty() {
        return None;
    }
    let Some(at) = kind.position(name) else {
        let unused = kind.names().filter(|field| !names.iter().any(|name| name == field));
        let hint = did_you_mean(name, unused).unwrap_or_else(|| all_fields(kind));
        let shown = quoted(cell.value.plain().unwrap_or_default().trim());
        let what = format!("there is no column {shown} in {}", kind.file);
        problems.push(Problem::error(&cell.place, what).hinting(hint));
        return None;
    };
    if before.contains(&Some(at)) {
        let what = format!("the column `{name}` stands here a second time");
        problems.push(Problem::error(&cell.place, what).hinting("delete one of the two"));
        return None;
    }
    Some(at)
}

/// Whether a row has too few or too many cells, which is then reported.
pub(crate) fn misses(
    row: &GridRow,
    headings: usize,
    problems: &mut Vec<Problem>,
) -> bool {
    let count = row.cells.len();
    let spare = row.cells.iter().skip(headings).find(|cell| !cell.value.is_blank());
    let what = format!("this row has {count} cells under {headings} headings");
    if let Some(spare) = spare {
        let hint =
            "a comma within a cell needs quotes around the cell: \"6 h, with a hoist\"";
        problems.push(Problem::error(&spare.place, what).hinting(hint));
        return true;
    }
    if count < headings {
        let hint = "look for a lost comma or quote; blank cells at the end need their commas too";
        problems.push(Problem::error(&row.place, what).hinting(hint));
        return true;
    }
    false
}

fn row(
    kind: &'static Kind,
    given: GridRow,
    columns: &Columns,
    ragged: bool,
    spilt: &mut BTreeSet<usize>,
    problems: &mut Vec<Problem>,
) -> Row {
    let mut row = Row::empty(kind, given.place);
    row.gaps_known = Arc::clone(&columns.gaps_known);
    for (column, cell) in given.cells.into_iter().enumerate() {
        let field = columns.field.get(column).copied().flatten();
        match field {
            // In a ragged row nobody knows which cell belongs where, except the first.
            Some(at) if ragged && at > 0 => {
                row.cells[at] = Some(Cell { value: Value::Bad, place: cell.place });
            }
            Some(at) if cell.value.is_blank() => blank(at, cell, &mut row, problems),
            Some(at) => row.cells[at] = Some(cell),
            // A cell past the last heading was reported with its row.
            None if ragged => {}
            None => spill(column, &cell, spilt, problems),
        }
    }
    if ragged {
        row.cells.push(Some(Cell { value: Value::Bad, place: row.place.clone() }));
    }
    row
}

/// Reports a column that has cells and no heading, once.
fn spill(
    column: usize,
    cell: &Cell,
    spilt: &mut BTreeSet<usize>,
    problems: &mut Vec<Problem>,
) {
    if !cell.value.is_blank() && spilt.insert(column) {
        let what = "this column has no heading and is left out";
        let hint = "give it the name of a field at its top, or delete it";
        problems.push(Problem::warning(&cell.place, what).hinting(hint));
    }
}

/// A blank cell of a field. One that merged cells cover looks filled to whoever typed it.
fn blank(at: usize, cell: Cell, row: &mut Row, problems: &mut Vec<Problem>) {
    let field = &row.kind.fields[at];
    let Value::Covered(range) = cell.value else {
        if field.required {
            row.blanks.push((at, cell.place));
        }
        return;
    };
    let what = format!(
        "{}: of the merged cells {range} only the first holds the value",
        field.name
    );
    let hint = "undo the merging and write the value in each row";
    if field.required {
        problems.push(Problem::error(&cell.place, what).hinting(hint));
        row.cells[at] = Some(Cell { value: Value::Bad, place: cell.place });
    } else {
        problems.push(Problem::warning(&cell.place, what).hinting(hint));
    }
}
