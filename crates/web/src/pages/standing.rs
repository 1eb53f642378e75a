//! How zones, items and findings stand, by mark, word and pattern.

use app::{Condition, FindingRow, FindingWord, ItemState, RegionState};
use maud::{Markup, html};

use crate::links::{Index, link, path_of};

/// A state: its pattern, its mark and its word.
fn told(class: &str, mark: char, word: &str) -> Markup {
    html! {
        span.standing {
            i.pattern.{ "is-" (class) } aria-hidden="true" {}
            span aria-hidden="true" { (mark) }
            " " (word)
        }
    }
}

/// How a zone stands.
pub(crate) fn of_zone(state: RegionState) -> Markup {
    told(&state.word().replace(' ', "-"), state.mark(), state.word())
}

/// How an item stands.
pub(crate) fn of_item(item: &ItemState) -> Markup {
    let word = item.word.word();
    let class = match word {
        "in quarantine" => "hazard",
        "doubtful" => "doubtful",
        "off" => "open",
        "away" => "away",
        "scrapped" => "outside-limits",
        _ => "no-entry",
    };
    told(class, item.word.mark(), word)
}

/// How bad a finding is; nobody's word is told as that.
pub(crate) fn of_finding(row: &FindingRow) -> Markup {
    let (state, word) = match (row.cleared, row.condition) {
        (true, _) => (RegionState::Cleared, "cleared"),
        (false, Condition::Hazard) => (RegionState::Hazard, "hazard"),
        (false, Condition::OutsideLimits) => {
            (RegionState::OutsideLimits, "outside limits")
        }
        (false, Condition::WithinLimits) => (RegionState::WithinLimits, "within limits"),
        (false, Condition::Unknown) => (RegionState::Doubtful, "not classed"),
    };
    html! {
        (told(&state.word().replace(' ', "-"), state.mark(), word))
        @if row.state == FindingWord::Deferred { " " span.why { "carried forward" } }
    }
}

/// A list of items, each with how it stands.
pub(crate) fn items(items: &[ItemState], index: &Index) -> Markup {
    html! {
        div.wide {
            table {
                thead { tr {
                    @for head in ["item", "name", "state", "where", "findings"] {
                        th scope="col" { (head) }
                    }
                } }
                tbody {
                    @for item in items { tr {
                        td data-column="item" { span { (link("item", &item.item)) } }
                        td data-column="name" { span { (item.name) } }
                        td data-column="state" { span { (of_item(item)) (late(item)) } }
                        td data-column="where" { span { (place(item, index)) } }
                        td data-column="findings" .blank[item.open.is_empty()] {
                            span {
                                @if item.open.is_empty() { "-" }
                                @for (at, (finding, condition)) in item.open.iter().enumerate() {
                                    @if at > 0 { ", " }
                                    a href=(path_of("finding", finding)) { (finding) }
                                    " " span.why { (class_word(*condition)) }
                                }
                            }
                        }
                    } }
                }
            }
        }
    }
}

/// The word for how bad an open finding is.
pub(crate) fn class_word(condition: Condition) -> &'static str {
    match condition {
        Condition::Unknown => "not classed",
        known => known.word(),
    }
}

fn late(item: &ItemState) -> Markup {
    html! { @if item.late > 0 { " " strong.wrong { (item.late) " days late" } } }
}

fn place(item: &ItemState, index: &Index) -> Markup {
    html! {
        (index.linked("", &item.place))
        @if let Some(why) = &item.why { ": " (why) }
        @if let Some(zone) = &item.zone {
            @if item.word.word() == "fitted" { ", " (link("zone", zone)) }
        }
    }
}
