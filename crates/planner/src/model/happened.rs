//! What has happened, in the terms of the problem.

use std::collections::BTreeSet;

use jiff::civil::DateTime;
use timetable::{Mode, ModeId, Pace, Progress, Tick, Window};

use super::Parts;
use crate::draft::{Draft, Job, Way};
use crate::grid::{DAY, Grid, ticks};
use crate::past::{Past, SoFar};
use crate::spans::both;

impl Parts<'_> {
    /// What has happened of a job, in ticks.
    pub(super) fn progress(
        &self,
        job: &Job,
        past: &Past,
        modes: &[Mode],
        now: Tick,
    ) -> Progress {
        let mode = mode_of(job, past, modes);
        let start = self.within(past.from);
        let (resume, left) = match past.so_far {
            SoFar::Done(until) => {
                return Progress::Done {
                    mode,
                    start,
                    finish: self.within(until).max(start),
                };
            }
            SoFar::Left(minutes) => (now.max(start), ticks(minutes)),
            SoFar::Due(day) => {
                let resume = now.max(start);
                let due = self.grid.midnight(day).clamp(0, self.grid.horizon());
                // What is due today, or late, is not here before the day is over.
                let over = (resume / DAY + 1) * DAY;
                (resume, self.open_between(modes, mode, resume, due.max(over)))
            }
        };
        let left = left.min(self.grid.horizon());
        let resume = self.resumed(modes, mode, resume, left);
        Progress::Started { mode, start, resume, left }
    }

    pub(super) fn within(&self, at: DateTime) -> Tick {
        self.grid.tick(at).clamp(0, self.grid.horizon())
    }

    /// The ticks of a mode's calendar between two ticks.
    fn open_between(
        &self,
        modes: &[Mode],
        mode: ModeId,
        from: Tick,
        until: Tick,
    ) -> Tick {
        match modes.get(mode.at()).map(|mode| mode.pace) {
            Some(Pace::Pausing(calendar)) => {
                let span = [Window { from, until }];
                let open = both(self.calendars[calendar.at()].windows(), &span);
                open.iter().map(|window| window.until - window.from).sum()
            }
            _ => until - from,
        }
    }

    /// When what is left of an unbroken job can be done in one piece.
    fn resumed(&self, modes: &[Mode], mode: ModeId, resume: Tick, left: Tick) -> Tick {
        let Some(Pace::Whole(calendar)) = modes.get(mode.at()).map(|mode| mode.pace)
        else {
            return resume;
        };
        let windows = self.calendars[calendar.at()].windows().iter();
        let starts = windows.map(|window| (window.from.max(resume), window.until));
        let mut fits = starts.filter(|&(from, until)| from + left <= until);
        fits.next().map_or(resume, |(from, _)| from)
    }

    /// Parts that a firm should have sent back.
    pub(super) fn overdue(&self, draft: &Draft, now: Tick) -> Vec<String> {
        let late = draft.past.iter().filter_map(|(&number, past)| match past.so_far {
            SoFar::Due(day) if self.grid.midnight(day) + DAY <= now => {
                Some((number, day))
            }
            _ => None,
        });
        late.map(|(number, day)| {
            format!(
                "{} was due on {day}; the plan takes it to be back tomorrow: ask for a date",
                draft.jobs[number].key
            )
        })
        .collect()
    }
}

/// Takes the greatest times out of links that can't be kept any more, because they ran out
/// while nothing was done; a sentence for each.
pub(super) fn lapse(
    draft: &Draft,
    grid: Grid,
    now: Tick,
    links: &mut [timetable::Link],
) -> Vec<String> {
    let mut sentences = Vec::new();
    for (link, of) in links.iter_mut().zip(&draft.links) {
        let Some(greatest) = link.greatest else { continue };
        let ended = match draft.past.get(&of.from).map(|past| past.so_far) {
            Some(SoFar::Done(at)) if !draft.past.contains_key(&of.to) => grid.tick(at),
            _ => continue,
        };
        if ended + greatest < now {
            link.greatest = None;
            sentences.push(format!(
                "{} had to begin by {}, within the time allowed after {}, and has not: see the data for what has to be done again",
                draft.jobs[of.to].key,
                grid.moment(ended + greatest).strftime("%Y-%m-%d %H:%M"),
                draft.jobs[of.from].key
            ));
        }
    }
    sentences
}

/// The mode that a job was done in, as far as the number of people at it tells.
fn mode_of(job: &Job, past: &Past, modes: &[Mode]) -> ModeId {
    let people: BTreeSet<_> = past.sessions.iter().map(|s| &s.person).collect();
    if people.is_empty() || job.ways.len() != modes.len() {
        return ModeId(0);
    }
    let away = |way: &Way| {
        let crew: u32 = way.crew.iter().map(|crew| crew.count).sum();
        (i64::from(crew) - people.len() as i64).abs()
    };
    let nearest = (0..modes.len()).min_by_key(|&at| away(&job.ways[at]));
    ModeId(nearest.unwrap_or(0) as u32)
}
