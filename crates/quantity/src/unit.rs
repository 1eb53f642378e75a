//! Units: their names, their exact factors, and finding the one that was meant.

use crate::rational::Rational;
use crate::scalar::held;

/// One unit of a scale.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Unit {
    /// The name that errors and canonical notation use.
    pub(crate) symbol: &'static str,
    /// Further spellings.
    also: &'static [&'static str],
    /// How many canonical units it is, as a fraction; both parts are exact as `f64`.
    factor: (i128, i128),
    /// What its zero is in canonical units, as a fraction.
    zero: (i128, i128),
    /// Whether it may be one part of a compound such as `5 ft 3 in`.
    pub(crate) joins: bool,
    /// Whether capitals matter, as between `mPa` and `MPa`.
    exact_case: bool,
    /// Why it cannot be read, and what to write instead.
    pub(crate) refusal: Option<(&'static str, &'static str)>,
}

impl Unit {
    pub(crate) const fn new(
        symbol: &'static str,
        also: &'static [&'static str],
        num: i128,
        den: i128,
    ) -> Self {
        Self {
            symbol,
            also,
            factor: (num, den),
            zero: (0, 1),
            joins: false,
            exact_case: false,
            refusal: None,
        }
    }

    /// A name that people write, but that does not say which unit they mean.
    pub(crate) const fn refused(
        symbol: &'static str,
        also: &'static [&'static str],
        why: &'static str,
        hint: &'static str,
    ) -> Self {
        let mut unit = Self::new(symbol, also, 1, 1);
        unit.refusal = Some((why, hint));
        unit
    }

    pub(crate) const fn joining(mut self) -> Self {
        self.joins = true;
        self
    }

    pub(crate) const fn in_exact_case(mut self) -> Self {
        self.exact_case = true;
        self
    }

    pub(crate) const fn with_zero_at(mut self, num: i128, den: i128) -> Self {
        self.zero = (num, den);
        self
    }

    pub(crate) fn factor(&self) -> Option<Rational> {
        Rational::new(self.factor.0, self.factor.1)
    }

    pub(crate) fn zero(&self) -> Option<Rational> {
        Rational::new(self.zero.0, self.zero.1)
    }

    /// The power of ten that the factor is, when it is one and the zeros agree.
    pub(crate) fn power(&self) -> Option<i32> {
        let (num, den) = self.factor;
        if self.zero.0 != 0 {
            return None;
        }
        match (exact_log10(num)?, exact_log10(den)?) {
            (power, 0) => Some(power),
            (0, power) => Some(-power),
            _ => None,
        }
    }

    /// Canonical units for a number of these, within a rounding or two.
    pub(crate) fn to_canonical(self, number: f64) -> f64 {
        let (num, den) = self.factor;
        let (zero_num, zero_den) = self.zero;
        number * num as f64 / den as f64 + zero_num as f64 / zero_den as f64
    }

    /// The number of these in a canonical value, within a rounding or two; it stays finite.
    pub(crate) fn count_in(self, value: f64) -> f64 {
        let (num, den) = self.factor;
        let (zero_num, zero_den) = self.zero;
        held((value - zero_num as f64 / zero_den as f64) * den as f64 / num as f64)
    }

    /// All spellings, in the form that [`plain`] gives.
    fn names(&self) -> impl Iterator<Item = String> {
        std::iter::once(self.symbol).chain(self.also.iter().copied()).map(plain)
    }
}

fn exact_log10(number: i128) -> Option<i32> {
    let power = number.checked_ilog10()?;
    (10_i128.checked_pow(power) == Some(number)).then_some(power as i32)
}

