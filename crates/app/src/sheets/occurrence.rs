//! The draft of a report of an occurrence, for a finding that is classed as a hazard.

use jiff::civil::Date;
use record::act::LifeUnit;
use record::{Condition, FindingId, Programme};

use super::finding::what;
use super::{joined, mark, name, none, or_dash};
use crate::{AppError, Sheet};

const TO_STATE: &str = "(to be stated)";

pub(super) fn draft(
    programme: &Programme,
    finding: &str,
    on: Date,
) -> Result<Sheet, AppError> {
    let id: FindingId = name(finding)?;
    let states = &programme.shop.findings.states;
    let hazards = || {
        let hazard = states.iter().filter(|(_, s)| s.condition() == Condition::Hazard);
        hazard.map(|(name, _)| name.to_string())
    };
    let state = states.get(&id).filter(|_| programme.has_finding(&id));
    let Some(state) = state.filter(|state| state.condition() == Condition::Hazard) else {
        if programme.has_finding(&id) {
            return Err(AppError::Unknown(format!(
                "{id} is not classed as a hazard, so there is nothing to draft; classed so \
                 are {}",
                joined(hazards())
            )));
        }
        return Err(none("finding", finding, hazards()));
    };
    let mut sheet = Sheet::new(format!("DRAFT: report of an occurrence, {id}, on {on}"));
    for what in ["to", "reporter, with address", "date sent"] {
        sheet.fact(what, TO_STATE);
    }
    aircraft(programme, &mut sheet);
    part(programme, &id, &mut sheet);
    sheet.fact("what was seen", what(programme, &id));
    if let Some((raise, by)) = &state.raised {
        sheet
            .fact("measured", or_dash(raise.measured.as_ref()))
            .fact("found", format!("{}, entered by {}", raise.found, mark(by)))
            .fact("on card", or_dash(raise.job.as_ref()))
            .fact("cause, as far as known", raise.cause.as_deref().unwrap_or(TO_STATE));
    } else if let Some(survey) = programme.findings.get(&id) {
        sheet
            .fact("measured", or_dash(survey.measured.as_ref()))
            .fact("found", format!("{} in the survey", or_dash(survey.found)))
            .fact("cause, as far as known", TO_STATE);
    }
    if let Some(class) = &state.class {
        sheet
            .fact("classed as a hazard by", mark(&class.mark))
            .fact("limit", &class.basis)
            .fact("possible effect", class.effect.as_deref().unwrap_or(TO_STATE));
    }
    followed(programme, &id, &mut sheet);
    sheet.caution(
        "A draft from the record. Whether, to whom and by when it must be reported is for \
         whoever answers for the aircraft to decide, by the rules that bind it.",
    );
    Ok(sheet)
}

fn aircraft(programme: &Programme, sheet: &mut Sheet) {
    if let Some(info) = &programme.info {
        sheet
            .fact("aircraft", &info.aircraft)
            .fact("registration", or_dash(info.registration.as_ref()))
            .fact("keeper", or_dash(info.keeper.as_ref()));
    }
    let office = &programme.shop.office;
    for unit in [LifeUnit::FlightHours, LifeUnit::EngineHours, LifeUnit::Landings] {
        let total = office.total(unit).map_or_else(
            || format!("not known, {} since the record began", office.count(unit)),
            |total| total.to_string(),
        );
        sheet.fact(unit.word(), total);
    }
}

fn part(programme: &Programme, id: &FindingId, sheet: &mut Sheet) {
    let item = programme.item_of_finding(id);
    sheet.fact("zone", or_dash(programme.zone_of_finding(id)));
    let Some(item) = item.and_then(|item| programme.items.get(item)) else { return };
    sheet
        .fact("item", format!("{} ({})", item.name, item.id))
        .fact("part number", or_dash(item.part_number.as_ref()))
        .fact("serial number", or_dash(item.serial.as_ref()))
        .fact("chapter", or_dash(item.chapter));
    let part = programme.shop.parts.parts.get(&item.id);
    if let Some((tag, _)) = part.and_then(|part| part.tag.as_ref()) {
        sheet.fact("its times, by its tag", &tag.service);
    }
}

/// What was done since.
fn followed(programme: &Programme, id: &FindingId, sheet: &mut Sheet) {
    let Some(state) = programme.shop.findings.states.get(id) else { return };
    let also = joined(state.also.iter());
    sheet.fact("still to be looked at elsewhere", also);
    let cleared = state.cleared.as_ref();
    let cleared = cleared.map(|(by, why)| format!("{}: {why}", mark(by)));
    sheet.fact("put right", cleared.unwrap_or_else(|| "not yet".to_owned()));
    let examinations = &programme.shop.examinations;
    let asked = examinations.requests.iter();
    let asked = asked.filter(|(_, (request, _))| request.finding.as_ref() == Some(id));
    let asked = asked.map(|(name, _)| {
        let outcomes = examinations.of(name).map(|report| {
            format!("{} {}", report.words.report, report.words.outcome.word())
        });
        vec![name.to_string(), joined(outcomes)]
    });
    sheet.list("examinations", &["examination", "reports"], asked.collect());
}
