//! Folders of instances and the best known value of each.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

const BEST: &str = "best_known.csv";
const ENDINGS: [&str; 4] = ["sm", "mm", "sch", "rcp"];

/// What is known of the shortest schedule of an instance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Best {
    /// Proven to have none.
    Infeasible,
    /// Its makespan lies between these, as far as known.
    Between { lower: Option<i64>, upper: Option<i64> },
}

/// One instance.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Case {
    pub(super) name: String,
    pub(super) file: PathBuf,
    pub(super) best: Best,
    /// Length of the critical path, where `cpm.csv` gives it.
    pub(super) critical_path: Option<i64>,
}

/// A folder of instances.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Set {
    /// Its path below the data folder.
    pub(super) name: String,
    /// Its instances in natural order (`x2` before `x10`).
    pub(super) cases: Vec<Case>,
}

/// The sets below a folder; only those wanted, and of the sample, if given.
pub(super) fn find(
    data: &Path,
    wanted: &[String],
    sample: Option<&BTreeSet<String>>,
) -> Result<Vec<Set>> {
    let mut folders = Vec::new();
    walk(data, "", &mut folders)?;
    folders.sort();
    if folders.is_empty() {
        bail!("no folder with a {BEST} lies in {}", data.display());
    }
    let mut sets = Vec::new();
    for name in chosen(&folders, wanted)? {
        let mut set = read(&data.join(name), name)?;
        if let Some(sample) = sample {
            set.cases.retain(|case| sample.contains(&case.name));
        }
        if !set.cases.is_empty() {
            sets.push(set);
        }
    }
    missing(&sets, sample)?;
    Ok(sets)
}

fn missing(sets: &[Set], sample: Option<&BTreeSet<String>>) -> Result<()> {
    let cases = || sets.iter().flat_map(|set| &set.cases);
    if cases().next().is_none() {
        bail!("no instance is left to run");
    }
    let Some(sample) = sample else { return Ok(()) };
    let found: BTreeSet<&str> = cases().map(|case| case.name.as_str()).collect();
    let lost = sample.iter().find(|name| !found.contains(name.as_str()));
    lost.map_or(Ok(()), |name| {
        bail!("the sample names `{name}`, which no chosen set holds")
    })
}

fn walk(data: &Path, name: &str, found: &mut Vec<String>) -> Result<()> {
    let folder = data.join(name);
    if folder.join(BEST).is_file() {
        found.push(name.to_owned());
    }
    let entries = fs::read_dir(&folder)
        .with_context(|| format!("can't list {}", folder.display()))?;
    for entry in entries {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            let child = entry.file_name().to_string_lossy().into_owned();
            let name = if name.is_empty() { child } else { format!("{name}/{child}") };
            walk(data, &name, found)?;
        }
    }
    Ok(())
}

fn chosen<'a>(folders: &'a [String], wanted: &[String]) -> Result<Vec<&'a str>> {
    if wanted.is_empty() {
        return Ok(folders.iter().map(String::as_str).collect());
    }
    wanted.iter().map(|name| one(folders, name)).collect()
}

/// A set by its whole path, or by its folder's name if only one has that name.
fn one<'a>(folders: &'a [String], name: &str) -> Result<&'a str> {
    let named: Vec<&String> =
        folders.iter().filter(|folder| folder.rsplit('/').next() == Some(name)).collect();
    let exact = folders.iter().find(|folder| *folder == name);
    match (exact, named.as_slice()) {
        (Some(folder), _) => Ok(folder),
        (None, [folder]) => Ok(folder),
        (None, []) => bail!("no set `{name}`; there are {}", folders.join(", ")),
        (None, _) => {
            let named: Vec<&str> = named.into_iter().map(String::as_str).collect();
            bail!("`{name}` is several sets; say which of {}", named.join(", "))
        }
    }
}

fn read(folder: &Path, name: &str) -> Result<Set> {
    let best = best_known(&folder.join(BEST))?;
    let paths = critical_paths(&folder.join("cpm.csv"))?;
    let mut cases = Vec::new();
    for entry in fs::read_dir(folder)? {
        let file = entry?.path();
        let ending = file.extension().and_then(|ending| ending.to_str());
        let stem = file.file_stem().and_then(|stem| stem.to_str());
        let (Some(ending), Some(stem)) = (ending, stem) else { continue };
        if ENDINGS.contains(&ending) {
            let unknown = Best::Between { lower: None, upper: None };
            cases.push(Case {
                name: stem.to_owned(),
                best: best.get(stem).copied().unwrap_or(unknown),
                critical_path: paths.get(stem).copied(),
                file,
            });
        }
    }
    cases.sort_by_cached_key(|case| natural(&case.name));
    let name = if name.is_empty() { "." } else { name };
    Ok(Set { name: name.to_owned(), cases })
}

/// Numbers within a name by their size.
pub(super) fn natural(name: &str) -> Vec<(String, u64)> {
    let mut parts = Vec::new();
    let mut rest = name;
    while !rest.is_empty() {
        let digits = rest.find(|letter: char| letter.is_ascii_digit());
        let (text, tail) = rest.split_at(digits.unwrap_or(rest.len()));
        let end = tail.find(|letter: char| !letter.is_ascii_digit());
        let (number, tail) = tail.split_at(end.unwrap_or(tail.len()));
        parts.push((text.to_owned(), number.parse().unwrap_or(0)));
        rest = tail;
    }
    parts
}

