//! Where names lead.

use std::collections::{BTreeMap, BTreeSet};

use app::{Programme, Searchable, Thing};
use maud::{Markup, PreEscaped, html};

use crate::pages::{aircraft, attachment};

/// All that has a name, and where it leads.
#[derive(Debug, Default)]
pub(crate) struct Index {
    pub(crate) things: Vec<Thing>,
    pub(crate) searchable: Searchable,
    by_noun: BTreeSet<(&'static str, String)>,
    by_name: BTreeMap<String, &'static str>,
    /// Files that the record names, by their digests.
    files: BTreeSet<String>,
}

impl Index {
    pub(crate) fn new(programme: &Programme) -> Self {
        let things = app::things(programme);
        let by_noun = things.iter().map(|thing| (thing.noun, thing.name.clone()));
        // Of two things with one name, the one with a page of its own is meant.
        let mut by_name = BTreeMap::new();
        for thing in &things {
            let paged = sheet_of(thing.noun).is_some();
            if paged || !by_name.contains_key(&thing.name) {
                by_name.insert(thing.name.clone(), thing.noun);
            }
        }
        let files = app::files_named(programme);
        let searchable = Searchable::new(programme);
        Self { by_noun: by_noun.collect(), by_name, files, things, searchable }
    }

    /// A token as a link, if it names something.
    fn token(&self, noun: Option<&'static str>, token: &str) -> Markup {
        if self.files.contains(token) {
            return html! { a.file href=(attachment::path(token)) { "file " (&token[..8]) "…" } };
        }
        let own = noun.filter(|noun| self.has(noun, token));
        let other = || self.by_name.get(token).copied().filter(|_| is_telling(token));
        let found = own.or_else(other);
        found.map_or_else(|| html! { (token) }, |noun| link(noun, token))
    }

    fn has(&self, noun: &'static str, name: &str) -> bool {
        self.by_noun.contains(&(noun, name.to_owned()))
    }

    /// A text in which every name leads to its page. Names of the column's own kind are
    /// links whatever they look like, others only if no word of a sentence looks like them.
    pub(crate) fn linked(&self, column: &str, text: &str) -> Markup {
        let noun = noun_of(column);
        if let Some(noun) = noun.filter(|noun| self.has(noun, text)) {
            return link(noun, text);
        }
        if column == AS_WRITTEN {
            return html! { span data-as-is { (text) } };
        }
        let parts = tokens(text).into_iter().map(|token| self.token(noun, token));
        PreEscaped(parts.map(PreEscaped::into_string).collect())
    }
}

/// The column of what was written, letter by letter.
const AS_WRITTEN: &str = "as it was written";

/// The parts of a text: words that may be names, and what stands between them.
fn tokens(text: &str) -> Vec<&str> {
    let is_sign = |c: char| c.is_whitespace() || matches!(c, ',' | ';' | '(' | ')');
    let mut tokens = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let sign = is_sign(first);
        let end = rest.find(|c| is_sign(c) != sign).unwrap_or(rest.len());
        let (token, after) = rest.split_at(end);
        let word = token.trim_end_matches([':', '.']);
        let (word, tail) = token.split_at(if sign { token.len() } else { word.len() });
        tokens.extend([word, tail].into_iter().filter(|part| !part.is_empty()));
        rest = after;
    }
    tokens
}

/// Whether something looks like a name and not like a word.
fn is_telling(token: &str) -> bool {
    token.chars().count() >= 3
        && !token.chars().any(char::is_lowercase)
        && token.chars().any(char::is_alphabetic)
        || token.contains(':')
}

/// What a column names.
fn noun_of(column: &str) -> Option<&'static str> {
    Some(match column {
        "finding" | "raised" | "makes good the temporary repair of" => "finding",
        "item" | "still to be looked at" => "item",
        "card" | "job" => "card",
        "gate" | "allows" => "gate",
        "person" | "who" | "by" | "at it" | "people" | "from" | "to" | "signed"
        | "inspected" | "again" | "issued" | "certified complete" | "tagged"
        | "classed" | "opened" | "cleared" | "loss cleared" | "adopted by" | "secret" => {
            "person"
        }
        "tool" | "instrument" | "tools out" => "tool",
        "condition" => "requirement",
        "pack" => "pack",
        "zone" => "zone",
        "firm" => "firm",
        "examination" => "examination",
        "batch" => "batch",
        "letter" => "letter",
        "season" | "until" => "season",
        _ => return None,
    })
}

