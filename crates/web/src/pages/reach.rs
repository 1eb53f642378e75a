//! What must come off to get at something: asked for, drawn, told step by step.

use app::{
    AskedWrong, ReachAsked, ReachChoices, Reaching, ReachingStep, Setting, StepKindOf,
};
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, PreEscaped, html};

use crate::layout::page_with;
use crate::links::{Index, link, query};
use crate::pages::aircraft;
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::viewer::Viewer;

/// So many fields there are beyond those that are filled in.
const MORE: usize = 2;

/// `GET /aircraft/reach`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(typed): Query<Fields>,
) -> Response {
    let on = match aircraft::day(&site, &typed) {
        Ok(on) => on,
        Err(wrong) => return wrong,
    };
    let all = |name: &str| {
        let values = typed.iter().filter(|(field, _)| field == name);
        ReachAsked::names(&values.map(|(_, value)| value.as_str()).collect::<Vec<_>>())
    };
    let asked = ReachAsked {
        free: all("free"),
        expose: all("expose"),
        arrangement: field(&typed, "arrangement").trim().to_owned(),
    };
    let snapshot = site.snapshot();
    let (programme, wanted) = (snapshot.programme.clone(), asked.clone());
    let choices = app::reach_choices(&programme);
    let wrong = asked.wrong(&programme);
    let fine = wrong.is_empty() && !asked.is_blank();
    let answer = if fine {
        Some(site.aside(move || wanted.answer(&programme, on)).await)
    } else {
        None
    };
    let index = site.index(&snapshot);
    let refused = matches!(answer, Some(Err(_)));
    let content = html! {
        h1 { "Get at something" }
        (aircraft::ways("/aircraft/reach"))
        p.doc { "Name what is to come off, or to be worked on where it is. You get the cheapest lawful \
                 way there from how the aircraft stands now: what comes off, in which order, what each \
                 step takes, and how the aircraft stands on its supports after it." }
        @match &answer {
            Some(Err(error)) => {
                section.reasons role="alert" tabindex="-1" data-wrong {
                    h2 { "No way there" }
                    @for line in error.to_string().lines() { p { (line) } }
                    @if let Some(hint) = error.hint() { p.hint { (hint) } }
                }
            }
            Some(Ok(found)) => (told(&viewer, found, &index)),
            None => {}
        }
        (form(&asked, &choices, &wrong, field(&typed, "on")))
    };
    let status = if refused || !wrong.is_empty() {
        StatusCode::UNPROCESSABLE_ENTITY
    } else {
        StatusCode::OK
    };
    let stems = ["regions", "aircraft", "reach"];
    let page = page_with(
        &site,
        &viewer,
        ("/aircraft/reach", "Get at something"),
        &stems,
        &content,
    );
    (status, page).into_response()
}

fn form(
    asked: &ReachAsked,
    choices: &ReachChoices,
    wrong: &[AskedWrong],
    on: &str,
) -> Markup {
    let of = |field: &str| -> Vec<&AskedWrong> {
        wrong.iter().filter(|one| one.field == field).collect()
    };
    let stands = of("arrangement");
    let known = choices.arrangements.iter().any(|(id, _)| *id == asked.arrangement);
    html! {
        form.act.reach aria-label="What to get at" {
            h2 { "Ask" }
            (names("free", "To come off", &asked.free, &choices.free, &of("free")))
            (names("expose", "To be worked on where it is", &asked.expose, &choices.expose, &of("expose")))
            div.field {
                label for="arrangement" { "On which supports" }
                (wrongs("arrangement", &stands))
                select #arrangement name="arrangement" aria-invalid=[(!stands.is_empty()).then_some("true")]
                    aria-describedby=[(!stands.is_empty()).then_some("arrangement-wrong")] {
                    option value="" { "As the season has it" }
                    @if !known && !asked.arrangement.is_empty() {
                        option value=(asked.arrangement) selected { (asked.arrangement) }
                    }
                    @for (id, name) in &choices.arrangements {
                        option value=(id) selected[*id == asked.arrangement] { (name) }
                    }
                }
            }
            @if !on.is_empty() { input type="hidden" name="on" value=(on); }
            button { "Show the way" }
        }
    }
}

/// Several names, each in a field of its own, with some to spare.
fn names(
    name: &str,
    label: &str,
    given: &[String],
    choices: &[(String, String)],
    wrong: &[&AskedWrong],
) -> Markup {
    let list = format!("{name}-list");
    let fields = given.len() + MORE;
    html! {
        fieldset.field {
            legend { (label) }
            (wrongs(name, wrong))
            div.names {
                @for at in 0..fields {
                    @let value = given.get(at).map_or("", String::as_str);
                    @let bad = wrong.iter().any(|one| one.typed == value);
                    input name=(name) value=(value) list=(list) autocomplete="off"
                        aria-label={ (label) ", item " (at + 1) }
                        aria-invalid=[bad.then_some("true")]
                        aria-describedby=[bad.then(|| format!("{name}-wrong"))];
                }
            }
            datalist id=(list) {
                @for (id, called) in choices { option value=(id) { (called) } }
            }
        }
    }
}

fn wrongs(name: &str, wrong: &[&AskedWrong]) -> Markup {
    html! {
        @if !wrong.is_empty() {
            div.wrong id={ (name) "-wrong" } { @for one in wrong { p { (one.what) } } }
        }
    }
}

