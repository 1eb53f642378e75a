//! Which step comes before which, and in which column it stands.

use std::collections::BTreeMap;

use airframe::ItemId;
use airframe::access::{Opening, Target};

/// What a step is.
pub(super) enum What<'o> {
    /// A removal, by its place.
    Off(usize),
    /// An item that is reached where it is.
    Exposed(&'o ItemId),
}

/// Steps with their levels, and which comes before which.
type Ordered<'o> = (Vec<(What<'o>, usize)>, Vec<(usize, usize)>);

/// Each step with its level, and which comes before which: only what does not follow from
/// the rest.
pub(super) fn steps(opening: &Opening) -> Ordered<'_> {
    let place: BTreeMap<&ItemId, usize> =
        opening.removals.iter().enumerate().map(|(at, r)| (&r.item, at)).collect();
    let mut what: Vec<What<'_>> = (0..opening.removals.len()).map(What::Off).collect();
    let found = |after: &[ItemId]| -> Vec<usize> {
        after.iter().filter_map(|item| place.get(item).copied()).collect()
    };
    let mut before: Vec<Vec<usize>> =
        opening.removals.iter().map(|removal| found(&removal.after)).collect();
    for reached in &opening.reached {
        if let Target::Expose(item) = &reached.target {
            what.push(What::Exposed(item));
            before.push(found(&reached.after));
        }
    }
    // Removals are listed in a lawful order, so what comes before a step is listed before it.
    let mut levels = vec![0; what.len()];
    for at in 0..what.len() {
        before[at].retain(|earlier| *earlier < at);
        levels[at] =
            before[at].iter().map(|earlier| levels[*earlier] + 1).max().unwrap_or(0);
    }
    (what.into_iter().zip(levels).collect(), needed(&before))
}

/// The links that do not follow from others: a step before another that is itself before a
/// third needs no link of its own to the third.
fn needed(before: &[Vec<usize>]) -> Vec<(usize, usize)> {
    let mut all: Vec<Vec<bool>> = Vec::with_capacity(before.len());
    let mut links = Vec::new();
    for (at, direct) in before.iter().enumerate() {
        let mut mine = vec![false; at];
        for earlier in direct {
            for (mark, known) in mine.iter_mut().zip(&all[*earlier]) {
                *mark |= known;
            }
        }
        for earlier in direct {
            if !mine[*earlier] && !links.contains(&(*earlier, at)) {
                links.push((*earlier, at));
            }
        }
        for earlier in direct {
            mine[*earlier] = true;
        }
        all.push(mine);
    }
    links
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_that_follow_from_others_are_left_out() {
        let before = [vec![], vec![0], vec![0, 1], vec![], vec![2, 0, 3, 2]];
        assert_eq!(needed(&before), [(0, 1), (1, 2), (2, 4), (3, 4)]);
    }
}
