//! Money in whole minor units.

use std::cmp::Ordering;
use std::fmt;
use std::ops::Range;

use crate::currency::Currency;
use crate::error::{Fault, QuantityError, quoted};
use crate::typed::Notation;

/// An amount of one currency, in whole minor units (pence, cents).
///
/// Read from `1250.50 GBP`, `GBP 1,250.50`, `£1250`, `€ 12`; with a currency to fall back on
/// also from `1250`, `$12` and `¥12`. Amounts in different currencies have no order and no sum.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize,
)]
pub struct Money {
    minor: i64,
    currency: Currency,
}

/// Why two amounts have no sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum MoneyError {
    /// The currencies differ; there is no rate of exchange here.
    #[error("{left} and {right} cannot be taken together")]
    Mixed {
        /// The currency of the first amount.
        left: Currency,
        /// The currency of the second amount.
        right: Currency,
    },
    /// The result is too large to be kept.
    #[error("the amount is too large to be kept")]
    Overflow,
}

impl Money {
    /// An amount of so many minor units: 125050 is £1250.50.
    pub const fn from_minor(minor: i64, currency: Currency) -> Self {
        Self { minor, currency }
    }

    /// Nothing of a currency.
    pub const fn zero(currency: Currency) -> Self {
        Self::from_minor(0, currency)
    }

    /// The whole minor units.
    pub const fn minor(self) -> i64 {
        self.minor
    }

    /// The currency.
    pub const fn currency(self) -> Currency {
        self.currency
    }

    /// Reads an amount; one without a currency, or with a bare `$` or `¥`, is taken in
    /// `default`.
    ///
    /// # Errors
    /// When the text is not an amount, or the sign does not belong to `default`.
    pub fn parse_in(text: &str, default: Currency) -> Result<Self, QuantityError> {
        read(text, Some(default))
            .map_err(|fault| QuantityError::new(Self::NOUN, text, fault))
    }

    /// The sum.
    ///
    /// # Errors
    /// When the currencies differ or the sum does not fit.
    pub fn checked_add(self, other: Self) -> Result<Self, MoneyError> {
        self.with(other, i64::checked_add)
    }

    /// The difference.
    ///
    /// # Errors
    /// When the currencies differ or the difference does not fit.
    pub fn checked_sub(self, other: Self) -> Result<Self, MoneyError> {
        self.with(other, i64::checked_sub)
    }

    /// So many times the amount.
    ///
    /// # Errors
    /// When the product does not fit.
    pub fn checked_mul(self, count: i64) -> Result<Self, MoneyError> {
        let minor = self.minor.checked_mul(count).ok_or(MoneyError::Overflow)?;
        Ok(Self { minor, ..self })
    }

    fn with(
        self,
        other: Self,
        act: impl Fn(i64, i64) -> Option<i64>,
    ) -> Result<Self, MoneyError> {
        let (left, right) = (self.currency, other.currency);
        if left != right {
            return Err(MoneyError::Mixed { left, right });
        }
        let minor = act(self.minor, other.minor).ok_or(MoneyError::Overflow)?;
        Ok(Self { minor, ..self })
    }
}

impl PartialOrd for Money {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        (self.currency == other.currency).then(|| self.minor.cmp(&other.minor))
    }
}

impl Notation for Money {
    const NOUN: &'static str = "an amount of money";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        read(text, None).map_err(|fault| QuantityError::new(Self::NOUN, text, fault))
    }

    fn print(self) -> String {
        let size = self.minor.unsigned_abs();
        let unit = self.currency.minor_units().unsigned_abs();
        let sign = if self.minor < 0 { "-" } else { "" };
        let code = self.currency.code();
        match self.currency.places() as usize {
            0 => format!("{sign}{size} {code}"),
            places => format!("{sign}{}.{:0places$} {code}", size / unit, size % unit),
        }
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.print())
    }
}

impl std::str::FromStr for Money {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        Self::parse(text)
    }
}

/// What an amount is made of, each with where it stands.
struct Parts<'t> {
    negative: bool,
    mark: &'t str,
    mark_at: Range<usize>,
    number: &'t str,
    number_at: Range<usize>,
}

fn read(text: &str, default: Option<Currency>) -> Result<Money, Fault> {
    let parts = split(text)?;
    let currency = currency(&parts, default)?;
    let minor = minor(&parts, currency)?;
    Ok(Money { minor, currency })
}

