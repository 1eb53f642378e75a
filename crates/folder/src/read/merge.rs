//! From rows to a programme that is checked as a whole.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Component, Path};
use std::sync::Arc;

use airframe::{Note, Severity};
use record::{Actual, Named, Programme, Register, Shop};

use crate::cell::{Row, Value};
use crate::fields::{KINDS, PROGRAMME};
use crate::nearest::nearest;
use crate::read::files::{Lists, names_in};
use crate::taker::take;
use crate::things::{Thing, read_info};
use crate::{Place, Problem};

/// For how many names the nearest is sought: each costs a look at every name.
const SOUGHT: usize = 200;

/// What is gathered on the way.
struct Merge<'a> {
    lists: &'a Lists,
    problems: &'a mut Vec<Problem>,
    /// Every row that has a name, by what it is and its name.
    rows: BTreeMap<(&'static str, String), &'a Row>,
    /// Names of things of which something could not be read: what is said about them would
    /// only repeat that.
    doubtful: BTreeSet<String>,
}

/// Makes a programme of the rows and says everything that is wrong with it.
pub(crate) fn programme(
    folder: Option<&Path>,
    lists: &Lists,
    fitting: bool,
    problems: &mut Vec<Problem>,
) -> Programme {
    let mut merge =
        Merge { lists, problems, rows: BTreeMap::new(), doubtful: BTreeSet::new() };
    let programme = merge.things();
    merge.doubt();
    if fitting {
        merge.check(&programme);
        merge.photographs(folder, &programme);
    }
    programme
}

impl<'a> Merge<'a> {
    fn things(&mut self) -> Programme {
        let info = self.lists.rows(PROGRAMME.noun).first().and_then(|row| {
            self.rows.insert((PROGRAMME.noun, String::new()), row);
            take(row, self.problems, read_info)
        });
        Programme {
            info: info.map(Arc::new),
            gates: self.register(),
            skills: self.register(),
            zones: self.register(),
            stands: self.register(),
            places: self.register(),
            gear: self.register(),
            arrangements: self.register(),
            items: self.register(),
            connections: self.register(),
            checks: self.register(),
            people: self.register(),
            firms: self.register(),
            routes: self.register(),
            seasons: self.register(),
            packs: self.register(),
            findings: self.register(),
            jobs: self.register(),
            actuals: self.register(),
            tools: self.register(),
            requirements: self.register(),
            rules: self.register(),
            retention: self.register(),
            outlines: self.register(),
            shop: Shop::default(),
        }
    }

    /// The things of one kind.
    fn register<T: Thing>(&mut self) -> Register<T> {
        let noun = T::KIND.noun;
        let mut things = Vec::new();
        for row in self.lists.rows(noun) {
            let first = row.name().is_none_or(|name| self.enter(noun, name, row));
            match take(row, self.problems, T::read) {
                Some(thing) if first => things.push(thing),
                Some(_) => {}
                None => self.doubtful.extend(row.name()),
            }
        }
        things.into_iter().collect()
    }

    /// Notes where a thing stands, unless another has its name.
    fn enter(&mut self, noun: &'static str, name: String, row: &'a Row) -> bool {
        self.enter_parts(&name, row);
        if let Some(first) = self.rows.get(&(noun, name.clone())) {
            let key = row.kind.fields[0].name;
            let what = format!("the {noun} `{name}` is defined a second time");
            let hint = format!("the first one is at {}", first.place_of(key));
            self.problems.push(Problem::error(row.place_of(key), what).hinting(hint));
            return false;
        }
        self.rows.insert((noun, name), row);
        true
    }

    /// Steps and points have names within their thing.
    fn enter_parts(&mut self, name: &str, row: &'a Row) {
        for cell in row.cells.iter().flatten() {
            let Value::Rows(parts) = &cell.value else { continue };
            for part in parts {
                if let Some(own) = part.name() {
                    let key = (part.kind.noun, format!("{name}:{own}"));
                    self.rows.entry(key).or_insert(part);
                }
            }
        }
    }

    /// Names of things that may be defined where nobody could read it.
    fn doubt(&mut self) {
        for kind in std::iter::once(&PROGRAMME).chain(KINDS) {
            let noun = kind.noun;
            if self.lists.is_broken(noun) {
                self.doubtful.extend(self.lists.wanted(noun));
                continue;
            }
            let (defined, nameless) = self.lists.named(noun);
            if nameless == 0 || noun == Actual::NOUN {
                continue;
            }
            let mut unknown: Vec<String> = self
                .lists
                .wanted(noun)
                .into_iter()
                .filter(|name| !defined.contains(name))
                .collect();
            // It may be a nameless thing that is meant, unless another one is near.
            if unknown.len() <= SOUGHT {
                let known = || defined.iter().map(String::as_str);
                unknown.retain(|name| nearest(name, known()).is_none());
                if unknown.len() <= nameless {
                    self.doubtful.extend(unknown);
                }
            }
        }
    }

