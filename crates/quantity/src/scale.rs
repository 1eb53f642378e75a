//! A scale: the units of one kind of quantity, and reading a text against them.

use crate::error::{Fault, QuantityError, quoted};
use crate::rational::Rational;
use crate::scan::{Scanned, Term, scan};
use crate::unit::{Unit, find, nearest};
use crate::{area, elapsed, force, length, mass, moment, pressure, temperature, torque};

/// The units of one kind of quantity.
#[derive(Debug)]
pub(crate) struct Scale {
    /// The kind, with its article, such as `a length`.
    pub(crate) noun: &'static str,
    pub(crate) units: &'static [Unit],
    /// The unit that an error shows in its example.
    pub(crate) usual: &'static str,
    /// What is written in the place of a unit without being one, such as a gauge.
    pub(crate) besides: &'static [&'static str],
    /// A bare number behind the first unit counts in the second, as in `1 h 30`.
    pub(crate) bare: Option<(&'static str, &'static str)>,
}

/// What a unit of each scale is, to somebody who wrote it in the wrong place.
pub(crate) static KINDS: [(&str, &[Unit]); 9] = [
    (length::SCALE.noun, length::SCALE.units),
    (mass::SCALE.noun, mass::SCALE.units),
    (force::SCALE.noun, force::SCALE.units),
    (moment::SCALE.noun, moment::SCALE.units),
    (torque::SCALE.noun, torque::SCALE.units),
    (area::SCALE.noun, area::SCALE.units),
    (pressure::SCALE.noun, pressure::SCALE.units),
    (temperature::SCALE.noun, temperature::SCALE.units),
    ("a time", elapsed::SCALE.units),
];

impl Scale {
    /// The value in canonical units, rounded once.
    pub(crate) fn read(&self, text: &str) -> Result<f64, QuantityError> {
        self.value(text).map_err(|fault| QuantityError::new(self.noun, text, fault))
    }

    /// The exact value in canonical units.
    pub(crate) fn read_exact(&self, text: &str) -> Result<Rational, QuantityError> {
        scan(text, self.usual)
            .and_then(|scanned| self.sum(&scanned))
            .map_err(|fault| QuantityError::new(self.noun, text, fault))
    }

    fn value(&self, text: &str) -> Result<f64, Fault> {
        let scanned = scan(text, self.usual)?;
        if let Some(value) = self.one_decimal(&scanned)? {
            return Ok(value);
        }
        self.sum(&scanned).map(Rational::to_f64)
    }

    /// One decimal in a unit that is a power of ten of the canonical one: read at any
    /// size, beyond what an exact fraction holds.
    fn one_decimal(&self, scanned: &Scanned) -> Result<Option<f64>, Fault> {
        let [term] = scanned.terms.as_slice() else {
            return Ok(None);
        };
        let unit = self.unit(term)?;
        let Some(size) = unit.power().and_then(|power| term.number.scaled_by_ten(power))
        else {
            return Ok(None);
        };
        let at = term.number_at.clone();
        if !size.is_finite() {
            return Err(Fault::new(at, "the number is too large to be kept"));
        }
        if size == 0.0 && !term.number.is_zero() {
            return Err(Fault::new(at, "the number is too small to be told from zero"));
        }
        Ok(Some(if scanned.negative { -size } else { size }))
    }

    fn sum(&self, scanned: &Scanned) -> Result<Rational, Fault> {
        let mut total = Rational::ZERO;
        let mut last: Option<(&Unit, &Term)> = None;
        for term in &scanned.terms {
            let unit = self.unit_behind(term, last.map(|(unit, _)| unit))?;
            if let Some((before, first)) = last {
                check_compound(before, first, unit, term)?;
            }
            let size = unit.factor().zip(term.number.exact());
            total = size
                .and_then(|(factor, number)| factor.checked_mul(number))
                .and_then(|size| total.checked_add(size))
                .ok_or_else(|| overflow(term))?;
            last = Some((unit, term));
        }
        let (Some((unit, term)), true) = (last, scanned.negative) else {
            return above_zero_of(last, total);
        };
        let total = total.checked_neg().ok_or_else(|| overflow(term))?;
        above_zero_of(Some((unit, term)), total)
    }

