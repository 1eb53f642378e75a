//! Lists: sorted and narrowed by what the address says, so that a link shows the same to
//! others; and as CSV.

use std::cmp::Ordering;

use app::{List, Sheet};
use maud::{Markup, html};

use crate::links::{Index, query};

/// So many rows are shown; what is beyond is told.
const SHOWN: usize = 1_000;

/// How a sheet is looked at: all of it is in the address.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct View {
    /// Rows must hold these words, anywhere.
    pub(crate) words: String,
    /// The list and the column by which it is sorted, and whether backwards.
    pub(crate) sort: Option<(usize, usize, bool)>,
    /// The day, as it was given.
    pub(crate) on: String,
}

impl View {
    pub(crate) fn of(pairs: &[(String, String)]) -> Self {
        let value = |name: &str| {
            let found = pairs.iter().find(|(found, _)| found == name);
            found.map(|(_, value)| value.trim().to_owned()).unwrap_or_default()
        };
        let sort = value("sort");
        let back = sort.starts_with('-');
        let sort = sort.trim_start_matches('-').split_once('.');
        let sort = sort
            .and_then(|(list, column)| Some((list.parse().ok()?, column.parse().ok()?)));
        Self {
            words: value("has"),
            sort: sort.map(|(list, column)| (list, column, back)),
            on: value("on"),
        }
    }

    /// As a query, with what is added to it.
    pub(crate) fn query(&self, more: &[(&str, &str)]) -> String {
        let sort = self.sort.map(|(list, column, back)| {
            format!("{}{list}.{column}", if back { "-" } else { "" })
        });
        let own = [
            ("has", self.words.as_str()),
            ("sort", sort.as_deref().unwrap_or("")),
            ("on", self.on.as_str()),
        ];
        let own = own.into_iter().filter(|(_, value)| !value.is_empty());
        query(own.chain(more.iter().copied()))
    }

    /// Narrows and sorts the lists of a sheet.
    pub(crate) fn apply(&self, sheet: &mut Sheet) {
        let words: Vec<String> =
            self.words.split_whitespace().map(str::to_lowercase).collect();
        for list in &mut sheet.lists {
            list.rows.retain(|row| {
                let text = row.join("\n").to_lowercase();
                words.iter().all(|word| text.contains(word))
            });
        }
        let Some((list, column, back)) = self.sort else { return };
        let Some(list) = sheet.lists.get_mut(list) else { return };
        if column < list.columns.len() {
            list.rows.sort_by(|a, b| {
                let order = compare(&a[column], &b[column]);
                if back { order.reverse() } else { order }
            });
        }
    }
}

/// Numbers by their value, wherever they stand in a text: `F-9` comes before `F-10`.
fn compare(one: &str, other: &str) -> Ordering {
    let (mut one, mut other) = (one, other);
    loop {
        let (a, b) = (run(one), run(other));
        let order = match (a.0.parse::<u64>(), b.0.parse::<u64>()) {
            (Ok(a), Ok(b)) => a.cmp(&b),
            _ => a.0.to_lowercase().cmp(&b.0.to_lowercase()),
        };
        if order != Ordering::Equal || a.0.is_empty() {
            return order;
        }
        (one, other) = (a.1, b.1);
    }
}

/// The digits, or what is none, with which a text begins; and the rest.
fn run(text: &str) -> (&str, &str) {
    let digits = text.starts_with(|c: char| c.is_ascii_digit());
    let end = text.find(|c: char| c.is_ascii_digit() != digits).unwrap_or(text.len());
    text.split_at(end)
}

/// What goes with a cell of some lists: an act for which a row waits.
pub(crate) type Extra<'a> = dyn Fn(&List, &[String]) -> Option<Markup> + 'a;

/// A list as a table. On a narrow screen each row becomes a block with its columns' names.
pub(crate) fn table(
    list: &List,
    at: usize,
    view: &View,
    index: &Index,
    extra: &Extra<'_>,
) -> Markup {
    let shown = &list.rows[..list.rows.len().min(SHOWN)];
    let extras: Vec<Option<Markup>> = shown.iter().map(|row| extra(list, row)).collect();
    let has_extra = extras.iter().any(Option::is_some);
    html! {
        section data-part={ "list-" (at) } {
            h2 #{ "list-" (at) } { (sentence(&list.title)) " " span.count { (list.rows.len()) } }
            @if list.rows.is_empty() {
                p.none { @if view.words.is_empty() { "None." } @else { "None that holds these words." } }
            } @else {
                div.wide tabindex="0" role="region" aria-labelledby={ "list-" (at) } {
                    table {
                        thead { tr {
                            @for (column, name) in list.columns.iter().enumerate() {
                                (head(view, at, column, name))
                            }
                            @if has_extra { th scope="col" { "to sign" } }
                        } }
                        tbody {
                            @for (row, extra) in shown.iter().zip(&extras) { tr {
                                @for (column, cell) in list.columns.iter().zip(row) {
                                    (body_cell(index, column, cell))
                                }
                                @if has_extra { td data-column="to sign" .blank[extra.is_none()] { @if let Some(extra) = extra { (extra) } } }
                            } }
                        }
                    }
                }
                @if list.rows.len() > SHOWN {
                    p { "The first " (SHOWN) " are shown; narrow the list, or take it as CSV." }
                }
                p.take { a href=(view.query(&[("as", "csv"), ("list", &at.to_string())])) { "This list as CSV" } }
            }
        }
    }
}

