//! Paths of outlines.

use record::DrawnPath;

use crate::fields::{Out, Shape};
use crate::notation::{Fault, Notated};

impl Notated for DrawnPath {
    const SHAPE: Shape = Shape::Drawn;

    /// A cell has one place, so each mistake says at which letter of the text it is.
    fn parse(text: &str) -> Result<Self, Fault> {
        Self::parse(text).map_err(|faults| {
            let told =
                faults.iter().map(|fault| format!("letter {}: {}", fault.at, fault.what));
            let what = told.collect::<Vec<_>>().join("; ");
            let hint = faults.first().map_or("", |fault| fault.hint);
            Fault::new(what).hint(hint)
        })
    }

    fn print(&self) -> Out {
        Out::Text(self.text().to_owned())
    }
}
