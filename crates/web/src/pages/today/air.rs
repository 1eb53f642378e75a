//! The air: what was read last, whether work that asks for warm or dry air may go on, and the
//! way to enter a reading.

use app::{Air, AirAt, AirLimit, AirVerdict, AirWork};
use maud::{Markup, html};

use crate::links::{Index, encoded};
use crate::pages::{act, bench};
use crate::table::sentence;
use crate::viewer::Viewer;

const WORD: &str = "air-reading";

pub(super) fn section(viewer: &Viewer, index: &Index, air: &Air) -> Markup {
    html! {
        dl.facts {
            @if !air.warm.is_empty() { div { dt { "warmth" } dd { (sentence(&air.warm)) } } }
            @if !air.dry.is_empty() { div { dt { "weather" } dd { (sentence(&air.dry)) } } }
        }
        @if viewer.may(WORD) {
            a.big href=(act::path(WORD, [("_back", "today")])) { "Enter a reading of the air" }
        }
        @if air.places.is_empty() { p.none { "Nobody has read the air." } }
        ul.lines { @for one in &air.places { (reading(viewer, one)) } }
        @if !air.work.is_empty() {
            h3 { "Work that asks for it" }
            ul.lines { @for one in &air.work { (work(viewer, index, one)) } }
        }
        @if !air.limits.is_empty() {
            h3 { "Limits of open steps, and what was measured last" }
            ul.lines { @for one in &air.limits { (limit(one)) } }
        }
        (cautions())
    }
}

fn cautions() -> Markup {
    html! {
        p.why {
            "Warmth and weather are the season's, as planned; values are those that were signed. Before \
             and while you paint, seal or bond, measure at the work: the product data sheet and the \
             approved data decide, and whoever is qualified for the process. A reading counts here for "
            (app::FRESH_HOURS) " hours, and where no card says otherwise the surface is to lie "
            (app::MARGIN) " °C (5 °F) above the dew point: both are common practice. The dew point is by \
             the Magnus formula, with the coefficients of WMO-No. 8."
        }
    }
}

fn reading(viewer: &Viewer, one: &AirAt) -> Markup {
    let place = one.place.as_deref().unwrap_or_default();
    let history = one.place.as_deref().unwrap_or("hangar");
    html! {
        li {
            div {
                a.key href={ "/show/air/" (encoded(history)) } { (sentence(&one.name)) } " "
                span.mark.unknown[!one.fresh] { (one.age) @if !one.fresh { ": read it again" } }
            }
            dl.facts {
                @for (what, how) in &one.facts { div { dt { (what) } dd { (how) } } }
                @if let Some(margin) = one.margin {
                    div {
                        dt { "above the dew point" }
                        dd {
                            (format!("{margin:.1}")) " °C "
                            @if margin < app::MARGIN { span.mark.wrong { "too little" } }
                            @else { span.mark.good { "enough" } }
                        }
                    }
                }
            }
            p.why { (one.who) ", " (one.at.strftime("%Y-%m-%d %H:%M").to_string()) "." }
            @if viewer.may(WORD) && !place.is_empty() {
                a.act href=(act::path(WORD, [("place", place), ("_back", "today")])) { "Read it again" span.unseen { " at " (one.name) } }
            }
        }
    }
}

const fn class(verdict: AirVerdict) -> &'static str {
    match verdict {
        AirVerdict::May => "mark good",
        AirVerdict::NotKnown => "mark unknown",
        AirVerdict::MayNot => "mark wrong",
    }
}

fn work(viewer: &Viewer, index: &Index, one: &AirWork) -> Markup {
    let fields = [
        one.place_id.as_deref().map(|place| ("place", place)),
        one.item.as_deref().map(|item| ("surface_of", item)),
        Some(("_back", "today")),
    ];
    html! {
        li {
            div {
                @if one.card { a.key href=(bench::path(&one.job)) { (one.job) } }
                @else { (index.linked("card", &one.job)) }
                " asks for " (one.asks)
                @if let Some(place) = &one.place { " · " (place) }
                @if one.begun { " · begun" }
                " " span class=(class(one.verdict)) { (one.verdict.word()) }
            }
            @for why in &one.why { p.why { (sentence(why)) "." } }
            @if viewer.may(WORD) && one.verdict != AirVerdict::May {
                a.act href=(act::path(WORD, fields.into_iter().flatten())) { "Read the air for it" span.unseen { ": " (one.job) } }
            }
        }
    }
}

fn limit(one: &AirLimit) -> Markup {
    let class = match one.state {
        "within" => "mark good",
        "outside" => "mark wrong",
        _ => "mark unknown",
    };
    html! {
        li {
            a.key href=(bench::path(&one.job)) { (one.job) } ", step " (one.step) ": " (one.name) " " (one.limits) " "
            span class=(class) { (one.state) }
            @if let Some((value, who, at)) = &one.last {
                p.why { "Last " (value) ", " (who) ", " (at.strftime("%Y-%m-%d %H:%M").to_string()) "." }
            }
        }
    }
}

/// The same for a wall.
pub(super) fn on_wall(air: &Air) -> Markup {
    html! {
        @if !air.warm.is_empty() || !air.places.is_empty() {
            h2 { "Air" }
            @if !air.warm.is_empty() { p.names { (sentence(&air.warm)) "; " (air.dry) "." } }
            ul {
                @for one in air.places.iter().take(super::ON_WALL) {
                    li {
                        strong { (sentence(&one.name)) } " "
                        (one.facts.iter().map(|(_, how)| how.as_str()).collect::<Vec<_>>().join(" · ")) " "
                        span.mark.unknown[!one.fresh] { (one.age) }
                    }
                }
                @for one in air.work.iter().take(super::ON_WALL) {
                    li { strong { (one.job) } " " span class=(class(one.verdict)) { (one.verdict.word()) } }
                }
            }
        }
    }
}
