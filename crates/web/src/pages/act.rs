//! Every act as a form: asked for, judged, kept once.

use std::net::IpAddr;
use std::sync::OnceLock;

use app::{
    Act, ActForm, AppError, Changed, HidingKey, Kept, Problem, Refused, Secret, Signed,
};
use axum::extract::{Path, Query, Request, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use crate::fault;
use crate::layout::page;
use crate::links::{path_of, query};
use crate::pages::bench::{self, BACK};
use crate::pages::form::{self, Filled};
use crate::sign_in::{self, Fields, field, secret_field};
use crate::site::{Site, Unproven};
use crate::table::sentence;
use crate::upload::{self, Files};
use crate::viewer::{self, Address, Viewer};

/// The acts that are offered on the page of a thing, by the word of its sheet, and the field
/// that holds its name.
const OF_THINGS: [(&str, &str, &[&str]); 7] = [
    (
        "cards",
        "job",
        &[
            "start",
            "pause",
            "hand-over",
            "take-over",
            "sign-step",
            "countersign",
            "inspect",
            "query",
            "hours",
            "disturb",
            "add-step",
            "finish",
            "reopen",
        ],
    ),
    (
        "findings",
        "finding",
        &[
            "classify",
            "assign",
            "defer",
            "temporary",
            "also-checked",
            "clear",
            "revive",
            "request-ndt",
            "repair",
        ],
    ),
    (
        "parts",
        "item",
        &[
            "tag",
            "move",
            "fit",
            "despatch",
            "chase",
            "receive",
            "accept",
            "quarantine",
            "release",
            "class-part",
            "scrap",
            "raise",
            "life",
            "provenance",
        ],
    ),
    ("gates", "gate", &["open-gate", "shut-gate"]),
    (
        "tools",
        "tool",
        &["tool-out", "tool-in", "lose-tool", "find-tool", "clear-tool", "calibrate"],
    ),
    ("people", "person", &["grant", "enrol"]),
    ("ndt", "examination", &["report-ndt"]),
];

pub(crate) fn forms() -> &'static [ActForm] {
    static FORMS: OnceLock<Vec<ActForm>> = OnceLock::new();
    FORMS.get_or_init(app::act_forms)
}

pub(crate) fn form_of(word: &str) -> Option<&'static ActForm> {
    forms().iter().find(|form| form.word == word)
}

/// The path of an act's form with fields filled in.
pub(crate) fn path<'a>(
    word: &str,
    fields: impl IntoIterator<Item = (&'a str, &'a str)>,
) -> String {
    format!("/act/{word}{}", query(fields))
}

/// An act's word as people say it.
pub(crate) fn words(word: &str) -> String {
    sentence(&word.replace('-', " "))
}

/// What can be signed about a thing, for whoever looks at it: first what fits how it stands,
/// the rest folded away. The record judges all of it.
pub(crate) fn of_thing(
    viewer: &Viewer,
    sheet: &str,
    name: &str,
    facts: &[(String, String)],
) -> Markup {
    let found = OF_THINGS.iter().find(|(of, _, _)| *of == sheet);
    let Some((_, holds, acts)) = found else { return html! {} };
    let fits = fitting(sheet, facts);
    let may = acts.iter().copied().filter(|word| viewer.may(word));
    let (now, other): (Vec<&str>, Vec<&str>) = may.partition(|word| fits.contains(word));
    let buttons = |words: &[&str]| {
        html! {
            @for word in words { a.act href=(path(word, [(*holds, name)])) { (self::words(word)) } }
        }
    };
    html! {
        @if !now.is_empty() {
            nav.acts aria-label={ "To sign about " (name) } { (buttons(&now)) }
        }
        @if !other.is_empty() {
            details {
                summary { "Other acts about " (name) }
                div.acts { (buttons(&other)) }
            }
        }
    }
}

