//! TOML, with the place of every value.

use std::collections::BTreeSet;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::cell::{Cell, Row, Value};
use crate::fields::{Field, KINDS, Kind, Shape};
use crate::nearest::did_you_mean;
use crate::notation::quoted;
use crate::source::Contents;
use crate::{Place, Problem};

/// The most values that are read of a file: a short one takes a hundred times its own room.
const MOST_VALUES: usize = 1_000_000;

/// A text and where its lines begin.
struct Text<'a> {
    whole: &'a str,
    lines: Vec<usize>,
    place: &'a Place,
    /// The lines that are not TOML: what was made of them means nothing.
    torn: BTreeSet<u32>,
}

/// Takes a text apart into the things of one kind.
pub(crate) fn rows(
    kind: &'static Kind,
    text: &str,
    place: &Place,
    problems: &mut Vec<Problem>,
) -> Contents {
    let sign = |byte: &u8| matches!(byte, b'\n' | b'=' | b',' | b'[');
    if text.bytes().filter(|byte| sign(byte)).count() > MOST_VALUES {
        let what = format!("the file holds more than {MOST_VALUES} values");
        problems.push(
            Problem::error(place, what).hinting("see whether it is the right file"),
        );
        return Contents { rows: Vec::new(), broken: true };
    }
    let lines = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1));
    let mut text =
        Text { whole: text, lines: lines.collect(), place, torn: BTreeSet::new() };
    let (root, errors) = DeTable::parse_recoverable(text.whole);
    let mut torn = false;
    for error in errors {
        let start = error.span().map_or(0, |span| span.start);
        text.torn.insert(text.line(start));
        let (problem, small) = syntax(error.message(), &text.place(start));
        torn |= !small;
        problems.push(problem);
    }
    let mut broken = torn;
    let mut rows = Vec::new();
    for (key, value) in root.get_ref() {
        let start = key.span().start;
        if key.get_ref() == kind.table {
            match text.tables(kind, value, problems) {
                Some(tables) => rows = tables,
                None => broken = true,
            }
        } else {
            broken = true;
            if !text.torn.contains(&text.line(start)) {
                problems.push(misplaced(kind, key.get_ref(), &text.place(start)));
            }
        }
    }
    if torn {
        // What a line that cannot be read would have said is not missing as well.
        rows.iter_mut().for_each(forgive);
    }
    rows.sort_by(|one, other| one.place.cmp(&other.place));
    Contents { rows, broken }
}

/// An error of notation, and whether it spoils no more than one value.
fn syntax(message: &str, place: &Place) -> (Problem, bool) {
    let what = message.trim().replace('\n', ", ");
    if ["invalid date", "invalid time"].iter().any(|start| what.starts_with(start)) {
        let problem =
            Problem::error(place, format!("there is no such day or time: {what}"));
        return (
            problem.hinting(
                "dates are written 2031-10-06, and times in quotes: \"08:00-16:30\"",
            ),
            true,
        );
    }
    let problem = Problem::error(place, format!("this is not TOML: {what}"));
    (problem.hinting("texts stand in quotes, lists in brackets: name = \"Port engine\", skills = [\"fitter\"]"), false)
}

fn forgive(row: &mut Row) {
    row.gaps_known = vec![true; row.kind.fields.len()].into();
    for cell in row.cells.iter_mut().flatten() {
        if let Value::Rows(rows) = &mut cell.value {
            rows.iter_mut().for_each(forgive);
        }
    }
}

fn misplaced(kind: &Kind, key: &str, at: &Place) -> Problem {
    let other = KINDS.iter().find(|other| other.table == key || other.file == key);
    let brackets = if kind.table == "programme" { ("[", "]") } else { ("[[", "]]") };
    let wanted = format!("{}{}{}", brackets.0, kind.table, brackets.1);
    let what = format!("there is no table or key {} in this file", quoted(key));
    let hint = match other {
        Some(other) if other.file != kind.file => {
            format!(
                "{} stand in {}.toml, each as [[{}]]",
                other.file, other.file, other.table
            )
        }
        _ => format!("the file holds tables {wanted} and nothing else"),
    };
    Problem::error(at, what).hinting(hint)
}

