//! The rules between two events: lags, and the ends of occupancies.

use timetable::{Clock, LinkId, OccupancyId};

use crate::case::Case;
use crate::note::Rule;

pub(crate) fn check(case: &Case<'_>, rules: &mut Vec<Rule>) {
    for position in 0..case.problem.links().len() {
        check_link(case, LinkId::new(position), rules);
    }
    for (position, occupancy) in case.problem.occupancies().iter().enumerate() {
        if case.is_settled(occupancy.from.task) && case.is_settled(occupancy.to.task) {
            continue;
        }
        let (from, to) = (case.tick(occupancy.from), case.tick(occupancy.to));
        if to < from {
            let occupancy = OccupancyId::new(position);
            rules.push(Rule::OccupancyBackwards { occupancy, from, to });
        }
    }
}

fn check_link(case: &Case<'_>, id: LinkId, rules: &mut Vec<Rule>) {
    let link = &case.problem.links()[id.at()];
    if case.is_settled(link.from.task) && case.is_settled(link.to.task) {
        return;
    }
    let (from, to) = (case.tick(link.from), case.tick(link.to));
    let (begin, end) = (i64::from(from), i64::from(to));
    let (found, in_order) = match link.clock {
        Clock::Elapsed => (end - begin, true),
        Clock::Working(calendar) => {
            let hours = case.hours(calendar);
            (hours.count(begin, end) - hours.count(end, begin), begin <= end)
        }
    };
    if let Some(least) = link.least
        && (found < i64::from(least) || !in_order)
    {
        rules.push(Rule::LeastLag { link: id, least, found, from, to });
    }
    if let Some(greatest) = link.greatest
        && found > i64::from(greatest)
    {
        rules.push(Rule::GreatestLag { link: id, greatest, found, from, to });
    }
}
