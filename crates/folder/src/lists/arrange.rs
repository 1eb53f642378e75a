//! Somebody's table as one of ours: its columns under our headings, its cells in our notation.

use std::collections::{BTreeMap, BTreeSet};

use crate::cell::{Cell, Value};
use crate::fields::{Kind, Record};
use crate::lists::habit::{self, Texts};
use crate::lists::out::{self, FORMULA};
use crate::lists::{Choice, Heading, Looked, Seen, field_of};
use crate::place::Spot;
use crate::source::grid::{Grid, GridRow, misses};
use crate::{Place, Problem};

/// How many cells of a column are shown.
const SAMPLE: usize = 3;

/// The table under our headings, with what the programme says in the columns that it lacks;
/// nothing if it has no names.
pub(super) fn arrange(
    kind: &'static Kind,
    (grid, formulas): (Grid, &BTreeSet<(u32, u32)>),
    choice: &Choice,
    before: &[Record],
    looked: &mut Looked,
    problems: &mut Vec<Problem>,
) -> Option<Grid> {
    if grid.head.is_empty() {
        return Some(grid);
    }
    let fields = matched(kind, &grid, choice, looked, problems);
    if !fields.contains(&Some(0)) {
        let key = &kind.fields[0];
        let what =
            format!("no column holds `{}`, by which a {} is known", key.name, kind.noun);
        let place = grid.head.first().map_or(&grid.place, |cell| &cell.place);
        problems
            .push(Problem::error(place, what).hinting("say below which column it is"));
        return None;
    }
    let is_csv = looked.form == "CSV";
    let mut grid = grid;
    for row in &mut grid.rows {
        // What stands in a column that is left out is nobody's concern.
        let taken = |at: usize| fields.get(at).copied().flatten().is_some();
        let cells = row.cells.iter_mut().enumerate().filter(|(at, _)| taken(*at));
        for (_, cell) in cells {
            if is_csv {
                unguard(cell, problems);
            } else {
                computed(cell, formulas, problems);
            }
        }
    }
    read_habits(kind, &mut grid, &fields, choice, looked, problems);
    Some(under_ours(kind, grid, &fields, before, problems))
}

/// Which field each column holds.
fn matched(
    kind: &'static Kind,
    grid: &Grid,
    choice: &Choice,
    looked: &mut Looked,
    problems: &mut Vec<Problem>,
) -> Vec<Option<usize>> {
    let mut fields: Vec<Option<usize>> = Vec::new();
    for (at, cell) in grid.head.iter().enumerate() {
        let text = cell.value.plain().unwrap_or_default().trim().to_owned();
        let (by_name, near) = field_of(kind, &text);
        let mut field = match choice.columns.get(&at) {
            Some(said) => kind.position(said),
            None => by_name,
        };
        if let Some(twice) = field.filter(|_| fields.contains(&field)) {
            let what = format!("`{}` is in two columns", kind.fields[twice].name);
            problems
                .push(Problem::error(&cell.place, what).hinting("leave one of them out"));
            field = None;
        }
        fields.push(field);
        let sample =
            grid.rows.iter().filter_map(|row| row.cells.get(at)).filter_map(shown);
        looked.columns.push(Heading {
            text,
            field: field.map(|at| kind.fields[at].name),
            near: near.filter(|_| field.is_none()),
            sample: sample.take(SAMPLE).collect(),
        });
    }
    fields
}

fn shown(cell: &Cell) -> Option<String> {
    let text = match &cell.value {
        Value::Stamp(text) => text.clone(),
        Value::Bool(flag) => if *flag { "yes" } else { "no" }.to_owned(),
        value => value.plain()?,
    };
    (!text.trim().is_empty()).then_some(text)
}

/// Takes away the apostrophe that guards a text, and refuses a formula.
fn unguard(cell: &mut Cell, problems: &mut Vec<Problem>) {
    let Value::Text(text) = &cell.value else { return };
    if text.starts_with('=') {
        let what = "the cell holds a formula";
        let hint = "write what it comes to; a text that begins with `=` has an apostrophe before it";
        problems.push(Problem::error(&cell.place, what).hinting(hint));
        cell.value = Value::Bad;
        return;
    }
    let rest = text.strip_prefix('\'');
    let guarded = rest.filter(|rest| rest.trim_start_matches('\'').starts_with(FORMULA));
    if let Some(rest) = guarded {
        cell.value = Value::Text(rest.to_owned());
    }
}

/// Refuses a cell of a workbook that holds a formula: what it comes to was computed elsewhere,
/// and may be old.
fn computed(
    cell: &mut Cell,
    formulas: &BTreeSet<(u32, u32)>,
    problems: &mut Vec<Problem>,
) {
    let Spot::Cell { row, column, .. } = cell.place.spot else { return };
    if formulas.contains(&(row, column)) {
        let hint = "copy the column and paste it as values, and look at what it says; or \
                    leave the column out";
        let what = "the cell holds a formula";
        problems.push(Problem::error(&cell.place, what).hinting(hint));
        cell.value = Value::Bad;
    }
}