    fn check(&mut self, programme: &Programme) {
        let complete = self.doubtful.is_empty() && self.problems.iter().all(is_warning);
        let mut sought = 0;
        for note in programme.check() {
            // A warning is often about something that is not there: it may be there and
            // not readable yet.
            let repeats =
                self.repeats(&note) || note.severity == Severity::Warning && !complete;
            if !repeats {
                let place = self.place(&note);
                let better = if sought < SOUGHT { self.advice(&note) } else { None };
                sought += usize::from(better.is_some());
                let hint = better.or(note.hint);
                let Note { severity, subject, what, hint: _ } = note;
                let what =
                    if place.is_some() { what } else { format!("{subject}: {what}") };
                self.problems.push(Problem { place, severity, what, hint });
            }
        }
    }

    /// Photographs are named as paths within the folder.
    fn photographs(&mut self, folder: Option<&Path>, programme: &Programme) {
        for finding in programme.findings.iter() {
            let Some(photograph) = &finding.photograph else { continue };
            let Some(row) = self.rows.get(&("finding", finding.id.to_string())) else {
                continue;
            };
            let place = row.place_of("photograph");
            let path = Path::new(photograph);
            let plain = |part: Component<'_>| {
                matches!(part, Component::Normal(_) | Component::CurDir)
            };
            if !path.components().all(plain) {
                let what = format!(
                    "the photograph `{photograph}` is not a path within the folder"
                );
                let hint = "write the path from the folder on: `photographs/f-0112.jpg`";
                self.problems.push(Problem::error(place, what).hinting(hint));
            } else if folder.is_some_and(|folder| !folder.join(path).is_file()) {
                let what = format!("there is no photograph `{photograph}` in the folder");
                self.problems.push(Problem::warning(place, what));
            }
        }
    }

    /// Better advice about a name that does not exist, where rows that could not be read
    /// have names too.
    fn advice(&self, note: &Note) -> Option<String> {
        let unknown = note.what.strip_prefix("there is no ")?;
        let found = |hint: &String| hint.ends_with(" meant?");
        if self.doubtful.is_empty() || note.hint.as_ref().is_some_and(found) {
            return None;
        }
        let (noun, name) = KINDS.iter().find_map(|kind| {
            let name = unknown.strip_prefix(kind.noun)?.strip_prefix(' ')?;
            Some((kind.noun, name))
        })?;
        let (defined, _) = self.lists.named(noun);
        match nearest(name, defined.iter().map(String::as_str)) {
            Some(near) => Some(format!("is {near} meant?")),
            None if defined.is_empty() => None,
            None => Some(format!("define it, or take it out of {}", note.subject.field)),
        }
    }

    /// Whether a note only follows from something that was reported already.
    fn repeats(&self, note: &Note) -> bool {
        let noun = note.subject.noun;
        let unread = note.subject.id.is_empty() && self.unread(noun);
        unread
            || names_in(&note.subject.id).any(|name| self.doubtful.contains(name))
            || names_in(&note.what).any(|name| self.doubtful.contains(name))
    }

    /// Whether the thing of which there is only one could not be read.
    fn unread(&self, noun: &str) -> bool {
        let file = |place: &Place| place.file.to_lowercase().starts_with(PROGRAMME.file);
        let spoilt = |problem: &Problem| {
            !is_warning(problem) && problem.place.as_ref().is_some_and(file)
        };
        noun == PROGRAMME.noun
            && (self.lists.rows(noun).is_empty() || self.problems.iter().any(spoilt))
    }

    fn place(&self, note: &Note) -> Option<Place> {
        let subject = &note.subject;
        // A point of an arrangement is named behind its arrangement.
        if let Some((whole, part)) = subject.id.split_once(", point ")
            && let Some(row) = self.rows.get(&("point", format!("{whole}:{part}")))
        {
            return Some(row.place_of(subject.field).clone());
        }
        let row = self.rows.get(&(subject.noun, subject.id.clone())).or_else(|| {
            let whole = subject.id.split(':').next().unwrap_or_default();
            KINDS.iter().find_map(|kind| self.rows.get(&(kind.noun, whole.to_owned())))
        })?;
        let field = if subject.field == "points" { "point" } else { subject.field };
        Some(row.place_of(field).clone())
    }
}

fn is_warning(problem: &Problem) -> bool {
    problem.severity == Severity::Warning
}
