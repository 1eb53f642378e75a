//! Dates within texts, as files of a programme have them: `2031-10-06`.

use jiff::Span;
use jiff::civil::Date;

const LENGTH: usize = "2031-10-06".len();

/// The first date of a text.
pub(super) fn first(text: &str) -> Option<Date> {
    let mut places = text.char_indices().map(|(at, _)| at);
    places.find_map(|at| date_at(text, at))
}

/// A text with all of its dates some days later.
pub(super) fn moved(text: &str, days: i64) -> String {
    let (mut moved, mut rest) = (String::with_capacity(text.len()), 0);
    for (at, _) in text.char_indices() {
        let later = |date: Date| date.checked_add(Span::new().days(days)).ok();
        if at >= rest
            && let Some(date) = date_at(text, at).and_then(later)
        {
            moved.push_str(&text[rest..at]);
            moved.push_str(&date.to_string());
            rest = at + LENGTH;
        }
    }
    moved.push_str(&text[rest..]);
    moved
}

/// A date that begins at a place, and is no part of a longer number or word.
fn date_at(text: &str, at: usize) -> Option<Date> {
    let found = text.get(at..at + LENGTH)?;
    let apart =
        |near: Option<char>| near.is_none_or(|c| !c.is_alphanumeric() && c != '-');
    let digits = found.bytes().filter(u8::is_ascii_digit).count();
    let alone = apart(text[..at].chars().next_back())
        && apart(text[at + LENGTH..].chars().next());
    (digits == 8 && alone).then(|| found.parse().ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_move_and_nothing_else_does() {
        for (text, later) in [
            ("from = \"2031-12-29\"", "from = \"2032-01-05\""),
            ("2032-02-22..2032-02-23 09:00", "2032-02-29..2032-03-01 09:00"),
            ("SHT-2031-10-06-1 and 12031-10-06", "SHT-2031-10-06-1 and 12031-10-06"),
            ("2031-13-01, 2031-10-0", "2031-13-01, 2031-10-0"),
            ("für 2031-10-06 – dann", "für 2031-10-13 – dann"),
            ("", ""),
        ] {
            assert_eq!(moved(text, 7), later);
            assert_eq!(moved(&moved(text, 7), -7), text);
        }
        assert_eq!(
            first("x 2031-10-06 2032-01-01"),
            Some(jiff::civil::date(2031, 10, 6))
        );
        assert_eq!(first("none"), None);
    }
}
