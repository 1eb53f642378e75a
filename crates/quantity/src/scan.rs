//! The scanner shared by all notations: text to a sign and a row of numbers with units.

use std::ops::Range;

use crate::error::{Fault, quoted};
use crate::number::Number;
use crate::rational::Rational;

/// What a text such as `-5 ft 3 1/2 in` says, before its units are looked up.
#[derive(Debug)]
pub(crate) struct Scanned<'t> {
    pub(crate) negative: bool,
    pub(crate) terms: Vec<Term<'t>>,
}

/// One number and the unit behind it; the unit is empty when none was written.
#[derive(Debug)]
pub(crate) struct Term<'t> {
    pub(crate) number: Number,
    pub(crate) number_at: Range<usize>,
    pub(crate) unit: &'t str,
    pub(crate) unit_at: Range<usize>,
}

/// Reads a text; `usual` is what an error shows as an example.
pub(crate) fn scan<'t>(text: &'t str, usual: &str) -> Result<Scanned<'t>, Fault> {
    let example = |fault: Fault| match fault.hint {
        Some(_) => fault,
        None => fault.hint(format!("write a number and a unit, such as {usual}")),
    };
    let mut cursor = Cursor { text, at: 0 };
    cursor.skip_spaces();
    if cursor.peek().is_none() {
        return Err(example(Fault::new(0..text.len(), "nothing is written here")));
    }
    let negative = cursor.sign();
    let mut terms = Vec::new();
    loop {
        let term = cursor.term().map_err(example)?;
        let unitless = term.unit.is_empty();
        terms.push(term);
        if cursor.peek().is_none() {
            return Ok(Scanned { negative, terms });
        }
        if unitless {
            return Err(cursor.two_numbers(&terms));
        }
        cursor.join()?;
    }
}

/// A place in a text.
struct Cursor<'t> {
    text: &'t str,
    at: usize,
}

