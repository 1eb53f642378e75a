//! A page held against what HTML asks for: elements close in order, ids are one each, what
//! refers to an id finds it, every control has a name that can be read out.
//!
//! HTML, the living standard: 13.1.2 (elements, void elements), 3.2.6 (the id attribute);
//! WCAG 2.2: 1.3.1, 2.4.2, 3.1.1, 3.3.2, 4.1.2.

use std::collections::BTreeSet;

/// Elements that have no end tag (HTML, 13.1.2).
const VOID: [&str; 7] = ["meta", "link", "input", "br", "hr", "img", "col"];

struct Tag {
    name: String,
    attributes: Vec<(String, String)>,
    closes: bool,
    /// It ends with `/>`, as elements of SVG may (HTML, 13.1.2.1).
    alone: bool,
}

impl Tag {
    fn get(&self, name: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(found, _)| found == name);
        found.map(|(_, value)| value.as_str())
    }
}

/// The tags of a page as maud writes them: attributes in double quotes, or without a value.
fn tags(page: &str) -> Vec<Tag> {
    let mut tags = Vec::new();
    let mut rest = page.strip_prefix("<!DOCTYPE html>").expect("a doctype");
    while let Some(at) = rest.find('<') {
        let text = &rest[..at];
        assert!(!text.contains('>'), "a bare sign in {text}");
        let mut end = at + 1;
        let mut quoted = false;
        for (offset, c) in rest[at + 1..].char_indices() {
            match c {
                '"' => quoted = !quoted,
                '>' if !quoted => {
                    end = at + 1 + offset;
                    break;
                }
                _ => {}
            }
        }
        tags.push(tag(&rest[at + 1..end]));
        rest = &rest[end + 1..];
    }
    tags
}

fn tag(inner: &str) -> Tag {
    let closes = inner.starts_with('/');
    let alone = inner.ends_with('/');
    let inner = inner.trim_start_matches('/').trim_end_matches('/');
    let (name, mut rest) = inner.split_once(' ').unwrap_or((inner, ""));
    let mut attributes = Vec::new();
    while !rest.trim().is_empty() {
        rest = rest.trim_start();
        let end = rest.find(['=', ' ']).unwrap_or(rest.len());
        let name = rest[..end].to_owned();
        rest = &rest[end..];
        let mut value = String::new();
        if let Some(after) = rest.strip_prefix("=\"") {
            let end = after.find('"').expect("a closing quote");
            after[..end].clone_into(&mut value);
            rest = &after[end + 1..];
        }
        attributes.push((name, value));
    }
    Tag { name: name.to_owned(), attributes, closes, alone }
}

/// The links of a page that stay on this server: where each leads, and to which place there.
pub(crate) fn links(page: &str) -> Vec<(String, Option<String>)> {
    let tags = tags(page);
    let ways = tags.iter().filter(|tag| tag.name == "a" && !tag.closes);
    let ways = ways.filter_map(|tag| tag.get("href")).map(unescaped);
    let own = |way: &String| !way.contains("://") && !way.starts_with("mailto:");
    ways.filter(own)
        .map(|way| match way.split_once('#') {
            Some((to, place)) => (to.to_owned(), Some(place.to_owned())),
            None => (way, None),
        })
        .collect()
}

/// What maud wrote for signs that HTML keeps for itself.
fn unescaped(value: &str) -> String {
    value
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&amp;", "&")
}

