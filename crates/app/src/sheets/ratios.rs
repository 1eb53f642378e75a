//! Hours booked against hours estimated, by whatever may explain them.

use std::collections::BTreeMap;

use quantity::{Notation, Work};
use record::Programme;
use record::ratios::{FEWEST, Measured, Sample};

use super::{joined, or_dash};
use crate::Sheet;

pub(super) fn ratios(programme: &Programme) -> Sheet {
    let samples = programme.samples();
    let mut sheet = Sheet::new("Hours booked against hours estimated");
    let cards = programme.shop.cards.cards.values();
    let complete = cards.filter(|card| card.is_finished()).count();
    sheet
        .fact("cards complete", complete)
        .fact("of them with hours and an estimate", samples.len())
        .fact("fewest to plan by", FEWEST);
    by(&mut sheet, "kind", &samples, |s| vec![s.kind.word().to_owned()]);
    by(&mut sheet, "skill", &samples, |s| {
        s.skills.iter().map(ToString::to_string).collect()
    });
    by(&mut sheet, "zone", &samples, |s| vec![or_dash(s.zone.as_ref())]);
    by(&mut sheet, "chapter", &samples, |s| vec![or_dash(s.chapter)]);
    by(&mut sheet, "people", &samples, |s| vec![s.people.to_string()]);
    by(&mut sheet, "hands", &samples, |s| vec![s.hands.word().to_owned()]);
    let rows = samples.iter().map(|sample| {
        vec![
            sample.job.to_string(),
            sample.kind.word().to_owned(),
            joined(sample.skills.iter()),
            or_dash(sample.zone.as_ref()),
            sample.people.to_string(),
            sample.hands.word().to_owned(),
            Work::from_minutes(sample.estimated).print(),
            Work::from_minutes(sample.booked).print(),
            figure(sample.ratio()),
        ]
    });
    let columns = [
        "card",
        "kind",
        "skills",
        "zone",
        "people",
        "hands",
        "estimated",
        "booked",
        "ratio",
    ];
    sheet.list("samples", &columns, rows.collect());
    sheet.caution(
        "An estimate is what the programme says today: likely hours times people. These are \
         this workshop's own figures and no norm; where there are few, they say nothing.",
    );
    sheet
}

/// The ratios of each group of samples; a sample may belong to several.
fn by(
    sheet: &mut Sheet,
    what: &'static str,
    samples: &[Sample],
    groups: impl Fn(&Sample) -> Vec<String>,
) {
    let mut all: BTreeMap<String, Vec<&Sample>> = BTreeMap::new();
    for sample in samples {
        for group in groups(sample) {
            all.entry(group).or_default().push(sample);
        }
    }
    let rows = all.into_iter().map(|(group, samples)| {
        let measured = Measured::of(samples);
        let mut row = vec![group, measured.samples.to_string()];
        match measured.spread {
            Some(spread) => {
                let figures = [spread.least, spread.middle, spread.greatest];
                row.extend(figures.map(figure));
            }
            None => row.extend(["-"; 3].map(str::to_owned)),
        }
        let few = measured.ratio().is_none();
        row.push(if few { "too few to plan by" } else { "" }.to_owned());
        row
    });
    let columns = [what, "samples", "least", "middle", "greatest", "state"];
    sheet.list(&format!("by {what}"), &columns, rows.collect());
}

fn figure(ratio: f64) -> String {
    format!("{ratio:.2}")
}
