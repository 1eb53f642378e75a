//! One run of one solver on one instance, and its line in a file of results.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::time::Duration;

use anyhow::{Context, Result, bail};
use serde_json::{Value, json};

use super::answer::{self, Effort, Status};
use super::child::Usage;
use super::sets::Best;
use super::settings::{Clock, Settings};

/// A run.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Run {
    pub(super) set: String,
    pub(super) instance: String,
    pub(super) solver: String,
    pub(super) version: String,
    pub(super) machine: String,
    pub(super) date: String,
    pub(super) settings: Settings,
    /// None if the solver gave no answer that can be read.
    pub(super) status: Option<Status>,
    pub(super) effort: Option<Effort>,
    pub(super) usage: Usage,
    pub(super) score: Score,
    /// What is wrong with the answer.
    pub(super) faults: Vec<String>,
}

/// What a schedule is judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Score {
    /// Its length alone.
    Length {
        makespan: Option<i64>,
        bound: Option<i64>,
        best: Best,
        /// The length of the critical path.
        path: Option<i64>,
    },
    /// Three levels, each only where those before it are equal: weighted tardiness, cost
    /// with drift, length.
    Levels { reached: Option<[i64; 3]>, bound: Option<[i64; 3]> },
}

impl Run {
    /// Whether it is this solver's on this instance.
    pub(super) fn is_of(
        &self,
        set: &str,
        instance: &str,
        solver: &str,
        settings: &Settings,
    ) -> bool {
        (self.instance == instance && self.set == set)
            && self.solver == solver
            && self.settings == *settings
    }

    /// Whether its answer has this status and holds.
    pub(super) fn says(&self, status: Status) -> bool {
        self.faults.is_empty() && self.status == Some(status)
    }

    /// Whether it has a schedule that passed the checks.
    pub(super) fn solved(&self) -> bool {
        self.says(Status::Optimal) || self.says(Status::Feasible)
    }

    /// Whether it has the last word: optimal, or no schedule, and proven.
    pub(super) fn settled(&self) -> bool {
        self.says(Status::Optimal) || self.says(Status::Infeasible)
    }

    /// Processor seconds: by the solver's own count, its start left out, if it counts, else
    /// the whole process.
    pub(super) fn processor(&self) -> Option<f64> {
        let own = self.effort.and_then(|effort| effort.processor);
        own.or(self.usage.processor)
    }

    /// The run as one line of JSON.
    pub(super) fn line(&self) -> String {
        let settings = &self.settings;
        let effort = self.effort;
        let mut object = json!({
            "set": self.set,
            "instance": self.instance,
            "solver": self.solver,
            "version": self.version,
            "machine": self.machine,
            "date": self.date,
            "limit": settings.limit.as_secs_f64(),
            "clock": settings.clock.word(),
            "threads": settings.threads,
            "seed": settings.seed,
            "status": self.status.map(Status::word),
            "seconds": effort.map(|effort| effort.seconds),
            "first": effort.and_then(|effort| effort.first),
            "steps": effort.and_then(|effort| effort.steps),
            "processor": effort.and_then(|effort| effort.processor),
            "wall": self.usage.wall.as_secs_f64(),
            "process": self.usage.processor,
            "peak": self.usage.peak,
            "others": self.usage.others,
            "faults": self.faults,
        });
        self.score.write(&mut object);
        object.to_string()
    }

    fn of_line(line: &str) -> Result<Self> {
        let value: Value = serde_json::from_str(line).context("it isn't JSON")?;
        let text = |key: &str| {
            let text = value[key].as_str().map(str::to_owned);
            text.with_context(|| format!("`{key}` is no text"))
        };
        let status = match &value["status"] {
            Value::Null => None,
            _ => Some(answer::status(&value)?),
        };
        let faults = value["faults"].as_array().context("`faults` is no list")?;
        Ok(Self {
            set: text("set")?,
            instance: text("instance")?,
            solver: text("solver")?,
            version: text("version")?,
            machine: text("machine")?,
            date: text("date")?,
            settings: settings(&value)?,
            status,
            effort: status.map(|_| answer::effort(&value)).transpose()?,
            usage: usage(&value)?,
            score: Score::read(&value)?,
            faults: faults
                .iter()
                .map(|fault| fault.as_str().unwrap_or("?").into())
                .collect(),
        })
    }
}