/// The unit of that name.
pub(crate) fn find(units: &'static [Unit], text: &str) -> Option<&'static Unit> {
    let as_listed = |unit: &&Unit| unit.symbol == text || unit.also.contains(&text);
    if let Some(unit) = units.iter().find(as_listed) {
        return Some(unit);
    }
    let name = plain(text);
    let folded = name.to_lowercase();
    let exact = units.iter().find(|unit| unit.names().any(|known| known == name));
    exact.or_else(|| {
        units
            .iter()
            .filter(|unit| !unit.exact_case)
            .find(|unit| unit.names().any(|known| known.to_lowercase() == folded))
    })
}

/// The unit whose name is nearest to a text that names none, when one is near.
pub(crate) fn nearest(units: &'static [Unit], text: &str) -> Option<&'static Unit> {
    let folded = plain(text).to_lowercase();
    let length = folded.chars().count();
    // A text of any length may arrive here; only a short one can be a slip of the hand.
    if length == 0 || length > 24 {
        return None;
    }
    let allowed = if length <= 3 { 1 } else { 2 };
    // Something of the name must be left, or every letter is near to every unit.
    let distance = |unit: &Unit| {
        let near = |name: String| {
            let slips = slips(&name.to_lowercase(), &folded);
            (slips < length.min(name.chars().count())).then_some(slips)
        };
        unit.names().filter_map(near).min().filter(|slips| *slips <= allowed)
    };
    units
        .iter()
        .filter(|unit| unit.refusal.is_none())
        .filter_map(|unit| Some((distance(unit)?, unit)))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, unit)| unit)
}

/// A unit name with one separator, plain quotes, and no ornament: `lbf.in`, `lbf in` and
/// `lbf-in` are all `lbf·in`, and `in²` is `in2`.
fn plain(text: &str) -> String {
    let text = text.trim();
    let text = text.strip_suffix('.').unwrap_or(text);
    let mut name = String::with_capacity(text.len());
    let mut gap = false;
    for c in text.chars() {
        match c {
            c if is_separator(c) => gap = true,
            '^' => {}
            c => {
                if std::mem::take(&mut gap) {
                    name.push('·');
                }
                name.push(match c {
                    '²' => '2',
                    '″' | '”' | '“' => '"',
                    '′' | '’' | '‘' => '\'',
                    'º' | '˚' => '°',
                    c => c,
                });
            }
        }
    }
    // A separator at the end separates nothing: it stays, and names no unit.
    if gap {
        name.push('·');
    }
    name.replace("''", "\"")
}

fn is_separator(c: char) -> bool {
    c.is_whitespace()
        || matches!(c, '.' | '·' | '⋅' | '•' | '∙' | '×' | '*' | '-' | '‑' | '–')
}

/// How many slips of the hand lie between two words: a letter missing, added, changed, or
/// two neighbours exchanged.
fn slips(left: &str, right: &str) -> usize {
    let left: Vec<char> = left.chars().collect();
    let right: Vec<char> = right.chars().collect();
    let mut rows = vec![vec![0; right.len() + 1]; left.len() + 1];
    for i in 0..=left.len() {
        for j in 0..=right.len() {
            if i == 0 || j == 0 {
                rows[i][j] = i + j;
                continue;
            }
            let changed = usize::from(left[i - 1] != right[j - 1]);
            let mut least = (rows[i - 1][j] + 1)
                .min(rows[i][j - 1] + 1)
                .min(rows[i - 1][j - 1] + changed);
            if i > 1
                && j > 1
                && left[i - 1] == right[j - 2]
                && left[i - 2] == right[j - 1]
            {
                least = least.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = least;
        }
    }
    rows[left.len()][right.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::KINDS;

    #[test]
    fn a_name_means_one_unit_of_its_scale() {
        for (kind, units) in KINDS {
            let mut names: Vec<(String, &str)> = units
                .iter()
                .flat_map(|unit| unit.names().map(|name| (fold(unit, name), unit.symbol)))
                .collect();
            names.sort();
            names.dedup();
            for pair in names.windows(2) {
                let ((name, one), (other_name, other)) = (&pair[0], &pair[1]);
                assert!(name != other_name, "{kind}: {name} is {one} and {other}");
            }
        }
    }

    fn fold(unit: &Unit, name: String) -> String {
        if unit.exact_case { name } else { name.to_lowercase() }
    }

    /// Both parts of a factor go through `f64` in bare conversions.
    #[test]
    fn factors_are_exact_as_floats() {
        for unit in KINDS.iter().flat_map(|(_, units)| units.iter()) {
            for part in [unit.factor.0, unit.factor.1, unit.zero.0, unit.zero.1] {
                assert_eq!(part as f64 as i128, part, "{}", unit.symbol);
            }
            assert!(unit.factor.0 > 0 && unit.factor.1 > 0);
        }
    }

    #[test]
    fn slips_of_the_hand_are_counted() {
        let cases =
            [("mm", "mm", 0), ("mmm", "mm", 1), ("icnh", "inch", 1), ("lfb", "lbf", 1)];
        for (left, right, count) in cases {
            assert_eq!(slips(left, right), count, "{left} {right}");
        }
    }
}
