//! How numbers and days are written where a table comes from, told by its cells.
//!
//! `12,5` has a decimal comma, `1.234,5` too, `12.5` a point. Of `1,234` nobody can tell. In
//! `14/3/2031` the day comes first, in `3/14/2031` the month, and of `3/4/2031` nobody can tell:
//! then whoever knows has to say it. A date cell of a workbook needs no telling.

use std::borrow::Cow;

use crate::Place;
use crate::fields::Shape;

/// The sign before a fraction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decimal {
    /// `12.5`; a comma may part thousands.
    Point,
    /// `12,5`; a point, a blank or an apostrophe may part thousands.
    Comma,
}

/// The order of a day's parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// Day, month, year.
    DayFirst,
    /// Month, day, year.
    MonthFirst,
}

/// What the cells told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seen<T> {
    /// What was gone by; nothing where no cell needed it.
    pub taken: Option<T>,
    /// A cell that told it: what is written in it, and where.
    pub by: Option<(String, Place)>,
    /// A cell that tells the opposite.
    pub against: Option<(String, Place)>,
    /// A cell of which nobody can tell, where none told it.
    pub unclear: Option<(String, Place)>,
}

impl<T> Default for Seen<T> {
    fn default() -> Self {
        Self { taken: None, by: None, against: None, unclear: None }
    }
}

/// Whether numbers stand in a field, with a unit or without.
pub(super) const fn is_number(shape: Shape) -> bool {
    matches!(
        shape,
        Shape::Count
            | Shape::Chance
            | Shape::Number
            | Shape::Work
            | Shape::Elapsed
            | Shape::WorkEstimate
            | Shape::ElapsedEstimate
            | Shape::Mass
            | Shape::Length
            | Shape::Temperature
            | Shape::Money
    )
}

/// Whether days stand in a field.
pub(super) const fn is_day(shape: Shape) -> bool {
    matches!(shape, Shape::Date | Shape::Moment | Shape::Spans | Shape::Heating)
}

/// Texts of a column with their places.
pub(super) type Texts<'a> = Vec<(&'a str, &'a Place)>;

/// How fractions are written.
pub(super) fn decimals(texts: &Texts<'_>, told: Option<Decimal>) -> Seen<Decimal> {
    let tokens = texts.iter().flat_map(|(text, place)| {
        numbers(text).into_iter().map(move |(at, end)| (&text[at..end], *text, *place))
    });
    seen(
        tokens.map(|(token, text, place)| (sign(token), text, place)),
        told,
        &Decimal::Comma,
    )
}

/// In which order days are written.
pub(super) fn dates(texts: &Texts<'_>, told: Option<DateOrder>) -> Seen<DateOrder> {
    let tokens = texts.iter().flat_map(|(text, place)| {
        days(text).into_iter().map(move |(at, end)| (&text[at..end], *text, *place))
    });
    seen(
        tokens.map(|(token, text, place)| (order(token), text, place)),
        told,
        &DateOrder::DayFirst,
    )
}

/// What one text tells.
enum Tells<T> {
    This(T),
    Nothing,
    Unclear,
}

fn seen<'a, T: Copy + PartialEq>(
    cells: impl Iterator<Item = (Tells<T>, &'a str, &'a Place)>,
    told: Option<T>,
    first: &T,
) -> Seen<T> {
    let mut seen = Seen { taken: told, ..Seen::default() };
    let mut found: [Option<(T, (String, Place))>; 2] = [None, None];
    for (tells, text, place) in cells {
        let at = || (text.to_owned(), place.clone());
        match tells {
            Tells::This(what) => {
                let slot = &mut found[usize::from(what != *first)];
                slot.get_or_insert_with(|| (what, at()));
            }
            Tells::Unclear => {
                seen.unclear.get_or_insert_with(at);
            }
            Tells::Nothing => {}
        }
    }
    let [one, other] = found;
    let (by, against) = match (told, one, other) {
        (Some(told), Some(one), other) if one.0 == told => (Some(one), other),
        (Some(_), one, Some(other)) if Some(other.0) == told => (Some(other), one),
        (Some(_), one, other) => (None, one.or(other)),
        (None, Some(one), other) => (Some(one), other),
        (None, None, other) => (other, None),
    };
    seen.taken = seen.taken.or(by.as_ref().map(|(what, _)| *what));
    seen.by = by.map(|(_, at)| at);
    seen.against = against.map(|(_, at)| at);
    if seen.taken.is_some() {
        seen.unclear = None;
    }
    seen
}

