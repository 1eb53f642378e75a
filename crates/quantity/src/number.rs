//! A number as it was typed: a decimal or a fraction, kept exactly.

use crate::rational::{Rational, power_of_ten};

/// A number without its sign.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Number {
    /// `digits` times ten to the power of `exponent`; `digits` holds ASCII digits only.
    Decimal { digits: String, exponent: i32 },
    /// A whole number and a fraction of it, or a fraction alone.
    Fraction(Rational),
}

impl Number {
    /// The exact value, or `None` when it does not fit.
    pub(crate) fn exact(&self) -> Option<Rational> {
        match self {
            Self::Fraction(fraction) => Some(*fraction),
            Self::Decimal { digits, exponent } => decimal(digits, *exponent),
        }
    }

    /// The nearest `f64` to the number times ten to the power of `shift`, for a decimal of
    /// any size. `None` for a fraction.
    pub(crate) fn scaled_by_ten(&self, shift: i32) -> Option<f64> {
        match self {
            Self::Fraction(_) => None,
            // The standard library rounds a decimal once, whatever its length.
            Self::Decimal { digits, exponent } => {
                format!("{digits}e{}", exponent.checked_add(shift)?).parse().ok()
            }
        }
    }

    pub(crate) fn is_zero(&self) -> bool {
        match self {
            Self::Fraction(fraction) => fraction.is_zero(),
            Self::Decimal { digits, .. } => digits.bytes().all(|digit| digit == b'0'),
        }
    }
}

fn decimal(digits: &str, exponent: i32) -> Option<Rational> {
    let significant = digits.trim_start_matches('0');
    let trimmed = significant.trim_end_matches('0');
    if trimmed.is_empty() {
        return Some(Rational::ZERO);
    }
    let dropped = i32::try_from(significant.len() - trimmed.len()).ok()?;
    let exponent = exponent.checked_add(dropped)?;
    let mantissa: i128 = trimmed.parse().ok()?;
    let power = power_of_ten(exponent.unsigned_abs())?;
    if exponent >= 0 {
        return mantissa.checked_mul(power).map(Rational::integer);
    }
    Rational::new(mantissa, power)
}

/// `value` times ten to the power of `shift`, as the shortest decimal text that a reader
/// which divides by that power again rounds to the same `value`.
pub(crate) fn shortest(value: f64, shift: i32) -> String {
    let text = format!("{value:e}");
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let exponent = exponent.parse::<i32>().unwrap_or_default() + shift;
    let (sign, mantissa) = match mantissa.strip_prefix('-') {
        Some(rest) => ("-", rest),
        None => ("", mantissa),
    };
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    if digits == "0" {
        return "0".to_owned();
    }
    format!("{sign}{}", placed(&digits, exponent))
}

/// Digits with the point behind the first one, moved by `exponent` places.
fn placed(digits: &str, exponent: i32) -> String {
    let count = digits.len() as i32;
    match exponent {
        0..=20 if exponent >= count - 1 => {
            format!("{digits}{}", "0".repeat((exponent - count + 1) as usize))
        }
        0..=20 => {
            let (whole, rest) = digits.split_at(exponent as usize + 1);
            format!("{whole}.{rest}")
        }
        -9..=-1 => format!("0.{}{digits}", "0".repeat((-exponent - 1) as usize)),
        _ if count == 1 => format!("{digits}e{exponent}"),
        _ => {
            let (whole, rest) = digits.split_at(1);
            format!("{whole}.{rest}e{exponent}")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shortest_text_moves_the_point() {
        let cases = [
            (0.0, 3, "0"),
            (0.004_762_5, 3, "4.7625"),
            (-1.5, 3, "-1500"),
            (1.0, 0, "1"),
            (123.456, 0, "123.456"),
            (1e-12, 3, "0.000000001"),
            (1e-13, 3, "1e-10"),
            (1.25e30, 0, "1.25e30"),
            (5e-324, 3, "5e-321"),
        ];
        for (value, shift, text) in cases {
            assert_eq!(shortest(value, shift), text);
        }
    }

    #[test]
    fn decimals_are_exact_or_refused() {
        assert_eq!(decimal("0100", -2), Rational::new(1, 1));
        assert_eq!(decimal("000", 400), Some(Rational::ZERO));
        assert_eq!(decimal("1", 39), None);
        assert_eq!(decimal("1", -39), None);
        assert_eq!(decimal(&"9".repeat(60), 0), None);
    }
}
