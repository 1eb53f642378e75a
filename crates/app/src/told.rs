//! View values for programs.

use serde_json::{Value, json};

use crate::{Mine, NextGate, Off, Overview, PlanNow, Waiting};

/// Where the programme stands, and what waits for somebody, as JSON.
pub fn overview_json(overview: &Overview, mine: &[Mine]) -> Value {
    let Overview { next, plan, off, late } = overview;
    json!({
        "next_gate": next.as_ref().map(gate),
        "plan": plan.as_ref().map(season),
        "off": off.iter().map(away).collect::<Vec<_>>(),
        "late": late.iter().map(waiting).collect::<Vec<_>>(),
        "mine": mine.iter().map(|kind| json!({
            "title": kind.title,
            "waiting": kind.waiting.iter().map(waiting).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
    })
}

fn gate(next: &NextGate) -> Value {
    let blocks = next.blocks.iter().map(|(what, rule, citation)| {
        json!({ "what": what, "rule": rule, "citation": citation })
    });
    json!({
        "gate": next.gate,
        "name": next.name,
        "in_the_way": blocks.collect::<Vec<_>>(),
    })
}

fn season(plan: &PlanNow) -> Value {
    json!({
        "season": plan.season,
        "gate_date": plan.gate_date.to_string(),
        "complete": plan.complete.map(|day| day.to_string()),
        "margin_days": plan.margin,
        "behind": plan.behind,
    })
}

fn away(off: &Off) -> Value {
    json!({ "item": off.item, "name": off.name, "place": off.place, "class": off.class })
}

fn waiting(waiting: &Waiting) -> Value {
    json!({
        "noun": waiting.noun,
        "name": waiting.name,
        "what": waiting.what,
        "act": waiting.act.as_ref().map(|(word, _)| word),
    })
}
