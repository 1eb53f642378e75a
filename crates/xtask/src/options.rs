//! Command-line options of one task: `--name VALUE`, each taken at most as often as allowed,
//! and flags without a value.

use std::str::FromStr;

use anyhow::{Context, Result, bail};

/// The options given to a task, taken out one by one; what is left over is an error.
pub(crate) struct Options {
    given: Vec<(String, String)>,
    flags: Vec<String>,
}

impl Options {
    /// Reads `--name value` and `--name=value` pairs, and the flags that are known. Words
    /// that follow a value belong to the same name: `--report a b` gives both.
    pub(crate) fn read(words: &[&str], flags: &[&str]) -> Result<Self> {
        let mut options = Self { given: Vec::new(), flags: Vec::new() };
        let mut words = words.iter().peekable();
        while let Some(word) = words.next() {
            let Some(name) = word.strip_prefix("--") else {
                bail!("`{word}` is unexpected: options start with `--`");
            };
            if flags.contains(&name) {
                options.flags.push(name.to_owned());
                continue;
            }
            if let Some((name, value)) = name.split_once('=') {
                options.given.push((name.to_owned(), value.to_owned()));
                continue;
            }
            let value = words.next();
            let value = value.with_context(|| format!("`--{name}` needs a value"))?;
            options.given.push((name.to_owned(), (*value).to_owned()));
            while let Some(value) = words.next_if(|word| !word.starts_with("--")) {
                options.given.push((name.to_owned(), (*value).to_owned()));
            }
        }
        Ok(options)
    }

    /// Whether a flag was given.
    pub(crate) fn flag(&self, name: &str) -> bool {
        self.flags.iter().any(|flag| flag == name)
    }

    /// Every value given under this name, in order.
    pub(crate) fn all(&mut self, name: &str) -> Vec<String> {
        let (taken, left) = self.given.drain(..).partition(|(given, _)| given == name);
        self.given = left;
        let taken: Vec<(String, String)> = taken;
        taken.into_iter().map(|(_, value)| value).collect()
    }

    /// Every value given under this name, lists with commas taken apart.
    pub(crate) fn list(&mut self, name: &str) -> Vec<String> {
        let values = self.all(name);
        let parts = values.iter().flat_map(|value| value.split(','));
        parts.map(|part| part.trim().to_owned()).filter(|part| !part.is_empty()).collect()
    }

    /// The value given under this name, if any; twice is an error.
    pub(crate) fn one(&mut self, name: &str) -> Result<Option<String>> {
        let mut values = self.all(name);
        if values.len() > 1 {
            bail!("`--{name}` is given {} times; once is enough", values.len());
        }
        Ok(values.pop())
    }

    /// The value given under this name, read as a number, or the default.
    pub(crate) fn number(&mut self, name: &str, default: u64) -> Result<u64> {
        self.one(name)?.map_or(Ok(default), |text| number(name, &text))
    }

    /// The numbers given under this name, or the default.
    pub(crate) fn numbers(&mut self, name: &str, default: u64) -> Result<Vec<u64>> {
        let values = self.list(name);
        if values.is_empty() {
            return Ok(vec![default]);
        }
        values.iter().map(|text| number(name, text)).collect()
    }

    /// Fails if anything was given that no one asked for.
    pub(crate) fn finish(self, known: &str) -> Result<()> {
        let Some((name, _)) = self.given.first() else { return Ok(()) };
        bail!("`--{name}` is no option of this task\n\n{known}")
    }
}

fn number<T: FromStr>(name: &str, text: &str) -> Result<T> {
    text.parse()
        .ok()
        .with_context(|| format!("`--{name} {text}`: a whole number is needed"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_values_in_both_spellings() {
        let words = ["--set", "a", "--set=b", "--threads", "3", "--peer"];
        let mut options = Options::read(&words, &["peer", "resume"]).unwrap();
        assert_eq!(options.all("set"), ["a", "b"]);
        assert_eq!(options.number("threads", 1).unwrap(), 3);
        assert_eq!(options.number("seed", 7).unwrap(), 7);
        assert!(options.flag("peer") && !options.flag("resume"));
        options.finish("").unwrap();
    }

    #[test]
    fn takes_lists() {
        let words = ["--report", "a", "b", "--seed", "1,2", "--seed=5", "--report=c"];
        let mut options = Options::read(&words, &[]).unwrap();
        assert_eq!(options.all("report"), ["a", "b", "c"]);
        assert_eq!(options.numbers("seed", 1).unwrap(), [1, 2, 5]);
        assert_eq!(options.numbers("other", 9).unwrap(), [9]);
        options.finish("").unwrap();
    }

    #[test]
    fn refuses_what_it_does_not_know() {
        assert!(Options::read(&["stray"], &[]).is_err());
        assert!(Options::read(&["--set"], &[]).is_err());
        let options = Options::read(&["--sett", "a"], &[]).unwrap();
        assert!(options.finish("").unwrap_err().to_string().contains("--sett"));
        let mut twice = Options::read(&["--out", "a", "--out", "b"], &[]).unwrap();
        assert!(twice.one("out").is_err());
        let mut word = Options::read(&["--threads", "two"], &[]).unwrap();
        assert!(word.number("threads", 1).is_err());
        let mut word = Options::read(&["--seed", "1,two"], &[]).unwrap();
        assert!(word.numbers("seed", 1).is_err());
    }
}