impl Score {
    fn write(&self, object: &mut Value) {
        match *self {
            Self::Length { makespan, bound, best, path } => {
                let (lower, upper) = match best {
                    Best::Infeasible => (json!("infeasible"), json!("infeasible")),
                    Best::Between { lower, upper } => (json!(lower), json!(upper)),
                };
                object["makespan"] = json!(makespan);
                object["bound"] = json!(bound);
                object["known_lower"] = lower;
                object["known_upper"] = upper;
                object["critical_path"] = json!(path);
            }
            Self::Levels { reached, bound } => {
                object["levels"] = json!(reached);
                object["level_bounds"] = json!(bound);
            }
        }
    }

    fn read(value: &Value) -> Result<Self> {
        if value.get("levels").is_some() {
            let (reached, bound) =
                (levels(value, "levels")?, levels(value, "level_bounds")?);
            return Ok(Self::Levels { reached, bound });
        }
        let best = if value["known_upper"] == "infeasible" {
            Best::Infeasible
        } else {
            let lower = answer::whole(value, "known_lower")?;
            Best::Between { lower, upper: answer::whole(value, "known_upper")? }
        };
        Ok(Self::Length {
            makespan: answer::whole(value, "makespan")?,
            bound: answer::whole(value, "bound")?,
            best,
            path: answer::whole(value, "critical_path")?,
        })
    }
}

/// Three whole numbers in a list, or nothing.
pub(super) fn levels(object: &Value, key: &str) -> Result<Option<[i64; 3]>> {
    let list = match object.get(key) {
        None | Some(Value::Null) => return Ok(None),
        Some(Value::Array(list)) => list,
        Some(_) => bail!("`{key}` is no list"),
    };
    let numbers: Option<Vec<i64>> = list.iter().map(Value::as_i64).collect();
    let three = numbers.and_then(|numbers| <[i64; 3]>::try_from(numbers).ok());
    three.map(Some).with_context(|| format!("`{key}` isn't three whole numbers"))
}

fn settings(value: &Value) -> Result<Settings> {
    let whole = |key: &str| {
        value[key].as_u64().with_context(|| format!("`{key}` is no whole number"))
    };
    let limit = value["limit"].as_f64().filter(|limit| (0.0..1e9).contains(limit));
    Ok(Settings {
        limit: Duration::from_secs_f64(limit.context("`limit` is no time")?),
        clock: Clock::of(value["clock"].as_str().context("`clock` is no text")?)?,
        threads: whole("threads")?,
        seed: whole("seed")?,
    })
}

fn usage(value: &Value) -> Result<Usage> {
    let wall = value["wall"].as_f64().filter(|wall| (0.0..1e9).contains(wall));
    Ok(Usage {
        wall: Duration::from_secs_f64(wall.context("`wall` is no time")?),
        processor: value["process"].as_f64(),
        peak: value["peak"].as_u64(),
        others: value["others"].as_f64(),
    })
}

/// Every run in a file of results. A last line without its end was cut off when a program
/// was killed; it is passed over.
pub(super) fn read(file: &Path) -> Result<Vec<Run>> {
    let text = fs::read_to_string(file)
        .with_context(|| format!("can't read the results {}", file.display()))?;
    let whole = text.rfind('\n').map_or("", |end| &text[..end]);
    let lines = whole.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    let runs = lines.map(|(index, line)| {
        Run::of_line(line).with_context(|| {
            format!("{}:{} can't be read as a run", file.display(), index + 1)
        })
    });
    runs.collect()
}

/// A file to which runs are added, each as a whole line at once.
pub(super) struct Log {
    file: fs::File,
    name: String,
}

impl Log {
    /// Begins a file; one that exists is kept, and an error.
    pub(super) fn begin(file: &Path) -> Result<Self> {
        let name = file.display().to_string();
        let made = fs::OpenOptions::new().write(true).create_new(true).open(file);
        let file = made.with_context(|| {
            if file.exists() {
                format!("{name} exists; `--resume` goes on with it")
            } else {
                format!("can't write {name}")
            }
        })?;
        Ok(Self { file, name })
    }

