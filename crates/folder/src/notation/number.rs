//! Yes and no, counts, numbers and chances.

use crate::cell::{Cell, Value};
use crate::fields::{Out, Shape};
use crate::notation::{Fault, Notated, quoted};

impl Notated for bool {
    const SHAPE: Shape = Shape::YesNo;

    fn parse(text: &str) -> Result<Self, Fault> {
        match text.trim().to_lowercase().as_str() {
            "yes" | "true" => Ok(true),
            "no" | "false" => Ok(false),
            _ => Err(Fault::new(format!("{} is neither yes nor no", quoted(text)))
                .hint("write `yes` or `no`")),
        }
    }

    fn print(&self) -> Out {
        Out::Flag(*self)
    }

    fn read(cell: &Cell) -> Result<Self, Fault> {
        match &cell.value {
            Value::Bool(flag) => Ok(*flag),
            Value::Text(text) => Self::parse(text),
            Value::Int(0) => Ok(false),
            Value::Int(1) => Ok(true),
            other => Err(Fault::new(format!("{} is neither yes nor no", other.noun()))
                .hint("write `yes` or `no`")),
        }
    }
}

impl Notated for u32 {
    const SHAPE: Shape = Shape::Count;

    fn parse(text: &str) -> Result<Self, Fault> {
        let trimmed = text.trim();
        let fault = |why: &str| {
            Fault::new(format!("{} is not a whole number {why}", quoted(trimmed)))
                .hint("write a number such as `2`, without a unit")
        };
        match trimmed.parse::<i128>() {
            Ok(number) => {
                Self::try_from(number).map_err(|_| fault("from 0 to 4294967295"))
            }
            Err(_) => Err(fault("in digits")),
        }
    }

    fn print(&self) -> Out {
        Out::Count((*self).into())
    }
}

impl Notated for u64 {
    const SHAPE: Shape = Shape::Count;

    fn parse(text: &str) -> Result<Self, Fault> {
        let trimmed = text.trim();
        trimmed.parse::<Self>().map_err(|_| {
            let what = format!("{} is not a whole number in digits", quoted(trimmed));
            Fault::new(what).hint("write a number such as `2`, without a unit")
        })
    }

    fn print(&self) -> Out {
        Out::Count(*self)
    }
}

impl Notated for f64 {
    const SHAPE: Shape = Shape::Number;

    fn parse(text: &str) -> Result<Self, Fault> {
        finite(text)
    }

    /// As a text that reads back to the same bits.
    fn print(&self) -> Out {
        Out::Text(shortest(*self))
    }
}

/// A number that is one: neither infinite nor undefined.
pub(crate) fn finite(text: &str) -> Result<f64, Fault> {
    let trimmed = text.trim();
    let what = |why: &str| format!("{} is not a {why}", quoted(trimmed));
    match trimmed.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        Ok(_) => Err(Fault::new(what("finite number"))),
        Err(_) => Err(Fault::new(what("number"))),
    }
    .map_err(|fault| fault.hint("write digits, with a point before the fraction: `42.5`"))
}

/// The shortest text that reads back to the same bits; a whole number has no fraction.
pub(crate) fn shortest(number: f64) -> String {
    let text = format!("{number:?}");
    text.strip_suffix(".0").map_or_else(|| text.clone(), str::to_owned)
}

/// How likely something is, from 0 to 1.
pub(crate) struct Chance(pub(crate) f64);

impl Notated for Chance {
    const SHAPE: Shape = Shape::Chance;

    fn parse(text: &str) -> Result<Self, Fault> {
        let trimmed = text.trim();
        let hint = "write a number from 0 to 1, such as `0.1` for one time in ten";
        match trimmed.parse::<f64>() {
            Ok(number) if (0.0..=1.0).contains(&number) => Ok(Self(number)),
            Ok(_) => {
                Err(Fault::new(format!("a chance of {trimmed} is not between 0 and 1"))
                    .hint(hint))
            }
            Err(_) => {
                Err(Fault::new(format!("{} is not a number", quoted(trimmed))).hint(hint))
            }
        }
    }

    fn print(&self) -> Out {
        Out::Number(self.0)
    }
}
