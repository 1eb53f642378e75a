//! Serving the pages: arguments to a configuration, and what the terminal says.

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use anyhow::{Result, bail};
use app::{Desk, Place};
use clap::Args;
use web::{Config, Now, Rates, Serving, Sessions, Transport};

use crate::arguments::Ledger;
use crate::{acts, signals};

/// The serve command.
#[derive(Debug, Args)]
pub(crate) struct Serve {
    #[command(flatten)]
    pub(crate) ledger: Ledger,
    #[command(flatten)]
    pub(crate) pages: Pages,
}

/// How the pages are served.
#[derive(Debug, Args)]
pub(crate) struct Pages {
    /// Where to listen
    #[arg(long, value_name = "ADDRESS:PORT", default_value = "127.0.0.1:8470")]
    pub(crate) listen: SocketAddr,
    /// Encrypt with this certificate (PEM, with those that vouch for it)
    #[arg(long, value_name = "FILE", requires = "tls_key")]
    pub(crate) tls_cert: Option<PathBuf>,
    /// The private key of the certificate (PEM)
    #[arg(long, value_name = "FILE", requires = "tls_cert")]
    pub(crate) tls_key: Option<PathBuf>,
    /// Encrypt with a certificate that is made at the start; browsers warn of it once
    #[arg(long, conflicts_with = "tls_cert")]
    pub(crate) self_signed: bool,
    /// A proxy encrypts, and says in `X-Forwarded-For` who asks; nobody else can reach the address
    #[arg(long, conflicts_with_all = ["tls_cert", "self_signed"])]
    pub(crate) behind_proxy: bool,
    /// Sign the bundles of evidence that people take away with this key (`turnbuckle key`)
    #[arg(long, value_name = "FILE")]
    pub(crate) key: Option<PathBuf>,
    /// The address under which phones reach the pages, such as `https://hangar.example`: what
    /// the codes on prints hold
    #[arg(long, value_name = "URL", value_parser = public_name)]
    pub(crate) public_name: Option<String>,
    /// Say nothing of each request
    #[arg(long)]
    pub(crate) quiet: bool,
}

/// An address without what follows the host, because pages are found at its root.
fn public_name(text: &str) -> Result<String, String> {
    let text = text.trim().trim_end_matches('/');
    let host = text.strip_prefix("https://").or_else(|| text.strip_prefix("http://"));
    let plain = |host: &str| {
        !host.is_empty() && !host.contains(['/', '?', '#', '@', ' ', '\"', '<', '>'])
    };
    if host.is_some_and(plain) {
        Ok(text.to_owned())
    } else {
        Err("write it as https://hangar.example, with a port where there is one and without a \
             path"
            .to_owned())
    }
}

impl Pages {
    fn transport(&self) -> Transport {
        match (&self.tls_cert, &self.tls_key) {
            (Some(certificate), Some(key)) => {
                Transport::Files { certificate: certificate.clone(), key: key.clone() }
            }
            _ if self.self_signed => Transport::SelfSigned,
            _ if self.behind_proxy => Transport::Proxy,
            _ => Transport::Clear,
        }
    }
}

pub(crate) fn serve(asked: &Serve) -> Result<bool> {
    pages(&asked.ledger.place()?, &asked.pages, |_| {})
}

/// How often one looks whether to stop.
const LOOK: Duration = Duration::from_millis(200);

/// Serves the pages of a ledger until somebody stops it.
pub(crate) fn pages(
    ledger: &Place,
    pages: &Pages,
    told: impl FnOnce(&str),
) -> Result<bool> {
    let transport = pages.transport();
    if let Err(open) = transport.allows(pages.listen) {
        bail!(
            "{open}\n  hint: encrypt with --tls-cert and --tls-key, or with --self-signed; or \
             say --behind-proxy if a proxy encrypts"
        );
    }
    let secure = matches!(transport, Transport::Files { .. } | Transport::SelfSigned);
    let quiet = pages.quiet;
    let config = Config {
        desk: Arc::new(Desk::open(ledger)?),
        clock: Arc::new(|| Now { day: acts::now().date(), stamp: acts::stamp() }),
        log: Arc::new(move |line: &str| {
            if !quiet {
                eprintln!("{} {line}", acts::stamp());
            }
        }),
        transport,
        sessions: Sessions::default(),
        rates: Rates::default(),
        key: pages.key.clone(),
        public: pages.public_name.clone(),
    };
    let stop = signals::stop_flag()?;
    web::serve(config, pages.listen, |serving| {
        let address =
            format!("{}://{}", if secure { "https" } else { "http" }, serving.address);
        told(&address);
        println!("\nopen this in a browser: {address}/");
        if let Some(path) = serving.first_path() {
            println!(
                "nobody has a secret yet; the first person enrols here, once: {address}{path}"
            );
        }
        println!("Ctrl-C stops");
        watch(serving, stop);
    })?;
    println!("stopped");
    Ok(true)
}

/// Stops the pages once somebody asks for it.
fn watch(serving: Serving, stop: Arc<AtomicBool>) {
    std::thread::spawn(move || {
        while !stop.load(Ordering::Relaxed) {
            std::thread::sleep(LOOK);
        }
        serving.stop();
    });
}

#[cfg(test)]
mod tests {
    use super::public_name;

    #[test]
    fn a_public_name_has_a_host_and_no_path() {
        for (text, name) in [
            ("https://hangar.example/", Some("https://hangar.example")),
            ("http://192.168.1.5:8470", Some("http://192.168.1.5:8470")),
            ("hangar.example", None),
            ("https://", None),
            ("https://hangar.example/pages", None),
            ("https://a b", None),
            ("ftp://hangar.example", None),
        ] {
            assert_eq!(public_name(text).ok().as_deref(), name, "{text}");
        }
    }
}
