//! The record held against the questions that a review asks.

use jiff::civil::Date;
use record::act::DirectiveState;
use record::shop::{Answered, FindingState};
use record::{Basis, Condition, FindingId, Programme, Rule};

use super::joined;
use crate::Sheet;

/// What ends within so many days is told.
const SOON_DAYS: i32 = 30;

/// A question, whether what it asks after speaks against the record, and the answer.
struct Asked {
    question: &'static str,
    against: bool,
    names: Vec<String>,
}

impl Asked {
    fn of<T: ToString>(
        question: &'static str,
        against: bool,
        names: impl IntoIterator<Item = T>,
    ) -> Self {
        let names = names.into_iter().map(|name| name.to_string()).collect();
        Self { question, against, names }
    }
}

pub(super) fn audit(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("The record held against itself, on {on}"));
    let mut all = findings(programme, on);
    all.extend(repairs(programme));
    all.extend(due(programme, on));
    all.extend(parts(programme, on));
    all.extend(work(programme));
    all.extend(examinations(programme, on));
    all.extend(people(programme, on));
    let against = all.iter().filter(|a| a.against && !a.names.is_empty()).count();
    sheet.fact("questions", all.len()).fact("answered against the record", against);
    let rows = all.into_iter().map(|asked| {
        let state = match (asked.names.len(), asked.against) {
            (0, _) => "none",
            (_, true) => "TO BE DEALT WITH",
            (_, false) => "to be looked at",
        };
        vec![
            asked.question.to_owned(),
            state.to_owned(),
            asked.names.len().to_string(),
            joined(asked.names.iter()),
        ]
    });
    sheet.list("questions", &["question", "state", "count", "which"], rows.collect());
    sheet.caution(
        "This asks what the record can answer. It is no review: samples of the work, the \
         aircraft itself and the papers are looked at by somebody who did not make them.",
    );
    sheet
}

fn findings(programme: &Programme, on: Date) -> Vec<Asked> {
    let states = &programme.shop.findings.states;
    let open = programme.open_findings();
    let condition = |id: &FindingId| {
        states.get(id).map_or(Condition::Unknown, FindingState::condition)
    };
    let of = |wanted| open.iter().filter(move |id| condition(id) == wanted);
    let expired = open.iter().filter(|id| {
        let deferral = states.get(**id).and_then(|state| state.deferred.as_ref());
        let season = deferral.and_then(|d| programme.seasons.get(&d.until));
        season.is_some_and(|season| season.until < on)
    });
    let overdue = open.iter().filter(|id| {
        let due = states.get(**id).and_then(|state| state.due);
        due.is_some_and(|due| due < on)
    });
    let also = open
        .iter()
        .filter(|id| states.get(**id).is_some_and(|state| !state.also.is_empty()));
    vec![
        Asked::of("known hazards that are open", true, of(Condition::Hazard)),
        Asked::of(
            "findings that nobody entitled has classed",
            true,
            of(Condition::Unknown),
        ),
        Asked::of("findings carried forward for too long", true, expired),
        Asked::of("temporary repairs whose day is over", true, overdue),
        Asked::of("places where the same was not looked for yet", false, also),
    ]
}

fn repairs(programme: &Programme) -> Vec<Asked> {
    let register = &programme.shop.repairs;
    let states = &programme.shop.findings.states;
    let missing = states.iter().filter(|(id, state)| {
        state.is_cleared() && state.mended.is_some() && register.of(id).next().is_none()
    });
    let major = register
        .repairs
        .iter()
        .filter(|(_, (repair, _))| repair.major && repair.duty.is_none());
    vec![
        Asked::of(
            "findings put right on a card, without data and approval in the register",
            true,
            missing.map(|(id, _)| id),
        ),
        Asked::of(
            "major repairs without a repeat inspection",
            false,
            major.map(|(name, _)| name),
        ),
    ]
}

fn due(programme: &Programme, on: Date) -> Vec<Asked> {
    let office = &programme.shop.office;
    let expired = office.directives.iter().filter(|(_, (directive, _))| {
        let applies =
            matches!(directive.state, DirectiveState::Open | DirectiveState::Repeating);
        applies && directive.due.is_some_and(|due| due < on)
    });
    let undated = office.directives.iter().filter(|(_, (directive, _))| {
        directive.state == DirectiveState::Open && directive.due.is_none()
    });
    let duties = office
        .duties
        .iter()
        .filter(|(_, duty)| duty.left(office.count(duty.duty.unit), on) < 0.0);
    let samples = office.samples.iter().filter(|(_, sample)| !sample.is_done());
    let answered = |name| {
        office.letters.values().any(|(other, _)| other.answers.as_ref() == Some(name))
    };
    let letters = office.letters.iter().filter(|(name, (letter, _))| {
        letter.due.is_some_and(|due| due < on) && !answered(name)
    });
    vec![
        Asked::of("directives whose day is over", true, expired.map(|(name, _)| name)),
        Asked::of("open directives without a day", false, undated.map(|(name, _)| name)),
        Asked::of(
            "what is due in service and overdue",
            true,
            duties.map(|(name, _)| name),
        ),
        Asked::of("samples of structure not done", true, samples.map(|(name, _)| name)),
        Asked::of("letters whose answer is late", false, letters.map(|(name, _)| name)),
    ]
}

