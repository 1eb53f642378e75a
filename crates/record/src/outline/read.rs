//! Reading a path.
//!
//! The notation is that of SVG (W3C, "Scalable Vector Graphics 2", section 9.3, path data),
//! without exponents, so that every number is plain to whoever checks it.

use super::rings::Point;
use super::{Arc, DrawnPath, Stroke};

/// What is wrong with a path.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PathFault {
    /// At which letter of the text, the first being 1.
    pub at: usize,
    /// What is wrong there.
    pub what: String,
    /// What to do.
    pub hint: &'static str,
}

/// The letters that a path is made of, for advice.
const LETTERS: &str = "use M, L, H, V, C, S, Q, T, A and Z, each with its numbers";

/// After so many mistakes in one path no more are looked for.
const ENOUGH: usize = 5;

/// The strokes of a path, or all that is wrong with it.
pub(super) fn strokes(text: &str) -> Result<Vec<Stroke>, Vec<PathFault>> {
    let signs: Vec<char> = text.chars().collect();
    if signs.len() > DrawnPath::LONGEST {
        let what = format!(
            "the path has {} letters, and {} is the most",
            signs.len(),
            DrawnPath::LONGEST
        );
        let hint = "draw it with fewer points, or as several outlines";
        return Err(vec![PathFault { at: DrawnPath::LONGEST + 1, what, hint }]);
    }
    let mut pen = Pen::default();
    let mut reader = Reader { signs: &signs, at: 0, faults: Vec::new() };
    reader.path(&mut pen);
    if reader.faults.is_empty() { Ok(pen.strokes) } else { Err(reader.faults) }
}

/// Where the pen is, and what it drew.
#[derive(Default)]
struct Pen {
    strokes: Vec<Stroke>,
    at: Point,
    set_down: Point,
    /// The last pulling point, for the short curve that follows: of a cubic, of a quadratic.
    pull: (Option<Point>, Option<Point>),
}

/// The text, and how far it was read.
struct Reader<'a> {
    signs: &'a [char],
    at: usize,
    faults: Vec<PathFault>,
}

impl Reader<'_> {
    fn path(&mut self, pen: &mut Pen) {
        self.blanks();
        while let Some(letter) = self.peek() {
            if self.faults.len() >= ENOUGH {
                return;
            }
            let begun = self.at;
            self.at += 1;
            if !letter.is_ascii_alphabetic() || count(letter).is_none() {
                self.strange(begun, letter);
                self.skip();
            } else if begun_wrongly(pen, letter) && self.faults.is_empty() {
                let what = format!("the path begins with `{letter}`");
                self.fault(begun, what, "begin with M and the place of the first point");
                self.skip();
            } else if self.command(pen, letter).is_none() {
                self.skip();
            }
            self.blanks();
        }
        if pen.strokes.is_empty() && self.faults.is_empty() {
            self.fault(0, "the path is empty", "begin with M and the place of a point");
        }
    }

    /// One letter and all sets of numbers behind it; nothing if something is wrong.
    fn command(&mut self, pen: &mut Pen, letter: char) -> Option<()> {
        let many = count(letter)?;
        if many == 0 {
            pen.close();
            return Some(());
        }
        let mut letter = letter;
        loop {
            let begun = self.at;
            let numbers = self.numbers(letter, many)?;
            if !pen.draw(letter, &numbers) {
                let what = format!("it leads farther than {}", DrawnPath::FARTHEST);
                self.fault(begun, what, "draw it nearer to the origin");
                return None;
            }
            // What follows the place of a first point are lines to more of them.
            letter = match letter {
                'M' => 'L',
                'm' => 'l',
                other => other,
            };
            let end = self.at;
            let comma = self.comma();
            match self.peek() {
                Some(sign) if begins_number(sign) => {}
                _ if comma => {
                    self.fault(end, "a number is missing behind the comma", LETTERS);
                    return None;
                }
                _ => return Some(()),
            }
        }
    }

    /// One set of numbers.
    fn numbers(&mut self, letter: char, many: usize) -> Option<Vec<f64>> {
        let mut numbers = Vec::with_capacity(many);
        for place in 0..many {
            if place == 0 {
                self.blanks();
            } else {
                self.comma();
            }
            let flag = matches!(letter, 'A' | 'a') && matches!(place, 3 | 4);
            let number = if flag { self.flag() } else { self.number() };
            let Some(number) = number else {
                self.lacking(letter, (place, many));
                return None;
            };
            if number.is_nan() || number.abs() > DrawnPath::FARTHEST {
                let what = format!("{number} is farther than {}", DrawnPath::FARTHEST);
                self.fault(self.at - 1, what, "draw it nearer to the origin");
                return None;
            }
            if matches!(letter, 'A' | 'a') && place < 2 && number < 0.0 {
                let what = format!("an arc has the radius {number}");
                self.fault(self.at - 1, what, "a radius is 0 or more");
                return None;
            }
            numbers.push(number);
        }
        Some(numbers)
    }

    /// Digits with at most one point, and a sign before them.
    fn number(&mut self) -> Option<f64> {
        let begun = self.at;
        let mut end = begun;
        let (mut digits, mut point) = (0, false);
        while let Some(sign) = self.signs.get(end) {
            match sign {
                '+' | '-' if end == begun => {}
                '.' if !point => point = true,
                '0'..='9' => digits += 1,
                _ => break,
            }
            end += 1;
        }
        if digits == 0 {
            return None;
        }
        self.at = end;
        let text: String = self.signs[begun..end].iter().collect();
        text.parse().ok()
    }

    /// A yes or no of an arc, which may stand close before what follows.
    fn flag(&mut self) -> Option<f64> {
        let flag = match self.peek()? {
            '0' => 0.0,
            '1' => 1.0,
            _ => return None,
        };
        self.at += 1;
        Some(flag)
    }

    fn lacking(&mut self, letter: char, (place, many): (usize, usize)) {
        let takes = match many {
            1 => "one number".to_owned(),
            many => format!("{many} numbers"),
        };
        let what = match self.peek() {
            Some(sign) if count(sign).is_some() && place == 0 => {
                format!("`{letter}` has no number, and it takes {takes}")
            }
            Some(sign) => format!(
                "`{sign}` stands where number {} of `{letter}` is expected, which takes {takes}",
                place + 1
            ),
            None => format!(
                "the path ends before number {} of `{letter}`, which takes {takes}",
                place + 1
            ),
        };
        let flag = matches!(letter, 'A' | 'a') && matches!(place, 3 | 4);
        let hint = if flag {
            "an arc takes two radii, a turn in degrees, 0 or 1, 0 or 1, and the place where it ends"
        } else {
            "write plain numbers such as 12, -3.5 or .25"
        };
        self.fault(self.at, what, hint);
    }

    fn strange(&mut self, at: usize, sign: char) {
        let what = format!("`{}` is no letter of a path", sign.escape_debug());
        let hint = match sign {
            'e' | 'E' => "write numbers without exponents: 1200, not 1.2e3",
            '0'..='9' | '+' | '-' | '.' => "a letter must say what the numbers are",
            _ => LETTERS,
        };
        self.fault(at, what, hint);
    }

    fn fault(&mut self, at: usize, what: impl Into<String>, hint: &'static str) {
        self.faults.push(PathFault { at: at + 1, what: what.into(), hint });
    }

    /// On to the next letter that says what follows it.
    fn skip(&mut self) {
        while self.peek().is_some_and(|sign| count(sign).is_none()) {
            self.at += 1;
        }
    }

    fn peek(&self) -> Option<char> {
        self.signs.get(self.at).copied()
    }

    fn blanks(&mut self) {
        while self.peek().is_some_and(|sign| matches!(sign, ' ' | '\t' | '\n' | '\r')) {
            self.at += 1;
        }
    }

    /// Blanks, and at most one comma among them; whether there was one.
    fn comma(&mut self) -> bool {
        self.blanks();
        let comma = self.peek() == Some(',');
        if comma {
            self.at += 1;
            self.blanks();
        }
        comma
    }
}

