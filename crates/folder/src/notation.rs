//! The notations of single cells: text to value and back.

mod attached;
mod clock;
mod crew;
mod drawn;
mod measure;
mod number;
mod signed;
mod word;

pub(crate) use clock::OwnHours;
pub(crate) use crew::{Team, Way};
pub(crate) use number::Chance;
pub(crate) use word::{
    BASES, CONDITIONS, CONNECTIONS, DECISIONS, EVIDENCE, REACHES, RECORD_CLASSES, RULES,
    SCOPES, STANDINGS, STEPS, SUPPORTS, TAKES_ON, VIEWS, as_listed,
};

use quantity::{
    Currency, Elapsed, Estimate, Id, Length, Mass, Money, Notation, QuantityError,
    Temperature, Typed, Work,
};

use crate::cell::{Cell, Value};
use crate::fields::{Out, Shape};

/// Why a cell cannot be read, before anybody knows where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Fault {
    pub(crate) what: String,
    pub(crate) hint: Option<String>,
}

/// A value that is written in one cell.
pub(crate) trait Notated: Sized {
    /// What the field tables call it.
    const SHAPE: Shape;

    /// Reads a text.
    fn parse(text: &str) -> Result<Self, Fault>;

    /// Writes it.
    fn print(&self) -> Out;

    /// Reads a cell; most values are texts.
    fn read(cell: &Cell) -> Result<Self, Fault> {
        match &cell.value {
            Value::Stamp(stamp) => Err(stamped(stamp, cell)),
            value => match value.plain() {
                Some(text) => Self::parse(&text),
                None => Err(Fault::new(format!(
                    "{} stands where {} is expected",
                    value.noun(),
                    Self::SHAPE.noun()
                ))
                .hint("write it as text, in quotes")),
            },
        }
    }
}

/// A value of which a cell may hold several, parted by `;`.
pub(crate) trait Listed: Notated {
    /// What the field tables call a list of it.
    const LIST: Shape;

    /// Reads one of several in a cell. A notation of free words takes the backslashes away
    /// that kept a `;` within them.
    fn part(text: &str) -> Result<Self, Fault> {
        Self::parse(text)
    }
}

impl Fault {
    pub(crate) fn new(what: impl Into<String>) -> Self {
        Self { what: what.into(), hint: None }
    }

    pub(crate) fn hint(self, hint: impl Into<String>) -> Self {
        Self { hint: Some(hint.into()), ..self }
    }
}

impl From<QuantityError> for Fault {
    fn from(error: QuantityError) -> Self {
        Self { what: error.to_string(), hint: error.hint().map(str::to_owned) }
    }
}

/// Spreadsheet programs turn `3-4` and `10/12` into dates without asking.
fn stamped(stamp: &str, cell: &Cell) -> Fault {
    let fault =
        Fault::new(format!("the cell holds the date or time {stamp}, and no text"));
    if cell.place.is_in_sheet() {
        fault.hint("format the column as text and type the value again")
    } else {
        fault.hint("put it in quotes")
    }
}

/// A text as an error quotes it: a pasted page must not become the message.
pub(crate) fn quoted(text: &str) -> String {
    const LONGEST: usize = 60;
    if text.chars().count() <= LONGEST {
        return format!("`{}`", text.escape_debug());
    }
    let start: String = text.chars().take(LONGEST).collect();
    format!("`{}…`", start.escape_debug())
}

impl Notated for String {
    const SHAPE: Shape = Shape::Text;

    fn parse(text: &str) -> Result<Self, Fault> {
        let odd = |c: &char| c.is_control() && !matches!(c, '\n' | '\t');
        match text.chars().find(odd) {
            Some(c) => Err(Fault::new(format!(
                "the text holds the control character {}",
                c.escape_unicode()
            ))
            .hint("delete it: it cannot be seen on a card or a screen")),
            None => Ok(text.to_owned()),
        }
    }

    fn print(&self) -> Out {
        Out::Text(self.clone())
    }
}

impl Listed for String {
    const LIST: Shape = Shape::Texts;

    fn part(text: &str) -> Result<Self, Fault> {
        Self::parse(&whole(text))
    }
}

