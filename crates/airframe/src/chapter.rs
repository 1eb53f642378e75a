//! Chapter codes: Joint Aircraft System/Component codes, the public list of the FAA
//! (27 October 2008, a work of the US government), 51 chapters and 547 codes.
//!
//! A code classifies a system or a structure. It says nothing about where on the aircraft
//! something is: that is what zones are for.

use std::fmt;
use std::sync::LazyLock;

use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A chapter (`32`) or a code within it (`3230`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Chapter(u16);

/// Why a text is not a chapter.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{text}` is not in the public chapter list: two digits (32) or four (3230) were \
     expected{hint}", hint = hint(*.nearest)
)]
pub struct ChapterError {
    /// What was written.
    pub text: String,
    /// The nearest entry of the list, if one is near.
    pub nearest: Option<Chapter>,
}

impl Chapter {
    /// Reads `32`, `3230` or `32-30`.
    pub fn parse(text: &str) -> Result<Self, ChapterError> {
        let trimmed = text.trim();
        let digits: String = match trimmed.split_once('-') {
            Some((chapter, code)) if chapter.len() == 2 && code.len() == 2 => {
                format!("{chapter}{code}")
            }
            _ => trimmed.to_owned(),
        };
        let spelt = matches!(digits.len(), 2 | 4)
            && digits.bytes().all(|byte| byte.is_ascii_digit());
        let listed = digits.parse().ok().filter(|code| spelt && place(*code).is_some());
        listed.map(Self).ok_or_else(|| ChapterError {
            text: trimmed.to_owned(),
            nearest: near(&digits),
        })
    }

    /// Every chapter and code, in order of chapter.
    pub fn all() -> impl Iterator<Item = Self> {
        LIST.iter().map(|(code, _)| Self(*code))
    }

    /// The title, as published: in capitals.
    pub fn title(self) -> &'static str {
        place(self.0).map_or("", |at| LIST[at].1)
    }

    /// The chapter that it lies in; a chapter lies in itself.
    #[must_use]
    pub const fn chapter(self) -> Self {
        if self.0 < 100 { self } else { Self(self.0 / 100) }
    }

    /// Whether `self` is `other` or lies under it.
    pub const fn is_within(self, other: Self) -> bool {
        self.0 == other.0 || (other.0 < 100 && self.0 / 100 == other.0)
    }
}

impl fmt::Display for Chapter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}", self.0)
    }
}

/// As its text.
impl Serialize for Chapter {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Chapter {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = <&str>::deserialize(deserializer)?;
        Self::parse(text).map_err(D::Error::custom)
    }
}

impl std::str::FromStr for Chapter {
    type Err = ChapterError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::parse(text)
    }
}

/// Codes with titles, by number: chapters first, because a chapter is below 100.
static LIST: LazyLock<Vec<(u16, &'static str)>> = LazyLock::new(|| {
    let mut list: Vec<_> = include_str!("../data/jasc.txt")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .filter_map(|line| line.split_once(' '))
        .filter_map(|(code, title)| Some((code.parse().ok()?, title)))
        .collect();
    list.sort_unstable();
    list
});

fn place(code: u16) -> Option<usize> {
    LIST.binary_search_by_key(&code, |(listed, _)| *listed).ok()
}

/// The entry with as many digits that differs least: in the last digits first, because the
/// chapter is what people know by heart.
fn near(digits: &str) -> Option<Chapter> {
    let number: u16 = digits.parse().ok()?;
    let same_length = |code: &u16| (*code < 100) == (digits.len() <= 2);
    let chapter = |code: u16| if code < 100 { code } else { code / 100 };
    LIST.iter()
        .map(|(code, _)| *code)
        .filter(same_length)
        .filter(|code| chapter(*code).abs_diff(chapter(number)) <= 2)
        .min_by_key(|code| (code.abs_diff(number), *code))
        .map(Chapter)
}

fn hint(nearest: Option<Chapter>) -> String {
    nearest.map_or_else(String::new, |chapter| {
        format!("; the nearest is {chapter}, {}", chapter.title().to_lowercase())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_whole() {
        // FAA table of 27 October 2008: 51 chapters, 547 codes, each code in a chapter.
        assert_eq!(Chapter::all().filter(|c| c.0 < 100).count(), 51);
        assert_eq!(Chapter::all().filter(|c| c.0 >= 100).count(), 547);
        assert!(Chapter::all().all(|c| place(c.chapter().0).is_some()));
        assert!(Chapter::all().all(|c| !c.title().is_empty()));
    }

    #[test]
    fn reads_three_spellings() {
        let gear = Chapter::parse("32").unwrap();
        let code = Chapter::parse("3230").unwrap();
        assert_eq!(Chapter::parse(" 32-30 "), Ok(code));
        assert_eq!(gear.title(), "LANDING GEAR");
        assert!(code.is_within(gear) && !gear.is_within(code) && gear.is_within(gear));
        assert_eq!(code.to_string(), "3230");
    }

    #[test]
    fn refuses_with_the_nearest() {
        let error = Chapter::parse("3239").unwrap_err();
        assert!(error.nearest.is_some_and(|c| c.chapter().0 == 32), "{error}");
        assert!(error.to_string().contains("nearest"), "{error}");
        for text in ["", "3", "323", "32300", "wing", "-32", "32-3", "+320", "99", "３２"]
        {
            assert!(Chapter::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn every_entry_reads_back() {
        for chapter in Chapter::all() {
            assert_eq!(Chapter::parse(&chapter.to_string()), Ok(chapter));
        }
    }
}