fn begun_wrongly(pen: &Pen, letter: char) -> bool {
    pen.strokes.is_empty() && !matches!(letter, 'M' | 'm')
}

fn begins_number(sign: char) -> bool {
    matches!(sign, '0'..='9' | '+' | '-' | '.')
}

/// How many numbers a letter takes; nothing if it is no letter of a path.
fn count(letter: char) -> Option<usize> {
    Some(match letter.to_ascii_uppercase() {
        'Z' => 0,
        'H' | 'V' => 1,
        'M' | 'L' | 'T' => 2,
        'S' | 'Q' => 4,
        'C' => 6,
        'A' => 7,
        _ => return None,
    })
}

impl Pen {
    fn close(&mut self) {
        self.strokes.push(Stroke::Close);
        self.at = self.set_down;
        self.pull = (None, None);
    }

    /// Draws what a letter and its numbers say; no if that leads too far.
    fn draw(&mut self, letter: char, n: &[f64]) -> bool {
        let from = if letter.is_ascii_lowercase() { self.at } else { Point::default() };
        let at = |place: usize| Point { x: from.x + n[place], y: from.y + n[place + 1] };
        let stroke = match letter.to_ascii_uppercase() {
            'M' => Stroke::Move(at(0)),
            'L' => Stroke::Line(at(0)),
            'H' => Stroke::Line(Point { x: from.x + n[0], y: self.at.y }),
            'V' => Stroke::Line(Point { x: self.at.x, y: from.y + n[0] }),
            'C' => Stroke::Cubic(at(0), at(2), at(4)),
            'S' => Stroke::Cubic(self.mirrored(self.pull.0), at(0), at(2)),
            'Q' => Stroke::Quadratic(at(0), at(2)),
            'T' => Stroke::Quadratic(self.mirrored(self.pull.1), at(0)),
            _ => Stroke::Arc(Arc {
                radii: (n[0], n[1]),
                turned: n[2],
                large: n[3] > 0.5,
                sweep: n[4] > 0.5,
                to: at(5),
            }),
        };
        self.keep(stroke)
    }

