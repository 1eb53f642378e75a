//! Commands, and the entries that they become.

use airframe::{Note, Severity};

use crate::Programme;
pub use crate::programme::Entry;

/// Something that somebody wants to change.
#[derive(Debug, Clone, PartialEq)]
pub enum Command {
    /// From now on the programme is as this one says, whatever it takes.
    Restate(Box<Programme>),
    /// One change.
    Change(Entry),
}

/// What a command changed, in numbers, for people.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The noun of the kind of thing.
    pub noun: &'static str,
    /// Names that are new.
    pub added: Vec<String>,
    /// Names whose things changed.
    pub changed: Vec<String>,
    /// Names that are gone.
    pub retired: Vec<String>,
}

/// Checks a command against the programme. Either all of it may happen, and the entries
/// say what happens, or nothing of it, and the notes say why: every error at once.
pub fn decide(programme: &Programme, command: &Command) -> Result<Vec<Entry>, Vec<Note>> {
    let entries = match command {
        Command::Restate(wanted) => programme.changes_to(wanted),
        Command::Change(entry) => vec![entry.clone()],
    };
    let mut after = programme.clone();
    for entry in &entries {
        after.apply(entry);
    }
    let mut errors: Vec<Note> = after
        .check()
        .into_iter()
        .filter(|note| note.severity == Severity::Error)
        .collect();
    errors.extend(crate::shop::lost(programme, &after));
    if errors.is_empty() { Ok(entries) } else { Err(errors) }
}

/// What entries change about a programme as it stood before them, kind by kind.
pub fn difference(before: &Programme, entries: &[Entry]) -> Vec<Difference> {
    let mut differences: Vec<Difference> = Vec::new();
    for entry in entries {
        let (noun, name, retired) = entry.about();
        let position = differences.iter().position(|d| d.noun == noun);
        let position = position.unwrap_or_else(|| {
            differences.push(Difference {
                noun,
                added: Vec::new(),
                changed: Vec::new(),
                retired: Vec::new(),
            });
            differences.len() - 1
        });
        let difference = &mut differences[position];
        let list = match (retired, before.has(entry)) {
            (true, _) => &mut difference.retired,
            (false, true) => &mut difference.changed,
            (false, false) => &mut difference.added,
        };
        list.push(name);
    }
    differences
}
