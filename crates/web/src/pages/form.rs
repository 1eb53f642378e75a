//! The form of an act, written from its table of fields.

use app::{ActForm, FieldForm, FieldSort, Problem, Programme, Takes, Thing};
use maud::{Markup, html};

use crate::pages::attachment;
use crate::sign_in::{Fields, field};
use crate::upload;

/// So many boxes at most; more are typed.
const BOXES: usize = 14;
/// So many empty parts there are to begin with.
const PARTS: usize = 3;
/// The most parts that one asks for.
const MOST: usize = 200;

/// Pictures that can be attached: a phone that keeps them in another form turns them into one
/// of these where it is told which (from memory).
const PICTURES: &str = "image/jpeg,image/png,image/webp";
/// What can be attached, for a browser that asks before it shows files.
const ACCEPTED: &str = "image/jpeg,image/png,image/webp,application/pdf,text/plain,.csv";

/// What a form is filled with, and what is wrong with it.
pub(crate) struct Filled<'a> {
    pub(crate) programme: &'a Programme,
    /// All that has a name.
    pub(crate) things: &'a [Thing],
    pub(crate) typed: &'a Fields,
    pub(crate) problems: &'a [Problem],
}

impl Filled<'_> {
    fn value(&self, name: &str) -> &str {
        field(self.typed, name)
    }

    /// All values of a field, which may have been sent bit by bit.
    pub(crate) fn values(&self, name: &str) -> Vec<&str> {
        let own = self.typed.iter().filter(|(field, _)| field == name);
        own.flat_map(|(_, value)| value.split(';')).map(str::trim).collect()
    }

    fn wrong(&self, name: &str) -> Vec<&Problem> {
        self.problems.iter().filter(|problem| is_about(problem, name)).collect()
    }

    fn choices(&self, noun: &str) -> Vec<Thing> {
        if noun == "step" {
            return app::steps(self.programme, self.value("job"));
        }
        self.things.iter().filter(|thing| thing.noun == noun).cloned().collect()
    }
}

/// Whether what is wrong is said of a field: problems name it in code marks, or before a
/// colon.
fn is_about(problem: &Problem, name: &str) -> bool {
    problem.what.contains(&format!("`{name}`"))
        || problem.what.starts_with(&format!("{name}:"))
        || problem.what.starts_with(&format!("{name} "))
}

/// Problems that are said of no field of a form.
pub(crate) fn of_none<'a>(form: &ActForm, problems: &'a [Problem]) -> Vec<&'a Problem> {
    let mut names = Vec::new();
    collect(&form.fields, &mut names);
    let of_some = |problem: &Problem| names.iter().any(|name| is_about(problem, name));
    problems.iter().filter(|problem| !of_some(problem)).collect()
}

fn collect(fields: &[FieldForm], names: &mut Vec<&'static str>) {
    for field in fields {
        names.push(field.name);
        if let FieldSort::Row(parts) | FieldSort::Rows(parts) = &field.sort {
            collect(parts, names);
        }
    }
}

/// The fields of an act.
pub(crate) fn fields(form: &ActForm, filled: &Filled<'_>) -> Markup {
    html! { @for field in &form.fields { (one(field, "", filled, false)) } }
}

/// One field of an act by its name.
pub(crate) fn named(form: &ActForm, name: &str, filled: &Filled<'_>) -> Markup {
    let field = form.fields.iter().find(|field| field.name == name);
    html! { @if let Some(field) = field { (one(field, "", filled, false)) } }
}

/// Whether something is wrong with a field of an act.
pub(crate) fn is_wrong(form: &ActForm, name: &str, filled: &Filled<'_>) -> bool {
    form.fields.iter().any(|field| field.name == name) && !filled.wrong(name).is_empty()
}

/// What is wrong with a field that a page asks for in a way of its own.
pub(crate) fn wrong_of(name: &str, filled: &Filled<'_>) -> Markup {
    html! {
        @for problem in filled.wrong(name) {
            p.wrong { (problem.what) @if let Some(hint) = &problem.hint { " " (hint) } }
        }
    }
}