    /// The last pulling point on the other side of the pen, or the pen where there is none.
    fn mirrored(&self, pull: Option<Point>) -> Point {
        let Point { x, y } = pull.unwrap_or(self.at);
        Point { x: 2.0 * self.at.x - x, y: 2.0 * self.at.y - y }
    }

    fn keep(&mut self, stroke: Stroke) -> bool {
        let (to, pull) = match stroke {
            Stroke::Move(to) | Stroke::Line(to) | Stroke::Arc(Arc { to, .. }) => {
                (to, (None, None))
            }
            Stroke::Cubic(_, pull, to) => (to, (Some(pull), None)),
            Stroke::Quadratic(pull, to) => (to, (None, Some(pull))),
            Stroke::Close => (self.set_down, (None, None)),
        };
        if matches!(stroke, Stroke::Move(_)) {
            self.set_down = to;
        }
        (self.at, self.pull) = (to, pull);
        self.strokes.push(stroke);
        to.x.abs().max(to.y.abs()) <= DrawnPath::FARTHEST
    }
}

#[cfg(test)]
mod tests {
    use super::super::DrawnPath;
    use super::*;

    fn faults(text: &str) -> Vec<(usize, String)> {
        let faults = DrawnPath::parse(text).expect_err(text);
        faults.into_iter().map(|fault| (fault.at, fault.what)).collect()
    }

    fn point(x: f64, y: f64) -> Point {
        Point { x, y }
    }

    #[test]
    fn every_letter_is_drawn_with_absolute_places() {
        let path =
            DrawnPath::parse("m10-5 2,3H4v1.5.5 q1 1 2 0t2 0C0 0 1 1 2 2s3 3 4 4z");
        let strokes = path.unwrap().strokes().to_vec();
        assert_eq!(
            strokes,
            [
                Stroke::Move(point(10.0, -5.0)),
                Stroke::Line(point(12.0, -2.0)),
                Stroke::Line(point(4.0, -2.0)),
                Stroke::Line(point(4.0, -0.5)),
                Stroke::Line(point(4.0, 0.0)),
                Stroke::Quadratic(point(5.0, 1.0), point(6.0, 0.0)),
                Stroke::Quadratic(point(7.0, -1.0), point(8.0, 0.0)),
                Stroke::Cubic(point(0.0, 0.0), point(1.0, 1.0), point(2.0, 2.0)),
                Stroke::Cubic(point(3.0, 3.0), point(5.0, 5.0), point(6.0, 6.0)),
                Stroke::Close,
            ]
        );
    }

    /// SVG 2, section 9.3.9: the flags of an arc may stand close before what follows.
    #[test]
    fn flags_may_stand_close() {
        let close = DrawnPath::parse("M0 0A5 5 0 0110 0Z").unwrap();
        let apart = DrawnPath::parse("M 0 0 A 5 5 0 0 1 10 0 Z").unwrap();
        assert_eq!(close.strokes(), apart.strokes());
    }

    #[test]
    fn mistakes_have_places() {
        let cases: &[(&str, usize, &str)] = &[
            ("", 1, "the path is empty"),
            ("L1 2", 1, "begins with `L`"),
            ("M1", 3, "ends before number 2 of `M`, which takes 2 numbers"),
            ("M1 2 K3", 6, "`K` is no letter of a path"),
            ("M1 2 L 3 x", 10, "`x` stands where number 2 of `L` is expected"),
            ("M1 2 L 3 4,", 11, "a number is missing behind the comma"),
            ("M1 2 L,3 4", 7, "`,` stands where number 1 of `L`"),
            ("M1 2 L 3,,4", 10, "`,` stands where number 2 of `L`"),
            ("M1e3 2", 3, "`e` stands where number 2 of `M`"),
            ("M1 2 A1 1 0 2 0 4 4", 13, "`2` stands where number 4 of `A`"),
            ("M1 2 A-1 1 0 1 0 4 4", 8, "an arc has the radius -1"),
            ("M1 2 H", 7, "ends before number 1 of `H`, which takes one number"),
            ("M1 2 Z 3", 8, "`3` is no letter of a path"),
            ("M1 2 L NaN 3", 8, "`N` stands where number 1"),
            ("M9999999 2", 8, "9999999 is farther than 1000000"),
            ("M999999 0 l999999 0", 12, "it leads farther than 1000000"),
            ("M1 2\"/><script>", 5, "`\\\"` is no letter of a path"),
        ];
        for (text, at, part) in cases {
            let found = faults(text);
            assert!(
                found[0].0 == *at && found[0].1.contains(part),
                "{text}: expected {at} {part}, got {found:?}"
            );
        }
    }

    #[test]
    fn all_mistakes_are_told_at_once() {
        let found = faults("M1 2 L3 K4 5 H Q1 2 3 4 V");
        let places: Vec<usize> = found.iter().map(|(at, _)| *at).collect();
        assert_eq!(places, [9, 16, 26]);
        assert!(faults(&"K".repeat(100)).len() <= ENOUGH);
    }

    #[test]
    fn a_path_has_an_end() {
        let long = format!("M0 0{}", " L1 1".repeat(DrawnPath::LONGEST));
        assert!(faults(&long)[0].1.contains("20000 is the most"));
    }
}
