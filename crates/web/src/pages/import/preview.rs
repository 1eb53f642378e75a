//! What a file was found to be, what is wrong with it, and what it would change.

use std::collections::BTreeMap;

use app::{
    DateOrder, Decimal, List, ListChoice, ListForm, ListLook, ListProblem, Seen, counted,
};
use maud::{Markup, html};

use super::{address, fields};
use crate::sign_in::{Fields, field, secret_field};
use crate::site::Site;
use crate::table::sentence;
use crate::viewer::Viewer;

/// So many things are shown of each sort; the rest is counted.
const SHOWN: usize = 200;

/// So many places are named at which the same is wrong.
const PLACES: usize = 6;

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

/// Problems that are the same but for their places, in the order in which they come.
fn alike(problems: &[ListProblem]) -> Vec<(&ListProblem, Vec<&str>)> {
    let mut first: BTreeMap<(&str, Option<&str>), usize> = BTreeMap::new();
    let mut groups: Vec<(&ListProblem, Vec<&str>)> = Vec::new();
    for problem in problems {
        let key = (problem.what.as_str(), problem.hint.as_deref());
        let at = *first.entry(key).or_insert(groups.len());
        if at == groups.len() {
            groups.push((problem, Vec::new()));
        }
        if !problem.place.is_empty() {
            groups[at].1.push(&problem.place);
        }
    }
    groups
}

fn list(problems: &[ListProblem]) -> Markup {
    let groups = alike(problems);
    html! {
        ul {
            @for (problem, places) in some(&groups) {
                li {
                    @for (at, place) in places.iter().take(PLACES).enumerate() {
                        @if at > 0 { "; " }
                        strong { (place) }
                    }
                    @if places.len() > PLACES {
                        " and " (counted(places.len() - PLACES, "more place", "more places"))
                    }
                    @if !places.is_empty() { ": " }
                    (problem.what)
                    @if let Some(hint) = &problem.hint { p.hint { (hint) } }
                }
            }
        }
        @if groups.len() > SHOWN { p { (more(groups.len())) } }
    }
}

/// All of a look as one list, for whoever wants to go through it: what is wrong, what changes,
/// what goes and what stays.
pub(super) fn whole(look: &ListLook) -> List {
    let row = |cells: [&str; 6]| cells.map(str::to_owned).to_vec();
    let mut rows = Vec::new();
    for (word, problems) in [("wrong", &look.errors), ("look at", &look.warnings)] {
        for ListProblem { place, what, hint } in problems {
            let hint = hint.as_deref().unwrap_or_default();
            rows.push(row([word, place, "", what, "", hint]));
        }
    }
    let changes = &look.changes;
    for (name, fields) in &changes.changed {
        rows.extend(
            fields
                .iter()
                .map(|(field, was, is)| row(["changed", "", name, field, was, is])),
        );
    }
    for (name, fields) in &changes.added {
        rows.extend(
            fields.iter().map(|(field, is)| row(["new", "", name, field, "", is])),
        );
    }
    rows.extend(changes.gone.iter().map(|name| row(["gone", "", name, "", "", ""])));
    let kept = changes.unnamed.iter();
    rows.extend(kept.map(|name| row(["not in the file", "", name, "", "", ""])));
    let columns = vec![
        "what",
        "where",
        "name",
        "field",
        "as it is",
        "as it would be, or what to do",
    ];
    List { title: "what a file would change".to_owned(), columns, rows }
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
                                option value=(sheet) selected[Some(sheet) == looked.sheet.as_ref()] {
                                    (sheet) @if looked.hidden.contains(sheet) { " (hidden)" } }
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
                @if looked.not_unicode {
                    div.field {
                        label for="text" { "Characters" }
                        select #text name="text" {
                            option value="" { "UTF-8, which it is not" }
                            option value="western" selected[choice.western] { "Windows-1252 (Western Europe)" }
                        }
                    }
                }
                (habit(&DECIMALS, choice.decimal, &looked.decimal))
                (habit(&DATES, choice.dates, &looked.dates))
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

/// How something may be written.
struct Habit<T: 'static> {
    /// The name of its field, and what that is called.
    name: &'static str,
    label: &'static str,
    /// What is said where no cell tells it.
    untold: &'static str,
    ways: [Way<T>; 2],
}

/// One way to write something: its word in the address, an example, and what is said of it.
struct Way<T> {
    is: T,
    word: &'static str,
    example: &'static str,
    said: &'static str,
}

