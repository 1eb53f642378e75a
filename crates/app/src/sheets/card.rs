//! Job cards.

use record::shop::{Card, StepState};
use record::{JobKey, Programme};

use super::{mark, none, or_dash};
use crate::{AppError, Sheet};

pub(super) fn all(programme: &Programme) -> Sheet {
    let mut sheet = Sheet::new("Job cards");
    let cards = &programme.shop.cards.cards;
    let rows = cards.iter().map(|(job, card)| {
        let done = card.steps.iter().filter(|step| step.is_complete()).count();
        let who: Vec<String> = card.present().map(ToString::to_string).collect();
        vec![
            job.to_string(),
            or_dash(card.item.as_ref()),
            state(card).to_owned(),
            format!("{done} of {}", card.steps.len()),
            who.join(", "),
        ]
    });
    sheet.list("cards", &["card", "item", "state", "steps", "at it"], rows.collect());
    sheet
}

pub(crate) fn state(card: &Card) -> &'static str {
    if card.is_finished() {
        "complete"
    } else if card.offer.is_some() {
        "handed over, not taken"
    } else if card.present().next().is_some() {
        "at work"
    } else if card.is_begun() {
        "left"
    } else {
        "issued"
    }
}

pub(super) fn one(programme: &Programme, name: &str) -> Result<Sheet, AppError> {
    let cards = &programme.shop.cards.cards;
    let known = || cards.keys().map(ToString::to_string);
    let found = cards.get(&JobKey(name.to_owned()));
    let card = found.ok_or_else(|| none("card", name, known()))?;
    let mut sheet = Sheet::new(format!("Card {name}: {}", card.title));
    sheet
        .fact("state", state(card))
        .fact("item", or_dash(card.item.as_ref()))
        .fact("pack", or_dash(card.pack.as_ref()))
        .fact("issued", mark(&card.issued));
    if let Some(done) = &card.finished {
        sheet.fact("certified complete", mark(done));
    }
    let tools: Vec<String> = programme
        .shop
        .tools
        .out_for(&JobKey(name.to_owned()))
        .iter()
        .map(ToString::to_string)
        .collect();
    sheet.fact(
        "tools out",
        if tools.is_empty() { "none".to_owned() } else { tools.join(", ") },
    );
    let rows = card.steps.iter().map(step).collect();
    let columns = ["step", "what", "data", "signed", "inspected", "again", "lacks"];
    sheet.list("steps", &columns, rows);
    let mut people: Vec<_> = card.involved().into_iter().collect();
    people.sort_unstable();
    let hours = people.into_iter().map(|person| {
        vec![person.to_string(), quantity::Notation::print(card.hours_of(person))]
    });
    sheet.list("hours", &["who", "hours"], hours.collect());
    handover(card, &mut sheet);
    Ok(sheet)
}

fn step(step: &StepState) -> Vec<String> {
    let spec = &step.spec;
    let data = spec.data.iter().chain(&spec.revision).cloned().collect::<Vec<_>>();
    let signed = step.signed.as_ref().map(|signed| {
        let readings =
            signed.readings.iter().map(|r| format!(", {} {}", r.name, r.value));
        format!("{}{}", mark(&signed.mark), readings.collect::<String>())
    });
    vec![
        spec.id.to_string(),
        spec.text.clone(),
        data.join(" "),
        or_dash(signed),
        or_dash(step.first.as_ref().map(|look| mark(&look.mark))),
        or_dash(step.second.as_ref().map(|look| mark(&look.mark))),
        step.lacks().unwrap_or_default().to_owned(),
    ]
}

fn handover(card: &Card, sheet: &mut Sheet) {
    let Some(offer) = &card.offer else { return };
    let words = &offer.words;
    let row = |what: &str, text: &str| vec![what.to_owned(), text.to_owned()];
    let rows = vec![
        row("from", offer.from.as_str()),
        row("to", words.to.as_str()),
        row("done", &words.done),
        row("next", &words.next),
        row("loose", &words.loose),
        row("off", &words.off),
        row("hazards", &words.hazards),
    ];
    sheet.list("handover that waits", &["what", "how"], rows);
}
