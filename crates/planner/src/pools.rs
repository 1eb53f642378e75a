//! People as pools of skills.
//!
//! A person with two skills stands in two pools but works in one place. For each moment the
//! jobs can be staffed exactly when, for every set of skills, the people wanted from the
//! set are not more than the people who have any of its skills (Hall, "On representatives
//! of subsets", 1935). So besides a pool for each skill there is a pool for each set of
//! skills that can bind: of all sets with the same people only the greatest, and no set
//! that falls apart into two without a person in common.
//!
//! Worked case: two fitters, one of them also a rigger, and one more rigger. Pools: fitter
//! 2, rigger 2, fitter-or-rigger 3. Two fitters and two riggers at once pass the first two
//! pools and fail the third.

use std::collections::{BTreeMap, BTreeSet};

use airframe::{Crew, SkillId};
use record::Person;
use timetable::Tick;

use crate::spans::{Spans, count, where_at_least};

/// More pools than this are not made; sets of few skills come first. People are then
/// assigned as well as can be, and a job that cannot be staffed is named.
const MOST: usize = 240;

/// A set of skills that is staffed from the same people.
#[derive(Debug, Clone)]
pub(crate) struct Pool {
    /// The skills.
    pub(crate) skills: BTreeSet<SkillId>,
    /// How many people with any of them there are, from each tick on.
    pub(crate) steps: Vec<(Tick, u32)>,
}

/// The pools of everybody, for the skills that jobs ask for.
pub(crate) fn pools(people: &[(&Person, Spans)], asked: &BTreeSet<SkillId>) -> Vec<Pool> {
    let mut who: BTreeMap<SkillId, BTreeSet<usize>> = BTreeMap::new();
    for skill in asked {
        let having =
            people.iter().enumerate().filter(|(_, (p, _))| p.skills.contains(skill));
        who.insert(skill.clone(), having.map(|(number, _)| number).collect());
    }
    let sets = singles(&who).into_iter().chain(closed_sets(&who));
    sets.map(|(skills, having)| {
        let there = having.iter().map(|&number| &people[number].1);
        Pool { skills, steps: count(there) }
    })
    .collect()
}

/// What a crew takes from each pool.
pub(crate) fn needs(pools: &[Pool], crew: &[Crew]) -> Vec<(usize, u32)> {
    let takes = |pool: &Pool| -> u32 {
        crew.iter().filter(|c| pool.skills.contains(&c.skill)).map(|c| c.count).sum()
    };
    pools
        .iter()
        .enumerate()
        .map(|(number, pool)| (number, takes(pool)))
        .filter(|&(_, amount)| amount > 0)
        .collect()
}

/// When a whole crew is in.
pub(crate) fn crew_in(pools: &[Pool], needs: &[(usize, u32)], end: Tick) -> Spans {
    let mut windows = vec![timetable::Window { from: 0, until: end }];
    for &(pool, amount) in needs {
        let enough = where_at_least(&pools[pool].steps, amount, end);
        windows = crate::spans::both(&windows, &enough);
    }
    windows
}

type Having = BTreeMap<SkillId, BTreeSet<usize>>;
type SkillSet = (BTreeSet<SkillId>, BTreeSet<usize>);

fn singles(who: &Having) -> Vec<SkillSet> {
    who.iter().map(|(skill, having)| ([skill.clone()].into(), having.clone())).collect()
}

/// Connected sets of two skills or more, each the greatest with its people, found by
/// growing smaller sets by one skill that shares a person with them.
fn closed_sets(who: &Having) -> Vec<SkillSet> {
    let mut seen: BTreeSet<BTreeSet<SkillId>> = BTreeSet::new();
    let mut found: Vec<SkillSet> = Vec::new();
    let mut edge = singles(who);
    while !edge.is_empty() && found.len() < MOST {
        let mut next = Vec::new();
        for (skills, having) in &edge {
            let sharing = who.iter().filter(|(skill, own)| {
                !skills.contains(*skill) && !own.is_disjoint(having)
            });
            for (_, own) in sharing {
                let people: BTreeSet<usize> = having | own;
                let closed: BTreeSet<SkillId> = who
                    .iter()
                    .filter(|(_, own)| !own.is_empty() && own.is_subset(&people))
                    .map(|(skill, _)| skill.clone())
                    .collect();
                if seen.insert(closed.clone()) {
                    next.push((closed, people));
                }
            }
        }
        found.extend(next.iter().cloned());
        edge = next;
    }
    found.truncate(MOST);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Id;

    fn skill(name: &str) -> SkillId {
        Id::new(name).unwrap()
    }

    fn who(list: &[(&str, &[usize])]) -> Having {
        list.iter().map(|(s, p)| (skill(s), p.iter().copied().collect())).collect()
    }

    #[test]
    fn a_shared_person_makes_a_pool() {
        let sets = closed_sets(&who(&[("fitter", &[0, 1]), ("rigger", &[1, 2])]));
        assert_eq!(sets.len(), 1);
        assert_eq!(sets[0].1.len(), 3);
    }

    #[test]
    fn people_apart_make_none() {
        assert!(closed_sets(&who(&[("fitter", &[0]), ("painter", &[1])])).is_empty());
    }

    #[test]
    fn only_the_greatest_of_equal_sets_stays() {
        // Everybody who rivets is a fitter: the pair has the fitters' people.
        let sets = closed_sets(&who(&[("fitter", &[0, 1, 2]), ("riveter", &[1, 2])]));
        assert_eq!(sets.len(), 1);
        assert_eq!(sets[0].0.len(), 2);
    }
}