fn head(view: &View, at: usize, column: usize, name: &str) -> Markup {
    let now = view.sort.filter(|(list, by, _)| (*list, *by) == (at, column));
    let back = now.is_some_and(|(_, _, back)| !back);
    let next = View { sort: Some((at, column, back)), ..view.clone() };
    let order = now.map(|(_, _, back)| if back { "descending" } else { "ascending" });
    html! {
        th scope="col" aria-sort=[order] {
            a href={ (next.query(&[])) "#list-" (at) } { (name) }
        }
    }
}

fn body_cell(index: &Index, column: &str, cell: &str) -> Markup {
    let number = !cell.is_empty() && cell.parse::<f64>().is_ok();
    html! {
        td data-column=(column) .number[number] .blank[cell.is_empty() || cell == "-"] {
            // One child: on a narrow screen the cell is a grid.
            span { (index.linked(column, cell)) }
        }
    }
}

/// A title as a heading has it.
pub(crate) fn sentence(title: &str) -> String {
    let mut chars = title.chars();
    let first = chars.next().map(|first| first.to_uppercase().to_string());
    first.unwrap_or_default() + chars.as_str()
}

/// A list as CSV (RFC 4180). A cell that a spreadsheet would take for a formula gets an
/// apostrophe before it.
pub(crate) fn csv(list: &List) -> String {
    let head = list.columns.iter().map(|column| (*column).to_owned()).collect();
    let rows = std::iter::once(head).chain(list.rows.iter().cloned());
    let line = |row: Vec<String>| {
        let cells: Vec<String> = row.iter().map(|cell| quoted(cell)).collect();
        cells.join(",") + "\r\n"
    };
    rows.map(line).collect()
}

fn quoted(cell: &str) -> String {
    let number = cell.parse::<f64>().is_ok() || cell == "-";
    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && !number;
    let cell = if formula { format!("'{cell}") } else { cell.to_owned() };
    if cell.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet() -> Sheet {
        let row = |a: &str, b: &str| vec![a.to_owned(), b.to_owned()];
        let rows = vec![row("F-10", "x"), row("F-9", "Y, \"z\""), row("F-1", "=1+1")];
        let list =
            List { title: "open".to_owned(), columns: vec!["finding", "what"], rows };
        Sheet { lists: vec![list], ..Sheet::default() }
    }

    fn view(pairs: &[(&str, &str)]) -> View {
        let pair =
            |(name, value): &(&str, &str)| ((*name).to_owned(), (*value).to_owned());
        View::of(&pairs.iter().map(pair).collect::<Vec<_>>())
    }

    fn first(view: &View) -> Vec<String> {
        let mut sheet = sheet();
        view.apply(&mut sheet);
        sheet.lists[0].rows.iter().map(|row| row[0].clone()).collect()
    }

    #[test]
    fn the_address_says_what_is_shown() {
        assert_eq!(first(&view(&[("sort", "0.0")])), ["F-1", "F-9", "F-10"]);
        assert_eq!(first(&view(&[("sort", "-0.0")])), ["F-10", "F-9", "F-1"]);
        assert_eq!(first(&view(&[("has", "f- y")])), ["F-9"]);
        // What makes no sense changes nothing.
        for odd in ["7.0", "0.9", "x", "-", "0.-1"] {
            assert_eq!(first(&view(&[("sort", odd)])).len(), 3);
        }
        let view = view(&[("has", "a&b"), ("sort", "-1.2"), ("on", "2032-01-01")]);
        assert_eq!(
            view.query(&[("as", "csv")]),
            "?has=a%26b&sort=-1.2&on=2032-01-01&as=csv"
        );
    }

    #[test]
    fn csv_is_what_a_spreadsheet_reads() {
        let text = csv(&sheet().lists[0]);
        // RFC 4180, section 2: lines end with CRLF, quotes are doubled.
        assert_eq!(
            text,
            "finding,what\r\nF-10,x\r\nF-9,\"Y, \"\"z\"\"\"\r\nF-1,'=1+1\r\n"
        );
        assert_eq!(quoted("-12.5"), "-12.5");
        assert_eq!(quoted("-cmd"), "'-cmd");
    }
}