impl Text<'_> {
    fn line(&self, at: usize) -> u32 {
        self.lines.partition_point(|start| *start <= at) as u32
    }

    fn place(&self, at: usize) -> Place {
        let line = self.line(at).max(1);
        let before =
            self.whole.get(self.lines[line as usize - 1]..at).unwrap_or_default();
        self.place.at(line, before.chars().count() as u32 + 1)
    }

    /// The tables of a kind: one for the programme, any number for everything else. Nothing
    /// if it is written otherwise.
    fn tables(
        &self,
        kind: &'static Kind,
        value: &Spanned<DeValue<'_>>,
        problems: &mut Vec<Problem>,
    ) -> Option<Vec<Row>> {
        let place = self.place(value.span().start);
        let single = kind.table == "programme";
        match value.get_ref() {
            DeValue::Table(table) if single => {
                Some(vec![self.row(kind, table, place, problems)])
            }
            DeValue::Array(each) if !single => Some(
                each.iter().filter_map(|one| self.table(kind, one, problems)).collect(),
            ),
            _ => {
                let (wrong, right) = if single {
                    ("one", "[programme]")
                } else {
                    ("any number of them", kind.table)
                };
                let what = format!(
                    "`{}` is not written as a table of which there is {wrong}",
                    kind.table
                );
                let hint = if single {
                    format!("write {right}")
                } else {
                    format!("write [[{right}]], with two brackets on each side")
                };
                problems.push(Problem::error(&place, what).hinting(hint));
                None
            }
        }
    }

    fn table(
        &self,
        kind: &'static Kind,
        value: &Spanned<DeValue<'_>>,
        problems: &mut Vec<Problem>,
    ) -> Option<Row> {
        let place = self.place(value.span().start);
        if let DeValue::Table(table) = value.get_ref() {
            return Some(self.row(kind, table, place, problems));
        }
        let what =
            format!("{} stands where a table is expected", value.get_ref().type_str());
        problems.push(
            Problem::error(&place, what).hinting(format!("write [[{}]]", kind.table)),
        );
        None
    }

    fn row(
        &self,
        kind: &'static Kind,
        table: &DeTable<'_>,
        place: Place,
        problems: &mut Vec<Problem>,
    ) -> Row {
        let mut row = Row::empty(kind, place);
        for (key, value) in table {
            let torn = self.torn.contains(&self.line(key.span().start));
            let Some(at) = kind.position(key.get_ref()) else {
                if torn {
                    continue;
                }
                let hint = did_you_mean(key.get_ref(), kind.names());
                let all = || {
                    format!(
                        "its fields are: {}",
                        kind.names().collect::<Vec<_>>().join(", ")
                    )
                };
                let what =
                    format!("a {} has no field {}", kind.noun, quoted(key.get_ref()));
                let place = self.place(key.span().start);
                problems
                    .push(Problem::error(&place, what).hinting(hint.unwrap_or_else(all)));
                continue;
            };
            if torn {
                let place = self.place(value.span().start);
                row.cells[at] = Some(Cell { value: Value::Bad, place });
                continue;
            }
            let cell = self.cell(kind, at, value, problems);
            if cell.value.is_blank() {
                continue;
            }
            row.cells[at] = Some(cell);
        }
        row
    }

    fn cell(
        &self,
        whole: &'static Kind,
        at: usize,
        value: &Spanned<DeValue<'_>>,
        problems: &mut Vec<Problem>,
    ) -> Cell {
        let field = &whole.fields[at];
        let place = self.place(value.span().start);
        let inner = match (field.shape, value.get_ref()) {
            (Shape::Rows(kind), DeValue::Array(each)) => Value::Rows(
                each.iter().filter_map(|one| self.table(kind, one, problems)).collect(),
            ),
            (Shape::Rows(_), _) => {
                let what = format!("`{}` is not written as a list of tables", field.name);
                let hint = format!(
                    "write each as a table with two brackets on each side, [[{}.{}]]",
                    whole.table, field.name
                );
                problems.push(Problem::error(&place, what).hinting(hint));
                Value::Bad
            }
            (shape, DeValue::Array(each)) if shape.is_list() => Value::Array(
                each.iter()
                    .map(|one| Cell {
                        value: self.single(field, one, problems),
                        place: self.place(one.span().start),
                    })
                    .collect(),
            ),
            _ => self.single(field, value, problems),
        };
        Cell { value: inner, place }
    }

    /// A value that is not made of others.
    fn single(
        &self,
        field: &Field,
        value: &Spanned<DeValue<'_>>,
        problems: &mut Vec<Problem>,
    ) -> Value {
        let read = match value.get_ref() {
            DeValue::String(text) => Some(Value::Text(text.trim().to_owned())),
            DeValue::Integer(number) => {
                i64::from_str_radix(number.as_str(), number.radix()).ok().map(Value::Int)
            }
            DeValue::Float(number) => number.as_str().parse().ok().map(Value::Float),
            DeValue::Boolean(flag) => Some(Value::Bool(*flag)),
            DeValue::Datetime(stamp) => {
                Some(Value::Stamp(stamp.to_string().replacen('T', " ", 1)))
            }
            DeValue::Array(_) | DeValue::Table(_) => None,
        };
        read.unwrap_or_else(|| {
            let noun = match value.get_ref() {
                DeValue::Array(_) => "a list",
                DeValue::Table(_) => "a table",
                _ => "a number beyond all measure",
            };
            let what = format!(
                "{}: {noun} stands where {} is expected",
                field.name,
                field.shape.noun()
            );
            let problem = Problem::error(&self.place(value.span().start), what);
            problems.push(match field.example {
                "" => problem,
                example => problem.hinting(format!("for instance `{example}`")),
            });
            Value::Bad
        })
    }
}
