//! The survey: a finding entered on the spot, with photographs and a mark on the drawing.

use app::{ActForm, Drawing, Problem, Setting, Thing};
use axum::extract::{Query, Request, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, PreEscaped, html};

use crate::fault;
use crate::layout::page_with;
use crate::links::{link, query};
use crate::pages::act::{self, Failed, Why};
use crate::pages::aircraft;
use crate::pages::form::{self, Filled};
use crate::sign_in::{self, Fields, field, secret_field};
use crate::site::Site;
use crate::upload::{self, Files};
use crate::viewer::{self, Viewer};

/// The act that a survey enters.
const ACT: &str = "raise";

/// What is usually found, in the words of the trade (common practice); more is typed.
const WORDS: [&str; 16] = [
    "corrosion",
    "pitting",
    "crack",
    "dent",
    "scratch",
    "wear",
    "chafing",
    "leak",
    "loose",
    "missing",
    "bent",
    "broken",
    "burnt",
    "delaminated",
    "perished",
    "old repair",
];

/// What is asked for at once, in order, besides the zone and the words; the rest is folded.
const FIRST: [&str; 4] = ["item", "what", "measured", "photographs"];
const REST: [&str; 6] = ["finding", "found", "cause", "job", "also", "mark"];

/// `GET /survey`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(typed): Query<Fields>,
) -> Response {
    let Some(form) = act::form_of(ACT) else { return fault::not_found() };
    if !viewer.may(ACT) {
        return act::not_yours(form);
    }
    // Only what the form asks for can be filled in by a link.
    let mut filled: Fields =
        typed.iter().filter(|(name, _)| !name.starts_with('_')).cloned().collect();
    let programme = site.snapshot().programme;
    let mut given = |name: &str, value: String| {
        if field(&filled, name).is_empty() {
            filled.push((name.to_owned(), value));
        }
    };
    let next = app::next_finding(&programme);
    given("finding", next.clone());
    given("_suggested", next);
    given("found", site.today().to_string());
    given("_view", field(&typed, "view").to_owned());
    asked(&site, &viewer, form, &filled, &Why::Asked).await
}

/// `POST /survey`.
pub(crate) async fn post(State(site): State<Site>, request: Request) -> Response {
    let viewer = viewer::find(&site, request.headers());
    let files = if viewer.is_some() { Files::Keep } else { Files::Drop };
    let carried = match upload::read(request, files).await {
        Ok(carried) => carried,
        Err(unread) => return unread,
    };
    let Some(viewer) = viewer else {
        return sign_in::interrupted(&site, ACT, &composed(&carried.fields));
    };
    let Some(form) = act::form_of(ACT) else { return fault::not_found() };
    if !viewer.sent(field(&carried.fields, "_csrf")) {
        let why = Why::Other("this form was made before you signed in: sign it again");
        return asked(&site, &viewer, form, &carried.fields, &why).await;
    }
    if !viewer.may(ACT) {
        return act::not_yours(form);
    }
    let (typed, unfit) = upload::attach(&site, &form.fields, carried).await;
    let whole = composed(&typed);
    let before = site.snapshot();
    match act::enter(&site, &viewer, form, (&whole, unfit)).await {
        Ok(kept) => {
            let of = |name| field(&whole, name);
            let says = format!("{} on {}: {}.", of("finding"), of("item"), of("what"));
            let told = act::Told { form, typed: &whole, before, says: Some(says) };
            act::told(&site, &viewer, &kept, &told).await;
            Redirect::to(&on_with(&whole)).into_response()
        }
        Err(failed) => {
            let typed = act::as_new(&typed, &failed);
            let (typed, why) = named_anew(&site, typed, &failed);
            let why = why.as_ref().map_or_else(|| failed.why(), |what| Why::Other(what));
            asked(&site, &viewer, form, &typed, &why).await
        }
    }
}

/// What is usually found and what was typed, as one text.
fn composed(typed: &Fields) -> Fields {
    let words: Vec<&str> = typed
        .iter()
        .filter(|(name, value)| name == "_word" && WORDS.contains(&value.as_str()))
        .map(|(_, value)| value.as_str())
        .collect();
    let mut whole = typed.clone();
    if words.is_empty() {
        return whole;
    }
    let said = crate::table::sentence(&words.join(", "));
    let text = field(typed, "what").trim().to_owned();
    let what = if text.is_empty() { said } else { format!("{said}: {text}") };
    whole.retain(|(name, _)| name != "what");
    whole.push(("what".to_owned(), what));
    whole
}

