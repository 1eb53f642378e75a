//! What a file was found to be, what is wrong with it, and what it would change.

use app::{
    DateOrder, Decimal, ListChoice, ListForm, ListLook, ListProblem, Seen, counted,
};
use maud::{Markup, html};

use super::{address, fields};
use crate::sign_in::{Fields, field, secret_field};
use crate::site::Site;
use crate::table::sentence;
use crate::viewer::Viewer;

/// So many things are shown of each sort; the rest is counted.
const SHOWN: usize = 200;

/// What was wrong with what was sent.
#[derive(Default)]
pub(super) struct Wrong {
    /// Why nothing was entered.
    pub(super) entered: String,
    /// Why the secret is not theirs.
    pub(super) secret: String,
}

pub(super) const fn decimal_word(decimal: Decimal) -> &'static str {
    match decimal {
        Decimal::Comma => "comma",
        Decimal::Point => "point",
    }
}

pub(super) const fn dates_word(order: DateOrder) -> &'static str {
    match order {
        DateOrder::DayFirst => "day",
        DateOrder::MonthFirst => "month",
    }
}

/// Everything that is wrong, and what somebody should look at.
pub(super) fn problems(look: &ListLook) -> Markup {
    html! {
        @if !look.errors.is_empty() {
            section.reasons aria-labelledby="wrong" {
                h2 #wrong { "To be put right before it can be loaded " span.count { (look.errors.len()) } }
                (list(&look.errors))
            }
        }
        @if !look.warnings.is_empty() {
            details {
                summary { "Look at these " span.count { (look.warnings.len()) } }
                (list(&look.warnings))
            }
        }
    }
}

fn list(problems: &[ListProblem]) -> Markup {
    html! {
        ul {
            @for problem in problems.iter().take(SHOWN * 2) {
                li {
                    @if !problem.place.is_empty() { strong { (problem.place) } ": " }
                    (problem.what)
                    @if let Some(hint) = &problem.hint { p.hint { (hint) } }
                }
            }
        }
        @if problems.len() > SHOWN * 2 { p { "and " (problems.len() - SHOWN * 2) " more" } }
    }
}

/// How the file is taken, to be changed.
pub(super) fn form(token: &str, choice: &ListChoice, look: &ListLook) -> Markup {
    let looked = &look.looked;
    let forms = app::list_forms();
    let form = forms.iter().find(|form| form.list == choice.list);
    let missed = looked.columns.iter().any(|column| column.field.is_none());
    html! {
        form.plain method="get" action={ "/import/file/" (token) } {
            h2 { "How it is taken" }
            p { (looked.form) " with " (counted(looked.rows, "row", "rows")) "." }
            div.taken {
                div.field {
                    label for="list" { "Which list it is" }
                    select #list name="list" {
                        @for form in &forms {
                            option value=(form.list) selected[form.list == choice.list] { (sentence(form.list)) }
                        }
                    }
                }
                @if looked.sheets.len() > 1 {
                    div.field {
                        label for="sheet" { "Which sheet" }
                        select #sheet name="sheet" {
                            @for sheet in &looked.sheets {
                                option value=(sheet) selected[Some(sheet) == looked.sheet.as_ref()] { (sheet) }
                            }
                        }
                    }
                }
                @if looked.form == "XLSX" {
                    div.field {
                        label for="head" { "Row of the headings" }
                        input #head name="head" type="number" min="1" inputmode="numeric" placeholder="found by their names"
                            value=[choice.head];
                    }
                }
                (decimals(choice, &looked.decimal))
                (dates(choice, &looked.dates))
            }
            fieldset {
                legend { "What the file does not name" }
                div.buttons {
                    label { input type="radio" name="whole" value="" checked[!choice.whole]; "stays as it is" }
                    label { input type="radio" name="whole" value="yes" checked[choice.whole]; "goes: this is the whole list" }
                }
            }
            @if let Some(form) = form.filter(|_| !looked.columns.is_empty()) {
                details open[missed] {
                    summary { "Columns " span.count { (looked.columns.len()) } }
                    p { "A column that the file lacks keeps what the record says; a blank cell takes it away." }
                    (columns(form, choice, look))
                }
            }
            button { "Look again" }
        }
    }
}

fn cell<T>(seen: &Seen<T>) -> Markup {
    let place = |cell: &(String, _)| cell.0.clone();
    html! {
        @if let Some(by) = &seen.by { ", seen in “" (place(by)) "”" }
        @if let Some(against) = &seen.against { "; “" (place(against)) "” says the opposite" }
    }
}

fn decimals(choice: &ListChoice, seen: &Seen<Decimal>) -> Markup {
    let found = match seen.taken {
        Some(Decimal::Comma) => "a comma begins a fraction",
        Some(Decimal::Point) => "a point begins a fraction",
        None => "no cell tells",
    };
    html! {
        div.field {
            label for="decimal" { "Fractions" }
            p.meaning #decimal-about { (found) (cell(seen)) }
            select #decimal name="decimal" aria-describedby="decimal-about" {
                option value="" { "as the cells tell" }
                @for (decimal, said) in [(Decimal::Comma, "12,5"), (Decimal::Point, "12.5")] {
                    option value=(decimal_word(decimal)) selected[choice.decimal == Some(decimal)] { (said) }
                }
            }
        }
    }
}

fn dates(choice: &ListChoice, seen: &Seen<DateOrder>) -> Markup {
    let found = match seen.taken {
        Some(DateOrder::DayFirst) => "the day comes first",
        Some(DateOrder::MonthFirst) => "the month comes first",
        None => "no cell tells, or none needs to",
    };
    html! {
        div.field {
            label for="dates" { "Days" }
            p.meaning #dates-about { (found) (cell(seen)) }
            select #dates name="dates" aria-describedby="dates-about" {
                option value="" { "as the cells tell" }
                @for (order, said) in
                    [(DateOrder::DayFirst, "day, month, year"), (DateOrder::MonthFirst, "month, day, year")] {
                    option value=(dates_word(order)) selected[choice.dates == Some(order)] { (said) }
                }
            }
        }
    }
}