    /// The unit of a term, or the understood one of a bare number behind another term.
    fn unit_behind(
        &self,
        term: &Term,
        before: Option<&Unit>,
    ) -> Result<&'static Unit, Fault> {
        let bare = self.bare.filter(|(first, _)| {
            term.unit.is_empty() && before.is_some_and(|unit| unit.symbol == *first)
        });
        match bare.and_then(|(_, second)| find(self.units, second)) {
            Some(unit) => Ok(unit),
            None => self.unit(term),
        }
    }

    fn unit(&self, term: &Term) -> Result<&'static Unit, Fault> {
        if term.unit.is_empty() {
            return Err(self.missing(term));
        }
        let unit = find(self.units, term.unit).ok_or_else(|| self.unknown(term))?;
        match unit.refusal {
            Some((why, hint)) => {
                let sentence = format!("{} {why}", quoted(term.unit));
                Err(Fault::new(term.unit_at.clone(), sentence).hint(hint))
            }
            None => Ok(unit),
        }
    }

    fn missing(&self, term: &Term) -> Fault {
        let sentence =
            format!("a unit is missing: {} needs one of {}", self.noun, self.list());
        Fault::new(term.unit_at.clone(), sentence)
            .hint(format!("put the unit behind the number, such as {}", self.usual))
    }

    fn unknown(&self, term: &Term) -> Fault {
        let typed = quoted(term.unit);
        let at = term.unit_at.clone();
        let other = KINDS.iter().find(|(_, units)| {
            find(units, term.unit).is_some_and(|unit| unit.refusal.is_none())
        });
        if let Some((kind, _)) = other {
            let sentence = format!("{typed} is {kind}; {} was expected", self.noun);
            return Fault::new(at, sentence).hint(format!("use one of {}", self.list()));
        }
        let fault =
            Fault::new(at, format!("{typed} is not a unit known for {}", self.noun));
        if let (Some((first, second)), true) = (self.bare, term.unit.starts_with(':')) {
            return fault.hint(format!("write the units, such as 1 {first} 30 {second}"));
        }
        match nearest(self.units, term.unit) {
            Some(unit) => fault.hint(format!("did you mean {}?", unit.symbol)),
            None => fault.hint(format!("use one of {}", self.list())),
        }
    }

    fn list(&self) -> String {
        let symbols: Vec<&str> = self
            .units
            .iter()
            .filter(|unit| unit.refusal.is_none())
            .map(|unit| unit.symbol)
            .chain(self.besides.iter().copied())
            .collect();
        symbols.join(", ")
    }
}

/// Adds the zero of the unit: only temperatures have one apart from 0.
fn above_zero_of(
    last: Option<(&Unit, &Term)>,
    total: Rational,
) -> Result<Rational, Fault> {
    let Some((unit, term)) = last else {
        return Ok(total);
    };
    let zero = unit.zero().and_then(|zero| zero.checked_add(total));
    zero.ok_or_else(|| overflow(term))
}

fn check_compound(
    before: &Unit,
    first: &Term,
    unit: &Unit,
    term: &Term,
) -> Result<(), Fault> {
    let at = first.number_at.start..term.unit_at.end.max(term.number_at.end);
    if !before.joins || !unit.joins {
        let sentence =
            format!("{} and {} are not written together", before.symbol, unit.symbol);
        return Err(Fault::new(at, sentence).hint("write one number and one unit"));
    }
    let larger = before.to_canonical(1.0) > unit.to_canonical(1.0);
    if !larger {
        let sentence = format!(
            "{} comes before {}, but the larger unit comes first",
            before.symbol, unit.symbol
        );
        return Err(Fault::new(at, sentence).hint("write the larger unit first"));
    }
    if first.number.exact().and_then(Rational::whole).is_none() {
        let sentence = format!(
            "only the last number of several may have a fraction, and {} follows",
            unit.symbol
        );
        return Err(Fault::new(first.number_at.clone(), sentence)
            .hint("write the fraction in the last unit"));
    }
    Ok(())
}

fn overflow(term: &Term) -> Fault {
    let sentence = "the number has more digits than can be kept exactly";
    Fault::new(term.number_at.clone(), sentence).hint("write fewer digits")
}
