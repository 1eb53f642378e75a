//! Acts as somebody types them: `step=30`, `checked=assembly; locking`,
//! `certificate.number=4471`, `steps.1.id=10`.

use std::collections::BTreeMap;

use record::Act;

use crate::acts::{act, known, no_such_act, no_such_field};
use crate::cell::{Cell, Row, Value};
use crate::fields::{Kind, Shape};
use crate::notation::{quoted, whole};
use crate::taker::parted;
use crate::{Place, Problem};

/// The fields below one: what stands behind the point, and the value.
type Inner<'a> = Vec<(&'a str, &'a str)>;

/// Makes an act of its word and its fields, as they are typed on a command line.
///
/// Several values of one field are parted by `;`, or the field is given several times. A
/// blank value counts as not given. Fields of a part stand behind a point
/// (`certificate.number`); where there are several, their number comes first (`steps.1.id`).
///
/// # Errors
/// Everything that is wrong, at once; the problems have no place.
pub fn from_fields(word: &str, fields: &[(String, String)]) -> Result<Act, Vec<Problem>> {
    let place = Place::whole(word);
    let mut problems = Vec::new();
    let Some(kind) = known(word.trim()) else {
        let (what, hint) = no_such_act(word.trim());
        let problem = Problem { place: None, ..Problem::error(&place, what) };
        return Err(vec![problem.hinting(hint)]);
    };
    let pairs = fields.iter().map(|(name, value)| (name.trim(), value.trim())).collect();
    let row = row(kind, pairs, &place, &mut problems);
    let act = act(&row, &mut problems).filter(|_| problems.is_empty());
    act.ok_or_else(|| {
        let placeless = |problem| Problem { place: None, ..problem };
        problems.into_iter().map(placeless).collect()
    })
}

fn row(
    kind: &'static Kind,
    pairs: Inner<'_>,
    place: &Place,
    problems: &mut Vec<Problem>,
) -> Row {
    let mut row = Row::empty(kind, place.clone());
    let mut below: BTreeMap<usize, Inner<'_>> = BTreeMap::new();
    for (name, value) in pairs {
        let (own, rest) = match name.split_once('.') {
            Some((own, rest)) => (own, Some(rest)),
            None => (name, None),
        };
        // A command line is often typed with hyphens.
        let Some(at) = kind.position(&own.replace('-', "_")) else {
            let (what, hint) = no_such_field(kind, name);
            problems.push(Problem::error(place, what).hinting(hint));
            continue;
        };
        let nested = matches!(kind.fields[at].shape, Shape::Row(_) | Shape::Rows(_));
        match rest {
            Some(rest) if nested => below.entry(at).or_default().push((rest, value)),
            None if !nested => plain(&mut row, at, value, place, problems),
            _ => {
                let what = if nested {
                    format!("`{own}` is made of parts, and {} is one text", quoted(value))
                } else {
                    format!("`{own}` has no parts, and {} names one", quoted(name))
                };
                let hint =
                    if nested { kind.below(own) } else { format!("write `{own}=...`") };
                problems.push(Problem::error(place, what).hinting(hint));
                row.cells[at] = Some(Cell { value: Value::Bad, place: place.clone() });
            }
        }
    }
    for (at, pairs) in below {
        let value = nested(kind, at, pairs, place, problems);
        row.cells[at] = Some(Cell { value, place: place.clone() });
    }
    row
}

/// A field that is not made of parts. A list may be given bit by bit.
fn plain(
    row: &mut Row,
    at: usize,
    value: &str,
    place: &Place,
    problems: &mut Vec<Problem>,
) {
    if value.is_empty() {
        return;
    }
    let field = &row.kind.fields[at];
    let cell = |value| Cell { value, place: place.clone() };
    if field.shape.is_list() {
        let parts = parted(value).map(|part| cell(Value::Text(whole(&part))));
        if let Some(Cell { value: Value::Array(before), .. }) = &mut row.cells[at] {
            before.extend(parts);
        } else {
            row.cells[at] = Some(cell(Value::Array(parts.collect())));
        }
    } else if row.cells[at].is_some() {
        let what = format!("`{}` is given twice", field.name);
        problems.push(Problem::error(place, what).hinting("give it once"));
    } else {
        row.cells[at] = Some(cell(Value::Text(value.to_owned())));
    }
}

/// The rows below a field.
fn nested(
    kind: &'static Kind,
    at: usize,
    pairs: Inner<'_>,
    place: &Place,
    problems: &mut Vec<Problem>,
) -> Value {
    let field = &kind.fields[at];
    let part = match field.shape {
        Shape::Row(part) => return Value::Rows(vec![row(part, pairs, place, problems)]),
        Shape::Rows(part) => part,
        _ => return Value::Bad,
    };
    let mut numbered: BTreeMap<u32, Inner<'_>> = BTreeMap::new();
    for (name, value) in pairs {
        let split = name.split_once('.');
        let number = split.and_then(|(number, rest)| Some((number.parse().ok()?, rest)));
        if let Some((number, rest)) = number {
            numbered.entry(number).or_default().push((rest, value));
        } else {
            let written = format!("{}.{name}", field.name);
            let what =
                format!("{} does not say which of several it is", quoted(&written));
            let hint = format!(
                "write a number before its field: `{}.1.{}`",
                field.name, part.fields[0].name
            );
            problems.push(Problem::error(place, what).hinting(hint));
        }
    }
    Value::Rows(
        numbered.into_values().map(|pairs| row(part, pairs, place, problems)).collect(),
    )
}
