//! The rest of the programme around one list, as rows that it can be held against.

use record::Programme;

use crate::cell::Row;
use crate::fields::{KINDS, Kind, PROGRAMME, Record};
use crate::lists::out;
use crate::place::Spot;
use crate::read::files::Lists;
use crate::source::{Contents, toml};
use crate::things::write_info;
use crate::write::single_toml;
use crate::{Place, Problem};

/// How a place is named that is in no file.
const RECORD: &str = ", as the record has it";

/// All lists of a programme, with one in place of its own.
pub(super) fn lists(
    programme: &Programme,
    kind: &'static Kind,
    contents: Contents,
) -> Lists {
    let mut lists = Lists::default();
    if let Some(info) = &programme.info {
        let place = Place::whole(&format!("programme{RECORD}"));
        lists.put(&PROGRAMME, read(&PROGRAMME, &write_info(info), &place, true));
    }
    for other in KINDS.into_iter().filter(|other| other.noun != kind.noun) {
        let records = out::records(programme, other);
        let rows = records.iter().flat_map(|record| rows(other, record)).collect();
        lists.put(other, Contents { rows, broken: false });
    }
    lists.put(kind, contents);
    lists
}

/// The row of a thing that the programme has.
pub(super) fn rows(kind: &'static Kind, record: &Record) -> Vec<Row> {
    let place = Place::whole(&format!("{} {}{RECORD}", kind.noun, out::name(record)));
    read(kind, record, &place, false).rows
}

fn read(kind: &'static Kind, record: &Record, place: &Place, alone: bool) -> Contents {
    // What we write, we read: nothing can be wrong with it.
    toml::rows(kind, &single_toml(kind, record, alone), place, &mut Vec::new())
}

/// A line of what we wrote ourselves tells nobody anything.
pub(super) fn place(problem: &mut Problem) {
    if let Some(place) = &mut problem.place
        && place.file.ends_with(RECORD)
    {
        place.spot = Spot::Whole;
    }
}
