//! Lists as tables, and as CSV.

use app::List;
use maud::{Markup, html};

use crate::links::Index;
use crate::view::View;

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
    let (from, until) = view.rows(at, list.rows.len());
    let shown = &list.rows[from..until];
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
                (turns(view, at, list.rows.len()))
                p.take { a href=(view.query(&[("as", "csv"), ("list", &at.to_string())])) { "This list as CSV" } }
            }
        }
    }
}

/// Ways to the other rows of a long list.
fn turns(view: &View, at: usize, rows: usize) -> Markup {
    let (from, until) = view.rows(at, rows);
    let way = |view: View, name: &str| html! { a href={ (view.query(&[])) "#list-" (at) } { (name) } };
    html! {
        @if until - from < rows {
            p.turns {
                "Rows " (from + 1) " to " (until) " of " (rows) "."
                @if let Some(earlier) = view.earlier(at, rows) { " " (way(earlier, "Rows before")) }
                @if let Some(later) = view.later(at, rows) { " " (way(later, "Rows after")) }
                " " (way(view.whole(at), "All rows"))
            }
        }
    }
}

fn head(view: &View, at: usize, column: usize, name: &str) -> Markup {
    let now = view.backwards(at, column);
    let back = now == Some(false);
    let next = view.sorted((at, column, back));
    let order = now.map(|back| if back { "descending" } else { "ascending" });
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

    fn list() -> List {
        let row = |a: &str, b: &str| vec![a.to_owned(), b.to_owned()];
        let rows = vec![row("F-10", "x"), row("F-9", "Y, \"z\""), row("F-1", "=1+1")];
        List { title: "open".to_owned(), columns: vec!["finding", "what"], rows }
    }

    #[test]
    fn csv_is_what_a_spreadsheet_reads() {
        let text = csv(&list());
        // RFC 4180, section 2: lines end with CRLF, quotes are doubled.
        assert_eq!(
            text,
            "finding,what\r\nF-10,x\r\nF-9,\"Y, \"\"z\"\"\"\r\nF-1,'=1+1\r\n"
        );
        assert_eq!(quoted("-12.5"), "-12.5");
        assert_eq!(quoted("-cmd"), "'-cmd");
    }
}
