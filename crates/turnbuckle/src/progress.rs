//! The progress bar: best and bound while a search runs.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use anyhow::Result;
use app::{News, Watch};
use indicatif::{ProgressBar, ProgressStyle};

use crate::signals::stop_flag;

/// Draws on standard error; shows nothing where that is no terminal. While it is there,
/// Ctrl-C stops the search and not the program.
pub(crate) struct Bar {
    drawn: ProgressBar,
    total: Duration,
    words: fn(&News) -> String,
    stop: Arc<AtomicBool>,
}

impl Bar {
    /// A bar for a search of so long.
    pub(crate) fn new(total: Duration, words: fn(&News) -> String) -> Result<Self> {
        let stop = stop_flag()?;
        let bar = ProgressBar::new(total.as_millis().try_into().unwrap_or(u64::MAX));
        let style = ProgressStyle::with_template("{bar:30} {msg}");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        Ok(Self { drawn: bar, total, words, stop })
    }

    /// Takes the bar away.
    pub(crate) fn clear(&self) {
        self.drawn.finish_and_clear();
    }
}

impl Watch for Bar {
    fn progress(&self, news: &News) {
        let elapsed = news.elapsed.min(self.total);
        self.drawn.set_position(elapsed.as_millis().try_into().unwrap_or(u64::MAX));
        self.drawn.set_message((self.words)(news));
    }

    fn cancelled(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// A season: best, bound and gap in days from its beginning.
pub(crate) fn season(news: &News) -> String {
    let days = |ticks: i32| format!("{:.1}", f64::from(ticks) / 96.0);
    let best = news.best.map_or_else(
        || "none yet".to_owned(),
        |best| {
            let late = if best.tardiness > 0 { ", late" } else { "" };
            let gap = (best.length - news.bound.length).max(0);
            format!("day {}{late}, gap {} days", days(best.length), days(gap))
        },
    );
    format!(
        "best {best}, none before day {}, {} tried",
        days(news.bound.length),
        news.steps
    )
}

/// A problem by itself: best and bound on each level that says something, and the gap on
/// the first level that has one.
pub(crate) fn problem(news: &News) -> String {
    let bound = news.bound;
    let Some(best) = news.best else {
        return format!("none yet, bound {}, {} tried", bound.length, news.steps);
    };
    let (tardiness, cost, length) = best.key();
    let levels = [
        ("tardiness", tardiness, bound.tardiness),
        ("cost", cost, bound.cost),
        ("length", i64::from(length), i64::from(bound.length)),
    ];
    let told = levels.iter().filter(|(name, best, _)| *best > 0 || *name == "length");
    let told = told.map(|(name, best, bound)| format!("{name} {best}, bound {bound}"));
    let told: Vec<String> = told.collect();
    let open = levels.iter().find(|(_, best, bound)| best > bound);
    let gap = open.map_or_else(
        || "no gap".to_owned(),
        |(name, best, bound)| {
            format!("gap {:.1} % in {name}", 100.0 * (best - bound) as f64 / *best as f64)
        },
    );
    format!("{}; {gap}, {} tried", told.join("; "), news.steps)
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use app::Bound;

    use super::*;

    #[test]
    fn the_gap_is_that_of_the_first_level_that_has_one() {
        let bound = Bound { tardiness: 4, cost: 0, length: 30 };
        let mut news =
            News { best: None, bound, steps: 12, elapsed: Duration::from_millis(7) };
        assert_eq!(problem(&news), "none yet, bound 30, 12 tried");
        for (tardiness, cost, length, told) in [
            (0, 0, 40, "length 40, bound 30; gap 25.0 % in length, 12 tried"),
            (
                8,
                0,
                40,
                "tardiness 8, bound 4; length 40, bound 30; gap 50.0 % in tardiness, \
                 12 tried",
            ),
            (
                4,
                10,
                30,
                "tardiness 4, bound 4; cost 10, bound 0; length 30, bound 30; gap 100.0 % \
                 in cost, 12 tried",
            ),
            (4, 0, 30, "tardiness 4, bound 4; length 30, bound 30; no gap, 12 tried"),
        ] {
            news.best = Some(app::Measures { tardiness, cost, drift: 0, length });
            assert_eq!(problem(&news), told);
        }
    }
}
