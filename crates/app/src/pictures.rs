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
/// item those of its findings and of its tag, of a card those of what turned up on it. Those
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
            of_findings(programme, |_, _, job| job.is_some_and(|job| job.0 == name))
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

fn of_tag(programme: &Programme, name: &str) -> Option<Picture> {
    let part = programme.items.names().find(|id| id.as_str() == name)?;
    let (tag, _) = programme.shop.parts.parts.get(part)?.tag.as_ref()?;
    let digest = FileDigest::new(tag.photograph.as_deref()?)?;
    Some(Picture { digest: digest.to_string(), what: format!("tag of {name}") })
}