/// One field; `before` is what stands before its name for a part, whose own fields need not
/// be given while the part as a whole is not.
fn one(field: &FieldForm, before: &str, filled: &Filled<'_>, part: bool) -> Markup {
    let name = format!("{before}{}", field.name);
    let required = field.required && !part;
    match &field.sort {
        FieldSort::Row(fields) => html! {
            fieldset.part {
                legend { (label(field)) }
                p.meaning data-as-is { (field.meaning) }
                @for inner in fields { (one(inner, &format!("{name}."), filled, !required)) }
            }
        },
        FieldSort::Rows(fields) => rows(field, fields, &name, filled),
        FieldSort::YesNo if !field.required => html! {
            div.field.check {
                label {
                    input type="checkbox" name=(name) value="yes"
                        checked[is_yes(filled.value(&name))];
                    " " (label(field))
                }
                p.meaning data-as-is { (field.meaning) }
                (wrong(field, &name, filled))
            }
        },
        FieldSort::YesNo => choose(field, &name, &["yes", "no"], required, filled),
        FieldSort::OneOf(words) if words.len() <= 4 => {
            choose(field, &name, words, required, filled)
        }
        FieldSort::SomeOf(words) => {
            let words: Vec<(&str, &str)> = words.iter().map(|word| (*word, "")).collect();
            boxes(field, &name, &words, filled)
        }
        FieldSort::Names(noun) => names(field, &name, noun, filled),
        FieldSort::File | FieldSort::Files => files(field, &name, required, filled),
        _ => typed(field, &name, required, filled),
    }
}

fn is_yes(value: &str) -> bool {
    matches!(value.to_lowercase().as_str(), "yes" | "true" | "on" | "1")
}

/// What a field is called: its name as people say it.
fn label(field: &FieldForm) -> Markup {
    let words = crate::table::sentence(&field.name.replace('_', " "));
    html! { (words) @if !field.required { " " span.may { "if there is something to say" } } }
}

/// What is wrong with a field.
pub(crate) fn wrong(field: &FieldForm, name: &str, filled: &Filled<'_>) -> Markup {
    let wrong = filled.wrong(field.name);
    html! {
        @if !wrong.is_empty() {
            div.wrong id={ (name) "-wrong" } data-as-is {
                @for problem in wrong {
                    p { (problem.what) }
                    @if let Some(hint) = &problem.hint { p.hint { (hint) } }
                }
            }
        }
    }
}

/// Which texts tell more about a control.
fn described(field: &FieldForm, name: &str, filled: &Filled<'_>) -> String {
    let means = format!("{name}-means");
    if filled.wrong(field.name).is_empty() {
        means
    } else {
        format!("{name}-wrong {means}")
    }
}

/// A few words, of which one is taken: each a button of its own.
fn choose(
    field: &FieldForm,
    name: &str,
    words: &[&str],
    required: bool,
    filled: &Filled<'_>,
) -> Markup {
    let now = filled.value(name);
    html! {
        fieldset.field.choose {
            legend { (label(field)) }
            p.meaning data-as-is { (field.meaning) }
            (wrong(field, name, filled))
            div.buttons {
                @for word in words {
                    label {
                        input type="radio" name=(name) value=(word) required[required]
                            checked[now == *word || (*word == "yes" && is_yes(now))];
                        span { (word) }
                    }
                }
            }
        }
    }
}

/// Some of several: a box for each.
fn boxes(
    field: &FieldForm,
    name: &str,
    words: &[(&str, &str)],
    filled: &Filled<'_>,
) -> Markup {
    let now = filled.values(name);
    html! {
        fieldset.field.boxes {
            legend { (label(field)) }
            p.meaning data-as-is { (field.meaning) }
            (wrong(field, name, filled))
            @for (word, what) in words {
                label {
                    input type="checkbox" name=(name) value=(word) checked[now.contains(word)];
                    span { (word) @if !what.is_empty() { " " span.why { (what) } } }
                }
            }
        }
    }
}