fn split(text: &str) -> Result<Parts<'_>, Fault> {
    let trimmed = text.trim();
    let offset = text.len() - text.trim_start().len();
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    let Some(first) = trimmed.find(|c: char| c.is_ascii_digit()) else {
        return Err(Fault::new(
            offset..offset + trimmed.len(),
            "no amount is written here",
        )
        .hint("write a number and a currency, such as 1250.50 GBP"));
    };
    // `.50` begins with its point.
    let dots = trimmed[..first].chars().rev().take_while(|c| is_number(*c)).count();
    let start = first - dots;
    let length =
        trimmed[start..].find(|c| !is_number(c)).unwrap_or(trimmed.len() - start);
    let end = start + length;
    let (before, behind) = (&trimmed[..start], trimmed[end..].trim());
    let is_sign = |c: char| matches!(c, '-' | '−' | '+');
    let signs: Vec<char> = before.chars().filter(|&c| is_sign(c)).collect();
    let before = before.trim_matches(|c: char| is_sign(c) || c.is_whitespace());
    let number_at = offset + start..offset + end;
    if signs.len() > 1 || !(before.is_empty() || behind.is_empty()) {
        let all = offset..offset + trimmed.len();
        let sentence = format!("{} is not one amount in one currency", quoted(trimmed));
        return Err(Fault::new(all, sentence)
            .hint("write a number and a currency, such as 1250.50 GBP"));
    }
    let mark = if before.is_empty() { behind } else { before };
    let mark_start = if before.is_empty() {
        offset + trimmed.len() - behind.len()
    } else {
        offset + trimmed.find(before).unwrap_or_default()
    };
    Ok(Parts {
        negative: signs.first().is_some_and(|&sign| sign != '+'),
        mark,
        mark_at: mark_start..mark_start + mark.len(),
        number: &trimmed[start..end],
        number_at,
    })
}

fn currency(parts: &Parts, default: Option<Currency>) -> Result<Currency, Fault> {
    let fault = |sentence: String, hint: &str| {
        Err(Fault::new(parts.mark_at.clone(), sentence).hint(hint))
    };
    match (parts.mark, default) {
        ("", Some(default)) => Ok(default),
        ("", None) => fault(
            "the currency is missing".to_owned(),
            "write its three letters behind the number, such as 1250.50 GBP",
        ),
        ("£", _) => Ok(Currency::GBP),
        ("€", _) => Ok(Currency::EUR),
        ("$", Some(default)) if default.has_dollar_sign() => Ok(default),
        ("$", _) => fault(
            "`$` does not say which dollar is meant".to_owned(),
            "write the three letters, such as USD, CAD or AUD",
        ),
        ("¥", Some(default)) if matches!(default.code(), "JPY" | "CNY") => Ok(default),
        ("¥", _) => fault(
            "`¥` does not say whether yen or yuan are meant".to_owned(),
            "write the three letters, JPY or CNY",
        ),
        (code, _) if code.starts_with(|c: char| c.is_ascii_digit()) => fault(
            "the number has a space in it".to_owned(),
            "write the digits together, such as 1250.50 GBP",
        ),
        (code, _) => Currency::known(code).map_or_else(
            || {
                fault(
                    format!("{} is not a known currency", quoted(code)),
                    "write the three letters of ISO 4217, such as GBP, EUR or USD",
                )
            },
            Ok,
        ),
    }
}

fn minor(parts: &Parts, currency: Currency) -> Result<i64, Fault> {
    let fault = |sentence: String| Fault::new(parts.number_at.clone(), sentence);
    let (whole, decimals) = parts.number.split_once('.').unwrap_or((parts.number, ""));
    if decimals.contains(['.', ',']) || !grouped(whole) {
        let sentence = format!("{} is not an amount", quoted(parts.number));
        return Err(fault(sentence).hint(
            "write a point before the decimals, and commas only between groups of three \
             digits, such as 1,250.50",
        ));
    }
    let places = currency.places() as usize;
    if decimals.len() > places {
        let most = if places == 0 { "no".to_owned() } else { places.to_string() };
        let sentence = format!("{currency} has {most} decimals, not {}", decimals.len());
        return Err(fault(sentence).hint("round the amount"));
    }
    let digits = format!("{}{decimals:0<places$}", whole.replace(',', ""));
    let digits = if parts.negative { format!("-{digits}") } else { digits };
    digits.parse().map_err(|_| fault("the amount is too large to be kept".to_owned()))
}

/// Whether commas, if any, part groups of three digits.
fn grouped(whole: &str) -> bool {
    let mut groups = whole.split(',');
    let first = groups.next().unwrap_or_default().len();
    let mut rest = groups.peekable();
    rest.peek().is_none()
        || ((1..=3).contains(&first) && rest.all(|group| group.len() == 3))
}
