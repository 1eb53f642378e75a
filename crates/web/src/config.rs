//! How the pages are served; all of it arrives from the binary.

use std::fmt;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use app::Desk;
use jiff::civil::Date;

use crate::rate::Rates;

/// The clock of the workshop.
pub type Clock = Arc<dyn Fn() -> Now + Send + Sync>;

/// A moment on the clock of the workshop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Now {
    /// The day.
    pub day: Date,
    /// The moment as a ledger keeps it: `2032-01-14T09:30:00+00:00`.
    pub stamp: String,
}

/// Who is told of each request, in one line without secrets.
pub type Log = Arc<dyn Fn(&str) + Send + Sync>;

/// How the pages are served.
#[derive(Clone)]
pub struct Config {
    /// The ledger.
    pub desk: Arc<Desk>,
    /// The clock; the workshop's days and times of signatures are its.
    pub clock: Clock,
    /// The log of requests.
    pub log: Log,
    /// Whether requests come in encrypted, and how.
    pub transport: Transport,
    /// How long people stay signed in.
    pub sessions: Sessions,
    /// How often one may ask.
    pub rates: Rates,
    /// The key with which bundles of evidence are signed, if there is one.
    pub key: Option<PathBuf>,
    /// The address under which other devices reach the pages, such as
    /// `https://hangar.example`: what codes on prints hold. Nothing if nobody said it; then
    /// they hold the short code alone.
    pub public: Option<String>,
}

/// How requests reach us.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Transport {
    /// In clear, from this machine alone.
    Clear,
    /// In clear from a proxy that encrypts, and that says in `X-Forwarded-For` who asks.
    Proxy,
    /// Encrypted, with a certificate and its key in PEM files.
    Files {
        /// The certificate, with those that vouch for it.
        certificate: PathBuf,
        /// Its private key.
        key: PathBuf,
    },
    /// Encrypted with a certificate that is made at the start and that no one vouches for.
    SelfSigned,
}

/// How long people stay signed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sessions {
    /// Without doing anything.
    pub idle: Duration,
    /// In all.
    pub most: Duration,
}

impl Default for Sessions {
    /// Two hours idle, twelve in all: a shift.
    fn default() -> Self {
        Self { idle: Duration::from_hours(2), most: Duration::from_hours(12) }
    }
}

impl Transport {
    /// Whether whoever asks has an encrypted connection.
    pub(crate) fn is_secure(&self) -> bool {
        *self != Self::Clear
    }

    /// Whether an address may be listened at in this way.
    ///
    /// # Errors
    /// [`Unsafe`] if secrets would cross a network in clear.
    pub fn allows(&self, listen: SocketAddr) -> Result<(), Unsafe> {
        let open = *self == Self::Clear && !listen.ip().is_loopback();
        if open { Err(Unsafe(listen)) } else { Ok(()) }
    }
}

/// An address at which secrets would cross a network in clear.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "{0} can be reached from other machines, and secrets would cross the network in clear"
)]
pub struct Unsafe(pub SocketAddr);

impl fmt::Debug for Config {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { desk, clock: _, log: _, transport, sessions, rates, key, public } =
            self;
        f.debug_struct("Config")
            .field("desk", desk)
            .field("transport", transport)
            .field("sessions", sessions)
            .field("rates", rates)
            .field("key", key)
            .field("public", public)
            .finish_non_exhaustive()
    }
}