/// The next one at the same place.
fn on_with(typed: &Fields) -> String {
    let kept = [("zone", "zone"), ("view", "_view"), ("last", "finding")];
    let kept = kept.into_iter().map(|(name, of)| (name, field(typed, of)));
    format!("/survey{}", query(kept.filter(|(_, value)| !value.is_empty())))
}

/// If the name that we proposed was taken meanwhile, the next one is proposed.
fn named_anew(
    site: &Site,
    mut typed: Fields,
    failed: &Failed,
) -> (Fields, Option<String>) {
    let name = field(&typed, "finding").to_owned();
    let proposed = !name.is_empty() && name == field(&typed, "_suggested");
    let programme = site.snapshot().programme;
    let taken = app::choices(&programme, "finding", None);
    let taken = taken.iter().any(|thing: &Thing| thing.name == name);
    let spent = matches!(failed, Failed::Spent(_));
    let overtaken = spent || matches!(failed, Failed::Refused(_) | Failed::Changed(_));
    if !proposed || !taken || !overtaken {
        return (typed, None);
    }
    let next = app::next_finding(&programme);
    typed.retain(|(field, _)| field != "finding" && field != "_suggested");
    typed.push(("finding".to_owned(), next.clone()));
    typed.push(("_suggested".to_owned(), next.clone()));
    let what = if spent {
        format!(
            "{name} was entered from this form before, with other content. What stands here was \
             not entered; it is to be {next}: sign it, if it is another finding"
        )
    } else {
        format!(
            "{name} was entered by somebody else meanwhile, so this one is to be {next}: sign it \
             again"
        )
    };
    (typed, Some(what))
}

async fn asked(
    site: &Site,
    viewer: &Viewer,
    form: &ActForm,
    typed: &Fields,
    why: &Why<'_>,
) -> Response {
    let snapshot = site.snapshot();
    let index = site.index(&snapshot);
    let problems: &[Problem] =
        if let Why::Unread(problems) = why { problems } else { &[] };
    let filled =
        Filled { programme: &snapshot.programme, things: &index.things, typed, problems };
    let Some(unseen) = act::carried(viewer, typed, why, snapshot.number) else {
        return fault::panicked();
    };
    let drawing = drawn(site, field(typed, "_view")).await;
    let secret = if let Why::Secret(wrong) = why { wrong } else { "" };
    let last = field(typed, "last");
    let content = html! {
        h1 { "Survey: enter a finding" }
        (aircraft::ways(viewer, "/survey"))
        @if !last.is_empty() {
            p.ways { "The last one was " (link("finding", last)) "; this form is for the next." }
        }
        (act::reasons(form, why))
        (place(drawing.as_ref(), typed))
        form.act.survey method="post" action="/survey" enctype=[upload::enctype(&form.fields)] {
            // Enter signs.
            button.unseen tabindex="-1" aria-hidden="true" { "Sign" }
            (unseen)
            input type="hidden" name="_suggested" value=(field(typed, "_suggested"));
            input type="hidden" name="_view" value=(field(typed, "_view"));
            (zone(&index.things, field(typed, "zone"), &filled))
            (words(typed))
            @for name in FIRST { (form::named(form, name, &filled)) }
            details open[rest_is_wrong(form, &filled)] {
                summary { "More: its name, the day, where else to look" }
                @for name in REST { (form::named(form, name, &filled)) }
            }
            (zones_of_items(&snapshot.programme))
            div.sign {
                p { "Signed by " strong { (viewer.name) } " (" (viewer.person) "), now." }
                (secret_field("_secret", "Your secret", secret, "current-password"))
                button { "Sign: raise" }
            }
        }
    };
    let stems = ["regions", "aircraft", "survey"];
    let page = page_with(site, viewer, ("/survey", "Survey"), &stems, &content);
    (why.status(), page).into_response()
}

fn rest_is_wrong(form: &ActForm, filled: &Filled<'_>) -> bool {
    REST.iter().any(|name| form::is_wrong(form, name, filled))
}

