//! How somebody wants to see things: the system of units, how days are written, dark or
//! light, how large.
//!
//! It changes what a page shows and nothing else. What was typed stays as it was typed, and
//! a quantity of the other system gets its conversion *beside* it: a torque that a manual
//! gives in pounds-force inches is read as the manual has it.

use jiff::civil::Date;
use quantity::{Length, Mass, Notation, Pressure, Temperature, Torque};
use serde_json::{Value, json};

use crate::{AppError, Change, Desk, Settings};

const KIND: &str = "preferences";
const NAME: &str = "all";

/// A preference of which one word is chosen: what it is, and each word with what it says.
type Choice = (&'static str, &'static str, &'static [(&'static str, &'static str)]);

/// All preferences with what there is to choose; the first of each holds where nobody chose.
pub const PREFERENCES: [Choice; 4] = [
    (
        "units",
        "Quantities",
        &[
            ("typed", "as they were typed, and nothing beside them"),
            ("metric", "with metric units beside what is not metric"),
            ("imperial", "with inches, pounds and psi beside what is metric"),
        ],
    ),
    (
        "dates",
        "Days",
        &[
            ("iso", "2026-11-27"),
            ("long", "27 November 2026"),
            ("day-first", "27/11/2026"),
            ("month-first", "11/27/2026"),
        ],
    ),
    (
        "theme",
        "Light or dark",
        &[("system", "as the device has it"), ("light", "light"), ("dark", "dark")],
    ),
    (
        "text",
        "Size of the text",
        &[
            ("usual", "as the browser has it"),
            ("large", "larger"),
            ("larger", "much larger"),
        ],
    ),
];

/// What somebody chose: a word for each of [`PREFERENCES`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Preferences([&'static str; 4]);

impl Default for Preferences {
    fn default() -> Self {
        Self(PREFERENCES.map(|(_, _, words)| words[0].0))
    }
}

impl Preferences {
    /// Those of a person.
    pub fn of(settings: &Settings, person: &str) -> Self {
        let content = settings.get(person, KIND, NAME).unwrap_or_default();
        let value: Value = serde_json::from_str(content).unwrap_or_default();
        Self::from_words(|name| value[name].as_str())
    }

    /// By what was chosen for each; what is no choice is as it is where nobody chose.
    pub fn from_words<'a>(chosen: impl Fn(&str) -> Option<&'a str>) -> Self {
        Self(PREFERENCES.map(|(name, _, words)| {
            let chosen = chosen(name);
            let found = words.iter().find(|(word, _)| Some(*word) == chosen);
            found.unwrap_or(&words[0]).0
        }))
    }

    /// What was chosen for one of [`PREFERENCES`].
    pub fn word(&self, name: &str) -> &'static str {
        let at = PREFERENCES.iter().position(|(found, _, _)| *found == name);
        at.map_or("", |at| self.0[at])
    }

    /// Keeps them for a person.
    ///
    /// # Errors
    /// If the ledger can't be written.
    pub fn keep(&self, desk: &Desk, person: &str) -> Result<(), AppError> {
        let pairs = PREFERENCES.iter().zip(self.0);
        let pairs = pairs.map(|((name, _, _), word)| ((*name).to_owned(), json!(word)));
        let content = Value::Object(pairs.collect()).to_string();
        desk.change_setting((person, KIND, NAME), |_| (Change::Put(content), ()))
    }

    /// Whether all texts are shown as they stand.
    pub fn change_nothing(&self) -> bool {
        self.word("units") == "typed" && self.word("dates") == "iso"
    }

    /// A text as it is shown: days in the form that was chosen, and beside each quantity what
    /// it is in the system that was chosen.
    pub fn shown(&self, text: &str) -> String {
        let (units, dates) = (self.word("units"), self.word("dates"));
        if self.change_nothing() || !text.contains(|c: char| c.is_ascii_digit()) {
            return text.to_owned();
        }
        let mut shown = String::with_capacity(text.len() + 16);
        let (mut rest, mut before) = (text, None);
        while let Some(first) = rest.chars().next() {
            // What is quoted stands as somebody typed it, or is to be typed.
            if let Some(end) = rest.strip_prefix('`').and_then(|rest| rest.find('`')) {
                shown.push_str(&rest[..end + 2]);
                (before, rest) = (Some('`'), &rest[end + 2..]);
                continue;
            }
            let starts = first.is_ascii_digit() && !before.is_some_and(joins);
            let found =
                starts.then(|| day(rest, dates).or_else(|| quantity_beside(rest, units)));
            let (done, length) = found.flatten().unwrap_or_else(|| {
                let length =
                    if first.is_ascii_digit() { digits(rest) } else { first.len_utf8() };
                (rest[..length].to_owned(), length)
            });
            shown.push_str(&done);
            before = rest[..length].chars().next_back();
            rest = &rest[length..];
        }
        shown
    }
}

