//! Command-line options of one task: `--name VALUE`, each taken at most as often as allowed.

use anyhow::{Context, Result, bail};

/// The options given to a task, taken out one by one; what is left over is an error.
pub(crate) struct Options {
    given: Vec<(String, String)>,
}

impl Options {
    /// Reads `--name value` and `--name=value` pairs.
    pub(crate) fn read(words: &[&str]) -> Result<Self> {
        let mut given = Vec::new();
        let mut words = words.iter();
        while let Some(word) = words.next() {
            let Some(name) = word.strip_prefix("--") else {
                bail!("`{word}` is unexpected: options start with `--`");
            };
            if let Some((name, value)) = name.split_once('=') {
                given.push((name.to_owned(), value.to_owned()));
                continue;
            }
            let value = words.next();
            let value = value.with_context(|| format!("`--{name}` needs a value"))?;
            given.push((name.to_owned(), (*value).to_owned()));
        }
        Ok(Self { given })
    }

    /// Every value given under this name, in order.
    pub(crate) fn all(&mut self, name: &str) -> Vec<String> {
        let (taken, left) = self.given.drain(..).partition(|(given, _)| given == name);
        self.given = left;
        let taken: Vec<(String, String)> = taken;
        taken.into_iter().map(|(_, value)| value).collect()
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
        self.one(name)?.map_or(Ok(default), |text| {
            text.parse()
                .with_context(|| format!("`--{name} {text}`: a whole number is needed"))
        })
    }

    /// Fails if anything was given that no one asked for.
    pub(crate) fn finish(self, known: &str) -> Result<()> {
        let Some((name, _)) = self.given.first() else { return Ok(()) };
        bail!("`--{name}` is no option of this task\n\n{known}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_values_in_both_spellings() {
        let mut options =
            Options::read(&["--set", "a", "--set=b", "--threads", "3"]).unwrap();
        assert_eq!(options.all("set"), ["a", "b"]);
        assert_eq!(options.number("threads", 1).unwrap(), 3);
        assert_eq!(options.number("seed", 7).unwrap(), 7);
        options.finish("").unwrap();
    }

    #[test]
    fn refuses_what_it_does_not_know() {
        assert!(Options::read(&["stray"]).is_err());
        assert!(Options::read(&["--set"]).is_err());
        let options = Options::read(&["--sett", "a"]).unwrap();
        assert!(options.finish("").unwrap_err().to_string().contains("--sett"));
        let mut twice = Options::read(&["--out", "a", "--out", "b"]).unwrap();
        assert!(twice.one("out").is_err());
        let mut word = Options::read(&["--threads", "two"]).unwrap();
        assert!(word.number("threads", 1).is_err());
    }
}