/// The drawing of a view, or of the first that there is.
async fn drawn(site: &Site, view: &str) -> Option<Drawing> {
    let (programme, on) = (site.snapshot().programme, site.today());
    let views = app::views(&programme);
    let chosen = views.iter().copied().find(|one| one.word() == view);
    let view = chosen.or_else(|| views.first().copied())?;
    site.aside(move || app::drawing(&programme, view, on)).await.ok()
}

/// Where it is: the drawing, whose zones lead to this page with the zone filled in; a script
/// takes the place that was touched instead.
fn place(drawing: Option<&Drawing>, typed: &Fields) -> Markup {
    let Some(drawing) = drawing else {
        return html! {
            p.why { "The programme has no drawing to mark it on; choose the zone from the list." }
        };
    };
    let view = drawing.view.word();
    let other = if view == "side" { "plan" } else { "side" };
    let item = field(typed, "item");
    let path = |view: &str, zone: Option<&str>| {
        let item = Some(("item", item)).filter(|(_, item)| !item.is_empty());
        let zone = zone.map(|zone| ("zone", zone));
        format!("/survey{}", query([("view", view)].into_iter().chain(zone).chain(item)))
    };
    let svg = app::drawing_svg(
        drawing,
        Setting::InPage,
        &|zone| Some(path(view, Some(zone))),
        &|finding| Some(crate::links::path_of("finding", finding)),
    );
    html! {
        figure.drawing.marking data-view=(view) {
            div.pan role="region" aria-label="The drawing: choose the zone on it" tabindex="0" {
                // Written by us from numbers and escaped words.
                (PreEscaped(svg))
            }
            figcaption {
                p data-marked role="status" { "Touch where it is, or choose the zone from the list below." }
                p.ways { a href=(path(other, None)) {
                    "Drawing from " @if other == "plan" { "above" } @else { "the side" }
                } }
            }
        }
    }
}

fn zone(things: &[Thing], now: &str, filled: &Filled<'_>) -> Markup {
    let zones: Vec<&Thing> = things.iter().filter(|thing| thing.noun == "zone").collect();
    let known = now.is_empty() || zones.iter().any(|zone| zone.name == now);
    html! {
        div.field {
            label for="zone" { "Zone" }
            (form::wrong_of("zone", filled))
            select #zone name="zone" {
                option value="" { "That of the item" }
                @if !known { option value=(now) selected { (now) } }
                @for zone in zones {
                    option value=(zone.name) selected[zone.name == now] { (zone.name) " " (zone.what) }
                }
            }
        }
    }
}

fn words(typed: &Fields) -> Markup {
    let is =
        |word: &str| typed.iter().any(|(name, value)| name == "_word" && value == word);
    html! {
        fieldset.field.choose {
            legend { "Kind of damage" }
            p.meaning { "What fits; it stands before what you write." }
            div.buttons {
                @for word in WORDS {
                    label { input type="checkbox" name="_word" value=(word) checked[is(word)]; span { (word) } }
                }
            }
        }
    }
}

/// Which items lie in which zone, so that a script can offer those of the zone first.
fn zones_of_items(programme: &app::Programme) -> Markup {
    html! {
        datalist #items-by-zone {
            @for (item, zone) in app::zones_of_items(programme) { option value=(item) { (zone) } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(pairs: &[(&str, &str)]) -> Fields {
        pairs
            .iter()
            .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()))
            .collect()
    }

    #[test]
    fn words_stand_before_what_is_written() {
        for (given, what) in [
            (&[("what", "at the lug")][..], "at the lug"),
            (
                &[("what", " at the lug "), ("_word", "crack"), ("_word", "leak")],
                "Crack, leak: at the lug",
            ),
            (&[("what", ""), ("_word", "dent")], "Dent"),
            (&[("what", "x"), ("_word", "made up")], "x"),
        ] {
            assert_eq!(field(&composed(&typed(given)), "what"), what);
        }
    }

    #[test]
    fn every_field_of_the_act_is_asked_for() {
        let form = act::form_of(ACT).unwrap();
        for field in &form.fields {
            let asked = FIRST.contains(&field.name) || REST.contains(&field.name);
            assert!(asked || field.name == "zone", "{}", field.name);
        }
    }
}
