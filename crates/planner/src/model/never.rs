//! Why a job can never be done, in words that lead to what would change it.

use super::Parts;
use crate::draft::{Job, Lasting, Way};
use crate::pools::{crew_in, needs};
use crate::spans::both;

/// Why no way to do a job has a moment in the season.
pub(super) fn never(parts: &Parts<'_>, job: &Job) -> String {
    let why = match &job.lasting {
        Lasting::Collection(firm) | Lasting::FirmHere(firm) | Lasting::AtFirm(firm) => {
            format!("{firm} has no day on which it comes while the hangar is open")
        }
        _ => {
            let ways = job.ways.iter().filter(|way| !way.crew.is_empty());
            let mut why: Vec<String> =
                ways.map(|way| never_so(parts, job, way)).collect();
            if why.is_empty() {
                why.push(air(parts, job));
            }
            why.dedup();
            why.join("; or else ")
        }
    };
    format!("{} ({}) can never be done: {why}", job.key, job.name)
}

/// Why one way never works.
fn never_so(parts: &Parts<'_>, job: &Job, way: &Way) -> String {
    let needs = needs(&parts.pools, &way.crew);
    let crew: Vec<String> =
        way.crew.iter().map(|c| format!("{} {}", c.count, c.skill)).collect();
    let crew = crew.join(" + ");
    let end = parts.grid.horizon();
    let there = crew_in(&parts.pools, &needs, end);
    if !both(&there, &parts.shifts).is_empty() {
        return format!("{crew} are in together, but {}", air(parts, job));
    }
    if !there.is_empty() {
        return format!("{crew} are in together, but never while the hangar is open");
    }
    let short = needs.iter().find_map(|&(number, amount)| {
        let pool = &parts.pools[number];
        let most = pool.steps.iter().map(|step| step.1).max().unwrap_or(0);
        let skills: Vec<String> = pool.skills.iter().map(ToString::to_string).collect();
        let what = skills.join(" or ");
        (most < amount).then(|| match most {
            0 => format!("nobody who is {what} is ever in"),
            most => format!("of {what} never more than {most} are in together"),
        })
    });
    match short {
        Some(short) => format!("it takes {crew}, and {short}"),
        None => format!("{crew} are never in together"),
    }
}

fn air(parts: &Parts<'_>, job: &Job) -> String {
    let place = job.place.as_ref().and_then(|place| parts.programme.places.get(place));
    let warm = job.conditions.warm && !place.is_some_and(|place| place.heated);
    let dry = job.conditions.dry && !place.is_some_and(|place| place.dry);
    let asked = match (warm, dry) {
        (true, true) => "warm and dry",
        (false, true) => "dry",
        _ => "warm",
    };
    let place = place.map_or_else(String::new, |place| format!(" in {}", place.name));
    format!("it is never {asked} enough then{place}")
}
