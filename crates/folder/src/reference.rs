//! The reference of the folder, for people.

use std::fmt::Write;

use record::RuleKey;

use crate::fields::{Field, Form, KINDS, Kind, PROGRAMME, RULE, Shape};
use crate::schema::only_toml;

const INTRODUCTION: &str = include_str!("reference/introduction.md");

/// docs/FOLDER.md: an introduction, the notations, and every field of every kind.
pub fn reference() -> String {
    let mut text = INTRODUCTION.to_owned();
    for kind in std::iter::once(&PROGRAMME).chain(KINDS) {
        section(&mut text, kind);
        if *kind == RULE {
            rules(&mut text);
        }
        for field in kind.fields {
            if let Shape::Rows(part) = field.shape {
                part_section(&mut text, kind, part);
            }
        }
    }
    text
}

fn section(text: &mut String, kind: &Kind) {
    let file = match kind.form {
        _ if kind.table == "programme" => {
            "`programme.toml`, one table `[programme]`".to_owned()
        }
        _ if only_toml(kind) => {
            format!("`{}.toml` only, tables `[[{}]]`", kind.file, kind.table)
        }
        Form::Csv => format!(
            "`{0}.csv`, `{0}.xlsx`, or `{0}.toml` with tables `[[{1}]]`",
            kind.file, kind.table
        ),
        _ => format!(
            "`{0}.toml` with tables `[[{1}]]`, `{0}.csv` or `{0}.xlsx`",
            kind.file, kind.table
        ),
    };
    paragraph(text, &format!("\n## {}\n\nIn {file}. {}\n", kind.file, kind.doc));
    fields(text, kind);
}

/// What each rule says, since the programme only names it.
fn rules(text: &mut String) {
    text.push_str("\nThe rules, and which of them may be off:\n\n");
    for rule in RuleKey::ALL {
        let off = if rule.may_be_off() { " It may be off." } else { "" };
        // Writing to a text cannot fail.
        let _ = writeln!(text, "- `{rule}`: {}.{off}", rule.says());
    }
}

fn part_section(text: &mut String, whole: &Kind, part: &Kind) {
    let head = format!(
        "\n### {}: {}\n\nTables `[[{}.{}]]`. {}\n",
        whole.file, part.table, whole.table, part.table, part.doc
    );
    paragraph(text, &head);
    fields(text, part);
}

fn paragraph(text: &mut String, words: &str) {
    text.push_str(words);
}

pub(crate) fn fields(text: &mut String, kind: &Kind) {
    text.push_str(
        "\n| field | | holds | meaning | for instance |\n|---|---|---|---|---|\n",
    );
    for field in kind.fields {
        let required = if field.required { "must" } else { "" };
        let example = if field.example.is_empty() {
            String::new()
        } else {
            format!("`{}`", bar(field.example))
        };
        // Writing to a text cannot fail.
        let _ = writeln!(
            text,
            "| `{}` | {required} | {} | {} | {example} |",
            field.name,
            holds(field),
            bar(field.doc)
        );
    }
}

/// A bar would end the cell of the table.
fn bar(text: &str) -> String {
    text.replace('|', "\\|")
}

fn holds(field: &Field) -> String {
    let words = |words: &[&str]| {
        words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ")
    };
    match field.shape {
        // A list as long as this one stands below the table.
        Shape::OneOf(list) if list.len() == RuleKey::ALL.len() => "a rule".to_owned(),
        Shape::Row(part) => format!("an object: the {}", part.noun),
        Shape::Rows(part) if part.form == Form::Part => {
            format!("a list of objects, one for each {}", part.noun)
        }
        Shape::Name(noun) => format!("name of a {noun}"),
        Shape::Names(noun) => format!("names of {noun}s"),
        Shape::OneOf(list) => format!("one of {}", words(list)),
        Shape::SomeOf(list) => format!("some of {}", words(list)),
        shape => shape.noun().to_owned(),
    }
    .replace("lifting gears", "lifting gear")
    .replace("of a item", "of an item")
    .replace("of a arrangement", "of an arrangement")
    .replace("of a authority", "of an authority")
    .replace("of a outline", "of an outline")
}