fn best_known(file: &Path) -> Result<BTreeMap<String, Best>> {
    table(file, |cells| match cells {
        [_, "infeasible", ..] => Some(Best::Infeasible),
        [_, lower, upper, ..] => {
            let (lower, upper) = (number(lower)?, number(upper)?);
            Some(Best::Between { lower, upper })
        }
        _ => None,
    })
}

fn critical_paths(file: &Path) -> Result<BTreeMap<String, i64>> {
    if !file.exists() {
        return Ok(BTreeMap::new());
    }
    table(file, |cells| cells.get(1).and_then(|cell| cell.parse().ok()))
}

/// An empty cell is an unknown number; the outer option is none if it is no number at all.
#[expect(clippy::option_option, reason = "no number and an unknown number differ")]
fn number(cell: &str) -> Option<Option<i64>> {
    if cell.is_empty() { Some(None) } else { cell.parse().ok().map(Some) }
}

/// Reads a table with a heading line. The columns used hold names and numbers only, so
/// quotes, which later columns may have, don't matter.
fn table<T>(
    file: &Path,
    read: impl Fn(&[&str]) -> Option<T>,
) -> Result<BTreeMap<String, T>> {
    let text = fs::read_to_string(file)
        .with_context(|| format!("can't read {}", file.display()))?;
    let mut rows = BTreeMap::new();
    for (index, line) in text.lines().enumerate().skip(1) {
        let cells: Vec<&str> = line.split(',').map(str::trim).collect();
        if cells == [""] {
            continue;
        }
        let value = read(&cells).with_context(|| {
            format!("{}:{}: `{line}` can't be read", file.display(), index + 1)
        })?;
        rows.insert(cells[0].to_owned(), value);
    }
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for (path, text) in files {
            let file = folder.path().join(path);
            fs::create_dir_all(file.parent().unwrap()).unwrap();
            fs::write(file, text).unwrap();
        }
        folder
    }

    const BEST_KNOWN: &str = "instance,lower,upper,source\n\
        x2,5,6,\"a, b\"\nx10,infeasible,infeasible,c\nx1,,,\n";

    #[test]
    fn a_set_is_read_in_natural_order() {
        let data = folder(&[
            ("a/s/best_known.csv", BEST_KNOWN),
            ("a/s/cpm.csv", "instance,cpm\nx2,4\n"),
            ("a/s/x10.sch", ""),
            ("a/s/x2.sch", ""),
            ("a/s/x1.sch", ""),
            ("a/s/notes.txt", ""),
            ("a/other/x9.sm", ""),
        ]);
        let sets = find(data.path(), &["s".to_owned()], None).unwrap();
        let [set] = sets.as_slice() else { panic!("one set") };
        assert_eq!(set.name, "a/s");
        let names: Vec<&str> = set.cases.iter().map(|case| case.name.as_str()).collect();
        assert_eq!(names, ["x1", "x2", "x10"]);
        assert_eq!(set.cases[0].best, Best::Between { lower: None, upper: None });
        assert_eq!(set.cases[1].best, Best::Between { lower: Some(5), upper: Some(6) });
        assert_eq!(set.cases[1].critical_path, Some(4));
        assert_eq!(set.cases[2].best, Best::Infeasible);
    }

    #[test]
    fn names_must_lead_to_one_set() {
        let data = folder(&[
            ("a/s/best_known.csv", BEST_KNOWN),
            ("a/s/x1.sm", ""),
            ("b/s/best_known.csv", BEST_KNOWN),
            ("b/s/x2.sm", ""),
        ]);
        let find = |name: &str| find(data.path(), &[name.to_owned()], None);
        assert!(find("s").unwrap_err().to_string().contains("a/s, b/s"));
        assert!(find("t").unwrap_err().to_string().contains("no set `t`"));
        assert_eq!(find("b/s").unwrap()[0].cases[0].name, "x2");
    }

    #[test]
    fn a_sample_must_be_found_whole() {
        let data = folder(&[("s/best_known.csv", BEST_KNOWN), ("s/x1.sm", "")]);
        let sample = |names: &[&str]| {
            let names = names.iter().map(|&name| name.to_owned()).collect();
            find(data.path(), &[], Some(&names))
        };
        assert_eq!(sample(&["x1"]).unwrap()[0].cases.len(), 1);
        assert!(sample(&["x1", "x7"]).unwrap_err().to_string().contains("x7"));
    }

    #[test]
    fn a_broken_table_is_told_by_line() {
        let data = folder(&[("s/best_known.csv", "instance,lower,upper\nx1,five,6\n")]);
        let error = find(data.path(), &[], None).unwrap_err().to_string();
        assert!(error.contains("best_known.csv:2"), "{error}");
        let empty = folder(&[("s/x1.sm", "")]);
        assert!(find(empty.path(), &[], None).is_err());
    }
}