fn columns(form: &ListForm, choice: &ListChoice, look: &ListLook) -> Markup {
    html! {
        div.wide { table {
            caption.unseen { "Columns of the file" }
            thead { tr {
                th scope="col" { "in the file" } th scope="col" { "its first cells" }
                th scope="col" { "is taken for" }
            } }
            tbody {
                @for (at, column) in look.looked.columns.iter().enumerate() {
                    @let name = format!("c{at}");
                    @let out = choice.columns.get(&at).is_some_and(String::is_empty);
                    tr {
                        td data-column="in the file" { label for=(name) {
                            @if column.text.is_empty() { "column " (at + 1) } @else { (column.text) }
                        } }
                        td data-column="its first cells" { span { (column.sample.join(" | ")) } }
                        td data-column="is taken for" { div {
                            select id=(name) name=(name) {
                                option value="" selected[column.field.is_none() && !out] { "(by its heading)" }
                                option value="-" selected[out] { "(left out)" }
                                @for field in &form.columns {
                                    option value=(field.name) selected[column.field == Some(field.name)] {
                                        (field.name) @if field.required { " *" }
                                    }
                                }
                            }
                            @if column.field.is_none() && !out {
                                p.wrong { "left out: no column has this name"
                                    @if let Some(near) = column.near { "; is “" (near) "” meant?" } }
                            }
                        } }
                    }
                }
            }
        } }
    }
}

/// What would change.
pub(super) fn changes(look: &ListLook) -> Markup {
    let changes = &look.changes;
    html! {
        section aria-labelledby="changes" {
            h2 #changes { "What it would change" }
            p role="status" {
                strong { (changes.added.len()) } " new, " strong { (changes.changed.len()) } " changed, "
                strong { (changes.gone.len()) } " gone; " (changes.same) " stay as they are"
                @if changes.unnamed > 0 { " (" (changes.unnamed) " of them the file does not name)" }
                "."
                @if changes.is_empty() { " There is nothing to enter." }
            }
            (changed(look))
            (added(look))
            @if !changes.gone.is_empty() {
                h3 { "Gone " span.count { (changes.gone.len()) } }
                p { (some(&changes.gone).join(", ")) (more(changes.gone.len())) }
            }
        }
    }
}

fn changed(look: &ListLook) -> Markup {
    let changed = &look.changes.changed;
    html! {
        @if !changed.is_empty() {
            h3 { "Changed " span.count { (changed.len()) } }
            div.wide { table {
                caption.unseen { "What changes, field by field" }
                thead { tr {
                    th scope="col" { "name" } th scope="col" { "field" }
                    th scope="col" { "as it is" } th scope="col" { "as it would be" }
                } }
                tbody {
                    @for (name, fields) in some(changed) {
                        @for (field, was, is) in fields {
                            tr {
                                td data-column="name" { span { (name) } }
                                td data-column="field" { span { (field) } }
                                td data-column="as it is" { del { (blank(was)) } }
                                td data-column="as it would be" { ins { (blank(is)) } }
                            }
                        }
                    }
                }
            } }
            p { (more(changed.len())) }
        }
    }
}

fn added(look: &ListLook) -> Markup {
    let added = &look.changes.added;
    html! {
        @if !added.is_empty() {
            h3 { "New " span.count { (added.len()) } }
            dl.found {
                @for (name, fields) in some(added) {
                    div {
                        dt { (name) }
                        dd {
                            @for (at, (field, value)) in fields.iter().enumerate() {
                                @if at > 0 { "; " }
                                span.why { (field) } " " (value)
                            }
                        }
                    }
                }
            }
            p { (more(added.len())) }
        }
    }
}

fn some<T>(all: &[T]) -> &[T] {
    &all[..all.len().min(SHOWN)]
}

fn more(count: usize) -> String {
    if count > SHOWN { format!(" and {} more", count - SHOWN) } else { String::new() }
}

fn blank(text: &str) -> &str {
    if text.is_empty() { "(nothing)" } else { text }
}

/// The form that loads it.
pub(super) fn sign(
    site: &Site,
    viewer: &Viewer,
    (token, choice): (&str, &ListChoice),
    look: &ListLook,
    (typed, wrong): (&Fields, &Wrong),
) -> Markup {
    // What was shown changed: it is another request then.
    let kept = Some(field(typed, "_request"))
        .filter(|kept| !kept.is_empty() && field(typed, "_digest") == look.digest)
        .map(str::to_owned);
    let request = kept.unwrap_or_else(|| app::random_token().unwrap_or_default());
    let changes = &look.changes;
    let count = changes.added.len() + changes.changed.len() + changes.gone.len();
    html! {
        form.act #enter method="post" action=(address(token, choice)) {
            input type="hidden" name="_csrf" value=(viewer.csrf);
            input type="hidden" name="_request" value=(request);
            input type="hidden" name="_digest" value=(look.digest);
            @for (name, value) in fields(choice) {
                input type="hidden" name=(name) value=(value);
            }
            div.sign {
                h2 { "Load it" }
                p { "All of it is entered, or nothing. Signed by " strong { (viewer.name) } " ("
                    (viewer.person) "), now." }
                (secret_field("_secret", "Your secret", &wrong.secret, "current-password"))
                button { "Sign: enter " (counted(count, "change", "changes")) }
            }
            p.why { "The record stands at entry " (site.snapshot().number) "." }
        }
    }
}
