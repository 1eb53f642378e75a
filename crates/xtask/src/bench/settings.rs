//! Under which limits a solver runs.

use std::fmt;
use std::time::Duration;

use anyhow::{Context, Result, bail};

/// What a limit counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Clock {
    /// Time that passes.
    Wall,
    /// Time that processors spend on the solver, all of its threads together.
    Processor,
}

impl Clock {
    /// The word on the command line and in files.
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Wall => "wall",
            Self::Processor => "processor",
        }
    }

    /// The clock of this word.
    pub(super) fn of(word: &str) -> Result<Self> {
        match word {
            "wall" => Ok(Self::Wall),
            "processor" => Ok(Self::Processor),
            other => bail!("`{other}` is no clock; there are `wall` and `processor`"),
        }
    }
}

/// One limit, and what else decides how a solver runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Settings {
    pub(super) limit: Duration,
    pub(super) clock: Clock,
    pub(super) threads: u64,
    pub(super) seed: u64,
}

/// Beyond what it was told, a solver gets so much to stop.
pub(super) const GRACE: Duration = Duration::from_secs(10);

impl Settings {
    /// Processor time that all threads together may spend, if that is what is counted.
    pub(super) fn processor(&self) -> Option<Duration> {
        let threads = u32::try_from(self.threads).unwrap_or(u32::MAX);
        (self.clock == Clock::Processor).then(|| self.limit.saturating_mul(threads))
    }

    /// The time that a solver is told: the limit, or so much that a loaded machine does not
    /// cut its processor time short.
    pub(super) fn told(&self) -> Duration {
        let slack = Duration::from_mins(1);
        let processor = self.processor();
        processor.map_or(self.limit, |time| time.saturating_mul(10) + slack)
    }

    /// The time after which a solver is ended by force.
    pub(super) fn patience(&self) -> Duration {
        match self.clock {
            Clock::Wall => self.limit.saturating_mul(2) + GRACE,
            Clock::Processor => self.told() + GRACE,
        }
    }
}

impl fmt::Display for Settings {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let seconds = self.limit.as_secs_f64();
        match self.clock {
            Clock::Wall => write!(f, "{seconds} s"),
            Clock::Processor => {
                write!(f, "{seconds} s × {} of processor", self.threads)
            }
        }
    }
}

/// Reads `500ms`, `1.5s`, `2m`; seconds where no unit is given.
pub(super) fn time(text: &str) -> Result<Duration> {
    let (number, unit) = match text.find(|letter: char| letter.is_ascii_alphabetic()) {
        Some(at) => text.split_at(at),
        None => (text, "s"),
    };
    let factor = match unit {
        "ms" => 0.001,
        "s" => 1.0,
        "m" | "min" => 60.0,
        _ => bail!("`{text}` is no time; write 500ms, 1s or 2m"),
    };
    let seconds = number.parse::<f64>().ok().map(|number| number * factor);
    seconds
        .filter(|seconds| seconds.is_finite() && (0.001..=86_400.0).contains(seconds))
        .map(Duration::from_secs_f64)
        .with_context(|| format!("`{text}` is no time from 1 ms to a day"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times() {
        for (text, milliseconds) in
            [("1s", 1000), ("2m", 120_000), ("1.5", 1500), ("7ms", 7)]
        {
            assert_eq!(
                time(text).unwrap(),
                Duration::from_millis(milliseconds),
                "{text}"
            );
        }
        for text in ["", "s", "-1s", "1h", "0s", "inf", "1e99s", "nan"] {
            assert!(time(text).is_err(), "{text}");
        }
    }

    #[test]
    fn processor_time_counts_every_thread() {
        let limit = Duration::from_secs(2);
        let wall = Settings { limit, clock: Clock::Wall, threads: 3, seed: 1 };
        let processor = Settings { clock: Clock::Processor, ..wall };
        assert_eq!(wall.processor(), None);
        assert_eq!(wall.told(), limit);
        assert_eq!(processor.processor(), Some(Duration::from_secs(6)));
        assert!(processor.told() >= Duration::from_mins(1));
        assert!(processor.patience() > processor.told());
        assert_eq!(wall.to_string(), "2 s");
        assert_eq!(processor.to_string(), "2 s × 3 of processor");
    }

    #[test]
    fn clocks() {
        for clock in [Clock::Wall, Clock::Processor] {
            assert_eq!(Clock::of(clock.word()).unwrap(), clock);
        }
        assert!(Clock::of("sand").is_err());
    }
}
