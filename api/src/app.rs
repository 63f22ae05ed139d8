//! The running service: the application over an open shop, started, announced and stopped.

use std::io;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use actix_web::body::MessageBody;
use actix_web::dev::{Server, ServerHandle, ServiceFactory, ServiceRequest, ServiceResponse};
use actix_web::middleware::{Compress, from_fn};
use actix_web::web::{self, Data};
use actix_web::{App, Error, HttpServer, rt};
use serde_json::Value;
use tokio::signal::unix::{SignalKind, signal};
use utoipa_actix_web::AppExt;

use crate::config::Settings;
use crate::http::envelope::{Counters, envelope};
use crate::http::guard::guard;
use crate::http::problem;
use crate::http::request::Limits;
use crate::http::{routes, shapes};
use crate::pages;
use crate::service::Shop;

/// How long the service may take from listening to its first answer.
const PATIENCE: Duration = Duration::from_secs(10);

/// What all workers share.
#[derive(Clone)]
pub struct Shared {
    shop: Data<Shop>,
    counters: Data<Counters>,
    limits: Limits,
}

impl Shared {
    /// For an open shop.
    pub fn new(shop: Arc<Shop>, limits: Limits) -> Self {
        Self {
            shop: Data::from(shop),
            counters: Data::new(Counters::default()),
            limits,
        }
    }
}

/// The application.
pub fn application(
    shared: &Shared,
) -> App<
    impl ServiceFactory<
        ServiceRequest,
        Config = (),
        Response = ServiceResponse<impl MessageBody + use<>>,
        Error = Error,
        InitError = (),
    > + use<>,
> {
    App::new()
        .app_data(shared.shop.clone())
        .app_data(shared.counters.clone())
        .app_data(shared.limits)
        .configure(problem::configure)
        .into_utoipa_app()
        .configure(routes::register)
        .into_app()
        .configure(pages::configure)
        .default_service(web::to(pages::nowhere))
        // The last one wrapped is the first to see a request.
        .wrap(from_fn(guard))
        .wrap(Compress::default())
        .wrap(from_fn(envelope))
}

/// A service that answers requests.
pub struct Running {
    shop: Arc<Shop>,
    address: SocketAddr,
    handle: ServerHandle,
    ended: rt::task::JoinHandle<io::Result<()>>,
}

/// Starts the service; returns once it answers.
///
/// # Errors
/// Where the address is taken, or nothing is answered in time.
pub async fn start(shop: Arc<Shop>, settings: &Settings) -> io::Result<Running> {
    // Compiled now, so that no caller waits for it.
    shapes::prepare();
    let shared = Shared::new(Arc::clone(&shop), settings.limits);
    let mut server = HttpServer::new(move || application(&shared))
        .disable_signals()
        .shutdown_timeout(settings.stop.as_secs());
    if let Some(workers) = settings.workers {
        server = server.workers(workers);
    }
    let server = server.bind(settings.listen).map_err(|e| {
        io::Error::new(
            e.kind(),
            format!("{} cannot be listened on: {e}", settings.listen),
        )
    })?;
    let address = server
        .addrs()
        .first()
        .copied()
        .ok_or_else(|| io::Error::other("nothing is listened on"))?;
    let server: Server = server.run();
    let handle = server.handle();
    let running = Running {
        shop,
        address,
        handle,
        ended: rt::spawn(server),
    };
    match tokio::time::timeout(PATIENCE, answers(reachable(address))).await {
        Ok(()) => Ok(running),
        Err(_) => {
            running.stop().await?;
            Err(io::Error::new(
                io::ErrorKind::TimedOut,
                "the service does not answer",
            ))
        }
    }
}

impl Running {
    /// Where it is reached from this machine.
    pub fn url(&self) -> String {
        format!("http://{}", reachable(self.address))
    }

    /// Answers until SIGTERM or SIGINT, then finishes what it has accepted.
    ///
    /// # Errors
    /// Where signals cannot be heard or the server failed.
    pub async fn until_stopped(mut self) -> io::Result<()> {
        let (mut term, mut int) = (
            signal(SignalKind::terminate())?,
            signal(SignalKind::interrupt())?,
        );
        tokio::select! {
            _ = term.recv() => {}
            _ = int.recv() => {}
            ended = &mut self.ended => return ended.map_err(io::Error::other)?,
        }
        tracing::info!("stopping: no new connections, accepted requests are finished");
        self.stop().await
    }

    /// Takes no more connections, finishes what was accepted, and ends.
    ///
    /// # Errors
    /// Where the server failed.
    pub async fn stop(self) -> io::Result<()> {
        // Whoever waits for something to happen is answered.
        self.shop.bell.close();
        self.handle.stop(true).await;
        self.ended.await.map_err(io::Error::other)?
    }
}

/// An address that this machine reaches the listener by.
fn reachable(listening: SocketAddr) -> SocketAddr {
    let ip = match listening.ip() {
        ip if !ip.is_unspecified() => ip,
        IpAddr::V4(_) => Ipv4Addr::LOCALHOST.into(),
        IpAddr::V6(_) => Ipv6Addr::LOCALHOST.into(),
    };
    SocketAddr::new(ip, listening.port())
}

/// Waits for the first answer.
async fn answers(address: SocketAddr) {
    while !lives(address).await.unwrap_or(false) {
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
}

async fn lives(address: SocketAddr) -> io::Result<bool> {
    let stream = rt::net::TcpStream::connect(address).await?;
    let request = b"GET /livez HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";
    let mut sent = 0;
    while sent < request.len() {
        stream.writable().await?;
        match stream.try_write(&request[sent..]) {
            Ok(written) => sent += written,
            Err(e) if e.kind() == io::ErrorKind::WouldBlock => {}
            Err(e) => return Err(e),
        }
    }
    let mut head = [0u8; 12];
    let mut got = 0;
    while got < head.len() {
        stream.readable().await?;
        match stream.try_read(&mut head[got..]) {
            Ok(0) => break,
            Ok(read) => got += read,
            Err(e) if e.kind() == io::ErrorKind::WouldBlock => {}
            Err(e) => return Err(e),
        }
    }
    Ok(&head == b"HTTP/1.1 200")
}

/// Writes the announcement in one step: whoever waits for the file finds it whole.
///
/// # Errors
/// Where the file cannot be written.
pub fn announce(file: &Path, announcement: &Value) -> io::Result<()> {
    let mut beside = file.as_os_str().to_owned();
    beside.push(format!(".{}", std::process::id()));
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    // There may be tokens in it.
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut out = options.open(&beside)?;
    serde_json::to_writer_pretty(&mut out, announcement)?;
    out.sync_all()?;
    std::fs::rename(&beside, file)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_announcement_is_whole_and_private() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("ready.json");
        announce(&file, &serde_json::json!({ "url": "http://127.0.0.1:1" })).unwrap();
        let read: Value = serde_json::from_slice(&std::fs::read(&file).unwrap()).unwrap();
        assert_eq!(read["url"], "http://127.0.0.1:1");
        assert_eq!(
            std::fs::read_dir(folder.path()).unwrap().count(),
            1,
            "nothing is left beside it"
        );
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(
                std::fs::metadata(&file).unwrap().permissions().mode() & 0o777,
                0o600
            );
        }
    }

    #[test]
    fn everywhere_is_reached_by_the_loopback() {
        let url = |listening: &str| reachable(listening.parse().unwrap()).to_string();
        assert_eq!(url("0.0.0.0:80"), "127.0.0.1:80");
        assert_eq!(url("[::]:80"), "[::1]:80");
        assert_eq!(url("192.0.2.1:80"), "192.0.2.1:80");
    }
}