/// Everything that is wrong with a page.
pub(crate) fn faults(page: &str) -> Vec<String> {
    let tags = tags(page);
    let mut faults = nesting(&tags);
    let (mut ids, mut labels) = (BTreeSet::new(), BTreeSet::new());
    for tag in tags.iter().filter(|tag| !tag.closes) {
        if let Some(id) = tag.get("id")
            && !ids.insert(id)
        {
            faults.push(format!("the id {id} stands twice"));
        }
        labels.extend(tag.get("for"));
        let mut names = BTreeSet::new();
        for (name, _) in &tag.attributes {
            if !names.insert(name) {
                faults.push(format!("{} has {name} twice", tag.name));
            }
            let inline = name == "style" || name.starts_with("on");
            if inline {
                faults.push(format!("{} has {name}, which is forbidden", tag.name));
            }
        }
    }
    for tag in tags.iter().filter(|tag| !tag.closes) {
        let refers = ["for", "aria-describedby", "aria-labelledby", "list"];
        for id in
            refers.iter().filter_map(|name| tag.get(name)).flat_map(str::split_whitespace)
        {
            if !ids.contains(id) {
                faults.push(format!("{} refers to {id}, which is not there", tag.name));
            }
        }
    }
    faults.extend(nameless(&tags, &labels));
    for (what, there) in [
        ("a language", tags.iter().any(|t| t.name == "html" && t.get("lang").is_some())),
        ("a title", tags.iter().any(|t| t.name == "title")),
        ("one main", tags.iter().filter(|t| t.name == "main" && !t.closes).count() == 1),
        ("one h1", tags.iter().filter(|t| t.name == "h1" && !t.closes).count() == 1),
    ] {
        if !there {
            faults.push(format!("the page lacks {what}"));
        }
    }
    faults
}

fn nesting(tags: &[Tag]) -> Vec<String> {
    let mut faults = Vec::new();
    let mut open: Vec<&str> = Vec::new();
    let whole = |tag: &&Tag| !tag.alone && !VOID.contains(&tag.name.as_str());
    for tag in tags.iter().filter(whole) {
        if !tag.closes {
            let inside = |name: &str| open.contains(&name);
            let twice = match tag.name.as_str() {
                "a" | "button" => inside("a") || inside("button"),
                "form" => inside("form"),
                "p" | "div" | "ul" | "section" | "table" | "fieldset" => inside("p"),
                _ => false,
            };
            if twice {
                faults.push(format!("{} stands where it may not: {open:?}", tag.name));
            }
            open.push(&tag.name);
        } else if open.pop() != Some(tag.name.as_str()) {
            faults.push(format!("{} closes what is not open", tag.name));
            return faults;
        }
    }
    if !open.is_empty() {
        faults.push(format!("not closed: {open:?}"));
    }
    faults
}

/// Controls that nothing names: no label for them, around them, or on them.
fn nameless(tags: &[Tag], labels: &BTreeSet<&str>) -> Vec<String> {
    let (mut faults, mut inside) = (Vec::new(), 0_usize);
    for tag in tags {
        match (tag.name.as_str(), tag.closes) {
            ("label", false) => inside += 1,
            ("label", true) => inside -= 1,
            ("input" | "select" | "textarea", false) => {
                let hidden = tag.get("type") == Some("hidden");
                let named = inside > 0
                    || tag.get("id").is_some_and(|id| labels.contains(id))
                    || tag.get("aria-label").is_some();
                if !hidden && !named {
                    faults.push(format!("{:?} has no label", tag.get("name")));
                }
            }
            _ => {}
        }
    }
    faults
}

#[test]
fn faults_are_found() {
    let page = |body: &str| {
        format!(
            "<!DOCTYPE html><html lang=\"en\"><head><title>t</title></head><body><main>\
             <h1>h</h1>{body}</main></body></html>"
        )
    };
    assert_eq!(
        faults(&page("<p>a</p><label for=\"x\">l</label><input id=\"x\">")),
        [""; 0]
    );
    for (body, fault) in [
        ("<p>", "not open"),
        ("<b id=\"x\"></b><b id=\"x\"></b>", "stands twice"),
        ("<input name=\"n\">", "no label"),
        ("<p style=\"a\"></p>", "forbidden"),
        ("<p class=\"a\" class=\"b\"></p>", "class twice"),
        ("<input aria-label=\"l\" list=\"gone\">", "not there"),
        ("<a href=\"/\"><button>b</button></a>", "may not"),
        ("<h1>2</h1>", "one h1"),
    ] {
        let found = faults(&page(body)).join("; ");
        assert!(found.contains(fault), "{body}: {found}");
    }
}
