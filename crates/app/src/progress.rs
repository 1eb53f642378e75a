//! How a search goes, for whoever watches it: the best, the bound, the gap between them, and
//! how both moved so far.

use charts::ProgressPoint;
use jiff::civil::Date;
use search::News;

use crate::season::{days, news_told};

/// So many points of the course are kept; of more, every second one.
const MOST: usize = 200;

/// How a search stands.
#[derive(Debug, Clone, PartialEq)]
pub struct SearchProgress {
    /// Its number.
    pub number: u64,
    /// How it stands, in a sentence or two.
    pub told: String,
    /// Days until the aircraft stands complete by the best plan so far.
    pub best: Option<f64>,
    /// Days before which no plan is proven to be complete.
    pub bound: f64,
    /// By how much the best could be better at most, in words.
    pub gap: String,
    /// How many plans were tried.
    pub tried: u64,
    /// How long it has run, in seconds.
    pub seconds: u64,
    /// Best and bound over time, as a drawing.
    pub drawing: String,
}

/// What was heard of a search, thinned.
#[derive(Debug, Clone, Default)]
pub(crate) struct Course {
    points: Vec<ProgressPoint>,
}

impl Course {
    pub(crate) fn hear(&mut self, news: &News) {
        let point = ProgressPoint {
            seconds: news.elapsed.as_secs_f64(),
            best: news.best.map(|best| days(best.length)),
            bound: days(news.bound.length),
        };
        self.points.push(point);
        if self.points.len() > MOST {
            let mut at = 0;
            let last = self.points.len() - 1;
            self.points.retain(|_| {
                at += 1;
                at % 2 == 1 || at > last
            });
        }
    }

    /// How the search of a season that begins on a day stands.
    pub(crate) fn told(
        &self,
        number: u64,
        news: Option<&News>,
        begins: Option<Date>,
    ) -> SearchProgress {
        let best = news.and_then(|news| news.best);
        SearchProgress {
            number,
            told: news.map_or_else(
                || "It has begun.".to_owned(),
                |news| news_told(news, begins),
            ),
            best: best.map(|best| days(best.length)),
            bound: news.map_or(0.0, |news| days(news.bound.length)),
            gap: news.map_or_else(String::new, gap),
            tried: news.map_or(0, |news| news.steps),
            seconds: news.map_or(0, |news| news.elapsed.as_secs()),
            drawing: charts::progress_svg(&self.points, "days"),
        }
    }
}

/// By how much the best could be better, level by level as the levels count: lateness first,
/// then cost, then length.
fn gap(news: &News) -> String {
    let Some(best) = news.best else { return "no plan yet".to_owned() };
    let (tardiness, cost, length) = best.key();
    let bound = news.bound;
    let share = |best: f64, bound: f64| 100.0 * (best - bound) / best.max(1.0);
    if tardiness > bound.tardiness {
        let share = share(tardiness as f64, bound.tardiness as f64);
        return format!("at most {share:.0} % of the lateness could go");
    }
    if cost > bound.cost {
        let share = share(cost as f64, bound.cost as f64);
        return format!("on time; at most {share:.0} % of what else it costs could go");
    }
    if length > bound.length {
        let share = share(f64::from(length), f64::from(bound.length));
        return format!("at most {share:.1} % shorter");
    }
    "none: no plan is better".to_owned()
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use search::Bound;
    use timetable::Measures;

    use super::*;

    fn news(seconds: u64, best: Option<(i64, i64, i32)>, bound: (i64, i64, i32)) -> News {
        let best = best.map(|(tardiness, cost, length)| Measures {
            tardiness,
            cost,
            drift: 0,
            length,
        });
        let (tardiness, cost, length) = bound;
        News {
            best,
            bound: Bound { tardiness, cost, length },
            steps: 7,
            elapsed: Duration::from_secs(seconds),
        }
    }

    #[test]
    fn the_gap_is_told_of_the_level_that_counts() {
        for (best, bound, told) in [
            (None, (0, 0, 96), "no plan yet"),
            (Some((10, 0, 960)), (5, 0, 900), "at most 50 % of the lateness could go"),
            (
                Some((0, 8, 960)),
                (0, 6, 900),
                "on time; at most 25 % of what else it costs could go",
            ),
            (Some((0, 0, 960)), (0, 0, 864), "at most 10.0 % shorter"),
            (Some((0, 0, 960)), (0, 0, 960), "none: no plan is better"),
        ] {
            assert_eq!(gap(&news(1, best, bound)), told);
        }
    }

    #[test]
    fn a_long_course_is_thinned_and_keeps_its_end() {
        let mut course = Course::default();
        for second in 0..1_000 {
            course.hear(&news(second, Some((0, 0, 960)), (0, 0, 480)));
        }
        assert!(course.points.len() <= MOST);
        assert_eq!(course.points.first().map(|p| p.seconds), Some(0.0));
        assert_eq!(course.points.last().map(|p| p.seconds), Some(999.0));
        let now = news(999, Some((0, 0, 960)), (0, 0, 480));
        let told = course.told(3, Some(&now), Some(jiff::civil::date(2031, 10, 6)));
        assert!(
            told.told.contains("complete after 10.0 days (Wed 15 Oct 2031)"),
            "{}",
            told.told
        );
        assert_eq!((told.best, told.bound, told.seconds), (Some(10.0), 5.0, 999));
        assert!(told.drawing.contains("<path class=\"pf\""));
    }
}
