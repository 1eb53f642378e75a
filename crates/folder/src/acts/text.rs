//! Acts as JSON: one object with its word in `act`, or a list of them.

use record::Act;

use crate::acts::{act, known, no_such_act, no_such_field};
use crate::cell::{Cell, Row, Value};
use crate::fields::{Kind, Shape};
use crate::notation::quoted;
use crate::source::json::{Node, Sort, node};
use crate::{Place, Problem};

/// The member that says which act an object is.
pub(crate) const ACT: &str = "act";

const FORM: &str = "write an object such as `{\"act\": \"start\", \"job\": \"ON:ENG-P\"}`, or a list of them";

/// Reads acts of a JSON text: one object `{"act": "sign-step", ...}` with its fields, or a
/// list of such objects, in the order in which they are to be judged. The file is only named
/// in the places of problems.
///
/// # Errors
/// Everything that is wrong with any of them, at once, each at its line and column.
pub fn from_json(text: &str, file: &str) -> Result<Vec<Act>, Vec<Problem>> {
    let place = Place::whole(file);
    let root = node(text, &place).map_err(|problem| vec![problem])?;
    let mut problems = Vec::new();
    let each = match root.sort {
        Sort::List(each) => each,
        Sort::Object(_) => vec![root],
        _ => {
            let what = format!("{} stands where an act is expected", root.noun());
            return Err(vec![Problem::error(&root.place, what).hinting(FORM)]);
        }
    };
    let acts: Vec<Option<Act>> =
        each.into_iter().map(|node| one(node, &mut problems)).collect();
    if problems.is_empty() {
        return Ok(acts.into_iter().flatten().collect());
    }
    problems.sort_by(|one, other| one.place.cmp(&other.place));
    Err(problems)
}

fn one(node: Node, problems: &mut Vec<Problem>) -> Option<Act> {
    let noun = node.noun();
    let Sort::Object(mut members) = node.sort else {
        let what = format!("{noun} stands where an act is expected");
        problems.push(Problem::error(&node.place, what).hinting(FORM));
        return None;
    };
    let Some(at) = members.iter().position(|(name, _, _)| name == ACT) else {
        let what = "this object does not say which act it is";
        problems.push(Problem::error(&node.place, what).hinting(FORM));
        return None;
    };
    let (_, _, word) = members.remove(at);
    let Sort::Text(name) = &word.sort else {
        let what = format!("act: {} stands where a text is expected", word.noun());
        problems.push(Problem::error(&word.place, what).hinting(FORM));
        return None;
    };
    let Some(kind) = known(name) else {
        let (what, hint) = no_such_act(name);
        problems.push(Problem::error(&word.place, what).hinting(hint));
        return None;
    };
    act(&row(kind, members, node.place, problems), problems)
}

fn row(
    kind: &'static Kind,
    members: Vec<(String, Place, Node)>,
    place: Place,
    problems: &mut Vec<Problem>,
) -> Row {
    let mut row = Row::empty(kind, place);
    for (name, at, node) in members {
        let Some(position) = kind.position(&name) else {
            let (what, hint) = no_such_field(kind, &name);
            problems.push(Problem::error(&at, what).hinting(hint));
            continue;
        };
        if row.cells[position].is_some() {
            let what = format!("{} is given twice", quoted(&name));
            problems.push(Problem::error(&at, what).hinting("give it once"));
            continue;
        }
        let place = node.place.clone();
        if matches!(node.sort, Sort::Nothing) {
            row.blanks.push((position, place));
            continue;
        }
        let value = value(kind.fields[position].shape, node, problems);
        if value.is_blank() {
            row.blanks.push((position, place));
        } else {
            row.cells[position] = Some(Cell { value, place });
        }
    }
    row
}

fn value(shape: Shape, node: Node, problems: &mut Vec<Problem>) -> Value {
    let place = node.place;
    match (shape, node.sort) {
        (_, Sort::Text(text)) => Value::Text(text),
        (_, Sort::Flag(flag)) => Value::Bool(flag),
        (_, Sort::Number(digits)) => match digits.parse() {
            Ok(whole) => Value::Int(whole),
            // As it is written, so that nothing is rounded.
            Err(_) => Value::Text(digits),
        },
        (Shape::Row(kind), Sort::Object(members)) => {
            Value::Rows(vec![row(kind, members, place, problems)])
        }
        (Shape::Rows(kind), Sort::List(each)) => {
            let rows = each.into_iter().filter_map(|node| part(kind, node, problems));
            Value::Rows(rows.collect())
        }
        (shape, Sort::List(each)) if shape.is_list() => {
            let cell = |node: Node| {
                let place = node.place.clone();
                Cell { value: value(Shape::Text, node, problems), place }
            };
            Value::Array(each.into_iter().map(cell).collect())
        }
        (_, Sort::Nothing) => {
            Value::Unusable("nothing stands where a value is expected".to_owned())
        }
        (shape, Sort::List(_)) => {
            Value::Unusable(format!("a list stands where {} is expected", shape.noun()))
        }
        (shape, Sort::Object(_)) => Value::Unusable(format!(
            "an object stands where {} is expected",
            shape.noun()
        )),
    }
}

fn part(kind: &'static Kind, node: Node, problems: &mut Vec<Problem>) -> Option<Row> {
    let noun = node.noun();
    if let Sort::Object(members) = node.sort {
        return Some(row(kind, members, node.place, problems));
    }
    let what = format!("{noun} stands where a {} is expected", kind.noun);
    problems
        .push(Problem::error(&node.place, what).hinting("write an object of its fields"));
    None
}
