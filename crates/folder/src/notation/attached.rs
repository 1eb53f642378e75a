//! Files that were attached, and places on a drawing.

use record::View;
use record::act::{FileDigest, Spot};

use crate::fields::{Out, Shape};
use crate::notation::{Fault, Listed, Notated, quoted};

impl Notated for FileDigest {
    const SHAPE: Shape = Shape::File;

    fn parse(text: &str) -> Result<Self, Fault> {
        Self::new(text).ok_or_else(|| {
            Fault::new(format!("{} is not the digest of a file", quoted(text.trim()))).hint(
                "attach the file first: what that answers is its digest, 64 digits from 0 to f",
            )
        })
    }

    fn print(&self) -> Out {
        Out::Text(self.to_string())
    }
}

impl Listed for FileDigest {
    const LIST: Shape = Shape::Files;
}

impl Notated for Spot {
    const SHAPE: Shape = Shape::Spot;

    fn parse(text: &str) -> Result<Self, Fault> {
        let fault = |what: String| {
            Fault::new(what).hint(
                "write the drawing, how far to the right and how far down, in the units of its \
                 outlines: `side 12.5 3`",
            )
        };
        let parts: Vec<&str> = text.split_whitespace().collect();
        let [view, x, y] = parts.as_slice() else {
            return Err(fault(format!(
                "{} is no place on a drawing",
                quoted(text.trim())
            )));
        };
        let number = |word: &str| {
            let number = word.parse::<f64>().ok().filter(|number| number.is_finite());
            number.ok_or_else(|| fault(format!("{} is no number", quoted(word))))
        };
        Ok(Self { view: View::parse(view)?, x: number(x)?, y: number(y)? })
    }

    fn print(&self) -> Out {
        let Self { view, x, y } = self;
        Out::Text(format!("{} {x} {y}", view.word()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spot_is_read_as_it_is_written() {
        for text in ["side 12.5 3", "plan -0.25 1000"] {
            let spot = Spot::parse(text).unwrap();
            assert_eq!(spot.print(), Out::Text(text.to_owned()));
        }
        for (text, what) in [
            ("side 12.5", "no place"),
            ("front 1 2", "not one of"),
            ("side 1 NaN", "no number"),
            ("side one 2", "no number"),
            ("side 1 inf", "no number"),
        ] {
            let fault = Spot::parse(text).unwrap_err();
            assert!(fault.what.contains(what) && fault.hint.is_some(), "{fault:?}");
        }
    }
}