/// The acts that fit how a thing stands, as its sheet says it.
fn fitting(sheet: &str, facts: &[(String, String)]) -> &'static [&'static str] {
    let fact = |name: &str| {
        let found = facts.iter().find(|(what, _)| what == name);
        found.map_or("", |(_, how)| how.as_str())
    };
    match sheet {
        "cards" => match fact("state") {
            "complete" => &["reopen"],
            "handed over, not taken" => &["take-over"],
            "at work" => &["sign-step", "pause", "hand-over", "query", "finish"],
            _ => &["start"],
        },
        "findings" => match fact("state") {
            "cleared" => &["revive"],
            "not classed" => &["classify", "assign"],
            _ => &["assign", "defer", "clear", "request-ndt"],
        },
        "parts" => part_fits(fact("where")),
        "gates" => match fact("state") {
            "open" => &["shut-gate"],
            _ => &["open-gate"],
        },
        "tools" => match fact("where") {
            place if place.starts_with("out") => &["tool-in", "lose-tool"],
            place if place.starts_with("lost") => &["find-tool", "clear-tool"],
            _ => &["tool-out"],
        },
        "people" => &["grant"],
        _ => &["report-ndt"],
    }
}

fn part_fits(place: &str) -> &'static [&'static str] {
    if place.contains("quarantine") {
        &["release", "scrap"]
    } else if place.contains("receiving check") {
        &["accept", "quarantine"]
    } else if place.starts_with("away") {
        &["receive", "chase"]
    } else if place == "fitted" {
        &["tag", "raise"]
    } else if place == "written off" {
        &[]
    } else {
        &["fit", "move", "despatch", "tag"]
    }
}

/// `GET /act`: all acts, area by area.
pub(crate) async fn index(State(site): State<Site>, viewer: Viewer) -> Response {
    let mut areas: Vec<(&str, Vec<&ActForm>)> = Vec::new();
    for form in forms().iter().filter(|form| viewer.may(form.word)) {
        match areas.last_mut() {
            Some((area, forms)) if *area == form.area => forms.push(form),
            _ => areas.push((form.area, vec![form])),
        }
    }
    let content = html! {
        h1 { "Sign something" }
        p { "Most of these are quicker from the page of the card, finding, part, gate or tool \
             that they are about: the name is filled in there." }
        @for (area, forms) in &areas {
            section {
                h2 { (sentence(area)) }
                dl.found {
                    @for form in forms {
                        div {
                            dt { a href={ "/act/" (form.word) } { (words(form.word)) } }
                            dd { (form.doc) }
                        }
                    }
                }
            }
        }
    };
    page(&site, &viewer, ("/act", "Sign something"), &content).into_response()
}