/// The sheet of a thing of a kind, if it has one of its own.
pub(crate) fn sheet_of(noun: &str) -> Option<&'static str> {
    Some(match noun {
        "item" => "parts",
        "finding" => "findings",
        "card" => "cards",
        "gate" => "gates",
        "person" => "people",
        "tool" => "tools",
        "examination" => "ndt",
        "season" => "plan",
        _ => return None,
    })
}

/// The path of a thing's page: its sheet, or else its history.
pub(crate) fn path_of(noun: &str, name: &str) -> String {
    match sheet_of(noun) {
        Some("gates") => format!("/gates/{}", encoded(name)),
        None if noun == "zone" => aircraft::zone_path(name),
        Some(sheet) => format!("/show/{sheet}/{}", encoded(name)),
        None => format!("/history/{}", encoded(name)),
    }
}

/// A link to a thing's page.
pub(crate) fn link(noun: &str, name: &str) -> Markup {
    html! { a href=(path_of(noun, name)) { (name) } }
}

/// A text as a part of a path or of a query.
pub(crate) fn encoded(text: &str) -> String {
    use std::fmt::Write;
    text.bytes().fold(String::new(), |mut done, byte| {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            done.push(char::from(byte));
        } else {
            // Writing to a text cannot fail.
            let _ = write!(done, "%{byte:02X}");
        }
        done
    })
}

/// Pairs as a query, with its question mark; nothing for none.
pub(crate) fn query<'a>(pairs: impl IntoIterator<Item = (&'a str, &'a str)>) -> String {
    let pairs: Vec<String> = pairs
        .into_iter()
        .map(|(name, value)| format!("{}={}", encoded(name), encoded(value)))
        .collect();
    if pairs.is_empty() { String::new() } else { format!("?{}", pairs.join("&")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn index(names: &[(&'static str, &str)]) -> Index {
        let by_noun = names.iter().map(|(noun, name)| (*noun, (*name).to_owned()));
        let by_name = names.iter().map(|(noun, name)| ((*name).to_owned(), *noun));
        Index {
            things: Vec::new(),
            searchable: Searchable::default(),
            by_noun: by_noun.collect(),
            by_name: by_name.collect(),
            files: BTreeSet::from(["0f".repeat(32)]),
        }
    }

    #[test]
    fn names_are_links_and_words_are_not() {
        let index = index(&[
            ("item", "MAG-LP"),
            ("person", "OP"),
            ("card", "ON:X y"),
            ("tool", "it"),
        ]);
        for (column, text, shown) in [
            (
                "what",
                "MAG-LP: it is off.",
                "<a href=\"/show/parts/MAG-LP\">MAG-LP</a>: it is off.",
            ),
            ("what", "OP", "OP"),
            ("who", "OP, TR", "<a href=\"/show/people/OP\">OP</a>, TR"),
            ("card", "ON:X y", "<a href=\"/show/cards/ON%3AX%20y\">ON:X y</a>"),
            (
                "what",
                "<b> & MAG-LP",
                "&lt;b&gt; &amp; <a href=\"/show/parts/MAG-LP\">MAG-LP</a>",
            ),
            ("tool", "it", "<a href=\"/show/tools/it\">it</a>"),
            (
                "photograph",
                &"0f".repeat(32),
                &format!(
                    "<a class=\"file\" href=\"/attachments/{}\">file 0f0f0f0f…</a>",
                    "0f".repeat(32)
                ),
            ),
            ("problem", &"1f".repeat(32), &"1f".repeat(32)),
        ] {
            assert_eq!(index.linked(column, text).into_string(), shown);
        }
    }

    #[test]
    fn a_path_holds_any_name() {
        assert_eq!(path_of("card", "F/1:ä"), "/show/cards/F%2F1%3A%C3%A4");
        assert_eq!(path_of("zone", "HULL"), "/aircraft/zone/HULL");
        assert_eq!(path_of("pack", "HULL"), "/history/HULL");
        assert_eq!(query([("a", "1 2"), ("b&", "")]), "?a=1%202&b%26=");
    }
}
