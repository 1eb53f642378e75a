//! A small checker of well-formedness (XML 1.0, section 2.1): tags nest, attributes are
//! quoted and unique, references are known, characters are lawful.

/// One element as it starts.
#[derive(Debug, Clone)]
pub(crate) struct Element {
    /// Its name.
    pub(crate) name: String,
    /// Its attributes, references resolved.
    pub(crate) attributes: Vec<(String, String)>,
    /// The text directly within it, references resolved.
    pub(crate) text: String,
}

impl Element {
    /// The value of an attribute.
    pub(crate) fn get(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(n, _)| n == name).map(|(_, value)| value.as_str())
    }

    /// Whether the element has that class.
    pub(crate) fn is(&self, class: &str) -> bool {
        self.get("class").is_some_and(|all| all.split(' ').any(|one| one == class))
    }
}

/// Reads a document; an error says what is wrong and where.
pub(crate) fn read(document: &str) -> Result<Vec<Element>, String> {
    if let Some(c) = document.chars().find(|c| !lawful(*c)) {
        return Err(format!("unlawful character U+{:04X}", c as u32));
    }
    let mut out: Vec<Element> = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    let mut rest = document.strip_prefix("<!DOCTYPE html>").unwrap_or(document);
    while let Some(start) = rest.find('<') {
        text(&rest[..start], &open, &mut out)?;
        rest = &rest[start + 1..];
        let end = end_of_tag(rest).ok_or_else(|| format!("open tag: {}", head(rest)))?;
        let tag = &rest[..end];
        rest = &rest[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            let at = open.pop().ok_or_else(|| format!("</{name}> closes nothing"))?;
            if out[at].name != name {
                return Err(format!("</{name}> closes <{}>", out[at].name));
            }
            continue;
        }
        let (tag, closed) = tag.strip_suffix('/').map_or((tag, false), |tag| (tag, true));
        out.push(element(tag)?);
        if !closed {
            open.push(out.len() - 1);
        }
    }
    text(rest, &open, &mut out)?;
    match open.last() {
        Some(at) => Err(format!("<{}> is never closed", out[*at].name)),
        None => Ok(out),
    }
}

fn text(raw: &str, open: &[usize], out: &mut [Element]) -> Result<(), String> {
    let resolved = resolve(raw)?;
    match open.last() {
        Some(at) => out[*at].text.push_str(&resolved),
        None if raw.trim().is_empty() => {}
        None => return Err(format!("text outside the root: {}", head(raw))),
    }
    Ok(())
}

fn end_of_tag(rest: &str) -> Option<usize> {
    let mut quoted = false;
    rest.char_indices().find_map(|(at, c)| {
        if c == '"' {
            quoted = !quoted;
        }
        (c == '>' && !quoted).then_some(at)
    })
}

fn element(tag: &str) -> Result<Element, String> {
    let name_end = tag.find(char::is_whitespace).unwrap_or(tag.len());
    let name = &tag[..name_end];
    if name.is_empty() || !name.chars().all(|c| c.is_ascii_alphanumeric()) {
        return Err(format!("no element name: <{}", head(tag)));
    }
    let mut attributes: Vec<(String, String)> = Vec::new();
    let mut rest = tag[name_end..].trim_start();
    while !rest.is_empty() {
        let (name, after) =
            rest.split_once("=\"").ok_or_else(|| format!("unquoted: {}", head(rest)))?;
        let (value, after) =
            after.split_once('"').ok_or_else(|| format!("open quote: {}", head(rest)))?;
        if value.contains('<') {
            return Err(format!("< in attribute {name}"));
        }
        if attributes.iter().any(|(known, _)| known == name) {
            return Err(format!("attribute {name} twice"));
        }
        attributes.push((name.to_owned(), resolve(value)?));
        rest = after.trim_start();
    }
    Ok(Element { name: name.to_owned(), attributes, text: String::new() })
}

fn resolve(raw: &str) -> Result<String, String> {
    let mut out = String::new();
    let mut rest = raw;
    while let Some(at) = rest.find('&') {
        out.push_str(&rest[..at]);
        rest = &rest[at..];
        let known = [
            ("&lt;", '<'),
            ("&gt;", '>'),
            ("&amp;", '&'),
            ("&quot;", '"'),
            ("&#39;", '\''),
        ];
        let (name, c) = known
            .into_iter()
            .find(|(name, _)| rest.starts_with(name))
            .ok_or_else(|| format!("unknown reference: {}", head(rest)))?;
        out.push(c);
        rest = &rest[name.len()..];
    }
    out.push_str(rest);
    Ok(out)
}

fn lawful(c: char) -> bool {
    matches!(c, '\t' | '\n' | '\r' | ' '..='\u{D7FF}' | '\u{E000}'..='\u{FFFD}' | '\u{10000}'..)
}

fn head(raw: &str) -> String {
    raw.chars().take(40).collect()
}
