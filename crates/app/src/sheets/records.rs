//! How long copies of records are kept, and which were discarded.

use jiff::civil::Date;
use record::act::RecordClass;
use record::{Keep, Programme};

use super::{mark, or_dash};
use crate::Sheet;

pub(super) fn retention(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("How long records are kept, on {on}"));
    sheet.fact("entries of the ledger", "for ever");
    let rows = RecordClass::ALL.iter().map(|class| {
        let kept = programme.retention.get(class);
        let years = kept.and_then(|kept| kept.years);
        let time = years.map_or_else(
            || "the life of the aircraft".to_owned(),
            |years| format!("{years} years"),
        );
        vec![
            class.to_string(),
            time,
            if kept.is_some() { "stated" } else { "default" }.to_owned(),
            or_dash(kept.and_then(|kept| kept.citation.as_ref())),
        ]
    });
    sheet.list("classes", &["class", "kept for", "says", "citation"], rows.collect());
    let mentions = programme.mentions(on);
    let rows = mentions.iter().map(|(record, places)| {
        let keep =
            places.iter().map(|place| programme.keeps(place.class, place.on)).max();
        let keep = keep.unwrap_or(Keep::Life);
        let named: Vec<&str> = places.iter().map(|place| place.place.as_str()).collect();
        let gone = programme.is_discarded(record);
        let state = match (gone, keep.holds(on)) {
            (true, _) => "discarded",
            (false, true) => "",
            (false, false) => "its time is over",
        };
        vec![record.clone(), named.join("; "), keep.to_string(), state.to_owned()]
    });
    let columns = ["copy", "named by", "kept", "state"];
    sheet.list("copies that the record names", &columns, rows.collect());
    let rows = programme.shop.records.discarded.iter().map(|(record, (words, by))| {
        vec![
            record.clone(),
            words.class.to_string(),
            words.made.to_string(),
            words.reason.clone(),
            words.how.clone(),
            mark(by),
        ]
    });
    let columns = ["copy", "class", "of", "why", "how", "signed"];
    sheet.list("discarded", &columns, rows.collect());
    sheet
}