    /// Goes on with a file, or begins it, and returns the runs that it holds. A line that
    /// was cut off is removed.
    pub(super) fn resume(file: &Path) -> Result<(Self, Vec<Run>)> {
        if !file.exists() {
            return Ok((Self::begin(file)?, Vec::new()));
        }
        let runs = read(file)?;
        let text = fs::read(file)?;
        let whole = text.iter().rposition(|&byte| byte == b'\n').map_or(0, |end| end + 1);
        let name = file.display().to_string();
        let open = fs::OpenOptions::new().append(true).open(file);
        let file = open.with_context(|| format!("can't write {name}"))?;
        file.set_len(whole as u64).with_context(|| format!("can't shorten {name}"))?;
        Ok((Self { file, name }, runs))
    }

    /// Adds a run.
    pub(super) fn add(&mut self, run: &Run) -> Result<()> {
        let line = run.line() + "\n";
        self.file
            .write_all(line.as_bytes())
            .with_context(|| format!("can't write {}", self.name))
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A run on an instance of length, for tests.
    pub(in super::super) fn run(
        instance: &str,
        solver: &str,
        status: Status,
        makespan: i64,
    ) -> Run {
        let limit = Duration::from_millis(1100);
        let has = matches!(status, Status::Optimal | Status::Feasible);
        Run {
            set: "s".to_owned(),
            instance: instance.to_owned(),
            solver: solver.to_owned(),
            version: "1".to_owned(),
            machine: "a machine".to_owned(),
            date: "2031-04-01".to_owned(),
            settings: Settings { limit, clock: Clock::Processor, threads: 2, seed: 1 },
            status: Some(status),
            effort: Some(Effort {
                seconds: 0.5,
                first: has.then_some(0.125),
                steps: Some(1000.0),
                processor: None,
            }),
            usage: Usage {
                wall: Duration::from_millis(500),
                processor: Some(0.75),
                peak: Some(3_000_000),
                others: Some(0.25),
            },
            score: Score::Length {
                makespan: has.then_some(makespan),
                bound: Some(1),
                best: Best::Between { lower: None, upper: Some(100) },
                path: Some(50),
            },
            faults: Vec::new(),
        }
    }

    #[test]
    fn a_line_gives_the_same_run_back() {
        let mut failed = run("x", "a", Status::Feasible, 110);
        failed.faults = vec!["bad".to_owned(), "worse".to_owned()];
        let mut silent = run("y", "b", Status::Unknown, 0);
        (silent.status, silent.effort, silent.usage) = (None, None, Usage::default());
        let mut known = run("z", "b", Status::Infeasible, 0);
        known.score = Score::Length {
            makespan: None,
            bound: None,
            best: Best::Infeasible,
            path: None,
        };
        let mut levels = run("f", "b", Status::Optimal, 0);
        levels.score = Score::Levels { reached: Some([0, 12, 40]), bound: None };
        for run in [failed, silent, known, levels] {
            assert_eq!(Run::of_line(&run.line()).unwrap(), run);
        }
    }

    #[test]
    fn a_broken_line_is_told_by_number() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("r.jsonl");
        let line = run("x", "a", Status::Optimal, 100).line();
        let broken = line.replace("\"limit\":1.1", "\"limit\":\"soon\"");
        fs::write(&file, format!("{line}\n{broken}\n")).unwrap();
        let error = format!("{:#}", read(&file).unwrap_err());
        assert!(error.contains("r.jsonl:2") && error.contains("`limit`"), "{error}");
    }

    #[test]
    fn a_killed_run_goes_on() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("r.jsonl");
        let (first, second) =
            (run("x", "a", Status::Optimal, 100), run("y", "a", Status::Optimal, 101));
        Log::begin(&file).unwrap().add(&first).unwrap();
        assert!(Log::begin(&file).is_err());
        // Killed in the middle of the second line.
        let mut text = fs::read_to_string(&file).unwrap();
        text.push_str(&second.line()[..40]);
        fs::write(&file, text).unwrap();
        assert_eq!(read(&file).unwrap(), std::slice::from_ref(&first));
        let (mut log, runs) = Log::resume(&file).unwrap();
        assert_eq!(runs, std::slice::from_ref(&first));
        log.add(&second).unwrap();
        assert_eq!(read(&file).unwrap(), [first, second]);
        let (_, none) = Log::resume(&folder.path().join("new.jsonl")).unwrap();
        assert_eq!(none, []);
    }
}