/// Whether what stands before a digit makes it a part of a name.
fn joins(before: char) -> bool {
    before.is_alphanumeric() || matches!(before, '-' | '_' | ':' | '.' | '/' | '#' | '+')
}

fn digits(text: &str) -> usize {
    text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len())
}

/// A day at the beginning of a text, in the form that was chosen, and how long it was.
fn day(text: &str, form: &str) -> Option<(String, usize)> {
    const LENGTH: usize = 10;
    let written = text.get(..LENGTH)?;
    let shape = written.bytes().enumerate().all(|(at, byte)| match at {
        4 | 7 => byte == b'-',
        _ => byte.is_ascii_digit(),
    });
    let after = text[LENGTH..].chars().next();
    let ends = after.is_none_or(|c| !c.is_alphanumeric() && c != '-' && c != '_');
    if form == "iso" || !shape || !ends {
        return None;
    }
    let day: Date = written.parse().ok()?;
    let form = match form {
        "long" => "%-d %B %Y",
        "day-first" => "%d/%m/%Y",
        _ => "%m/%d/%Y",
    };
    Some((day.strftime(form).to_string(), LENGTH))
}

/// What can be measured, and the spellings of its units that are looked for in a text:
/// metric ones, and others. None is looked for that is a word of its own, such as `in`,
/// unless what follows can't be the rest of a sentence.
const UNITS: [(&str, bool); 36] = [
    ("N·m", true),
    ("Nm", true),
    ("N·cm", true),
    ("kgf·m", true),
    ("lbf·in", false),
    ("lbf in", false),
    ("in·lbf", false),
    ("in lbf", false),
    ("in-lb", false),
    ("in·lb", false),
    ("lb in", false),
    ("lbf·ft", false),
    ("lbf ft", false),
    ("ft·lbf", false),
    ("ft-lb", false),
    ("ft lbf", false),
    ("lb ft", false),
    ("kPa", true),
    ("MPa", true),
    ("hPa", true),
    ("bar", true),
    ("psi", false),
    ("inHg", false),
    ("mm", true),
    ("cm", true),
    ("µm", true),
    ("kg", true),
    ("lb", false),
    ("oz", false),
    ("thou", false),
    ("°C", true),
    ("°F", false),
    ("in", false),
    ("ft", false),
    ("m", true),
    ("g", true),
];

/// Units that are also words, or letters that may stand for something else.
fn is_word(unit: &str) -> bool {
    matches!(unit, "in" | "ft" | "m" | "g" | "bar" | "oz")
}

/// A quantity at the beginning of a text with what it is in the other system beside it, and
/// how long it was.
fn quantity_beside(text: &str, system: &str) -> Option<(String, usize)> {
    if system == "typed" {
        return None;
    }
    let number = number(text)?;
    let gap =
        text[number..].len() - text[number..].trim_start_matches([' ', '\u{a0}']).len();
    let after = &text[number + gap..];
    let (unit, metric) = UNITS.into_iter().find(|(unit, _)| {
        after.strip_prefix(unit).is_some_and(|rest| ends(rest, is_word(unit)))
    })?;
    if metric == (system == "metric") {
        return None;
    }
    let length = number + gap + unit.len();
    let other = converted(&text[..length], metric)?;
    Some((format!("{} ({other})", &text[..length]), length))
}

/// How long a number is: `12`, `0.5`, `3/16`, `1 3/8`.
fn number(text: &str) -> Option<usize> {
    let mut end = digits(text);
    let more = |end: usize, sign: char| {
        let rest = text[end..].strip_prefix(sign)?;
        let count = digits(rest);
        (count > 0).then_some(end + 1 + count)
    };
    if let Some(whole) = more(end, '.').or_else(|| more(end, '/')) {
        end = whole;
    } else if let Some(part) = more(end, ' ') {
        end = more(part, '/').unwrap_or(end);
    }
    (end > 0).then_some(end)
}

/// Whether a unit ends here; where it is a word too, no word may follow.
fn ends(rest: &str, word: bool) -> bool {
    let first = rest.chars().next();
    let parted =
        first.is_none_or(|c| !c.is_alphanumeric() && !matches!(c, '²' | '³' | '·' | '/'));
    let next = rest.trim_start().chars().next();
    parted && !(word && (first == Some('-') || next.is_some_and(char::is_alphabetic)))
}

