//! What the programme is about.

use airframe::Weighed;
use quantity::Currency;

/// The head of a programme.
#[derive(Debug, Clone, PartialEq)]
pub struct Info {
    /// What people call the programme.
    pub name: String,
    /// The aircraft's type.
    pub aircraft: String,
    /// Its registration or serial.
    pub registration: Option<String>,
    /// Who keeps it.
    pub keeper: Option<String>,
    /// Where the datum is, in words.
    pub datum: Option<String>,
    /// The currency that money is counted in.
    pub currency: Currency,
    /// Everything in it is invented, for trying things out.
    pub invented: bool,
    /// The last weighing, complete.
    pub weighed: Option<Weighed>,
}
