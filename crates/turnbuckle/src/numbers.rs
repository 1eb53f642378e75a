//! Values on the command line.

use std::time::Duration;

use app::ProblemSize;

/// The longest search that can be asked for.
const LONGEST: f64 = 30.0 * 24.0 * 3600.0;

/// `10s`, `1.5s`, `500ms`, `2m`, `1h`; a bare number counts seconds.
pub(crate) fn duration(text: &str) -> Result<Duration, String> {
    let trimmed = text.trim();
    let digits = trimmed.find(|c: char| !(c.is_ascii_digit() || c == '.'));
    let (number, unit) = trimmed.split_at(digits.unwrap_or(trimmed.len()));
    let scale = match unit.trim() {
        "" | "s" | "sec" => 1.0,
        "ms" => 0.001,
        "m" | "min" => 60.0,
        "h" => 3600.0,
        _ => return Err("write a time such as 10s, 500ms, 2m or 1h".to_owned()),
    };
    let number: f64 = number
        .parse()
        .map_err(|_| "write a time such as 10s, 500ms, 2m or 1h".to_owned())?;
    let seconds = number * scale;
    if seconds > 0.0 && seconds <= LONGEST {
        Ok(Duration::from_secs_f64(seconds))
    } else {
        Err("a time must be more than nothing, and at most 30 days".to_owned())
    }
}

/// A number of threads, 1 to 1,024.
pub(crate) fn threads(text: &str) -> Result<usize, String> {
    match text.parse() {
        Ok(count @ 1..=1024) => Ok(count),
        _ => Err("a number of threads lies between 1 and 1024".to_owned()),
    }
}

/// A seed.
pub(crate) fn seed(text: &str) -> Result<u64, String> {
    text.parse().map_err(|_| format!("a seed is a whole number from 0 to {}", u64::MAX))
}

/// The size of a problem that is to be drawn.
pub(crate) fn size(text: &str) -> Result<ProblemSize, String> {
    match text {
        "small" => Ok(ProblemSize::Small),
        "large" => Ok(ProblemSize::Large),
        _ => match text.parse() {
            Ok(count @ 1..=20_000) => Ok(ProblemSize::Tasks(count)),
            _ => {
                Err("write small, large, or a number of tasks from 1 to 20000".to_owned())
            }
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times() {
        for (text, millis) in [
            ("10s", 10_000),
            ("1.5s", 1_500),
            ("500ms", 500),
            ("2m", 120_000),
            ("3", 3_000),
        ] {
            assert_eq!(duration(text), Ok(Duration::from_millis(millis)), "{text}");
        }
        for text in ["", "s", "-1s", "0", "ten", "1e400", "99999h", "1.2.3s", "5 weeks"] {
            assert!(duration(text).is_err(), "{text}");
        }
    }
}
