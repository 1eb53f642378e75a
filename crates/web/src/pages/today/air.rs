//! The air: what was read last, whether work that asks for warm or dry air may go on, and the
//! way to enter a reading.

use app::{Air, AirAt, AirLimit, AirVerdict, AirWork};
use jiff::civil::DateTime;
use maud::{Markup, html};

use crate::links::{Index, encoded};
use crate::pages::{act, bench};
use crate::table::sentence;
use crate::viewer::Viewer;

const WORD: &str = "air-reading";

/// What is said beside the figures of a reading that counts no longer.
const WAS: &str = "This is what it was, not what it is: read it again.";

/// What is known beside when it was made, so that a page that lies open can tell when that is
/// over: so many seconds what is said lasts from then on.
pub(super) struct Shown<'a> {
    pub(super) viewer: &'a Viewer,
    pub(super) index: &'a Index,
    pub(super) now: DateTime,
}

/// So many seconds from one moment to another; none if it is past.
fn lasts(now: DateTime, until: DateTime) -> i64 {
    until.duration_since(now).as_secs().max(0)
}

/// The clock, and the day if it is another.
fn clock(now: DateTime, at: DateTime) -> String {
    let format = if at.date() == now.date() { "%H:%M" } else { "%Y-%m-%d %H:%M" };
    at.strftime(format).to_string()
}

pub(super) fn section(shown: &Shown<'_>, air: &Air) -> Markup {
    let (viewer, now) = (shown.viewer, shown.now);
    html! {
        @if !air.work.is_empty() {
            h3 { "Work that asks for warm or dry air, now" }
            ul.lines { @for one in &air.work { (work(shown, one)) } }
        }
        h3 { "What was read last" }
        @if air.places.is_empty() { p.none { "Nobody has read the air." } }
        ul.lines { @for one in &air.places { (reading(viewer, now, one)) } }
        @if viewer.may(WORD) {
            a.big href=(act::path(WORD, [("_back", "today")])) { "Enter a reading of the air" }
        }
        dl.facts {
            @if !air.warm.is_empty() { div { dt { "warmth" } dd { (sentence(&air.warm)) } } }
            @if !air.dry.is_empty() { div { dt { "weather" } dd { (sentence(&air.dry)) } } }
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

/// How old a reading is: what counts no longer says so first.
fn aged(now: DateTime, one: &AirAt) -> Markup {
    html! {
        @if one.fresh {
            span.mark data-lasts=(lasts(now, one.until)) data-over="too old: read it again" { (one.age) }
        } @else {
            span.mark.unknown { "too old: " (one.age) }
        }
    }
}

fn reading(viewer: &Viewer, now: DateTime, one: &AirAt) -> Markup {
    let place = one.place.as_deref().unwrap_or_default();
    let history = one.place.as_deref().unwrap_or("hangar");
    html! {
        li {
            div {
                a.key href={ "/show/air/" (encoded(history)) } { (sentence(&one.name)) } " "
                (aged(now, one))
            }
            @if one.fresh {
                p.why data-lasts=(lasts(now, one.until)) data-over=(WAS) { "Counts until " (clock(now, one.until)) "." }
            } @else { p { (WAS) } }
            dl.facts {
                @for (what, how) in &one.facts { div { dt { (what) } dd { (how) } } }
                @if let Some(margin) = one.margin {
                    div { dt { "above the dew point" } dd { (format!("{margin:.1}")) " °C " (near(now, one, margin)) } }
                }
            }
            p.why { "Read " (one.at.strftime("%Y-%m-%d %H:%M").to_string()) ", signed by " (one.who) "." }
            @if viewer.may(WORD) && !place.is_empty() {
                a.act href=(act::path(WORD, [("place", place), ("_back", "today")])) { "Read it again" span.unseen { " at " (one.name) } }
            }
        }
    }
}

/// Whether the surface lies far enough above the dew point: said of a reading that counts only.
fn near(now: DateTime, one: &AirAt, margin: f64) -> Markup {
    html! {
        @if margin < app::MARGIN { span.mark.wrong { @if one.fresh { "too little" } @else { "was too little" } } }
        @else if one.fresh {
            span.mark.good data-lasts=(lasts(now, one.until)) data-over="was enough" { "enough" }
        } @else { span.mark.unknown { "was enough" } }
    }
}

const fn class(verdict: AirVerdict) -> &'static str {
    match verdict {
        AirVerdict::May => "mark good",
        AirVerdict::NotKnown => "mark unknown",
        AirVerdict::MayNot => "mark wrong",
    }
}

/// The verdict with its end: when that has passed, it is not known.
fn verdict(now: DateTime, one: &AirWork) -> Markup {
    let until = one.until.map(|until| (lasts(now, until), clock(now, until)));
    html! {
        span class=(class(one.verdict)) data-lasts=[until.as_ref().map(|(lasts, _)| lasts)]
            data-over=[until.as_ref().map(|_| "not known: read the air again")] { (one.verdict.word()) }
        @if let Some((lasts, until)) = &until {
            span data-lasts=(lasts) data-over="" { " until " (until) ", if nothing changes" }
        }
    }
}

fn work(shown: &Shown<'_>, one: &AirWork) -> Markup {
    let Shown { viewer, index, now } = shown;
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
            }
            p.verdict { (verdict(*now, one)) }
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

/// The same for a wall. What counts no longer has no figures there: from five metres nobody reads
/// how old they are.
pub(super) fn on_wall(air: &Air, now: DateTime) -> Markup {
    html! {
        @if !air.warm.is_empty() || !air.places.is_empty() {
            h2 { "Air" }
            @if !air.warm.is_empty() { p.names { (sentence(&air.warm)) "; " (air.dry) "." } }
            @if air.places.is_empty() { p.names { "Nobody has read the air." } }
            ul {
                @for one in air.work.iter().take(super::ON_WALL) {
                    li { strong { (one.job) } " " (verdict(now, one)) }
                }
                @for one in air.places.iter().take(super::ON_WALL) {
                    li { strong { (sentence(&one.name)) } " " (aged(now, one)) @if one.fresh { span data-lasts=(lasts(now, one.until)) data-over="" { " " (figures(one)) } } }
                }
            }
        }
    }
}

fn figures(one: &AirAt) -> String {
    let facts = one.facts.iter().map(|(what, how)| match *what {
        "relative humidity" => how.clone(),
        what => format!("{what} {how}"),
    });
    let margin = one.margin.map(|margin| {
        let near = if margin < app::MARGIN { ": too near" } else { "" };
        format!("{margin:.1} °C above the dew point{near}")
    });
    facts.chain(margin).collect::<Vec<_>>().join(" · ")
}
