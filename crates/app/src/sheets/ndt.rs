//! Examinations: what was asked for, what is late, what was reported, what was left out.

use jiff::civil::Date;
use record::act::{Method, Outcome, ReportNdt, RequestNdt};
use record::shop::{Answered, Report};
use record::{ExaminationId, Programme};

use super::{joined, mark, name, none, or_dash};
use crate::{AppError, Sheet};

const CAUTION: &str = "An examiner reports; what may stay is decided by whoever holds the approved data. \
     What was not examined is not known to be sound.";

pub(super) fn all(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Examinations on {on}"));
    let examinations = &programme.shop.examinations;
    let outstanding = examinations.requests.iter().filter_map(|(name, (asked, by))| {
        let state = match examinations.answered(name) {
            Answered::Whole => return None,
            Answered::InPart => "in part",
            Answered::No => "not reported",
        };
        let late = (asked.needed_by < on).then(|| (on - asked.needed_by).get_days());
        let late = late.map_or_else(String::new, |days| format!("{days} days late"));
        Some(vec![
            name.to_string(),
            asked.item.to_string(),
            asked.location.clone(),
            asked.method.word().to_owned(),
            asked.needed_by.to_string(),
            state.to_owned(),
            late,
            mark(by),
        ])
    });
    let rows: Vec<Vec<String>> = outstanding.collect();
    let late = rows.iter().filter(|row| !row[6].is_empty()).count();
    sheet.fact("outstanding", rows.len()).fact("late", late);
    let columns =
        ["examination", "item", "where", "method", "needed by", "state", "late", "asked"];
    sheet.list("outstanding", &columns, rows);
    let columns = [
        "report",
        "examination",
        "on",
        "method",
        "outcome",
        "indications",
        "finding",
        "examiner",
        "state",
    ];
    let rows = examinations.reports.values().map(report);
    sheet.list("reports", &columns, rows.collect());
    sheet.list("not examined", &["report", "place", "why"], missed(programme));
    sheet.caution(CAUTION);
    sheet
}

fn report(report: &Report) -> Vec<String> {
    let words = &report.words;
    vec![
        words.report.to_string(),
        words.examination.to_string(),
        words.on.to_string(),
        words.method.word().to_owned(),
        words.outcome.word().to_owned(),
        words.indications.len().to_string(),
        or_dash(words.finding.as_ref()),
        words.examiner.clone(),
        if report.struck { "struck through" } else { "" }.to_owned(),
    ]
}

/// What reports that count left out, and no other report of the same examination covers.
fn missed(programme: &Programme) -> Vec<Vec<String>> {
    let examinations = &programme.shop.examinations;
    let open = examinations.reports.values().filter(|report| {
        let covered = examinations.answered(&report.words.examination);
        !report.struck && covered != Answered::Whole
    });
    let rows = open.flat_map(|report| {
        report.words.missed.iter().map(|missed| {
            let report = report.words.report.to_string();
            vec![report, missed.place.clone(), missed.why.clone()]
        })
    });
    rows.collect()
}

/// One examination: the request as it goes to the examiner, and what was reported.
pub(super) fn one(programme: &Programme, text: &str) -> Result<Sheet, AppError> {
    let examinations = &programme.shop.examinations;
    let id: ExaminationId = name(text)?;
    let known = || examinations.requests.keys().map(ToString::to_string);
    let found = examinations.requests.get(&id);
    let (asked, by) = found.ok_or_else(|| none("examination", text, known()))?;
    let mut sheet = Sheet::new(format!("Examination {id} of {}", asked.item));
    sheet.fact("asked for", mark(by));
    identity(programme, asked, &mut sheet);
    request(asked, &mut sheet);
    for report in examinations.of(&id) {
        reported(&report.words, &mut sheet);
    }
    if examinations.answered(&id) == Answered::No {
        blank(asked.method, &mut sheet);
    }
    sheet.caution(CAUTION);
    Ok(sheet)
}

/// What tells this part on this aircraft from any other.
fn identity(programme: &Programme, asked: &RequestNdt, sheet: &mut Sheet) {
    if let Some(info) = &programme.info {
        let registration = or_dash(info.registration.as_ref());
        sheet.fact("aircraft", format!("{}, {registration}", info.aircraft));
    }
    let Some(item) = programme.items.get(&asked.item) else { return };
    sheet
        .fact("item", format!("{} ({})", item.name, item.id))
        .fact("part number", or_dash(item.part_number.as_ref()))
        .fact("serial number", or_dash(item.serial.as_ref()))
        .fact("zone", or_dash(asked.zone.as_ref().or(item.zone.as_ref())));
}

