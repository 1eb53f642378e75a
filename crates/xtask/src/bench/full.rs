//! `cargo xtask bench full`: solvers over generated problems with every feature.
//!
//! `turnbuckle problem draw` draws the problems, `turnbuckle problem judge` holds every
//! schedule, ours and the peer's, against each rule. Small problems ask whether two proofs
//! agree; large ones, whose schedule is better.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail};
use serde_json::Value;

use crate::options::Options;
use crate::shell;

use super::answer::{self, Effort, Status};
use super::call::Solver;
use super::record::{Run, Score};
use super::session::{self, Runs, Session, Turns, built, settings};
use super::settings::{Settings, time};

const OPTIONS: &str = "\
Usage: cargo xtask bench full [options]
       cargo xtask bench full --report FILE... [--markdown]

Which problems:
  --small N           so many of 8 to 14 tasks (60); proofs are compared, the peer's by a
                      model that counts every start of every task
  --large N           so many of 150 to 1,000 tasks (10); schedules are compared
  --size N            so many tasks to each large problem
  --first K           the problems drawn with the seeds K, K+1, .. (1)
  --dir DIR           where to put the problems (bench-problems in the target folder)
  --limit TIME        time for each large problem; several: 2s,10s (10s)
  --small-limit TIME  time for each small problem (20s)
";

/// What the command line asks for.
struct Request {
    small: u64,
    large: u64,
    size: Option<u64>,
    first: u64,
    folder: Option<PathBuf>,
    settings: Vec<Settings>,
    small_limit: String,
    session: Session,
}

/// Problems of one size.
struct Group {
    /// Its name in tables.
    name: String,
    /// As `problem draw --size` takes it.
    size: String,
    count: u64,
    settings: Vec<Settings>,
    solvers: Vec<Solver>,
}

/// Draws the problems, runs the solvers, prints the tables, and fails if an answer was wrong.
pub(super) fn run(words: &[&str]) -> Result<()> {
    if words.iter().any(|word| matches!(*word, "--help" | "-h")) {
        println!("{OPTIONS}\n{}", session::OPTIONS);
        return Ok(());
    }
    let request = read(words)?;
    request.session.show(|runs| solve(&request, runs))
}

fn read(words: &[&str]) -> Result<Request> {
    let mut options = Options::read(words, session::FLAGS)?;
    let size = options.one("size")?;
    let size = size.map(|text| {
        text.parse()
            .with_context(|| format!("`--size {text}`: a number of tasks is needed"))
    });
    let request = Request {
        small: options.number("small", 60)?,
        large: options.number("large", 10)?,
        size: size.transpose()?,
        first: options.number("first", 1)?,
        folder: options.one("dir")?.map(PathBuf::from),
        settings: settings(&mut options, "10s")?,
        small_limit: options.one("small-limit")?.unwrap_or_else(|| "20s".to_owned()),
        session: Session::read(&mut options)?,
    };
    options.finish(&format!("{OPTIONS}\n{}", session::OPTIONS))?;
    time(&request.small_limit)?;
    if request.small + request.large == 0 && !request.session.only_reports() {
        bail!("`--small 0 --large 0` leaves no problem to solve");
    }
    Ok(request)
}

fn solve(request: &Request, runs: &mut Runs) -> Result<()> {
    let program = built()?;
    let folder = match &request.folder {
        Some(folder) => folder.clone(),
        None => target()?.join("bench-problems"),
    };
    fs::create_dir_all(&folder)
        .with_context(|| format!("can't make {}", folder.display()))?;
    let mut turns = Turns::default();
    for group in groups(request)? {
        for place in 0..group.count {
            let seed = request.first + place;
            let name = format!("{}-{seed}", group.name.replace(' ', "-"));
            let file = folder.join(format!("{name}.json"));
            draw(&program, &group.size, seed, &file)?;
            for settings in &group.settings {
                for solver in turns.next(&group.solvers) {
                    if runs.has(&group.name, &name, &solver.name, settings) {
                        continue;
                    }
                    let run =
                        one(&program, (&group.name, &name), &file, solver, settings)?;
                    runs.add(run, &format!("{}/{}", place + 1, group.count))?;
                }
            }
        }
    }
    Ok(())
}

