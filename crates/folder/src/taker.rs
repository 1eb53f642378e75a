//! Taking values out of rows, and putting values into records, along the field tables.

use crate::cell::{Cell, Row, Value};
use crate::fields::{Kind, Out, Record, Shape};
use crate::notation::{Fault, Listed, Notated};
use crate::{Place, Problem};

/// Takes typed values out of a row and notes everything that is wrong with it.
pub(crate) struct Taker<'a> {
    row: &'a Row,
    problems: &'a mut Vec<Problem>,
    sound: bool,
}

/// Puts typed values into a record.
pub(crate) struct Giver {
    kind: &'static Kind,
    record: Record,
}

/// Reads a row: the thing if all of it could be read, and otherwise problems.
pub(crate) fn take<T>(
    row: &Row,
    problems: &mut Vec<Problem>,
    read: impl FnOnce(&mut Taker<'_>) -> Option<T>,
) -> Option<T> {
    let mut taker = Taker { row, problems, sound: true };
    taker.refuse_bad();
    let thing = read(&mut taker);
    thing.filter(|_| taker.sound)
}

impl Taker<'_> {
    /// Cells that were reported when they were met make the row unsound, whether or not
    /// anybody asks for them.
    fn refuse_bad(&mut self) {
        let bad = |cell: &Cell| matches!(cell.value, Value::Bad);
        if self.row.cells.iter().flatten().any(bad) {
            self.sound = false;
        }
    }

    /// Whether a field was given.
    pub(crate) fn has(&self, field: &str) -> bool {
        self.row.cell(field).is_some()
    }

    /// A field that must be given.
    pub(crate) fn need<T: Notated>(&mut self, field: &'static str) -> Option<T> {
        self.expect(field, T::SHAPE);
        if !self.has(field) {
            self.missing(field);
        }
        self.maybe(field)
    }

    /// A field that may be given.
    pub(crate) fn maybe<T: Notated>(&mut self, field: &'static str) -> Option<T> {
        self.expect(field, T::SHAPE);
        let cell = self.row.cell(field)?;
        self.read_one(field, cell)
    }

    /// A yes that may be given.
    pub(crate) fn flag(&mut self, field: &'static str) -> bool {
        self.maybe(field).unwrap_or(false)
    }

    /// A list that may be given, which is not the same as an empty one.
    pub(crate) fn maybe_list<T: Listed>(
        &mut self,
        field: &'static str,
    ) -> Option<Vec<T>> {
        self.expect(field, T::LIST);
        let cell = self.row.cell(field)?;
        let each: Vec<Cell> = match &cell.value {
            Value::Array(cells) => cells.clone(),
            Value::Text(text) => return Some(self.parts(field, text, &cell.place)),
            _ => vec![cell.clone()],
        };
        let read = each.iter().map(|one| self.read_one(field, one)).collect::<Vec<_>>();
        Some(read.into_iter().flatten().collect())
    }

    /// Several in one cell.
    fn parts<T: Listed>(
        &mut self,
        field: &'static str,
        text: &str,
        place: &Place,
    ) -> Vec<T> {
        let mut read = Vec::new();
        for part in parted(text) {
            match T::part(&part) {
                Ok(value) => read.push(value),
                Err(fault) => self.refuse(field, place, fault),
            }
        }
        read
    }

    fn refuse(&mut self, field: &'static str, place: &Place, fault: Fault) {
        let Fault { what, hint } = fault;
        let problem = Problem::error(place, format!("{field}: {what}"));
        self.note(problem.maybe_hinting(hint));
    }

    /// A list of which not given means none.
    pub(crate) fn list<T: Listed>(&mut self, field: &'static str) -> Vec<T> {
        self.maybe_list(field).unwrap_or_default()
    }

    /// A list that must be given.
    pub(crate) fn need_list<T: Listed>(&mut self, field: &'static str) -> Vec<T> {
        if !self.has(field) {
            self.missing(field);
        }
        self.list(field)
    }

    /// The one object below this one.
    pub(crate) fn row<T>(
        &mut self,
        field: &'static str,
        read: impl FnMut(&mut Taker<'_>) -> Option<T>,
    ) -> Option<T> {
        let only = self.rows(field, read);
        only.into_iter().next()
    }

    /// The objects below this one, of which not given means none.
    pub(crate) fn rows_if_any<T>(
        &mut self,
        field: &'static str,
        read: impl FnMut(&mut Taker<'_>) -> Option<T>,
    ) -> Vec<T> {
        if self.has(field) { self.rows(field, read) } else { Vec::new() }
    }

    /// The tables below this one.
    pub(crate) fn rows<T>(
        &mut self,
        field: &'static str,
        mut read: impl FnMut(&mut Taker<'_>) -> Option<T>,
    ) -> Vec<T> {
        let Some(cell) = self.row.cell(field) else {
            self.missing(field);
            return Vec::new();
        };
        if matches!(cell.value, Value::Bad) {
            self.sound = false;
            return Vec::new();
        }
        let Value::Rows(rows) = &cell.value else {
            let expected = self.row.kind.nested(field);
            let what = match &cell.value {
                Value::Unusable(why) => why.clone(),
                other => format!("{} stands where {expected} expected", other.noun()),
            };
            let hint = self.row.kind.below(field);
            self.refuse(field, &cell.place, Fault::new(what).hint(hint));
            return Vec::new();
        };
        let mut things = Vec::new();
        for row in rows {
            match take(row, self.problems, &mut read) {
                Some(thing) => things.push(thing),
                None => self.sound = false,
            }
        }
        things
    }

    /// Notes that something about a field is wrong, at its place.
    pub(crate) fn fault(&mut self, field: &str, what: impl Into<String>, hint: &str) {
        let place = self.row.place_of(field).clone();
        self.note(Problem::error(&place, what).hinting(hint));
    }

    /// Notes that a field is given which makes sense only beside another one that is not.
    pub(crate) fn only_with(&mut self, field: &str, other: &str) {
        if self.has(field) && !self.has(other) && !self.gap_known(other) {
            let what = format!("`{field}` is given without `{other}`");
            self.fault(
                field,
                what,
                &format!("give `{other}` too, or leave `{field}` out"),
            );
        }
    }

    /// Whether the lack of a field was reported already.
    pub(crate) fn gap_known(&self, field: &str) -> bool {
        self.row.kind.position(field).is_some_and(|at| self.row.gaps_known[at])
    }

    /// From now on the row does not count as read.
    pub(crate) fn spoil(&mut self) {
        self.sound = false;
    }

    fn read_one<T: Notated>(&mut self, field: &'static str, cell: &Cell) -> Option<T> {
        if matches!(cell.value, Value::Bad) {
            self.sound = false;
            return None;
        }
        if let Value::Unusable(why) = &cell.value {
            let example = self.example(field);
            let hint = format!("for instance `{example}`");
            self.refuse(field, &cell.place, Fault::new(why).hint(hint));
            return None;
        }
        match T::read(cell) {
            Ok(value) => Some(value),
            Err(fault) => {
                self.refuse(field, &cell.place, fault);
                None
            }
        }
    }

    /// What somebody might write in a field.
    fn example(&self, field: &str) -> &'static str {
        let kind = self.row.kind;
        kind.position(field).map_or("", |at| kind.fields[at].example)
    }

    fn missing(&mut self, field: &'static str) {
        self.sound = false;
        if self.gap_known(field) {
            return;
        }
        let kind = self.row.kind;
        let about = self.row.about();
        let position = kind.position(field);
        let example = self.example(field);
        let blank = self.row.blanks.iter().find(|(at, _)| Some(*at) == position);
        let place = blank.map_or(&self.row.place, |(_, place)| place);
        let problem = Problem::error(
            place,
            format!("{about} has no `{field}`, which must be given"),
        );
        let problem = match example {
            "" => problem.hinting(kind.below(field)),
            _ => problem.hinting(format!("for instance `{example}`")),
        };
        self.problems.push(problem);
    }

    fn note(&mut self, problem: Problem) {
        self.sound = false;
        self.problems.push(problem);
    }

    /// The field tables and the readers say the same, or a test fails.
    fn expect(&self, field: &str, shape: Shape) {
        debug_assert_eq!(
            self.row.kind.position(field).map(|at| self.row.kind.fields[at].shape),
            Some(shape),
            "{} {field}",
            self.row.kind.noun
        );
    }
}

/// The parts between `;`, without the empty ones. A backslash keeps what follows it.
pub(crate) fn parted(text: &str) -> impl Iterator<Item = String> {
    let mut parts = vec![String::new()];
    let mut escaped = false;
    for c in text.chars() {
        if c == ';' && !escaped {
            parts.push(String::new());
            continue;
        }
        escaped = c == '\\' && !escaped;
        if let Some(part) = parts.last_mut() {
            part.push(c);
        }
    }
    parts.into_iter().map(|part| part.trim().to_owned()).filter(|part| !part.is_empty())
}

impl Giver {
    /// An empty record of a kind.
    pub(crate) fn new(kind: &'static Kind) -> Self {
        Self { kind, record: Record::new() }
    }

    /// A value that is always there.
    #[must_use]
    pub(crate) fn put<T: Notated>(self, field: &'static str, value: &T) -> Self {
        self.out(field, value.print())
    }

    /// A value that may be there.
    #[must_use]
    pub(crate) fn maybe<T: Notated>(
        self,
        field: &'static str,
        value: Option<&T>,
    ) -> Self {
        match value {
            Some(value) => self.put(field, value),
            None => self,
        }
    }

    /// A yes; no is not written.
    #[must_use]
    pub(crate) fn flag(self, field: &'static str, yes: bool) -> Self {
        if yes { self.out(field, Out::Flag(true)) } else { self }
    }

    /// A list; an empty one is not written.
    #[must_use]
    pub(crate) fn list<T: Listed>(self, field: &'static str, values: &[T]) -> Self {
        if values.is_empty() { self } else { self.whole_list(field, values) }
    }

    /// A list, even an empty one.
    #[must_use]
    pub(crate) fn whole_list<T: Listed>(self, field: &'static str, values: &[T]) -> Self {
        let text = |value: &T| match value.print() {
            Out::Text(text) => text,
            Out::Count(number) => number.to_string(),
            Out::Number(number) => number.to_string(),
            Out::Flag(_) | Out::List(_) | Out::Row(_) | Out::Rows(_) => String::new(),
        };
        self.out(field, Out::List(values.iter().map(text).collect()))
    }

    /// The record, in the order of the table.
    pub(crate) fn done(mut self) -> Record {
        let kind = self.kind;
        self.record.sort_by_key(|(field, _)| kind.position(field));
        self.record
    }

    #[must_use]
    pub(crate) fn out(mut self, field: &'static str, out: Out) -> Self {
        debug_assert!(self.kind.position(field).is_some(), "{} {field}", self.kind.noun);
        self.record.push((field, out));
        self
    }
}