impl<'t> Cursor<'t> {
    fn rest(&self) -> &'t str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn bump(&mut self) {
        self.at += self.peek().map_or(0, char::len_utf8);
    }

    fn skip_spaces(&mut self) {
        self.at += spaces(self.rest());
    }

    fn digits(&mut self) -> &'t str {
        let rest = self.rest();
        let digits = &rest[..digits(rest)];
        self.at += digits.len();
        digits
    }

    /// Eats a sign and says whether it was a minus.
    fn sign(&mut self) -> bool {
        let Some(sign) = self.peek().filter(|&c| is_sign(c)) else {
            return false;
        };
        self.bump();
        self.skip_spaces();
        sign != '+'
    }

    fn term(&mut self) -> Result<Term<'t>, Fault> {
        let start = self.at;
        let number = self.number()?;
        let number_at = start..self.at;
        self.refuse_comma(&number_at)?;
        self.skip_spaces();
        let unit_at = self.unit();
        self.skip_spaces();
        let unit = &self.text[unit_at.clone()];
        Ok(Term { number, number_at, unit, unit_at })
    }

    fn number(&mut self) -> Result<Number, Fault> {
        let start = self.at;
        let whole = self.digits();
        let rest = self.rest();
        if rest.starts_with('.') && (!whole.is_empty() || digits(&rest[1..]) > 0) {
            self.bump();
            let places = self.digits();
            return self.decimal(start, whole, places);
        }
        if whole.is_empty() {
            return self.vulgar().map(Number::Fraction).ok_or_else(|| self.no_number());
        }
        if let Some(slash) = self.slash() {
            self.at += slash;
            return self.fraction(start, "0", whole);
        }
        if let Some((gap, numerator)) = mixed(rest) {
            self.at += gap + numerator.len();
            self.at += self.slash().unwrap_or_default();
            return self.fraction(start, whole, numerator);
        }
        let gap = spaces(rest);
        if rest[gap..].chars().next().and_then(vulgar).is_some() {
            self.at += gap;
            let part = self.vulgar();
            let sum = part.zip(whole.parse().ok());
            return sum
                .and_then(|(part, whole)| part.checked_add(Rational::integer(whole)))
                .map(Number::Fraction)
                .ok_or_else(|| too_long(start..self.at));
        }
        self.decimal(start, whole, "")
    }

    /// The length of a fraction stroke here, when one stands here.
    fn slash(&self) -> Option<usize> {
        self.peek().filter(|&c| matches!(c, '/' | '⁄')).map(char::len_utf8)
    }

    fn vulgar(&mut self) -> Option<Rational> {
        let (num, den) = self.peek().and_then(vulgar)?;
        self.bump();
        Rational::new(num, den)
    }

    /// Reads the denominator, the stroke being behind.
    fn fraction(
        &mut self,
        start: usize,
        whole: &str,
        numerator: &str,
    ) -> Result<Number, Fault> {
        let denominator = self.digits();
        let at = start..self.at;
        if denominator.is_empty() {
            let sentence =
                format!("{} has no denominator", quoted(&self.text[at.clone()]));
            return Err(Fault::new(at, sentence).hint("write a fraction as 3/16"));
        }
        let (Ok(whole), Ok(num), Ok(den)) =
            (whole.parse(), numerator.parse(), denominator.parse())
        else {
            return Err(too_long(at));
        };
        if den == 0 {
            return Err(Fault::new(at, "a fraction cannot have the denominator 0")
                .hint("write a fraction as 3/16"));
        }
        Rational::new(num, den)
            .and_then(|part| part.checked_add(Rational::integer(whole)))
            .map(Number::Fraction)
            .ok_or_else(|| too_long(at))
    }

    /// Reads the power of ten, the digits being behind.
    fn decimal(
        &mut self,
        start: usize,
        whole: &str,
        places: &str,
    ) -> Result<Number, Fault> {
        let power = self.exponent().map_err(|()| too_long(start..self.at))?;
        let exponent = i32::try_from(places.len())
            .ok()
            .and_then(|places| power.checked_sub(places))
            .ok_or_else(|| too_long(start..self.at))?;
        Ok(Number::Decimal { digits: format!("{whole}{places}"), exponent })
    }

    fn exponent(&mut self) -> Result<i32, ()> {
        let rest = self.rest();
        let Some(power) = rest.strip_prefix(['e', 'E']) else {
            return Ok(0);
        };
        let sign = usize::from(power.starts_with(['+', '-']));
        let length = digits(&power[sign..]);
        if length == 0 {
            return Ok(0);
        }
        self.at += 1 + sign + length;
        power[..sign + length].parse().map_err(|_| ())
    }

    /// Reads up to the next number, and gives where the unit stands.
    fn unit(&mut self) -> Range<usize> {
        let start = self.at;
        while let Some(c) = self.peek() {
            let behind = &self.text[start..self.at];
            if ends_unit(behind, c, self.rest()) {
                break;
            }
            self.bump();
        }
        let unit = self.text[start..self.at].trim_end();
        start..start + unit.len()
    }

    /// Eats what may stand between two parts of a compound: `5'-3"`, `5 ft, 3 in`.
    fn join(&mut self) -> Result<(), Fault> {
        let touching = !self.text[..self.at].ends_with(char::is_whitespace);
        match self.peek() {
            Some('-') if touching => self.bump(),
            Some(',') if touching => {
                self.bump();
                self.skip_spaces();
            }
            _ => {}
        }
        match self.peek() {
            Some(c) if is_sign(c) => {
                let range = self.at..self.at + c.len_utf8();
                Err(Fault::new(range, "a sign may stand only in front of the whole")
                    .hint("write the sign once, at the beginning"))
            }
            _ => Ok(()),
        }
    }

    fn no_number(&self) -> Fault {
        let rest = self.rest();
        let word = &rest[..rest.find(char::is_whitespace).unwrap_or(rest.len())];
        let range = self.at..self.at + word.len();
        if word.is_empty() {
            return Fault::new(range, "a number is missing at the end");
        }
        Fault::new(range, format!("a number was expected where {} stands", quoted(word)))
    }

    /// Neither the decimal comma nor the comma between thousands is read: each is the
    /// other to somebody, and the factor of 1000 would go unseen.
    fn refuse_comma(&self, number_at: &Range<usize>) -> Result<(), Fault> {
        let rest = self.rest();
        if !rest.starts_with(',') || digits(&rest[1..]) == 0 {
            return Ok(());
        }
        let tail = rest.find(|c: char| !c.is_ascii_digit() && c != ',' && c != '.');
        let end = self.at + tail.unwrap_or(rest.len());
        let typed = &self.text[number_at.start..end];
        let rewrite = |number: String| {
            format!("{}{number}{}", &self.text[..number_at.start], &self.text[end..])
        };
        let point = rewrite(typed.replace('.', "").replace(',', "."));
        let plain = rewrite(typed.replace(',', ""));
        let (commas, points) = (typed.matches(',').count(), typed.matches('.').count());
        let thousands = typed
            .split('.')
            .next()
            .is_some_and(|whole| whole.split(',').skip(1).all(|group| group.len() == 3));
        let comma_last = typed.rfind(',') > typed.rfind('.');
        let hint = match (thousands, commas, points) {
            (true, 1, 0) => format!(
                "write {plain} if the comma parts thousands, {point} if it is a point"
            ),
            (_, 1, _) if comma_last => format!("write {point}"),
            (_, _, 0 | 1) if thousands => format!("write {plain}"),
            _ => "write one number with at most one point".to_owned(),
        };
        let sentence = format!("{} has a comma in the number", quoted(typed));
        Err(Fault::new(number_at.start..end, sentence).hint(hint))
    }

    /// What to say when something other than a unit follows a number.
    fn two_numbers(&self, terms: &[Term]) -> Fault {
        let start = terms.last().map_or(0, |term| term.number_at.start);
        let rest = self.rest();
        let length = rest.find(char::is_whitespace).unwrap_or(rest.len());
        let next = &rest[..length];
        let behind = &self.text[start..self.at];
        let both = start..self.at + length;
        let typed = quoted(&self.text[both.clone()]);
        if next.starts_with('.') && behind.ends_with(|c: char| c.is_ascii_digit()) {
            return Fault::new(both, format!("{typed} has more than one point"))
                .hint("write one number with at most one point");
        }
        let fault =
            Fault::new(both.clone(), format!("{typed} has no unit between two numbers"));
        let group = digits(next);
        let whole = behind.trim_end();
        if digits(whole) == whole.len() && whole.len() <= 3 && group == 3 {
            let (before, tail) = (&self.text[..start], &rest[group..]);
            let joined = format!("{before}{whole}{}{tail}", &next[..group]);
            return fault.hint(format!("write {joined} if the space parts thousands"));
        }
        fault.hint("write a unit behind each number, or a single number")
    }
}

