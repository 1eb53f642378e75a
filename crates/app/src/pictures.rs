//! Photographs of a thing, wherever the record names them.

use airframe::ItemId;
use record::act::FileDigest;
use record::{FindingId, JobKey, Programme};

/// A photograph that the record names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// The digest under which it was attached.
    pub digest: String,
    /// What it shows, in a few words.
    pub what: String,
}

/// The photographs that belong to a thing, by its noun and name: of a finding its own, of an
/// item those of its findings and of its tag, of a card those of its
/// steps and of what turned up on it. Those
/// that were discarded are left out.
pub fn pictures(programme: &Programme, noun: &str, name: &str) -> Vec<Picture> {
    let mut pictures = match noun {
        "finding" => of_findings(programme, |finding, _, _| finding.as_str() == name),
        "item" => {
            let mut all = of_findings(programme, |_, item, _| item.as_str() == name);
            all.extend(of_tag(programme, name));
            all
        }
        "card" => {
            let on = |job: Option<&JobKey>| job.is_some_and(|job| job.0 == name);
            let mut all = of_findings(programme, |_, _, job| on(job));
            all.extend(of_steps(programme, name));
            all
        }
        _ => Vec::new(),
    };
    pictures.retain(|picture| !programme.is_discarded(&picture.digest));
    pictures
}

fn of_findings(
    programme: &Programme,
    wanted: impl Fn(&FindingId, &ItemId, Option<&JobKey>) -> bool,
) -> Vec<Picture> {
    let mut pictures = Vec::new();
    for (finding, state) in &programme.shop.findings.states {
        let Some((raised, _)) = &state.raised else { continue };
        if !wanted(finding, &raised.item, raised.job.as_ref()) {
            continue;
        }
        let each = raised.photographs.iter().map(|digest| Picture {
            digest: digest.to_string(),
            what: format!("finding {finding}"),
        });
        pictures.extend(each);
    }
    pictures
}

/// Those of the steps of a card.
fn of_steps(programme: &Programme, name: &str) -> Vec<Picture> {
    let card = programme.shop.cards.cards.get(&JobKey(name.to_owned()));
    let mut pictures = Vec::new();
    for step in card.iter().flat_map(|card| &card.steps) {
        let signed = step.signed.iter().flat_map(|signed| &signed.photographs);
        pictures.extend(signed.map(|digest| Picture {
            digest: digest.to_string(),
            what: format!("step {}", step.spec.id),
        }));
    }
    pictures
}

fn of_tag(programme: &Programme, name: &str) -> Option<Picture> {
    let part = programme.items.names().find(|id| id.as_str() == name)?;
    let (tag, _) = programme.shop.parts.parts.get(part)?.tag.as_ref()?;
    let digest = FileDigest::new(tag.photograph.as_deref()?)?;
    Some(Picture { digest: digest.to_string(), what: format!("tag of {name}") })
}
