//! A card for whoever works by it: on a phone, with gloves, one big thing to do at a time.
//!
//! It signs by the forms of the acts (`pages::act`); here they are cut down to what a step
//! needs, and lead back to the card.

use app::{ActForm, Bench, BenchStep, FieldForm, Offered, Signature};
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::fault;
use crate::layout::page;
use crate::links::{encoded, link, query};
use crate::pages::act::{self, words};
use crate::pages::attachment;
use crate::pages::form::{self, Filled};
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::viewer::Viewer;

/// The field that says where a form leads back to, and the word for a card.
pub(crate) const BACK: &str = "_back";
pub(crate) const CARD: &str = "card";

/// The acts of a card that have a short form, the fields that each always asks for, and
/// those that it asks for under `More`. What it is about is filled in.
const SHORT: [(&str, &[&str], &[&str]); 11] = [
    ("start", &[], &[]),
    ("take-over", &["spoken"], &[]),
    ("pause", &["left"], &[]),
    ("hand-over", &["done", "next"], &[]),
    ("sign-step", &["photographs"], &["note"]),
    ("countersign", &[], &[]),
    ("inspect", &["verdict"], &["finding", "alone", "allowed_by"]),
    ("query", &["to", "question"], &["query"]),
    ("disturb", &["steps", "reason"], &[]),
    ("hours", &["hours", "reason"], &["person", "on"]),
    ("finish", &["clear"], &[]),
];

/// What is usually looked at in an inspection (common practice for controls and assemblies;
/// the data come first).
const LOOKED_AT: [&str; 6] = [
    "assembly as drawn",
    "locking",
    "full range of movement",
    "correct sense of movement",
    "clearances",
    "no tools or loose parts left",
];

/// What is handed over in words, or as `nothing`.
const OR_NOTHING: [&str; 3] = ["loose", "off", "hazards"];

/// The path of a card's page.
pub(crate) fn path(job: &str) -> String {
    format!("/card/{}", encoded(job))
}

