//! What can be signed about a thing, offered on its page.

use maud::{Markup, html};

use super::{path, words};
use crate::viewer::Viewer;

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

#[cfg(test)]
mod tests {
    use super::OF_THINGS;
    use crate::pages::act::form_of;

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