/// A quantity in the other system, to the digits that it was given with and one more.
fn converted(text: &str, from_metric: bool) -> Option<String> {
    let given = text.bytes().filter(u8::is_ascii_digit).count().clamp(2, 5) + 1;
    // A fraction is as exact as anything.
    let figures = if text.contains('/') { 5 } else { given };
    let pick = |metric: (f64, &'static str), other: (f64, &'static str)| {
        if from_metric { other } else { metric }
    };
    let (value, unit) = if let Ok(torque) = Torque::parse(text) {
        let pounds = torque.in_lbf_in();
        let other = if pounds.abs() < 300.0 {
            (pounds, "lbf·in")
        } else {
            (torque.in_lbf_ft(), "lbf·ft")
        };
        pick((torque.in_n_m(), "N·m"), other)
    } else if let Ok(pressure) = Pressure::parse(text) {
        let (kpa, mpa) = (pressure.in_kpa(), pressure.in_mpa());
        pick(
            if kpa.abs() < 10_000.0 { (kpa, "kPa") } else { (mpa, "MPa") },
            (pressure.in_psi(), "psi"),
        )
    } else if let Ok(length) = Length::parse(text) {
        let metric = if length.in_m().abs() < 2.0 {
            (length.in_mm(), "mm")
        } else {
            (length.in_m(), "m")
        };
        let other = if length.in_m().abs() < 2.0 {
            (length.in_inches(), "in")
        } else {
            (length.in_feet(), "ft")
        };
        pick(metric, other)
    } else if let Ok(mass) = Mass::parse(text) {
        let metric = if mass.in_kg().abs() < 1.0 {
            (mass.in_g(), "g")
        } else {
            (mass.in_kg(), "kg")
        };
        pick(metric, (mass.in_lb(), "lb"))
    } else {
        let temperature = Temperature::parse(text).ok()?;
        pick((temperature.in_c(), "°C"), (temperature.in_f(), "°F"))
    };
    Some(format!("{} {unit}", rounded(value, figures)?))
}

/// A number with so many figures at most, and what is lost told by `about`.
fn rounded(value: f64, figures: usize) -> Option<String> {
    if !value.is_finite() {
        return None;
    }
    let whole = format!("{:.0}", value.abs()).trim_start_matches('0').len();
    let places = figures.saturating_sub(whole.max(1)).min(6);
    let text = format!("{value:.places$}");
    let exact =
        text.parse::<f64>().is_ok_and(|is| (is - value).abs() <= value.abs() * 1e-12);
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    };
    Some(if exact { text } else { format!("about {text}") })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(words: &[(&str, &'static str)], text: &str) -> String {
        let chosen = |name: &str| {
            words.iter().find(|(found, _)| *found == name).map(|(_, word)| *word)
        };
        Preferences::from_words(chosen).shown(text)
    }

    #[test]
    fn days_are_written_as_somebody_wants_them() {
        let text = "due 2026-11-27, (2026-02-30) GA-2026-11-27 2026-11-27 09:30; 2026-11-27T09:30";
        for (form, day) in [
            ("long", "27 November 2026"),
            ("day-first", "27/11/2026"),
            ("month-first", "11/27/2026"),
        ] {
            assert_eq!(
                shown(&[("dates", form)], text),
                format!(
                    "due {day}, (2026-02-30) GA-2026-11-27 {day} 09:30; 2026-11-27T09:30"
                )
            );
        }
        assert_eq!(shown(&[], text), text);
    }

    /// One inch is 25.4 mm, one pound 0.453 592 37 kg exactly (international yard and pound
    /// agreement, 1959); one pound-force inch 0.112 984 829 N·m (NIST SP 811, appendix B).
    #[test]
    fn the_other_system_stands_beside_what_was_typed() {
        for (system, text, expected) in [
            ("metric", "3/16 in", "3/16 in (4.7625 mm)"),
            ("metric", "0.5 in", "0.5 in (12.7 mm)"),
            ("metric", "1 3/8 in: bush", "1 3/8 in (34.925 mm): bush"),
            (
                "metric",
                "torque 120 lbf·in, wire",
                "torque 120 lbf·in (about 13.56 N·m), wire",
            ),
            ("metric", "12 kg and 12 lb", "12 kg and 12 lb (about 5.44 kg)"),
            ("metric", "32 °F", "32 °F (0 °C)"),
            ("imperial", "25.4 mm", "25.4 mm (1 in)"),
            ("imperial", "100 kPa", "100 kPa (about 14.5 psi)"),
            // What is no quantity, or no quantity for certain.
            ("metric", "5 in the way", "5 in the way"),
            ("metric", "2 in inspection", "2 in inspection"),
            ("metric", "frame 12in-a", "frame 12in-a"),
            ("metric", "P/N 32 lb-x7", "P/N 32 lb (about 14.5 kg)-x7"),
            ("imperial", "10 m2", "10 m2"),
            ("imperial", "F-12 mm", "F-12 mm"),
            ("imperial", "3 mma", "3 mma"),
        ] {
            assert_eq!(shown(&[("units", system)], text), expected, "{system}");
        }
    }

    #[test]
    fn nothing_is_lost_of_any_text() {
        for text in
            ["", "ä 1", "½ in", "1/", "1 /2 in", "9", "9999999999999999999 in", "0 in"]
        {
            let all = shown(&[("units", "metric"), ("dates", "long")], text);
            assert!(
                all.starts_with(text.trim_end()) || all.contains('('),
                "{text}: {all}"
            );
        }
    }
}