/// Files that were attached already, to be kept or left out, and a control for more.
fn files(field: &FieldForm, name: &str, required: bool, filled: &Filled<'_>) -> Markup {
    let there: Vec<&str> =
        filled.values(name).into_iter().filter(|value| !value.is_empty()).collect();
    html! {
        fieldset.field.files {
            legend { (label(field)) }
            p.meaning data-as-is id={ (name) "-means" } { (field.meaning) }
            (wrong(field, name, filled))
            @if !there.is_empty() {
                p { "Attached already, and not to be chosen again:" }
                ul.photographs {
                    @for (at, digest) in there.iter().enumerate() {
                        li {
                            label {
                                (shown(digest, at + 1))
                                input type="checkbox" name=(name) value=(digest) checked;
                                " keep"
                            }
                        }
                    }
                }
            }
            (chooser(field, name, required && there.is_empty(), filled))
        }
    }
}

/// A file that was attached: what can be said of it before anybody looked what it is.
fn shown(digest: &str, number: usize) -> Markup {
    if app::is_digest(digest) {
        attachment::picture(digest, &format!("file {number}"))
    } else {
        html! { (digest) }
    }
}

/// The control that chooses files.
fn chooser(field: &FieldForm, name: &str, required: bool, filled: &Filled<'_>) -> Markup {
    let several = field.sort == FieldSort::Files;
    let photographs = field.takes == Takes::Photographs;
    let control = format!("{}{name}", upload::PREFIX);
    let (what, accept) = match (photographs, several) {
        (true, true) => ("Choose photographs", PICTURES),
        (true, false) => ("Choose a photograph", PICTURES),
        (false, true) => ("Choose files", ACCEPTED),
        (false, false) => ("Choose a file", ACCEPTED),
    };
    let about = described(field, name, filled);
    html! {
        @if photographs {
            // What the camera takes comes by itself, one at a time.
            div.by-camera {
                label.choose for={ "_take." (name) } { "Take a photograph" }
                input id={ "_take." (name) } name=(control) type="file" accept="image/*"
                    capture="environment";
            }
        }
        label.choose for=(control) { (what) }
        input id=(control) name=(control) type="file" accept=(accept) multiple[several]
            required[required] aria-describedby=(about);
        p.meaning data-as-is {
            "JPEG, PNG or WebP" @if !photographs { ", PDF or plain text" } ", "
            (upload::FILE_LIMIT / 1_000_000) " MB each"
            @if several { ", " (upload::FILES) " at once" }
            ". A picture loses what says where and with what it was taken."
        }
    }
}

/// A file in place of words.
fn or_file(field: &FieldForm, name: &str, filled: &Filled<'_>) -> Markup {
    let value = filled.value(name);
    html! {
        div.or-file {
            @if app::is_digest(value) {
                p { "Attached already: " a href=(attachment::path(value)) { (shown(value, 1)) } }
            }
            (chooser(field, name, false, filled))
        }
    }
}

/// Names of things: boxes where there are few, else typed.
fn names(field: &FieldForm, name: &str, noun: &str, filled: &Filled<'_>) -> Markup {
    let choices = filled.choices(noun);
    let known = |typed: &&str| choices.iter().any(|thing| thing.name == *typed);
    let odd = filled.values(name).into_iter().filter(|typed| !typed.is_empty());
    if choices.is_empty()
        || choices.len() > BOXES
        || !odd.clone().all(|typed| known(&typed))
    {
        return typed(field, name, false, filled);
    }
    let words: Vec<(&str, &str)> =
        choices.iter().map(|thing| (thing.name.as_str(), thing.what.as_str())).collect();
    boxes(field, name, &words, filled)
}

/// What is typed, with what there is to choose from.
fn typed(field: &FieldForm, name: &str, required: bool, filled: &Filled<'_>) -> Markup {
    html! {
        div.field {
            label for=(name) { (label(field)) }
            p.meaning data-as-is id={ (name) "-means" } {
                (field.meaning)
                @if !field.example.is_empty() { " " span.example { "Such as: " (field.example) } }
            }
            (wrong(field, name, filled))
            (control(field, name, required, filled))
            @if field.takes != Takes::Nothing { (or_file(field, name, filled)) }
            @if let Some(what) = said_of(field, name, filled) { p.said { (what) } }
        }
    }
}

