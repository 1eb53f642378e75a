//! The reference of the acts, for people.

use std::fmt::Write;

use crate::acts::ACTS;
use crate::fields::{Kind, Shape};
use crate::reference::fields;

const INTRODUCTION: &str = include_str!("introduction.md");

/// docs/ACTS.md: how acts are written, and every act with its fields and an example.
pub fn reference() -> String {
    let mut text = INTRODUCTION.to_owned();
    let mut parts: Vec<&'static Kind> = Vec::new();
    for kind in ACTS {
        let (word, doc) = (kind.table, kind.doc);
        // Writing to a text cannot fail.
        let _ = write!(text, "\n## {word}\n\n{doc}\n");
        fields(&mut text, kind);
        let _ = write!(text, "\n```sh\nturnbuckle act --by edith {word}");
        for (name, value) in example(kind) {
            let _ = write!(text, " {}", shell(&format!("{name}={value}")));
        }
        text.push_str("\n```\n");
        for field in kind.fields {
            if let Shape::Row(part) | Shape::Rows(part) = field.shape
                && !parts.contains(&part)
            {
                parts.push(part);
            }
        }
    }
    for part in parts {
        let _ = write!(text, "\n## Part of an act: {}\n\n{}\n", part.noun, part.doc);
        fields(&mut text, part);
    }
    text
}

/// The fields of an example, as they are typed: what must be given, and lists.
pub(crate) fn example(kind: &Kind) -> Vec<(String, String)> {
    let mut pairs = Vec::new();
    for field in kind.fields {
        let (below, part) = match field.shape {
            Shape::Row(part) => (field.name.to_owned(), part),
            // What may be left out is left out.
            Shape::Rows(_) if !field.required => continue,
            Shape::Rows(part) => (format!("{}.1", field.name), part),
            shape if field.required || shape.is_list() => {
                pairs.push((field.name.to_owned(), field.example.to_owned()));
                continue;
            }
            _ => continue,
        };
        for (name, value) in example(part) {
            pairs.push((format!("{below}.{name}"), value));
        }
    }
    pairs
}

/// A word as a shell takes it.
fn shell(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "=:.,/_-".contains(c);
    if word.chars().all(plain) {
        return word.to_owned();
    }
    format!("'{}'", word.replace('\'', r"'\''"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the page shows can be typed as it stands.
    #[test]
    fn every_example_is_an_act() {
        for kind in ACTS {
            let act = crate::acts::from_fields(kind.table, &example(kind));
            let act =
                act.unwrap_or_else(|problems| panic!("{}: {problems:#?}", kind.table));
            assert_eq!(act.word(), kind.table);
        }
    }

    #[test]
    fn a_shell_takes_a_word_as_it_was_meant() {
        assert_eq!(shell("job=ON:ENG-P"), "job=ON:ENG-P");
        assert_eq!(shell("reason=it isn't"), r"'reason=it isn'\''t'");
    }
}
