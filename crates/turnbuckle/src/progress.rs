//! The progress bar: best and bound while a search runs.

use std::time::Duration;

use app::{News, Watch};
use indicatif::{ProgressBar, ProgressStyle};

/// Draws on standard error; shows nothing where that is no terminal.
pub(crate) struct Bar {
    drawn: ProgressBar,
    total: Duration,
    words: fn(&News) -> String,
}

impl Bar {
    /// A bar for a search of so long.
    pub(crate) fn new(total: Duration, words: fn(&News) -> String) -> Self {
        let bar = ProgressBar::new(total.as_millis().try_into().unwrap_or(u64::MAX));
        let style = ProgressStyle::with_template("{bar:30} {msg}");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        Self { drawn: bar, total, words }
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
}

/// A season: best and bound in days from its beginning.
pub(crate) fn season(news: &News) -> String {
    let days = |ticks: i32| format!("{:.1}", f64::from(ticks) / 96.0);
    let best = news.best.map_or_else(
        || "none yet".to_owned(),
        |best| {
            let late = if best.tardiness > 0 { ", late" } else { "" };
            format!("day {}{late}", days(best.length))
        },
    );
    format!(
        "best {best}, none before day {}, {} tried",
        days(news.bound.length),
        news.steps
    )
}

/// An instance: best and bound as they are.
pub(crate) fn instance(news: &News) -> String {
    let best = news.best.map_or_else(|| "-".to_owned(), |best| best.length.to_string());
    format!("best {best}, bound {}, {} tried", news.bound.length, news.steps)
}