/// What the thing is that is named, so that whoever signs sees what they sign.
fn said_of(field: &FieldForm, name: &str, filled: &Filled<'_>) -> Option<String> {
    let FieldSort::Name(noun) = field.sort else { return None };
    let typed = filled.value(name);
    let found = filled.choices(noun).into_iter().find(|thing| thing.name == typed)?;
    Some(found.what).filter(|what| !what.is_empty())
}

fn control(field: &FieldForm, name: &str, required: bool, filled: &Filled<'_>) -> Markup {
    let (value, about) = (joined(name, filled), described(field, name, filled));
    let invalid = (!filled.wrong(field.name).is_empty()).then_some("true");
    let plain = |kind: &str, mode: Option<&str>, list: Option<&str>| {
        html! {
            input id=(name) name=(name) type=(kind) value=(value) required[required]
                inputmode=[mode] list=[list] autocomplete="off" aria-describedby=(about)
                aria-invalid=[invalid];
        }
    };
    match &field.sort {
        FieldSort::Date if is_day(&value) => plain("date", None, None),
        FieldSort::Count => plain("text", Some("numeric"), None),
        FieldSort::Number => plain("text", Some("decimal"), None),
        FieldSort::Name(noun) => {
            let choices = filled.choices(noun);
            let list = format!("{name}-list");
            html! {
                (plain("text", None, (!choices.is_empty()).then_some(list.as_str())))
                @if !choices.is_empty() {
                    datalist id=(list) {
                        @for thing in &choices { option value=(thing.name) { (thing.what) } }
                    }
                }
            }
        }
        FieldSort::OneOf(words) => html! {
            select id=(name) name=(name) required[required] aria-describedby=(about)
                aria-invalid=[invalid] {
                option value="" { "Choose" }
                @for word in *words { option value=(word) selected[value == *word] { (word) } }
                @if !value.is_empty() && !words.contains(&value.as_str()) {
                    option value=(value) selected { (value) }
                }
            }
        },
        FieldSort::Text | FieldSort::Texts if field.example.len() > 24 => html! {
            textarea id=(name) name=(name) rows="2" required[required] aria-describedby=(about)
                aria-invalid=[invalid] { "\n" (value) }
        },
        _ => plain("text", None, None),
    }
}

/// Only a day can stand in a field for days; what else was typed is not to be lost.
fn is_day(value: &str) -> bool {
    value.is_empty() || value.parse::<jiff::civil::Date>().is_ok()
}

fn joined(name: &str, filled: &Filled<'_>) -> String {
    let own = filled.typed.iter().filter(|(field, _)| field == name);
    own.map(|(_, value)| value.as_str()).collect::<Vec<_>>().join("; ")
}

/// Several parts: what was typed and some that are empty, and a button for more.
fn rows(
    field: &FieldForm,
    fields: &[FieldForm],
    name: &str,
    filled: &Filled<'_>,
) -> Markup {
    let count = count(name, filled);
    html! {
        fieldset.part.rows {
            legend { (label(field)) }
            p.meaning data-as-is { (field.meaning) " What is left empty counts for nothing." }
            (wrong(field, name, filled))
            input type="hidden" name={ "_rows." (name) } value=(count);
            @for row in 1..=count {
                fieldset.row {
                    legend { (row) }
                    @for inner in fields {
                        (one(inner, &format!("{name}.{row}."), filled, true))
                    }
                }
            }
            button.quiet name="_more" value=(name) formnovalidate { "More rows" }
        }
    }
}

/// How many parts to ask for.
fn count(name: &str, filled: &Filled<'_>) -> usize {
    let before = format!("{name}.");
    let given = filled.typed.iter().filter_map(|(field, value)| {
        let (number, _) = field.strip_prefix(&before)?.split_once('.')?;
        (!value.trim().is_empty()).then(|| number.parse::<usize>().ok()).flatten()
    });
    let given = given.max().unwrap_or(0);
    let asked = filled.value(&format!("_rows.{name}")).parse().unwrap_or(PARTS);
    let more = if filled.value("_more") == name { PARTS } else { 0 };
    asked.max(given).saturating_add(more).min(MOST)
}