fn told(viewer: &Viewer, found: &Reaching, index: &Index) -> Markup {
    let place = |item: &str| found.steps.iter().position(|step| step.item == item);
    let svg = app::reaching_svg(found, Setting::InPage, &|item| {
        Some(format!("#step-{}", place(item)? + 1))
    });
    let off = found.steps.iter().filter(|step| step.kind != StepKindOf::Exposed).count();
    html! {
        section.answer aria-labelledby="answer" {
            h2 #answer { (found.wanted.join(", ")) }
            @if off == 0 {
                p.figure { "Nothing has to come off: it can be reached as the aircraft stands." }
            }
            (sums(found, off))
            @for warning in &found.warnings { p.caution { (warning) "." } }
            figure.drawing {
                div.pan.graph role="region" aria-label="What comes before what" tabindex="0" {
                    // Written by us from numbers and escaped words.
                    (PreEscaped(svg))
                }
                figcaption { p { "What stands further left comes first. A heavy line is what you asked \
                                  for; a broken one asks for care on the supports. Each box leads to its \
                                  step below." } }
            }
            ol.steps { @for (at, step) in found.steps.iter().enumerate() { (one(found, at, step, index)) } }
            @if !found.refits.is_empty() {
                h3 { "Back in this order" }
                ol.back { @for item in &found.refits { li { (link("item", item)) } } }
            }
            p.caution { "It supports, and never replaces, approved jacking, trestling and rigging data, \
                         licensed engineers and the authority." }
            (next(viewer, found))
        }
    }
}

fn sums(found: &Reaching, off: usize) -> Markup {
    html! {
        dl.facts {
            div { dt { "comes off" } dd { (off) @if off == 1 { " item" } @else { " items" } } }
            div {
                dt { "person-hours" }
                dd {
                    (hours(found.cost)) " to open and to close; "
                    @if found.optimal { "no cheaper way exists" }
                    @else { "none below " (hours(found.bound)) " is proven" }
                }
            }
            div {
                dt { "supported" }
                dd {
                    @match &found.stands_on {
                        Some(name) => (name),
                        None => span.wrong { "no arrangement of supports is known, so nothing is said of tipping" },
                    }
                }
            }
        }
    }
}

fn hours(minutes: u64) -> String {
    format!("{}.{} h", minutes / 60, minutes % 60 / 6)
}

fn one(found: &Reaching, at: usize, step: &ReachingStep, index: &Index) -> Markup {
    let says = match step.kind {
        StepKindOf::Exposed => "exposed: to be worked on where it is",
        StepKindOf::WantedOff => "off, as you asked",
        StepKindOf::Removal => "off",
    };
    let joined = |pick: fn((usize, usize), usize) -> Option<usize>| -> Vec<usize> {
        found.edges.iter().filter_map(|edge| pick(*edge, at)).collect()
    };
    let before = joined(|(from, to), at| (to == at).then_some(from));
    let after = joined(|(from, to), at| (from == at).then_some(to));
    html! {
        li id={ "step-" (at + 1) } data-detail=(at) tabindex="-1" {
            h3 { (link("item", &step.item)) " " (step.name) " " span.why { (says) } }
            dl.facts {
                (fact("for", &step.why.join("; "), index))
                (steps("after", found, &before))
                (steps("before", found, &after))
                (fact("crew", &step.crew, index))
                @if let Some((off, on)) = &step.hours {
                    (fact("takes", &format!("{off} off, {on} on"), index))
                }
                (fact("lift", &lift(step), index))
                (fact("stand", step.stand.as_deref().unwrap_or_default(), index))
                (fact("travels with it", &step.travels.join(", "), index))
                (fact("checks when it is back", &step.checks.join("; "), index))
                @if !step.support.said.is_empty() {
                    div {
                        dt { "on its supports then" }
                        dd.wrong[step.support.careful] { (step.support.said) }
                    }
                }
            }
        }
    }
}

fn lift(step: &ReachingStep) -> String {
    let mut told = Vec::new();
    if let Some(kg) = step.lifted_kg {
        told.push(format!("{kg:.0} kg"));
    }
    if !step.without_mass.is_empty() {
        told.push(format!("mass not known of {}", step.without_mass.join(", ")));
    }
    told.extend(step.gear.iter().cloned());
    told.join(", ")
}

fn fact(name: &str, text: &str, index: &Index) -> Markup {
    html! { @if !text.is_empty() { div { dt { (name) } dd { (index.linked("", text)) } } } }
}

fn steps(name: &str, found: &Reaching, at: &[usize]) -> Markup {
    html! {
        @if !at.is_empty() {
            div {
                dt { (name) }
                dd {
                    @for (place, step) in at.iter().enumerate() {
                        @if place > 0 { ", " }
                        a href={ "#step-" (step + 1) } { (found.steps[*step].item) }
                    }
                }
            }
        }
    }
}

/// What to do with the answer.
fn next(viewer: &Viewer, found: &Reaching) -> Markup {
    let first = found.steps.iter().find(|step| step.kind == StepKindOf::WantedOff);
    html! {
        p.ways {
            a href="/season" { "Plan it with the season" }
            @if viewer.may("issue-card") {
                @if let Some(step) = first {
                    @let job = format!("OFF:{}", step.item);
                    " · " a href={ "/act/issue-card" (query([("job", job.as_str()), ("item", step.item.as_str())])) } {
                        "Issue the card that takes " (step.item) " off"
                    }
                }
            }
        }
    }
}