/// One of several texts in a cell, as it was meant: a backslash before `;` or another
/// backslash only kept that from having its meaning.
pub(crate) fn whole(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match chars.peek() {
            Some(&next @ (';' | '\\')) if c == '\\' => {
                out.push(next);
                chars.next();
            }
            _ => out.push(c),
        }
    }
    out
}

impl<K: quantity::Kind> Notated for Id<K> {
    const SHAPE: Shape = Shape::Name(K::NOUN);

    fn parse(text: &str) -> Result<Self, Fault> {
        Self::new(text.trim()).map_err(|error| {
            let fault = Fault::new(error.to_string());
            let hyphened: String = text
                .trim()
                .chars()
                .map(|c| if c.is_whitespace() { '-' } else { c })
                .collect();
            match Self::new(&hyphened) {
                Ok(name) => fault.hint(format!("write `{name}`")),
                Err(_) => fault,
            }
        })
    }

    fn print(&self) -> Out {
        Out::Text(self.to_string())
    }
}

impl<K: quantity::Kind> Listed for Id<K> {
    const LIST: Shape = Shape::Names(K::NOUN);
}

/// Declares a quantity that is kept as it was typed.
macro_rules! typed {
    ($quantity:ty, $shape:expr) => {
        impl Notated for Typed<$quantity> {
            const SHAPE: Shape = $shape;

            fn parse(text: &str) -> Result<Self, Fault> {
                Ok(Self::parse(text)?)
            }

            fn print(&self) -> Out {
                Out::Text(self.text().to_owned())
            }
        }
    };
}

/// Declares a quantity that is written back in its canonical notation.
macro_rules! canonical {
    ($quantity:ty, $shape:expr) => {
        impl Notated for $quantity {
            const SHAPE: Shape = $shape;

            fn parse(text: &str) -> Result<Self, Fault> {
                Ok(<$quantity as Notation>::parse(text)?)
            }

            fn print(&self) -> Out {
                Out::Text(Notation::print(*self))
            }
        }
    };
}

typed!(Mass, Shape::Mass);
typed!(Length, Shape::Length);
typed!(Temperature, Shape::Temperature);
canonical!(Work, Shape::Work);
canonical!(Money, Shape::Money);
canonical!(Elapsed, Shape::Elapsed);
canonical!(Estimate<Work>, Shape::WorkEstimate);
canonical!(Estimate<Elapsed>, Shape::ElapsedEstimate);

impl Notated for Currency {
    const SHAPE: Shape = Shape::Currency;

    fn parse(text: &str) -> Result<Self, Fault> {
        Ok(Self::new(text)?)
    }

    fn print(&self) -> Out {
        Out::Text(self.code().to_owned())
    }
}

impl Notated for airframe::Needs {
    const SHAPE: Shape = Shape::Needs;

    fn parse(text: &str) -> Result<Self, Fault> {
        const SIGNS: &str = "`;` parts what is all needed, `|` parts ways of which one is enough, \
                             `+` joins what one way takes";
        Self::parse(text).map_err(|error| {
            let source = std::error::Error::source(&error).map(ToString::to_string);
            let what = source.unwrap_or_else(|| error.to_string());
            Fault::new(what).hint(SIGNS)
        })
    }

    fn print(&self) -> Out {
        Out::Text(self.to_string())
    }
}

impl Notated for airframe::Chapter {
    const SHAPE: Shape = Shape::Chapter;

    fn parse(text: &str) -> Result<Self, Fault> {
        Self::parse(text).map_err(|error| Fault::new(error.to_string()))
    }

    fn print(&self) -> Out {
        Out::Text(self.to_string())
    }
}

impl Listed for airframe::Chapter {
    const LIST: Shape = Shape::Chapters;
}

impl Notated for record::JobKey {
    const SHAPE: Shape = Shape::JobKey;

    fn parse(text: &str) -> Result<Self, Fault> {
        Ok(Self(String::parse(text)?.trim().to_owned()))
    }

    fn print(&self) -> Out {
        Out::Text(self.0.clone())
    }
}

impl Listed for record::JobKey {
    const LIST: Shape = Shape::JobKeys;
}