fn groups(request: &Request) -> Result<Vec<Group>> {
    let scripts: [&[&str]; 2] = [&["peer_problem.py", "--exact"], &["peer_problem.py"]];
    let [small, large] = request.session.solvers(scripts)?;
    let limit = time(&request.small_limit)?;
    let mut settings: Vec<Settings> =
        request.settings.iter().map(|settings| Settings { limit, ..*settings }).collect();
    settings.sort_unstable();
    settings.dedup();
    let size = request.size.map(|size| size.to_string());
    let groups = [
        Group {
            name: "small".to_owned(),
            size: "small".to_owned(),
            count: request.small,
            settings,
            solvers: small,
        },
        Group {
            name: size
                .clone()
                .map_or("large".to_owned(), |size| format!("of {size} tasks")),
            size: size.unwrap_or_else(|| "large".to_owned()),
            count: request.large,
            settings: request.settings.clone(),
            solvers: large,
        },
    ];
    Ok(groups.into_iter().filter(|group| group.count > 0).collect())
}

fn target() -> Result<PathBuf> {
    let metadata = shell::metadata(true)?;
    let target = metadata["target_directory"].as_str();
    Ok(PathBuf::from(target.context("`cargo metadata` names no target folder")?))
}

fn draw(program: &str, size: &str, seed: u64, file: &Path) -> Result<()> {
    let mut command = Command::new(program);
    command.args(["problem", "draw", "--size", size, "--seed", &seed.to_string()]);
    let text = shell::capture(&mut command)?;
    fs::write(file, text).with_context(|| format!("can't write {}", file.display()))
}

/// A solver's answer to a problem with every feature.
#[derive(Debug, Clone, PartialEq)]
struct Answer {
    status: Status,
    reached: Option<[i64; 3]>,
    bound: Option<[i64; 3]>,
    effort: Effort,
}

fn one(
    program: &str,
    (set, instance): (&str, &str),
    file: &Path,
    solver: &Solver,
    settings: &Settings,
) -> Result<Run> {
    let (printed, usage) = solver.call(file, settings);
    let answer = printed.and_then(|text| {
        let answer = of_text(&text)?;
        Ok((answer, text))
    });
    let (answer, faults) = match answer {
        Ok((answer, text)) => {
            let mut faults = claims(&answer);
            if answer.reached.is_some() {
                let schedule = file.with_extension("answer");
                fs::write(&schedule, text)
                    .with_context(|| format!("can't write {}", schedule.display()))?;
                faults.extend(judged(program, file, &schedule, &answer)?);
            }
            (Some(answer), faults)
        }
        Err(error) => (None, vec![format!("{error:#}")]),
    };
    Ok(Run {
        set: set.to_owned(),
        instance: instance.to_owned(),
        solver: solver.name.clone(),
        version: solver.version.clone(),
        machine: String::new(),
        date: String::new(),
        settings: *settings,
        status: answer.as_ref().map(|answer| answer.status),
        effort: answer.as_ref().map(|answer| answer.effort),
        usage,
        score: Score::Levels {
            reached: answer.as_ref().and_then(|answer| answer.reached),
            bound: answer.as_ref().and_then(|answer| answer.bound),
        },
        faults,
    })
}

fn of_text(text: &str) -> Result<Answer> {
    let object = answer::object(text)?;
    let bounds = &object["bounds"];
    let bound = match bounds {
        Value::Null => None,
        _ => Some([
            number(bounds, "tardiness")?,
            number(bounds, "cost")?,
            number(bounds, "length")?,
        ]),
    };
    Ok(Answer {
        status: answer::status(&object)?,
        reached: measured(&object["measures"])?,
        bound,
        effort: answer::effort(&object)?,
    })
}

/// The three levels of what a schedule measures; cost and drift are one.
fn measured(measures: &Value) -> Result<Option<[i64; 3]>> {
    if measures.is_null() {
        return Ok(None);
    }
    let cost = number(measures, "cost")?.saturating_add(number(measures, "drift")?);
    Ok(Some([number(measures, "tardiness")?, cost, number(measures, "length")?]))
}

fn number(object: &Value, key: &str) -> Result<i64> {
    object[key].as_i64().with_context(|| format!("`{key}` is no whole number"))
}

/// Are the claims at odds with each other?
fn claims(answer: &Answer) -> Vec<String> {
    let mut faults = Vec::new();
    let has = matches!(answer.status, Status::Optimal | Status::Feasible);
    if has != answer.reached.is_some() {
        let what = if has { "measures nothing" } else { "measures something" };
        faults.push(format!("it says {} and {what}", answer.status.word()));
    }
    if let (Some(bound), Some(reached)) = (answer.bound, answer.reached)
        && bound > reached
    {
        faults.push(format!("bounds {bound:?} exceed its own {reached:?}"));
    }
    faults
}

