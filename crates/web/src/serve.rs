//! Listening, encrypting, and stopping in order.

use std::io;
use std::net::{SocketAddr, TcpListener};
use std::path::PathBuf;
use std::time::Duration;

use app::AppError;
use axum_server::Handle;
use axum_server::tls_rustls::RustlsConfig;

use crate::config::{Config, Transport, Unsafe};
use crate::router::router;
use crate::site::{STOPPED, Site};

/// How long those who are being answered may take when the program stops.
const GRACE: Duration = Duration::from_secs(10);
/// How long one may take to say what one asks for.
const ASKING: Duration = Duration::from_secs(8);

/// Why nothing is served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// It would not be safe.
    #[error(transparent)]
    Unsafe(#[from] Unsafe),
    /// The address can't be had.
    #[error("can't listen at {0}")]
    Listen(SocketAddr, #[source] io::Error),
    /// The certificate or its key.
    #[error("the certificate {0} and its key can't be used")]
    Certificate(PathBuf, #[source] io::Error),
    /// A certificate could not be made.
    #[error("no certificate could be made: {0}")]
    SelfSigned(String),
    /// The reactor, or a connection that everything rests on.
    #[error("the pages can't be served")]
    Run(#[source] io::Error),
    /// The site.
    #[error(transparent)]
    App(#[from] AppError),
}

/// Pages that are being served; dropping it does not stop them.
#[derive(Clone)]
pub struct Serving {
    /// Where.
    pub address: SocketAddr,
    site: Site,
    handle: Handle<SocketAddr>,
}

impl Serving {
    /// The path at which the first person enrols, while nobody has a secret.
    pub fn first_path(&self) -> Option<String> {
        self.site.first_path()
    }

    /// Stops: no new connections, and some seconds for those who are being answered.
    pub fn stop(&self) {
        self.site.changes.send_replace(STOPPED);
        self.handle.graceful_shutdown(Some(GRACE));
    }
}

/// Serves the pages until they are stopped. `begun` is called once they can be reached, on
/// this thread; it is to come back soon.
///
/// # Errors
/// If they can't be served so.
pub fn serve(
    config: Config,
    listen: SocketAddr,
    begun: impl FnOnce(Serving),
) -> Result<(), ServeError> {
    config.transport.allows(listen)?;
    let reactor = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    reactor.map_err(ServeError::Run)?.block_on(run(config, listen, begun))
}

async fn run(
    config: Config,
    listen: SocketAddr,
    begun: impl FnOnce(Serving),
) -> Result<(), ServeError> {
    let wrong = |error| ServeError::Listen(listen, error);
    let listener = TcpListener::bind(listen).map_err(wrong)?;
    listener.set_nonblocking(true).map_err(wrong)?;
    let address = listener.local_addr().map_err(wrong)?;
    let tls = tls(&config.transport, address).await?;
    let site = Site::new(config)?;
    let handle = Handle::new();
    let desk = site.config.desk.clone();
    // If it can't be read now, whoever asks for a history is told why.
    let _looking = tokio::task::spawn_blocking(move || desk.look_through());
    let service =
        router(site.clone()).into_make_service_with_connect_info::<SocketAddr>();
    begun(Serving { address, site, handle: handle.clone() });
    let served = if let Some(tls) = tls {
        let mut server =
            axum_server::from_tcp_rustls(listener, tls).map_err(wrong)?.handle(handle);
        server.http_builder().http1().header_read_timeout(ASKING);
        server.serve(service).await
    } else {
        let mut server = axum_server::from_tcp(listener).map_err(wrong)?.handle(handle);
        server.http_builder().http1().header_read_timeout(ASKING);
        server.serve(service).await
    };
    served.map_err(ServeError::Run)
}

async fn tls(
    transport: &Transport,
    address: SocketAddr,
) -> Result<Option<RustlsConfig>, ServeError> {
    if !matches!(transport, Transport::Files { .. } | Transport::SelfSigned) {
        return Ok(None);
    }
    // One is enough; a second call finds it in place.
    let _ = rustls::crypto::ring::default_provider().install_default();
    match transport {
        Transport::Files { certificate, key } => {
            let made = RustlsConfig::from_pem_file(certificate, key).await;
            made.map(Some)
                .map_err(|error| ServeError::Certificate(certificate.clone(), error))
        }
        _ => self_signed(address).await.map(Some),
    }
}

async fn self_signed(address: SocketAddr) -> Result<RustlsConfig, ServeError> {
    let names = vec!["localhost".to_owned(), address.ip().to_string()];
    let made = rcgen::generate_simple_self_signed(names);
    let made = made.map_err(|error| ServeError::SelfSigned(error.to_string()))?;
    let (certificate, key) = (made.cert.der().to_vec(), made.signing_key.serialize_der());
    let config = RustlsConfig::from_der(vec![certificate], key).await;
    config.map_err(|error| ServeError::SelfSigned(error.to_string()))
}