fn parts(programme: &Programme, on: Date) -> Vec<Asked> {
    let parts = &programme.shop.parts.parts;
    let worn = parts.iter().filter(|(_, part)| {
        part.is_fitted() && part.life.as_ref().is_some_and(|life| !life.is_left(on))
    });
    let untold = programme.items.names().filter(|item| {
        programme.is_off(item) && parts.get(*item).is_none_or(|part| part.tag.is_none())
    });
    let late = parts.iter().filter(|(_, part)| {
        let away = part.custody.as_ref().filter(|custody| custody.back.is_none());
        away.is_some_and(|custody| custody.due < on)
    });
    let stores = &programme.shop.stores;
    let stale = stores.batches.iter().filter(|(_, state)| {
        state.left > 0.0 && state.batch.expires.is_some_and(|until| until < on)
    });
    vec![
        Asked::of(
            "fitted parts whose life is used up or not known",
            true,
            worn.map(first),
        ),
        Asked::of("items that are off without a tag", true, untold),
        Asked::of("parts that are late at a firm", false, late.map(first)),
        Asked::of("material past its shelf life in store", false, stale.map(first)),
    ]
}

fn first<A, B>((first, _): (A, B)) -> A {
    first
}

fn work(programme: &Programme) -> Vec<Asked> {
    let cards = &programme.shop.cards.cards;
    let open = cards.iter().filter(|(_, card)| card.is_begun() && !card.is_finished());
    let alone = cards.iter().filter(|(_, card)| {
        let looks = card.steps.iter().filter_map(|step| step.second.as_ref());
        looks.into_iter().any(|look| look.alone.is_some())
    });
    let queries = cards
        .iter()
        .filter(|(_, card)| card.steps.iter().any(|step| !step.queries.is_empty()));
    let tools = &programme.shop.tools;
    let away = tools.out().map(|(tool, ..)| tool).chain(tools.lost().map(first));
    let strikes = &programme.shop.strikes;
    let rebuilt = strikes.rebuilt.iter().map(|one| one.words.lost.clone());
    vec![
        Asked::of("tools that are out or lost", true, away),
        Asked::of("cards that are begun and not complete", false, open.map(first)),
        Asked::of("questions about data that are open", false, queries.map(first)),
        Asked::of("inspected twice by one person", false, alone.map(first)),
        Asked::of("entries that were struck through", false, strikes.struck.keys()),
        Asked::of("records that were lost and rebuilt", false, rebuilt),
    ]
}

fn examinations(programme: &Programme, on: Date) -> Vec<Asked> {
    let all = &programme.shop.examinations;
    let late = all.requests.iter().filter(|(name, (request, _))| {
        request.needed_by < on && all.answered(name) != Answered::Whole
    });
    let missed =
        all.requests.keys().filter(|name| all.answered(name) == Answered::InPart);
    vec![
        Asked::of("examinations that are late", false, late.map(first)),
        Asked::of("examinations that left something out", true, missed),
    ]
}

fn people(programme: &Programme, on: Date) -> Vec<Asked> {
    let soon = on.saturating_add(jiff::Span::new().days(SOON_DAYS));
    let given = &programme.shop.authorities.given;
    let ending = given.iter().filter(|(_, given)| {
        given.is_valid(on) && given.grant.until.is_some_and(|until| until <= soon)
    });
    let proofs = programme.shop.gates.proofs.iter().filter(|(_, proofs)| {
        let last = proofs.iter().rev().find(|proof| !proof.struck);
        let until = last.and_then(|proof| proof.evidence.until);
        until.is_some_and(|until| until <= soon)
    });
    let instruments = programme.tools.iter().filter(|tool| {
        let state = programme.shop.tools.states.get(&tool.id);
        tool.measures
            && state.and_then(|state| state.calibrated).is_none_or(|until| until < on)
    });
    let off = programme.rules.iter().filter(|rule| rule.basis == Basis::Off);
    let bare = |rule: &&Rule| rule.basis == Basis::Binding && rule.citation.is_none();
    let bare = programme.rules.iter().filter(bare);
    vec![
        Asked::of("authorities that end within 30 days", false, ending.map(first)),
        Asked::of(
            "evidence that ended, or does within 30 days",
            false,
            proofs.map(first),
        ),
        Asked::of("instruments without a calibration", false, instruments.map(|t| &t.id)),
        Asked::of("rules that are off", false, off.map(|rule| rule.id)),
        Asked::of("rules that bind by nothing named", true, bare.map(|rule| rule.id)),
    ]
}
