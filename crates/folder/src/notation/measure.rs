//! What is measured: `torque 40..45 lbf·in` says between which limits a value must lie, and
//! `torque = 42.5 (TW-3)` says what it was and which instrument showed it.

use record::ToolId;
use record::act::{Limit, Reading};

use crate::fields::{Out, Shape};
use crate::notation::number::{finite, shortest};
use crate::notation::{Fault, Listed, Notated, quoted, whole};

const LIMIT: &str = "write what is measured, the least and the greatest value, and the unit: \
                     `torque 40..45 lbf·in`, `gap ..1.5 mm`, `play 0.2.. mm`";
const READING: &str = "write what was measured, its value in the unit of the limit, and the \
                       instrument: `torque = 42.5 (TW-3)`";

impl Notated for Limit {
    const SHAPE: Shape = Shape::Limits;

    /// The first word of two dots between numbers parts the name from the unit. Two dots
    /// within a name have a backslash before them.
    fn parse(text: &str) -> Result<Self, Fault> {
        let Some((name, (low, high), unit)) = ranged(text) else {
            return Err(
                Fault::new(format!("{} has no limits", quoted(text.trim()))).hint(LIMIT)
            );
        };
        let name = name.trim().replace(r"\..", "..");
        if name.is_empty() {
            let what = format!("{} does not say what is measured", quoted(text.trim()));
            return Err(Fault::new(what).hint(LIMIT));
        }
        let unit = unit.trim().to_owned();
        Ok(Self { name: String::parse(&name)?, low, high, unit: String::parse(&unit)? })
    }

    fn print(&self) -> Out {
        let Self { name, low, high, unit } = self;
        let end = |end: &Option<f64>| end.map(shortest).unwrap_or_default();
        let name = name.replace("..", r"\..");
        let text = format!("{name} {}..{} {unit}", end(low), end(high));
        Out::Text(text.trim_end().to_owned())
    }
}

impl Listed for Limit {
    const LIST: Shape = Shape::Limits;

    fn part(text: &str) -> Result<Self, Fault> {
        Self::parse(&whole(text))
    }
}

impl Notated for Reading {
    const SHAPE: Shape = Shape::Readings;

    /// Read from its end, where no sign can be part of the name.
    fn parse(text: &str) -> Result<Self, Fault> {
        let text = text.trim();
        let fault = |what: String| Fault::new(what).hint(READING);
        let Some((name, value)) = text.rsplit_once('=') else {
            return Err(fault(format!("{} has no value", quoted(text))));
        };
        let name = name.trim();
        if name.is_empty() {
            return Err(fault(format!(
                "{} does not say what was measured",
                quoted(text)
            )));
        }
        let (value, instrument) = match value.trim().split_once('(') {
            None => (value, None),
            Some((value, instrument)) => {
                let Some(instrument) = instrument.strip_suffix(')') else {
                    return Err(fault(format!(
                        "a bracket is missing in {}",
                        quoted(text)
                    )));
                };
                (value, Some(ToolId::parse(instrument)?))
            }
        };
        Ok(Self { name: String::parse(name)?, value: finite(value)?, instrument })
    }

    fn print(&self) -> Out {
        let Self { name, value, instrument } = self;
        let value = shortest(*value);
        Out::Text(match instrument {
            Some(instrument) => format!("{name} = {value} ({instrument})"),
            None => format!("{name} = {value}"),
        })
    }
}

impl Listed for Reading {
    const LIST: Shape = Shape::Readings;

    fn part(text: &str) -> Result<Self, Fault> {
        Self::parse(&whole(text))
    }
}

type Range = (Option<f64>, Option<f64>);

/// What stands before the limits, the limits, and what stands behind them.
fn ranged(text: &str) -> Option<(&str, Range, &str)> {
    let mut from = 0;
    for word in text.split(char::is_whitespace) {
        let until = from + word.len();
        if let Some(range) = range(word) {
            return Some((&text[..from], range, &text[until..]));
        }
        let blank = text[until..].chars().next().map_or(0, char::len_utf8);
        from = until + blank;
    }
    None
}

fn range(word: &str) -> Option<Range> {
    let (low, high) = word.split_once("..")?;
    let end = |text: &str| {
        if text.is_empty() { Some(None) } else { finite(text).ok().map(Some) }
    };
    Some((end(low)?, end(high)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limit(text: &str) -> Limit {
        Limit::parse(text).unwrap_or_else(|fault| panic!("{text}: {}", fault.what))
    }

    #[test]
    fn limits_are_read_and_written() {
        for (text, name, low, high, unit) in [
            ("torque 40..45 lbf·in", "torque", Some(40.0), Some(45.0), "lbf·in"),
            ("gap ..1.5 mm", "gap", None, Some(1.5), "mm"),
            ("play 0.2.. mm", "play", Some(0.2), None, "mm"),
            ("threads showing 1..3", "threads showing", Some(1.0), Some(3.0), ""),
            (
                r"pin 1\..2 fit -0.5..1e-7 mm 2..3",
                "pin 1..2 fit",
                Some(-0.5),
                Some(1e-7),
                "mm 2..3",
            ),
            (r"a\...b\\..c .. x", r"a...b\..c", None, None, "x"),
        ] {
            let expected = Limit { name: name.into(), low, high, unit: unit.into() };
            assert_eq!(limit(text), expected, "{text}");
            assert_eq!(expected.print(), Out::Text(text.to_owned()));
        }
    }

    #[test]
    fn readings_are_read_and_written() {
        for (text, name, value, instrument) in [
            ("torque = 42.5 (TW-3)", "torque", 42.5, Some("TW-3")),
            ("gap (cold) = 1", "gap (cold)", 1.0, None),
            ("a = b = -0", "a = b", -0.0, None),
        ] {
            let read = Reading::parse(text).unwrap();
            assert_eq!(
                (read.name.as_str(), read.value.to_bits()),
                (name, f64::to_bits(value))
            );
            assert_eq!(read.instrument.as_ref().map(ToolId::as_str), instrument);
            assert_eq!(read.print(), Out::Text(text.to_owned()));
        }
    }

    #[test]
    fn what_is_neither_is_refused() {
        for (text, what) in [
            ("torque 40 lbf·in", "`torque 40 lbf·in` has no limits"),
            ("torque 40..NaN", "`torque 40..NaN` has no limits"),
            ("40..45 lbf·in", "`40..45 lbf·in` does not say what is measured"),
        ] {
            assert_eq!(Limit::parse(text).unwrap_err().what, what);
        }
        for (text, what) in [
            ("torque 42", "`torque 42` has no value"),
            ("= 42", "`= 42` does not say what was measured"),
            ("torque = (TW-3)", "`` is not a number"),
            ("torque = 42,5", "`42,5` is not a number"),
            ("torque = inf", "`inf` is not a finite number"),
            ("torque = 4 (TW-3", "a bracket is missing in `torque = 4 (TW-3`"),
            ("torque = 4 ()", "a name may not be empty"),
        ] {
            let fault = Reading::parse(text).unwrap_err();
            if what != "a name may not be empty" {
                assert_eq!(fault.what, what);
            }
        }
    }
}
