//! What came of the instances: a line for each set, an object for each instance.

use std::fmt::Write;
use std::time::Duration;

use serde_json::json;

use super::answer::{Answer, Status};
use super::sets::Best;

/// One instance, its answer and what is wrong with it.
pub(super) struct Row {
    pub(super) name: String,
    pub(super) best: Best,
    pub(super) path: Option<i64>,
    /// None if the solver gave no answer that can be read.
    pub(super) answer: Option<Answer>,
    pub(super) wall: Duration,
    pub(super) faults: Vec<String>,
}

impl Row {
    /// The length of the schedule, if there is one and it passed the checks.
    fn length(&self) -> Option<i64> {
        let answer = self.answer.as_ref().filter(|_| self.faults.is_empty())?;
        matches!(answer.status, Status::Optimal | Status::Feasible)
            .then_some(answer.makespan)?
    }

    fn upper(&self) -> Option<i64> {
        match self.best {
            Best::Between { upper, .. } => upper,
            Best::Infeasible => None,
        }
    }

    /// Above the best known makespan, in percent.
    fn gap(&self) -> Option<f64> {
        above(self.length()?, self.upper()?)
    }

    /// Is this schedule shorter than any known?
    pub(super) fn beats_best_known(&self) -> bool {
        matches!((self.length(), self.upper()), (Some(ours), Some(known)) if ours < known)
    }

    fn reaches_best_known(&self) -> bool {
        matches!((self.length(), self.upper()), (Some(ours), Some(known)) if ours <= known)
    }

    fn says(&self, status: Status) -> bool {
        self.faults.is_empty()
            && self.answer.as_ref().is_some_and(|answer| answer.status == status)
    }
}

/// The table's heading, in Markdown.
pub(super) fn heading() -> String {
    "| set | instances | mean above best known | worst | at best known | proven optimal \
     | proven infeasible | no schedule | above critical path | seconds, mean | wall |\n\
     |---|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|"
        .to_owned()
}

/// The table's line for one set.
pub(super) fn line(set: &str, rows: &[Row], wall: Duration) -> String {
    let gaps: Vec<f64> = rows.iter().filter_map(Row::gap).collect();
    let paths = rows.iter().filter_map(|row| above(row.length()?, row.path?));
    let seconds = rows.iter().filter_map(|row| Some(row.answer.as_ref()?.seconds));
    let number =
        |test: &dyn Fn(&Row) -> bool| rows.iter().filter(|row| test(row)).count();
    let infeasible = number(&|row| row.says(Status::Infeasible));
    let without = number(&|row| row.length().is_none()) - infeasible;
    let mut line = format!("| {set} | {} ", rows.len());
    let worst = gaps.iter().copied().reduce(f64::max);
    for cell in [
        percent(mean(gaps.iter().copied())),
        percent(worst),
        number(&Row::reaches_best_known).to_string(),
        number(&|row| row.says(Status::Optimal)).to_string(),
        infeasible.to_string(),
        without.to_string(),
        percent(mean(paths)),
        mean(seconds).map_or("–".to_owned(), |seconds| format!("{seconds:.3}")),
        format!("{:.1} s", wall.as_secs_f64()),
    ] {
        // Writing to a string can't fail.
        let _ = write!(line, "| {cell} ");
    }
    line + "|"
}

/// Each fault of an instance, with its name.
pub(super) fn faults(set: &str, row: &Row) -> Vec<String> {
    row.faults.iter().map(|fault| format!("{set} {}: {fault}", row.name)).collect()
}

/// A schedule shorter than any known is worth a line of its own.
pub(super) fn news(set: &str, row: &Row) -> String {
    let (ours, known) = (row.length().unwrap_or(0), row.upper().unwrap_or(0));
    format!(
        "{set} {}: {ours} beats the best known {known}, and passes the checks",
        row.name
    )
}

/// The instance as one line of JSON.
pub(super) fn json(set: &str, row: &Row) -> String {
    let answer = row.answer.as_ref();
    let (lower, upper) = match row.best {
        Best::Infeasible => (json!("infeasible"), json!("infeasible")),
        Best::Between { lower, upper } => (json!(lower), json!(upper)),
    };
    json!({
        "set": set,
        "instance": row.name,
        "status": answer.map(|answer| answer.status.word()),
        "makespan": answer.and_then(|answer| answer.makespan),
        "bound": answer.and_then(|answer| answer.bound),
        "seconds": answer.map(|answer| answer.seconds),
        "wall": row.wall.as_secs_f64(),
        "known_lower": lower,
        "known_upper": upper,
        "critical_path": row.path,
        "faults": row.faults,
    })
    .to_string()
}

fn above(ours: i64, other: i64) -> Option<f64> {
    (other > 0).then(|| 100.0 * (ours - other) as f64 / other as f64)
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) =
        values.fold((0.0, 0_u32), |(sum, count), value| (sum + value, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}

fn percent(value: Option<f64>) -> String {
    value.map_or("–".to_owned(), |value| format!("{value:.2} %"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(status: Status, makespan: i64, upper: i64, path: i64) -> Row {
        let known = matches!(status, Status::Optimal | Status::Feasible);
        Row {
            name: "x".to_owned(),
            best: Best::Between { lower: None, upper: Some(upper) },
            path: Some(path),
            answer: Some(Answer {
                status,
                makespan: known.then_some(makespan),
                bound: Some(1),
                starts: Vec::new(),
                seconds: 0.5,
            }),
            wall: Duration::from_millis(500),
            faults: Vec::new(),
        }
    }

    fn cells(rows: &[Row]) -> Vec<String> {
        let line = line("s", rows, Duration::from_secs(3));
        line.trim_matches('|').split('|').map(|cell| cell.trim().to_owned()).collect()
    }

    #[test]
    fn a_line_sums_up_the_rows() {
        let mut broken = row(Status::Feasible, 10, 100, 50);
        broken.faults.push("bad".to_owned());
        let rows = [
            row(Status::Optimal, 100, 100, 50),
            row(Status::Feasible, 110, 100, 100),
            row(Status::Unknown, 0, 100, 50),
            row(Status::Infeasible, 0, 100, 50),
            broken,
        ];
        // The schedule that broke a rule counts as none.
        assert_eq!(
            cells(&rows),
            [
                "s", "5", "5.00 %", "10.00 %", "1", "1", "1", "2", "55.00 %", "0.500",
                "3.0 s"
            ]
        );
        assert_eq!(heading().lines().next().unwrap().matches('|').count(), 12);
        assert_eq!(cells(&[])[2], "–");
    }

    #[test]
    fn a_better_schedule_is_news() {
        let better = row(Status::Feasible, 99, 100, 50);
        assert!(better.beats_best_known());
        assert!(news("s", &better).contains("99 beats the best known 100"));
        assert!(!row(Status::Feasible, 100, 100, 50).beats_best_known());
    }

    #[test]
    fn an_object_holds_the_row() {
        let mut failed = row(Status::Feasible, 110, 100, 50);
        failed.faults.push("bad".to_owned());
        let value: serde_json::Value = serde_json::from_str(&json("s", &failed)).unwrap();
        assert_eq!(value["makespan"], 110);
        assert_eq!(value["known_upper"], 100);
        assert_eq!(value["faults"][0], "bad");
        assert_eq!(faults("s", &failed), ["s x: bad"]);
    }
}