/// Where the numbers of a text are: digits with single signs between them.
fn numbers(text: &str) -> Vec<(usize, usize)> {
    spans(text, |c| matches!(c, '.' | ',' | '\'' | '\u{a0}' | '\u{202f}'))
}

/// Where the days of a text are.
fn days(text: &str) -> Vec<(usize, usize)> {
    let three = |&(at, end): &(usize, usize)| {
        let parts: Vec<&str> = text[at..end].split(['.', '/', '-']).collect();
        let sound = |part: &&str| matches!(part.len(), 1..=4);
        parts.len() == 3 && parts.iter().all(sound)
    };
    spans(text, |c| matches!(c, '.' | '/' | '-')).into_iter().filter(three).collect()
}

fn spans(text: &str, is_sign: impl Fn(char) -> bool) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    let chars: Vec<(usize, char)> = text.char_indices().collect();
    let mut at = 0;
    while at < chars.len() {
        if !chars[at].1.is_ascii_digit() {
            at += 1;
            continue;
        }
        let begin = at;
        let digit = |at: usize| chars.get(at).is_some_and(|(_, c)| c.is_ascii_digit());
        while digit(at)
            || (chars.get(at).is_some_and(|(_, c)| is_sign(*c)) && digit(at + 1))
        {
            at += 1;
        }
        let end = chars.get(at).map_or(text.len(), |(end, _)| *end);
        found.push((chars[begin].0, end));
    }
    found
}

/// What a number tells of the sign before its fraction.
fn sign(token: &str) -> Tells<Decimal> {
    let signs: Vec<char> = token.chars().filter(|c| matches!(c, '.' | ',')).collect();
    let behind = token.rsplit(['.', ',']).next().map_or(0, str::len);
    let of = |sign: char| if sign == ',' { Decimal::Comma } else { Decimal::Point };
    let other = |sign: char| if sign == ',' { Decimal::Point } else { Decimal::Comma };
    match signs.as_slice() {
        [one] if behind != 3 || token.starts_with('0') => Tells::This(of(*one)),
        // A point before three digits is how we write it; a comma may be either.
        [','] => Tells::Unclear,
        [] | [_] => Tells::Nothing,
        [first, .., last] if first == last => Tells::This(other(*first)),
        [.., last] => Tells::This(of(*last)),
    }
}

/// What a day tells of its order; one that begins with its year tells nothing and needs none.
fn order(token: &str) -> Tells<DateOrder> {
    let parts: Vec<&str> = token.split(['.', '/', '-']).collect();
    let number =
        |at: usize| parts.get(at).and_then(|part| part.parse::<u32>().ok()).unwrap_or(0);
    if parts.first().is_some_and(|part| part.len() == 4) {
        return Tells::Nothing;
    }
    match (number(0), number(1)) {
        (13.., _) => Tells::This(DateOrder::DayFirst),
        (_, 13..) => Tells::This(DateOrder::MonthFirst),
        (one, other) if one == other => Tells::Nothing,
        // Points are only ever written between a day and its month in this order.
        _ if token.contains('.') => Tells::This(DateOrder::DayFirst),
        _ => Tells::Unclear,
    }
}

/// A text with its numbers as we write them.
pub(super) fn plain_numbers(text: &str, decimal: Decimal) -> Cow<'_, str> {
    rewritten(text, &numbers(text), |token| {
        let (sign, grouping): (char, &[char]) = match decimal {
            Decimal::Comma => (',', &['.', '\'', '\u{a0}', '\u{202f}']),
            Decimal::Point => ('.', &[',', '\'', '\u{a0}', '\u{202f}']),
        };
        let (whole, fraction) = token.split_once(sign).unwrap_or((token, ""));
        let groups: Vec<&str> = whole.split(grouping).collect();
        let sound = groups.iter().skip(1).all(|group| group.len() == 3)
            && groups.first().is_some_and(|group| groups.len() == 1 || group.len() <= 3)
            && fraction.bytes().all(|byte| byte.is_ascii_digit());
        // What is no number in this way of writing is left to whoever reads the cell.
        sound.then(|| {
            let point = if fraction.is_empty() { "" } else { "." };
            format!("{}{point}{fraction}", groups.concat())
        })
    })
}

/// A text with its days as we write them.
pub(super) fn plain_dates(text: &str, order: Option<DateOrder>) -> Cow<'_, str> {
    rewritten(text, &days(text), |token| {
        let parts: Vec<&str> = token.split(['.', '/', '-']).collect();
        let [one, two, three] = parts.as_slice() else { return None };
        let (year, month, day) = match (one.len(), three.len(), order) {
            (4, _, _) => (one, two, three),
            (_, 4, Some(DateOrder::DayFirst)) => (three, two, one),
            (_, 4, Some(DateOrder::MonthFirst)) => (three, one, two),
            // Two equal numbers are the same day either way.
            (_, 4, None) if one == two => (three, two, one),
            _ => return None,
        };
        Some(format!("{year}-{month:0>2}-{day:0>2}"))
    })
}