fn request(asked: &RequestNdt, sheet: &mut Sheet) {
    let technique = match (&asked.technique, &asked.revision) {
        (Some(sheet), revision) => {
            format!("{sheet}, revision {}", or_dash(revision.as_ref()))
        }
        (None, _) => "to be developed".to_owned(),
    };
    let others = asked.or.iter().map(|method| method.word());
    sheet
        .fact("where", &asked.location)
        .fact("sketch", or_dash(asked.sketch.as_ref()))
        .fact("because of", or_dash(asked.finding.as_ref()))
        .fact("why", or_dash(asked.why.as_ref()))
        .fact("material", &asked.material)
        .fact("form", &asked.form)
        .fact("finish", &asked.finish)
        .fact("thickness", &asked.thickness)
        .fact("sought", &asked.sought)
        .fact("least that must be found", &asked.least)
        .fact("method", asked.method.word())
        .fact("or", joined(others))
        .fact("technique", technique)
        .fact("prepared and opened", &asked.preparation)
        .fact("finish restored by", &asked.restores)
        .fact("accepted by", &asked.acceptance)
        .fact("where that is silent", &asked.rules)
        .fact("needed by", asked.needed_by)
        .fact("access closed by", &asked.closes)
        .fact("cleaned afterwards", &asked.cleaning);
}

fn reported(words: &ReportNdt, sheet: &mut Sheet) {
    let row = |what: &str, how: String| vec![what.to_owned(), how];
    let equipment = words.equipment.iter().map(|one| match (&one.tool, one.until) {
        (Some(tool), _) => format!("{} ({tool})", one.name),
        (None, until) => format!("{} calibrated until {}", one.name, or_dash(until)),
    });
    let level = or_dash(words.level.map(record::act::Level::word));
    let rows = vec![
        row("on", words.on.to_string()),
        row("by", or_dash(words.firm.as_ref())),
        row(
            "procedure",
            format!("{}, revision {}", words.procedure, or_dash(words.revision.as_ref())),
        ),
        row("method", format!("{}: {}", words.method.word(), words.parameters)),
        row("equipment", joined(equipment)),
        row("reference standard", words.standard.clone()),
        row("consumables", joined(words.batches.iter())),
        row("dwell", or_dash(words.dwell.as_ref())),
        row("lighting", or_dash(words.lighting.as_ref())),
        row("examined", words.examined.clone()),
        row("all of it", if words.whole { "yes" } else { "no" }.to_owned()),
        row("would have found", or_dash(words.detectable.as_ref())),
        row("accepted by", words.acceptance.clone()),
        row("outcome", outcome(words)),
        row("examiner", format!("{}, {level}, {}", words.examiner, words.qualification)),
        row("qualified until", or_dash(words.qualified_until)),
        row("afterwards", or_dash(words.afterwards.as_ref())),
        row("document", or_dash(words.document.as_ref())),
    ];
    sheet.list(&format!("report {}", words.report), &["what", "how"], rows);
    let rows = words.indications.iter().map(|one| {
        let rank = one.rank.word().to_owned();
        vec![rank, one.what.clone(), one.place.clone(), one.size.clone()]
    });
    let title = format!("indications of {}", words.report);
    sheet.list(&title, &["rank", "what", "where", "size"], rows.collect());
    let rows = words.missed.iter().map(|one| vec![one.place.clone(), one.why.clone()]);
    let title = format!("not examined by {}", words.report);
    sheet.list(&title, &["place", "why"], rows.collect());
}

fn outcome(words: &ReportNdt) -> String {
    match (&words.finding, words.outcome) {
        (Some(finding), outcome) => format!("{}, as {finding}", outcome.word()),
        (None, Outcome::Accept) => "accept".to_owned(),
        (None, outcome) => outcome.word().to_owned(),
    }
}

/// What the examiner fills in.
fn blank(method: Method, sheet: &mut Sheet) {
    let mut asked = vec![
        "day",
        "procedure and revision",
        "actual parameters",
        "equipment, and calibrated until",
        "reference standard",
        "what was examined",
        "what was not examined, and why",
        "indications: place, size, kind, rank",
        "least defect that would have been found",
        "acceptance standard",
        "accepted, rejected, or to be ruled on",
    ];
    asked.push(if method.has_levels() {
        "examiner, method, level, certificate, valid until"
    } else {
        "examiner, trained and assessed by, valid until"
    });
    if method == Method::Penetrant {
        asked.extend(["batches of consumables", "dwell times and temperature"]);
    }
    if matches!(method, Method::Penetrant | Method::Magnetic) {
        asked.extend(["lighting, as measured", "cleaned or demagnetised"]);
    }
    let rows = asked.into_iter().map(|what| vec![what.to_owned(), String::new()]);
    sheet.list("to be reported", &["what", "how"], rows.collect());
}
