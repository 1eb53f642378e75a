//! The standard wire gauge, by which British sheet and wire is sized.
//!
//! The sizes are those of BS 3737:1964 (withdrawn), in decimals of an inch. The standard
//! itself was not at hand: the table is the one that several published engineering tables
//! print, and they agree with one another.

use crate::error::{Fault, quoted};
use crate::rational::Rational;

/// Ten-thousandths of an inch for 7/0, 6/0 and so on to 1/0.
const ABOVE: [i128; 7] = [5000, 4640, 4320, 4000, 3720, 3480, 3240];

/// Ten-thousandths of an inch for gauge 1 to gauge 50.
const NUMBERED: [i128; 50] = [
    3000, 2760, 2520, 2320, 2120, 1920, 1760, 1600, 1440, 1280, // 1 to 10
    1160, 1040, 920, 800, 720, 640, 560, 480, 400, 360, // 11 to 20
    320, 280, 240, 220, 200, 180, 164, 148, 136, 124, // 21 to 30
    116, 108, 100, 92, 84, 76, 68, 60, 52, 48, // 31 to 40
    44, 40, 36, 32, 28, 24, 20, 16, 12, 10, // 41 to 50
];

/// The size in metres, when the text is a gauge at all: `18 SWG`, `SWG 18`, `7/0 SWG`.
pub(crate) fn read(text: &str) -> Option<Result<Rational, Fault>> {
    let trimmed = text.trim();
    let number = without_mark(trimmed)?.trim();
    let start = text.find(number).unwrap_or_default();
    let range = start..start + number.len();
    Some(size(number).ok_or_else(|| {
        let sentence = format!("there is no standard wire gauge {}", quoted(number));
        Fault::new(range, sentence).hint("gauges run from 7/0 to 1/0 and from 1 to 50")
    }))
}

/// The text without the mark of the gauge, which drawings also write `S.W.G.`.
fn without_mark(text: &str) -> Option<&str> {
    let of_mark = |c: char| c.is_ascii_alphabetic() || c == '.';
    let is_mark = |part: &str| part.replace('.', "").eq_ignore_ascii_case("swg");
    let number = text.trim_end_matches(of_mark);
    if is_mark(&text[number.len()..]) {
        return Some(number);
    }
    let number = text.trim_start_matches(of_mark);
    is_mark(&text[..text.len() - number.len()]).then_some(number)
}

fn size(number: &str) -> Option<Rational> {
    let tenths_of_thou = match number.split_once('/') {
        Some((noughts, "0")) => {
            let noughts: usize = noughts.parse().ok()?;
            *ABOVE.get(7_usize.checked_sub(noughts)?)?
        }
        Some(_) => return None,
        None if number == "0" => ABOVE[6],
        None => {
            let gauge: usize = number.parse().ok()?;
            *NUMBERED.get(gauge.checked_sub(1)?)?
        }
    };
    // 1/10000 in is 254 / 10^8 m.
    Rational::new(tenths_of_thou.checked_mul(254)?, 100_000_000)
}