fn rewritten<'a>(
    text: &'a str,
    spans: &[(usize, usize)],
    plain: impl Fn(&str) -> Option<String>,
) -> Cow<'a, str> {
    if spans.is_empty() {
        return Cow::Borrowed(text);
    }
    let (mut out, mut done) = (String::new(), 0);
    for &(at, end) in spans {
        out.push_str(&text[done..at]);
        let token = &text[at..end];
        out.push_str(plain(token).as_deref().unwrap_or(token));
        done = end;
    }
    out.push_str(&text[done..]);
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_tell_their_sign_or_leave_it_open() {
        let place = Place::whole("x.csv");
        for (texts, taken, unclear) in [
            (&["12,5 kg"][..], Some(Decimal::Comma), false),
            (&["1.234,5 kg"], Some(Decimal::Comma), false),
            (&["1.234.567 kg"], Some(Decimal::Comma), false),
            (&["12.5 kg", "3"], Some(Decimal::Point), false),
            (&["1,234.5 kg"], Some(Decimal::Point), false),
            (&["0,125 m"], Some(Decimal::Comma), false),
            (&["1,234 kg"], None, true),
            (&["1,234 kg", "2,5 kg"], Some(Decimal::Comma), false),
            (&["7 h 45 min / 10 h / 16 h", "1234"], None, false),
        ] {
            let texts: Texts<'_> = texts.iter().map(|text| (*text, &place)).collect();
            let seen = decimals(&texts, None);
            assert_eq!(
                (seen.taken, seen.unclear.is_some()),
                (taken, unclear),
                "{texts:?}"
            );
        }
    }

    #[test]
    fn numbers_are_written_as_we_write_them() {
        for (text, decimal, plain) in [
            ("12,5 kg", Decimal::Comma, "12.5 kg"),
            ("1.234,5 kg", Decimal::Comma, "1234.5 kg"),
            ("1'234,5", Decimal::Comma, "1234.5"),
            ("1,234.5 kg", Decimal::Point, "1234.5 kg"),
            ("12.5 kg", Decimal::Point, "12.5 kg"),
            ("1,5 h / 2 h / 2,5 h", Decimal::Comma, "1.5 h / 2 h / 2.5 h"),
            // No number in this way of writing: left as it is.
            ("12.5 kg", Decimal::Comma, "12.5 kg"),
            ("-2,2 m", Decimal::Comma, "-2.2 m"),
        ] {
            assert_eq!(plain_numbers(text, decimal), plain, "{text}");
        }
    }

    #[test]
    fn days_tell_their_order_or_leave_it_open() {
        let place = Place::whole("x.csv");
        for (text, taken, unclear, plain) in [
            ("14.3.2031", Some(DateOrder::DayFirst), false, "2031-03-14"),
            ("3.4.2031", Some(DateOrder::DayFirst), false, "2031-04-03"),
            ("3/14/2031", Some(DateOrder::MonthFirst), false, "2031-03-14"),
            (
                "14/03/2031..16/03/2031",
                Some(DateOrder::DayFirst),
                false,
                "2031-03-14..2031-03-16",
            ),
            ("3/4/2031", None, true, "3/4/2031"),
            ("4/4/2031", None, false, "2031-04-04"),
            ("2031/3/4", None, false, "2031-03-04"),
            ("2031-03-04 08:00", None, false, "2031-03-04 08:00"),
            ("14.3.31", Some(DateOrder::DayFirst), false, "14.3.31"),
        ] {
            let seen = dates(&vec![(text, &place)], None);
            assert_eq!((seen.taken, seen.unclear.is_some()), (taken, unclear), "{text}");
            assert_eq!(plain_dates(text, seen.taken), plain, "{text}");
        }
    }

    #[test]
    fn cells_that_disagree_are_named() {
        let place = Place::whole("x.csv");
        let seen = decimals(&vec![("1,5", &place), ("2.5", &place)], None);
        assert_eq!(seen.taken, Some(Decimal::Comma));
        assert_eq!(seen.against.map(|(text, _)| text).as_deref(), Some("2.5"));
        let seen = decimals(&vec![("1,5", &place)], Some(Decimal::Point));
        assert_eq!(seen.taken, Some(Decimal::Point));
        assert_eq!(seen.against.map(|(text, _)| text).as_deref(), Some("1,5"));
    }
}
