//! JSON, with the place of every value.
//!
//! The library says whether a text is JSON at all; what it is made of is then walked
//! through here, because the library keeps neither places nor members that are given twice.

use crate::{Place, Problem};

/// A value and where it begins.
#[derive(Debug)]
pub(crate) struct Node {
    pub(crate) sort: Sort,
    pub(crate) place: Place,
}

/// What a value is.
#[derive(Debug)]
pub(crate) enum Sort {
    Nothing,
    Flag(bool),
    /// A number as it is written.
    Number(String),
    Text(String),
    List(Vec<Node>),
    /// Each member with its name and the place of that.
    Object(Vec<(String, Place, Node)>),
}

impl Node {
    /// What it is, in words.
    pub(crate) const fn noun(&self) -> &'static str {
        match self.sort {
            Sort::Nothing => "null",
            Sort::Flag(_) => "true or false",
            Sort::Number(_) => "a number",
            Sort::Text(_) => "a text",
            Sort::List(_) => "a list",
            Sort::Object(_) => "an object",
        }
    }
}

/// Reads a text, or says where it stops being JSON.
pub(crate) fn node(text: &str, place: &Place) -> Result<Node, Problem> {
    let text = text.strip_prefix('\u{FEFF}').unwrap_or(text);
    if let Err(error) = serde_json::from_str::<serde_json::Value>(text) {
        return Err(not_json(text, &error, place));
    }
    let mut walk = Walk { rest: text, line: 1, column: 1, place };
    Ok(walk.value())
}

fn not_json(text: &str, error: &serde_json::Error, place: &Place) -> Problem {
    let line = error.line().max(1);
    // The library counts bytes, and people count characters.
    let within = text.split('\n').nth(line - 1).unwrap_or_default();
    let bytes = error.column().min(within.len());
    let column = within.char_indices().filter(|(at, _)| *at < bytes).count().max(1);
    let at = place.at(line as u32, column as u32);
    let message = error.to_string();
    let why = message.split(" at line ").next().unwrap_or_default();
    Problem::error(&at, format!("the text is not JSON: {why}"))
        .hinting("look for a comma, a quote or a bracket that is missing or too much")
}

/// A way through a text that is known to be JSON.
struct Walk<'a> {
    rest: &'a str,
    line: u32,
    column: u32,
    place: &'a Place,
}

impl<'a> Walk<'a> {
    fn value(&mut self) -> Node {
        self.blanks();
        let place = self.here();
        let sort = match self.rest.chars().next() {
            Some('{') => self.object(),
            Some('[') => self.list(),
            Some('"') => Sort::Text(self.text()),
            _ => match self.bare() {
                "true" => Sort::Flag(true),
                "false" => Sort::Flag(false),
                "null" => Sort::Nothing,
                number => Sort::Number(number.to_owned()),
            },
        };
        Node { sort, place }
    }

    fn object(&mut self) -> Sort {
        let mut members = Vec::new();
        while self.goes_on('}') {
            let place = self.here();
            let name = self.text();
            self.blanks();
            // The colon.
            self.pass(1);
            members.push((name, place, self.value()));
        }
        Sort::Object(members)
    }

    fn list(&mut self) -> Sort {
        let mut each = Vec::new();
        while self.goes_on(']') {
            each.push(self.value());
        }
        Sort::List(each)
    }

    /// Passes the bracket or comma before the next of several, or the bracket behind the
    /// last.
    fn goes_on(&mut self, end: char) -> bool {
        self.blanks();
        if !self.rest.starts_with(end) {
            self.pass(1);
            self.blanks();
        }
        let ends = self.rest.is_empty() || self.rest.starts_with(end);
        if ends {
            self.pass(end.len_utf8());
        }
        !ends
    }

