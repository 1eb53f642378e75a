//! Which files of a folder hold which lists.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use quantity::Id;

use crate::cell::{Cell, Row, Value};
use crate::fields::{Form, KINDS, Kind, PROGRAMME, Shape};
use crate::nearest::nearest;
use crate::source::{Contents, Suffix, contents};
use crate::{Place, Problem};

/// The lists of a folder, by the noun of what they list.
#[derive(Default)]
pub(crate) struct Lists {
    contents: BTreeMap<&'static str, Contents>,
}

/// The kind of a name, whatever it names.
enum Any {}

impl quantity::Kind for Any {
    const NOUN: &'static str = "thing";
}

/// Endings of files that hold lists, which are not read.
const OTHER_FORMS: [&str; 11] =
    ["xls", "xlsm", "xlsb", "ods", "numbers", "tsv", "txt", "json", "yaml", "yml", "tml"];

/// Reads every list of a folder; nothing if it is not a folder at all.
pub(crate) fn lists(folder: &Path, problems: &mut Vec<Problem>) -> Option<Lists> {
    let names = match names(folder) {
        Ok(names) => names,
        Err(problem) => {
            problems.push(problem);
            return None;
        }
    };
    let mut found: BTreeMap<&'static str, Vec<(String, Suffix)>> = BTreeMap::new();
    for name in &names {
        if let Some((kind, suffix)) = sort(folder, name, problems) {
            found.entry(kind.noun).or_default().push((name.clone(), suffix));
        }
    }
    if !found.contains_key(PROGRAMME.noun)
        && !names.iter().any(|name| name == "programme.toml")
    {
        problems.push(no_programme(found.is_empty()));
    }
    let mut lists = Lists { contents: BTreeMap::new() };
    for kind in std::iter::once(&PROGRAMME).chain(KINDS) {
        let files = found.remove(kind.noun).unwrap_or_default();
        let contents = list(folder, kind, &files, problems);
        lists.contents.insert(kind.noun, contents);
    }
    Some(lists)
}