/// Why a form comes back.
#[derive(Clone, Copy)]
pub(crate) enum Why<'a> {
    /// It is asked for the first time, or for more rows.
    Asked,
    /// Its session had ended.
    Again,
    /// The secret.
    Secret(&'a str),
    /// It can't be read so.
    Unread(&'a [Problem]),
    /// Rules forbid it.
    Refused(&'a [Refused]),
    /// Others were at the same thing.
    Changed(&'a Changed),
    /// Something else.
    Other(&'a str),
}

/// `GET /act/{word}`: the form, with the fields that the address gives.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Path(word): Path<String>,
    Query(typed): Query<Fields>,
) -> Response {
    let Some(form) = form_of(&word) else { return fault::not_found() };
    if !viewer.may(form.word) {
        return not_yours(form);
    }
    // Only what the form asks for can be filled in by a link, and where it leads back to.
    let may = |name: &str| !name.starts_with('_') || name == BACK;
    let typed = typed.into_iter().filter(|(name, _)| may(name)).collect();
    asked(&site, &viewer, form, &typed, &Why::Asked)
}

/// The form of an act with fields that another page knows.
pub(crate) fn open(site: &Site, viewer: &Viewer, word: &str, typed: &Fields) -> Response {
    let Some(form) = form_of(word) else { return fault::not_found() };
    if !viewer.may(form.word) {
        return not_yours(form);
    }
    asked(site, viewer, form, typed, &Why::Asked)
}

/// The form of somebody who had to sign in again.
pub(crate) fn again(
    site: &Site,
    viewer: &Viewer,
    word: &str,
    typed: &Fields,
) -> Response {
    let Some(form) = form_of(word) else { return fault::not_found() };
    if !viewer.may(form.word) {
        return not_yours(form);
    }
    asked(site, viewer, form, typed, &Why::Again)
}

pub(crate) fn not_yours(form: &ActForm) -> Response {
    let powers = app::powers_for(form.word);
    let asked = if powers.is_empty() {
        "is done by those who have any".to_owned()
    } else {
        format!("asks for an authority to {}", powers.join(", or to "))
    };
    fault::may_not(&format!("`{}` {asked}.", form.word))
}

/// `POST /act/{word}`.
pub(crate) async fn post(
    State(site): State<Site>,
    Address(address): Address,
    Path(word): Path<String>,
    request: Request,
) -> Response {
    let viewer = viewer::find(&site, request.headers());
    let files = if viewer.is_some() { Files::Keep } else { Files::Drop };
    let carried = match upload::read(request, files).await {
        Ok(carried) => carried,
        Err(unread) => return unread,
    };
    let Some(viewer) = viewer else {
        return sign_in::interrupted(&site, &word, &carried.fields);
    };
    let Some(form) = form_of(&word) else { return fault::not_found() };
    if !viewer.sent(field(&carried.fields, "_csrf")) {
        let typed = carried.fields;
        let why = Why::Other("this form was made before you signed in: sign it again");
        return asked(&site, &viewer, form, &typed, &why);
    }
    if !viewer.may(form.word) {
        return not_yours(form);
    }
    let (typed, unfit) = upload::attach(&site, &form.fields, carried).await;
    if !field(&typed, "_more").is_empty() && unfit.is_empty() {
        return asked(&site, &viewer, form, &typed, &Why::Asked);
    }
    sign(&site, &viewer, address, form, &typed, unfit).await
}

async fn sign(
    site: &Site,
    viewer: &Viewer,
    address: IpAddr,
    form: &ActForm,
    typed: &Fields,
    unfit: Vec<Problem>,
) -> Response {
    match enter(site, viewer, address, form, (typed, unfit)).await {
        Ok(kept) => {
            site.sessions.note(&viewer.session, told(&kept));
            Redirect::to(&page_of(form, typed)).into_response()
        }
        Err(failed) => asked(site, viewer, form, typed, &failed.why()),
    }
}

/// Why an act was not entered.
pub(crate) enum Failed {
    Secret(String),
    Unread(Vec<Problem>),
    Refused(Vec<Refused>),
    Changed(Box<Changed>),
    Other(String),
}

impl Failed {
    /// The same as a form that comes back has it.
    pub(crate) fn why(&self) -> Why<'_> {
        match self {
            Self::Secret(wrong) => Why::Secret(wrong),
            Self::Unread(problems) => Why::Unread(problems),
            Self::Refused(refused) => Why::Refused(refused),
            Self::Changed(changed) => Why::Changed(changed),
            Self::Other(what) => Why::Other(what),
        }
    }
}

/// Enters the act of a form that carried the right token, signed by whoever sent it: what was
/// typed, and what was wrong with the files beside it.
pub(crate) async fn enter(
    site: &Site,
    viewer: &Viewer,
    address: IpAddr,
    form: &ActForm,
    (typed, unfit): (&Fields, Vec<Problem>),
) -> Result<Vec<Kept>, Failed> {
    // What can't be read is told before a secret is looked at.
    let act = if form.word == "enrol" { None } else { Some(act(form, typed)) };
    let mut wrong = unfit;
    if let Some(Err(AppError::Act(problems))) = &act {
        wrong.extend(problems.iter().cloned());
    }
    if !wrong.is_empty() {
        return Err(Failed::Unread(wrong));
    }
    let secret = Secret::new(field(typed, "_secret"));
    let unlocked = match site.prove(&viewer.person, &secret, address).await {
        Ok(unlocked) => unlocked,
        Err(unproven) => return Err(Failed::Secret(unproven.told(&viewer.person))),
    };
    let act = match act {
        Some(act) => act.map_err(Unproven::Failed),
        None => enrolment(site, typed).await,
    };
    let act = act.map_err(|other| Failed::Other(other.told(&viewer.person)))?;
    let kept = keep(site, viewer, act, secret, typed).await;
    if kept.is_ok() && form.word == "enrol" && field(typed, "person") == viewer.person {
        keep_second(site, viewer, unlocked, Secret::new(field(typed, "_new"))).await;
    }
    kept.map_err(|error| match error {
        AppError::Forbidden(refused) => Failed::Refused(refused),
        AppError::Changed(changed) => Failed::Changed(changed),
        AppError::Act(problems) => Failed::Unread(problems),
        other => {
            let hint = other.hint().unwrap_or_default();
            Failed::Other(format!("{other}. {hint}"))
        }
    })
}

/// The act that was typed. What is blank counts as not given, parts of nothing but blanks too.
fn act(form: &ActForm, typed: &Fields) -> Result<Act, AppError> {
    let given = typed
        .iter()
        .filter(|(name, value)| !name.starts_with('_') && !value.trim().is_empty());
    let mut given: Fields =
        given.map(|(name, value)| (name.clone(), value.replace("\r\n", "\n"))).collect();
    given.extend(bench::composed(typed));
    app::act_of_fields(form.word, &given)
}

/// A new secret makes the key here, so that it never stands in a form.
async fn enrolment(site: &Site, typed: &Fields) -> Result<Act, Unproven> {
    let value = |name: &str| field(typed, name).to_owned();
    let (person, reason) = (value("person"), value("reason"));
    let (secret, once_more) = (value("_new"), value("_again"));
    if secret != once_more {
        let what = "the two new secrets are not the same: type both again";
        return Err(Unproven::Failed(AppError::Unknown(what.to_owned())));
    }
    site.derive(move || app::enrolment(&person, &Secret::new(&secret), &reason)).await
}

/// Whoever changes their own secret keeps their second step: here alone both are known. If
/// it fails the act stands all the same; their page says that only recovery codes count.
async fn keep_second(site: &Site, viewer: &Viewer, old: HidingKey, new: Secret) {
    let person = viewer.person.clone();
    let settings = site.config.desk.settings();
    if !app::has_second(&settings, &person) {
        return;
    }
    let desk = site.config.desk.clone();
    let kept = site.derive(move || {
        let new = app::unlock(&desk.snapshot().programme, &person, &new)?;
        new.map_or(Ok(false), |new| app::keep_second(&desk, &person, (&old, &new)))
    });
    if kept.await.is_err() {
        (site.config.log)(
            "a second step could not be kept when its owner changed their secret",
        );
    }
}

async fn keep(
    site: &Site,
    viewer: &Viewer,
    act: Act,
    secret: Secret,
    typed: &Fields,
) -> Result<Vec<Kept>, AppError> {
    let (desk, by, at) = (site.config.desk.clone(), viewer.person.clone(), site.stamp());
    let signed = Signed { by, at, secret: Some(secret) };
    let request = Some(field(typed, "_request").to_owned()).filter(|id| !id.is_empty());
    let seen = field(typed, "_seen").parse().ok();
    site.aside(move || desk.act(vec![act], signed, request, seen)).await
}

/// What the next page tells.
pub(crate) fn told(kept: &[Kept]) -> Vec<String> {
    let mut told = Vec::new();
    for one in kept {
        let again = if one.repeated { ", which was entered before" } else { "" };
        told.push(format!("Entered as entry {}: {}{again}.", one.number, one.word));
        for caution in &one.cautions {
            told.push(format!("Caution: {}. {}.", caution.what, sentence(&caution.hint)));
        }
    }
    told
}

/// The page of what an act was about.
fn page_of(form: &ActForm, typed: &Fields) -> String {
    const NOUNS: [(&str, &str); 7] = [
        ("job", "card"),
        ("finding", "finding"),
        ("item", "item"),
        ("tool", "tool"),
        ("gate", "gate"),
        ("person", "person"),
        ("examination", "examination"),
    ];
    match (field(typed, BACK), field(typed, "job")) {
        (bench::CARD, job) if !job.is_empty() => return bench::path(job),
        ("parts", _) => return "/parts".to_owned(),
        ("today", _) => return "/today".to_owned(),
        _ => {}
    }
    let is_card = form.area == "work on cards";
    let named = NOUNS.into_iter().find(|(name, noun)| {
        let about = *noun != "card" || is_card;
        about && !field(typed, name).is_empty()
    });
    named.map_or_else(|| "/".to_owned(), |(name, noun)| path_of(noun, field(typed, name)))
}

fn asked(
    site: &Site,
    viewer: &Viewer,
    form: &ActForm,
    typed: &Fields,
    why: &Why<'_>,
) -> Response {
    let snapshot = site.snapshot();
    let problems = if let Why::Unread(problems) = why { problems } else { &[][..] };
    let index = site.index(&snapshot);
    let filled =
        Filled { programme: &snapshot.programme, things: &index.things, typed, problems };
    let Some(unseen) = carried(viewer, typed, why, snapshot.number) else {
        return fault::panicked();
    };
    let secret = if let Why::Secret(wrong) = why { wrong } else { "" };
    let short = bench::short(site, viewer, form, &filled);
    let (title, doc) = match &short {
        Some((title, _)) => (title.clone(), ""),
        None => (words(form.word), form.doc),
    };
    let content = html! {
        h1 { (title) }
        @if !doc.is_empty() { p.doc { (doc) } }
        (reasons(form, why))
        form.act.short[short.is_some()] method="post" action={ "/act/" (form.word) }
            enctype=[upload::enctype(&form.fields)] {
            // Enter signs, and does not ask for more rows.
            button.unseen tabindex="-1" aria-hidden="true" { "Sign" }
            (unseen)
            @if let Some((_, fields)) = &short {
                (fields)
            } @else if form.word == "enrol" {
                (new_secret(form, &filled))
            } @else {
                @if !field(typed, BACK).is_empty() {
                    input type="hidden" name=(BACK) value=(field(typed, BACK));
                }
                (form::fields(form, &filled))
            }
            div.sign {
                p { "Signed by " strong { (viewer.name) } " (" (viewer.person) "), now." }
                (secret_field("_secret", "Your secret", secret, "current-password"))
                button {
                    @if !title.starts_with("Sign") { "Sign: " }
                    (if title.starts_with("Sign") { title.clone() } else { title.to_lowercase() })
                }
            }
        }
    };
    let path = format!("/act/{}", form.word);
    let page = page(site, viewer, (&path, &title), &content);
    (why.status(), page).into_response()
}

impl Why<'_> {
    pub(crate) fn status(self) -> StatusCode {
        match self {
            Self::Asked | Self::Again => StatusCode::OK,
            Self::Changed(_) => StatusCode::CONFLICT,
            Self::Secret(_) => StatusCode::UNAUTHORIZED,
            Self::Unread(_) | Self::Refused(_) | Self::Other(_) => {
                StatusCode::UNPROCESSABLE_ENTITY
            }
        }
    }

    /// The entry up to which whoever signs had looked: that of the page when it was first made.
    fn seen(self, typed: &Fields, now: u64) -> u64 {
        match self {
            Self::Changed(changed) => changed.now,
            _ => field(typed, "_seen").parse().unwrap_or(now),
        }
    }
}

/// What the form of an act carries unseen: its token, an id that makes it count once, and up
/// to which entry whoever signs had looked. Nothing if the system has no randomness.
pub(crate) fn carried(
    viewer: &Viewer,
    typed: &Fields,
    why: &Why<'_>,
    now: u64,
) -> Option<Markup> {
    let kept = field(typed, "_request").to_owned();
    let request = if kept.is_empty() { app::random_token() } else { Ok(kept) };
    let request = request.ok()?;
    Some(html! {
        input type="hidden" name="_csrf" value=(viewer.csrf);
        input type="hidden" name="_request" value=(request);
        input type="hidden" name="_seen" value=(why.seen(typed, now));
    })
}

fn new_secret(form: &ActForm, filled: &Filled<'_>) -> Markup {
    let own = |name: &&app::FieldForm| matches!(name.name, "person" | "reason");
    let fields = form.fields.iter().filter(own).cloned().collect();
    let form = ActForm { fields, ..form.clone() };
    html! {
        (form::fields(&form, filled))
        p { "Whose secret it is types it here, twice; nobody else needs to know it." }
        (secret_field("_new", "The new secret: ten characters or more, some words", "",
            "new-password"))
        (secret_field("_again", "The same once more", "", "new-password"))
    }
}

/// Above the form: why it was not entered.
pub(crate) fn reasons(form: &ActForm, why: &Why<'_>) -> Markup {
    let told = match why {
        Why::Asked | Why::Secret("") => return html! {},
        Why::Again => {
            html! {
                p {
                    "You had to sign in again; what you typed is there: sign it now."
                    @if upload::takes_files(&form.fields) {
                        " Files that you chose are to be chosen again."
                    }
                }
            }
        }
        Why::Secret(wrong) | Why::Other(wrong) => html! { p { (wrong) } },
        Why::Unread(problems) => unread(form, problems),
        Why::Refused(refused) => html! { ul { @for one in *refused { (refusal(one)) } } },
        Why::Changed(changed) => both(changed),
    };
    html! {
        section.reasons role="alert" tabindex="-1" data-wrong {
            h2 { "Not entered" }
            (told)
        }
    }
}

fn unread(form: &ActForm, problems: &[Problem]) -> Markup {
    let general = form::of_none(form, problems);
    html! {
        p { "What is wrong stands beside the fields (" (problems.len()) "); all that you typed \
             is there." }
        @if !general.is_empty() {
            ul {
                @for problem in general {
                    li { (problem.what) @if let Some(hint) = &problem.hint { p.hint { (hint) } } }
                }
            }
        }
    }
}

fn refusal(one: &Refused) -> Markup {
    let Refused { act: _, refusal, citation, follows: _ } = one;
    html! {
        li {
            p { strong { (refusal.what) } }
            p.hint { (sentence(&refusal.hint)) "." }
            p.why {
                "Rule " (refusal.rule) ": " (refusal.rule.says())
                @if let Some(citation) = citation { " (" (citation) ")" }
            }
        }
    }
}

/// What others entered beside what was typed.
pub(crate) fn both(changed: &Changed) -> Markup {
    html! {
        p { "Since you looked (entry " (changed.seen) ") others touched the same. What they \
             entered stands here, what you typed below: look whether it still holds, and sign \
             it again." }
        ul {
            @for since in &changed.since {
                li {
                    p {
                        "Entry " (since.number) ", " (since.at) ", " strong { (since.by) } ": "
                        (since.word) " (" (since.things.join(", ")) ")"
                    }
                    @if let Some(said) = since.body.as_object() {
                        dl.facts {
                            @for (name, value) in said {
                                div {
                                    dt { (name) }
                                    dd { (value.as_str().map_or_else(|| value.to_string(), str::to_owned)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_offered_on_a_page_is_asked_for_there() {
        for (sheet, holds, acts) in OF_THINGS {
            for word in acts {
                let form = form_of(word).unwrap_or_else(|| panic!("{sheet}: {word}"));
                let has = form.fields.iter().any(|field| field.name == holds);
                assert!(has, "{word} has no field {holds}");
            }
        }
        for word in app::OF_THE_BENCH {
            assert!(form_of(word).is_some(), "{word}");
        }
    }
}
