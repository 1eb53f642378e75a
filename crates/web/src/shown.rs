//! Pages as somebody wants to see them: days in their form, conversions beside quantities.
//!
//! This is done once, on a finished page, so that no page forgets it. Only what is read
//! changes: never what a form holds or sends, what a link leads to, or what a program reads.
//! What is to stay as it stands says `data-as-is`.

use app::Preferences;
use maud::{Markup, PreEscaped};

use crate::links::encoded;

/// What holds text that is sent, drawn or quoted letter by letter.
const AS_IS: [&str; 8] =
    ["script", "style", "textarea", "option", "pre", "code", "svg", "title"];

/// Elements that have no end.
const VOID: [&str; 9] =
    ["area", "br", "col", "hr", "img", "input", "link", "meta", "source"];

/// A page, or a part of one, as somebody prefers it.
pub(crate) fn shown(page: Markup, prefers: &Preferences) -> Markup {
    if prefers.change_nothing() {
        return page;
    }
    let mut done = String::with_capacity(page.0.len() + page.0.len() / 16);
    // The element that stays as it is and how often its name is open; the last link.
    let mut kept: Option<(&str, usize)> = None;
    let mut link = None;
    let mut rest = page.0.as_str();
    while !rest.is_empty() {
        let Some(tag) = rest.strip_prefix('<') else {
            let (text, after) = rest.split_at(rest.find('<').unwrap_or(rest.len()));
            if kept.is_some() || link.is_some_and(|link| is_named(link, text)) {
                done.push_str(text);
            } else {
                done.push_str(&prefers.shown(text));
            }
            rest = after;
            continue;
        };
        let (tag, after) = tag.split_at(end_of_tag(tag));
        let name = tag.trim_start_matches('/');
        let name = &name
            [..name.find(|c: char| !c.is_ascii_alphanumeric()).unwrap_or(name.len())];
        let ends = tag.starts_with('/');
        kept = match kept {
            Some((open, depth)) if open == name && ends => {
                (depth > 1).then(|| (open, depth - 1))
            }
            Some((open, depth)) if open == name => Some((open, depth + 1)),
            None if !ends && !VOID.contains(&name) && stays(name, tag) => Some((name, 1)),
            other => other,
        };
        link = if ends || name != "a" { None } else { attribute(tag, "href") };
        done.push('<');
        done.push_str(tag);
        rest = after;
    }
    PreEscaped(done)
}

/// Where the inside of a tag ends: a `>` in an attribute ends none.
fn end_of_tag(tag: &str) -> usize {
    let mut quoted = false;
    let end = tag.find(|c| {
        quoted ^= c == '"';
        c == '>' && !quoted
    });
    end.map_or(tag.len(), |end| end + 1)
}

fn stays(name: &str, tag: &str) -> bool {
    AS_IS.contains(&name) || tag.contains(" data-as-is")
}

fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    let (_, value) = tag.split_once(&format!(" {name}=\""))?;
    value.split('"').next()
}

/// Whether the text of a link is the name of what it leads to.
fn is_named(link: &str, text: &str) -> bool {
    let last = link.split(['?', '#']).next().and_then(|path| path.rsplit('/').next());
    let plain = text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"");
    last.is_some_and(|last| last == encoded(&plain.replace("&amp;", "&")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn metric(page: &str) -> String {
        let chosen = |name: &str| match name {
            "units" => Some("metric"),
            "dates" => Some("day-first"),
            _ => None,
        };
        let prefers = Preferences::from_words(chosen);
        shown(PreEscaped(page.to_owned()), &prefers).into_string()
    }

    #[test]
    fn what_is_read_is_shown_as_preferred() {
        for (page, expected) in [
            ("<p>until 2032-01-14</p>", "<p>until 14/01/2032</p>"),
            ("<td><b>3/16 in</b></td>", "<td><b>3/16 in (4.7625 mm)</b></td>"),
            ("1 &lt; 2 in", "1 &lt; 2 in (50.8 mm)"),
            (
                "<a href=\"/x?on=2032-01-14\">2032-01-14</a>",
                "<a href=\"/x?on=2032-01-14\">14/01/2032</a>",
            ),
            ("<p title=\"a > 2032-01-14\">ä</p>", "<p title=\"a > 2032-01-14\">ä</p>"),
            (
                "<br>2032-01-14<br data-as-is>2032-01-14",
                "<br>14/01/2032<br data-as-is>14/01/2032",
            ),
        ] {
            assert_eq!(metric(page), expected);
        }
    }

    #[test]
    fn what_is_sent_named_or_quoted_stays() {
        for page in [
            "<input value=\"2032-01-14\">",
            "<textarea>2032-01-14</textarea>",
            "<select><option>2032-01-14</option></select>",
            "<svg><g><text>2032-01-14</text></g></svg>",
            "<code>2032-01-14</code>",
            "<a href=\"/show/cards/3%20in%20%26%20F\">3 in &amp; F</a>",
            "<p data-as-is>as <b>2032-01-14</b></p>",
            "<div data-as-is><div>a</div>2032-01-14<div>2032-01-14</div></div>",
            "<p>`2032-01-14` is no day</p>",
            "<p",
        ] {
            assert_eq!(metric(page), page);
        }
        // And what comes after it does not.
        let after = "<div data-as-is><div>a</div></div><p>2032-01-14</p>";
        assert!(metric(after).ends_with("<p>14/01/2032</p>"));
    }

    #[test]
    fn whoever_chose_nothing_is_sent_the_page_as_it_was_made() {
        let page = "<p>2032-01-14, 3/16 in</p>";
        let same = shown(PreEscaped(page.to_owned()), &Preferences::default());
        assert_eq!(same.into_string(), page);
    }
}
