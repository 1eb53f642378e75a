//! Text on its way into a format: escaping, dates in words, and how wide it will be.

use std::borrow::Cow;
use std::fmt::Write as _;

use jiff::civil::{Date, DateTime, Weekday};

/// The text with `<`, `>`, `&` and both quotes escaped, and with what XML 1.0 (section
/// 2.2, production Char) doesn't allow replaced by U+FFFD, so that the loss is seen.
///
/// Marks that turn the direction of the text around it (U+202A to U+202E, U+2066 to
/// U+2069) are left out: one unclosed mark in a name would reorder the rest of the line.
pub(crate) fn escape(raw: &str) -> Cow<'_, str> {
    if !raw.chars().any(needs_care) {
        return Cow::Borrowed(raw);
    }
    let mut out = String::with_capacity(raw.len() + 16);
    for c in raw.chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' => {}
            c if lawful(c) => out.push(c),
            _ => out.push('\u{FFFD}'),
        }
    }
    Cow::Owned(out)
}

/// The text on one line: every run of white space becomes one blank, ends are trimmed.
pub(crate) fn one_line(raw: &str) -> String {
    let mut out = String::with_capacity(raw.len());
    for word in raw.split_whitespace() {
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(word);
    }
    out
}

/// The text with characters that XML 1.0 forbids replaced by U+FFFD, else as it is.
pub(crate) fn lawful_text(raw: &str) -> Cow<'_, str> {
    if raw.chars().all(lawful) {
        return Cow::Borrowed(raw);
    }
    Cow::Owned(raw.chars().map(|c| if lawful(c) { c } else { '\u{FFFD}' }).collect())
}

/// `Mon 5 Jan`.
pub(crate) fn day(date: Date) -> String {
    format!("{} {} {}", weekday(date), date.day(), month(date.month()))
}

/// `Mon 5 Jan 2032`.
pub(crate) fn day_and_year(date: Date) -> String {
    format!("{} {}", day(date), date.year())
}

/// `Mon 5 Jan 08:00`.
pub(crate) fn moment(at: DateTime) -> String {
    format!("{} {:02}:{:02}", day(at.date()), at.hour(), at.minute())
}

/// `Mon 5 Jan 2032 08:00`.
pub(crate) fn moment_and_year(at: DateTime) -> String {
    format!("{} {:02}:{:02}", day_and_year(at.date()), at.hour(), at.minute())
}

/// `2032-01-05T08:00`.
pub(crate) fn iso(at: DateTime) -> String {
    let mut out = String::with_capacity(16);
    let _ = write!(out, "{}T{:02}:{:02}", at.date(), at.hour(), at.minute());
    out
}

/// `Jan`.
pub(crate) fn month(number: i8) -> &'static str {
    const NAMES: [&str; 12] = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov",
        "Dec",
    ];
    NAMES.get((number - 1) as usize).copied().unwrap_or("")
}

/// `January`.
pub(crate) fn month_in_full(number: i8) -> &'static str {
    const NAMES: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    NAMES.get((number - 1) as usize).copied().unwrap_or("")
}

fn weekday(date: Date) -> &'static str {
    match date.weekday() {
        Weekday::Monday => "Mon",
        Weekday::Tuesday => "Tue",
        Weekday::Wednesday => "Wed",
        Weekday::Thursday => "Thu",
        Weekday::Friday => "Fri",
        Weekday::Saturday => "Sat",
        Weekday::Sunday => "Sun",
    }
}

/// How wide the text is in a plain sans-serif face of that size, on the wide side, so
/// that what is said to fit does fit.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    text.chars().map(advance).sum::<f64>() * size
}

/// As much of the text as fits, with an ellipsis if some was cut; `None` if that would
/// leave fewer than `least` characters of it.
pub(crate) fn fit(
    text: &str,
    size: f64,
    room: f64,
    least: usize,
) -> Option<Cow<'_, str>> {
    if width(text, size) <= room {
        return (!text.is_empty()).then_some(Cow::Borrowed(text));
    }
    let mut left = room - advance('…') * size;
    let mut end = 0;
    let mut count = 0;
    for (at, c) in text.char_indices() {
        left -= advance(c) * size;
        if left < 0.0 {
            break;
        }
        end = at + c.len_utf8();
        count += 1;
    }
    (count >= least.max(1)).then(|| Cow::Owned(format!("{}…", text[..end].trim_end())))
}

/// The advance of one character as a part of the type size.
fn advance(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' => 0.29,
        'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '/' | '-' | '"' | '`' => 0.36,
        'm' | 'M' | 'W' | '%' | '@' | '…' | '—' => 0.95,
        'w' | 'C'..='D' | 'G'..='H' | 'N'..='O' | 'Q'..='R' | 'U' | '▲' | '▼' => 0.76,
        'A'..='Z' | '&' => 0.69,
        c if (c as u32) < 0x0250 => 0.58,
        c if (c as u32) < 0x1100 => 0.68,
        _ => 1.05,
    }
}

fn needs_care(c: char) -> bool {
    matches!(c, '<' | '>' | '&' | '"' | '\'')
        || matches!(c, '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
        || !lawful(c)
}

/// XML 1.0, production Char; the C1 controls are lawful there but print nothing, and
/// HTML counts them as an error, so they go too.
fn lawful(c: char) -> bool {
    match c {
        '\t' | '\n' | '\r' => true,
        '\0'..='\u{1F}' | '\u{7F}'..='\u{9F}' | '\u{FFFE}' | '\u{FFFF}' => false,
        c => (c as u32) & 0xFFFE != 0xFFFE,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn dates_are_said_as_in_a_workshop() {
        // 1 January 2000 was a Saturday.
        assert_eq!(day(date(2000, 1, 1)), "Sat 1 Jan");
        assert_eq!(moment(date(2032, 1, 5).at(8, 5, 0, 0)), "Mon 5 Jan 08:05");
        assert_eq!(iso(date(2032, 1, 5).at(8, 5, 0, 0)), "2032-01-05T08:05");
    }

    #[test]
    fn escaping_leaves_plain_text_alone() {
        assert!(matches!(escape("a plain name"), Cow::Borrowed(_)));
        assert_eq!(
            escape("<a b='c'>&\"\0\u{202e}d"),
            "&lt;a b=&#39;c&#39;&gt;&amp;&quot;\u{fffd}d"
        );
    }

    #[test]
    fn text_is_cut_to_the_room() {
        assert_eq!(fit("wing", 10.0, 100.0, 1).as_deref(), Some("wing"));
        let cut = fit("starboard wing", 10.0, 50.0, 3).expect("some of it fits");
        assert!(cut.ends_with('…') && width(&cut, 10.0) <= 50.0);
        assert_eq!(fit("starboard wing", 10.0, 20.0, 3), None);
        assert_eq!(fit("", 10.0, 20.0, 1), None);
    }
}