fn names(folder: &Path) -> Result<Vec<String>, Problem> {
    let place = Place::whole(&folder.display().to_string());
    let fault = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => Problem::error(&place, "there is no such folder")
            .hinting(
                "look for a slip in its name, or write a new one with `turnbuckle new`",
            ),
        std::io::ErrorKind::NotADirectory => {
            Problem::error(&place, "this is a file and not a folder")
                .hinting("name the folder that holds programme.toml")
        }
        _ => Problem::error(&place, format!("the folder cannot be read: {error}")),
    };
    let mut names = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(fault)? {
        names.push(entry.map_err(fault)?.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    Ok(names)
}

fn no_programme(empty: bool) -> Problem {
    let what = if empty {
        "the folder holds no programme: there is no programme.toml in it"
    } else {
        "there is no programme.toml, which says what the programme is about"
    };
    Problem::error(&Place::whole("programme.toml"), what)
        .hinting("write a new folder with `turnbuckle new`, or add programme.toml with a table [programme]")
}

/// Which list a file is, if it is one. Photographs, notes and hidden files are not.
fn sort(
    folder: &Path,
    name: &str,
    problems: &mut Vec<Problem>,
) -> Option<(&'static Kind, Suffix)> {
    if name.starts_with(['.', '~']) {
        return None;
    }
    let (stem, ending) = name.rsplit_once('.')?;
    let place = Place::whole(name);
    let stem = stem.to_lowercase();
    let kinds = || std::iter::once(&PROGRAMME).chain(KINDS);
    let kind = kinds().find(|kind| kind.file == stem);
    let suffix = Suffix::of(ending);
    match (kind, suffix) {
        (Some(kind), Some(suffix)) => {
            if folder.join(name).is_dir() {
                let what = "this is a folder and not a file";
                problems
                    .push(Problem::error(&place, what).hinting("give it another name"));
                return None;
            }
            if kind.form == Form::TomlOnly && suffix != Suffix::Toml {
                let what = format!(
                    "{} are only read as TOML: they hold tables within tables",
                    kind.file
                );
                problems.push(
                    Problem::error(&place, what)
                        .hinting(format!("write {}.toml", kind.file)),
                );
                return None;
            }
            Some((kind, suffix))
        }
        (Some(kind), None) if OTHER_FORMS.contains(&ending.to_lowercase().as_str()) => {
            let what = format!("files that end in .{ending} are not read");
            problems.push(
                Problem::error(&place, what)
                    .hinting(format!("save it as {}", forms(kind))),
            );
            None
        }
        (None, Some(_)) => {
            let stems = kinds().map(|kind| kind.file);
            let hint = nearest(&stem, stems).map_or_else(
                || "files of a programme are named after what they list".to_owned(),
                |near| format!("did you mean `{near}.{ending}`?"),
            );
            problems.push(
                Problem::warning(&place, "this file is not read: no list has its name")
                    .hinting(hint),
            );
            None
        }
        _ => None,
    }
}

fn forms(kind: &Kind) -> String {
    match kind.form {
        Form::TomlOnly | Form::Act | Form::Part => format!("{}.toml", kind.file),
        Form::Toml | Form::Csv => format!("{0}.csv, {0}.xlsx or {0}.toml", kind.file),
    }
}

fn list(
    folder: &Path,
    kind: &'static Kind,
    files: &[(String, Suffix)],
    problems: &mut Vec<Problem>,
) -> Contents {
    if let [first, others @ ..] = files {
        for (other, _) in others {
            let what =
                format!("the {} are given twice: in {} and here", kind.file, first.0);
            problems.push(
                Problem::error(&Place::whole(other), what).hinting("keep one of the two"),
            );
        }
        let path: PathBuf = folder.join(&first.0);
        let mut contents =
            contents(&path, first.1, kind, &Place::whole(&first.0), problems);
        contents.broken |= !others.is_empty();
        return contents;
    }
    // A list that has a file, though no usable one, is not merely empty.
    let whole = |problem: &Problem| {
        problem.severity == airframe::Severity::Error
            && problem.place.as_ref().is_some_and(|place| {
                place.file.to_lowercase().split('.').next() == Some(kind.file)
            })
    };
    Contents { rows: Vec::new(), broken: problems.iter().any(whole) }
}

impl Lists {
    /// Puts down what is listed of a kind.
    pub(crate) fn put(&mut self, kind: &'static Kind, contents: Contents) {
        self.contents.insert(kind.noun, contents);
    }

    /// The rows of a kind.
    pub(crate) fn rows(&self, noun: &str) -> &[Row] {
        self.contents.get(noun).map_or(&[], |contents| &contents.rows)
    }

    /// Whether some things of a kind may be missing from its rows.
    pub(crate) fn is_broken(&self, noun: &str) -> bool {
        self.contents.get(noun).is_some_and(|contents| contents.broken)
    }

    /// The names of the things of a kind, and how many things have none that can be read.
    pub(crate) fn named(&self, noun: &str) -> (BTreeSet<String>, usize) {
        let spelt = |name: &String| Id::<Any>::new(name).is_ok();
        let rows = self.rows(noun);
        let names: Vec<String> =
            rows.iter().filter_map(|row| row.name().filter(spelt)).collect();
        let nameless = rows.len() - names.len();
        (names.into_iter().collect(), nameless)
    }

    /// Every name by which rows refer to a kind.
    pub(crate) fn wanted(&self, noun: &str) -> BTreeSet<String> {
        let mut names = BTreeSet::new();
        for row in self.contents.values().flat_map(|contents| &contents.rows) {
            wanted(row, noun, &mut names);
        }
        names
    }
}

fn wanted(row: &Row, noun: &str, names: &mut BTreeSet<String>) {
    for (at, (field, cell)) in row.kind.fields.iter().zip(&row.cells).enumerate() {
        let Some(cell) = cell else { continue };
        // Its own name is no reference.
        let own = at == 0 && row.kind.noun == noun;
        if let Value::Rows(rows) = &cell.value {
            for row in rows {
                wanted(row, noun, names);
            }
        } else if refers(field.shape, noun) && !own {
            words(cell, names);
        }
    }
}

fn refers(shape: Shape, noun: &str) -> bool {
    match shape {
        Shape::Name(of) | Shape::Names(of) => of == noun,
        Shape::Needs => noun == "item",
        Shape::Crew | Shape::Ways => noun == "skill",
        Shape::JobKey | Shape::JobKeys => {
            ["item", "finding", "check", "job", "route", "connection"].contains(&noun)
        }
        _ => false,
    }
}

fn words(cell: &Cell, names: &mut BTreeSet<String>) {
    match &cell.value {
        Value::Text(text) => names.extend(names_in(text).map(str::to_owned)),
        Value::Array(cells) => cells.iter().for_each(|cell| words(cell, names)),
        _ => {}
    }
}

/// Whatever in a text is spelt like a name.
pub(crate) fn names_in(text: &str) -> impl Iterator<Item = &str> {
    let sign = |c: char| !(c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/'));
    text.split(sign).filter(|word| !word.is_empty())
}