/// The path of an act whose fields are known: the short form where it is one of a card's.
pub(crate) fn way(word: &str, fields: &[(&'static str, String)]) -> String {
    let value = |wanted: &str| {
        let found = fields.iter().find(|(name, _)| *name == wanted);
        found.map(|(_, value)| value.as_str())
    };
    let only = fields.iter().all(|(name, _)| matches!(*name, "job" | "step"));
    let is_short = SHORT.iter().any(|(short, _, _)| *short == word);
    match value("job").filter(|_| only && is_short) {
        Some(job) => act_path(job, word, value("step")),
        None => {
            act::path(word, fields.iter().map(|(name, value)| (*name, value.as_str())))
        }
    }
}

fn act_path(job: &str, word: &str, step: Option<&str>) -> String {
    let step = step.map(|step| ("step", step));
    format!("{}/{word}{}", path(job), query(step))
}

/// `GET /card/{job}`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Path(job): Path<String>,
) -> Response {
    let programme = site.snapshot().programme;
    let bench = match app::bench(&programme, &job, &viewer.person, site.now()) {
        Ok(bench) => bench,
        Err(error) => return fault::of_app(&error),
    };
    let content = html! {
        article.bench data-part="bench" {
            (top(&bench))
            @if let Some(offer) = &bench.offer { (offered(offer)) }
            ol.steps {
                @for step in &bench.steps { (one_step(&viewer, &bench, step)) }
            }
            @if bench.steps.is_empty() { p.none { "The card has no step." } }
            (about(&bench))
            (bar(&viewer, &bench))
        }
    };
    page(&site, &viewer, (&path(&job), &bench.title), &content).into_response()
}

fn top(bench: &Bench) -> Markup {
    let done = bench.steps.iter().filter(|step| step.lacks.is_none()).count();
    html! {
        h1 { (bench.title) }
        p.under {
            strong { (bench.job) }
            @if let Some((item, name)) = &bench.item {
                ", " (link("item", item)) " " (name)
            }
            @if !bench.numbers.is_empty() { ", " (bench.numbers) }
        }
        p.state {
            @if let Some(done) = &bench.finished {
                span.mark.good { "complete" } " certified by " (signed(done))
            } @else {
                span.mark { (done) " of " (bench.steps.len()) " steps complete" }
                @if bench.present.is_empty() {
                    " Nobody is at it."
                } @else {
                    " At it: " (bench.present.iter().map(|(who, since)| {
                        format!("{who} since {}", since.strftime("%H:%M"))
                    }).collect::<Vec<_>>().join(", ")) "."
                }
            }
        }
    }
}

fn signed(mark: &Signature) -> Markup {
    html! { (mark.who) ", " (mark.at.strftime("%Y-%m-%d %H:%M").to_string()) }
}

fn offered(offer: &Offered) -> Markup {
    html! {
        section.offer {
            h2 { "Handed over by " (offer.from) " to " (offer.to) }
            dl.facts {
                @for (what, how) in &offer.words { div { dt { (what) } dd { (how) } } }
            }
            @if !offer.to_me { p.why { "It waits for " (offer.to) " to take it over." } }
        }
    }
}

fn one_step(viewer: &Viewer, bench: &Bench, step: &BenchStep) -> Markup {
    let act = step.act.filter(|word| viewer.may(word));
    let (kind, word) = match (step.lacks, act) {
        (None, _) => ("done", "complete"),
        (Some(_), Some(_)) => ("now", "now"),
        (Some("its signature"), None) => ("later", "not yet"),
        (Some(_), None) => ("later", "waits"),
    };
    html! {
        li class={ "step " (kind) } {
            h2 { "Step " (step.step) " " span.mark { (word) } }
            p.text { (step.text) }
            (flags(step, true))
            p.data { (step.data.as_deref().unwrap_or("No data are named for this step.")) }
            (signatures(step))
            @for query in &step.queries { p.wrong { "Query " (query) " about its data is open." } }
            @if let Some(word) = act {
                a.big href=(act_path(&bench.job, word, Some(&step.step))) {
                    (words(word)) span.unseen { " " (step.step) }
                }
            } @else if step.lacks.is_some_and(|lacks| lacks != "its signature") {
                p.why { "Lacks " (step.lacks.unwrap_or_default()) "." }
            }
        }
    }
}

/// What is to be heeded in a step, with what it measures or without.
fn flags(step: &BenchStep, measured: bool) -> Markup {
    let limits = if measured { &step.limits[..] } else { &[] };
    html! {
        @if step.critical || step.inspected || !limits.is_empty() {
            ul.flags {
                @if step.critical { li.critical { "Critical" } }
                @if step.independent { li { "Inspected twice, the second time by somebody with no part in it" } }
                @else if step.inspected { li { "Inspected before the next step" } }
                @for limit in limits { li { "Measure " (limit.name) ": " (limit.range) } }
            }
        }
    }
}

fn signatures(step: &BenchStep) -> Markup {
    html! {
        @if !step.photographs.is_empty() {
            ul.photographs {
                @for (at, digest) in step.photographs.iter().enumerate() {
                    li { (attachment::linked(digest, &format!("step {}, photograph {}", step.step, at + 1))) }
                }
            }
        }
        @if let Some(by) = &step.signed {
            p.signed { "Signed: " (signed(by)) @if !step.readings.is_empty() { "; " (step.readings.join("; ")) } }
        }
        @match &step.supervisor {
            Some((_, Some(own))) => { p.signed { "Supervised: " (signed(own)) } }
            Some((who, None)) => { p.signed { "Supervised by " (who) ", who has not signed yet" } }
            None => {}
        }
        @if let Some(by) = &step.first { p.signed { "Inspected: " (signed(by)) } }
        @if let Some(by) = &step.second { p.signed { "Inspected again: " (signed(by)) } }
    }
}

fn about(bench: &Bench) -> Markup {
    html! {
        dl.facts {
            @if !bench.tools.is_empty() { div { dt { "tools out for it" } dd { (bench.tools.join(", ")) } } }
            div { dt { "my hours" } dd { (bench.hours) } }
            div { dt { "issued" } dd { (signed(&bench.issued)) } }
        }
        p.ways {
            a href=(crate::links::path_of("card", &bench.job)) { "All that the record has of it" }
            " · "
            a href={ (path(&bench.job)) "/print" } { "Print" }
        }
    }
}

/// What is done next, within reach of a thumb.
fn bar(viewer: &Viewer, bench: &Bench) -> Markup {
    let may_now = |step: &&BenchStep| step.act.is_some_and(|word| viewer.may(word));
    let step = bench.steps.iter().find(may_now);
    let may: Vec<&str> =
        bench.acts.iter().copied().filter(|word| viewer.may(word)).collect();
    let is_first = |word: &&str| matches!(*word, "take-over" | "start" | "finish");
    let (first, other): (Vec<&str>, Vec<&str>) = may.into_iter().partition(is_first);
    let quick = |word: &&str| matches!(*word, "pause" | "hand-over");
    let (quick, more): (Vec<&str>, Vec<&str>) = other.into_iter().partition(quick);
    html! {
        nav.bar aria-label="What to do" {
            @for why in &bench.why_not { p.why { (crate::table::sentence(why)) "." } }
            @if let Some(step) = step {
                a.big href=(act_path(&bench.job, step.act.unwrap_or_default(), Some(&step.step))) {
                    (of_step(step.act.unwrap_or_default(), &step.step))
                }
            }
            @for word in &first {
                // Whoever came to inspect seldom came to take it.
                a.act.big[step.is_none()] href=(act_path(&bench.job, word, None)) { (called(word)) }
            }
            @if !quick.is_empty() {
                div.both {
                    @for word in &quick { a.act href=(act_path(&bench.job, word, None)) { (called(word)) } }
                }
            }
            @if !more.is_empty() {
                details {
                    summary { "More" }
                    div.both { @for word in &more { a.act href=(act_path(&bench.job, word, None)) { (called(word)) } } }
                }
            }
        }
    }
}

/// An act of a step as people call it.
fn of_step(word: &str, step: &str) -> String {
    match word {
        "sign-step" => format!("Sign step {step}"),
        other => format!("{} step {step}", words(other)),
    }
}

/// An act of a card as people call it with the card in hand.
fn called(word: &str) -> String {
    match word {
        "start" => "Pick it up".to_owned(),
        "finish" => "Certify it complete".to_owned(),
        "hours" => "State hours".to_owned(),
        "query" => "Ask about the data".to_owned(),
        "disturb" => "Something was disturbed".to_owned(),
        other => words(other),
    }
}

/// `GET /card/{job}/{word}`: the short form of an act.
pub(crate) async fn act(
    State(site): State<Site>,
    viewer: Viewer,
    Path((job, word)): Path<(String, String)>,
    Query(asked): Query<Fields>,
) -> Response {
    if !SHORT.iter().any(|(short, _, _)| *short == word) {
        return fault::not_found();
    }
    let snapshot = site.snapshot();
    let programme = &snapshot.programme;
    if let Err(error) = app::bench(programme, &job, &viewer.person, site.now()) {
        return fault::of_app(&error);
    }
    let mut typed: Fields =
        vec![(BACK.to_owned(), CARD.to_owned()), ("job".to_owned(), job)];
    typed.extend(asked.into_iter().filter(|(name, _)| !name.starts_with('_')));
    if word == "hours" {
        typed.push(("person".to_owned(), viewer.person.clone()));
        typed.push(("on".to_owned(), site.today().to_string()));
    }
    if word == "query" {
        typed.push(("query".to_owned(), app::next_query(programme)));
    }
    act::open(&site, &viewer, &word, &typed)
}

/// The title and the fields of a short form; nothing if a form is not asked for so.
pub(crate) fn short(
    site: &Site,
    viewer: &Viewer,
    form: &ActForm,
    filled: &Filled<'_>,
) -> Option<(String, Markup)> {
    if field(filled.typed, BACK) != CARD {
        return None;
    }
    let (_, asks, more) = SHORT.iter().find(|(word, _, _)| *word == form.word)?;
    let job = field(filled.typed, "job");
    let bench = app::bench(filled.programme, job, &viewer.person, site.now()).ok()?;
    let step = field(filled.typed, "step");
    let step = bench.steps.iter().find(|one| one.step == step);
    // Somebody who works under supervision names who supervises; nobody else is asked.
    let supervised = app::is_supervised(filled.programme, &viewer.person);
    let asked = |field: &&FieldForm| {
        asks.contains(&field.name) || (field.name == "step" && step.is_none())
    };
    let folded = |field: &&FieldForm| more.contains(&field.name) && !asked(field);
    let (shown, hidden) = (part(form, &asked), part(form, &folded));
    let opened = !filled.problems.is_empty()
        || hidden.fields.iter().any(|one| {
            !matches!(one.name, "person" | "on" | "query")
                && !field(filled.typed, one.name).is_empty()
        })
        || (!supervised && !field(filled.typed, "supervisor").is_empty());
    let step_acts = ["sign-step", "countersign", "inspect"];
    let title = match step {
        Some(step) if step_acts.contains(&form.word) => of_step(form.word, &step.step),
        _ => called(form.word),
    };
    let content = html! {
        p.under { strong { (job) } " " (bench.title) }
        input type="hidden" name=(BACK) value=(CARD);
        input type="hidden" name="job" value=(job);
        @if let Some(step) = step {
            input type="hidden" name="step" value=(step.step);
            div.step { p.text { (step.text) } (flags(step, false)) @if let Some(data) = &step.data { p.data { (data) } } (signatures(step)) }
        }
        @if form.word == "take-over" { @if let Some(offer) = &bench.offer { (offered(offer)) } }
        @if form.word == "sign-step" { @if let Some(step) = step { (readings(form, step, filled)) } }
        @if form.word == "inspect" { (looked_at(form, filled)) }
        @if form.word == "hand-over" { (person(form, "to", filled)) }
        @if form.word == "sign-step" && supervised { (person(form, "supervisor", filled)) }
        (form::fields(&shown, filled))
        @if form.word == "hand-over" { @for name in OR_NOTHING { (or_nothing(form, name, filled)) } }
        @if form.word == "hand-over" { (tools(&bench, filled)) }
        @if !hidden.fields.is_empty() {
            details open[opened] {
                summary { "More" }
                @if form.word == "sign-step" && !supervised { (person(form, "supervisor", filled)) }
                (form::fields(&hidden, filled))
            }
        }
    };
    Some((title, content))
}

fn part(form: &ActForm, wanted: &dyn Fn(&&FieldForm) -> bool) -> ActForm {
    let fields = form.fields.iter().filter(|field| wanted(field)).cloned().collect();
    ActForm { fields, ..form.clone() }
}

/// A field for each value that a step measures, and the instrument beside it.
fn readings(form: &ActForm, step: &BenchStep, filled: &Filled<'_>) -> Markup {
    let value = |name: &str| field(filled.typed, name);
    html! {
        @if let Some(field) = form.fields.iter().find(|field| field.name == "readings") {
            (form::wrong(field, "readings", filled))
        }
        @for (number, limit) in step.limits.iter().enumerate() {
            @let name = format!("_reading.{number}");
            fieldset.part {
                legend { (limit.name) }
                p.meaning { (crate::table::sentence(&limit.range)) }
                input type="hidden" name={ (name) ".name" } value=(limit.name);
                div.field {
                    label for={ (name) ".value" } { "Value" @if !limit.unit.is_empty() { " in " (limit.unit) } }
                    input id={ (name) ".value" } name={ (name) ".value" } inputmode="decimal"
                        autocomplete="off" required value=(value(&format!("{name}.value")));
                }
                @if !limit.unit.is_empty() { (instrument(&name, filled)) }
            }
        }
    }
}

fn instrument(name: &str, filled: &Filled<'_>) -> Markup {
    let id = format!("{name}.tool");
    let now = field(filled.typed, &id);
    let tools = app::instruments(filled.programme);
    html! {
        div.field {
            label for=(id) { "Instrument" }
            select id=(id) name=(id) required {
                option value="" { "Choose" }
                @for tool in &tools {
                    option value=(tool.name) selected[tool.name == now] { (tool.name) " " (tool.what) }
                }
            }
        }
    }
}

/// The readings of a short form, in the notation in which the act takes them.
pub(crate) fn composed(typed: &Fields) -> Option<(String, String)> {
    let value = |number: usize, what: &str| {
        field(typed, &format!("_reading.{number}.{what}")).trim().to_owned()
    };
    let told = (0..).map_while(|number| {
        let name = value(number, "name");
        (!name.is_empty()).then(|| (name, value(number, "value"), value(number, "tool")))
    });
    let told: Vec<String> = told
        .filter(|(_, value, _)| !value.is_empty())
        .map(|(name, value, tool)| app::reading_text(&name, &value, &tool))
        .collect();
    (!told.is_empty()).then(|| ("readings".to_owned(), told.join("; ")))
}

fn looked_at(form: &ActForm, filled: &Filled<'_>) -> Markup {
    let now = filled.values("checked");
    let other: Vec<&str> =
        now.iter().copied().filter(|one| !LOOKED_AT.contains(one)).collect();
    html! {
        fieldset.field.boxes {
            legend { "What I looked at" }
            @if let Some(field) = form.fields.iter().find(|field| field.name == "checked") {
                (form::wrong(field, "checked", filled))
            }
            @for word in LOOKED_AT {
                label {
                    input type="checkbox" name="checked" value=(word) checked[now.contains(&word)];
                    span { (word) }
                }
            }
            label for="checked-other" { "And besides" }
            input #checked-other name="checked" autocomplete="off" value=(other.join("; "));
        }
    }
}

/// Somebody, chosen from the list of people: a thumb finds a name sooner than it types one.
fn person(form: &ActForm, name: &str, filled: &Filled<'_>) -> Markup {
    let Some(asked) = form.fields.iter().find(|field| field.name == name) else {
        return html! {};
    };
    let now = field(filled.typed, name);
    let people = app::choices(filled.programme, "person", None);
    let known = now.is_empty() || people.iter().any(|person| person.name == now);
    html! {
        div.field {
            label for=(name) { (crate::table::sentence(name)) }
            p.meaning { (asked.meaning) }
            (form::wrong(asked, name, filled))
            select id=(name) name=(name) required[asked.required] {
                option value="" { "Choose" }
                @for person in &people {
                    option value=(person.name) selected[person.name == now] { (person.what) " (" (person.name) ")" }
                }
                @if !known { option value=(now) selected { (now) } }
            }
        }
    }
}

/// What is said in words, or that there is nothing: one touch, and still said by whoever
/// signs.
fn or_nothing(form: &ActForm, name: &str, filled: &Filled<'_>) -> Markup {
    let Some(asked) = form.fields.iter().find(|field| field.name == name) else {
        return html! {};
    };
    html! {
        div.field {
            label for=(name) { (crate::table::sentence(name)) }
            p.meaning { (asked.meaning) }
            (form::wrong(asked, name, filled))
            input id=(name) name=(name) list={ (name) "-list" } required autocomplete="off"
                value=(field(filled.typed, name));
            datalist id={ (name) "-list" } { option value="nothing" {} }
        }
    }
}

/// The tools that are out for a card: each that stays at the job is named.
fn tools(bench: &Bench, filled: &Filled<'_>) -> Markup {
    let now = filled.values("tools");
    html! {
        @if !bench.tools.is_empty() {
            fieldset.field.boxes {
                legend { "Tools that stay at the job" }
                p.meaning { "All that are out for this card stand here; bring back what does not stay." }
                @for tool in &bench.tools {
                    label {
                        input type="checkbox" name="tools" value=(tool) checked[now.contains(&tool.as_str())];
                        span { (tool) }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(pairs: &[(&str, &str)]) -> Fields {
        let pair = |(name, value): &(&str, &str)| ((*name).into(), (*value).into());
        pairs.iter().map(pair).collect()
    }

    #[test]
    fn values_become_readings_and_blanks_do_not() {
        let fields = typed(&[
            ("_reading.0.name", "torque"),
            ("_reading.0.value", " 42.5 "),
            ("_reading.0.tool", "TW-3"),
            ("_reading.1.name", "gap"),
            ("_reading.1.value", ""),
            ("_reading.2.name", "turns"),
            ("_reading.2.value", "3"),
        ]);
        let text = "torque = 42.5 (TW-3); turns = 3".to_owned();
        assert_eq!(composed(&fields), Some(("readings".to_owned(), text)));
        assert_eq!(composed(&typed(&[("readings", "a = 1")])), None);
    }

    #[test]
    fn short_forms_ask_for_fields_that_their_acts_have() {
        for (word, asks, more) in SHORT {
            let forms = app::act_forms();
            let form = forms.iter().find(|form| form.word == word).unwrap();
            for name in asks.iter().chain(more) {
                assert!(form.fields.iter().any(|f| f.name == *name), "{word}: {name}");
            }
            // What must be given is asked for, or known.
            let known = ["job", "step", "checked", "to", "loose", "off", "hazards"];
            for field in form.fields.iter().filter(|field| field.required) {
                let name = &field.name;
                let told = asks.contains(name) || more.contains(name);
                assert!(told || known.contains(name), "{word}: {name} is left out");
            }
        }
    }
}
