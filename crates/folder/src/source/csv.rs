//! CSV, with the place of every cell.
//!
//! The notation is that of RFC 4180, read forgivingly: `;` and tabs part cells too, blanks
//! around a quoted cell are allowed, a quote within an unquoted cell is part of it (`3/16"`),
//! and lines that begin with `#` are comments.

use crate::cell::{Cell, Value};
use crate::fields::Kind;
use crate::source::grid::{Grid, GridRow, heading};
use crate::{Place, Problem};

/// The most cells that are read of a file: a short cell takes a hundred times its own room.
const MOST_CELLS: usize = 1_000_000;

struct Scanner<'a> {
    rest: std::iter::Peekable<std::str::Chars<'a>>,
    delimiter: char,
    line: u32,
    column: u32,
    place: &'a Place,
    broken: bool,
}

/// Takes a text apart.
pub(crate) fn grid(
    kind: &'static Kind,
    text: &str,
    place: &Place,
    problems: &mut Vec<Problem>,
) -> Grid {
    let (text, told, skipped) = match text.split_once('\n') {
        // A line by which spreadsheet programs tell each other the sign.
        Some((first, rest))
            if first.starts_with("sep=") && first.chars().count() == 5 =>
        {
            (rest, first.chars().last(), 1)
        }
        _ => (text, None, 0),
    };
    let mut scanner = Scanner {
        rest: text.chars().peekable(),
        delimiter: told.unwrap_or_else(|| delimiter(kind, text)),
        line: 1 + skipped,
        column: 1,
        place,
        broken: false,
    };
    let mut head = Vec::new();
    let mut rows = Vec::new();
    let mut count = 0;
    while let Some(cells) = scanner.record(problems) {
        let Some(first) = cells.first() else { continue };
        count += cells.len();
        if count > MOST_CELLS {
            let what = format!("the file holds more than {MOST_CELLS} cells");
            let hint =
                "see whether it is the right file, and delete columns that hold nothing";
            problems.push(Problem::error(&first.place, what).hinting(hint));
            scanner.broken = true;
            break;
        }
        if head.is_empty() {
            head = cells;
            // Blanks behind the last heading are no columns.
            while head.last().is_some_and(|cell| cell.value.is_blank()) {
                head.pop();
            }
        } else {
            let place = first.place.clone();
            rows.push(GridRow { cells, place, strict: true });
        }
    }
    Grid { head, rows, place: place.clone(), broken: scanner.broken }
}

/// The sign that parts the headings into most fields that are known; where none is, the one
/// that stands there most often.
fn delimiter(kind: &'static Kind, text: &str) -> char {
    let head =
        text.lines().find(|line| !line.trim().is_empty() && !line.starts_with('#'));
    let known = |sign: char| {
        let names = head.unwrap_or_default().split(sign);
        names
            .filter(|name| {
                kind.position(&heading(name.trim().trim_matches('"'))).is_some()
            })
            .count()
    };
    let often = |sign: char| head.unwrap_or_default().matches(sign).count();
    let none = [',', ';', '\t'].into_iter().all(|sign| known(sign) == 0);
    let weight = |sign: char| if none { often(sign) } else { known(sign) };
    let mut best = ',';
    for sign in [';', '\t'] {
        if weight(sign) > weight(best) {
            best = sign;
        }
    }
    best
}

impl Scanner<'_> {
    /// The cells of the next record; an empty list for a line without any.
    fn record(&mut self, problems: &mut Vec<Problem>) -> Option<Vec<Cell>> {
        match self.rest.peek()? {
            '\n' => {
                self.next();
                return Some(Vec::new());
            }
            '#' => {
                while self.next().is_some_and(|c| c != '\n') {}
                return Some(Vec::new());
            }
            _ => {}
        }
        let mut cells = Vec::new();
        loop {
            cells.push(self.cell(problems));
            match self.next() {
                Some('\n') | None => return Some(cells),
                Some(_) => {}
            }
        }
    }

    /// One cell, up to the sign that ends it.
    fn cell(&mut self, problems: &mut Vec<Problem>) -> Cell {
        while self.rest.next_if(|&c| c == ' ').is_some() {
            self.column += 1;
        }
        let place = self.place.at(self.line, self.column);
        if self.rest.peek() == Some(&'"') {
            return self.quoted(place, problems);
        }
        let text = self.until_end();
        Cell { value: Value::Text(text.trim().to_owned()), place }
    }

    fn quoted(&mut self, place: Place, problems: &mut Vec<Problem>) -> Cell {
        self.next();
        let mut text = String::new();
        loop {
            match self.next() {
                Some('"') if self.rest.peek() == Some(&'"') => {
                    self.next();
                    text.push('"');
                }
                Some('"') => break,
                Some(c) => text.push(c),
                None => {
                    self.broken = true;
                    problems.push(
                        Problem::error(&place, "the quote that opens this cell is never closed")
                            .hinting("add a quote at its end; a quote within a quoted cell is written twice"),
                    );
                    return Cell { value: Value::Bad, place };
                }
            }
        }
        let after = self.place.at(self.line, self.column);
        let rest = self.until_end();
        if !rest.trim().is_empty() {
            let what = "something follows the quote that closes the cell";
            let hint = "put the whole cell in quotes, and write a quote within it twice";
            problems.push(Problem::error(&after, what).hinting(hint));
            return Cell { value: Value::Bad, place };
        }
        Cell { value: Value::Text(text.trim().to_owned()), place }
    }

    /// What is left of the cell.
    fn until_end(&mut self) -> String {
        let mut text = String::new();
        while let Some(&c) = self.rest.peek() {
            if c == self.delimiter || c == '\n' {
                break;
            }
            text.push(c);
            self.next();
        }
        text
    }

    fn next(&mut self) -> Option<char> {
        let c = self.rest.next()?;
        if c == '\n' {
            self.line += 1;
            self.column = 1;
        } else {
            self.column += 1;
        }
        Some(c)
    }
}