const fn way<T: Copy>(
    is: T,
    word: &'static str,
    example: &'static str,
    said: &'static str,
) -> Way<T> {
    Way { is, word, example, said }
}

const DECIMALS: Habit<Decimal> = Habit {
    name: "decimal",
    label: "Fractions",
    untold: "no cell tells",
    ways: [
        way(
            Decimal::Comma,
            decimal_word(Decimal::Comma),
            "12,5",
            "a comma begins a fraction",
        ),
        way(
            Decimal::Point,
            decimal_word(Decimal::Point),
            "12.5",
            "a point begins a fraction",
        ),
    ],
};

const DATES: Habit<DateOrder> = Habit {
    name: "dates",
    label: "Days",
    untold: "no cell tells, or none needs to",
    ways: [
        way(
            DateOrder::DayFirst,
            dates_word(DateOrder::DayFirst),
            "day, month, year",
            "the day comes first",
        ),
        way(
            DateOrder::MonthFirst,
            dates_word(DateOrder::MonthFirst),
            "month, day, year",
            "the month comes first",
        ),
    ],
};

/// The field that says how something is written, and what the cells told of it.
fn habit<T: Copy + PartialEq>(
    habit: &Habit<T>,
    chosen: Option<T>,
    seen: &Seen<T>,
) -> Markup {
    let about = format!("{}-about", habit.name);
    let found = habit.ways.iter().find(|one| seen.taken == Some(one.is));
    html! {
        div.field {
            label for=(habit.name) { (habit.label) }
            p.meaning id=(about) {
                (found.map_or(habit.untold, |one| one.said))
                @if let Some((by, _)) = &seen.by { ", seen in “" (by) "”" }
                @if let Some((against, _)) = &seen.against { "; “" (against) "” says the opposite" }
            }
            select id=(habit.name) name=(habit.name) aria-describedby=(about) {
                option value="" { "as the cells tell" }
                @for Way { is, word, example, .. } in &habit.ways {
                    option value=(word) selected[chosen == Some(*is)] { (example) }
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
pub(super) fn changes(look: &ListLook, whole: &str) -> Markup {
    let changes = &look.changes;
    let broken = !look.errors.is_empty();
    // What could not be read at all changes nothing and leaves nothing.
    if broken && changes.is_empty() && changes.same == 0 {
        return html! {
            section aria-labelledby="changes" {
                h2 #changes { "What it would change" }
                p role="status" { "That can be told once what is wrong is put right. Nothing was entered." }
                p.take { a href=(whole) { "All that is wrong as CSV" } }
            }
        };
    }
    html! {
        section aria-labelledby="changes" {
            h2 #changes { "What it would change" }
            p role="status" {
                @if broken { "As far as it can be told before what is wrong is put right: " }
                strong { (changes.added.len()) } " new, " strong { (changes.changed.len()) } " changed, "
                strong { (changes.gone.len()) } " gone; "
                (counted(changes.same, "stays as it is", "stay as they are"))
                @if !changes.unnamed.is_empty() {
                    " (" (changes.unnamed.len()) " of them the file does not name)"
                }
                "."
                @if changes.is_empty() && !broken { " There is nothing to enter." }
            }
            (changed(look))
            (added(look))
            (names("Gone", &changes.gone))
            @if !changes.unnamed.is_empty() {
                details {
                    summary { "Not in the file, and kept as they are " span.count { (changes.unnamed.len()) } }
                    p { (some(&changes.unnamed).join(", ")) (more(changes.unnamed.len())) }
                }
            }
            p.take { a href=(whole) { "All of it as CSV" } }
        }
    }
}

fn names(title: &str, names: &[String]) -> Markup {
    html! {
        @if !names.is_empty() {
            h3 { (title) " " span.count { (names.len()) } }
            p { (some(names).join(", ")) (more(names.len())) }
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
            @if changed.len() > SHOWN { p { (more(changed.len())) } }
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
            @if added.len() > SHOWN { p { (more(added.len())) } }
        }
    }
}

fn some<T>(all: &[T]) -> &[T] {
    &all[..all.len().min(SHOWN)]
}

fn more(count: usize) -> String {
    if count > SHOWN {
        format!(" and {} more: all of it can be had as CSV", count - SHOWN)
    } else {
        String::new()
    }
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