    fn text(&mut self) -> String {
        let mut escaped = false;
        let end = self.rest.char_indices().skip(1).find(|(_, c)| {
            let closes = *c == '"' && !escaped;
            escaped = *c == '\\' && !escaped;
            closes
        });
        let raw = self.pass(end.map_or(self.rest.len(), |(at, _)| at + 1));
        serde_json::from_str(raw).unwrap_or_default()
    }

    fn bare(&mut self) -> &'a str {
        let end = |c: char| c.is_whitespace() || matches!(c, ',' | ']' | '}');
        self.pass(self.rest.find(end).unwrap_or(self.rest.len()))
    }

    fn blanks(&mut self) {
        let blanks = self.rest.len() - self.rest.trim_start().len();
        self.pass(blanks);
    }

    /// Goes on by so many bytes, and counts the lines and columns.
    fn pass(&mut self, bytes: usize) -> &'a str {
        let (passed, rest) = self.rest.split_at(bytes.min(self.rest.len()));
        for c in passed.chars() {
            if c == '\n' {
                (self.line, self.column) = (self.line + 1, 1);
            } else {
                self.column += 1;
            }
        }
        self.rest = rest;
        passed
    }

    fn here(&self) -> Place {
        self.place.at(self.line, self.column)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use serde_json::Value as J;

    use super::*;

    /// What the library makes of the same.
    fn value(node: &Node) -> J {
        match &node.sort {
            Sort::Nothing => J::Null,
            Sort::Flag(flag) => J::Bool(*flag),
            Sort::Number(digits) => serde_json::from_str(digits).unwrap(),
            Sort::Text(text) => J::String(text.clone()),
            Sort::List(each) => J::Array(each.iter().map(value).collect()),
            Sort::Object(members) => J::Object(
                members
                    .iter()
                    .map(|(name, _, node)| (name.clone(), value(node)))
                    .collect(),
            ),
        }
    }

    fn json() -> impl Strategy<Value = J> {
        let plain = prop_oneof![
            Just(J::Null),
            any::<bool>().prop_map(J::from),
            any::<i64>().prop_map(J::from),
            // The library may round others by their last bit.
            any::<i32>().prop_map(|n| J::from(f64::from(n) / 8.0)),
            "[a\\\\\"{}\\[\\],: \n\tß中]{0,6}".prop_map(J::from),
        ];
        plain.prop_recursive(4, 24, 4, |inner| {
            let list = prop::collection::vec(inner.clone(), 0..4);
            let object = prop::collection::btree_map("[a-c\"\\\\]{0,3}", inner, 0..4);
            prop_oneof![
                list.prop_map(J::from),
                object.prop_map(|members| J::Object(members.into_iter().collect())),
            ]
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn it_is_what_the_library_reads(json in json(), pretty in any::<bool>()) {
            let text = if pretty { format!("{json:#}") } else { json.to_string() };
            let node = node(&text, &Place::whole("x")).unwrap();
            prop_assert_eq!(value(&node), json);
        }

        #[test]
        fn any_text_is_survived(text in "[\\[\\]{}:,\"\\\\a1.e\\- \n]{0,20}") {
            let place = Place::whole("x");
            let json = serde_json::from_str::<J>(&text).is_ok();
            prop_assert_eq!(node(&text, &place).is_ok(), json);
        }
    }

    #[test]
    fn places_count_lines_and_characters() {
        let text = "\u{FEFF}{\n  \"ß\": [1,\n \"é\", null] }";
        let root = node(text, &Place::whole("x.json")).unwrap();
        let Sort::Object(members) = &root.sort else { panic!("no object") };
        let Sort::List(each) = &members[0].2.sort else { panic!("no list") };
        let places: Vec<String> = [&root.place, &members[0].1, &members[0].2.place]
            .into_iter()
            .chain(each.iter().map(|node| &node.place))
            .map(ToString::to_string)
            .collect();
        assert_eq!(
            places,
            [
                "x.json:1:1",
                "x.json:2:3",
                "x.json:2:8",
                "x.json:2:9",
                "x.json:3:2",
                "x.json:3:7"
            ]
        );
    }
}
