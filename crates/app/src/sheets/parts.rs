//! Parts: where each is, and what life it has left.

use jiff::civil::Date;
use record::Programme;
use record::shop::{Part, Whereabouts};

use super::{mark, name, none, or_dash};
use crate::{AppError, Sheet};

fn place(part: &Part) -> String {
    let place = match &part.whereabouts {
        Whereabouts::Fitted => return "fitted".to_owned(),
        Whereabouts::Untold => "off, nobody has said where".to_owned(),
        Whereabouts::At(place) => place.to_string(),
        Whereabouts::Away(firm) => format!("away at {firm}"),
        Whereabouts::Gone => "written off".to_owned(),
    };
    match (&part.quarantine, part.waits) {
        (Some(_), _) => format!("{place}, in quarantine"),
        (None, true) => format!("{place}, waits for its receiving check"),
        (None, false) => place,
    }
}

pub(super) fn all(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Parts on {on}"));
    let parts = &programme.shop.parts.parts;
    let off = programme.items.iter().filter(|item| programme.is_off(&item.id));
    let rows: Vec<Vec<String>> = off
        .map(|item| {
            let part = parts.get(&item.id);
            vec![
                item.id.to_string(),
                item.name.clone(),
                part.map_or_else(|| "off, nobody has said where".to_owned(), place),
                part.map_or("unserviceable", |part| part.class.word()).to_owned(),
            ]
        })
        .collect();
    sheet.fact("off", rows.len());
    sheet.list("off", &["item", "name", "where", "class"], rows);
    let away = parts.iter().filter_map(|(item, part)| {
        let Whereabouts::Away(firm) = &part.whereabouts else { return None };
        let custody = part.custody.as_ref()?;
        let late = if custody.due < on {
            format!("{} days late", (on - custody.due).get_days())
        } else {
            String::new()
        };
        Some(vec![
            item.to_string(),
            firm.to_string(),
            custody.despatch.order.clone(),
            custody.due.to_string(),
            late,
            custody.chased.to_string(),
        ])
    });
    let columns = ["item", "firm", "order", "due", "late", "asked for"];
    sheet.list("away", &columns, away.collect());
    sheet
}

pub(super) fn one(
    programme: &Programme,
    item: &str,
    on: Date,
) -> Result<Sheet, AppError> {
    let id = name(item)?;
    let known = || programme.shop.parts.parts.keys().map(ToString::to_string);
    let found = programme.items.get(&id).ok_or_else(|| none("item", item, known()))?;
    let mut sheet = Sheet::new(format!("Part {id}: {}", found.name));
    sheet.fact("part number", or_dash(found.part_number.as_ref()));
    sheet.fact("serial number", or_dash(found.serial.as_ref()));
    let Some(part) = programme.shop.parts.parts.get(&id) else {
        let place =
            if programme.is_off(&id) { "off, nobody has said where" } else { "fitted" };
        sheet.fact("where", place);
        return Ok(sheet);
    };
    sheet.fact("where", place(part)).fact("class", part.class.word());
    if part.doubtful {
        sheet.fact("history", "doubtful: an engineer accepts it or nobody does");
    }
    if let Some((why, by)) = &part.quarantine {
        sheet.fact("quarantine", format!("{}: {why}", mark(by)));
    }
    if let Some(life) = &part.life {
        let left =
            life.left(on).map_or_else(|| "not known".to_owned(), |l| l.to_string());
        sheet.fact("life left", format!("{left} of {} {}", life.limit, life.unit.word()));
    }
    if let Some(paper) = &part.certificate {
        let revision = or_dash(paper.revision.as_ref());
        let data =
            format!("{}: {}, {} {revision}", paper.number, paper.status, paper.data);
        sheet.fact("document", data);
    }
    if let Some((tag, by)) = &part.tag {
        sheet.fact("tagged", mark(by));
        for (what, text) in [
            ("came from", Some(&tag.location)),
            ("which way round", tag.orientation.as_ref()),
            ("shims", tag.shims.as_ref()),
            ("service", Some(&tag.service)),
            ("preservation", Some(&tag.preservation)),
            ("defects", Some(&tag.defects)),
            ("exposure", tag.exposure.as_ref()),
            ("photograph", tag.photograph.as_ref()),
        ] {
            if let Some(text) = text {
                sheet.fact(what, text);
            }
        }
    }
    Ok(sheet)
}

pub(super) fn lives(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Limited lives on {on}"));
    let rows = programme.shop.parts.parts.iter().filter_map(|(item, part)| {
        let life = part.life.as_ref()?;
        let left =
            life.left(on).map_or_else(|| "not known".to_owned(), |l| l.to_string());
        let state = if life.is_left(on) { "" } else { "not to be in service" };
        Some(vec![
            item.to_string(),
            place(part),
            life.limit.to_string(),
            life.unit.word().to_owned(),
            left,
            state.to_owned(),
        ])
    });
    let columns = ["item", "where", "limit", "counted in", "left", "state"];
    sheet.list("lives", &columns, rows.collect());
    sheet
}
