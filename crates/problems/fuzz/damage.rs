//! Texts damaged at random, for those who read them. Shared by the short run among the
//! tests and the long run of the example `fuzz`.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

use rand::{Rng, RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use search::{Options, Silent, Stop};
use timetable::instance;

/// Texts that are in order, with the names under which they are read. Small ones: damage
/// in a small text is more often where it matters.
pub(crate) fn corpus() -> Vec<(&'static str, String)> {
    let document = |size: usize, seed| {
        let recipe = problems::Recipe::tasks(size);
        problems::write(&problems::generate(&recipe, seed))
    };
    let of = |name, text: &str| (name, text.to_owned());
    vec![
        of("s.sm", include_str!("corpus/two.sm")),
        of("m.mm", include_str!("corpus/ways.mm")),
        of("n.mm", include_str!("corpus/stocks.mm")),
        of("p.rcp", include_str!("corpus/wrapped.rcp")),
        of("g.sch", include_str!("corpus/lags.sch")),
        of("w.json", include_str!("corpus/week.json")),
        of("s.json", include_str!("corpus/stocks.json")),
        ("d.json", document(3, 1)),
        ("e.json", document(6, 4)),
    ]
}

/// Longer than this for one small text is a hang.
const SLOW: Duration = Duration::from_secs(1);

/// Reads a text by its name, and solves for a moment what it says if that is wanted, and
/// says what went wrong. Whether the text is refused is all the same here; that the reader
/// ends and tells is not.
pub(crate) fn harm(name: &str, text: &str, solved: bool) -> Option<String> {
    let timed = || {
        let begun = Instant::now();
        (catch_unwind(AssertUnwindSafe(|| read(name, text, solved))), begun.elapsed())
    };
    let (outcome, mut took) = timed();
    // Where others want the machine, a reader may wait for its turn; a hang comes again.
    for _ in 0..3 {
        if took > SLOW {
            took = took.min(timed().1);
        }
    }
    match outcome {
        Err(_) => Some("it panicked".to_owned()),
        Ok(Some(what)) => Some(what.to_owned()),
        Ok(None) => (took > SLOW).then(|| format!("it took {took:?}")),
    }
}

/// Whether a text is a document of ours, by the name under which it is read.
pub(crate) fn is_document(name: &str) -> bool {
    instance::Format::of_name(name).is_none()
}

/// What is wrong with what was read, if anything was.
fn read(name: &str, text: &str, solved: bool) -> Option<&'static str> {
    let problem = if is_document(name) {
        problems::read(name, text).map_err(|errors| {
            assert!(!errors.is_empty());
            // The messages are part of what must not fail.
            errors.iter().map(|error| error.to_string().len()).sum::<usize>()
        })
    } else {
        let instance = instance::parse(name, text);
        instance.map(|instance| instance.problem).map_err(|errors| {
            assert!(!errors.is_empty());
            errors.iter().map(|error| error.to_string().len()).sum()
        })
    };
    let problem = problem.ok()?;
    if problems::read("back", &problems::write(&problem)).as_ref() != Ok(&problem) {
        return Some("what was read is not read back");
    }
    if solved {
        let stop = Stop { time: Some(SLOW / 4), steps: Some(50) };
        let options = Options { stop, threads: 1, seed: 1, start_from: None };
        let outcome = search::solve(&problem, &options, &Silent);
        let schedule = outcome.schedule()?;
        if !verify::check(&problem, schedule).is_empty() {
            return Some("the schedule is unlawful");
        }
    }
    None
}

/// A stream of damaged texts.
pub(crate) struct Damage {
    rng: Pcg64Mcg,
    corpus: Vec<(&'static str, String)>,
}

/// What numbers are changed into: the edges of what programs count with, and beyond.
const NUMBERS: &[&str] = &[
    "0",
    "-0",
    "1",
    "-1",
    "2",
    "3",
    "127",
    "255",
    "256",
    "32768",
    "65536",
    "99999999",
    "100000000",
    "100000001",
    "268435455",
    "268435456",
    "2147483647",
    "-2147483648",
    "2147483648",
    "4294967295",
    "4294967296",
    "9223372036854775807",
    "-9223372036854775808",
    "18446744073709551616",
    "1e9",
    "1e999",
    "0.5",
    "-1.5e-7",
    "00",
    "+1",
    "NaN",
    "0x10",
    "1_000",
    "99999999999999999999999999999999999999999",
];

/// Pieces that mean something to some reader.
const PIECES: &[&str] = &[
    "\"",
    "\\",
    "\\u0000",
    "\\ud800",
    "{",
    "}",
    "[",
    "]",
    "[]",
    "{}",
    "[[[[[[[[",
    ":",
    ",",
    ",,",
    "null",
    "true",
    "\"start\"",
    "\"finish\"",
    "\"note\": 3,",
    "\"takes\": [{\"stock\": 0}],",
    "\"available\": 1,",
    "\n",
    "\r\n",
    "\t",
    "\u{0}",
    "\u{feff}",
    "\u{2028}",
    "é",
    "𝄞",
    "****",
    "----",
    "[-1]",
    "[99999999999]",
    "PRECEDENCE RELATIONS:",
    "REQUESTS/DURATIONS:",
    "RESOURCEAVAILABILITIES:",
    "jobs (incl. supersource/sink ):",
    " ",
];

impl Damage {
    pub(crate) fn new(seed: u64, only: Option<&str>) -> Self {
        let mut corpus = corpus();
        corpus.retain(|(name, _)| only.is_none_or(|only| name.ends_with(only)));
        assert!(!corpus.is_empty(), "no text of that kind");
        Self { rng: Pcg64Mcg::seed_from_u64(seed), corpus }
    }