/// The checker's word on a schedule.
fn judged(
    program: &str,
    problem: &Path,
    schedule: &Path,
    answer: &Answer,
) -> Result<Vec<String>> {
    let mut command = Command::new(program);
    command.args(["problem", "judge"]).arg(problem).arg(schedule).arg("--json");
    let output = shell::output(&mut command)?;
    let text = String::from_utf8_lossy(&output.stdout);
    let Ok(verdict) = answer::object(&text) else {
        let complaint = String::from_utf8_lossy(&output.stderr);
        return Ok(vec![format!("it can't be judged: {}", complaint.trim())]);
    };
    of_verdict(&verdict, answer)
}

fn of_verdict(verdict: &Value, answer: &Answer) -> Result<Vec<String>> {
    let breaches = verdict["breaches"].as_array().context("`breaches` is no list")?;
    let words =
        breaches.iter().map(|b| b.as_str().unwrap_or("a rule is broken").to_owned());
    let mut faults: Vec<String> = words.collect();
    if faults.is_empty() && verdict["lawful"] != true {
        faults.push("the checker says unlawful, and no reason".to_owned());
    }
    let measured = measured(&verdict["measures"])?;
    if measured != answer.reached {
        faults.push(format!(
            "it says {:?}, but its schedule measures {measured:?}",
            answer.reached
        ));
    }
    Ok(faults)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    const TEXT: &str = "{\"status\":\"feasible\",\"seconds\":1.5,\"steps\":7,\
        \"measures\":{\"tardiness\":3,\"cost\":5,\"drift\":2,\"length\":40},\
        \"bounds\":{\"tardiness\":3,\"cost\":6,\"length\":38},\"assignments\":[]}";

    #[test]
    fn an_answer_has_three_levels() {
        let answer = of_text(TEXT).unwrap();
        assert_eq!(answer.reached, Some([3, 7, 40]));
        assert_eq!(answer.bound, Some([3, 6, 38]));
        assert!(claims(&answer).is_empty());
        let none = of_text("{\"status\":\"unknown\",\"seconds\":1}").unwrap();
        assert_eq!((none.reached, none.bound), (None, None));
        assert!(claims(&none).is_empty());
        assert!(of_text(&TEXT.replace("40}", "\"long\"}")).is_err());
    }

    #[test]
    fn claims_must_fit_each_other() {
        let bold = of_text(&TEXT.replace("\"cost\":6", "\"cost\":8")).unwrap();
        assert!(claims(&bold)[0].contains("exceed"));
        // A bound of length holds for the least cost, which this schedule does not have.
        let other = of_text(&TEXT.replace("\"length\":38", "\"length\":41")).unwrap();
        assert!(claims(&other).is_empty());
        let silent = of_text("{\"status\":\"feasible\",\"seconds\":1}").unwrap();
        assert!(claims(&silent)[0].contains("measures nothing"));
        let talking = of_text(&TEXT.replace("feasible", "infeasible")).unwrap();
        assert!(claims(&talking)[0].contains("measures something"));
    }

    #[test]
    fn the_checker_has_the_last_word() {
        let answer = of_text(TEXT).unwrap();
        let verdict = |lawful: bool, length: i64, breaches: &[&str]| {
            let measures =
                json!({"tardiness": 3, "cost": 5, "drift": 2, "length": length});
            let verdict =
                json!({"lawful": lawful, "measures": measures, "breaches": breaches});
            of_verdict(&verdict, &answer).unwrap()
        };
        assert!(verdict(true, 40, &[]).is_empty());
        assert_eq!(verdict(false, 40, &["task 1 is late"]), ["task 1 is late"]);
        assert!(verdict(true, 41, &[])[0].contains("measures Some([3, 7, 41])"));
        assert_eq!(verdict(false, 40, &[]).len(), 1);
    }

    #[test]
    fn options_are_checked() {
        let refused = |words: &[&str]| read(words).map(|_| ()).unwrap_err().to_string();
        assert!(refused(&["--small", "0", "--large", "0"]).contains("no problem"));
        assert!(refused(&["--size", "some"]).contains("--size"));
        assert!(refused(&["--small-limit", "soon"]).contains("soon"));
        let request =
            read(&["--seed", "1,2", "--limit", "2s,10s", "--small", "3"]).unwrap();
        assert_eq!(request.settings.len(), 4);
        assert_eq!((request.small, request.large), (3, 10));
        let request =
            read(&["--seed", "1,2", "--limit", "2s,10s", "--command", "c"]).unwrap();
        let groups = groups(&request).unwrap();
        assert_eq!(groups.len(), 2);
        // The limits of the large problems do not multiply the small ones.
        let small: Vec<u64> = groups[0].settings.iter().map(|s| s.seed).collect();
        assert_eq!(small, [1, 2]);
    }
}
