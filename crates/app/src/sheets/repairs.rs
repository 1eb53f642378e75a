//! The register of repairs, materials in place of others, parts made in-house.

use record::Programme;
use record::act::{Limit, Reading, Repair};

use super::finding::what;
use super::{joined, mark, or_dash};
use crate::Sheet;

/// Repairs with what they left, and findings that were cleared, with those of them of which
/// the register knows nothing.
pub(super) fn repairs(programme: &Programme) -> Sheet {
    let mut sheet = Sheet::new("Repairs and acceptances");
    let register = &programme.shop.repairs;
    let rows = register.repairs.iter().map(|(name, (repair, by))| {
        vec![
            name.to_string(),
            repair.finding.to_string(),
            or_dash(programme.item_of_finding(&repair.finding)),
            repair.location.clone(),
            repair.what.clone(),
            repair.dimensions.clone(),
            left(repair),
            format!("{}, {}", repair.data, or_dash(repair.revision.as_ref())),
            if repair.major { "major" } else { "minor" }.to_owned(),
            repair.approval.clone(),
            or_dash(repair.duty.as_ref()),
            mark(by),
        ]
    });
    let columns = [
        "repair",
        "finding",
        "item",
        "where",
        "what",
        "dimensions",
        "left",
        "data",
        "class",
        "approved",
        "repeats",
        "signed",
    ];
    sheet.list("register", &columns, rows.collect());
    let mut unknown = 0;
    let cleared = programme.shop.findings.states.iter().filter_map(|(id, state)| {
        let (by, why) = state.cleared.as_ref()?;
        let names: Vec<&str> = register.of(id).map(|(name, _)| name.as_str()).collect();
        let entered = match (&state.mended, names.is_empty()) {
            (None, _) => "accepted as it is".to_owned(),
            (Some(_), false) => names.join("; "),
            (Some(_), true) => {
                unknown += 1;
                "not in the register".to_owned()
            }
        };
        Some(vec![
            id.to_string(),
            or_dash(programme.item_of_finding(id)),
            or_dash(programme.zone_of_finding(id)),
            what(programme, id),
            why.clone(),
            or_dash(state.mended.as_ref()),
            entered,
            mark(by),
        ])
    });
    let rows = cleared.collect();
    let columns =
        ["finding", "item", "zone", "what", "put right", "card", "register", "cleared"];
    sheet.fact("put right and not in the register", unknown);
    sheet.list("cleared", &columns, rows);
    sheet
}

/// What is left at each place, and the least that must be.
fn left(repair: &Repair) -> String {
    if !repair.removed {
        return "nothing taken away".to_owned();
    }
    let one = |reading: &Reading| {
        let limit = repair.limits.iter().find(|limit| limit.name == reading.name);
        let unit = limit.map_or("", |limit| limit.unit.as_str());
        let least = limit.map_or_else(String::new, least);
        format!("{} {} {unit}{least}", reading.name, reading.value)
    };
    joined(repair.remains.iter().map(one))
}

fn least(limit: &Limit) -> String {
    match (limit.low, limit.high) {
        (Some(low), None) => format!(" (least {low})"),
        (None, Some(high)) => format!(" (most {high})"),
        (Some(low), Some(high)) => format!(" ({low} to {high})"),
        (None, None) => String::new(),
    }
}

pub(super) fn made(programme: &Programme) -> Sheet {
    let mut sheet = Sheet::new("Materials in place of others, and parts made in-house");
    let register = &programme.shop.repairs;
    let rows = register.substitutions.iter().map(|(name, (words, by))| {
        vec![
            name.to_string(),
            words.item.to_string(),
            words.original.clone(),
            words.proposed.clone(),
            words.strength.clone(),
            words.thickness.clone(),
            words.treatment.clone(),
            words.corrosion.clone(),
            words.data.clone(),
            words.approval.clone(),
            mark(by),
        ]
    });
    let columns = [
        "substitution",
        "item",
        "drawn",
        "used",
        "strength",
        "thickness",
        "treatment",
        "corrosion",
        "data",
        "approved",
        "signed",
    ];
    sheet.list("materials in place of others", &columns, rows.collect());
    let rows = register.made.iter().map(|(item, (words, by))| {
        vec![
            item.to_string(),
            format!("{}, {}", words.drawing, or_dash(words.revision.as_ref())),
            joined(words.batches.iter()),
            words.treatment.clone(),
            words.first.clone(),
            words.mark.clone(),
            or_dash(words.report.as_ref()),
            words.job.to_string(),
            mark(by),
        ]
    });
    let columns = [
        "item",
        "drawing",
        "batches",
        "treatment",
        "first one",
        "marked",
        "report",
        "card",
        "signed",
    ];
    sheet.list("made in-house", &columns, rows.collect());
    sheet
}