fn too_long(range: Range<usize>) -> Fault {
    Fault::new(range, "the number has more digits than can be kept exactly")
        .hint("write fewer digits")
}

fn digits(text: &str) -> usize {
    text.bytes().take_while(u8::is_ascii_digit).count()
}

fn spaces(text: &str) -> usize {
    text.len() - text.trim_start().len()
}

fn is_sign(c: char) -> bool {
    matches!(c, '-' | '−' | '+')
}

/// The gap and the numerator of ` 3/8` or `-3/8`, behind a whole number.
fn mixed(rest: &str) -> Option<(usize, &str)> {
    let gap = if rest.starts_with('-') { 1 } else { spaces(rest) };
    let length = digits(&rest[gap..]);
    let numerator = &rest[gap..gap + length];
    let stroke = rest[gap + length..].starts_with(['/', '⁄']);
    (gap > 0 && length > 0 && stroke).then_some((gap, numerator))
}

/// Whether the unit ends before `c`, which `rest` begins with.
fn ends_unit(behind: &str, c: char, rest: &str) -> bool {
    let next = rest.chars().nth(1);
    let begins = |c: char| c.is_ascii_digit() || vulgar(c).is_some();
    match c {
        '2' => !squares(behind, next),
        '.' => next.is_some_and(|c| c.is_ascii_digit()),
        ',' => true,
        c if is_sign(c) => next.is_some_and(|c| begins(c) || c == '.'),
        c => begins(c),
    }
}

/// Whether a `2` behind these letters is the exponent of an area.
fn squares(behind: &str, next: Option<char>) -> bool {
    if next.is_some_and(|c| c.is_alphanumeric() || c == '.') {
        return false;
    }
    let letters = behind.rsplit(|c: char| !c.is_alphabetic()).next().unwrap_or_default();
    behind.ends_with('^')
        || matches!(
            letters.to_ascii_lowercase().as_str(),
            "m" | "mm" | "cm" | "in" | "inch" | "ft"
        )
}

fn vulgar(c: char) -> Option<(i128, i128)> {
    Some(match c {
        '½' => (1, 2),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '¼' => (1, 4),
        '¾' => (3, 4),
        '⅕' => (1, 5),
        '⅖' => (2, 5),
        '⅗' => (3, 5),
        '⅘' => (4, 5),
        '⅙' => (1, 6),
        '⅚' => (5, 6),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        _ => return None,
    })
}
