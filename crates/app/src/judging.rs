//! Judging several acts that are entered together.
//!
//! An act that is refused is not done for those after it: nothing may rest on what will not
//! be. So one mistake can bring refusals that say nothing new: where a card cannot be issued,
//! none of its steps can be signed. To tell those apart, the acts are judged a second time
//! as if the refused ones were done; what is refused then too is a mistake of its own.

use std::borrow::Cow;

use record::{Act, Programme, Refusal, Stamp};

use crate::Refused;

/// How many mistakes are looked into; what follows from more of them is not told apart.
const MISTAKES: usize = 20;

/// Everything for which acts are refused, in their order.
pub(crate) fn judge(
    programme: &Programme,
    acts: &[Act],
    stamps: &[Stamp],
) -> Vec<Refused> {
    let refusals = each(programme, acts, stamps, &[]);
    let causes = causes(programme, acts, stamps, &refusals);
    let mut refused = Vec::new();
    for (at, (refusals, causes)) in refusals.into_iter().zip(causes).enumerate() {
        let act = (at + 1, acts[at].word());
        refused.extend(refusals.into_iter().zip(causes).map(|(refusal, cause)| {
            let rule = programme.rules.get(&refusal.rule);
            let citation = rule.and_then(|rule| rule.citation.clone());
            Refused { act, refusal, citation, follows: cause.map(|cause| cause + 1) }
        }));
    }
    refused
}

/// For each refusal, the refused act from which alone it follows: one mistake more at a time
/// is taken as done, and what then is refused no longer followed from that one.
fn causes(
    programme: &Programme,
    acts: &[Act],
    stamps: &[Stamp],
    refusals: &[Vec<Refusal>],
) -> Vec<Vec<Option<usize>>> {
    let mut causes: Vec<Vec<Option<usize>>> =
        refusals.iter().map(|refusals| vec![None; refusals.len()]).collect();
    let mut done = Vec::new();
    for at in 0..acts.len() {
        let is_last = refusals[at + 1..].iter().all(Vec::is_empty);
        if is_last || done.len() == MISTAKES {
            break;
        }
        // An act that is refused only because of another is done without it being said.
        if causes[at].iter().all(Option::is_some) {
            continue;
        }
        done.push(at);
        let still = each(programme, acts, stamps, &done);
        for later in at + 1..acts.len() {
            for (refusal, cause) in refusals[later].iter().zip(&mut causes[later]) {
                if cause.is_none() && !still[later].contains(refusal) {
                    *cause = Some(at);
                }
            }
        }
    }
    causes
}

/// For each act, its refusals, where some that are refused are done all the same.
fn each(
    programme: &Programme,
    acts: &[Act],
    stamps: &[Stamp],
    forgiven: &[usize],
) -> Vec<Vec<Refusal>> {
    // One act needs no copy to go on from, and is by far the most frequent.
    let mut after = Cow::Borrowed(programme);
    let mut all = Vec::new();
    for (at, (act, stamp)) in acts.iter().zip(stamps).enumerate() {
        let refusals = after.judge(act, stamp).err().unwrap_or_default();
        let done = refusals.is_empty() || forgiven.contains(&at);
        if done && at + 1 < acts.len() {
            after.to_mut().perform(act, stamp);
        }
        all.push(refusals);
    }
    all
}