/// Reads numbers and days as they are written where the table comes from.
fn read_habits(
    kind: &'static Kind,
    grid: &mut Grid,
    fields: &[Option<usize>],
    choice: &Choice,
    looked: &mut Looked,
    problems: &mut Vec<Problem>,
) {
    let shape = |column: usize| {
        fields.get(column).copied().flatten().map(|at| kind.fields[at].shape)
    };
    let numeric = |column| shape(column).is_some_and(habit::is_number);
    let dated = |column| shape(column).is_some_and(habit::is_day);
    looked.decimal = habit::decimals(&texts(grid, numeric), choice.decimal);
    looked.dates = habit::dates(&texts(grid, dated), choice.dates);
    if let Some((text, place)) = &looked.decimal.unclear {
        let what =
            format!("of `{text}` nobody can tell whether the comma begins a fraction");
        problems.push(
            Problem::error(place, what).hinting("say below how fractions are written"),
        );
    }
    if let Some((text, place)) = &looked.dates.unclear {
        let what =
            format!("of `{text}` nobody can tell which is the day and which the month");
        problems.push(Problem::error(place, what).hinting("say below which comes first"));
    }
    disagree(&looked.decimal, "a fraction", problems);
    disagree(&looked.dates, "a day", problems);
    let (decimal, order) = (looked.decimal.taken, looked.dates.taken);
    for row in &mut grid.rows {
        for (column, cell) in row.cells.iter_mut().enumerate() {
            let Value::Text(text) = &cell.value else { continue };
            let plain = match decimal {
                Some(decimal) if numeric(column) => habit::plain_numbers(text, decimal),
                _ if dated(column) => habit::plain_dates(text, order),
                _ => continue,
            };
            cell.value = Value::Text(plain.into_owned());
        }
    }
}

/// Warns where cells are written in two ways: those of the other way may be taken for what they
/// are not.
fn disagree<T>(seen: &Seen<T>, what: &str, problems: &mut Vec<Problem>) {
    let Some((text, place)) = &seen.against else { return };
    let as_in = match &seen.by {
        Some((by, _)) => format!("`{by}` elsewhere"),
        None => "what was chosen".to_owned(),
    };
    let what = format!("`{text}` writes {what} otherwise than {as_in}");
    let hint = "look below whether both were taken as they are meant";
    problems.push(Problem::warning(place, what).hinting(hint));
}

fn texts(grid: &Grid, wanted: impl Fn(usize) -> bool) -> Texts<'_> {
    let cells = grid.rows.iter().flat_map(|row| row.cells.iter().enumerate());
    let wanted = cells.filter(|(column, _)| wanted(*column));
    let texts = wanted.filter_map(|(_, cell)| match &cell.value {
        Value::Text(text) => Some((text.as_str(), &cell.place)),
        _ => None,
    });
    texts.collect()
}

/// Puts the cells under our headings; what the table has no column for is as it was.
fn under_ours(
    kind: &'static Kind,
    grid: Grid,
    fields: &[Option<usize>],
    before: &[Record],
    problems: &mut Vec<Problem>,
) -> Grid {
    let lacking: Vec<usize> =
        (0..kind.fields.len()).filter(|at| !fields.contains(&Some(*at))).collect();
    let known: BTreeMap<String, &Record> =
        before.iter().map(|record| (out::name(record), record)).collect();
    let headings = grid.head.len();
    let named = |at: usize, place: &Place| Cell {
        value: Value::Text(kind.fields[at].name.to_owned()),
        place: place.clone(),
    };
    let ours = fields.iter().zip(&grid.head);
    let mut head: Vec<Cell> =
        ours.filter_map(|(field, cell)| field.map(|at| named(at, &cell.place))).collect();
    head.extend(lacking.iter().map(|at| named(*at, &grid.place)));
    let mut rows = Vec::new();
    for row in grid.rows {
        if row.cells.iter().all(|cell| cell.value.is_blank()) {
            continue;
        }
        let ragged = row.strict && misses(&row, headings, problems);
        rows.push(moved(kind, row, fields, (&lacking, &known), ragged));
    }
    Grid { head, rows, place: grid.place, broken: grid.broken }
}

fn moved(
    kind: &'static Kind,
    row: GridRow,
    fields: &[Option<usize>],
    (lacking, known): (&[usize], &BTreeMap<String, &Record>),
    ragged: bool,
) -> GridRow {
    let mut name = None;
    let mut cells = Vec::new();
    let width = row.cells.len();
    let blank =
        |place: &Place| Cell { value: Value::Text(String::new()), place: place.clone() };
    let mut given = row.cells.into_iter();
    for field in fields {
        let cell = given.next().unwrap_or_else(|| blank(&row.place));
        let Some(at) = field else { continue };
        if *at == 0 {
            name = cell.value.plain().map(|name| name.trim().to_owned());
        } else if ragged {
            // Nobody knows which cell belongs where.
            cells.push(Cell { value: Value::Bad, place: cell.place });
            continue;
        }
        cells.push(cell);
    }
    let record = name.and_then(|name| known.get(&name));
    for at in lacking {
        let field = kind.fields[*at].name;
        let value =
            record.and_then(|record| record.iter().find(|(name, _)| *name == field));
        let text = value.map(|(_, value)| out::text(value)).unwrap_or_default();
        cells.push(Cell { value: Value::Text(text), place: row.place.clone() });
    }
    debug_assert!(width == 0 || !cells.is_empty(), "a row has its name");
    GridRow { cells, place: row.place, strict: false }
}
