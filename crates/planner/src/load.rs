//! Hours needed and hours there, week by week and skill by skill.

use std::collections::BTreeMap;

use airframe::SkillId;
use jiff::civil::{Date, Weekday};
use timetable::Window;

use crate::grid::{DAY, HOUR};
use crate::model::Model;
use crate::spans::Spans;

/// The weeks of one skill.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekLoad {
    /// The skill.
    pub skill: SkillId,
    /// What people call it.
    pub name: String,
    /// The weeks of the plan, in order.
    pub weeks: Vec<Week>,
}

/// One week of one skill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Week {
    /// Its Monday.
    pub monday: Date,
    /// Person-hours that the plan takes.
    pub needed: f64,
    /// Person-hours of everybody who has the skill. Who has two skills counts in both.
    pub there: f64,
}

/// The load of each skill that the programme has, over the weeks until `end`.
pub(crate) fn loads(
    model: &Model<'_>,
    crews: &[(Spans, Vec<(u32, SkillId)>)],
    end: i32,
) -> Vec<WeekLoad> {
    let mut needed: BTreeMap<&SkillId, Vec<i64>> = BTreeMap::new();
    let weeks = week_of(model, end.max(0)) + 1;
    for (spans, crew) in crews {
        for (count, skill) in crew {
            let row = needed.entry(skill).or_insert_with(|| vec![0; weeks]);
            add(model, row, spans, i64::from(*count));
        }
    }
    let skills = model.programme.skills.iter();
    skills
        .map(|skill| {
            let mut there = vec![0; weeks];
            for (_, spans) in
                model.people.iter().filter(|(p, _)| p.skills.contains(&skill.id))
            {
                add(model, &mut there, spans, 1);
            }
            let row = needed.get(&skill.id);
            let weeks = there.iter().enumerate().map(|(number, &there)| Week {
                monday: monday(model, number),
                needed: hours(row.map_or(0, |row| row[number])),
                there: hours(there),
            });
            WeekLoad {
                skill: skill.id.clone(),
                name: skill.name.clone(),
                weeks: weeks.collect(),
            }
        })
        .collect()
}

fn hours(ticks: i64) -> f64 {
    ticks as f64 / f64::from(HOUR)
}

/// Days from the Monday of the first week to the first day of the grid.
fn lead(model: &Model<'_>) -> i32 {
    i32::from(model.grid.day(0).weekday().to_monday_zero_offset())
}

fn week_of(model: &Model<'_>, tick: i32) -> usize {
    ((tick.div_euclid(DAY) + lead(model)) / 7).max(0) as usize
}

fn monday(model: &Model<'_>, week: usize) -> Date {
    let day = model.grid.day(week as i32 * 7 - lead(model));
    debug_assert_eq!(day.weekday(), Weekday::Monday, "weeks begin on Mondays");
    day
}

fn add(model: &Model<'_>, row: &mut [i64], spans: &[Window], count: i64) {
    for window in spans {
        let mut from = window.from;
        while from < window.until {
            let next = (from.div_euclid(DAY) + 1) * DAY;
            let until = next.min(window.until);
            if let Some(cell) = row.get_mut(week_of(model, from)) {
                *cell += i64::from(until - from) * count;
            }
            from = until;
        }
    }
}
