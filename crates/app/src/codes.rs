//! Short codes of cards, tags, despatches and parts: for a print, a label, a thumb on glass.
//!
//! A code is a letter for the kind and six signs of Crockford's alphabet (Douglas Crockford,
//! "Base 32": no I, L, O or U, so that nothing is mistaken for a figure), made of the kind
//! and the name by FNV-1a. It needs no list: the same thing has the same code on every
//! machine, for ever. Thirty bits can meet; then both are found and a person chooses.

use record::Programme;
use record::shop::Custody;

/// What has a code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Coded {
    /// A job card.
    Card,
    /// The tag of a part that is off.
    Tag,
    /// A despatch to a firm.
    Despatch,
    /// A part.
    Part,
}

/// Something that a code leads to.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct CodeFound {
    /// What it is.
    pub kind: Coded,
    /// Its name: of a card the job, of a tag or part the item, of a despatch the item and
    /// the entry, as [`despatch_name`] writes them.
    pub name: String,
}

const SIGNS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// So many of them, of five bits each.
const LONG: u32 = 6;

impl Coded {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Card, Self::Tag, Self::Despatch, Self::Part];

    /// The letter with which its codes begin.
    pub const fn letter(self) -> char {
        match self {
            Self::Card => 'C',
            Self::Tag => 'T',
            Self::Despatch => 'D',
            Self::Part => 'P',
        }
    }

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Card => "card",
            Self::Tag => "tag",
            Self::Despatch => "despatch",
            Self::Part => "part",
        }
    }
}

/// The code of something, as it is printed: `C-7K4-Q2M`.
pub fn code_of(kind: Coded, name: &str) -> String {
    let code = plain_code(kind, name);
    format!("{}-{}-{}", &code[..1], &code[1..4], &code[4..])
}

/// The same without what parts it, for an address.
pub fn plain_code(kind: Coded, name: &str) -> String {
    let bits = digest(kind.word(), name) >> (64 - 5 * LONG);
    let sign = |at: u32| {
        let five = (bits >> (5 * (LONG - 1 - at))) & 31;
        char::from(SIGNS[five as usize])
    };
    std::iter::once(kind.letter()).chain((0..LONG).map(sign)).collect()
}

/// The name of a despatch: its part, and the entry that sent it.
pub fn despatch_name(item: &str, entry: u64) -> String {
    format!("{item}#{entry}")
}

/// What a code leads to, typed in whatever way, or the name of a card or part itself.
pub fn find_code(programme: &Programme, typed: &str) -> Vec<CodeFound> {
    let typed = typed.trim();
    let code = normal(typed);
    let mut found: Vec<CodeFound> = everything(programme)
        .into_iter()
        .filter(|one| plain_code(one.kind, &one.name) == code)
        .collect();
    if found.is_empty() {
        found = everything(programme);
        found.retain(|one| {
            matches!(one.kind, Coded::Card | Coded::Part)
                && one.name.eq_ignore_ascii_case(typed)
        });
    }
    found
}

/// A code as it is kept, of what somebody typed: figures for the letters that look like
/// them, nothing but figures and letters.
fn normal(typed: &str) -> String {
    let signs = typed.chars().filter(char::is_ascii_alphanumeric);
    let figure = |c: char| match c.to_ascii_uppercase() {
        'I' | 'L' => '1',
        'O' => '0',
        other => other,
    };
    signs.map(figure).collect()
}

fn everything(programme: &Programme) -> Vec<CodeFound> {
    let one = |kind, name: String| CodeFound { kind, name };
    let mut all = Vec::new();
    let shop = &programme.shop;
    all.extend(shop.cards.cards.keys().map(|job| one(Coded::Card, job.to_string())));
    for (item, part) in &shop.parts.parts {
        if part.tag.is_some() {
            all.push(one(Coded::Tag, item.to_string()));
        }
        let sent = part.sent_before.iter().chain(&part.custody);
        let name = |custody: &Custody| despatch_name(item.as_str(), custody.sent.entry);
        all.extend(sent.map(|custody| one(Coded::Despatch, name(custody))));
    }
    all.extend(programme.items.names().map(|item| one(Coded::Part, item.to_string())));
    all
}

/// FNV-1a with 64 bits, of both parts and a sign between that no name has, then mixed once
/// more, because the first bits are those that are used.
fn digest(kind: &str, name: &str) -> u64 {
    const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0100_0000_01b3;
    let bytes = kind.bytes().chain([0]).chain(name.bytes());
    let sum = bytes.fold(BASIS, |sum, byte| (sum ^ u64::from(byte)).wrapping_mul(PRIME));
    (sum ^ (sum >> 32)).wrapping_mul(0x9e37_79b9_7f4a_7c15)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;

    /// Codes are printed and stuck to parts: what they are must never change.
    #[test]
    fn a_code_is_for_ever() {
        for (kind, name, code) in [
            (Coded::Card, "ON:PROP-P", "C-PTJ-XFY"),
            (Coded::Part, "PROP-P", "P-BT5-9DK"),
        ] {
            assert_eq!(code_of(kind, name), code, "{name}");
        }
    }

    #[test]
    fn a_code_is_found_however_it_is_typed() {
        let programme = testkit::skiff();
        let code = code_of(Coded::Part, "FLOAT");
        let expected = vec![CodeFound { kind: Coded::Part, name: "FLOAT".to_owned() }];
        let spaced = code.replace('-', " ");
        let plain = plain_code(Coded::Part, "FLOAT");
        let look = plain.replace('0', "o").replace('1', "l");
        for typed in [code.clone(), code.to_lowercase(), spaced, plain, look] {
            assert_eq!(find_code(&programme, &typed), expected, "{typed}");
        }
        assert_eq!(find_code(&programme, " float "), expected);
        for none in ["", "P", "P-000", "nothing", "%00"] {
            assert_eq!(find_code(&programme, none), [], "{none}");
        }
    }

    /// The birthday bound (common knowledge of probability): of 600 things with codes of 30
    /// bits about one pair in 6000 programmes meets; of these, made up, none may.
    #[test]
    fn names_that_differ_little_have_other_codes() {
        let mut codes: BTreeMap<String, String> = BTreeMap::new();
        for number in 0..3000 {
            let name = format!("OFF:RIB-{number}");
            if let Some(other) =
                codes.insert(plain_code(Coded::Card, &name), name.clone())
            {
                panic!("{name} and {other} have one code");
            }
        }
    }
}
