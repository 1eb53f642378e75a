//! Findings: all, one, and those carried forward.

use std::collections::BTreeMap;

use jiff::civil::Date;
use record::shop::FindingState;
use record::{FindingId, Programme};

use super::{mark, name, none, or_dash};
use crate::{AppError, Sheet};

pub(crate) fn what(programme: &Programme, finding: &FindingId) -> String {
    let state = programme.shop.findings.states.get(finding);
    let raised = state.and_then(|state| state.raised.as_ref());
    let raised = raised.map(|(raise, _)| raise.what.clone());
    let survey = || programme.findings.get(finding).map(|finding| finding.what.clone());
    raised.or_else(survey).unwrap_or_default()
}

fn state(state: Option<&FindingState>) -> String {
    let Some(state) = state else { return "not classed".to_owned() };
    if state.is_cleared() {
        return "cleared".to_owned();
    }
    let class = state.class.as_ref();
    let class = class.map_or("not classed", |class| class.condition.word());
    match &state.deferred {
        Some(deferral) => format!("{class}, carried forward to {}", deferral.until),
        None => class.to_owned(),
    }
}

fn allows(state: Option<&FindingState>) -> String {
    let state = state.filter(|state| !state.is_cleared());
    let deferred = state.and_then(|state| state.deferred.as_ref()).map(|d| &d.allows);
    let class = state.and_then(|state| state.class.as_ref());
    or_dash(deferred.or_else(|| class.and_then(|class| class.allows.as_ref())))
}

pub(super) fn all(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Findings on {on}"));
    let states = &programme.shop.findings.states;
    let open = programme.open_findings();
    let all: std::collections::BTreeSet<&FindingId> =
        programme.findings.names().chain(states.keys()).collect();
    sheet.fact("open", open.len()).fact("cleared", all.len() - open.len());
    let rows = open.into_iter().map(|finding| {
        let age = programme.day_of_finding(finding).map(|day| (on - day).get_days());
        vec![
            finding.to_string(),
            or_dash(programme.item_of_finding(finding)),
            state(states.get(finding)),
            allows(states.get(finding)),
            or_dash(programme.day_of_finding(finding)),
            or_dash(age),
            what(programme, finding),
        ]
    });
    let columns = ["finding", "item", "state", "allows", "found", "days", "what"];
    sheet.list("open", &columns, rows.collect());
    sheet
}

pub(super) fn one(programme: &Programme, finding: &str) -> Result<Sheet, AppError> {
    let id: FindingId = name(finding)?;
    if !programme.has_finding(&id) {
        let known = programme.open_findings().into_iter().map(ToString::to_string);
        return Err(none("finding", finding, known));
    }
    let signed = programme.shop.findings.states.get(&id);
    let mut sheet = Sheet::new(format!("Finding {id}: {}", what(programme, &id)));
    sheet
        .fact("item", or_dash(programme.item_of_finding(&id)))
        .fact("zone", or_dash(programme.zone_of_finding(&id)))
        .fact("found", or_dash(programme.day_of_finding(&id)))
        .fact("state", state(signed))
        .fact("allows", allows(signed));
    let Some(signed) = signed else { return Ok(sheet) };
    if let Some((raised, by)) = &signed.raised {
        sheet.fact("raised", mark(by));
        let listed = [("measured", &raised.measured), ("cause", &raised.cause)];
        for (fact, said) in listed {
            if let Some(said) = said {
                sheet.fact(fact, said);
            }
        }
        if let Some(job) = &raised.job {
            sheet.fact("card", job);
        }
        if let Some(spot) = &raised.mark {
            let (view, x, y) = (spot.view.word(), spot.x, spot.y);
            sheet.fact("marked", format!("{view} view, {x} to the right, {y} down"));
        }
    }
    if let Some(class) = &signed.class {
        sheet.fact("classed", mark(&class.mark)).fact("basis", &class.basis);
    }
    if let Some(deferral) = &signed.deferred {
        sheet.fact("carried forward", mark(&deferral.mark));
        sheet.fact("limitation", &deferral.limitation);
    }
    if let Some(follows) = &signed.follows {
        sheet.fact("makes good the temporary repair of", follows);
        sheet.fact("due", or_dash(signed.due));
    }
    if !signed.also.is_empty() {
        let also: Vec<String> = signed.also.iter().map(ToString::to_string).collect();
        sheet.fact("still to be looked at", also.join(", "));
    }
    if let Some((by, why)) = &signed.cleared {
        sheet.fact("cleared", format!("{}: {why}", mark(by)));
    }
    Ok(sheet)
}

/// Findings that are carried forward, with how many lie in each zone and chapter: many
/// small ones in one place may add up to a great one.
pub(super) fn deferred(programme: &Programme) -> Sheet {
    let mut sheet = Sheet::new("Carried forward");
    let mut zones: BTreeMap<String, usize> = BTreeMap::new();
    let mut chapters: BTreeMap<String, usize> = BTreeMap::new();
    let mut rows = Vec::new();
    for (id, state) in &programme.shop.findings.states {
        let Some(deferral) = state.deferred.as_ref().filter(|_| !state.is_cleared())
        else {
            continue;
        };
        let item = programme.item_of_finding(id);
        let zone = or_dash(programme.zone_of_finding(id));
        let chapter = item.and_then(|item| programme.items.get(item)?.chapter);
        let chapter = or_dash(chapter.map(airframe::Chapter::chapter));
        *zones.entry(zone.clone()).or_default() += 1;
        *chapters.entry(chapter.clone()).or_default() += 1;
        rows.push(vec![
            id.to_string(),
            or_dash(item),
            zone,
            chapter,
            or_dash(programme.day_of_finding(id)),
            deferral.allows.to_string(),
            deferral.until.to_string(),
            deferral.limitation.clone(),
        ]);
    }
    let columns =
        ["finding", "item", "zone", "chapter", "found", "allows", "until", "limitation"];
    sheet.list("carried forward", &columns, rows);
    let counted = |counts: BTreeMap<String, usize>| -> Vec<Vec<String>> {
        counts.into_iter().map(|(what, count)| vec![what, count.to_string()]).collect()
    };
    sheet.list("by zone", &["zone", "findings"], counted(zones));
    sheet.list("by chapter", &["chapter", "findings"], counted(chapters));
    sheet
}