    /// The next text, with the name under which it is to be read.
    pub(crate) fn next(&mut self) -> (&'static str, String) {
        let chosen = self.below(self.corpus.len());
        let (name, text) = self.corpus[chosen].clone();
        let mut bytes = text.into_bytes();
        // Mostly little damage: a text that is wrong all over is refused at once.
        let most = 1 + 2 * self.below(5);
        for _ in 0..=self.below(most) {
            self.hurt(&mut bytes);
        }
        bytes.truncate(1 << 20);
        (name, String::from_utf8_lossy(&bytes).into_owned())
    }

    fn below(&mut self, count: usize) -> usize {
        (self.rng.next_u64() % count.max(1) as u64) as usize
    }

    fn hurt(&mut self, bytes: &mut Vec<u8>) {
        match self.below(12) {
            0 => {
                let at = self.below(bytes.len());
                if let Some(byte) = bytes.get_mut(at) {
                    *byte ^= 1 << self.rng.random_range(0..8_u32);
                }
            }
            1 => bytes.truncate(self.below(bytes.len() + 1)),
            2 => {
                let (from, until) = self.stretch(bytes.len(), 40);
                bytes.drain(from..until);
            }
            3 => {
                let (from, until) = self.stretch(bytes.len(), 200);
                let piece: Vec<u8> = bytes[from..until].to_vec();
                self.put(bytes, &piece);
            }
            4 => {
                let piece = PIECES[self.below(PIECES.len())];
                self.put(bytes, piece.as_bytes());
            }
            5 => {
                // A piece of another text.
                let other = self.below(self.corpus.len());
                let other = self.corpus[other].1.clone().into_bytes();
                let (from, until) = self.stretch(other.len(), 300);
                self.put(bytes, &other[from..until]);
            }
            6 | 7 => self.move_line(bytes),
            _ => self.change_number(bytes),
        }
    }

    fn stretch(&mut self, length: usize, most: usize) -> (usize, usize) {
        let from = self.below(length + 1);
        (from, (from + self.below(most + 1)).min(length))
    }

    fn put(&mut self, bytes: &mut Vec<u8>, piece: &[u8]) {
        let at = self.below(bytes.len() + 1);
        bytes.splice(at..at, piece.iter().copied());
    }

    /// Moves, doubles or drops a line.
    fn move_line(&mut self, bytes: &mut Vec<u8>) {
        let mut lines: Vec<Vec<u8>> =
            bytes.split(|&byte| byte == b'\n').map(<[u8]>::to_vec).collect();
        let from = self.below(lines.len());
        let line = lines[from].clone();
        if self.below(3) > 0 {
            lines.remove(from);
        }
        if self.below(3) > 0 {
            let to = self.below(lines.len() + 1);
            lines.insert(to, line);
        }
        *bytes = lines.join(&b'\n');
    }

    /// Puts another number in the place of one, or swaps two.
    fn change_number(&mut self, bytes: &mut Vec<u8>) {
        let mut numbers: Vec<(usize, usize)> = Vec::new();
        let mut at = 0;
        while at < bytes.len() {
            let digits = bytes[at..].iter().take_while(|b| b.is_ascii_digit()).count();
            if digits > 0 {
                numbers.push((at, at + digits));
            }
            at += digits.max(1);
        }
        if numbers.is_empty() {
            return;
        }
        let (from, until) = numbers[self.below(numbers.len())];
        let piece = if self.below(3) == 0 {
            let (from, until) = numbers[self.below(numbers.len())];
            bytes[from..until].to_vec()
        } else {
            NUMBERS[self.below(NUMBERS.len())].as_bytes().to_vec()
        };
        bytes.splice(from..until, piece);
    }
}
